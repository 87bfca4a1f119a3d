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
use groundwall::units::Confidence;
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
