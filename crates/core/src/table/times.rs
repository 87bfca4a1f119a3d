//! Times of day as codes: those of whole seconds, as nearly all are. Times written to the minute have the lowest codes.

use chrono::{NaiveTime, Timelike};

const MINUTES: u32 = 24 * 60;

/// How many codes there are.
pub(super) const CODES: u32 = 60 * MINUTES;

/// The code of a time of day; none for one of no whole second, a leap second among them.
pub(super) fn code(time: NaiveTime) -> Option<u32> {
    let seconds = time.num_seconds_from_midnight();
    (time.nanosecond() == 0).then_some(seconds / 60 + MINUTES * (seconds % 60))
}

/// The time of day of a code.
pub(super) fn time(code: u32) -> Option<NaiveTime> {
    NaiveTime::from_num_seconds_from_midnight_opt(seconds(code)?, 0)
}

/// Whether a time of one day is later than another, where both are codes or unknown; an unknown one is before all others.
pub(super) fn is_later(one: Option<u32>, other: Option<u32>) -> Option<bool> {
    match (one, other) {
        (Some(one), Some(other)) => Some(seconds(one)? < seconds(other)?),
        (None, Some(other)) => seconds(other).map(|_| true),
        (_, None) => Some(false),
    }
}

/// Seconds from midnight.
fn seconds(code: u32) -> Option<u32> {
    (code < CODES).then_some(60 * (code % MINUTES) + code / MINUTES)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_second_of_a_day_has_a_code_of_its_own() {
        let mut seen = vec![false; CODES as usize];
        for at in 0..CODES {
            let second = NaiveTime::from_num_seconds_from_midnight_opt(at, 0);
            let code = second.and_then(code).expect("a code");
            assert_eq!(time(code), second);
            assert!(!std::mem::replace(&mut seen[code as usize], true));
        }
        assert_eq!(NaiveTime::from_hms_opt(0, 1, 0).and_then(code), Some(1));
        assert_eq!(time(CODES), None);
    }

    #[test]
    fn times_of_no_whole_second_have_none() {
        assert_eq!(NaiveTime::from_hms_milli_opt(9, 30, 0, 500).and_then(code), None);
        assert_eq!(NaiveTime::from_hms_milli_opt(9, 30, 59, 1000).and_then(code), None);
    }

    #[test]
    fn later_is_later_and_an_unknown_time_comes_first() {
        let code = |hour, minute, second| NaiveTime::from_hms_opt(hour, minute, second).and_then(code);
        for (one, other, later) in [
            (code(9, 30, 0), code(9, 31, 0), Some(true)),
            (code(9, 30, 59), code(9, 31, 0), Some(true)),
            (code(9, 31, 0), code(9, 30, 59), Some(false)),
            (code(9, 30, 0), code(9, 30, 0), Some(false)),
            (None, code(0, 0, 0), Some(true)),
            (code(0, 0, 0), None, Some(false)),
            (None, None, Some(false)),
            (Some(CODES), code(9, 30, 0), None),
            (None, Some(CODES), None),
        ] {
            assert_eq!(is_later(one, other), later, "{one:?} {other:?}");
        }
    }
}
