//! The master history: the one file that new tests are filed into, and which must never be lost or half-written.
//!
//! [`form`] finds how the file is written and writes cells the same way, [`row`] turns a test into a row of it, [`merge`]
//! puts the rows after those that are there and proves that everything reads back. The bytes of the rows that are there are
//! never touched, except that new columns (`--extend`) add empty cells after them. Whoever owns the file locks and replaces it.

pub mod compare;
pub mod foreign;
pub mod form;
pub mod merge;
pub mod row;
#[cfg(test)]
mod tests;

use crate::error::Failure;
use crate::ingest::columns::Columns;
use crate::ingest::document::{Document, Header, find_header};
use crate::ingest::rows::Rows;
use crate::ingest::sample::{FirstRows, find_units};
use crate::ingest::{Ingested, Reading, ReadingRules, columnar, workbook};
use encoding_rs::{Encoding, UTF_8};
use form::Form;
use groundwall::record::TestRecord;
use groundwall::record::validate::TestRules;

/// A master as it stands on the disk.
#[derive(Clone, Debug)]
pub struct Master {
    /// The path as given, for messages.
    pub name: String,
    /// The bytes; none for a master that is to be created.
    pub bytes: Option<Vec<u8>>,
    /// The text in UTF-8 and its layout.
    pub document: Document,
    /// The header.
    pub header: Header,
    /// What the header names.
    pub columns: Columns,
    /// How its rows are read.
    pub rules: ReadingRules,
    /// What became of them.
    pub ingested: Ingested,
    /// What they say, in order.
    pub tests: Vec<TestRecord>,
    /// How it is written.
    pub form: Form,
}

impl Master {
    /// Reads a master.
    ///
    /// It has its own form, whatever the options say of the sheets: it is read as it would be without them, or by them
    /// where more of its rows can be read so.
    ///
    /// # Errors
    ///
    /// A [`Failure`] when it is not text that rows can be put after.
    pub fn read(name: &str, bytes: Vec<u8>, given: &ReadingRules) -> Result<Self, Failure> {
        must_be_plain_text(name, &bytes)?;
        let plain = without_options(given, &bytes);
        let read = Self::read_by(name, &bytes, plain.clone());
        if plain == *given || matches!(&read, Ok(master) if master.ingested.rejections.is_empty()) {
            return read;
        }
        match (
            read,
            Self::read_by(
                name,
                &bytes,
                ReadingRules { sheets: Vec::new(), skipped_sheets: Vec::new(), layouts: Vec::new(), ..given.clone() },
            ),
        ) {
            (Ok(plain), Ok(given)) if given.ingested.rejections.len() < plain.ingested.rejections.len() => Ok(given),
            (Err(_), Ok(given)) => Ok(given),
            (plain, _) => plain,
        }
    }

    fn read_by(name: &str, bytes: &[u8], rules: ReadingRules) -> Result<Self, Failure> {
        let document = rules.open_one(name, bytes.to_vec())?;
        let mut rows = document.rows();
        let (fits, weight) = (|cells: &[String]| rules.fits(cells), |cells: &[String]| rules.weight(cells));
        let header = find_header(name, &|line| document.line(line), &mut rows, &fits, &weight)?;
        let mut columns = Columns::find(name, header.line, header.cells.clone(), &rules.mapping)?;
        let (rest, line) = rows.rest();
        find_units(&mut columns, &rules.mapping, FirstRows::of(Rows::new(rest, document.layout.delimiter, line)));
        let has_rows = rows.next_row().is_some();
        drop(rows);
        let ingested = if has_rows { read_rows(name, bytes.to_vec(), &rules)? } else { Ingested::default() };
        let form = Form::find(name, bytes, &document, &header, &columns, &rules)?;
        Ok(Self {
            name: name.to_owned(),
            bytes: Some(bytes.to_vec()),
            document,
            header,
            columns,
            rules,
            tests: ingested.tests(),
            ingested,
            form,
        })
    }

    /// A master that is to be created: text in UTF-8 separated by commas, with decimal points and ISO dates.
    ///
    /// # Errors
    ///
    /// None in practice.
    pub fn new(name: &str, given: &ReadingRules) -> Result<Self, Failure> {
        let rules = without_options(given, &[]);
        Ok(Self {
            name: name.to_owned(),
            bytes: None,
            document: Document::empty(),
            header: Header::default(),
            columns: Columns::default(),
            rules,
            ingested: Ingested::default(),
            tests: Vec::new(),
            form: Form::default(),
        })
    }

    /// Rows that are there.
    #[must_use]
    pub fn rows(&self) -> u64 {
        self.ingested.inputs.first().map_or(0, |ledger| ledger.rows)
    }
}

/// Reads the rows of a text with a header and at least one row.
fn read_rows(name: &str, bytes: Vec<u8>, rules: &ReadingRules) -> Result<Ingested, Failure> {
    let mut reading = Reading::new(rules);
    reading.add(name, bytes)?;
    Ok(reading.finish())
}

/// The rules without what the options say of files. Only the encoding stays, for text that says nothing of its own.
fn without_options(given: &ReadingRules, bytes: &[u8]) -> ReadingRules {
    let says_its_own = Encoding::for_bom(bytes).is_some() || std::str::from_utf8(bytes).is_ok();
    ReadingRules {
        tests: TestRules { decimal_comma: false, date_format: None, latest_day: None, ..given.tests.clone() },
        delimiter: None,
        decimal_point: false,
        sheets: Vec::new(),
        skipped_sheets: Vec::new(),
        date_forms: Vec::new(),
        plain_only: given.plain_only,
        // A master is a plain table, whatever layouts the sheets beside it have.
        layouts: Vec::new(),
        as_of: given.as_of,
        encoding: given.encoding.filter(|encoding| !says_its_own && *encoding != UTF_8),
        mapping: given.mapping.clone(),
        names: given.names.clone(),
    }
}

fn must_be_plain_text(name: &str, bytes: &[u8]) -> Result<(), Failure> {
    let what = if bytes.starts_with(b"\x1f\x8b") {
        "packed with gzip"
    } else if workbook::is_workbook(bytes) {
        "a workbook"
    } else if columnar::is_columnar(bytes) {
        "a Parquet or an Arrow file"
    } else {
        return Ok(());
    };
    Err(Failure::usage(format!("{name}: the master is {what}, and rows are filed only into text"))
        .hint("save it as CSV in UTF-8 and name that file; the sheets to be filed can be of any kind"))
}
