//! The timed readings of one test.

use super::Measured;
use crate::units::Elapsed;
use std::fmt;
use std::ops::Deref;

/// A resistance at an elapsed time of a test.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TimedReading {
    /// Time since the voltage was applied.
    pub elapsed: Elapsed,
    /// What the tester showed then.
    pub value: Measured,
}

/// The timed readings of one test: in order of elapsed time, each time once, whatever the order in which they come.
///
/// # Examples
///
/// ```
/// use groundwall::resistance::{Measured, TimedReading, TimedReadings};
/// use groundwall::units::{Elapsed, OutOfRange, Resistance};
/// let reading = |seconds, megohms| {
///     let value = Measured::Exact(Resistance::from_megohms(megohms)?);
///     Ok::<_, OutOfRange>(TimedReading { elapsed: Elapsed::from_seconds(seconds)?, value })
/// };
/// let mut readings = TimedReadings::new([reading(60.0, 420.0)?, reading(30.0, 310.0)?])?;
/// assert_eq!(readings[0].elapsed.as_seconds(), 30.0);
/// let error = readings.insert(reading(60.0, 400.0)?).unwrap_err();
/// assert_eq!(error.to_string(), "there are two readings at 60 s, 420 MΩ and 400 MΩ; keep one of them");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TimedReadings(Vec<TimedReading>);

impl TimedReadings {
    /// Sorts readings by time.
    ///
    /// # Errors
    ///
    /// [`TwoReadings`] when two readings at one time differ.
    pub fn new(readings: impl IntoIterator<Item = TimedReading>) -> Result<Self, TwoReadings> {
        let mut sorted = Self::default();
        readings.into_iter().try_for_each(|reading| sorted.insert(reading))?;
        Ok(sorted)
    }

    /// Puts a reading where its time belongs. The same reading twice is one.
    ///
    /// # Errors
    ///
    /// [`TwoReadings`] when there is another value at that time already; it is kept.
    pub fn insert(&mut self, reading: TimedReading) -> Result<(), TwoReadings> {
        let at = self.0.partition_point(|earlier| earlier.elapsed < reading.elapsed);
        match self.0.get(at) {
            Some(known) if known.elapsed == reading.elapsed => {
                let TimedReading { elapsed, value } = *known;
                if value == reading.value {
                    Ok(())
                } else {
                    Err(TwoReadings { elapsed, first: value, second: reading.value })
                }
            }
            _ => {
                self.0.insert(at, reading);
                Ok(())
            }
        }
    }

    /// The reading at exactly this time, if there is one.
    #[must_use]
    pub fn at(&self, elapsed: Elapsed) -> Option<Measured> {
        self.0.iter().find(|reading| reading.elapsed == elapsed).map(|reading| reading.value)
    }

    /// An empty list with capacity for a typical test.
    pub(crate) fn with_capacity(capacity: usize) -> Self {
        Self(Vec::with_capacity(capacity))
    }

    /// Puts a reading that is later than all others after them; an earlier one is left out.
    pub(crate) fn push_later(&mut self, reading: TimedReading) {
        if self.0.last().is_none_or(|last| last.elapsed < reading.elapsed) {
            self.0.push(reading);
        }
    }

    pub(crate) fn clear(&mut self) {
        self.0.clear();
    }

    /// Gives over-range readings the end of the tester's scale as their limit.
    pub(crate) fn set_full_scale(&mut self, full_scale: Option<crate::units::Resistance>) {
        for reading in &mut self.0 {
            reading.value = reading.value.with_full_scale(full_scale);
        }
    }
}

impl Deref for TimedReadings {
    type Target = [TimedReading];

    fn deref(&self) -> &[TimedReading] {
        &self.0
    }
}

impl<'a> IntoIterator for &'a TimedReadings {
    type Item = &'a TimedReading;
    type IntoIter = std::slice::Iter<'a, TimedReading>;

    fn into_iter(self) -> Self::IntoIter {
        self.0.iter()
    }
}

/// Two different readings of one test at one time: it is unknown which is right.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TwoReadings {
    /// The time.
    pub elapsed: Elapsed,
    /// The reading that came first.
    pub first: Measured,
    /// The one that contradicts it.
    pub second: Measured,
}

impl fmt::Display for TwoReadings {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { elapsed, first, second } = self;
        write!(f, "there are two readings at {elapsed}, {first} and {second}; keep one of them")
    }
}

impl std::error::Error for TwoReadings {}
