//! One test: one application of voltage, one row of a history. Valid by construction.
//!
//! [`columns`] says which headers are understood, [`validate`] turns the texts of one row into a [`TestRecord`] or into the
//! list of its faults. Where rows come from (files, frames) is not known here.

pub mod columns;
pub mod connection;
mod draft;
mod fault;
mod plain;
pub mod validate;
mod words;

use crate::resistance::{Measured, TimedReading};
use crate::units::{Elapsed, RelativeHumidity, Resistance, Temperature, Voltage};
use chrono::{NaiveDate, NaiveDateTime, NaiveTime};
pub use connection::{Connection, Phase, Scope};
pub use draft::Draft;
use std::fmt;

/// When a test was made: a day, with the time of day where it was written down.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TestedOn {
    /// The day.
    pub date: NaiveDate,
    /// The time of day, if known.
    pub time: Option<NaiveTime>,
}

impl TestedOn {
    /// A test on a day, at no known hour.
    #[must_use]
    pub const fn day(date: NaiveDate) -> Self {
        Self { date, time: None }
    }

    /// Years of 365.25 days from another day to this test; negative before it. The hour counts where it is known.
    ///
    /// # Examples
    ///
    /// Four years with one leap day are 1461 days.
    ///
    /// ```
    /// use groundwall::record::TestedOn;
    /// assert_eq!(TestedOn::day("2026-11-25".parse()?).years_since("2022-11-25".parse()?), 4.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn years_since(self, day: NaiveDate) -> f64 {
        let midnight = self.date.signed_duration_since(day).num_days() as f64;
        let hours = self.time.map_or(0.0, |time| {
            NaiveDateTime::new(self.date, time)
                .signed_duration_since(NaiveDateTime::new(self.date, NaiveTime::MIN))
                .num_seconds() as f64
                / 86_400.0
        });
        (midnight + hours) / 365.25
    }
}

impl fmt::Display for TestedOn {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.time {
            Some(time) => write!(f, "{}T{}", self.date, time.format("%H:%M")),
            None => write!(f, "{}", self.date),
        }
    }
}

/// Work done on the winding since the previous test. It starts a new stretch of the series.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize), serde(rename_all = "kebab-case"))]
pub enum Event {
    /// Put into service.
    Commissioned,
    /// Cleaned.
    Cleaned,
    /// Dried out.
    Dried,
    /// Repaired.
    Repaired,
    /// Rewound.
    Rewound,
    /// Replaced by another winding or machine.
    Replaced,
}

impl Event {
    /// All events with their words.
    pub const WORDS: [(Event, &'static str); 6] = [
        (Event::Commissioned, "commissioned"),
        (Event::Cleaned, "cleaned"),
        (Event::Dried, "dried"),
        (Event::Repaired, "repaired"),
        (Event::Rewound, "rewound"),
        (Event::Replaced, "replaced"),
    ];

    /// Reads the word of an event, in any case.
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        Self::WORDS.iter().find(|(_, word)| word.eq_ignore_ascii_case(text.trim())).map(|(event, _)| *event)
    }

    /// The word.
    #[must_use]
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(event, _)| *event == self).map_or("", |(_, word)| word)
    }
}

/// Whether the leads were proved before the test: shorted they read zero, open they read over range.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum LeadCheck {
    /// Both were seen.
    Ok,
    /// One was not: the test does not count.
    Failed,
}

/// Where a row was read: enough to find it again.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Origin {
    /// Number of the input in the order given, from zero.
    pub input: u32,
    /// Line of the file, or row of the sheet, from one.
    pub line: u64,
}

/// One test of one winding.
///
/// # Validity
///
/// Built by [`validate::TestRules::validate`], or from [`TestRecord::new`] field by field: quantities are valid already. `readings` is in order of
/// elapsed time, each time once; empty only in a row that tells of an event with no test since.
#[derive(Clone, Debug, PartialEq)]
pub struct TestRecord {
    /// The winding tested.
    pub winding: String,
    /// What the voltage was applied between.
    pub connection: Connection,
    /// What was in the circuit.
    pub scope: Scope,
    /// When.
    pub tested_on: TestedOn,
    /// Timed readings in order of time.
    pub readings: Vec<TimedReading>,
    /// Direct voltage applied.
    pub test_volts: Option<Voltage>,
    /// The tester's own output as measured.
    pub output_volts: Option<Voltage>,
    /// Temperature of the winding.
    pub winding_temp: Option<Temperature>,
    /// Temperature of the air.
    pub air_temp: Option<Temperature>,
    /// Relative humidity of the air.
    pub humidity: Option<RelativeHumidity>,
    /// The tester used.
    pub instrument: Option<String>,
    /// Largest value the tester can show.
    pub full_scale: Option<Resistance>,
    /// Whether the leads were proved.
    pub lead_check: Option<LeadCheck>,
    /// Work done since the previous test.
    pub event: Option<Event>,
    /// Free text.
    pub note: Option<String>,
    /// Where the row was read.
    pub origin: Origin,
}

impl TestRecord {
    /// A test of which only the winding and the time are known: of the whole winding alone, without a reading.
    ///
    /// # Examples
    ///
    /// ```
    /// use groundwall::record::{TestRecord, TestedOn};
    /// use groundwall::resistance::{Measured, TimedReading};
    /// use groundwall::units::{Elapsed, Resistance};
    ///
    /// let minute = Elapsed::from_seconds(60.0)?;
    /// let value = Measured::Exact(Resistance::from_megohms(412.0)?);
    /// let test = TestRecord {
    ///     readings: vec![TimedReading { elapsed: minute, value }],
    ///     ..TestRecord::new("P-101 stator", TestedOn::day("2026-11-25".parse()?))
    /// };
    /// assert_eq!(test.reading_at(minute), Some(value));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn new(winding: impl Into<String>, tested_on: TestedOn) -> Self {
        Self {
            winding: winding.into(),
            connection: Connection::AllEarth,
            scope: Scope::Winding,
            tested_on,
            readings: Vec::new(),
            test_volts: None,
            output_volts: None,
            winding_temp: None,
            air_temp: None,
            humidity: None,
            instrument: None,
            full_scale: None,
            lead_check: None,
            event: None,
            note: None,
            origin: Origin::default(),
        }
    }

    /// The reading at an elapsed time, if there is one at exactly that time.
    #[must_use]
    pub fn reading_at(&self, elapsed: Elapsed) -> Option<Measured> {
        self.readings.iter().find(|reading| reading.elapsed == elapsed).map(|reading| reading.value)
    }

    /// Whether two rows describe the same test: same series, same moment.
    #[must_use]
    pub fn same_test(&self, other: &Self) -> bool {
        self.tested_on == other.tested_on
            && self.winding == other.winding
            && self.connection == other.connection
            && self.scope == other.scope
    }

    /// Whether two rows of the same test say the same in everything but their place. Numbers agree to nine digits: one
    /// row may have been written in another unit.
    #[must_use]
    pub fn same_content(&self, other: &Self) -> bool {
        let numbers = self.numbers();
        let others = other.numbers();
        self.same_test(other)
            && numbers.len() == others.len()
            && numbers.iter().zip(&others).all(|(one, other)| agree(*one, *other))
            && self.readings.iter().zip(&other.readings).all(|(one, other)| same_kind(one.value, other.value))
            && self.instrument == other.instrument
            && self.lead_check == other.lead_check
            && self.event == other.event
            && self.note == other.note
    }

    /// Every number of the row, in a fixed order; what is missing is none.
    fn numbers(&self) -> Vec<Option<f64>> {
        let single = [
            self.test_volts.map(Voltage::as_volts),
            self.output_volts.map(Voltage::as_volts),
            self.winding_temp.map(Temperature::as_celsius),
            self.air_temp.map(Temperature::as_celsius),
            self.humidity.map(RelativeHumidity::as_percent),
            self.full_scale.map(Resistance::as_megohms),
        ];
        let timed = self.readings.iter().flat_map(|reading| {
            [Some(reading.elapsed.as_seconds()), reading.value.resistance().map(Resistance::as_megohms)]
        });
        single.into_iter().chain(timed).collect()
    }
}

/// Share in which two numbers may differ that say the same in different units.
const SAME_SHARE: f64 = 1e-9;

fn agree(one: Option<f64>, other: Option<f64>) -> bool {
    match (one, other) {
        (Some(one), Some(other)) => (one - other).abs() <= SAME_SHARE * one.abs().max(other.abs()).max(1e-3),
        (None, None) => true,
        _ => false,
    }
}

fn same_kind(one: Measured, other: Measured) -> bool {
    std::mem::discriminant(&one) == std::mem::discriminant(&other)
}
