//! One test: one application of voltage, one row of a history. Valid by construction.
//!
//! [`columns`] says which headers are understood, [`validate`] turns the texts of one row into a [`TestRecord`] or into the
//! list of its faults. Where rows come from (files, frames) is not known here.

mod builder;
pub mod columns;
pub mod connection;
mod dates;
mod fault;
mod item;
mod plain;
pub mod procedure;
mod procedure_cells;
mod row_buffer;
mod rules;
pub(crate) mod trouble;
pub(crate) mod typed;
mod unread;
pub mod validate;
mod words;

use crate::resistance::{Measured, TimedReading, TimedReadings};
use crate::units::{Elapsed, RelativeHumidity, Resistance, Temperature, Voltage};
pub use builder::{TestBuilder, TestError};
use chrono::{NaiveDate, NaiveDateTime, NaiveTime};
pub use connection::{Connection, Phase, Scope};
pub use item::Item;
pub use procedure::{Battery, Check, EquipmentState, ItemValue, OtherPhases, Procedure, SourceCheck};
pub use row_buffer::RowBuffer;
use std::fmt;
use std::hash::{DefaultHasher, Hash as _, Hasher as _};
use std::mem::discriminant;
pub use trouble::{lowest_resistance, says_failed, tells_of_trouble};
use typed::{EVENT_WORDS, Typed, is_strict_event};
pub use unread::UnreadCell;
pub use words::is_ditto;

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
    /// Under water, or soaked: nothing read from then on is a trend until it is dry.
    Flooded,
    /// Being dried out: one reading of a process.
    Drying,
}

impl Event {
    /// All events with their words.
    pub const WORDS: [(Event, &'static str); 8] = [
        (Event::Commissioned, "commissioned"),
        (Event::Cleaned, "cleaned"),
        (Event::Dried, "dried"),
        (Event::Repaired, "repaired"),
        (Event::Rewound, "rewound"),
        (Event::Replaced, "replaced"),
        (Event::Flooded, "flooded"),
        (Event::Drying, "drying"),
    ];

    /// Reads the word of an event as people type it, in any case: `Rewound`, `re-wind`, `flood!`, `new stator`. With a question mark it
    /// is read only where it never makes an answer less urgent.
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        let typed = Typed::of(text);
        let meaning = |words: &[_]| typed.meaning(words, is_strict_event);
        meaning(&Self::WORDS).or_else(|| meaning(&EVENT_WORDS))
    }

    /// The event as written in files.
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

impl LeadCheck {
    /// Reads what people write about their leads: the words of a [`Check`], and those of this column alone.
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        // A word in doubt is none, and a cross may be a tick.
        match Check::read(text) {
            Some(Check::Ok) => Some(Self::Ok),
            Some(Check::Failed) => Some(Self::Failed),
            None => matches!(Typed::of(text).word.as_str(), "open").then_some(Self::Failed),
        }
        .filter(|_| !text.contains('?'))
    }
}

/// Where a row was read: enough to find it again.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Origin {
    /// Number of the input in the order given, from zero.
    pub input: u32,
    /// Line of the file, or row of the sheet, from one.
    pub line: u64,
}

/// Why a row that was read is not used, and is known all the same: what it says may make an answer more urgent.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum KeptOut {
    /// Another row says something else about the same test.
    Contradicted,
    /// Some of its cells break a rule; they are left empty here.
    Rejected,
    /// Its date cannot be read: it stands on the as-of date, the latest that it can be of.
    Undated,
    /// Its date is after today, so it is wrong: it stands on the as-of date as well.
    Misdated,
    /// Its reading cannot be read, so it may be anything. It stands on its own date, or on the as-of date if that cannot be read either.
    Unread,
}

impl KeptOut {
    /// Whether the day of the row is not known, so that it may be the latest.
    #[must_use]
    pub const fn is_undated(self) -> bool {
        matches!(self, Self::Undated | Self::Misdated)
    }
}

/// One test of one winding: valid by construction, as [`validate::TestRules::validate`] reads it from cells or
/// [`TestRecord::builder`] takes it from quantities.
#[derive(Clone, Debug, PartialEq)]
pub struct TestRecord {
    pub(crate) winding: String,
    pub(crate) connection: Connection,
    pub(crate) scope: Scope,
    pub(crate) tested_on: TestedOn,
    /// Empty only in a row that says what work was done with no test since.
    pub(crate) readings: TimedReadings,
    pub(crate) test_volts: Option<Voltage>,
    pub(crate) output_volts: Option<Voltage>,
    pub(crate) winding_temp: Option<Temperature>,
    pub(crate) air_temp: Option<Temperature>,
    pub(crate) humidity: Option<RelativeHumidity>,
    pub(crate) instrument: Option<String>,
    pub(crate) full_scale: Option<Resistance>,
    pub(crate) lead_check: Option<LeadCheck>,
    /// None where nothing of it is known.
    pub(crate) procedure: Option<Box<Procedure>>,
    pub(crate) event: Option<Event>,
    pub(crate) note: Option<String>,
    pub(crate) origin: Origin,
    pub(crate) kept_out: Option<KeptOut>,
}

impl TestRecord {
    /// Begins a test of a whole winding alone.
    ///
    /// # Examples
    ///
    /// Readings come in any order. Two that contradict each other are refused, as is a test without any:
    ///
    /// ```
    /// use groundwall::record::{TestRecord, TestedOn};
    /// use groundwall::resistance::Measured;
    /// use groundwall::units::{Elapsed, Resistance, Temperature};
    ///
    /// let (minute, half) = (Elapsed::from_seconds(60.0)?, Elapsed::from_seconds(30.0)?);
    /// let mohm = |value| Resistance::from_megohms(value).map(Measured::Exact);
    /// let test = TestRecord::builder("P-101 stator", TestedOn::day("2026-11-25".parse()?))
    ///     .reading(minute, mohm(412.0)?)
    ///     .reading(half, mohm(330.0)?)
    ///     .winding_temp(Temperature::from_celsius(24.5)?);
    /// assert_eq!(test.clone().build()?.reading_at(minute), Some(mohm(412.0)?));
    /// assert_eq!(
    ///     test.reading(minute, mohm(41.2)?).build().unwrap_err().to_string(),
    ///     "there are two readings at 60 s, 412 MΩ and 41.2 MΩ; keep one of them"
    /// );
    /// let empty = TestRecord::builder("P-101 stator", TestedOn::day("2026-11-25".parse()?));
    /// assert_eq!(empty.build().unwrap_err().to_string(), "a test has at least one reading, or work done on the winding");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn builder(winding: impl Into<String>, tested_on: TestedOn) -> TestBuilder {
        TestBuilder { test: Self::empty(winding.into(), tested_on), fault: None }
    }

    /// A test of which only the winding and the time are known.
    pub(crate) fn empty(winding: String, tested_on: TestedOn) -> Self {
        Self {
            winding,
            connection: Connection::AllEarth,
            scope: Scope::Winding,
            tested_on,
            readings: TimedReadings::default(),
            test_volts: None,
            output_volts: None,
            winding_temp: None,
            air_temp: None,
            humidity: None,
            instrument: None,
            full_scale: None,
            lead_check: None,
            procedure: None,
            event: None,
            note: None,
            origin: Origin::default(),
            kept_out: None,
        }
    }

    /// Gives the winding another name, where there is one.
    pub fn rename(&mut self, name: &mut impl FnMut(&str) -> Option<String>) {
        if let Some(name) = name(&self.winding) {
            self.winding = name;
        }
    }

    /// The winding tested.
    #[must_use]
    pub fn winding(&self) -> &str {
        &self.winding
    }

    /// What the voltage was applied between.
    #[must_use]
    pub const fn connection(&self) -> &Connection {
        &self.connection
    }

    /// What was in the circuit.
    #[must_use]
    pub const fn scope(&self) -> Scope {
        self.scope
    }

    /// When the test was made.
    #[must_use]
    pub const fn tested_on(&self) -> TestedOn {
        self.tested_on
    }

    /// Timed readings in order of time; none only where the row says what work was done with no test since.
    #[must_use]
    pub const fn readings(&self) -> &TimedReadings {
        &self.readings
    }

    /// Direct voltage applied.
    #[must_use]
    pub const fn test_volts(&self) -> Option<Voltage> {
        self.test_volts
    }

    /// The tester's own output as measured.
    #[must_use]
    pub const fn output_volts(&self) -> Option<Voltage> {
        self.output_volts
    }

    /// Temperature of the winding.
    #[must_use]
    pub const fn winding_temp(&self) -> Option<Temperature> {
        self.winding_temp
    }

    /// Temperature of the air.
    #[must_use]
    pub const fn air_temp(&self) -> Option<Temperature> {
        self.air_temp
    }

    /// Relative humidity of the air.
    #[must_use]
    pub const fn humidity(&self) -> Option<RelativeHumidity> {
        self.humidity
    }

    /// The tester used.
    #[must_use]
    pub fn instrument(&self) -> Option<&str> {
        self.instrument.as_deref()
    }

    /// Largest value the tester can show.
    #[must_use]
    pub const fn full_scale(&self) -> Option<Resistance> {
        self.full_scale
    }

    /// Whether the leads were proved.
    #[must_use]
    pub const fn lead_check(&self) -> Option<LeadCheck> {
        self.lead_check
    }

    /// Work done since the previous test.
    #[must_use]
    pub const fn event(&self) -> Option<Event> {
        self.event
    }

    /// Free text.
    #[must_use]
    pub fn note(&self) -> Option<&str> {
        self.note.as_deref()
    }

    /// Where the row was read.
    #[must_use]
    pub const fn origin(&self) -> Origin {
        self.origin
    }

    /// Adds what another row of the same test says; false, and nothing added, where the two contradict each other. Notes are
    /// put one after the other.
    #[must_use]
    pub fn join(&mut self, row: &Self) -> bool {
        let mut joined = self.clone();
        let agree = row.readings.iter().all(|reading| joined.readings.insert(*reading).is_ok())
            && take(&mut joined.test_volts, &row.test_volts)
            && take(&mut joined.output_volts, &row.output_volts)
            && take(&mut joined.winding_temp, &row.winding_temp)
            && take(&mut joined.air_temp, &row.air_temp)
            && take(&mut joined.humidity, &row.humidity)
            && take(&mut joined.instrument, &row.instrument)
            && take(&mut joined.full_scale, &row.full_scale)
            && take(&mut joined.lead_check, &row.lead_check)
            && row.procedure.as_ref().is_none_or(|more| joined.procedure.get_or_insert_default().join(more))
            && take(&mut joined.event, &row.event);
        if agree {
            join_notes(&mut joined.note, row.note.as_deref());
            *self = joined;
        }
        agree
    }

    /// The reading at an elapsed time, if there is one at exactly that time.
    #[must_use]
    pub fn reading_at(&self, elapsed: Elapsed) -> Option<Measured> {
        self.readings.at(elapsed)
    }

    /// Whether two rows describe the same test: same series, same time.
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
            && self.procedure().same_content(other.procedure())
            && self.event == other.event
            && self.note == other.note
    }

    /// Whether another row of the same test says all that this one says, and perhaps more: this one may be a copy that leaves cells out.
    #[must_use]
    pub fn says_no_more_than(&self, other: &Self) -> bool {
        fn within<T: PartialEq>(one: Option<&T>, other: Option<&T>) -> bool {
            one.is_none() || one == other
        }
        let numbers = self.single_numbers().into_iter().zip(other.single_numbers());
        let has = |reading: &TimedReading| {
            let said = other.reading_at(reading.elapsed);
            said.is_some_and(|said| {
                let megohms = |value: Measured| value.resistance().map(Resistance::as_megohms);
                same_kind(reading.value, said) && agree(megohms(reading.value), megohms(said))
            })
        };
        self.same_test(other)
            && self.readings.iter().all(has)
            && numbers.into_iter().all(|(one, other)| one.is_none() || agree(one, other))
            && within(self.instrument.as_ref(), other.instrument.as_ref())
            && within(self.lead_check.as_ref(), other.lead_check.as_ref())
            && within(self.event.as_ref(), other.event.as_ref())
            && within(self.note.as_ref(), other.note.as_ref())
            && (self.procedure.is_none() || self.procedure().same_content(other.procedure()))
    }

    /// A digest of everything that the row says, its place left out. Rows of one test with one digest say the same to the
    /// letter.
    #[must_use]
    pub fn content_digest(&self) -> u64 {
        let mut hasher = DefaultHasher::new();
        (&self.winding, &self.connection, self.scope, self.tested_on).hash(&mut hasher);
        (&self.instrument, self.lead_check, self.event, &self.note).hash(&mut hasher);
        if let Some(procedure) = &self.procedure {
            procedure.hash_content(&mut hasher);
        }
        self.numbers().iter().for_each(|number| number.map(f64::to_bits).hash(&mut hasher));
        self.readings.iter().for_each(|reading| discriminant(&reading.value).hash(&mut hasher));
        hasher.finish()
    }

    /// Every number of the row but those of its readings, in a fixed order; what is missing is none.
    fn single_numbers(&self) -> [Option<f64>; 6] {
        [
            self.test_volts.map(Voltage::as_volts),
            self.output_volts.map(Voltage::as_volts),
            self.winding_temp.map(above_absolute_zero),
            self.air_temp.map(above_absolute_zero),
            self.humidity.map(RelativeHumidity::as_percent),
            self.full_scale.map(Resistance::as_megohms),
        ]
    }

    /// Every number of the row, in a fixed order.
    fn numbers(&self) -> Vec<Option<f64>> {
        let timed = self.readings.iter().flat_map(|reading| {
            [Some(reading.elapsed.as_seconds()), reading.value.resistance().map(Resistance::as_megohms)]
        });
        self.single_numbers().into_iter().chain(timed).collect()
    }
}

/// Takes what another row says where nothing is known yet; false where the two differ.
fn take<T: PartialEq + Clone>(known: &mut Option<T>, new: &Option<T>) -> bool {
    match (known.as_ref(), new) {
        (Some(known), Some(new)) => known == new,
        (None, Some(new)) => {
            *known = Some(new.clone());
            true
        }
        (_, None) => true,
    }
}

/// Share in which two numbers may differ that say the same in different units.
const SAME_SHARE: f64 = 1e-9;

/// A temperature in kelvins: a share of it is as large in °C as in °F, also where one of them is near zero.
fn above_absolute_zero(temperature: Temperature) -> f64 {
    temperature.as_celsius() + 273.15
}

fn agree(one: Option<f64>, other: Option<f64>) -> bool {
    match (one, other) {
        (Some(one), Some(other)) => (one - other).abs() <= SAME_SHARE * one.abs().max(other.abs()).max(1e-3),
        (None, None) => true,
        _ => false,
    }
}

/// Adds a note unless it was written already.
fn join_notes(known: &mut Option<String>, new: Option<&str>) {
    let Some(new) = new else { return };
    match known {
        Some(text) if text.split("; ").any(|part| part == new) => {}
        Some(text) => {
            text.push_str("; ");
            text.push_str(new);
        }
        None => *known = Some(new.to_owned()),
    }
}

fn same_kind(one: Measured, other: Measured) -> bool {
    discriminant(&one) == discriminant(&other)
}
