//! The latest reading beside the one with which the winding came into service.

use super::result::{CorrectedTest, LeftOut};
use crate::record::Event;
use crate::resistance::{Bound, Measured};
use chrono::NaiveDate;

/// How much is left of what a winding read when it was commissioned, rewound or replaced.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SinceCommissioning {
    /// How it came into service.
    pub event: Event,
    /// Day of the first reading in service.
    pub on: NaiveDate,
    /// That reading at the reference temperature.
    pub first: Measured,
    /// The latest reading at the reference temperature.
    pub latest: Measured,
    /// The latest by the first; no more than that where one of them is a bound.
    pub share: f64,
}

impl SinceCommissioning {
    /// Compares the latest test that counts with the first one since the winding came into service.
    ///
    /// # Validity
    ///
    /// Both with a temperature. None where the history does not tell when the winding came into service, or where the latest reading is over
    /// range and the first was not.
    #[must_use]
    pub fn of(tests: &[CorrectedTest]) -> Option<Self> {
        let known = |test: &CorrectedTest| test.corrected.filter(|_| test.kt.is_some());
        let at = tests.iter().rposition(|test| test.left_out.is_none())?;
        let latest = known(&tests[at])?;
        let (start, event) = tests[..=at].iter().enumerate().rev().find_map(|(i, test)| match test.event {
            Some(event @ (Event::Commissioned | Event::Rewound | Event::Replaced)) => Some((i, event)),
            _ => None,
        })?;
        let counts = |test: &&CorrectedTest| matches!(test.left_out, None | Some(LeftOut::BeforeStretch));
        let first = tests[start..at].iter().filter(counts).find(|test| known(test).is_some())?;
        let was = known(first)?;
        let share = latest.resistance()?.as_megohms() / was.resistance()?.as_megohms();
        let says_something = latest.bound() != Bound::Above && was.bound() != Bound::Below;
        says_something.then_some(Self { event, on: first.tested_on.date, first: was, latest, share })
    }
}
