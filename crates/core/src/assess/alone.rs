//! One series judged on its own.

use super::Judgement;
use super::case::Case;
use super::group_prior::{self, Group, GroupPrior, Prepared};
use super::inputs::{Register, Terms};
use super::learnt::{Learnt, NotAsLearnt};
use super::phases;
use super::second_look::urgency;
use super::spread::InTurn;
use super::survey::group_of;
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
    let register = register_of(series, nameplate);
    let name = group_of(Some(nameplate), series.key.scope);
    let tests = series.tests.iter().filter(|test| test.tested_on.date <= terms.as_of).count();
    let group = Group { name: name.clone(), training: vec![0], tests };
    let prepare = |_| prepared(series, &register, terms);
    let mut learnt = group_prior::learn(vec![group], prepare, terms, &InTurn);
    under(&learnt.remove(&name).unwrap_or_default(), series, &register, terms)
}

/// Judges one series that was not in the fleet: by its group's prior and by the default prior. The more urgent answer is returned.
///
/// # Errors
///
/// A [`NotAsLearnt`] where the fleet was judged by another policy, or as of a later day.
pub fn assess_beside(
    series: &Series,
    nameplate: &Nameplate,
    learnt: &Learnt,
    terms: &Terms,
) -> Result<Judgement, NotAsLearnt> {
    learnt.must_be_by(&terms.policy)?;
    if learnt.as_of() > terms.as_of {
        return Err(NotAsLearnt::LaterDay { then: learnt.as_of(), now: terms.as_of });
    }
    let alone = assess(series, nameplate, terms);
    let of_group = learnt.of_group(&group_of(Some(nameplate), series.key.scope));
    let taught = of_group.map(|prior| under(prior, series, &register_of(series, nameplate), terms));
    Ok(taught.filter(|taught| urgency(taught) < urgency(&alone)).unwrap_or(alone))
}

fn register_of(series: &Series, nameplate: &Nameplate) -> Register {
    Register::from([(series.key.winding.clone(), nameplate.clone())])
}

fn prepared(series: &Series, register: &Register, terms: &Terms) -> Prepared {
    Prepared::new(Case::prepare(series.clone(), register, None, terms), terms)
}

/// Judges a series under a prior.
fn under(group_prior: &GroupPrior, series: &Series, register: &Register, terms: &Terms) -> Judgement {
    let (case, solved) = group_prior.apply(prepared(series, register, terms), terms);
    let phases = phases::standings(&[&case], terms).pop().unwrap_or_default();
    let fit = solved.map(|solved| solved.average(&group_prior.weights));
    verdict::judge(case, fit, &Beside { phases, ..Beside::default() }, group_prior, terms)
}
