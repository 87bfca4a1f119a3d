//! The sheet to fill in: the columns of a history, then the columns of guidance, for every form that has cells.
//!
//! Only the winding, the connection and the scope are filled in, which say which test is meant. Cells for measured values stay empty,
//! because a value that is already there would be copied and not measured. A row left as it is counts as a test that was not done.

use super::super::columns::{Cell, bound_word};
use crate::cautions::SAFETY;
use crate::ingest::InputLedger;
use crate::ingest::columns::Columns;
use groundwall::absorption::{one_minute, ten_minutes};
use groundwall::record::Item;
use groundwall::record::columns::{Column, TemperatureScale};
use groundwall::resistance::{Measured, ResistanceUnit};
use groundwall::round::Line;
use groundwall::units::{Elapsed, Resistance, Temperature, Voltage};

/// One column of guidance.
pub struct Guide {
    /// The name, with its unit.
    pub name: &'static str,
    /// The cell of a test.
    pub cell: fn(&Line) -> Cell,
}

fn text(value: impl Into<String>) -> Cell {
    Cell::Text(Some(value.into()).filter(|text: &String| !text.is_empty()))
}

/// A resistance as guidance: three digits, as testers show it.
fn guided(r: Resistance) -> Cell {
    Cell::Number(format!("{:.2e}", r.as_megohms()).parse().ok())
}

fn degrees(t: Temperature) -> Cell {
    Cell::Number(Some((10.0 * t.as_celsius()).round() / 10.0))
}

/// The columns of guidance, in order.
pub const GUIDES: &[Guide] = &[
    Guide { name: "site", cell: |line| Cell::Text(line.nameplate.site.clone()) },
    Guide { name: "area", cell: |line| Cell::Text(line.nameplate.area.clone()) },
    Guide { name: "due_by", cell: |line| Cell::Day(Some(line.due.by)) },
    Guide { name: "why", cell: |line| text(line.due.why.as_str()) },
    Guide { name: "action", cell: |line| Cell::Text(line.action().map(|action| action.word().to_owned())) },
    Guide { name: "apply_volts", cell: |line| Cell::Number(line.voltage.apply.map(Voltage::as_volts)) },
    Guide { name: "apply_why", cell: |line| text(line.voltage.why.as_str()) },
    Guide { name: "hold_minutes", cell: |line| Cell::Count(Some(line.duration.minutes)) },
    Guide { name: "discharge_minutes", cell: |line| Cell::Count(Some(line.duration.discharge_minutes())) },
    Guide { name: "hold_why", cell: |line| text(line.duration.why.as_str()) },
    Guide { name: "likely_winding_temp_c", cell: |line| degrees(line.likely.at) },
    Guide { name: "likely_from", cell: |line| text(line.likely.from.in_words()) },
    Guide { name: "expected", cell: |line| text(line.expected.in_words()) },
    Guide { name: "stop_below_mohm", cell: |line| guided(line.stop[1].below) },
    Guide { name: "stop_below_10_k_colder_mohm", cell: |line| guided(line.stop[0].below) },
    Guide { name: "stop_below_10_k_warmer_mohm", cell: |line| guided(line.stop[2].below) },
    Guide { name: "minimum_mohm", cell: |line| guided(line.minimum.resistance) },
    Guide { name: "minimum_rule", cell: |line| text(line.minimum.rule.as_str()) },
    Guide { name: "last_tested_on", cell: |line| Cell::Day(line.last.map(|last| last.on)) },
    Guide {
        name: "last_as_read",
        cell: |line| Cell::Text(line.last.and_then(|last| last.as_read).map(|value| value.to_string())),
    },
    Guide { name: "instrument_last_used", cell: |line| Cell::Text(line.instrument.clone()) },
    Guide { name: "ask", cell: |line| text(line.questions.join(" ")) },
    Guide { name: "before_the_test", cell: |line| text(line.checks.join(" ")) },
    Guide { name: "cautions", cell: |_| text(SAFETY) },
];

/// Whether a column of a sheet is guidance: its name is one of ours, and the sheet has all of them.
#[must_use]
pub fn is_guidance(name: &str, columns: &Columns) -> bool {
    let is = |header: &str, guide: &Guide| header.trim().eq_ignore_ascii_case(guide.name);
    GUIDES.iter().any(|guide| is(name, guide))
        && GUIDES.iter().all(|guide| columns.header.iter().any(|header| is(header, guide)))
}

/// The columns to fill in, in the order of our histories: those that every test needs, and what else the histories have.
///
/// Resistances are in MΩ, as the guidance is, so that no sheet has two units. Temperatures are in the scale of the histories.
#[must_use]
pub fn to_fill_in(inputs: &[InputLedger], lines: &[Line]) -> Vec<Column> {
    let known = || inputs.iter().flat_map(|ledger| ledger.columns.known.iter().map(|(_, column)| *column));
    let fahrenheit = known().any(|column| column == Column::WindingTemp(TemperatureScale::Fahrenheit))
        && !known().any(|column| column == Column::WindingTemp(TemperatureScale::Celsius));
    let scale = if fahrenheit { TemperatureScale::Fahrenheit } else { TemperatureScale::Celsius };
    let mut times: Vec<Elapsed> = known()
        .filter_map(|column| match column {
            Column::Reading(elapsed, _) => Some(elapsed),
            _ => None,
        })
        .chain([one_minute()])
        .chain(lines.iter().any(|line| line.duration.minutes > 1).then(ten_minutes))
        .collect();
    times.sort_by(|a, b| a.as_seconds().total_cmp(&b.as_seconds()));
    times.dedup();
    let mut columns = vec![Column::Winding, Column::TestedOn, Column::Connection, Column::Scope, Column::TestVolts];
    columns.extend(known().find(|column| *column == Column::OutputVolts));
    columns.extend(times.into_iter().map(|elapsed| Column::Reading(elapsed, ResistanceUnit::Megohm)));
    columns.extend([
        Column::WindingTemp(scale),
        Column::AirTemp(scale),
        Column::Humidity,
        Column::Instrument,
        Column::FullScale(ResistanceUnit::Megohm),
        Column::LeadCheck,
    ]);
    let by_phase = lines.iter().any(|line| line.key.connection.phase_to_earth().is_some());
    let asked = Item::WORDS.into_iter().map(|(item, _)| item).filter(|item| match item {
        Item::OtherPhases => by_phase || known().any(|column| column == Column::Procedure(*item)),
        Item::DielectricDischarge => known().any(|column| column == Column::Procedure(*item)),
        _ => true,
    });
    columns.extend(asked.map(Column::Procedure));
    columns.extend([Column::Event, Column::Note]);
    columns
}

/// What is filled in already: which test is meant, and nothing else.
#[must_use]
pub fn given(column: Column, line: &Line) -> Option<String> {
    match column {
        Column::Winding => Some(line.key.winding.clone()),
        Column::Connection => Some(line.key.connection.to_string()),
        Column::Scope => Some(line.key.scope.to_string()),
        _ => None,
    }
}

/// The word for the kind of a reading, and its value in MΩ.
#[must_use]
pub fn measured(value: Measured) -> (Option<f64>, &'static str) {
    (value.resistance().map(Resistance::as_megohms), bound_word(value.bound()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ingest::mapping::Mapping;

    fn resolved(header: &[&str]) -> Columns {
        Columns::resolve(header.iter().map(|name| (*name).to_owned()).collect(), &Mapping::default())
    }

    #[test]
    fn no_column_of_guidance_is_taken_for_one_to_fill_in() {
        let fill: Vec<String> = to_fill_in(&[], &[]).iter().map(ToString::to_string).collect();
        assert_eq!(
            fill.join(","),
            "winding,tested_on,connection,scope,test_volts,r_60s,winding_temp_c,air_temp_c,rh_percent,instrument,\
             full_scale,lead_check,serial,calibration_due,battery,zero_check,open_check,source_check,proved_dead,discharged_min,\
             tested_by,work_order,equipment_state,standing_h,event,note"
        );
        let guides: Vec<&str> = GUIDES.iter().map(|guide| guide.name).collect();
        let header: Vec<&str> = fill.iter().map(String::as_str).chain(guides.iter().copied()).collect();
        let columns = resolved(&header);
        assert_eq!(columns.known.len(), fill.len());
        assert_eq!(columns.left_alone, guides);
    }

    #[test]
    fn a_column_of_the_site_is_no_guidance() {
        let own = resolved(&["winding", "tested_on", "r_60s", "site"]);
        assert!(!is_guidance("site", &own));
        let names: Vec<&str> = GUIDES.iter().map(|guide| guide.name).chain(["crew"]).collect();
        let sheet = resolved(&names);
        assert!(is_guidance(" Site", &sheet) && !is_guidance("crew", &sheet));
    }
}
