//! Tables whose cells another program holds as values: frames, and tables in the memory of other languages.
//!
//! They are read as files are, so that no rule for headers, cells or rows is another one here: a table is written as
//! delimited text, chunk by chunk while it is read, and no text of all of it is held. Only a table with line breaks in its
//! texts is written whole, because then a row takes several lines. In messages a row has the number of its line in that text:
//! the header is line 1 and the first row line 2.
//!
//! A value is written as a planner would write it into a file: a number with all its digits, a day as `2026-04-03`, a moment to
//! the second, midnight as a day without a time (many programs know no other day). Null and not-a-number are empty cells, an
//! infinite resistance is over range.

use super::delimited::Layout;
use super::document::Document;
use super::pieces::OpenText;
use super::rows::{LONGEST_QUOTED, line_ends};
use super::sheet::Tall;
use super::written::iso;
use crate::error::{Failure, shown};
use chrono::{NaiveDate, NaiveDateTime};
use std::fmt::Display;
use std::io::{self, Read, Write};
use std::sync::Arc;

/// A table of typed cells.
pub trait CellTable: Send + Sync {
    /// The names of the columns.
    fn header(&self) -> Vec<String>;

    /// The first column whose type holds no cells, and that type.
    fn unusable(&self) -> Option<(String, String)>;

    /// Its rows from the first one on, batch by batch. They are read several times.
    fn batches(&self) -> Batches;
}

/// The rows of a table, batch by batch.
pub type Batches = Box<dyn Iterator<Item = io::Result<Arc<dyn CellRows>>> + Send>;

/// Some rows of a table.
pub trait CellRows: Send + Sync {
    /// How many there are.
    fn height(&self) -> usize;

    /// Whether any cell has a line break.
    fn has_line_breaks(&self) -> bool;

    /// Writes the cells of a row, counted from 0, in the order of the header.
    fn write(&self, row: usize, out: &mut RowText);
}

/// How the text of a table is laid out.
const LAYOUT: Layout = Layout { delimiter: b',', crlf: false, bom: false };

/// So many bytes of text are made at once.
const CHUNK: usize = 1 << 16;

/// What to do about a date in a table: the options for dates in files do not apply where a column can hold dates.
const DATE_HINT: &str = "make tested_on a column of dates, or of texts such as 2026-04-03";

/// The hint of a rejected row of a table.
#[must_use]
pub fn hint<'h>(column: &str, hint: &'h str) -> &'h str {
    if column == "tested_on" && hint.contains("--date-format") { DATE_HINT } else { hint }
}

/// The row of a table, counted from 0, that messages call this line.
#[must_use]
pub const fn row_of(line: u64) -> Option<u64> {
    line.checked_sub(FIRST_LINE)
}

/// The line of the first row.
const FIRST_LINE: u64 = 2;

/// Rows on their way into text.
#[derive(Debug, Default)]
pub struct RowText {
    bytes: Vec<u8>,
    /// Whether the row that is being written has a cell already.
    begun: bool,
    decimal_comma: bool,
}

impl RowText {
    /// No row yet; numbers are to be written with a comma where the files beside the table have it.
    #[must_use]
    pub fn new(decimal_comma: bool) -> Self {
        Self { decimal_comma, ..Self::default() }
    }

    /// A cell without a value.
    pub fn missing(&mut self) {
        self.next();
    }

    /// A value that is not a cell, such as a day that no calendar has: no rule takes it for a value.
    pub fn unreadable(&mut self) {
        self.text("?");
    }

    /// A text.
    pub fn text(&mut self, text: &str) {
        self.next();
        if memchr::memchr3(b'"', b',', b'\n', text.as_bytes()).is_none() && !text.contains('\r') {
            self.bytes.extend_from_slice(text.as_bytes());
            return;
        }
        self.bytes.push(b'"');
        for (at, part) in text.split('"').enumerate() {
            if at > 0 {
                self.bytes.extend_from_slice(b"\"\"");
            }
            self.bytes.extend_from_slice(part.as_bytes());
        }
        self.bytes.push(b'"');
    }

    /// A number.
    pub fn number(&mut self, value: f64) {
        if value.is_nan() {
            return self.missing();
        }
        self.digits(ryu::Buffer::new().format(value), &value);
    }

    /// A number with the digits of a shorter form.
    pub fn single(&mut self, value: f32) {
        if value.is_nan() {
            return self.missing();
        }
        self.digits(ryu::Buffer::new().format(value), &value);
    }

    /// A number in its shortest digits, or without an exponent where these have one.
    fn digits(&mut self, shortest: &str, value: &impl Display) {
        if shortest.contains(['e', 'i']) {
            return self.decimal(&value.to_string());
        }
        self.decimal(shortest.strip_suffix(".0").unwrap_or(shortest));
    }

    /// A number as it is written with a point.
    pub fn decimal(&mut self, digits: &str) {
        if self.decimal_comma && digits.contains('.') {
            return self.text(&digits.replace('.', ","));
        }
        self.next();
        self.bytes.extend_from_slice(digits.as_bytes());
    }

    /// A whole number.
    pub fn integer(&mut self, value: i128) {
        self.next();
        // Writing into memory cannot fail.
        let _ = write!(self.bytes, "{value}");
    }

    /// A truth value, as workbooks write it.
    pub fn truth(&mut self, value: bool) {
        self.text(if value { "TRUE" } else { "FALSE" });
    }

    /// A day.
    pub fn day(&mut self, day: NaiveDate) {
        self.next();
        let _ = write!(self.bytes, "{day}");
    }

    /// A moment, to the second; midnight is a day without a time.
    pub fn moment(&mut self, at: NaiveDateTime) {
        let written = at.format("%Y-%m-%dT%H:%M:%S").to_string();
        self.text(&iso(&written));
    }

    fn next(&mut self) {
        if self.begun {
            self.bytes.push(LAYOUT.delimiter);
        }
        self.begun = true;
    }

    fn end_row(&mut self) {
        self.bytes.push(b'\n');
        self.begun = false;
    }

    fn header(&mut self, table: &dyn CellTable) {
        table.header().iter().for_each(|name| self.text(name));
        self.end_row();
    }

    fn row(&mut self, rows: &dyn CellRows, row: usize) {
        rows.write(row, self);
        self.end_row();
    }
}

/// A table as the text of a file, made as it is read.
struct TableText {
    batches: Batches,
    batch: Option<Arc<dyn CellRows>>,
    /// The row of the batch that is written next.
    row: usize,
    chunk: RowText,
    /// Up to where the chunk has been read.
    read: usize,
}

impl TableText {
    /// Writes rows until the chunk is full or no row is left.
    fn fill(&mut self) -> io::Result<()> {
        while self.chunk.bytes.len() < CHUNK {
            match &self.batch {
                Some(batch) if self.row < batch.height() => {
                    self.chunk.row(&**batch, self.row);
                    self.row += 1;
                }
                _ => match self.batches.next().transpose()? {
                    Some(next) => (self.batch, self.row) = (Some(next), 0),
                    None => break,
                },
            }
        }
        Ok(())
    }
}

impl Read for TableText {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        if self.read == self.chunk.bytes.len() {
            self.read = 0;
            self.chunk.bytes.clear();
            self.fill()?;
        }
        let length = (&self.chunk.bytes[self.read..]).read(into)?;
        self.read += length;
        Ok(length)
    }
}

/// Whether a row of the table takes several lines of text.
///
/// # Errors
///
/// A [`Failure`] when the table cannot be read.
pub(super) fn has_line_breaks(name: &str, table: &dyn CellTable) -> Result<bool, Failure> {
    if table.header().iter().any(|name| name.contains(['\n', '\r'])) {
        return Ok(true);
    }
    for batch in table.batches() {
        if batch.map_err(|error| Failure::unreadable(name, &error))?.has_line_breaks() {
            return Ok(true);
        }
    }
    Ok(false)
}

/// Refuses a table with a column that holds no cells.
///
/// # Errors
///
/// A [`Failure`] that names the column and its type.
pub(super) fn must_be_usable(name: &str, table: &dyn CellTable) -> Result<(), Failure> {
    table.unusable().map_or(Ok(()), |(column, kind)| {
        let column = shown(&column);
        Err(Failure::usage(format!(
            "{name}: column {column} is of type {kind}; a column holds texts, numbers or dates"
        ))
        .hint("cast it, or leave the column out"))
    })
}

/// The text of a table, to be read in chunks from its start, and its layout. Of a table without line breaks in its cells only.
pub(super) fn open(table: &Arc<dyn CellTable>, decimal_comma: bool) -> (OpenText<'static>, Layout) {
    let table = Arc::clone(table);
    let open = move || -> io::Result<Box<dyn Read + Send>> {
        let mut chunk = RowText::new(decimal_comma);
        chunk.header(&*table);
        Ok(Box::new(TableText { batches: table.batches(), batch: None, row: 0, chunk, read: 0 }))
    };
    (Box::new(open), LAYOUT)
}

/// The whole text of a table, with the rows that take several lines.
///
/// # Errors
///
/// A [`Failure`] when the table cannot be read, or for a row with line breaks that is too long to be one quoted row of a text.
pub(super) fn document(name: &str, table: &dyn CellTable, decimal_comma: bool) -> Result<Document, Failure> {
    let mut text = RowText::new(decimal_comma);
    let (mut tall, mut surplus, mut line): (Vec<Tall>, u64, u64) = (Vec::new(), 0, 1);
    let mut take_in = |written: &[u8]| {
        let lines = line_ends(written);
        if lines > 1 {
            if written.len() > LONGEST_QUOTED {
                let message = format!(
                    "{name}:{line}: this row has line breaks in its texts and more than {} KiB",
                    LONGEST_QUOTED >> 10
                );
                return Err(Failure::usage(message).hint("shorten its texts, or take the line breaks out of them"));
            }
            let first = line + surplus;
            surplus += lines - 1;
            tall.push(Tall { lines: (first, line + surplus), surplus });
        }
        line += 1;
        Ok(())
    };
    text.header(table);
    take_in(&text.bytes)?;
    for batch in table.batches() {
        let batch = batch.map_err(|error| Failure::unreadable(name, &error))?;
        for row in 0..batch.height() {
            let start = text.bytes.len();
            text.row(&*batch, row);
            take_in(&text.bytes[start..])?;
        }
    }
    Ok(Document::of_table(text.bytes, LAYOUT, tall))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]
mod tests {
    use super::*;
    use crate::ingest::{Reading, ReadingRules};
    use proptest::prelude::*;

    /// Rows of texts, the first of which is the header.
    struct Texts(Vec<Vec<String>>);

    impl CellTable for Texts {
        fn header(&self) -> Vec<String> {
            self.0[0].clone()
        }

        fn unusable(&self) -> Option<(String, String)> {
            None
        }

        fn batches(&self) -> Batches {
            let batches: Vec<Vec<_>> = self.0[1..].chunks(3).map(<[_]>::to_vec).collect();
            Box::new(batches.into_iter().map(|rows| Ok(Arc::new(Rows(rows)) as Arc<dyn CellRows>)))
        }
    }

    struct Rows(Vec<Vec<String>>);

    impl CellRows for Rows {
        fn height(&self) -> usize {
            self.0.len()
        }

        fn has_line_breaks(&self) -> bool {
            self.0.iter().flatten().any(|text| text.contains(['\n', '\r']))
        }

        fn write(&self, row: usize, out: &mut RowText) {
            self.0[row].iter().for_each(|text| out.text(text));
        }
    }

    fn texts(rows: &[&[&str]]) -> Arc<dyn CellTable> {
        Arc::new(Texts(rows.iter().map(|row| row.iter().map(|text| (*text).to_owned()).collect()).collect()))
    }

    proptest! {
        #[test]
        fn every_row_is_read_back_with_its_line(
            rows in prop::collection::vec(prop::collection::vec("x([a-c,;\"Ω ]|\r\n|\n|\r){0,6}", 3), 1..20),
        ) {
            let table: Arc<dyn CellTable> = Arc::new(Texts(rows.clone()));
            let document = document("t", &*table, false).unwrap();
            let mut read = document.rows();
            for (line, row) in (1..).zip(&rows) {
                let found = read.next_row().unwrap();
                prop_assert_eq!(document.line(found.line), line);
                prop_assert_eq!(&found.texts(), row);
            }
            prop_assert!(read.next_row().is_none());
            let mut made = Vec::new();
            open(&table, false).0().unwrap().read_to_end(&mut made).unwrap();
            prop_assert_eq!(made, document.text);
        }

        #[test]
        fn a_number_keeps_its_value(value in prop::num::f64::NORMAL, short in prop::num::f32::NORMAL, comma in any::<bool>()) {
            let mut out = RowText::new(comma);
            out.number(value);
            out.single(short);
            let text = String::from_utf8(out.bytes).unwrap();
            let cells = crate::ingest::rows::Rows::new(text.as_bytes(), b',', 1).next_row().unwrap().texts();
            let read = |cell: &String| cell.replace(',', ".");
            prop_assert!(!text.contains('e'));
            prop_assert_eq!(read(&cells[0]).parse::<f64>().unwrap().to_bits(), value.to_bits());
            prop_assert_eq!(read(&cells[1]).parse::<f32>().unwrap().to_bits(), short.to_bits());
        }
    }

    #[test]
    fn values_are_written_as_a_planner_would() {
        let mut out = RowText::new(false);
        out.missing();
        out.number(412.0);
        out.number(f64::NAN);
        out.number(f64::INFINITY);
        out.single(0.1);
        out.integer(-7);
        out.truth(true);
        out.day(NaiveDate::from_ymd_opt(2026, 4, 3).unwrap());
        out.moment(NaiveDate::from_ymd_opt(2026, 4, 3).unwrap().and_hms_opt(0, 0, 0).unwrap());
        out.moment(NaiveDate::from_ymd_opt(2026, 4, 3).unwrap().and_hms_milli_opt(13, 5, 7, 900).unwrap());
        out.unreadable();
        assert_eq!(
            String::from_utf8(out.bytes).unwrap(),
            ",412,,inf,0.1,-7,TRUE,2026-04-03,2026-04-03,2026-04-03T13:05:07,?"
        );
    }

    #[test]
    fn a_table_says_what_the_file_of_the_same_cells_says() {
        let header: &[&str] = &["winding", "tested_on", "r_60s", "note"];
        let rows: &[&[&str]] = &[
            header,
            &["A", "2026-01-05", "350", "two\nlines"],
            &["A", "2026-01-05", "350", "two\nlines"],
            &["", "", "", ""],
            &["A", "soon", "340", ""],
            &["B", "2026-04-05", "-3", "a \"quote\", too"],
        ];
        let rules = ReadingRules::default();
        let mut reading = Reading::new(&rules);
        reading.add_cells("t", &texts(rows)).unwrap();
        let from_table = reading.finish();
        let mut reading = Reading::new(&rules);
        // Each row on one line.
        let file = b"winding,tested_on,r_60s,note\nA,2026-01-05,350,two lines\nA,2026-01-05,350,two lines\n,,,\n\
                     A,soon,340,\nB,2026-04-05,-3,\"a \"\"quote\"\", too\"\n";
        reading.add("t", file.to_vec()).unwrap();
        let from_file = reading.finish();
        let counts = |ingested: &crate::ingest::Ingested| {
            let ledger = &ingested.inputs[0];
            (ledger.rows, ledger.accepted, ledger.repeated, ledger.rejected)
        };
        assert_eq!((counts(&from_table), counts(&from_file)), ((4, 1, 1, 2), (4, 1, 1, 2)));
        let reasons = |ingested: &crate::ingest::Ingested| -> Vec<_> {
            ingested.rejections.iter().flat_map(|row| ingested.reasons(&row)).collect()
        };
        assert_eq!(reasons(&from_table), reasons(&from_file));
        assert_eq!(
            from_table.rejections.iter().map(|row| row_of(row.origin.line)).collect::<Vec<_>>(),
            [Some(3), Some(4)]
        );
    }
}
