//! Phases of one winding tested in the same round, compared as ratios: temperature and damp cancel.

use super::case::Case;
use super::inputs::Terms;
use super::result::{CorrectedTest, LeftOut};
use crate::record::{OtherPhases, Phase, Scope, TestedOn};
use crate::resistance::{Bound, Measured};
use crate::stats::least_squares::{self, Intercept};
use crate::stats::student::student_lower_tail;
use crate::steps::most;
use crate::units::Resistance;
use chrono::NaiveDate;
use std::collections::{BTreeMap, BTreeSet};

/// Rounds with the phases tested together below which no drift is judged.
const LEAST_ROUNDS: usize = 6;
/// Chance at which a phase's fall against its sisters is no longer taken for chance.
const DRIFT_P: f64 = 0.001;
/// Least fall over the record that is worth saying, decades (a factor of 1.26).
const LEAST_DRIFT_LOG10: f64 = 0.1;

/// How one phase compares with the others.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct PhaseStanding {
    pub(super) spread: Option<PhaseSpread>,
    pub(super) drift: Option<PhaseDrift>,
}

/// A ratio of phases above the limit, seen from the lowest phase.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct PhaseSpread {
    pub(super) on: NaiveDate,
    pub(super) highest: Phase,
    pub(super) lowest: Phase,
    pub(super) ratio: f64,
    /// Latest rounds in a row in which the same phase was lowest by more than the limit.
    pub(super) rounds_in_a_row: usize,
}

/// A phase that falls away from the others.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct PhaseDrift {
    pub(super) since: NaiveDate,
    /// Rounds in which the phase and at least one other were read exactly.
    pub(super) rounds: usize,
    /// Fall of log10 of its ratio to the mean of the others, decades per year.
    pub(super) log10_per_year: f64,
    /// Probability that chance shows such a fall where there is none.
    pub(super) p: f64,
}

/// What leads of one winding say of each other where they are, or may be, joined by its copper.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Leads {
    /// They read alike, and what was joined was not recorded.
    Alike {
        /// How many.
        leads: usize,
        /// What a phase owes if it was separated from the others.
        owes_if_separated: Resistance,
    },
    /// They were joined and read differently.
    Differ {
        /// The connection that read most.
        highest: String,
        /// The one that read least.
        lowest: String,
        /// How many times as much.
        ratio: f64,
    },
    /// The other phases were connected differently at leads of one round.
    Mixed {
        /// What they were at this lead.
        here: OtherPhases,
        /// The leads at which they were something else, with what they were: "earthed at V-earth and W-earth".
        elsewhere: String,
        /// What a joined lead is compared with because the records contradict each other.
        owes: Option<Resistance>,
        /// A lead that is higher by more than the limit once both are brought to the whole winding, and how many times.
        higher: Option<(String, f64)>,
    },
}

/// Readings of one winding that differ by less than this factor are alike; common practice.
const ALIKE: f64 = 1.1;

/// The latest exact reading of a case at the reference temperature, with its day.
fn latest_exact(case: &Case) -> Option<(NaiveDate, Resistance)> {
    let latest = &case.tests[case.latest()?];
    match latest.corrected? {
        Measured::Exact(r) => Some((latest.tested_on.date, r)),
        _ => None,
    }
}

/// The highest of some values over the lowest, with the places of both.
fn extremes(values: &[(usize, Resistance)]) -> Option<(usize, usize, f64)> {
    let by_value = |a: &&(usize, Resistance), b: &&(usize, Resistance)| a.1.as_megohms().total_cmp(&b.1.as_megohms());
    let (lowest, highest) = (values.iter().min_by(by_value)?, values.iter().max_by(by_value)?);
    Some((highest.0, lowest.0, highest.1.as_megohms() / lowest.1.as_megohms()))
}

/// Looks for leads that are one winding: those whose phases are not known to have been separated and that read alike in their latest
/// round, which then owe what a whole winding owes; and joined ones that read differently. One element a case, in the same order.
pub(super) fn joined_leads(cases: &mut [&mut Case], terms: &Terms) -> Vec<Option<Leads>> {
    let mut found = mixed_leads(cases, terms);
    let mut unsaid: BTreeMap<(Scope, NaiveDate), Vec<(usize, Resistance)>> = BTreeMap::new();
    let mut joined: BTreeMap<(Scope, NaiveDate), Vec<(usize, Resistance)>> = BTreeMap::new();
    for (i, case) in cases.iter().enumerate() {
        let Some((on, value)) = latest_exact(case) else { continue };
        let scope = case.series.key.scope;
        if case.is_joined_lead() {
            joined.entry((scope, on)).or_default().push((i, value));
        } else if case.other_phases.is_none() && case.series.key.connection.phase_to_earth().is_some() {
            unsaid.entry((scope, on)).or_default().push((i, value));
        }
    }
    for leads in unsaid.into_values().filter(|leads| leads.len() > 2) {
        // Above what separated phases owe there is nothing to ask, and that stands.
        let is_low = |(i, value): &(usize, Resistance)| *value <= cases[*i].minimum.resistance;
        if extremes(&leads).is_none_or(|(_, _, ratio)| ratio > ALIKE) || !leads.iter().any(is_low) {
            continue;
        }
        for (i, _) in &leads {
            let owes = cases[*i].take_as_joined(terms);
            found[*i] = owes.map(|owes_if_separated| Leads::Alike { leads: leads.len(), owes_if_separated });
        }
    }
    for leads in joined.into_values().filter(|leads| leads.len() > 1) {
        let Some((highest, lowest, ratio)) = extremes(&leads) else { continue };
        if ratio > terms.policy.phase_ratio_limit {
            let name = |i: usize| cases[i].series.key.connection.to_string();
            found[lowest] = Some(Leads::Differ { highest: name(highest), lowest: name(lowest), ratio });
        }
    }
    found
}

/// Leads of the latest round that were not all tested alike: some with the others joined to them, some with them earthed or guarded.
fn mixed_leads(cases: &mut [&mut Case], terms: &Terms) -> Vec<Option<Leads>> {
    let mut rounds: BTreeMap<(Scope, NaiveDate), Vec<(usize, OtherPhases)>> = BTreeMap::new();
    for (i, case) in cases.iter().enumerate().filter(|(_, case)| case.is_lead()) {
        if let (Some(others), Some(at)) = (case.other_phases, case.last_made()) {
            let on = case.tests[at].tested_on.date;
            rounds.entry((case.series.key.scope, on)).or_default().push((i, others));
        }
    }
    let mut found = vec![None; cases.len()];
    for round in rounds.into_values() {
        for (i, here) in &round {
            let differs = |(_, others): &&(usize, OtherPhases)| others.divisor().total_cmp(&here.divisor()).is_ne();
            let differing: Vec<&(usize, OtherPhases)> = round.iter().filter(differs).collect();
            if differing.is_empty() {
                continue;
            }
            let name = |i: usize| cases[i].series.key.connection.to_string();
            let mut kinds: BTreeMap<String, Vec<String>> = BTreeMap::new();
            for (j, others) in &differing {
                kinds.entry(others.to_string()).or_default().push(name(*j));
            }
            let elsewhere: Vec<String> =
                kinds.iter().map(|(kind, names)| format!("{kind} at {}", and(names))).collect();
            let whole =
                |i: usize, others: OtherPhases| Some(others.whole_winding(latest_exact(cases[i])?.1).as_megohms());
            let times = |(j, others): &&(usize, OtherPhases)| Some((name(*j), whole(*j, *others)? / whole(*i, *here)?));
            let higher = differing.iter().copied().filter_map(|other| times(&other)).max_by(|a, b| a.1.total_cmp(&b.1));
            found[*i] = Some(Leads::Mixed {
                here: *here,
                elsewhere: and(&elsewhere),
                owes: None,
                higher: higher.filter(|(_, ratio)| *ratio > terms.policy.phase_ratio_limit),
            });
        }
    }
    for (i, leads) in found.iter_mut().enumerate() {
        if let Some(Leads::Mixed { here: OtherPhases::Joined, owes, .. }) = leads {
            *owes = cases[i].take_as_separated(terms);
        }
    }
    found
}

/// "a", "a and b", "a, b and c".
fn and(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// How far the phases of a winding were apart in one round.
///
/// # Units
///
/// `ratio` is the highest over the lowest at the reference temperature, 1 or more.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PhaseRatio {
    /// The day.
    pub on: NaiveDate,
    /// The highest phase.
    pub highest: Phase,
    /// The lowest phase.
    pub lowest: Phase,
    /// The ratio, or its limit.
    pub ratio: f64,
    /// Exact, or above: a reading that is a bound can only stand farther apart.
    pub bound: Bound,
    /// Whether one of the tests lies before the stretch of its series.
    pub before_stretch: bool,
}

/// The ratio of the phases in each round in which two or more were tested and are known well enough to give one, in time order.
///
/// Several tests of one phase on one day belong to several rounds: in the order of their times where all of the day have one, else the
/// lowest of each phase make the last round, the next lowest the round before.
///
/// # Validity
///
/// Tests whose leads were not proved, that lie after the as-of date or have no one-minute reading take no part.
#[must_use]
pub fn phase_ratios(phases: &[(Phase, &[CorrectedTest])]) -> Vec<PhaseRatio> {
    let tests = phases.iter().flat_map(|(phase, tests)| tests.iter().map(|test| (*phase, test)));
    let ratio = |round: &Round| ratio_of(round);
    in_rounds(tests.filter(|(_, test)| counts(test))).iter().filter_map(ratio).collect()
}

/// Whether a test is one of a round.
const fn counts(test: &CorrectedTest) -> bool {
    matches!(test.left_out, None | Some(LeftOut::BeforeStretch))
}

/// What was read in one round.
#[derive(Clone, Debug, Default)]
struct Round {
    on: NaiveDate,
    /// Phase and corrected value, each phase once.
    read: Vec<(Phase, Measured)>,
    /// The phases whose test lies before the stretch of its series.
    before_stretch: Vec<Phase>,
}

impl Round {
    fn add(&mut self, phase: Phase, value: Measured, test: &CorrectedTest) {
        self.on = test.tested_on.date;
        self.read.push((phase, value));
        if test.left_out.is_some() {
            self.before_stretch.push(phase);
        }
    }

    fn has(&self, phase: Phase) -> bool {
        self.read.iter().any(|(other, _)| *other == phase)
    }
}

/// Tests of phases, those of each phase in time order, as rounds in time order.
fn in_rounds<'t>(tests: impl Iterator<Item = (Phase, &'t CorrectedTest)>) -> Vec<Round> {
    let mut days: BTreeMap<NaiveDate, Vec<(Phase, Measured, &CorrectedTest)>> = BTreeMap::new();
    for (phase, test) in tests {
        if let Some(value) = test.corrected {
            days.entry(test.tested_on.date).or_default().push((phase, value, test));
        }
    }
    days.into_values().flat_map(rounds_of_a_day).collect()
}

/// The rounds of one day. Without times the lowest readings of the phases are one round, which is read as the last, the next lowest
/// another: it is not known which of them were read together. With times a phase that comes again begins another round, as work does; where one
/// comes again before all have been read, each was tested before and after something, and the latest of each are one round.
fn rounds_of_a_day(mut tests: Vec<(Phase, Measured, &CorrectedTest)>) -> Vec<Round> {
    let mut rounds: Vec<Round> = Vec::new();
    if tests.iter().all(|(_, _, test)| test.tested_on.time.is_some()) {
        tests.sort_by_key(|(_, _, test)| test.tested_on);
        if !are_interleaved(&tests) {
            for (phase, value, test) in tests {
                if test.event.is_some() || rounds.last().is_none_or(|round| round.has(phase)) {
                    rounds.push(Round::default());
                }
                if let Some(round) = rounds.last_mut() {
                    round.add(phase, value, test);
                }
            }
            return rounds;
        }
    } else {
        let height = |value: Measured| most(value).map_or(f64::INFINITY, |r| r.as_megohms());
        tests.sort_by(|a, b| height(b.1).total_cmp(&height(a.1)));
    }
    for (phase, value, test) in tests.into_iter().rev() {
        match rounds.iter_mut().find(|round| !round.has(phase)) {
            Some(round) => round.add(phase, value, test),
            None => {
                let mut round = Round::default();
                round.add(phase, value, test);
                rounds.push(round);
            }
        }
    }
    rounds.reverse();
    for round in &mut rounds {
        round.read.sort_by_key(|(phase, _)| *phase);
    }
    rounds
}

/// Whether a phase comes again before all phases of the day have been read.
fn are_interleaved(in_time: &[(Phase, Measured, &CorrectedTest)]) -> bool {
    let phases: BTreeSet<Phase> = in_time.iter().map(|(phase, ..)| *phase).collect();
    let mut read = BTreeSet::new();
    let again = in_time.iter().find(|(phase, ..)| !read.insert(*phase));
    again.is_some() && read.len() < phases.len()
}

fn ratio_of(round: &Round) -> Option<PhaseRatio> {
    let (lowest, floor) = lowest(&round.read)?;
    let (highest, ceiling) = highest(&round.read)?;
    let exact = round.read.iter().all(|(_, value)| value.bound() == Bound::Exact);
    let bound = if exact { Bound::Exact } else { Bound::Above };
    let is_known = highest != lowest && ceiling >= floor;
    let (on, before_stretch) = (round.on, !round.before_stretch.is_empty());
    is_known.then_some(PhaseRatio { on, highest, lowest, ratio: ceiling / floor, bound, before_stretch })
}

/// How each case compares with the other phases of its winding; the default for all that are no phase to earth.
///
/// # Units
///
/// One element a case, in the same order.
pub(super) fn standings(cases: &[&Case], terms: &Terms) -> Vec<PhaseStanding> {
    let mut found = vec![PhaseStanding::default(); cases.len()];
    let mut groups: BTreeMap<(&str, Scope), Vec<usize>> = BTreeMap::new();
    for (i, case) in cases.iter().enumerate() {
        if case.series.key.connection.phase_to_earth().is_some() {
            groups.entry((&case.series.key.winding, case.series.key.scope)).or_default().push(i);
        }
    }
    for members in groups.into_values().filter(|members| members.len() > 1) {
        let rounds = rounds(cases, &members);
        let of =
            |phase| members.iter().find(|&&i| cases[i].series.key.connection.phase_to_earth() == Some(phase)).copied();
        if let Some(spread) = latest_spread(&rounds, terms.policy.phase_ratio_limit)
            && let Some(i) = of(spread.lowest)
        {
            found[i].spread = Some(spread);
        }
        if let Some((phase, drift)) = steepest_drift(&rounds)
            && let Some(i) = of(phase)
        {
            found[i].drift = Some(drift);
        }
    }
    found
}

/// The phase that falls away most from the mean of the others, if that is more than chance.
fn steepest_drift(rounds: &[Round]) -> Option<(Phase, PhaseDrift)> {
    let phases = [Phase::U, Phase::V, Phase::W];
    let drifts = phases.into_iter().filter_map(|phase| Some((phase, drift(rounds, phase)?)));
    let (phase, steepest) = drifts.min_by(|a, b| a.1.log10_per_year.total_cmp(&b.1.log10_per_year))?;
    let years = TestedOn::day(rounds.last()?.on).years_since(steepest.since);
    let falls = steepest.p < DRIFT_P && steepest.log10_per_year * years <= -LEAST_DRIFT_LOG10;
    falls.then_some((phase, steepest))
}

/// The line through one phase's ratio to the others: temperature, damp and season cancel in it.
fn drift(rounds: &[Round], phase: Phase) -> Option<PhaseDrift> {
    let ratios: Vec<(NaiveDate, f64)> =
        rounds.iter().filter_map(|round| Some((round.on, log10_ratio_to_others(&round.read, phase)?))).collect();
    if ratios.len() < LEAST_ROUNDS {
        return None;
    }
    let (since, _) = *ratios.first()?;
    let years: Vec<f64> = ratios.iter().map(|(on, _)| TestedOn::day(*on).years_since(since)).collect();
    let ratios: Vec<f64> = ratios.into_iter().map(|(_, ratio)| ratio).collect();
    let fit = least_squares::fit(&[&years], &ratios, None, Intercept::Fitted).ok()?;
    let slope = *fit.coef.get(1)?;
    let error = fit.covariance.standard_error(1)?;
    // Ratios that lie on one line leave no error: any fall is then certain.
    let p = match fit.degrees_of_freedom {
        _ if error.is_nan() || error <= 0.0 => f64::from(slope >= 0.0),
        0 => 1.0,
        df => student_lower_tail(slope / error, df as f64),
    };
    Some(PhaseDrift { since, rounds: ratios.len(), log10_per_year: slope, p })
}

fn log10_ratio_to_others(read: &[(Phase, Measured)], phase: Phase) -> Option<f64> {
    let exact = |(other, value): &(Phase, Measured)| match value {
        Measured::Exact(r) => Some((*other, r.log10_megohms())),
        _ => None,
    };
    let levels: Vec<(Phase, f64)> = read.iter().filter_map(exact).collect();
    let (_, own) = levels.iter().find(|(other, _)| *other == phase)?;
    let others: Vec<f64> = levels.iter().filter(|(other, _)| *other != phase).map(|(_, level)| *level).collect();
    (!others.is_empty()).then(|| own - others.iter().sum::<f64>() / others.len() as f64)
}

fn rounds(cases: &[&Case], members: &[usize]) -> Vec<Round> {
    let phases = members.iter().filter_map(|&i| Some((cases[i].series.key.connection.phase_to_earth()?, cases[i])));
    // Leads that were all joined read one winding, and are not phases to compare. Where the records of a day contradict each other, a joined
    // one may have been separated, and is compared.
    let others = |case: &Case, at: usize| case.record(at).procedure().other_phases;
    let mut separated_on: BTreeSet<NaiveDate> = BTreeSet::new();
    for case in members.iter().map(|&i| cases[i]) {
        let separated =
            (0..case.tests.len()).filter(|at| others(case, *at).is_some_and(|others| others != OtherPhases::Joined));
        separated_on.extend(separated.map(|at| case.tests[at].tested_on.date));
    }
    let joined = |case: &Case, at: usize| {
        others(case, at) == Some(OtherPhases::Joined) && !separated_on.contains(&case.tests[at].tested_on.date)
    };
    let tests = phases.flat_map(|(phase, case)| {
        let joined = &joined;
        let separated = case.tests.iter().enumerate().filter(move |(at, _)| !joined(case, *at));
        separated.map(move |(_, test)| (phase, test))
    });
    // Which tests belong together is seen from all of them; those of the stretch are compared.
    let mut rounds = in_rounds(tests.filter(|(_, test)| counts(test)));
    for round in &mut rounds {
        round.read.retain(|(phase, _)| !round.before_stretch.contains(phase));
    }
    rounds.retain(|round| !round.read.is_empty());
    rounds
}

fn latest_spread(rounds: &[Round], limit: f64) -> Option<PhaseSpread> {
    let mut above = rounds.iter().rev().filter(|round| round.read.len() > 1).map(|round| {
        let PhaseRatio { on, highest, lowest, ratio, .. } = ratio_of(round)?;
        (ratio > limit).then_some(PhaseSpread { on, highest, lowest, ratio, rounds_in_a_row: 1 })
    });
    let latest = above.next()??;
    let before = above.take_while(|round| round.as_ref().is_some_and(|spread| spread.lowest == latest.lowest)).count();
    Some(PhaseSpread { rounds_in_a_row: 1 + before, ..latest })
}

/// The lowest phase and the most it can be: a bound above cannot be the lowest.
fn lowest(phases: &[(Phase, Measured)]) -> Option<(Phase, f64)> {
    phases
        .iter()
        .filter_map(|(phase, value)| match value {
            Measured::Exact(r) | Measured::Below(r) => Some((*phase, r.as_megohms())),
            Measured::Above(_) | Measured::OffScale => None,
        })
        .min_by(|a, b| a.1.total_cmp(&b.1))
}

/// The highest phase and the least it can be.
fn highest(phases: &[(Phase, Measured)]) -> Option<(Phase, f64)> {
    phases
        .iter()
        .filter_map(|(phase, value)| match value {
            Measured::Exact(r) | Measured::Above(r) => Some((*phase, r.as_megohms())),
            Measured::Below(_) | Measured::OffScale => None,
        })
        .max_by(|a, b| a.1.total_cmp(&b.1))
}
