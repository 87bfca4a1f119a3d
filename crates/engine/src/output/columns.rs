//! The flat form of a series: the result file's keys joined by `_`, in one table for every format that has columns.

use super::motor;
use crate::summary::in_plain_words;
use chrono::NaiveDate;
use groundwall::assess::{CrossingDates, Latest, SeriesAssessment, TrendSummary};
use groundwall::record::{Item, ItemValue};
use groundwall::resistance::Bound;
use groundwall::units::Temperature;

/// A typed cell.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// Text.
    Text(Option<String>),
    /// A number.
    Number(Option<f64>),
    /// A count.
    Count(Option<u32>),
    /// A day.
    Day(Option<NaiveDate>),
}

/// One column: its name and how its cell is found.
pub struct Column {
    /// The name, with its unit.
    pub name: &'static str,
    /// The heading for people, with its unit.
    pub title: &'static str,
    /// The cell of a series.
    pub cell: fn(&SeriesAssessment) -> Cell,
}

fn text(value: &str) -> Cell {
    Cell::Text(Some(value.to_owned()))
}

fn latest(series: &SeriesAssessment, pick: impl Fn(&Latest) -> Option<f64>) -> Cell {
    Cell::Number(series.latest.as_ref().and_then(pick))
}

/// What the record of the latest test says; a column is of one kind, whatever its first cell holds.
fn record(series: &SeriesAssessment, item: Item) -> Cell {
    let value = series.latest.as_ref().and_then(|latest| latest.procedure.get(item));
    match (item, value) {
        (Item::Discharged | Item::DielectricDischarge | Item::Standing, value) => {
            Cell::Number(if let Some(ItemValue::Number(number)) = value { Some(number) } else { None })
        }
        (Item::CalibrationDue, value) => {
            Cell::Day(if let Some(ItemValue::Day(day)) = value { Some(day) } else { None })
        }
        // Words or volts: the digits are those of a number.
        (_, Some(ItemValue::Number(number))) => text(ryu::Buffer::new().format(number)),
        (_, value) => Cell::Text(value.map(|value| value.to_string())),
    }
}

fn trend(series: &SeriesAssessment, pick: impl Fn(&TrendSummary) -> Option<f64>) -> Cell {
    Cell::Number(series.trend.as_ref().and_then(pick))
}

fn count(series: &SeriesAssessment, pick: impl Fn(&TrendSummary) -> usize) -> Cell {
    Cell::Count(series.trend.as_ref().map(|trend| u32::try_from(pick(trend)).unwrap_or(u32::MAX)))
}

fn crossing(series: &SeriesAssessment, pick: impl Fn(&CrossingDates) -> Option<NaiveDate>) -> Cell {
    Cell::Day(series.forecast.reaches_minimum.as_ref().and_then(pick))
}

/// The word of a bound.
#[must_use]
pub const fn bound_word(bound: Bound) -> &'static str {
    match bound {
        Bound::Exact => "exact",
        Bound::Above => "above",
        Bound::Below => "below",
    }
}

/// All columns, in order.
pub const COLUMNS: &[Column] = &[
    Column { name: "winding", title: "Winding", cell: |s| text(&s.winding) },
    Column { name: "motor", title: "Motor", cell: |s| text(motor(&s.winding)) },
    Column { name: "connection", title: "Connection", cell: |s| text(&s.connection) },
    Column { name: "scope", title: "Scope", cell: |s| text(&s.scope) },
    Column { name: "site", title: "Site", cell: |s| Cell::Text(s.site.clone()) },
    Column { name: "area", title: "Area", cell: |s| Cell::Text(s.area.clone()) },
    Column { name: "description", title: "Description", cell: |s| Cell::Text(s.description.clone()) },
    Column { name: "criticality", title: "Criticality", cell: |s| Cell::Text(s.criticality.clone()) },
    Column { name: "work_order", title: "Work order", cell: |s| Cell::Text(s.work_order.clone()) },
    Column { name: "maker", title: "Maker", cell: |s| Cell::Text(s.maker.clone()) },
    Column { name: "group", title: "Group", cell: |s| Cell::Text(s.group.clone()) },
    Column { name: "action", title: "Action", cell: |s| text(s.action.word()) },
    Column { name: "asks_for", title: "What it asks for", cell: |s| text(&in_plain_words(s)) },
    Column {
        name: "findings",
        title: "Findings",
        cell: |s| text(&s.noticed().map(|finding| finding.code.word()).collect::<Vec<_>>().join("; ")),
    },
    Column {
        name: "latest_tested_on",
        title: "Latest test that counts",
        cell: |s| Cell::Day(s.latest.as_ref().map(|latest| latest.tested_on)),
    },
    Column { name: "void_tested_on", title: "A later test, void", cell: |s| Cell::Day(s.void_tested_on) },
    Column { name: "latest_r60_mohm", title: "Latest R60 as read, MΩ", cell: |s| latest(s, |l| l.r60_mohm) },
    Column {
        name: "latest_bound",
        title: "Exact or bound",
        cell: |s| Cell::Text(s.latest.as_ref().map(|latest| bound_word(latest.bound).to_owned())),
    },
    Column {
        name: "latest_winding_temp_c",
        title: "Winding, °C",
        cell: |s| latest(s, |l| l.winding_temp_c.map(Temperature::as_celsius)),
    },
    Column { name: "latest_kt", title: "Factor to reference", cell: |s| latest(s, |l| l.kt) },
    Column {
        name: "latest_r60_ref_mohm",
        title: "Latest R60 at reference, MΩ",
        cell: |s| latest(s, |l| l.r60_ref_mohm),
    },
    Column { name: "latest_pi", title: "PI", cell: |s| latest(s, |l| l.pi) },
    Column { name: "latest_dar", title: "DAR", cell: |s| latest(s, |l| l.dar) },
    Column { name: "latest_other_phases", title: "Other phases", cell: |s| record(s, Item::OtherPhases) },
    Column { name: "latest_serial", title: "Tester, serial no.", cell: |s| record(s, Item::Serial) },
    Column { name: "latest_calibration_due", title: "Calibration due", cell: |s| record(s, Item::CalibrationDue) },
    Column { name: "latest_battery", title: "Battery", cell: |s| record(s, Item::Battery) },
    Column { name: "latest_zero_check", title: "Zero check", cell: |s| record(s, Item::ZeroCheck) },
    Column { name: "latest_open_check", title: "Open check", cell: |s| record(s, Item::OpenCheck) },
    Column { name: "latest_source_check", title: "Source check", cell: |s| record(s, Item::SourceCheck) },
    Column { name: "latest_proved_dead", title: "Proved dead", cell: |s| record(s, Item::ProvedDead) },
    Column { name: "latest_discharged_min", title: "Discharged, min", cell: |s| record(s, Item::Discharged) },
    Column {
        name: "latest_dielectric_discharge",
        title: "Dielectric discharge",
        cell: |s| record(s, Item::DielectricDischarge),
    },
    Column { name: "latest_tested_by", title: "Tested by", cell: |s| record(s, Item::TestedBy) },
    Column { name: "latest_work_order", title: "Work order of the test", cell: |s| record(s, Item::WorkOrder) },
    Column { name: "latest_equipment_state", title: "Machine was", cell: |s| record(s, Item::EquipmentState) },
    Column { name: "latest_standing_h", title: "Stood, h", cell: |s| record(s, Item::Standing) },
    Column {
        name: "minimum_mohm",
        title: "Minimum, MΩ",
        cell: |s| Cell::Number(s.minimum.as_ref().map(|m| m.resistance.as_megohms())),
    },
    Column {
        name: "minimum_as_read_mohm",
        title: "Minimum as read, MΩ",
        cell: |s| Cell::Number(s.minimum.as_ref().and_then(|m| m.as_read).map(|limit| limit.as_megohms())),
    },
    Column {
        name: "minimum_rule",
        title: "Rule of the minimum",
        cell: |s| Cell::Text(s.minimum.as_ref().map(|m| m.rule.clone())),
    },
    Column {
        name: "trend_method",
        title: "Trend, method",
        cell: |s| Cell::Text(s.trend.as_ref().map(|t| t.method.clone())),
    },
    Column { name: "trend_since", title: "Trend since", cell: |s| Cell::Day(s.trend.as_ref().map(|t| t.since)) },
    Column {
        name: "trend_since_reason",
        title: "Trend begins with",
        cell: |s| Cell::Text(s.trend.as_ref().map(|t| t.since_reason.word().to_owned())),
    },
    Column { name: "trend_tests", title: "Tests in the trend", cell: |s| count(s, |t| t.tests) },
    Column { name: "trend_exact", title: "of these exact", cell: |s| count(s, |t| t.exact) },
    Column { name: "trend_above", title: "of these above", cell: |s| count(s, |t| t.above) },
    Column { name: "trend_below", title: "of these below", cell: |s| count(s, |t| t.below) },
    Column { name: "trend_level_mohm", title: "Fitted level, MΩ", cell: |s| trend(s, |t| t.level_mohm) },
    Column {
        name: "trend_slope_log10_per_year",
        title: "Slope, decades a year",
        cell: |s| trend(s, |t| t.slope_log10_per_year),
    },
    Column { name: "trend_slope_low", title: "Slope, lower end", cell: |s| trend(s, |t| t.slope_low) },
    Column { name: "trend_slope_high", title: "Slope, upper end", cell: |s| trend(s, |t| t.slope_high) },
    Column { name: "trend_halving_years", title: "Halves in, years", cell: |s| trend(s, |t| t.halving_years) },
    Column { name: "trend_scatter_log10", title: "Scatter, decades", cell: |s| trend(s, |t| t.scatter_log10) },
    Column { name: "trend_p_falling", title: "Chance that it falls", cell: |s| trend(s, |t| t.p_falling) },
    Column {
        name: "forecast_reaches_minimum_earliest",
        title: "May reach minimum from",
        cell: |s| crossing(s, |c| Some(c.earliest)),
    },
    Column { name: "forecast_reaches_minimum_median", title: "Likely about", cell: |s| crossing(s, |c| c.median) },
    Column {
        name: "forecast_reaches_minimum_latest",
        title: "May reach minimum until",
        cell: |s| crossing(s, |c| c.latest),
    },
    Column {
        name: "forecast_p_below_at_next_test",
        title: "Chance below at next test",
        cell: |s| Cell::Number(s.forecast.p_below_at_next_test),
    },
    Column {
        name: "forecast_p_below_in_horizon",
        title: "Chance below in horizon",
        cell: |s| Cell::Number(s.forecast.p_below_in_horizon),
    },
    Column { name: "forecast_cannot_say", title: "Why no date", cell: |s| Cell::Text(s.forecast.cannot_say.clone()) },
    Column { name: "work_by", title: "Work by", cell: |s| Cell::Text(s.work_by.map(|by| by.to_string())) },
    Column { name: "next_test_by", title: "Test by", cell: |s| Cell::Day(Some(s.next_test.by)) },
    Column { name: "next_test_why", title: "Why then", cell: |s| text(&s.next_test.why) },
    Column { name: "overdue_days", title: "Overdue, days", cell: |s| Cell::Count(s.overdue_days) },
];
