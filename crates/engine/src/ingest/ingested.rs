//! What came of reading: tests, the ledger of the inputs, and the rows kept out with their reasons.

use super::columns::Columns;
use super::delimited::Layout;
use super::layout::CellPlace;
use crate::error::{Status, shown};
use groundwall::record::validate::Fault;
use groundwall::record::{Origin, TestRecord};
use groundwall::table::SeriesTable;
use serde::Serialize;
use std::borrow::Cow;
use std::collections::HashSet;
use std::ops::Deref;
use std::sync::Arc;

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

/// A row that was kept out.
#[derive(Clone, Debug, PartialEq)]
pub struct Rejection {
    /// Where it stands.
    pub origin: Origin,
    /// The row, byte for byte, without the line ending.
    pub raw: Box<[u8]>,
    /// Everything that is wrong with it.
    pub faults: Box<[RowFault]>,
}

/// One thing that is wrong with a rejected row. A file can have a million rows that break one rule: what they share is held
/// once.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RowFault {
    /// The text found.
    pub value: Box<str>,
    reason: Arc<Reason>,
}

impl Deref for RowFault {
    type Target = Reason;

    fn deref(&self) -> &Reason {
        &self.reason
    }
}

/// What faults of many rows share.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Reason {
    /// The column, under the name that is understood.
    pub column: String,
    /// The rule it breaks.
    pub rule: String,
    /// What to do.
    pub hint: String,
}

/// The reasons of the faults so far.
#[derive(Debug, Default)]
pub(super) struct Reasons(HashSet<Arc<Reason>>);

impl Reasons {
    /// The same faults, with reasons that were found before shared.
    pub(super) fn share(&mut self, faults: Vec<Fault>) -> Box<[RowFault]> {
        faults.into_iter().map(|fault| self.share_one(fault)).collect()
    }

    fn share_one(&mut self, Fault { column, value, rule, hint }: Fault) -> RowFault {
        let reason = Reason { column, rule, hint };
        let reason = match self.0.get(&reason) {
            Some(known) => Arc::clone(known),
            None => {
                let new = Arc::new(reason);
                self.0.insert(Arc::clone(&new));
                new
            }
        };
        RowFault { value: value.into(), reason }
    }
}

/// All histories of one run.
#[derive(Clone, Debug, Default)]
pub struct Ingested {
    /// The tests, as series.
    pub series: SeriesTable,
    /// The ledger, one line per input in the order given.
    pub inputs: Vec<InputLedger>,
    /// The rows kept out, in order of input and line.
    pub rejections: Vec<Rejection>,
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

/// Faults that belong to a row and not to one cell are under this name.
pub const WHOLE_ROW: &str = "row";

impl Ingested {
    /// The input that a rejected row stands in.
    #[must_use]
    pub fn input(&self, rejection: &Rejection) -> &InputLedger {
        &self.inputs[rejection.origin.input as usize]
    }

    /// A place as messages name it: `plant.csv:42`.
    #[must_use]
    pub fn place(&self, origin: Origin) -> String {
        place(&self.inputs, origin)
    }

    /// The message and the hint of each fault of a rejected row.
    #[must_use]
    pub fn reasons(&self, rejection: &Rejection) -> Vec<(String, String)> {
        let place = self.place(rejection.origin);
        let columns = self.inputs.get(rejection.origin.input as usize).map(|ledger| &ledger.columns);
        let name = |column: &str| columns.map_or_else(|| column.to_owned(), |columns| columns.as_written(column));
        rejection
            .faults
            .iter()
            .map(|fault| (sentence(&place, fault, name(&fault.column)), fault.hint.clone()))
            .collect()
    }
}

/// A place as messages name it.
pub(super) fn place(inputs: &[InputLedger], origin: Origin) -> String {
    inputs.get(origin.input as usize).map_or_else(String::new, |ledger| ledger.place(origin.line))
}

fn sentence(place: &str, fault: &RowFault, column: String) -> String {
    if fault.column == WHOLE_ROW {
        return format!("{place}: the row has {}; {}", fault.value, fault.rule);
    }
    let kind = if fault.column.starts_with("r_") && !column.to_lowercase().contains("resistance") {
        "resistance "
    } else {
        ""
    };
    let value = if fault.value.is_empty() { Cow::from("empty") } else { shown(&fault.value).into() };
    format!("{place}: {kind}{column} is {value}; {}", fault.rule)
}
