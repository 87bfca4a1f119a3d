//! Forms of the ranked list: one file each. All take the same [`Assessment`].

pub mod account;
pub mod columns;
pub mod csv;
#[cfg(feature = "frames")]
pub mod frame;
pub mod json;
pub mod rejects;
pub mod replay;
pub mod round;
pub mod table;
pub mod workbook;
pub mod wrap;

use crate::ingest::InputLedger;
use chrono::NaiveDate;
use groundwall::assess::{Action, SeriesAssessment};
use groundwall::policy::Policy;
use groundwall::policy::keys::{KEYS, Value};
use groundwall::units::{Confidence, Resistance};
use std::collections::BTreeMap;

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

/// Puts the most urgent first. Equally urgent ones stay in the order of their names.
pub fn by_urgency(series: &mut [SeriesAssessment]) {
    series.sort_by_key(SeriesAssessment::urgency);
}

/// The rules applied, by section and name.
#[must_use]
pub fn rules(policy: &Policy) -> BTreeMap<&'static str, BTreeMap<&'static str, Value>> {
    let mut rules: BTreeMap<&'static str, BTreeMap<&'static str, Value>> = BTreeMap::new();
    for key in KEYS {
        rules.entry(key.section).or_default().insert(key.name, key.get(policy));
    }
    rules
}
