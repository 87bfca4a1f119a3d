//! Tests of one day that have the very values of another winding: rows that somebody copied instead of testing.
//!
//! Two windings may read the same once. What chance does not do: three and more timed readings the same, or the same
//! reading and temperature on several days.

use super::case::Case;
use crate::record::TestRecord;
use crate::resistance::Measured;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// Exact readings of one test that chance does not repeat.
const READINGS_BEYOND_CHANCE: usize = 3;
/// Days on which chance does not repeat single readings.
const DAYS_BEYOND_CHANCE: usize = 2;
/// Tests back from the latest that are compared.
const TESTS_COMPARED: usize = 8;
/// A value that more windings than this read on one day is the end of a scale that somebody took for a number.
const WINDINGS_WITH_ONE_VALUE: usize = 3;

/// A winding whose values the latest test of a series has.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Copied {
    /// That winding.
    pub(super) winding: String,
    /// On how many days.
    pub(super) days: usize,
    /// The first of them.
    pub(super) since: NaiveDate,
}

/// For each case, the winding whose values its latest test has, if there is one.
///
/// # Units
///
/// One element a case, in the same order.
pub(super) fn copies(cases: &[&Case]) -> Vec<Option<Copied>> {
    let latest = |case: &Case| case.latest().map(|at| case.record(at).clone());
    let mut alike: BTreeMap<(NaiveDate, u64), Vec<usize>> = BTreeMap::new();
    for (i, case) in cases.iter().enumerate() {
        if let Some(test) = latest(case)
            && let Some(value) = telling_value(&test)
        {
            alike.entry((test.tested_on.date, value)).or_default().push(i);
        }
    }
    let mut found = vec![None; cases.len()];
    for members in alike.into_values() {
        if members.len() < 2 || windings(cases, &members) > WINDINGS_WITH_ONE_VALUE {
            continue;
        }
        for &i in &members {
            found[i] = members.iter().filter(|&&j| winding(cases[j]) != winding(cases[i])).find_map(|&j| {
                let days = equal_days(cases[i], cases[j]);
                let on_the_latest = days.last() == latest(cases[i]).map(|test| test.tested_on.date).as_ref();
                let readings = latest(cases[i]).map_or(0, |test| exact_readings(&test));
                let beyond = days.len() >= DAYS_BEYOND_CHANCE || readings >= READINGS_BEYOND_CHANCE;
                (on_the_latest && beyond).then(|| Copied {
                    winding: winding(cases[j]).to_owned(),
                    days: days.len(),
                    since: days[0],
                })
            });
        }
    }
    found
}

fn winding(case: &Case) -> &str {
    &case.series.key.winding
}

fn windings(cases: &[&Case], members: &[usize]) -> usize {
    let mut names: Vec<&str> = members.iter().map(|&i| winding(cases[i])).collect();
    names.sort_unstable();
    names.dedup();
    names.len()
}

/// The last exact reading of a test, if it is no end of a scale; its bits, because copies are equal to the last digit.
fn telling_value(test: &TestRecord) -> Option<u64> {
    match test.readings.last()?.value {
        Measured::Exact(r) if test.full_scale != Some(r) => Some(r.as_megohms().to_bits()),
        _ => None,
    }
}

fn exact_readings(test: &TestRecord) -> usize {
    test.readings.iter().filter(|reading| matches!(reading.value, Measured::Exact(_))).count()
}

/// Days, in order, on which the latest tests of two series say the same.
fn equal_days(one: &Case, other: &Case) -> Vec<NaiveDate> {
    let recent = |case: &Case| -> Vec<TestRecord> {
        let end = case.latest().map_or(0, |at| at + 1);
        case.series.tests[..end].iter().rev().take(TESTS_COMPARED).cloned().collect()
    };
    let others = recent(other);
    let mut days: Vec<NaiveDate> = recent(one)
        .iter()
        .filter(|test| telling_value(test).is_some() && others.iter().any(|other| says_the_same(test, other)))
        .map(|test| test.tested_on.date)
        .collect();
    days.sort_unstable();
    days.dedup();
    days
}

fn says_the_same(one: &TestRecord, other: &TestRecord) -> bool {
    one.tested_on.date == other.tested_on.date
        && one.readings == other.readings
        && one.winding_temp == other.winding_temp
        && one.air_temp == other.air_temp
        && one.humidity == other.humidity
}
