//! Whole judgements of small histories: every rule gives its sentence, every action has its cause.

#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]

mod alone;
mod as_of;
mod by_hand;
mod calendar;
mod cause;
mod caution;
mod cells;
mod circumstances;
mod copies;
mod course;
mod decisions;
mod minimum;
mod otherwise;
mod outlook;
mod parts;
mod phases;
mod plausibility;
mod procedure;
mod process;
mod ratios;
mod reading;
mod repeated;
mod second_look;
mod sentences;
mod taken_back;
mod temperature;
mod words;

use super::*;
use crate::nameplate::Nameplate;
use crate::nameplate::{Construction, Insulation};
use crate::policy::Policy;
use crate::record::columns::Column;
use crate::record::validate::TestRules;
use crate::record::{Connection, Origin, Scope, TestRecord};
use crate::series::Series;
use crate::units::{Confidence, Temperature};
use crate::units::{Resistance, Voltage};
use chrono::Days;
use chrono::NaiveDate;

const AS_OF: &str = "2026-11-25";

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn test(cells: &[(&str, &str)]) -> TestRecord {
    let named = [("winding", "P-1")];
    let all = named.iter().filter(|(h, _)| cells.iter().all(|(other, _)| other != h)).chain(cells);
    let cells = all.map(|(header, text)| (Column::read(header).unwrap(), *text));
    TestRules::default().validate(cells, Origin::default()).unwrap()
}

/// A quarterly history at 25 °C that ends on 20 October 2026, with a little scatter; the latest value is the last.
fn quarterly(values: &[f64]) -> Vec<TestRecord> {
    let last = day("2026-10-20");
    values
        .iter()
        .enumerate()
        .map(|(i, value)| {
            let before = 91 * (values.len() - 1 - i) as u64;
            let on = last.checked_sub_days(Days::new(before)).unwrap().to_string();
            test(&[("tested_on", &on), ("r_60s", &format!("{value}")), ("winding_temp_c", "25"), ("test_volts", "500")])
        })
        .collect()
}

fn steady(level: f64, n: usize) -> Vec<f64> {
    (0..n).map(|i| level * [1.0, 1.12, 0.9, 1.05, 0.94][i % 5]).collect()
}

fn nameplate() -> Nameplate {
    Nameplate {
        construction: Some(Construction::RandomWound),
        insulation: Insulation::Thermosetting,
        rated_voltage: Some(Voltage::from_volts(400.0).unwrap()),
        year_made: Some(2004),
        ..Nameplate::default()
    }
}

fn judge_all(tests: Vec<TestRecord>, nameplate: Nameplate) -> Vec<Judgement> {
    let register = Register::from([("P-1".to_owned(), nameplate)]);
    let terms =
        Terms { policy: Policy::default(), as_of: day(AS_OF), confidence: Confidence::from_fraction(0.9).unwrap() };
    assess_fleet(Series::collect(tests), &register, &terms, &InTurn, |judgement| judgement)
}

fn judge(tests: Vec<TestRecord>) -> SeriesAssessment {
    judge_all(tests, nameplate()).remove(0).assessment
}

fn message(result: &SeriesAssessment, code: Code) -> &str {
    result.findings.iter().find(|finding| finding.code == code).map_or("", |finding| &finding.message)
}

/// A row of a table of cases: what it is, its judgement, and what has to come of it: the action, all findings in their order, and the
/// sentence of the first.
type Expected<'e> = (&'e str, SeriesAssessment, Action, &'e [Code], &'e str);

fn all_as_expected(rows: Vec<Expected<'_>>) {
    let wrong = rows.into_iter().filter_map(|(what, result, action, codes, sentence)| {
        let found: Vec<Code> = result.findings.iter().map(|finding| finding.code).collect();
        let first = result.findings.first().map_or("", |finding| &finding.message);
        let is_right = (result.action, &found[..], first) == (action, codes, sentence);
        (!is_right).then(|| format!("{what}: {}, {found:?}\n  {first}", result.action))
    });
    let wrong: Vec<String> = wrong.collect();
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}

/// Quarterly tests that end on 20 October 2026, each with a reading and a temperature.
fn at_temperatures(tests: &[(f64, f64)]) -> Vec<TestRecord> {
    let mut rows = quarterly(&tests.iter().map(|(r60, _)| *r60).collect::<Vec<_>>());
    for (row, (_, celsius)) in rows.iter_mut().zip(tests) {
        row.winding_temp = Temperature::from_celsius(*celsius).ok();
    }
    rows
}

/// A stator of 3.3 kV, which owes 100 MΩ.
fn form_wound() -> Nameplate {
    Nameplate {
        construction: Some(Construction::FormWound),
        rated_voltage: Some(Voltage::from_volts(3300.0).unwrap()),
        ..nameplate()
    }
}
