//! Replays of small histories whose outcome is known.

#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]

use super::*;
use crate::assess::InTurn;
use crate::nameplate::{Construction, Insulation, Nameplate};
use crate::policy::Policy;
use crate::record::KeptOut;
use crate::record::columns::Column;
use crate::record::validate::TestRules;
use crate::record::{Origin, TestRecord};
use crate::units::{Confidence, Voltage};

const SCATTER: [f64; 7] = [0.01, -0.04, 0.03, 0.0, -0.02, 0.05, -0.03];

fn test(on: NaiveDate, mohm: &str, event: &str) -> TestRecord {
    let on = on.to_string();
    let cells = [("winding", "P-1"), ("tested_on", &on), ("r_60s", mohm), ("winding_temp_c", "40"), ("event", event)];
    let cells = cells.map(|(header, text)| (Column::read(header).unwrap(), text));
    TestRules::default().validate(cells, Origin::default()).unwrap()
}

/// Quarterly tests on a line of log10 R with a little scatter.
fn line(start: f64, per_year: f64, n: usize) -> Vec<TestRecord> {
    let first: NaiveDate = "2018-01-10".parse().unwrap();
    (0..n)
        .map(|i| {
            let on = first.checked_add_days(Days::new(91 * i as u64)).unwrap();
            let level = start + per_year * 91.0 / 365.25 * i as f64 + SCATTER[i % SCATTER.len()];
            test(on, &format!("{}", 10f64.powf(level)), "")
        })
        .collect()
}

fn replayed(tests: Vec<TestRecord>) -> Replay {
    let nameplate = Nameplate {
        construction: Some(Construction::RandomWound),
        insulation: Insulation::Thermosetting,
        rated_voltage: Some(Voltage::from_volts(400.0).unwrap()),
        ..Nameplate::default()
    };
    let last = tests.iter().map(|test| test.tested_on.date).max().unwrap();
    let terms = Terms {
        policy: Policy::default(),
        as_of: last.checked_add_days(Days::new(10)).unwrap(),
        confidence: Confidence::from_fraction(0.9).unwrap(),
    };
    replay(&Series::collect(tests), &Register::from([("P-1".to_owned(), nameplate)]), &terms, 91, &InTurn)
}

#[test]
fn a_regular_history_keeps_inside_its_intervals_and_each_test_is_counted_once() {
    let found = replayed(line(2.5, -0.05, 24));
    let next = &found.overall.next_readings;
    assert_eq!(found.cuts.len(), next.inside.cases);
    assert!(next.inside.cases >= 18, "{}", next.inside.cases);
    assert_eq!(next.inside.hits, next.inside.cases, "{found:?}");
    assert!(found.reached.is_empty());
    assert_eq!(found.groups.len(), 1);
}

#[test]
fn a_reading_far_from_the_trend_lies_outside_on_its_side() {
    let mut tests = line(2.5, -0.05, 20);
    let last = tests.last().unwrap().tested_on.date;
    tests.push(test(last.checked_add_days(Days::new(91)).unwrap(), "9", ""));
    let found = replayed(tests);
    let next = &found.overall.next_readings;
    assert_eq!((next.below, next.above), (1, 0));
    assert_eq!(next.inside.hits + 1, next.inside.cases);
}

#[test]
fn a_row_that_counts_for_nothing_is_no_next_reading() {
    let mut tests = line(2.5, -0.05, 20);
    let last = tests.last().unwrap().tested_on.date;
    tests.push(test(last.checked_add_days(Days::new(91)).unwrap(), "9", ""));
    tests.last_mut().unwrap().kept_out = Some(KeptOut::Rejected);
    let next = replayed(tests).overall.next_readings;
    assert_eq!((next.below, next.inside.hits), (0, next.inside.cases));
}

#[test]
fn a_bound_decides_only_where_it_can() {
    let mut tests = line(2.5, 0.0, 20);
    let last = tests.last().unwrap().tested_on.date;
    tests.push(test(last.checked_add_days(Days::new(91)).unwrap(), ">200", ""));
    assert_eq!(replayed(tests.clone()).overall.next_readings.undecided, 1);
    let high = tests.len() - 1;
    tests[high] = test(last.checked_add_days(Days::new(91)).unwrap(), ">20000", "");
    let next = replayed(tests).overall.next_readings;
    assert_eq!((next.undecided, next.above), (0, 1));
}

#[test]
fn a_winding_that_reaches_its_minimum_was_warned_of() {
    let found = replayed(line(1.9, -0.3, 20));
    let [reached] = &found.reached[..] else { unreachable!("one winding reaches it: {:?}", found.reached) };
    assert!(reached.tests_ahead >= 2, "{reached:?}");
    assert!(reached.held * 10 >= reached.intervals * 8, "{reached:?}");
    assert!(found.overall.crossings.cases() > 0);
}

#[test]
fn work_done_ends_the_watch() {
    let mut tests = line(1.9, -0.3, 14);
    let last = tests.last().unwrap().tested_on.date;
    for i in 1..6 {
        let on = last.checked_add_days(Days::new(91 * i)).unwrap();
        tests.push(test(on, "800", if i == 1 { "rewound" } else { "" }));
    }
    let found = replayed(tests);
    assert!(found.reached.is_empty());
    assert!(found.overall.crossings.undecided > 0);
}

#[test]
fn too_short_a_history_has_no_cuts() {
    let found = replayed(line(2.5, 0.0, 4));
    assert!(found.cuts.is_empty());
    assert_eq!(found.overall.next_readings.inside.value(), None);
}
