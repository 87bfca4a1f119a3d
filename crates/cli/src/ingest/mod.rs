//! One door for histories: files in, tests out, and a ledger in which every row of every file is found again.
//!
//! Accepted, repeated and rejected rows always add up to the rows read, per file. A file that cannot be read as a history
//! at all stops the run; a row that cannot be read never does.

pub mod columns;
pub mod delimited;
pub mod ledger;
pub mod register;
pub mod repeats;
pub mod source;

use crate::error::{Failure, Status, shown};
use columns::Columns;
use delimited::{Layout, Row, Rows};
use groundwall::record::columns::Column;
use groundwall::record::validate::{Fault, TestRules};
use groundwall::record::{Origin, TestRecord};
use repeats::{Repeats, Verdict};
use serde::Serialize;
pub use source::Input;
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};

/// How histories are to be read.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ReadingRules {
    /// Rules for the cells. The decimal comma is also read in files parted by `;`.
    pub tests: TestRules,
    /// What parts the cells, if it is not to be found from the header.
    pub delimiter: Option<u8>,
}

/// What became of the rows of one input.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct InputLedger {
    /// The path as given, or `standard input`.
    pub file: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// Rows read.
    pub rows: u64,
    /// Rows that became tests.
    pub accepted: u64,
    /// Rows that say the same as another one.
    pub repeated: u64,
    /// Rows kept out, each with its reason.
    pub rejected: u64,
    /// What the header names, and where.
    #[serde(skip)]
    pub columns: Columns,
    /// The header line, byte for byte.
    #[serde(skip)]
    pub header: Box<[u8]>,
    /// How the file is laid out.
    #[serde(skip)]
    pub layout: Layout,
}

/// A row that was kept out.
#[derive(Clone, Debug, PartialEq)]
pub struct Rejection {
    /// Where it stands.
    pub origin: Origin,
    /// The row, byte for byte, without the line ending.
    pub raw: Box<[u8]>,
    /// Everything that is wrong with it.
    pub faults: Vec<Fault>,
}

/// All histories of one run.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ingested {
    /// The tests, in order of input and line.
    pub tests: Vec<TestRecord>,
    /// The ledger, one line per input in the order given.
    pub inputs: Vec<InputLedger>,
    /// The rows kept out, in order of input and line.
    pub rejections: Vec<Rejection>,
}

impl Ingested {
    /// How a run ends that did what was asked: rejected rows change the status where the user is strict.
    #[must_use]
    pub fn status(&self, strict: bool) -> Status {
        if strict && !self.rejections.is_empty() { Status::RowsRejected } else { Status::Done }
    }
}

/// Faults that belong to a row and not to one cell are under this name.
pub const WHOLE_ROW: &str = "row";

/// Reads all inputs.
///
/// # Errors
///
/// A [`Failure`] with one problem for every input that cannot be read as a history.
pub fn ingest(inputs: &[Input], rules: &ReadingRules) -> Result<Ingested, Failure> {
    let mut reading = Reading::new(rules);
    let mut failure: Option<Failure> = None;
    for input in inputs {
        let outcome = input.read().and_then(|bytes| reading.add(&input.to_string(), bytes));
        if let Err(new) = outcome {
            failure = Some(match failure {
                Some(earlier) => earlier.and(new),
                None => new,
            });
        }
    }
    failure.map_or_else(|| Ok(reading.finish()), Err)
}

/// Histories being read. The bytes are kept until the end, when contradicting rows are looked up again.
pub struct Reading<'r> {
    rules: &'r ReadingRules,
    done: Ingested,
    bytes: Vec<Vec<u8>>,
    repeats: Repeats,
}

impl<'r> Reading<'r> {
    /// Nothing read yet.
    #[must_use]
    pub fn new(rules: &'r ReadingRules) -> Self {
        Self { rules, done: Ingested::default(), bytes: Vec::new(), repeats: Repeats::default() }
    }

    /// Reads the bytes of one input.
    ///
    /// # Errors
    ///
    /// A [`Failure`] when they are not a history.
    pub fn add(&mut self, file: &str, bytes: Vec<u8>) -> Result<(), Failure> {
        source::must_be_text(file, &bytes)?;
        let layout = Layout::detect(&bytes, self.rules.delimiter, |name| Column::read(name).is_some());
        let mut rows = Rows::new(&bytes, layout);
        let (line, header, columns) = match rows.next_row() {
            Some(Row { line, raw, cells: Some(cells) }) => (line, raw.into(), cells.iter().map(text).collect()),
            Some(Row { line, .. }) => {
                return Err(Failure::usage(format!("{file}:{line}: a quote is opened in the header and never closed"))
                    .hint("close the quote or take it out"));
            }
            None => return Err(Failure::usage(format!("{file}: the file has no header"))),
        };
        let columns = Columns::find(file, line, columns)?;
        let tests = TestRules {
            decimal_comma: self.rules.tests.decimal_comma || layout.delimiter == b';',
            ..self.rules.tests.clone()
        };
        let input = u32::try_from(self.done.inputs.len()).unwrap_or(u32::MAX);
        let mut ledger = InputLedger {
            file: file.to_owned(),
            sha256: source::sha256(&bytes),
            rows: 0,
            accepted: 0,
            repeated: 0,
            rejected: 0,
            columns,
            header,
            layout,
        };
        while let Some(row) = rows.next_row() {
            ledger.rows += 1;
            let origin = Origin { input, line: row.line };
            match judge_row(&tests, &ledger.columns, &row, origin) {
                Ok(test) => match self.repeats.judge(&self.done.tests, &test) {
                    Verdict::Repeat => ledger.repeated += 1,
                    // A conflict is settled when all files are read.
                    Verdict::New | Verdict::Conflict => {
                        ledger.accepted += 1;
                        self.done.tests.push(test);
                    }
                },
                Err(faults) => {
                    ledger.rejected += 1;
                    self.done.rejections.push(Rejection { origin, raw: row.raw.into(), faults });
                }
            }
        }
        if ledger.rows == 0 {
            return Err(Failure::usage(format!("{file}: there is a header but no row below it"))
                .hint("one row per test follows the header"));
        }
        self.done.inputs.push(ledger);
        self.bytes.push(bytes);
        Ok(())
    }

    /// Settles contradictions and gives everything back.
    #[must_use]
    pub fn finish(mut self) -> Ingested {
        let pairs = self.repeats.contradictions();
        if pairs.is_empty() {
            return self.done;
        }
        let raws = self.raw_rows(&pairs.keys().map(|i| self.done.tests[*i].origin).collect());
        for (i, other) in &pairs {
            let (here, there) = (&self.done.tests[*i], &self.done.tests[*other]);
            let faults = vec![repeats::contradiction(here, there, &self.done.place(there.origin))];
            let origin = here.origin;
            let raw = raws.get(&origin).cloned().unwrap_or_default();
            let ledger = &mut self.done.inputs[origin.input as usize];
            ledger.accepted -= 1;
            ledger.rejected += 1;
            self.done.rejections.push(Rejection { origin, raw, faults });
        }
        let mut i = 0;
        self.done.tests.retain(|_| {
            i += 1;
            !pairs.contains_key(&(i - 1))
        });
        self.done.rejections.sort_by_key(|rejection| rejection.origin);
        self.done
    }

    fn raw_rows(&self, wanted: &BTreeSet<Origin>) -> BTreeMap<Origin, Box<[u8]>> {
        let mut found = BTreeMap::new();
        for (input, (ledger, bytes)) in self.done.inputs.iter().zip(&self.bytes).enumerate() {
            let input = u32::try_from(input).unwrap_or(u32::MAX);
            if !wanted.iter().any(|origin| origin.input == input) {
                continue;
            }
            let mut rows = Rows::new(bytes, ledger.layout);
            while let Some(row) = rows.next_row() {
                let origin = Origin { input, line: row.line };
                if wanted.contains(&origin) {
                    found.insert(origin, row.raw.into());
                }
            }
        }
        found
    }
}

impl Ingested {
    /// The input that a rejected row stands in.
    #[must_use]
    pub fn input(&self, rejection: &Rejection) -> &InputLedger {
        &self.inputs[rejection.origin.input as usize]
    }

    /// A place as messages name it: `plant.csv:42`.
    #[must_use]
    pub fn place(&self, origin: Origin) -> String {
        let file = self.inputs.get(origin.input as usize).map_or("", |ledger| ledger.file.as_str());
        format!("{file}:{}", origin.line)
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

fn sentence(place: &str, fault: &Fault, column: String) -> String {
    if fault.column == WHOLE_ROW {
        return format!("{place}: the row has {}; {}", fault.value, fault.rule);
    }
    let kind = if fault.column.starts_with("r_") { "resistance " } else { "" };
    let value = if fault.value.is_empty() { Cow::from("empty") } else { shown(&fault.value).into() };
    format!("{place}: {kind}{column} is {value}; {}", fault.rule)
}

/// A row as a test, or everything that is wrong with it.
fn judge_row(
    rules: &TestRules,
    columns: &Columns,
    row: &Row<'_, '_>,
    origin: Origin,
) -> Result<TestRecord, Vec<Fault>> {
    let Some(cells) = row.cells else {
        return Err(vec![row_fault(
            "a quote that is opened and never closed".to_owned(),
            "a quoted cell ends with a quote".to_owned(),
            "close the quote or take it out",
        )]);
    };
    let wanted = columns.header.len();
    // Separators at the end of a line hold nothing and do no harm; a cell too few may stand in any place.
    if cells.len() < wanted || cells.iter().skip(wanted).any(|cell| !cell.trim_ascii().is_empty()) {
        let plural = if cells.len() == 1 { "cell" } else { "cells" };
        return Err(vec![row_fault(
            format!("{} {plural}", cells.len()),
            format!("the header has {wanted}"),
            "put text that holds the separator between quotes, or add the cells that are missing",
        )]);
    }
    let mut damaged = Vec::new();
    let texts = columns.known.iter().filter_map(|(place, column)| {
        let bytes = cells.get(*place).unwrap_or_default();
        match std::str::from_utf8(bytes) {
            Ok(text) => Some((*column, text)),
            Err(_) => {
                damaged.push(Fault {
                    column: column.to_string(),
                    value: text(bytes),
                    rule: "text is written in UTF-8".to_owned(),
                    hint: "save the file as CSV in UTF-8".to_owned(),
                });
                None
            }
        }
    });
    let outcome = rules.validate(texts, origin);
    if damaged.is_empty() {
        return outcome;
    }
    // A cell that could not be read looks empty to the rules: that they miss it does not count.
    let mut others = outcome.err().unwrap_or_default();
    let is_reading = |fault: &Fault| fault.column.starts_with("r_");
    others.retain(|other| {
        let same = |fault: &Fault| fault.column == other.column || (is_reading(fault) && is_reading(other));
        !(other.value.is_empty() && damaged.iter().any(same))
    });
    damaged.extend(others);
    Err(damaged)
}

fn row_fault(value: String, rule: String, hint: &str) -> Fault {
    Fault { column: WHOLE_ROW.to_owned(), value, rule, hint: hint.to_owned() }
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

#[cfg(test)]
#[path = "tests.rs"]
mod tests;
