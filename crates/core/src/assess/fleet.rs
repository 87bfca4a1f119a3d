//! All series of a plant judged together: similar windings lend each other strength, phases are compared.
//!
//! First the prior of each group is learnt from its members, or by some of them if there are many; then winding after winding is judged and
//! forgotten, so that a fleet of any size needs no more room than its readings. The work can be spread over threads through
//! [`InEach`]; whatever is summed up is summed in the order of the series, so the result does not depend on the threads.

use super::case::{Case, latest_that_counts, rewound_in};
use super::copies;
use super::group_prior::{self, Group, GroupPrior, Prepared};
use super::inputs::{Register, SeriesSource, Terms};
use super::judgement::Judgement;
use super::phases;
use super::spread::InEach;
use super::verdict::{self, Beside};
use super::whole;
use crate::nameplate::Nameplate;
use crate::trend::Solved;
use chrono::NaiveDate;
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
    spread: &impl InEach,
    finish: impl Fn(Judgement) -> R + Sync + Send,
) -> Vec<R> {
    assess_windings(series, register, terms, spread, |judged| judged.into_iter().map(&finish).collect())
}

/// As [`assess_fleet`], but `finish` is called with the judgements of one winding together, in the order of its series, and gives one
/// result for each of them.
pub fn assess_windings<R: Send>(
    series: impl SeriesSource,
    register: &Register,
    terms: &Terms,
    spread: &impl InEach,
    finish: impl Fn(Vec<Judgement>) -> Vec<R> + Sync + Send,
) -> Vec<R> {
    let all: Vec<usize> = (0..series.count()).collect();
    let order = by_winding(&series);
    let windings = windings(&series, &order);
    let rewound = rewound(&series, &windings, terms.as_of);
    let prepare = |i: usize| {
        let rewound = rewound.get(&i).copied();
        Prepared::new(Case::prepare(series.series(i), register, rewound, terms), terms)
    };
    let mut groups: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    // What was tested after the as-of date is no evidence for anybody.
    let tests = |i: usize| {
        let later = series.backwards(i).take_while(|test| test.tested_on.date > terms.as_of).count();
        series.tests(i).saturating_sub(later)
    };
    for &i in all.iter().filter(|i| tests(**i) > 0) {
        let nameplate = register.get(series.winding(i));
        let name = nameplate.map_or_else(|| Nameplate::default().group_name(), Nameplate::group_name);
        groups.entry(name).or_default().push(i);
    }
    let groups = groups.into_iter().map(|(name, members)| Group::of(name, &members, tests));
    let group_priors = group_prior::learn(groups.collect(), prepare, terms, spread);
    let latest =
        spread.in_each(all, |i| copies::Value::of(i, &latest_that_counts(&mut series.backwards(i), terms.as_of)?));
    let copied = copies::copies(&series, latest.into_iter().flatten().collect(), terms.as_of);
    let untrained = GroupPrior::default();
    let judged = spread.in_each(windings, |of_one: &[usize]| {
        let mut solved: Vec<(&GroupPrior, Case, Option<Solved>)> = (of_one.iter().copied())
            .map(|i| {
                let prepared = prepare(i);
                let group_prior = group_priors.get(&prepared.case.nameplate.group_name()).unwrap_or(&untrained);
                let (case, solved) = group_prior.apply(prepared, terms);
                (group_prior, case, solved)
            })
            .collect();
        let mut leads: Vec<&mut Case> = solved.iter_mut().map(|(_, case, _)| case).collect();
        let leads = phases::joined_leads(&mut leads, terms);
        let cases: Vec<&Case> = solved.iter().map(|(_, case, _)| case).collect();
        let phases = phases::standings(&cases, terms);
        let wholes = whole::larger_wholes(&cases);
        let beside = phases.into_iter().zip(leads).zip(wholes).zip(of_one);
        let beside = beside.map(|(((phases, leads), whole), i)| Beside {
            phases,
            leads,
            copied: copied.get(i).cloned(),
            whole,
            second_look: Vec::new(),
        });
        let judge = |((group_prior, case, solved), beside): ((&GroupPrior, Case, Option<Solved>), Beside)| {
            let fit = solved.map(|solved| solved.average(&group_prior.weights));
            verdict::judge(case, fit, &beside, group_prior, terms)
        };
        let beside: Vec<Beside> = beside.collect();
        // Room of its own: that of the models, used again, would be kept as long as the results.
        let mut judgements = Vec::with_capacity(beside.len());
        judgements.extend(solved.into_iter().zip(beside).map(judge));
        let mut results = finish(judgements);
        // Collected from the judgements, it still has the memory of them.
        results.shrink_to_fit();
        results
    });
    let judged = judged.into_iter().flatten();
    if order.is_sorted() {
        return judged.collect();
    }
    let in_order: BTreeMap<usize, R> = order.iter().copied().zip(judged).collect();
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

/// The series of each winding.
fn windings<'o>(series: &impl SeriesSource, order: &'o [usize]) -> Vec<&'o [usize]> {
    order.chunk_by(|a, b| series.winding(*a) == series.winding(*b)).collect()
}
