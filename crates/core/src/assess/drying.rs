//! Flooding and drying out: rows that are about one process, not a trend.
//!
//! A row with the event `flooded` or `drying` begins a process, and the rows after it belong to it. Resistance falls while water is
//! driven through the insulation and rises as it leaves, over hours and at changing temperature, so no trend, no law and no slip of
//! a unit is read from these rows. The process ends with a cold test that passes, or with work that makes the winding another one.

use crate::absorption::polarization_index;
use crate::record::columns::Column;
use crate::record::{Event, TestRecord};
use crate::resistance::{Bound, Measured};
use crate::units::Temperature;
use chrono::{NaiveDate, NaiveDateTime, NaiveTime};
use std::ops::Range;

/// A winding at more than this above the air is not cold, K; common practice.
const COLD_WITHIN_K: f64 = 10.0;

/// A process of drying out among the tests of a series.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Drying {
    /// Its rows, the one that ends it included.
    pub rows: Range<usize>,
    /// The day on which it began.
    pub since: NaiveDate,
    /// Whether it began under water.
    pub flooded: bool,
    /// Whether it is over: a cold test passed, or work made another winding of it.
    pub is_over: bool,
    /// Whether the last row is the cold test that passed.
    pub ended_by_a_test: bool,
}

impl Drying {
    fn begun(at: usize, test: &TestRecord) -> Self {
        let flooded = test.event == Some(Event::Flooded);
        Self { rows: at..at + 1, since: test.tested_on.date, flooded, is_over: false, ended_by_a_test: false }
    }
}

/// The processes among tests in time order up to a day; `passes` says of a test by its number whether it is above the minimum with a
/// polarization index that lets it pass.
pub(super) fn processes(
    tests: &[TestRecord],
    as_of: NaiveDate,
    reference: Temperature,
    passes: impl Fn(usize) -> bool,
) -> Vec<Drying> {
    let mut found: Vec<Drying> = Vec::new();
    let mut open: Option<Drying> = None;
    for (at, test) in tests.iter().enumerate() {
        if test.tested_on.date > as_of || test.kept_out.is_some() {
            continue;
        }
        let wets = matches!(test.event, Some(Event::Flooded | Event::Drying));
        let process = match (open.take(), test.event) {
            // Other work makes another winding of it, which is judged by what comes after.
            (Some(mut process), Some(Event::Rewound | Event::Replaced | Event::Commissioned)) if !is_in_doubt(test) => {
                process.is_over = true;
                found.push(process);
                continue;
            }
            // Water once more begins another process.
            (Some(process), Some(Event::Flooded)) => {
                found.push(process);
                Drying::begun(at, test)
            }
            (Some(process), _) => Drying { rows: process.rows.start..at + 1, ..process },
            (None, _) if wets => Drying::begun(at, test),
            (None, _) => continue,
        };
        // The row of the flood tells what the water did; what passes comes after it.
        let is_over = test.event != Some(Event::Flooded) && is_cold(test, reference) && passes(at);
        let process = Drying { is_over, ended_by_a_test: is_over, ..process };
        if is_over {
            found.push(process);
        } else {
            open = Some(process);
        }
    }
    found.extend(open);
    found
}

/// Whether the event of a row was not read for certain: `rewound?`.
fn is_in_doubt(test: &TestRecord) -> bool {
    test.procedure().unread.iter().any(|cell| cell.column == Column::Event)
}

/// Whether a test was made cold: at a known temperature, not above the reference, and near that of the air where it is known.
pub(super) fn is_cold(test: &TestRecord, reference: Temperature) -> bool {
    let Some(winding) = test.winding_temp else { return false };
    let near_air = test.air_temp.is_none_or(|air| (winding - air).as_kelvins() <= COLD_WITHIN_K);
    winding <= reference && near_air
}

/// Whether the polarization index lets a test pass, where one means something and has a least value: it was taken, and is a bound above or
/// not below the least.
pub(super) fn index_passes(test: &TestRecord, least: Option<f64>) -> bool {
    let Some(least) = least else { return true };
    polarization_index(&test.readings).is_some_and(|index| index.bound == Bound::Above || index.value >= least)
}

/// A flat end is called so over this time, h; common practice.
const FLAT_FOR_H: f64 = 12.0;
/// Resistances that differ by less than this factor are flat; common practice.
const FLAT_WITHIN: f64 = 1.1;
/// While it is flat the temperature is steady within so much, K; common practice.
const STEADY_WITHIN_K: f64 = 5.0;

/// One row of a process in hours since its begin.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DryingPoint {
    /// Hours since the first row.
    pub hours: f64,
    /// One-minute resistance as read.
    pub as_read: Option<Measured>,
    /// Temperature of the winding.
    pub winding_temp: Option<Temperature>,
    /// What was done.
    pub event: Option<Event>,
}

/// The rows of a process against hours; a row without a time of day counts from midnight.
#[must_use]
pub(super) fn drying_points(tests: &[super::CorrectedTest], rows: Range<usize>) -> Vec<DryingPoint> {
    let moment = |test: &super::CorrectedTest| {
        NaiveDateTime::new(test.tested_on.date, test.tested_on.time.unwrap_or(NaiveTime::MIN))
    };
    let rows = tests.get(rows).unwrap_or_default();
    let Some(first) = rows.first().map(moment) else { return Vec::new() };
    rows.iter()
        .map(|test| DryingPoint {
            hours: moment(test).signed_duration_since(first).num_seconds() as f64 / 3600.0,
            as_read: test.as_read,
            winding_temp: test.winding_temp,
            event: test.event,
        })
        .collect()
}

/// For how many hours the resistance has been flat at a steady temperature at the end of a process; none where that is less than
/// twelve hours, or where temperatures are missing.
#[must_use]
pub fn flat_for(points: &[DryingPoint]) -> Option<f64> {
    let mut hot = points.iter().rev().skip_while(|point| !matches!(point.as_read, Some(Measured::Exact(_))));
    let last = hot.next()?;
    let (Some(Measured::Exact(end)), Some(at)) = (last.as_read, last.winding_temp) else { return None };
    let is_flat = |point: &&DryingPoint| {
        let (Some(Measured::Exact(value)), Some(t)) = (point.as_read, point.winding_temp) else { return false };
        let ratio = (value.as_megohms() / end.as_megohms()).max(end.as_megohms() / value.as_megohms());
        ratio <= FLAT_WITHIN && (t - at).as_kelvins().abs() <= STEADY_WITHIN_K
    };
    let since = hot.take_while(is_flat).last()?.hours;
    Some(last.hours - since).filter(|hours| *hours >= FLAT_FOR_H)
}
