//! Forms of the ranked list: one file each. All take the same [`Assessment`].

pub mod account;
pub mod columns;
pub mod csv;
#[cfg(feature = "frames")]
pub mod frame;
pub mod json;
pub mod register_template;
pub mod rejects;
pub mod replay;
pub mod round;
pub mod table;
pub mod workbook;
pub mod wrap;

use crate::ingest::InputLedger;
use chrono::NaiveDate;
use groundwall::assess::{Action, Evidence, Finding, SeriesAssessment};
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

    /// For how many days each series is overdue that is.
    pub fn overdue(&self) -> impl Iterator<Item = u32> {
        self.series.iter().filter_map(|series| series.overdue_days)
    }
}

/// A count of series that are overdue as a line of its own: "94 of 120 overdue, the oldest by 14 months." None where none is.
#[must_use]
pub fn overdue_in_words(overdue: impl Iterator<Item = u32>, series: usize) -> Option<String> {
    let days: Vec<u32> = overdue.collect();
    let longest = span_in_words(*days.iter().max()?);
    Some(if days.len() == 1 {
        format!("1 of {series} overdue, by {longest}.")
    } else {
        format!("{} of {series} overdue, the oldest by {longest}.", days.len())
    })
}

/// Days as a person counts them: "20 days", "14 months".
#[must_use]
pub fn span_in_words(days: u32) -> String {
    const DAYS_PER_MONTH: f64 = 365.25 / 12.0;
    match days {
        1 => "1 day".to_owned(),
        0..=59 => format!("{days} days"),
        _ => format!("{:.0} months", f64::from(days) / DAYS_PER_MONTH),
    }
}

/// The day of the next test: "now" where that day has come.
#[must_use]
pub fn test_by(series: &SeriesAssessment, as_of: NaiveDate) -> String {
    if series.next_test.by <= as_of { "now".to_owned() } else { series.next_test.by.to_string() }
}

/// The evidence of a finding on one line: `fall_log10 = 0.41; readings = 2`.
#[must_use]
pub fn evidence(finding: &Finding) -> String {
    let one = |(name, value): &(&str, Evidence)| match value {
        Evidence::Number(number) => format!("{name} = {number}"),
        Evidence::Text(text) => format!("{name} = {text}"),
    };
    finding.evidence.iter().map(one).collect::<Vec<_>>().join("; ")
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
