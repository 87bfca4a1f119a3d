//! Phases of one winding tested on the same day, compared as ratios: temperature and damp cancel.

use super::case::Case;
use super::inputs::Terms;
use super::result::{CorrectedTest, LeftOut};
use crate::record::{Phase, Scope, TestedOn};
use crate::resistance::{Bound, Measured};
use crate::stats::least_squares::{self, Intercept};
use chrono::NaiveDate;
use statrs::distribution::{ContinuousCDF, StudentsT};
use std::collections::BTreeMap;

/// Rounds with the phases tested together below which no drift is judged.
const LEAST_ROUNDS: usize = 6;
/// Chance at which a phase's fall against its sisters is no longer taken for chance.
const DRIFT_P: f64 = 0.001;
/// Least fall over the record that is worth saying, decades (a factor of 1.26).
const LEAST_DRIFT_LOG10: f64 = 0.1;

/// How one phase stands against its sisters.
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

/// A phase that falls away from its sisters.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct PhaseDrift {
    pub(super) since: NaiveDate,
    /// Rounds in which the phase and at least one sister were read exactly.
    pub(super) rounds: usize,
    /// Fall of log10 of its ratio to the sisters' mean, decades per year.
    pub(super) log10_per_year: f64,
    /// Probability that chance shows such a fall where there is none.
    pub(super) p: f64,
}

/// How far the phases of a winding stood apart on one day.
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

/// The ratio of the phases on each day on which two or more were tested and are known well enough to tell one, in time order.
///
/// # Validity
///
/// Tests whose leads were not proved, that lie after the as-of date or have no one-minute reading take no part.
#[must_use]
pub fn phase_ratios(phases: &[(Phase, &[CorrectedTest])]) -> Vec<PhaseRatio> {
    let mut days: BTreeMap<NaiveDate, (Round, bool)> = BTreeMap::new();
    for (phase, tests) in phases {
        for test in tests.iter().filter(|test| matches!(test.left_out, None | Some(LeftOut::BeforeStretch))) {
            if let Some(value) = test.corrected {
                let (round, before) = days.entry(test.tested_on.date).or_default();
                round.push((*phase, value));
                *before |= test.left_out.is_some();
            }
        }
    }
    let ratio = |(on, (round, before)): (NaiveDate, (Round, bool))| ratio_of(on, &round, before);
    days.into_iter().filter_map(ratio).collect()
}

fn ratio_of(on: NaiveDate, round: &Round, before_stretch: bool) -> Option<PhaseRatio> {
    let (lowest, floor) = lowest(round)?;
    let (highest, ceiling) = highest(round)?;
    let exact = round.iter().all(|(_, value)| value.bound() == Bound::Exact);
    let bound = if exact { Bound::Exact } else { Bound::Above };
    let told = round.len() > 1 && ceiling >= floor;
    told.then_some(PhaseRatio { on, highest, lowest, ratio: ceiling / floor, bound, before_stretch })
}

/// What was read on one day: phase and corrected value.
type Round = Vec<(Phase, Measured)>;
/// Days on which phases were tested.
type Rounds = BTreeMap<NaiveDate, Round>;

/// How each case stands against the other phases of its winding; the default for all that are no phase to earth.
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

/// The phase that falls away most from the mean of its sisters, if that is more than chance.
fn steepest_drift(rounds: &Rounds) -> Option<(Phase, PhaseDrift)> {
    let phases = [Phase::U, Phase::V, Phase::W];
    let drifts = phases.into_iter().filter_map(|phase| Some((phase, drift(rounds, phase)?)));
    let (phase, steepest) = drifts.min_by(|a, b| a.1.log10_per_year.total_cmp(&b.1.log10_per_year))?;
    let years = TestedOn::day(*rounds.keys().next_back()?).years_since(steepest.since);
    let falls = steepest.p < DRIFT_P && steepest.log10_per_year * years <= -LEAST_DRIFT_LOG10;
    falls.then_some((phase, steepest))
}

/// The line through one phase's ratio to its sisters: temperature, damp and season cancel in it.
fn drift(rounds: &Rounds, phase: Phase) -> Option<PhaseDrift> {
    let ratios: Vec<(NaiveDate, f64)> =
        rounds.iter().filter_map(|(on, round)| Some((*on, log10_ratio_to_sisters(round, phase)?))).collect();
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
    let p = if error > 0.0 { student_below(slope / error, fit.degrees_of_freedom) } else { f64::from(slope >= 0.0) };
    Some(PhaseDrift { since, rounds: ratios.len(), log10_per_year: slope, p })
}

fn student_below(t: f64, degrees_of_freedom: usize) -> f64 {
    StudentsT::new(0.0, 1.0, degrees_of_freedom as f64).map_or(1.0, |distribution| distribution.cdf(t))
}

fn log10_ratio_to_sisters(round: &Round, phase: Phase) -> Option<f64> {
    let exact = |(other, value): &(Phase, Measured)| match value {
        Measured::Exact(r) => Some((*other, r.log10_megohms())),
        _ => None,
    };
    let levels: Vec<(Phase, f64)> = round.iter().filter_map(exact).collect();
    let (_, own) = levels.iter().find(|(other, _)| *other == phase)?;
    let sisters: Vec<f64> = levels.iter().filter(|(other, _)| *other != phase).map(|(_, level)| *level).collect();
    (!sisters.is_empty()).then(|| own - sisters.iter().sum::<f64>() / sisters.len() as f64)
}

fn rounds(cases: &[&Case], members: &[usize]) -> Rounds {
    let mut rounds = Rounds::new();
    for &i in members {
        let Some(phase) = cases[i].series.key.connection.phase_to_earth() else { continue };
        for test in &cases[i].tests {
            if test.left_out.is_none()
                && let Some(value) = test.corrected
            {
                rounds.entry(test.tested_on.date).or_default().push((phase, value));
            }
        }
    }
    rounds
}

fn latest_spread(rounds: &Rounds, limit: f64) -> Option<PhaseSpread> {
    let mut above = rounds.iter().rev().filter(|(_, phases)| phases.len() > 1).map(|(on, phases)| {
        let PhaseRatio { highest, lowest, ratio, .. } = ratio_of(*on, phases, false)?;
        (ratio > limit).then_some(PhaseSpread { on: *on, highest, lowest, ratio, rounds_in_a_row: 1 })
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
