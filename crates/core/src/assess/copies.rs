//! Tests of one day that have the very values of another winding: rows that somebody copied instead of testing.
//!
//! Two windings may read the same once. What chance does not do: three and more timed readings the same, or the same
//! reading and temperature on several days.

use super::case::latest_that_counts;
use super::inputs::SeriesSource;
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

/// The value of the latest test of a series, as far as it is telling, with its day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Value {
    on: NaiveDate,
    value: u64,
    series: usize,
}

impl Value {
    /// Of a series by its number; none where the test says nothing that could be told from another's.
    pub(super) fn of(series: usize, latest: &TestRecord) -> Option<Self> {
        Some(Self { on: latest.tested_on.date, value: telling_value(latest)?, series })
    }
}

/// The series whose latest test has the values of another winding's, by their numbers.
pub(super) fn copies(source: &impl SeriesSource, mut latest: Vec<Value>, as_of: NaiveDate) -> BTreeMap<usize, Copied> {
    latest.sort_unstable();
    let mut found = BTreeMap::new();
    for alike in latest.chunk_by(|a, b| (a.on, a.value) == (b.on, b.value)) {
        let mut names: Vec<&str> = alike.iter().map(|one| source.winding(one.series)).collect();
        names.dedup();
        if !(2..=WINDINGS_WITH_ONE_VALUE).contains(&names.len()) {
            continue;
        }
        let members: Vec<Recent> = alike.iter().map(|one| Recent::of(source, one.series, as_of)).collect();
        for one in &members {
            let copied = members.iter().filter(|other| other.winding != one.winding).find_map(|other| {
                let days = equal_days(one, other);
                let latest = one.tests.first()?;
                let beyond = days.len() >= DAYS_BEYOND_CHANCE || exact_readings(latest) >= READINGS_BEYOND_CHANCE;
                let on_the_latest = days.last() == Some(&latest.tested_on.date);
                (on_the_latest && beyond).then(|| Copied {
                    winding: other.winding.to_owned(),
                    days: days.len(),
                    since: days[0],
                })
            });
            found.extend(copied.map(|copied| (one.series, copied)));
        }
    }
    found
}

/// The last tests of a series up to the latest that counts, latest first.
struct Recent<'s> {
    series: usize,
    winding: &'s str,
    tests: Vec<TestRecord>,
}

impl<'s> Recent<'s> {
    fn of(source: &'s impl SeriesSource, series: usize, as_of: NaiveDate) -> Self {
        let mut backwards = source.backwards(series);
        let tests = latest_that_counts(&mut backwards, as_of)
            .map_or_else(Vec::new, |latest| std::iter::once(latest).chain(backwards).take(TESTS_COMPARED).collect());
        Self { series, winding: source.winding(series), tests }
    }
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
fn equal_days(one: &Recent<'_>, other: &Recent<'_>) -> Vec<NaiveDate> {
    let copied = |test: &&TestRecord| {
        telling_value(test).is_some() && other.tests.iter().any(|other| says_the_same(test, other))
    };
    let mut days: Vec<NaiveDate> = one.tests.iter().filter(copied).map(|test| test.tested_on.date).collect();
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
