//! A test as the cells of a row: every number in the unit of its column, every word as the master writes it.
//!
//! Numbers are written with twelve significant digits, more than any tester shows and fewer than would show that units were
//! converted; whether two rows say the same is judged on nine.

use super::form::Form;
use crate::ingest::kinds::same_kind;
use groundwall::record::columns::{Column, TemperatureScale};
use groundwall::record::{Connection, Event, Item, ItemValue, LeadCheck, Scope, TestRecord, TestedOn};
use groundwall::resistance::{Measured, ResistanceUnit, TimedReading};
use groundwall::units::{Resistance, Temperature};
use std::fmt::Write as _;

impl Form {
    /// What a column says of a test; `reading` is the one that a row of a single timed reading is about.
    #[must_use]
    pub fn cell(&self, column: Column, test: &TestRecord, reading: Option<&TimedReading>) -> String {
        let number = |value: Option<f64>| value.map_or_else(String::new, |value| self.number(value));
        // What could not be read goes on as it was written.
        let unread = || test.unread(column).unwrap_or_default().to_owned();
        match column {
            Column::Winding => test.winding().to_owned(),
            Column::TestedOn => self.date(test.tested_on()),
            Column::Connection => {
                let ours = test.connection().to_string();
                self.connections.get(&ours).cloned().unwrap_or(ours)
            }
            Column::Scope => test.scope().to_string(),
            Column::TestVolts => number(test.test_volts().map(|volts| volts.as_volts())),
            Column::OutputVolts => number(test.output_volts().map(|volts| volts.as_volts())),
            Column::Reading(elapsed, unit) => {
                test.reading_at(elapsed).map_or_else(String::new, |v| self.measured(v, unit))
            }
            Column::Elapsed(unit) => number(reading.map(|reading| reading.elapsed.as_seconds() / unit.in_seconds())),
            Column::Resistance(unit) => reading.map_or_else(String::new, |reading| self.measured(reading.value, unit)),
            Column::WindingTemp(scale) => number(test.winding_temp().map(|t| degrees(t, scale))),
            Column::AirTemp(scale) => number(test.air_temp().map(|t| degrees(t, scale))),
            Column::Humidity => number(test.humidity().map(|humidity| humidity.as_percent())),
            Column::Instrument => test.instrument().unwrap_or_default().to_owned(),
            Column::FullScale(unit) => number(test.full_scale().map(|scale| in_unit(scale, unit))),
            Column::LeadCheck => match test.lead_check() {
                Some(LeadCheck::Ok) => "ok".to_owned(),
                Some(LeadCheck::Failed) => "failed".to_owned(),
                None => unread(),
            },
            Column::Procedure(item) => match test.procedure().get(item) {
                Some(ItemValue::Day(day)) => self.date(TestedOn::day(day)),
                Some(ItemValue::Number(value)) => self.number(value),
                Some(word) => word.to_string(),
                None => unread(),
            },
            // An event in doubt is written as it was.
            Column::Event => test.unread(column).or(test.event().map(Event::word)).unwrap_or_default().to_owned(),
            Column::Note => test.note().unwrap_or_default().to_owned(),
        }
    }

    fn number(&self, value: f64) -> String {
        let rounded = format!("{value:.11e}").parse().unwrap_or(value);
        let text = format!("{rounded}");
        if self.decimal == ',' { text.replace('.', ",") } else { text }
    }

    fn measured(&self, value: Measured, unit: ResistanceUnit) -> String {
        match value {
            Measured::Exact(r) => self.number(in_unit(r, unit)),
            Measured::Above(r) => format!(">{}", self.number(in_unit(r, unit))),
            Measured::Below(r) => format!("<{}", self.number(in_unit(r, unit))),
            Measured::OffScale => "OL".to_owned(),
        }
    }

    fn date(&self, on: TestedOn) -> String {
        let seconds = on.time.is_some_and(|time| time.format("%S").to_string() != "00");
        let at = on.date.and_time(on.time.unwrap_or_default());
        let mut text = String::new();
        // A form that cannot be written was refused with the arguments.
        let _ = match (&self.date_format, on.time) {
            (Some(form), _) => write!(text, "{}", at.format(form)),
            (None, None) => write!(text, "{}", on.date),
            (None, Some(_)) if seconds => write!(text, "{}{}{}", on.date, self.before_hour, at.format("%H:%M:%S")),
            (None, Some(_)) => write!(text, "{}{}{}", on.date, self.before_hour, at.format("%H:%M")),
        };
        text
    }
}

fn in_unit(r: Resistance, unit: ResistanceUnit) -> f64 {
    r.as_megohms() / unit.in_megohms()
}

fn degrees(t: Temperature, scale: TemperatureScale) -> f64 {
    match scale {
        TemperatureScale::Celsius => t.as_celsius(),
        TemperatureScale::Fahrenheit => t.as_celsius() * 9.0 / 5.0 + 32.0,
    }
}

/// The columns that hold everything a test says, under our names, in the order of our histories.
#[must_use]
pub fn columns_of(test: &TestRecord) -> Vec<Column> {
    let mega = ResistanceUnit::Megohm;
    let celsius = TemperatureScale::Celsius;
    let mut columns = vec![Column::Winding, Column::TestedOn];
    let mut add = |says: bool, column: Column| {
        if says {
            columns.push(column);
        }
    };
    add(*test.connection() != Connection::AllEarth, Column::Connection);
    add(test.scope() != Scope::Winding, Column::Scope);
    add(test.test_volts().is_some(), Column::TestVolts);
    add(test.output_volts().is_some(), Column::OutputVolts);
    for reading in test.readings() {
        add(true, Column::Reading(reading.elapsed, mega));
    }
    add(test.winding_temp().is_some(), Column::WindingTemp(celsius));
    add(test.air_temp().is_some(), Column::AirTemp(celsius));
    add(test.humidity().is_some(), Column::Humidity);
    add(test.instrument().is_some(), Column::Instrument);
    add(test.full_scale().is_some(), Column::FullScale(mega));
    let unread = |column| test.unread(column).is_some();
    add(test.lead_check().is_some() || unread(Column::LeadCheck), Column::LeadCheck);
    for (item, _) in Item::WORDS {
        let column = Column::Procedure(item);
        add(test.procedure().get(item).is_some() || unread(column), column);
    }
    add(test.event().is_some() || unread(Column::Event), Column::Event);
    add(test.note().is_some(), Column::Note);
    columns
}

/// Where a column stands among those of a history.
#[must_use]
pub fn rank(column: &Column) -> (u8, f64) {
    match column {
        Column::Winding => (0, 0.0),
        Column::TestedOn => (1, 0.0),
        Column::Connection => (2, 0.0),
        Column::Scope => (3, 0.0),
        Column::TestVolts => (4, 0.0),
        Column::OutputVolts => (5, 0.0),
        Column::Reading(elapsed, _) => (6, elapsed.as_seconds()),
        Column::Elapsed(_) => (7, 0.0),
        Column::Resistance(_) => (8, 0.0),
        Column::WindingTemp(_) => (9, 0.0),
        Column::AirTemp(_) => (10, 0.0),
        Column::Humidity => (11, 0.0),
        Column::Instrument => (12, 0.0),
        Column::FullScale(_) => (13, 0.0),
        Column::LeadCheck => (14, 0.0),
        Column::Procedure(item) => (15, f64::from(*item as u8)),
        Column::Event => (16, 0.0),
        Column::Note => (17, 0.0),
    }
}

/// The columns that tests need and `there` does not have, in the order of our histories.
#[must_use]
pub fn lacking(tests: &[TestRecord], there: &[(usize, Column)], timed: bool) -> Vec<Column> {
    let mut lacking: Vec<Column> = Vec::new();
    for column in tests.iter().flat_map(columns_of) {
        let in_rows = timed && matches!(column, Column::Reading(..));
        let known = there.iter().map(|(_, known)| known).chain(&lacking).any(|known| same_kind(known, &column));
        if !known && !in_rows {
            lacking.push(column);
        }
    }
    lacking.sort_by(|a, b| {
        let ((a, at), (b, then)) = (rank(a), rank(b));
        a.cmp(&b).then(at.total_cmp(&then))
    });
    lacking
}
