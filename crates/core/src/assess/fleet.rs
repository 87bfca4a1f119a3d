//! All series of a plant judged together: similar windings lend each other strength, phases are compared.
//!
//! ```text
//! series ─survey→ Survey ─choose→ Choice ─learn→ Learnt ─judge→ judgements, winding by winding
//! ```
//!
//! Each step is public, so that a fleet that does not fit into one process is surveyed and judged in parts, to the same answers. Winding
//! after winding is judged and forgotten, so that a fleet of any size needs no more memory than its readings. The work can be spread over threads through
//! [`Spread`]; whatever is summed up is summed in the order of the series, so the result does not depend on the threads.

use super::case::{Case, rewound_in};
use super::group_prior::{GroupPrior, Prepared};
use super::inputs::{Register, SeriesSource, Terms};
use super::judgement::Judgement;
use super::learnt::{Choice, Learnt, NotAsLearnt};
use super::phases;
use super::spread::Spread;
use super::survey::Scan;
use super::verdict::{self, Beside};
use super::whole;
use crate::trend::Solved;
use chrono::NaiveDate;
use std::cmp::Ordering;
use std::collections::BTreeMap;

/// Judges every series. `finish` is called with each judgement as soon as it is made and says what is kept of it.
///
/// The results are in the order of `series`, whatever that is; the series of one winding are judged together wherever they are.
///
/// # Validity
///
/// Any input: a series that cannot be judged gets an action and a finding that says why.
pub fn assess_fleet<R: Send>(
    series: impl SeriesSource,
    register: &Register,
    terms: &Terms,
    spread: &impl Spread,
    finish: impl Fn(Judgement) -> R + Sync + Send,
) -> Vec<R> {
    assess_in_turn(series, register, terms, spread, each(finish))
}

/// As [`assess_fleet`], but `finish` is called with the judgements of one winding together, in the order of its series, and gives one
/// result for each of them.
pub fn assess_windings<R: Send>(
    series: impl SeriesSource,
    register: &Register,
    terms: &Terms,
    spread: &impl Spread,
    finish: impl Fn(Vec<Judgement>) -> Vec<R> + Sync + Send,
) -> Vec<R> {
    assess_in_turn(series, register, terms, spread, |judged| finish(judged.collect()))
}

/// As [`assess_windings`], with the judgements of a winding made one after the other, as they are asked for.
fn assess_in_turn<R: Send>(
    series: impl SeriesSource,
    register: &Register,
    terms: &Terms,
    spread: &impl Spread,
    finish: impl Fn(&mut dyn Iterator<Item = Judgement>) -> Vec<R> + Sync + Send,
) -> Vec<R> {
    let order = by_key(&series);
    let scan = Scan::of(&series, &order, register, terms.as_of, spread);
    let choice = Choice::of(&scan, terms.as_of, |at| series.key(order[at]));
    drop(scan);
    let learnt = choice.learn_unchecked(&series, register, terms, spread);
    judge_windings(&series, register, &learnt, terms, spread, finish)
}

/// Judges a part of a fleet, whole windings of it, under what the whole fleet taught: each series as [`assess_fleet`] judges it among
/// all others, to the last bit. Results and their order are as there.
///
/// # Errors
///
/// A [`NotAsLearnt`] where the day, the policy, the confidence, or the tests or groups of these windings are not those that the fleet
/// was surveyed and learnt from with.
///
/// # Examples
///
/// ```
/// use groundwall::absorption::one_minute;
/// use groundwall::assess::{InTurn, Register, Survey, assess_fleet, assess_part};
/// use groundwall::policy::Policy;
/// use groundwall::prelude::*;
///
/// let day = "2026-10-12".parse()?;
/// let terms = Terms { policy: Policy::default(), as_of: day, confidence: Confidence::from_fraction(0.9)? };
/// let test = |winding: &str, megohms: f64| -> Result<_, Box<dyn std::error::Error>> {
///     Ok(TestRecord::builder(winding, TestedOn::day(day)).reading(one_minute(), Measured::Exact(Resistance::from_megohms(megohms)?)).build()?)
/// };
/// let fleet = Series::collect([test("P-7", 371.0)?, test("P-8", 0.4)?]);
/// let register = Register::new();
///
/// let learnt = Survey::of(&fleet, &register, day, &InTurn).choose().learn(&fleet, &register, &terms, &InTurn)?;
/// let part = vec![fleet[1].clone()];
/// let alone = assess_part(&part, &register, &learnt, &terms, &InTurn, |judgement| judgement.assessment)?;
/// assert_eq!(alone[0], assess_fleet(&fleet, &register, &terms, &InTurn, |judgement| judgement.assessment)[1]);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn assess_part<R: Send>(
    series: impl SeriesSource,
    register: &Register,
    learnt: &Learnt,
    terms: &Terms,
    spread: &impl Spread,
    finish: impl Fn(Judgement) -> R + Sync + Send,
) -> Result<Vec<R>, NotAsLearnt> {
    learnt.must_fit(&series, register, terms)?;
    Ok(judge_windings(&series, register, learnt, terms, spread, each(finish)))
}

/// What is kept of the judgements of a winding, one after the other.
fn each<R>(
    finish: impl Fn(Judgement) -> R + Sync + Send,
) -> impl Fn(&mut dyn Iterator<Item = Judgement>) -> Vec<R> + Sync + Send {
    move |judged| judged.map(&finish).collect()
}

/// The models of so many series of one winding are held together, until it is known what the series say of each other. Of a winding with
/// more each series is fitted once more when its turn comes, so that no number of connections takes much memory.
const MOST_HELD: usize = 64;

/// Series with what their windings say of each other before they are made ready for judgement.
pub(super) struct Ready<'a, S> {
    series: &'a S,
    register: &'a Register,
    terms: &'a Terms,
    /// The series by their windings; in their own order where that is so already.
    order: Vec<usize>,
    rewound: BTreeMap<usize, i32>,
}

impl<'a, S: SeriesSource> Ready<'a, S> {
    pub(super) fn of(series: &'a S, register: &'a Register, terms: &'a Terms) -> Self {
        let order = by_winding(series);
        let rewound = rewound(series, &windings(series, &order), terms.as_of);
        Self { series, register, terms, order, rewound }
    }

    /// A series made ready.
    pub(super) fn prepare(&self, i: usize) -> Prepared {
        let rewound = self.rewound.get(&i).copied();
        Prepared::new(Case::prepare(self.series.series(i), self.register, rewound, self.terms), self.terms)
    }
}

/// Judges the series winding by winding under what was learnt.
fn judge_windings<S: SeriesSource, R: Send>(
    series: &S,
    register: &Register,
    learnt: &Learnt,
    terms: &Terms,
    spread: &impl Spread,
    finish: impl Fn(&mut dyn Iterator<Item = Judgement>) -> Vec<R> + Sync + Send,
) -> Vec<R> {
    let ready = Ready::of(series, register, terms);
    let untrained = GroupPrior::default();
    let judged = spread.map(windings(series, &ready.order), |of_one: &[usize]| {
        let are_held = of_one.len() <= MOST_HELD;
        let mut solved: Vec<(&GroupPrior, Case, Option<Solved>)> = (of_one.iter().copied())
            .map(|i| {
                let prepared = ready.prepare(i);
                let group_prior = learnt.of_group(&prepared.case.nameplate.group_name()).unwrap_or(&untrained);
                let (case, solved) = group_prior.apply(prepared, terms);
                (group_prior, case, solved.filter(|_| are_held))
            })
            .collect();
        let mut leads: Vec<&mut Case> = solved.iter_mut().map(|(_, case, _)| case).collect();
        let leads = phases::joined_leads(&mut leads, terms);
        let cases: Vec<&Case> = solved.iter().map(|(_, case, _)| case).collect();
        let phases = phases::standings(&cases, terms);
        let wholes = whole::larger_wholes(&cases);
        let unnamed = whole::unnamed(&cases);
        let beside = phases.into_iter().zip(leads).zip(wholes).zip(unnamed).zip(&cases);
        let beside = beside.map(|((((phases, leads), whole), unnamed), case)| Beside {
            phases,
            leads,
            copied: learnt.copied(&case.series.key).cloned(),
            whole,
            unnamed,
            second_look: Vec::new(),
        });
        let judge = |((group_prior, case, solved), beside): ((&GroupPrior, Case, Option<Solved>), Beside)| {
            let fit = match solved {
                Some(solved) => Some(solved.average(&group_prior.weights)),
                None if are_held => None,
                None => group_prior.fit(&case, terms),
            };
            verdict::judge(case, fit, &beside, group_prior, terms)
        };
        let beside: Vec<Beside> = beside.collect();
        let mut results = finish(&mut solved.into_iter().zip(beside).map(judge));
        // Collected from the judgements, it still has the memory of them.
        results.shrink_to_fit();
        results
    });
    let judged = judged.into_iter().flatten();
    if ready.order.is_sorted() {
        return judged.collect();
    }
    let in_order: BTreeMap<usize, R> = ready.order.iter().copied().zip(judged).collect();
    in_order.into_values().collect()
}

/// The year of the latest rewind for every series of a winding that has several: the row that tells of it stands in one of them.
fn rewound(series: &impl SeriesSource, windings: &[&[usize]], as_of: NaiveDate) -> BTreeMap<usize, i32> {
    let several = windings.iter().filter(|of_one| of_one.len() > 1);
    let year = |i: &usize| rewound_in(series.backwards(*i), as_of);
    let years = several.filter_map(|of_one| Some((of_one, of_one.iter().filter_map(year).max()?)));
    years.flat_map(|(of_one, year)| of_one.iter().map(move |i| (*i, year))).collect()
}

/// The series by their windings; in their own order where that is so already.
fn by_winding(series: &impl SeriesSource) -> Vec<usize> {
    let mut order: Vec<usize> = (0..series.count()).collect();
    if !order.is_sorted_by_key(|i| series.winding(*i)) {
        order.sort_by_key(|i| series.winding(*i));
    }
    order
}

/// The series by their keys; in their own order where that is so already.
fn by_key(series: &impl SeriesSource) -> Vec<usize> {
    let mut order: Vec<usize> = (0..series.count()).collect();
    let follow = |a: &usize, b: &usize| match series.winding(*a).cmp(series.winding(*b)) {
        Ordering::Equal => series.key(*a) <= series.key(*b),
        apart => apart.is_lt(),
    };
    if !order.is_sorted_by(follow) {
        order.sort_by_cached_key(|i| series.key(*i));
    }
    order
}

/// The series of each winding.
fn windings<'o>(series: &impl SeriesSource, order: &'o [usize]) -> Vec<&'o [usize]> {
    order.chunk_by(|a, b| series.winding(*a) == series.winding(*b)).collect()
}
