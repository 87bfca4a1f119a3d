//! What came of reading: tests, the ledger of the inputs, and the rows kept out with their reasons.

use super::cell_place::CellPlace;
use super::columns::Columns;
use super::delimited::Layout;
use super::joined::JoinedNames;
use super::rejections::{Rejection, Rejections};
use super::row_fault::{RowFault, WHOLE_ROW};
use crate::error::{Status, shown};
use groundwall::record::columns::Column;
use groundwall::record::{Origin, TestRecord};
use groundwall::table::SeriesTable;
use serde::Serialize;
use std::borrow::Cow;
use std::collections::BTreeSet;

/// The line of the first row of an arranged table, below its header.
pub const FIRST_ARRANGED: usize = 2;

/// What became of the rows of one input.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct InputLedger {
    /// The path as given, or `standard input`.
    pub file: String,
    /// The sheet of a workbook; `check` tells it, the result file keeps to its keys.
    #[serde(skip)]
    pub sheet: Option<String>,
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// Rows read; blank lines and rows of tests not done are none.
    pub rows: u64,
    /// Rows that became tests.
    pub accepted: u64,
    /// Rows that say the same as another one.
    pub repeated: u64,
    /// Rows kept out, each with its reason.
    pub rejected: u64,
    /// Rows of tests that were not done: they name a winding and say nothing else, and count as blank lines do.
    #[serde(skip)]
    pub not_done: u64,
    /// What the header names, and where.
    #[serde(skip)]
    pub columns: Columns,
    /// The header line, byte for byte.
    #[serde(skip)]
    pub header: Box<[u8]>,
    /// How the file is laid out.
    #[serde(skip)]
    pub layout: Layout,
    /// Sentences about how it was read.
    #[serde(skip)]
    pub remarks: Vec<String>,
    /// The cells that the rows come from, where a sheet of another layout was arranged as a plain table.
    #[serde(skip)]
    pub places: Option<Vec<CellPlace>>,
}

impl InputLedger {
    /// The input as messages name it: `plant.csv`, `plant.xlsx:Sheet1`.
    #[must_use]
    pub fn name(&self) -> Cow<'_, str> {
        self.sheet
            .as_ref()
            .map_or_else(|| self.file.as_str().into(), |sheet| format!("{}:{}", self.file, shown(sheet)).into())
    }

    /// The cell that a row of an arranged sheet comes from.
    fn cell(&self, line: u64) -> Option<CellPlace> {
        let place = usize::try_from(line).ok()?.checked_sub(FIRST_ARRANGED)?;
        self.places.as_ref()?.get(place).copied()
    }

    /// The line of the file, or row of the sheet, that a row comes from.
    #[must_use]
    pub fn row(&self, line: u64) -> u64 {
        self.cell(line).map_or(line, |cell| cell.line)
    }

    /// A row as messages name it: its line, or the cell of its first reading.
    #[must_use]
    pub fn place(&self, line: u64) -> String {
        let name = self.name();
        self.cell(line).map_or_else(|| format!("{name}:{line}"), |cell| format!("{name}:{}", cell.name()))
    }
}

/// All histories of one run.
#[derive(Clone, Debug, Default)]
pub struct Ingested {
    /// The tests, as series.
    pub series: SeriesTable,
    /// The ledger, one line per input in the order given.
    pub inputs: Vec<InputLedger>,
    /// The rejected rows, in order of input and line.
    pub rejections: Rejections,
    /// Names of windings that stand for another.
    pub names: JoinedNames,
    /// Those of them that rows had.
    pub other_names: BTreeSet<String>,
}

impl Ingested {
    /// The tests, in the order of inputs and lines.
    #[must_use]
    pub fn tests(&self) -> Vec<TestRecord> {
        self.series.by_place()
    }

    /// How a run ends that did what was asked: rejected rows change the status where the user is strict.
    #[must_use]
    pub fn status(&self, strict: bool) -> Status {
        if strict && !self.rejections.is_empty() { Status::RowsRejected } else { Status::Done }
    }
}

impl Ingested {
    /// The input that a rejected row stands in.
    #[must_use]
    pub fn input(&self, rejection: &Rejection<'_>) -> &InputLedger {
        &self.inputs[rejection.origin.input as usize]
    }

    /// A place as messages name it: `plant.csv:42`.
    #[must_use]
    pub fn place(&self, origin: Origin) -> String {
        place(&self.inputs, origin)
    }

    /// The message and the hint of each fault of a rejected row.
    #[must_use]
    pub fn reasons(&self, rejection: &Rejection<'_>) -> Vec<(String, String)> {
        let reason = |fault: &RowFault<'_>| (self.sentence(rejection.origin, fault), fault.hint.to_owned());
        rejection.faults.iter().map(reason).collect()
    }

    /// The message of one fault of a rejected row.
    #[must_use]
    pub fn sentence(&self, origin: Origin, fault: &RowFault<'_>) -> String {
        let columns = self.inputs.get(origin.input as usize).map(|ledger| &ledger.columns);
        let name = columns.map_or_else(|| fault.column.to_owned(), |columns| columns.as_written(fault.column));
        sentence(&self.place(origin), fault, name)
    }
}

/// A place as messages name it.
pub(super) fn place(inputs: &[InputLedger], origin: Origin) -> String {
    inputs.get(origin.input as usize).map_or_else(String::new, |ledger| ledger.place(origin.line))
}

fn sentence(place: &str, fault: &RowFault<'_>, column: String) -> String {
    if fault.column == WHOLE_ROW {
        return format!("{place}: the row has {}; {}", fault.value, fault.rule);
    }
    let is_reading = matches!(Column::read(fault.column), Some(Column::Reading(..)));
    let kind = if is_reading && !column.to_lowercase().contains("resistance") { "resistance " } else { "" };
    let value = if fault.value.is_empty() { Cow::from("empty") } else { shown(fault.value).into() };
    format!("{place}: {kind}{column} is {value}; {}", fault.rule)
}
