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
use groundwall::units::{Confidence, Resistance};
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

/// The latest reading of a series at the reference temperature in words; as read where it could not be corrected.
#[must_use]
pub fn latest_in_words(series: &SeriesAssessment) -> String {
    if let Some(value) = series.latest_at_reference() {
        return value.to_string();
    }
    let as_read = series.latest.as_ref().and_then(|latest| latest.r60_mohm);
    match as_read.and_then(|mohm| Resistance::from_megohms(mohm).ok()) {
        Some(r) => format!("{r} as read"),
        None => "none".to_owned(),
    }
}

/// Whether no date is given because the level does not reach the minimum as far as can be seen.
#[must_use]
pub fn is_out_of_sight(series: &SeriesAssessment) -> bool {
    series.forecast.cannot_say.as_ref().is_some_and(|why| why.starts_with("good news"))
}

/// Puts the most urgent first.
pub fn by_urgency(series: &mut [SeriesAssessment]) {
    series.sort_by(urgency);
}

/// The order of urgency: by action, then by the probability of getting below the minimum, then by how close the latest
/// reading is to it, then by name.
#[must_use]
pub fn urgency(a: &SeriesAssessment, b: &SeriesAssessment) -> Ordering {
    let margin = |s: &SeriesAssessment| {
        let value = s.latest.as_ref().and_then(|latest| latest.r60_ref_mohm.or(latest.r60_mohm));
        let minimum = s.minimum.as_ref().map(|minimum| minimum.resistance.as_megohms());
        value.zip(minimum).map_or(f64::INFINITY, |(value, minimum)| value / minimum)
    };
    let probability = |s: &SeriesAssessment| s.forecast.p_below_in_horizon.unwrap_or(0.0);
    a.action
        .cmp(&b.action)
        .then(probability(b).total_cmp(&probability(a)))
        .then(margin(a).total_cmp(&margin(b)))
        .then_with(|| (&a.winding, &a.connection, &a.scope).cmp(&(&b.winding, &b.connection, &b.scope)))
}
