//! Forms of the ranked list: one file each. All take the same [`Assessment`].

pub mod account;
pub mod columns;
pub mod csv;
pub mod json;
pub mod replay;
pub mod table;
pub mod wrap;

use crate::ingest::InputLedger;
use chrono::NaiveDate;
use groundwall::assess::{Action, SeriesAssessment};
use groundwall::policy::Policy;
use groundwall::units::Confidence;
use std::cmp::Ordering;

/// The result of a run, most urgent series first.
pub struct Assessment<'a> {
    /// The day on which it stands.
    pub as_of: NaiveDate,
    /// Confidence of every interval.
    pub confidence: Confidence,
    /// The rules applied.
    pub policy: &'a Policy,
    /// The ledger, one line per input.
    pub inputs: &'a [InputLedger],
    /// Series by urgency.
    pub series: Vec<SeriesAssessment>,
}

impl Assessment<'_> {
    /// How many series have each action, most urgent first.
    #[must_use]
    pub fn counts(&self) -> [(Action, usize); 6] {
        Action::ALL.map(|action| (action, self.series.iter().filter(|series| series.action == action).count()))
    }
}

/// What decides where a series stands: the action, then the probability of getting below the minimum, then how close the
/// latest reading is to it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Urgency {
    /// The action.
    pub action: Action,
    p_below: f64,
    margin: f64,
}

impl Urgency {
    /// That of a series.
    #[must_use]
    pub fn of(series: &SeriesAssessment) -> Self {
        let value = series.latest.as_ref().and_then(|latest| latest.r60_ref_mohm.or(latest.r60_mohm));
        let minimum = series.minimum.as_ref().map(|minimum| minimum.resistance.as_megohms());
        Self {
            action: series.action,
            p_below: series.forecast.p_below_in_horizon.unwrap_or(0.0),
            margin: value.zip(minimum).map_or(f64::INFINITY, |(value, minimum)| value / minimum),
        }
    }

    /// The more urgent is the lesser.
    #[must_use]
    pub fn order(&self, other: &Self) -> Ordering {
        self.action
            .cmp(&other.action)
            .then(other.p_below.total_cmp(&self.p_below))
            .then(self.margin.total_cmp(&other.margin))
    }
}

/// Puts the most urgent first. Equally urgent ones stay in the order of their names.
pub fn by_urgency(series: &mut [SeriesAssessment]) {
    series.sort_by(|a, b| Urgency::of(a).order(&Urgency::of(b)));
}
