//! Forms of the ranked list: one file each. All take the same [`Assessment`].

pub mod account;
pub mod columns;
pub mod csv;
pub mod frame;
pub mod json;
pub mod replay;
pub mod table;
pub mod wrap;

use crate::ingest::InputLedger;
use chrono::NaiveDate;
use groundwall::assess::{Action, SeriesAssessment};
use groundwall::policy::Policy;
use groundwall::units::Confidence;

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

/// Puts the most urgent first: by action, then by the probability of getting below the minimum, then by how close the
/// latest reading is to it, then by name.
pub fn by_urgency(series: &mut [SeriesAssessment]) {
    let margin = |s: &SeriesAssessment| {
        let value = s.latest.as_ref().and_then(|latest| latest.r60_ref_mohm.or(latest.r60_mohm));
        let minimum = s.minimum.as_ref().map(|minimum| minimum.resistance.as_megohms());
        value.zip(minimum).map_or(f64::INFINITY, |(value, minimum)| value / minimum)
    };
    let probability = |s: &SeriesAssessment| s.forecast.p_below_in_horizon.unwrap_or(0.0);
    series.sort_by(|a, b| {
        a.action
            .cmp(&b.action)
            .then(probability(b).total_cmp(&probability(a)))
            .then(margin(a).total_cmp(&margin(b)))
            .then_with(|| (&a.winding, &a.connection, &a.scope).cmp(&(&b.winding, &b.connection, &b.scope)))
    });
}
