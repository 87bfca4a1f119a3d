//! Phases of one winding tested on the same day, compared as ratios: temperature and damp cancel.

use super::case::{Case, Terms};
use super::result::LeftOut;
use crate::record::Phase;
use crate::resistance::Measured;
use chrono::NaiveDate;
use std::collections::BTreeMap;

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

/// Days on which phases were tested, with what each read, corrected.
type Rounds = BTreeMap<NaiveDate, Vec<(Phase, Measured)>>;

/// For each case whose phase is the lowest of its winding by more than the policy's ratio: the spread.
///
/// # Units
///
/// `cases` in order of their key, so that the phases of one winding and scope lie side by side; the result has one
/// element a case.
pub(super) fn spreads(cases: &[&Case], terms: &Terms) -> Vec<Option<PhaseSpread>> {
    let mut found = vec![None; cases.len()];
    let mut groups: BTreeMap<(&str, String), Vec<usize>> = BTreeMap::new();
    for (i, case) in cases.iter().enumerate() {
        if case.series.key.connection.phase_to_earth().is_some() {
            groups.entry((&case.series.key.winding, case.series.key.scope.to_string())).or_default().push(i);
        }
    }
    for members in groups.into_values().filter(|members| members.len() > 1) {
        let rounds = rounds(cases, &members);
        let Some(spread) = latest_spread(&rounds, terms.policy.phase_ratio_limit) else { continue };
        let lowest = members.iter().find(|&&i| cases[i].series.key.connection.phase_to_earth() == Some(spread.lowest));
        if let Some(&i) = lowest {
            found[i] = Some(spread);
        }
    }
    found
}

fn rounds(cases: &[&Case], members: &[usize]) -> Rounds {
    let mut rounds = Rounds::new();
    for &i in members {
        let Some(phase) = cases[i].series.key.connection.phase_to_earth() else { continue };
        for test in &cases[i].tests {
            if matches!(test.left_out, None | Some(LeftOut::BeforeStretch))
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
        let (lowest, floor) = lowest(phases)?;
        let (highest, ceiling) = highest(phases)?;
        let ratio = ceiling / floor;
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
