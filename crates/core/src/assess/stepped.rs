//! Tests at rising voltages on one day.

use super::result::{CorrectedTest, LeftOut};
use crate::steps::Step;
use crate::voltage::is_same_voltage;
use chrono::NaiveDate;
use std::ops::Range;

/// Tests at rising voltages on one day, beginning with a test; empty where that one has no voltage or does not count.
pub(super) fn steps_from(tests: &[CorrectedTest], from: usize) -> Range<usize> {
    let is_step = |test: &CorrectedTest| {
        matches!(test.left_out, None | Some(LeftOut::OtherStep | LeftOut::BeforeStretch)) && test.test_volts.is_some()
    };
    let rises = |pair: &[CorrectedTest]| {
        let [before, after] = pair else { return false };
        is_step(after)
            && after.event.is_none()
            && after.tested_on.date == before.tested_on.date
            && before
                .test_volts
                .zip(after.test_volts)
                .is_some_and(|(low, high)| low < high && !is_same_voltage(low, high))
    };
    match tests.get(from) {
        Some(first) if is_step(first) => {
            from..from + 1 + tests[from..].windows(2).take_while(|pair| rises(pair)).count()
        }
        _ => from..from,
    }
}

/// The latest test at several voltages, with its day.
pub(super) fn latest_steps(tests: &[CorrectedTest]) -> Option<(NaiveDate, Vec<Step>)> {
    let mut found = None;
    let mut from = 0;
    while from < tests.len() {
        let steps = steps_from(tests, from);
        from += steps.len().max(1);
        if steps.len() > 1 {
            found = Some(steps);
        }
    }
    let steps = &tests[found?];
    let read = steps.iter().filter_map(|test| Some(Step { volts: test.test_volts?, read: test.as_read? })).collect();
    Some((steps.first()?.tested_on.date, read))
}
