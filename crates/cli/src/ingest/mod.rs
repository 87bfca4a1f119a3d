//! One door for histories: files in, tests out, and a ledger in which every row of every file is found again.
//!
//! Accepted, repeated and rejected rows always add up to the rows read, per file. A file that cannot be read as a history
//! at all stops the run; a row that cannot be read never does.

pub mod aliases;
pub mod columns;
pub mod compound;
pub mod delimited;
pub mod document;
pub mod encoding;
pub mod ingested;
pub mod ledger;
pub mod mapping;
pub mod markup;
pub mod records;
pub mod register;
pub mod repeats;
pub mod source;
pub mod suggest;
pub mod timed;
pub mod unpack;
pub mod workbook;

use crate::error::Failure;
use columns::Columns;
use delimited::{Layout, Row};
use document::{Document, Header, Opening, find_header};
use encoding_rs::Encoding;
use groundwall::record::validate::{Fault, TestRules};
use groundwall::record::{Origin, TestRecord};
pub use ingested::{Ingested, InputLedger, Rejection, WHOLE_ROW};
use mapping::Mapping;
use repeats::{Repeats, Verdict};
pub use source::Input;
use std::collections::{BTreeMap, BTreeSet};
use timed::Timed;

/// How histories are to be read.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ReadingRules {
    /// Rules for the cells. The decimal comma is also read in files parted by `;`.
    pub tests: TestRules,
    /// What parts the cells, if it is not to be found from the header.
    pub delimiter: Option<u8>,
    /// The point is the decimal mark also in files parted by `;`.
    pub decimal_point: bool,
    /// The sheet of workbooks, if it is not to be found by its headers.
    pub sheet: Option<String>,
    /// The encoding of text, if it is not to be found.
    pub encoding: Option<&'static Encoding>,
    /// What the site says its headers stand for.
    pub mapping: Mapping,
}

impl ReadingRules {
    /// How inputs are opened.
    #[must_use]
    pub fn opening(&self) -> Opening<'_> {
        Opening {
            encoding: self.encoding,
            sheet: self.sheet.as_deref(),
            delimiter: self.delimiter,
            decimal_comma: self.tests.decimal_comma,
        }
    }

    /// Opens an input as a history.
    ///
    /// # Errors
    ///
    /// A [`Failure`] when it cannot be opened.
    pub fn open(&self, file: &str, bytes: Vec<u8>) -> Result<Document, Failure> {
        let known = |name: &str| !Columns::resolve(vec![name.to_owned()], &self.mapping).known.is_empty();
        Document::open(file, bytes, &self.opening(), &known, &|cells| self.fits(cells))
    }

    /// Whether the comma is the decimal mark of a file so laid out.
    #[must_use]
    pub const fn decimal_comma(&self, layout: Layout) -> bool {
        self.tests.decimal_comma || (layout.delimiter == b';' && !self.decimal_point)
    }

    /// Whether a row can be the header of a history.
    #[must_use]
    pub fn fits(&self, cells: &[String]) -> bool {
        Columns::resolve(cells.to_vec(), &self.mapping).is_complete()
    }

    /// How many cells of a row name columns.
    #[must_use]
    pub fn weight(&self, cells: &[String]) -> usize {
        Columns::resolve(cells.to_vec(), &self.mapping).known.len()
    }
}

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
    documents: Vec<Document>,
    repeats: Repeats,
    timed: Timed,
}

impl<'r> Reading<'r> {
    /// Nothing read yet.
    #[must_use]
    pub fn new(rules: &'r ReadingRules) -> Self {
        Self {
            rules,
            done: Ingested::default(),
            documents: Vec::new(),
            repeats: Repeats::default(),
            timed: Timed::default(),
        }
    }

    /// Reads the bytes of one input.
    ///
    /// # Errors
    ///
    /// A [`Failure`] when they are not a history.
    pub fn add(&mut self, file: &str, bytes: Vec<u8>) -> Result<(), Failure> {
        let sha256 = source::sha256(&bytes);
        let rules = self.rules;
        let mut document = rules.open(file, bytes)?;
        let name = document.name(file);
        let mut remarks = std::mem::take(&mut document.remarks);
        let layout = document.layout;
        let mut rows = document.rows();
        let (fits, weight) = (|cells: &[String]| rules.fits(cells), |cells: &[String]| rules.weight(cells));
        let Header { line, raw, cells, above } = find_header(&name, &document, &mut rows, &fits, &weight)?;
        let columns = Columns::find(&name, line, cells, &rules.mapping)?;
        if above > 0 {
            remarks.push(format!("{name}:{line}: the header is here; what stands above it is not read"));
        }
        remarks.extend(columns.assumed.iter().map(|(header, column)| {
            format!("{name}:{line}: column {header} is taken for {column}; [columns] in the policy file says otherwise")
        }));
        let decimal_comma = rules.decimal_comma(layout);
        let tests = TestRules { decimal_comma, workbook: document.days, ..rules.tests.clone() };
        let input = u32::try_from(self.done.inputs.len()).unwrap_or(u32::MAX);
        let mut ledger = InputLedger {
            file: file.to_owned(),
            sheet: document.sheet.clone(),
            sha256,
            rows: 0,
            accepted: 0,
            repeated: 0,
            rejected: 0,
            columns,
            header: raw,
            layout,
            remarks,
        };
        let timed = ledger.columns.is_timed();
        while let Some(row) = rows.next_row() {
            ledger.rows += 1;
            let origin = Origin { input, line: document.line(row.line) };
            match judge_row(&tests, &ledger.columns, &row, origin) {
                // Whether it contradicts another is settled when all files are read.
                Ok(test) if timed => match self.timed.add(test) {
                    true => ledger.repeated += 1,
                    false => ledger.accepted += 1,
                },
                Ok(test) => match self.repeats.judge(&self.done.tests, &test) {
                    Verdict::Repeat => ledger.repeated += 1,
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
            return Err(Failure::usage(format!("{name}: there is a header but no row below it"))
                .hint("one row per test follows the header"));
        }
        drop(rows);
        self.done.inputs.push(ledger);
        self.documents.push(document);
        Ok(())
    }

    /// Settles contradictions and gives everything back.
    #[must_use]
    pub fn finish(mut self) -> Ingested {
        let mut kept_out: Vec<(Origin, Fault)> = Vec::new();
        let mut rows_of: BTreeMap<Origin, Vec<Origin>> = BTreeMap::new();
        let in_rows = !self.timed.is_empty();
        for group in std::mem::take(&mut self.timed).into_groups() {
            if let Some(faults) = group.contradiction(|origin| self.done.place(origin)) {
                kept_out.extend(faults);
                continue;
            }
            match self.repeats.judge(&self.done.tests, &group.test) {
                Verdict::Repeat => {
                    for origin in &group.rows {
                        let ledger = &mut self.done.inputs[origin.input as usize];
                        ledger.accepted -= 1;
                        ledger.repeated += 1;
                    }
                }
                Verdict::New | Verdict::Conflict => {
                    rows_of.insert(group.test.origin, group.rows);
                    self.done.tests.push(group.test);
                }
            }
        }
        let pairs = self.repeats.contradictions();
        for (i, other) in &pairs {
            let (here, there) = (&self.done.tests[*i], &self.done.tests[*other]);
            let fault = repeats::contradiction(here, there, &self.done.place(there.origin));
            let rows = rows_of.remove(&here.origin).unwrap_or_else(|| vec![here.origin]);
            kept_out.extend(rows.into_iter().map(|origin| (origin, fault.clone())));
        }
        if !kept_out.is_empty() {
            let raws = self.raw_rows(&kept_out.iter().map(|(origin, _)| *origin).collect());
            for (origin, fault) in kept_out {
                let ledger = &mut self.done.inputs[origin.input as usize];
                ledger.accepted -= 1;
                ledger.rejected += 1;
                let raw = raws.get(&origin).cloned().unwrap_or_default();
                self.done.rejections.push(Rejection { origin, raw, faults: vec![fault] });
            }
            self.done.rejections.sort_by_key(|rejection| rejection.origin);
        }
        if !pairs.is_empty() {
            let mut i = 0;
            self.done.tests.retain(|_| {
                i += 1;
                !pairs.contains_key(&(i - 1))
            });
        }
        if in_rows {
            self.done.tests.sort_by_key(|test| test.origin);
        }
        self.done
    }

    fn raw_rows(&self, wanted: &BTreeSet<Origin>) -> BTreeMap<Origin, Box<[u8]>> {
        let mut found = BTreeMap::new();
        for (input, document) in self.documents.iter().enumerate() {
            let input = u32::try_from(input).unwrap_or(u32::MAX);
            if !wanted.iter().any(|origin| origin.input == input) {
                continue;
            }
            let mut rows = document.rows();
            while let Some(row) = rows.next_row() {
                let origin = Origin { input, line: document.line(row.line) };
                if wanted.contains(&origin) {
                    found.insert(origin, row.raw.into());
                }
            }
        }
        found
    }
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
    let wanted = columns.width;
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
                    hint: "save the file as CSV in UTF-8, or name its encoding: --encoding windows-1252".to_owned(),
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
