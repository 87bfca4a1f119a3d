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
//! Null and not-a-number are missing; a resistance of infinity is over range. A date and time is read to the second.
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
use crate::ingest::mapping::Mapping;
use crate::ingest::register::Register;
use crate::ingest::{Reading, ReadingRules, Rejections, WHOLE_ROW};
use crate::output::{ListBy, frame};
use crate::spread::AllCores;
use chrono::{DateTime, Duration, NaiveDate};
use groundwall::assess::{SeriesAssessment, Terms, assess_fleet};
use groundwall::record::TestRecord;
use groundwall::record::validate::TestRules;
use groundwall::series::Series;
use polars::prelude::{AnyValue, DataFrame, IntoColumn, NamedFrom, TimeUnit};
use std::collections::BTreeMap;

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
    let nameplates = match register {
        Some(frame) => self::register(frame)?,
        None => groundwall::assess::Register::new(),
    };
    let rules = TestRules {
        zero_means_below: terms.policy.zero_means_below,
        full_scale: terms.policy.full_scale,
        ..TestRules::default()
    };
    let read = tests(history, &rules)?;
    let mut series =
        assess_fleet(Series::collect(read.tests), &nameplates, terms, &AllCores, |judgement| judgement.assessment);
    ListBy::Series.sort(&mut series, |series| series);
    Ok(Judged {
        results: results(&series)?,
        accepted: read.accepted,
        repeated: read.repeated,
        rejected: read.rejected,
        remarks: read.remarks,
    })
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
    let lines = Lines::of(history, HISTORY)?;
    let rules = ReadingRules {
        tests: TestRules { decimal_comma: false, date_format: None, workbook: None, ..rules.clone() },
        delimiter: Some(b','),
        encoding: Some(encoding_rs::UTF_8),
        plain_only: true,
        ..ReadingRules::default()
    };
    let mut reading = Reading::new(&rules);
    reading.add(HISTORY, lines.bytes)?;
    let mut read = reading.finish();
    let (accepted, repeated, remarks) =
        read.inputs.pop().map_or((0, 0, Vec::new()), |ledger| (ledger.accepted, ledger.repeated, ledger.remarks));
    let rejected = rejections(&read.rejections, &lines.rows)?;
    Ok(History { tests: read.tests(), accepted, repeated, rejected, remarks })
}

/// Reads a frame of nameplates.
///
/// # Errors
///
/// A [`Failure`] with every fault; line 2 is the first row, as in a file.
pub fn register(register: &DataFrame) -> Result<groundwall::assess::Register, Failure> {
    let lines = Lines::of(register, REGISTER)?;
    Register::parse(REGISTER, &lines.bytes, Some(b','), false, &Mapping::default())
        .map(|register| register.nameplates().clone())
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
    frame::frame(series).map_err(|error| Failure::ours(error.to_string()))
}

/// A frame as the lines of a file.
struct Lines {
    bytes: Vec<u8>,
    /// The row (from 0) that begins at a line (from 1).
    rows: BTreeMap<u64, u32>,
}

impl Lines {
    fn of(frame: &DataFrame, name: &str) -> Result<Self, Failure> {
        let refused = |error: csv::Error| Failure::ours(format!("{name}: {error}"));
        let header: Vec<&str> = frame.columns().iter().map(|column| column.name().as_str()).collect();
        let mut writer = csv::Writer::from_writer(Vec::new());
        writer.write_record(&header).map_err(refused)?;
        let mut line = 2 + breaks(header.iter().copied());
        let mut rows = BTreeMap::new();
        for row in 0..frame.height() {
            let mut cells = Vec::with_capacity(header.len());
            for column in frame.columns() {
                let value = column.get(row).map_err(|error| Failure::ours(format!("{name}: {error}")))?;
                cells.push(cell(&value).ok_or_else(|| unusable(name, column.name(), &column.dtype().to_string()))?);
            }
            rows.insert(line, u32::try_from(row).unwrap_or(u32::MAX));
            line += 1 + breaks(cells.iter().map(String::as_str));
            writer.write_record(&cells).map_err(refused)?;
        }
        let bytes = writer.into_inner().map_err(|error| Failure::ours(format!("{name}: {}", error.error())))?;
        Ok(Self { bytes, rows })
    }
}

/// How many line breaks texts hold: a row that has some takes more than one line.
fn breaks<'t>(texts: impl Iterator<Item = &'t str>) -> u64 {
    texts.map(|text| text.bytes().filter(|byte| *byte == b'\n').count() as u64).sum()
}

fn unusable(name: &str, column: &str, kind: &str) -> Failure {
    Failure::usage(format!("{name}: column {column} is of type {kind}; a column holds texts, numbers or dates"))
        .hint("cast it, or leave the column out")
}

/// A value as the text of a cell: empty where there is none, `None` where its type holds no cell.
fn cell(value: &AnyValue<'_>) -> Option<String> {
    Some(match value {
        AnyValue::Null => String::new(),
        AnyValue::Float32(number) if number.is_nan() => String::new(),
        AnyValue::Float64(number) if number.is_nan() => String::new(),
        AnyValue::Float32(number) => number.to_string(),
        AnyValue::Float64(number) => number.to_string(),
        AnyValue::UInt8(number) => number.to_string(),
        AnyValue::UInt16(number) => number.to_string(),
        AnyValue::UInt32(number) => number.to_string(),
        AnyValue::UInt64(number) => number.to_string(),
        AnyValue::Int8(number) => number.to_string(),
        AnyValue::Int16(number) => number.to_string(),
        AnyValue::Int32(number) => number.to_string(),
        AnyValue::Int64(number) => number.to_string(),
        AnyValue::Date(days) => {
            NaiveDate::default().checked_add_signed(Duration::try_days(i64::from(*days))?)?.to_string()
        }
        AnyValue::Datetime(since, unit, None) => moment(*since, *unit)?,
        AnyValue::DatetimeOwned(since, unit, None) => moment(*since, *unit)?,
        text => text.get_str()?.to_owned(),
    })
}

/// A date and time, to the second.
fn moment(since: i64, unit: TimeUnit) -> Option<String> {
    let at = match unit {
        TimeUnit::Nanoseconds => DateTime::from_timestamp_nanos(since),
        TimeUnit::Microseconds => DateTime::from_timestamp_micros(since)?,
        TimeUnit::Milliseconds => DateTime::from_timestamp_millis(since)?,
    };
    Some(at.naive_utc().format("%Y-%m-%dT%H:%M:%S").to_string())
}

/// What is to be done about a date in a frame: the options of the command line do not apply.
const DATE_HINT: &str = "make tested_on a column of dates, or of texts such as 2026-04-03";

fn rejections(rejections: &Rejections, rows: &BTreeMap<u64, u32>) -> Result<DataFrame, Failure> {
    let faults = || rejections.iter().flat_map(|row| row.faults.into_iter().map(move |fault| (row.origin.line, fault)));
    let row = |line: u64| rows.range(..=line).next_back().map(|(_, row)| *row);
    let hint = |column: &str, hint: &str| {
        if column == "tested_on" && hint.contains("--date-format") { DATE_HINT.to_owned() } else { hint.to_owned() }
    };
    let of_cell = |column: &str| (column != WHOLE_ROW).then(|| column.to_owned());
    let columns = vec![
        polars::prelude::Series::new("row".into(), faults().map(|(line, _)| row(line)).collect::<Vec<_>>()),
        polars::prelude::Series::new("column".into(), faults().map(|(_, f)| of_cell(f.column)).collect::<Vec<_>>()),
        polars::prelude::Series::new("value".into(), faults().map(|(_, f)| f.value.to_owned()).collect::<Vec<_>>()),
        polars::prelude::Series::new("rule".into(), faults().map(|(_, f)| f.rule.to_owned()).collect::<Vec<_>>()),
        polars::prelude::Series::new("hint".into(), faults().map(|(_, f)| hint(f.column, f.hint)).collect::<Vec<_>>()),
    ];
    let height = faults().count();
    DataFrame::new(height, columns.into_iter().map(IntoColumn::into_column).collect())
        .map_err(|error| Failure::ours(error.to_string()))
}

#[cfg(test)]
mod tests;
