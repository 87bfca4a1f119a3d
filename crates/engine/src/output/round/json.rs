//! The round for programs: schema `groundwall/round/1`. Every key is always there; unknown is null.

use super::Planned;
use super::sheet::measured;
use crate::program::write_json;
use chrono::NaiveDate;
use groundwall::assess::{Action, Minimum};
use groundwall::resistance::Measured;
use groundwall::round::{Expectation, Line};
use groundwall::units::{Temperature, Voltage};
use serde::Serialize;
use std::io::{self, Write};

#[derive(Serialize)]
struct File<'a> {
    schema: &'static str,
    as_of: NaiveDate,
    until: NaiveDate,
    confidence: f64,
    reference_c: f64,
    due: usize,
    not_due: usize,
    tests: Vec<Test<'a>>,
}

#[derive(Serialize)]
struct Test<'a> {
    winding: &'a str,
    connection: String,
    scope: String,
    site: Option<&'a str>,
    area: Option<&'a str>,
    action: Option<&'static str>,
    due: Due<'a>,
    voltage: Apply<'a>,
    duration: Hold<'a>,
    likely: Likely,
    expected: Expected<'a>,
    stop: Vec<Stop>,
    minimum: &'a Minimum,
    law: &'a str,
    last: Option<Last>,
    instrument_last_used: Option<&'a str>,
    ask: &'a [String],
    before_the_test: &'a [String],
}

#[derive(Serialize)]
struct Due<'a> {
    by: NaiveDate,
    why: &'a str,
}

#[derive(Serialize)]
struct Apply<'a> {
    volts: Option<f64>,
    guide_least_volts: Option<f64>,
    guide_greatest_volts: Option<f64>,
    why: &'a str,
}

#[derive(Serialize)]
struct Hold<'a> {
    minutes: u32,
    why: &'a str,
}

#[derive(Serialize)]
struct Likely {
    winding_temp_c: f64,
    from: String,
}

#[derive(Serialize)]
struct Expected<'a> {
    low: Option<Reading>,
    median: Option<Reading>,
    high: Option<Reading>,
    cannot_say: Option<&'a str>,
}

#[derive(Serialize)]
struct Reading {
    r60_mohm: Option<f64>,
    bound: &'static str,
}

#[derive(Serialize)]
struct Stop {
    winding_temp_c: f64,
    below_mohm: f64,
}

#[derive(Serialize)]
struct Last {
    tested_on: NaiveDate,
    r60_mohm: Option<f64>,
    bound: Option<&'static str>,
    winding_temp_c: Option<f64>,
    test_volts: Option<f64>,
}

/// Writes the round as JSON.
///
/// # Errors
///
/// Whatever the writer says.
pub fn write(out: &mut dyn Write, planned: &Planned<'_>) -> io::Result<()> {
    let round = planned.round;
    let file = File {
        schema: "groundwall/round/1",
        as_of: round.as_of,
        until: round.until,
        confidence: round.confidence.as_fraction(),
        reference_c: round.reference.as_celsius(),
        due: round.lines.len(),
        not_due: round.not_due,
        tests: round.lines.iter().map(test).collect(),
    };
    write_json(out, &file)
}

fn test(line: &Line) -> Test<'_> {
    let reading = |value: Measured| {
        let (r60_mohm, bound) = measured(value);
        Some(Reading { r60_mohm, bound })
    };
    let guide = line.voltage.guide;
    Test {
        winding: &line.key.winding,
        connection: line.key.connection.to_string(),
        scope: line.key.scope.to_string(),
        site: line.nameplate.site.as_deref(),
        area: line.nameplate.area.as_deref(),
        action: line.action().map(Action::word),
        due: Due { by: line.due.by, why: &line.due.why },
        voltage: Apply {
            volts: line.voltage.apply.map(Voltage::as_volts),
            guide_least_volts: guide.map(|guide| guide.least.as_volts()),
            guide_greatest_volts: guide.map(|guide| guide.greatest.as_volts()),
            why: &line.voltage.why,
        },
        duration: Hold { minutes: line.duration.minutes, why: &line.duration.why },
        likely: Likely { winding_temp_c: line.likely.at.as_celsius(), from: line.likely.from.in_words() },
        expected: match &line.expected {
            Expectation::Reading(expected) => Expected {
                low: reading(expected.low),
                median: reading(expected.median),
                high: reading(expected.high),
                cannot_say: None,
            },
            Expectation::CannotSay(why) => Expected { low: None, median: None, high: None, cannot_say: Some(why) },
        },
        stop: line
            .stop
            .iter()
            .map(|stop| Stop { winding_temp_c: stop.at.as_celsius(), below_mohm: stop.below.as_megohms() })
            .collect(),
        minimum: &line.minimum,
        law: &line.law,
        last: line.last.map(|last| Last {
            tested_on: last.on,
            r60_mohm: last.as_read.and_then(|value| measured(value).0),
            bound: last.as_read.map(|value| measured(value).1),
            winding_temp_c: last.winding_temp.map(Temperature::as_celsius),
            test_volts: last.test_volts.map(Voltage::as_volts),
        }),
        instrument_last_used: line.instrument.as_deref(),
        ask: &line.questions,
        before_the_test: &line.checks,
    }
}
