//! In and out of polars frames: a frame of tests in, a frame of results out.
//!
//! For notebooks and pipelines that hold histories in frames. A frame is read by the same rules as a file: the same column
//! names, the same checks of every cell, the same handling of rows that repeat or contradict each other. Nothing is lost
//! in silence: accepted, repeated and rejected rows add up to the rows of the frame.
//!
//! # Units
//!
//! By the name of the column, as in a history file: `r_60s` in MΩ, `r_60s_gohm` in GΩ, `winding_temp_c` in °C,
//! `winding_temp_f` in °F, `test_volts` in V, `rh_percent` in %. What the column holds may be
//!
//! | column | type |
//! | --- | --- |
//! | resistances | a number, or text with the grammar of a cell: `>1000`, `OL`, `1.2 GΩ` |
//! | `tested_on` | a date, a date and time without zone, or text `2026-04-03` |
//! | other quantities | a number, or text |
//! | words | text, also categorical |
//!
//! Null and not-a-number are missing; a resistance of infinity is over range. A date and time is read to the second; midnight is
//! a date without a time, as in workbooks ([`cells`]).
//!
//! # Examples
//!
//! ```
//! use groundwall::assess::Terms;
//! use groundwall::policy::Policy;
//! use groundwall::units::Confidence;
//! use groundwall_engine::frames::{self, polars::prelude::*};
//!
//! let history = df!(
//!     "winding" => ["P-101", "P-101", "P-101", "P-101", "P-101"],
//!     "tested_on" => ["2025-10-11", "2026-01-17", "2026-04-14", "2026-07-15", "2026-10-13"],
//!     "r_60s" => [Some(410.0), Some(395.0), None, Some(430.0), Some(400.0)],
//!     "winding_temp_c" => [22.0, 19.0, 23.0, 29.0, 22.0],
//! )?;
//! let register = df!(
//!     "winding" => ["P-101"],
//!     "rated_volts" => [400],
//!     "construction" => ["random-wound"],
//!     "insulation" => ["thermosetting"],
//! )?;
//! let terms = Terms {
//!     policy: Policy::default(),
//!     as_of: "2026-11-25".parse()?,
//!     confidence: Confidence::from_fraction(0.9)?,
//! };
//! let judged = frames::assess(&history, Some(&register), &terms)?;
//!
//! assert_eq!((judged.accepted, judged.repeated, judged.rejected.height()), (4, 0, 1));
//! assert_eq!(judged.rejected.column("row")?.u32()?.get(0), Some(2)); // rows count from 0
//! assert_eq!(judged.results.column("action")?.str()?.get(0), Some("keep"));
//! assert_eq!(judged.results.column("minimum_mohm")?.f64()?.get(0), Some(5.0));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub use polars;

use crate::error::Failure;
use crate::fleet::Fleet;
use crate::ingest::cells::{self, Batches, CellRows, CellTable, RowText};
use crate::ingest::joined::JoinedNames;
use crate::ingest::mapping::Mapping;
use crate::ingest::register::Register;
use crate::ingest::{Ingested, Reading, ReadingRules, WHOLE_ROW, exchanged, ledger};
use crate::output::{ListBy, frame};
use crate::site::Site;
use crate::spread::AllCores;
use chrono::{DateTime, Duration, NaiveDate, NaiveDateTime};
use groundwall::assess::{SeriesAssessment, Terms};
use groundwall::record::TestRecord;
use groundwall::record::validate::TestRules;
use polars::prelude::{AnyValue, DataFrame, IntoColumn, NamedFrom, TimeUnit};
use std::sync::Arc;

/// A history read from a frame.
#[derive(Clone, Debug, PartialEq)]
pub struct History {
    /// The tests, in the order of the rows.
    pub tests: Vec<TestRecord>,
    /// Rows that became tests.
    pub accepted: u64,
    /// Rows that say the same as another one.
    pub repeated: u64,
    /// One row per fault of a rejected row: `row` (from 0), `column`, `value`, `rule`, `hint`.
    pub rejected: DataFrame,
    /// Sentences about how the columns were understood.
    pub remarks: Vec<String>,
}

/// A history judged.
#[derive(Clone, Debug, PartialEq)]
pub struct Judged {
    /// One row per series, most urgent first: the columns of the result file's CSV. Unknown is null.
    pub results: DataFrame,
    /// Rows that became tests.
    pub accepted: u64,
    /// Rows that say the same as another one.
    pub repeated: u64,
    /// One row per fault of a rejected row, as in [`History`].
    pub rejected: DataFrame,
    /// Sentences about how the columns were understood.
    pub remarks: Vec<String>,
}

/// The place that messages name.
const HISTORY: &str = "history frame";
/// The same for a register.
const REGISTER: &str = "register frame";

/// Judges a frame of tests.
///
/// # Units
///
/// `history` has the columns of a history file, `register` those of a register file: `winding` and whatever is known of
/// `rated_volts` (V), `rated_kw` (kW), `construction`, `insulation`, `thermal_class`, `year_made`, `year_rewound`, `interval_days`,
/// `minimum_mohm` (MΩ), `group` and others. Without a register every minimum is assumed. The policy's
/// `full_scale` and `zero_means_below` are used in reading.
///
/// # Errors
///
/// A [`Failure`] when a column that is needed is missing or of a type that holds no cell, or with every fault of the
/// register. A bad row of the history is none: it is in `rejected`.
pub fn assess(history: &DataFrame, register: Option<&DataFrame>, terms: &Terms) -> Result<Judged, Failure> {
    let register = register.map(|frame| move |mapping: &Mapping| read_register(frame, mapping));
    let policy = Ok((terms.policy.clone(), Mapping::default()));
    let (site, unreadable) = Site::read(policy, &Mapping::default(), register, &[])?;
    if let Some(failure) = unreadable {
        return Err(failure);
    }
    let rules = ReadingRules {
        tests: TestRules {
            zero_means_below: terms.policy.zero_means_below,
            full_scale: terms.policy.full_scale,
            ..TestRules::default()
        },
        as_of: Some(terms.as_of),
        names: site.names,
        ..ReadingRules::default()
    };
    let mut ingested = ingest(history, &rules)?;
    exchanged::must_not_be(&ingested, &rules.tests)?;
    let begun_after = ingested.series.remove_begun_after(terms.as_of);
    let begun_after = ledger::begun_after(&ingested, begun_after, terms.as_of)?;
    let fleet = Fleet::new(ingested, site.register.as_ref(), terms.clone());
    let mut series = fleet.judge(&AllCores, |judgement| judgement.assessment);
    ListBy::Series.sort(&mut series, |series| series);
    let Counts { accepted, repeated, mut remarks } = counts(&fleet.ingested);
    remarks.extend(begun_after);
    Ok(Judged { results: results(&series)?, accepted, repeated, rejected: rejections(&fleet.ingested)?, remarks })
}

/// Reads a frame of tests.
///
/// # Units
///
/// By the names of the columns; see [the module](self).
///
/// # Validity
///
/// The decimal mark of texts is the point and dates in text are ISO, whatever `rules` say of either: a frame holds dates as
/// dates.
///
/// # Errors
///
/// As [`assess`].
pub fn tests(history: &DataFrame, rules: &TestRules) -> Result<History, Failure> {
    let tests = TestRules { decimal_comma: false, date_format: None, workbook: None, ..rules.clone() };
    let ingested = ingest(history, &ReadingRules { tests, ..ReadingRules::default() })?;
    let Counts { accepted, repeated, remarks } = counts(&ingested);
    Ok(History { tests: ingested.tests(), accepted, repeated, rejected: rejections(&ingested)?, remarks })
}

fn ingest(history: &DataFrame, rules: &ReadingRules) -> Result<Ingested, Failure> {
    let table: Arc<dyn CellTable> = Arc::new(Frame(history.clone()));
    let mut reading = Reading::new(rules);
    reading.add_cells(HISTORY, &table)?;
    Ok(reading.finish())
}

/// What became of the rows of the frame.
struct Counts {
    accepted: u64,
    repeated: u64,
    remarks: Vec<String>,
}

fn counts(ingested: &Ingested) -> Counts {
    let input = ingested.inputs.first();
    Counts {
        accepted: input.map_or(0, |input| input.accepted),
        repeated: input.map_or(0, |input| input.repeated),
        remarks: input.map_or_else(Vec::new, |input| input.remarks.clone()),
    }
}

/// Reads a frame of nameplates.
///
/// # Errors
///
/// A [`Failure`] with every fault; line 2 is the first row, as in a file.
pub fn register(register: &DataFrame) -> Result<groundwall::assess::Register, Failure> {
    let mut register = read_register(register, &Mapping::default())?;
    register.join(&JoinedNames::of(register.other_names.iter().cloned())?)?;
    Ok(register.nameplates().clone())
}

fn read_register(frame: &DataFrame, mapping: &Mapping) -> Result<Register, Failure> {
    Register::of_cells(REGISTER, &Frame(frame.clone()), false, mapping)
}

/// Assessments as a frame: one row per series in their order, the columns of the result file's CSV, unknown is null.
///
/// # Units
///
/// By the names of the columns: `_mohm` MΩ at the reference temperature unless it says `r60_mohm` (as read), `_c` °C,
/// `log10_per_year` decades a year.
///
/// # Errors
///
/// A [`Failure`] if the frame library refuses, which no input is known to bring about.
pub fn results(series: &[SeriesAssessment]) -> Result<DataFrame, Failure> {
    frame::frame(series).map_err(|error| Failure::internal(error.to_string()))
}

/// A frame as a table of cells.
#[derive(Clone)]
struct Frame(DataFrame);

impl CellTable for Frame {
    fn header(&self) -> Vec<String> {
        self.0.columns().iter().map(|column| column.name().to_string()).collect()
    }

    fn unusable(&self) -> Option<(String, String)> {
        let is_unusable = |value: &AnyValue<'_>| matches!(Cell::of(value), Cell::Unusable);
        let column = self.0.columns().iter().find(|column| {
            let mut values = (0..column.len()).filter_map(|row| column.get(row).ok());
            // A column has one type, so its first value tells.
            values.find(|value| !matches!(value, AnyValue::Null)).is_some_and(|value| is_unusable(&value))
        })?;
        Some((column.name().to_string(), column.dtype().to_string()))
    }

    fn batches(&self) -> Batches {
        let whole: Arc<dyn CellRows> = Arc::new(self.clone());
        Box::new(std::iter::once(Ok(whole)))
    }
}

impl CellRows for Frame {
    fn height(&self) -> usize {
        self.0.height()
    }

    fn has_line_breaks(&self) -> bool {
        let breaks = |text: &str| text.contains(['\n', '\r']);
        self.0.columns().iter().any(|column| {
            let mut values = (0..column.len()).filter_map(|row| column.get(row).ok());
            values.any(|value| value.get_str().is_some_and(breaks))
        })
    }

    fn write(&self, row: usize, out: &mut RowText) {
        for column in self.0.columns() {
            match column.get(row) {
                Ok(value) => Cell::of(&value).write(out),
                Err(_) => out.missing(),
            }
        }
    }
}

/// What a value of a frame is as a cell.
enum Cell<'v> {
    Missing,
    Number(f64),
    Single(f32),
    Integer(i128),
    Day(NaiveDate),
    Moment(NaiveDateTime),
    Truth(bool),
    Text(&'v str),
    Unusable,
}

impl<'v> Cell<'v> {
    fn of(value: &'v AnyValue<'_>) -> Self {
        match value {
            AnyValue::Null => Self::Missing,
            AnyValue::Float32(number) => Self::Single(*number),
            AnyValue::Float64(number) => Self::Number(*number),
            AnyValue::UInt8(number) => Self::Integer(i128::from(*number)),
            AnyValue::UInt16(number) => Self::Integer(i128::from(*number)),
            AnyValue::UInt32(number) => Self::Integer(i128::from(*number)),
            AnyValue::UInt64(number) => Self::Integer(i128::from(*number)),
            AnyValue::Int8(number) => Self::Integer(i128::from(*number)),
            AnyValue::Int16(number) => Self::Integer(i128::from(*number)),
            AnyValue::Int32(number) => Self::Integer(i128::from(*number)),
            AnyValue::Int64(number) => Self::Integer(i128::from(*number)),
            AnyValue::Boolean(value) => Self::Truth(*value),
            AnyValue::Date(days) => Duration::try_days(i64::from(*days))
                .and_then(|since| NaiveDate::default().checked_add_signed(since))
                .map_or(Self::Unusable, Self::Day),
            AnyValue::Datetime(since, unit, None) => moment(*since, *unit),
            AnyValue::DatetimeOwned(since, unit, None) => moment(*since, *unit),
            text => text.get_str().map_or(Self::Unusable, Self::Text),
        }
    }

    fn write(&self, out: &mut RowText) {
        match self {
            Self::Missing => out.missing(),
            Self::Number(number) => out.number(*number),
            Self::Single(number) => out.single(*number),
            Self::Integer(number) => out.integer(*number),
            Self::Day(day) => out.day(*day),
            Self::Moment(at) => out.moment(*at),
            Self::Truth(value) => out.truth(*value),
            Self::Text(text) => out.text(text),
            Self::Unusable => out.unreadable(),
        }
    }
}

fn moment(since: i64, unit: TimeUnit) -> Cell<'static> {
    let at = match unit {
        TimeUnit::Nanoseconds => Some(DateTime::from_timestamp_nanos(since)),
        TimeUnit::Microseconds => DateTime::from_timestamp_micros(since),
        TimeUnit::Milliseconds => DateTime::from_timestamp_millis(since),
    };
    at.map_or(Cell::Unusable, |at| Cell::Moment(at.naive_utc()))
}

fn rejections(ingested: &Ingested) -> Result<DataFrame, Failure> {
    let rows = || {
        ingested.rejections.iter().flat_map(move |row| {
            let line = ingested.input(&row).row(row.origin.line);
            row.faults.into_iter().map(move |fault| (line, fault))
        })
    };
    let row = |line: u64| cells::row_of(line).and_then(|row| u32::try_from(row).ok());
    let of_cell = |column: &str| (column != WHOLE_ROW).then(|| column.to_owned());
    let hint = |column: &str, hint: &str| cells::hint(column, hint).to_owned();
    let columns = vec![
        polars::prelude::Series::new("row".into(), rows().map(|(line, _)| row(line)).collect::<Vec<_>>()),
        polars::prelude::Series::new("column".into(), rows().map(|(_, f)| of_cell(f.column)).collect::<Vec<_>>()),
        polars::prelude::Series::new("value".into(), rows().map(|(_, f)| f.value.to_owned()).collect::<Vec<_>>()),
        polars::prelude::Series::new("rule".into(), rows().map(|(_, f)| f.rule.to_owned()).collect::<Vec<_>>()),
        polars::prelude::Series::new("hint".into(), rows().map(|(_, f)| hint(f.column, f.hint)).collect::<Vec<_>>()),
    ];
    let height = rows().count();
    DataFrame::new(height, columns.into_iter().map(IntoColumn::into_column).collect())
        .map_err(|error| Failure::internal(error.to_string()))
}

#[cfg(test)]
mod tests;
