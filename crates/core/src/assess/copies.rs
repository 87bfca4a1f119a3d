//! Tests of one day that have the very values of another winding: rows that somebody copied instead of testing.
//!
//! Two windings may read the same once. What chance does not do: three and more timed readings the same, or the same
//! reading and temperature on several days.

use super::case::latest_that_counts;
use super::inputs::SeriesSource;
use crate::record::TestRecord;
use crate::resistance::Measured;
use crate::series::SeriesKey;
use crate::units::Resistance;
use chrono::NaiveDate;

/// The day of a test and the last of its readings, which is exact and not the end of a scale.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LatestValue {
    /// The day.
    pub on: NaiveDate,
    /// The reading.
    pub value: Resistance,
}

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

/// The series whose latest tests have one value on one day, each set in the order of the keys: some of them may be copies. `latest` is in that
/// order, and `key` gives the key of a place in it.
pub(super) fn alike(latest: &[Option<LatestValue>], key: impl Fn(usize) -> SeriesKey) -> Vec<Vec<SeriesKey>> {
    let of_place = |(at, latest): (usize, &Option<LatestValue>)| {
        latest.map(|latest| ((latest.on, latest.value.as_megohms().to_bits()), at))
    };
    let mut telling: Vec<_> = latest.iter().enumerate().filter_map(of_place).collect();
    telling.sort_unstable();
    let sets = telling.chunk_by(|a, b| a.0 == b.0).filter(|set| set.len() > 1);
    let sets = sets.map(|set| set.iter().map(|(_, at)| key(*at)).collect::<Vec<SeriesKey>>());
    let may_be_copies = |set: &Vec<SeriesKey>| {
        (2..=WINDINGS_WITH_ONE_VALUE).contains(&set.chunk_by(|a, b| a.winding == b.winding).count())
    };
    sets.filter(may_be_copies).collect()
}

/// Those of series that are alike whose latest test has the values of another winding's.
pub(super) fn copies(source: &impl SeriesSource, alike: &[usize], as_of: NaiveDate) -> Vec<(SeriesKey, Copied)> {
    let members: Vec<Recent> = alike.iter().map(|series| Recent::of(source, *series, as_of)).collect();
    let copied = |one: &Recent| {
        let copied = members.iter().filter(|other| other.key.winding != one.key.winding).find_map(|other| {
            let days = equal_days(one, other);
            let latest = one.tests.first()?;
            let beyond = days.len() >= DAYS_BEYOND_CHANCE || exact_readings(latest) >= READINGS_BEYOND_CHANCE;
            let on_the_latest = days.last() == Some(&latest.tested_on.date);
            (on_the_latest && beyond).then(|| Copied {
                winding: other.key.winding.clone(),
                days: days.len(),
                since: days[0],
            })
        });
        Some((one.key.clone(), copied?))
    };
    members.iter().filter_map(copied).collect()
}

/// The last tests of a series up to the latest that counts, latest first.
struct Recent {
    key: SeriesKey,
    tests: Vec<TestRecord>,
}

impl Recent {
    fn of(source: &impl SeriesSource, series: usize, as_of: NaiveDate) -> Self {
        let mut backwards = source.backwards(series);
        let tests = latest_that_counts(&mut backwards, as_of)
            .map_or_else(Vec::new, |latest| std::iter::once(latest).chain(backwards).take(TESTS_COMPARED).collect());
        Self { key: source.key(series), tests }
    }
}

/// The last reading of a test, if it is exact and no end of a scale. Copies are equal to the last digit.
pub(super) fn telling_value(test: &TestRecord) -> Option<Resistance> {
    match test.readings.last()?.value {
        Measured::Exact(r) if test.full_scale != Some(r) => Some(r),
        _ => None,
    }
}

fn exact_readings(test: &TestRecord) -> usize {
    test.readings.iter().filter(|reading| matches!(reading.value, Measured::Exact(_))).count()
}

/// Days, in order, on which the latest tests of two series say the same.
fn equal_days(one: &Recent, other: &Recent) -> Vec<NaiveDate> {
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
