//! One function per rule: each looks at a case and gives a finding or nothing. The list at the end is all of them.

mod circumstances;
pub(super) mod course;
mod plausibility;
pub(super) mod ratios;
mod reading;

use super::case::{Case, Terms};
use super::copies::Copied;
use super::finding::Finding;
use super::outlook::Outlook;
use super::phases::PhaseStanding;
use super::result::CorrectedTest;
use crate::record::TestRecord;

/// What the rules look at.
pub(super) struct View<'a> {
    pub(super) case: &'a Case,
    pub(super) terms: &'a Terms,
    pub(super) outlook: Option<&'a Outlook>,
    pub(super) phases: &'a PhaseStanding,
    pub(super) copied: Option<&'a Copied>,
}

impl View<'_> {
    /// The latest test that counts, with its row.
    pub(super) fn latest(&self) -> Option<(&CorrectedTest, &TestRecord)> {
        self.case.latest().map(|at| (&self.case.tests[at], self.case.record(at)))
    }

    /// The test that counts before it, with its row.
    fn before_latest(&self) -> Option<(&CorrectedTest, &TestRecord)> {
        self.case.before_latest().map(|at| (&self.case.tests[at], self.case.record(at)))
    }
}

type Rule = fn(&View<'_>) -> Option<Finding>;

/// Every rule. The order is of no account: findings are sorted by weight afterwards.
const RULES: &[Rule] = &[
    reading::no_reading,
    reading::below_minimum,
    reading::temperature_missing,
    reading::temperature_outside_law,
    reading::off_scale,
    reading::minimum_unknown,
    reading::insulation_unknown,
    reading::law_learnt,
    circumstances::lead_check_failed,
    circumstances::damp_test,
    circumstances::voltage_outside_guide,
    circumstances::voltage_changed,
    circumstances::instrument_changed,
    circumstances::future_test,
    ratios::low_absorption,
    ratios::ratio_not_meaningful,
    ratios::phase_spread,
    plausibility::unit_slip,
    plausibility::copied_rows,
    plausibility::timed_readings_fall,
    plausibility::temperature_implausible,
    plausibility::full_scale_changed,
    plausibility::value_repeated,
    course::fall_since_last,
    course::level_shift,
    course::reaches_minimum,
    course::falling,
    course::after_event,
    course::few_readings,
    course::overdue,
];

/// All findings on a case, weightiest first.
pub(super) fn findings(view: &View<'_>) -> Vec<Finding> {
    let mut found: Vec<Finding> = RULES.iter().filter_map(|rule| rule(view)).collect();
    found.sort_by_key(|finding| finding.code);
    found
}
