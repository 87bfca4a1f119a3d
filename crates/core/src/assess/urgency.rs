//! Where a series stands in a list.

use super::result::{Action, SeriesAssessment};
use std::cmp::Ordering;

/// What decides where a series stands in a list: the action, then how critical the machine is, then the probability of getting below
/// the minimum, then how close the latest reading is to it.
#[derive(Clone, Copy, Debug)]
pub struct Urgency {
    /// The action.
    pub action: Action,
    criticality_rank: usize,
    p_below: f64,
    margin: f64,
}

impl Ord for Urgency {
    /// The more urgent is the lesser.
    fn cmp(&self, other: &Self) -> Ordering {
        self.action
            .cmp(&other.action)
            .then(self.criticality_rank.cmp(&other.criticality_rank))
            .then(other.p_below.total_cmp(&self.p_below))
            .then(self.margin.total_cmp(&other.margin))
    }
}

impl PartialOrd for Urgency {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Urgency {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Urgency {}

impl SeriesAssessment {
    /// What decides where the series stands in a list.
    #[must_use]
    pub fn urgency(&self) -> Urgency {
        let value = self.latest.as_ref().and_then(|latest| latest.r60_ref_mohm.or(latest.r60_mohm));
        let minimum = self.minimum.as_ref().map(|minimum| minimum.resistance.as_megohms());
        Urgency {
            action: self.action,
            criticality_rank: self.criticality_rank,
            p_below: self.forecast.p_below_in_horizon.unwrap_or(0.0),
            margin: value.zip(minimum).map_or(f64::INFINITY, |(value, minimum)| value / minimum),
        }
    }
}
