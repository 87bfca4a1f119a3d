//! One series judged on its own.

use super::Judgement;
use super::case::Case;
use super::group_prior::{self, Group, Prepared};
use super::inputs::{Register, Terms};
use super::phases;
use super::spread::InTurn;
use super::verdict::{self, Beside};
use crate::nameplate::Nameplate;
use crate::series::Series;

/// Judges one series on its own: what a fleet of this series alone would give.
///
/// Similar windings make a forecast narrower, and phases of one winding are compared with each other, so whoever has more
/// than one series takes [`assess_fleet`](super::assess_fleet).
///
/// # Validity
///
/// Any input: a series that cannot be judged gets an action and a finding that says why.
///
/// # Examples
///
/// See the [first page](crate).
#[must_use]
pub fn assess(series: &Series, nameplate: &Nameplate, terms: &Terms) -> Judgement {
    let register = Register::from([(series.key.winding.clone(), nameplate.clone())]);
    let prepare = || Prepared::new(Case::prepare(series.clone(), &register, None, terms), terms);
    let name = nameplate.group_name();
    let group = Group::of(name.clone(), &[0], |_| series.tests.len());
    let mut learnt = group_prior::learn(vec![group], |_| prepare(), terms, &InTurn);
    let group_prior = learnt.remove(&name).unwrap_or_default();
    let (case, solved) = group_prior.apply(prepare(), terms);
    let phases = phases::standings(&[&case], terms).pop().unwrap_or_default();
    let fit = solved.map(|solved| solved.average(&group_prior.weights));
    verdict::judge(case, fit, &Beside { phases, ..Beside::default() }, &group_prior, terms)
}
