//! One function per rule: each looks at a case and gives a finding or nothing. The list at the end is all of them.

pub(super) mod cells;
mod circumstances;
mod course;
mod doubt;
pub(super) mod fall;
pub(super) mod plausibility;
mod procedure;
mod process;
pub(super) mod ratios;
pub(super) mod reading;
mod repeated;
mod since_event;
mod unit_slip;

use super::finding::{Asks, Code, Finding};
use super::view::View;

type Rule = fn(&View<'_>) -> Option<Finding>;

/// Every rule. The order does not matter: findings are sorted afterwards.
const RULES: &[Rule] = &[
    reading::no_reading,
    reading::below_minimum,
    reading::recovered_without_work,
    reading::frozen_winding,
    reading::temperature_missing,
    reading::temperature_outside_law,
    reading::off_scale,
    reading::register_unread,
    reading::minimum_unknown,
    cells::note_of_rewind,
    reading::limit_basis,
    reading::test_apart,
    reading::below_commissioning,
    reading::insulation_unknown,
    reading::law_learnt,
    process::drying,
    process::phases_joined,
    process::other_phases_mixed,
    process::other_phases_changed,
    circumstances::lead_check_failed,
    procedure::source_check_failed,
    procedure::calibration_expired,
    procedure::battery_low,
    procedure::not_proved_dead,
    cells::cell_unread,
    cells::connection_misspelt,
    cells::note_of_water,
    cells::note_of_failure,
    procedure::dielectric_discharge,
    procedure::short_discharge,
    procedure::in_store,
    circumstances::damp_test,
    circumstances::tester_output,
    circumstances::voltage_outside_guide,
    circumstances::voltage_changed,
    repeated::falls_with_voltage,
    repeated::tested_twice,
    repeated::row_kept_out,
    circumstances::instrument_changed,
    circumstances::future_test,
    ratios::index_below_one,
    ratios::low_absorption,
    ratios::index_missing,
    ratios::high_index,
    ratios::ratio_fallen,
    ratios::ratio_not_meaningful,
    ratios::phase_spread,
    unit_slip::unit_slip,
    plausibility::copied_rows,
    plausibility::timed_readings_fall,
    plausibility::temperature_implausible,
    plausibility::full_scale_changed,
    plausibility::value_repeated,
    fall::fall_since_last,
    course::level_shift,
    course::reaches_minimum,
    course::falling,
    course::after_event,
    course::few_readings,
    course::beyond_scale,
    course::overdue,
];

/// All findings on a case: those that ask for the most urgent first, the weightiest first among equals.
pub(super) fn findings(view: &View<'_>) -> Vec<Finding> {
    let mut found: Vec<Finding> = RULES.iter().filter_map(|rule| rule(view)).collect();
    for finding in view.second_look {
        // Of cells that cannot be read each has its own.
        found.retain(|other| other.code != finding.code || finding.code == Code::CellUnread);
        found.push(finding.clone());
    }
    if view.second_look.iter().any(|finding| finding.asks == Asks::Work) {
        // What asks for work does not rest on the void test.
        for finding in found.iter_mut().filter(|finding| finding.asks == Asks::NewTest) {
            finding.asks = Asks::Repeat;
        }
    }
    if let Some(still_below) = reading::still_below(view, &found) {
        // What was read says more than what the trend makes of it.
        found.retain(|finding| finding.code != still_below.code);
        found.push(still_below);
    }
    found.extend(reading::still_wet(view, &found));
    if found.iter().any(|finding| finding.code == Code::Drying) {
        // Next to a winding that is drying out, nothing says that a reading is enough or that work is done.
        let reassures =
            |code| matches!(code, Code::TemperatureMissing | Code::TemperatureOutsideLaw | Code::AfterEvent);
        found.retain(|finding| finding.asks != Asks::Nothing || !reassures(finding.code));
    }
    for finding in &mut found {
        finding.message = view.naming(std::mem::take(&mut finding.message));
    }
    found.sort_by_key(|finding| (finding.asks, finding.code));
    found
}
