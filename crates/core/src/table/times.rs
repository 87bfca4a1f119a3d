//! Times of day as words: those of whole seconds, as nearly all are. Times written to the minute have the lowest words, side by
//! side.

use chrono::{NaiveTime, Timelike};

const MINUTES: u32 = 24 * 60;

/// How many words there are.
pub(super) const WORDS: u32 = 60 * MINUTES;

/// The word of a time of day; none for one of no whole second, a leap second among them.
pub(super) fn word(time: NaiveTime) -> Option<u32> {
    let seconds = time.num_seconds_from_midnight();
    (time.nanosecond() == 0).then_some(seconds / 60 + MINUTES * (seconds % 60))
}

/// The time of day of a word.
pub(super) fn time(word: u32) -> Option<NaiveTime> {
    NaiveTime::from_num_seconds_from_midnight_opt(seconds(word)?, 0)
}

/// Whether a time of one day is later than another, where both are words or unknown; an unknown one is before all others.
pub(super) fn is_later(one: Option<u32>, other: Option<u32>) -> Option<bool> {
    match (one, other) {
        (Some(one), Some(other)) => Some(seconds(one)? < seconds(other)?),
        (None, Some(other)) => seconds(other).map(|_| true),
        (_, None) => Some(false),
    }
}

/// Seconds from midnight.
fn seconds(word: u32) -> Option<u32> {
    (word < WORDS).then_some(60 * (word % MINUTES) + word / MINUTES)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_second_of_a_day_has_a_word_of_its_own() {
        let mut seen = vec![false; WORDS as usize];
        for at in 0..WORDS {
            let second = NaiveTime::from_num_seconds_from_midnight_opt(at, 0);
            let word = second.and_then(word).expect("a word");
            assert_eq!(time(word), second);
            assert!(!std::mem::replace(&mut seen[word as usize], true));
        }
        assert_eq!(NaiveTime::from_hms_opt(0, 1, 0).and_then(word), Some(1));
        assert_eq!(time(WORDS), None);
    }

    #[test]
    fn times_of_no_whole_second_have_none() {
        assert_eq!(NaiveTime::from_hms_milli_opt(9, 30, 0, 500).and_then(word), None);
        assert_eq!(NaiveTime::from_hms_milli_opt(9, 30, 59, 1000).and_then(word), None);
    }

    #[test]
    fn later_is_later_and_an_unknown_time_comes_first() {
        let word = |hour, minute, second| NaiveTime::from_hms_opt(hour, minute, second).and_then(word);
        for (one, other, later) in [
            (word(9, 30, 0), word(9, 31, 0), Some(true)),
            (word(9, 30, 59), word(9, 31, 0), Some(true)),
            (word(9, 31, 0), word(9, 30, 59), Some(false)),
            (word(9, 30, 0), word(9, 30, 0), Some(false)),
            (None, word(0, 0, 0), Some(true)),
            (word(0, 0, 0), None, Some(false)),
            (None, None, Some(false)),
            (Some(WORDS), word(9, 30, 0), None),
            (None, Some(WORDS), None),
        ] {
            assert_eq!(is_later(one, other), later, "{one:?} {other:?}");
        }
    }
}
