//! Delimited text as rows with their exact place: line numbers as an editor counts them, and the bytes of each row.
//!
//! Blank lines, and rows in which every cell is blank, are no rows. A quote that is opened and never closed would swallow
//! the rows behind it as one cell: only the line that opens it is given back as damaged, and reading goes on behind it.

use super::workbook::HEADER_WITHIN;
use csv::ByteRecord;

/// How a file is laid out, so that a part of it can be written the same way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Layout {
    /// What parts the cells.
    pub delimiter: u8,
    /// Whether lines end with CR LF.
    pub crlf: bool,
    /// Whether the file starts with a byte-order mark.
    pub bom: bool,
}

/// Delimiters that are recognised.
pub const DELIMITERS: [u8; 3] = [b',', b';', b'\t'];
/// A header is not longer than this many bytes.
const LONGEST_HEADER: usize = 1 << 16;
const BOM: &[u8] = b"\xef\xbb\xbf";

impl Layout {
    /// Finds the layout from the first lines that are not blank, among which the header stands.
    ///
    /// `known` says whether a cell is a column name that is understood: the delimiter that gives most of those in one line is
    /// taken, and among equals the one that gives most cells.
    #[must_use]
    pub fn detect(bytes: &[u8], given: Option<u8>, known: impl Fn(&str) -> bool) -> Self {
        let bom = bytes.starts_with(BOM);
        let text = &bytes[if bom { BOM.len() } else { 0 }..];
        let lines = text.split(|byte| matches!(byte, b'\r' | b'\n')).filter(|line| !line.trim_ascii().is_empty());
        let first: Vec<_> = lines.take(HEADER_WITHIN).map(|line| &line[..line.len().min(LONGEST_HEADER)]).collect();
        let first: Vec<_> = first.into_iter().map(String::from_utf8_lossy).collect();
        let weight = |delimiter: &u8| {
            let cells = |line: &str| {
                let cells = line.split(char::from(*delimiter)).map(|cell| cell.trim().trim_matches('"'));
                (cells.clone().filter(|cell| known(cell)).count(), cells.count())
            };
            (first.iter().map(|line| cells(line)).max(), *delimiter == b',')
        };
        let delimiter = given.unwrap_or_else(|| DELIMITERS.into_iter().max_by_key(weight).unwrap_or(b','));
        let crlf = text.iter().position(|b| *b == b'\n').is_some_and(|at| at > 0 && text[at - 1] == b'\r');
        Self { delimiter, crlf, bom }
    }

    /// The line ending.
    #[must_use]
    pub const fn line_end(self) -> &'static str {
        if self.crlf { "\r\n" } else { "\n" }
    }
}

/// One row as it stands in the file.
#[derive(Clone, Copy, Debug)]
pub struct Row<'a, 'r> {
    /// Line on which the row starts, from one.
    pub line: u64,
    /// Its bytes without the line ending.
    pub raw: &'a [u8],
    /// Its cells; `None` where a quote is opened and never closed.
    pub cells: Option<&'r ByteRecord>,
}

/// The rows of one text.
pub struct Rows<'a> {
    bytes: &'a [u8],
    delimiter: u8,
    /// Where the reader below started.
    base: usize,
    reader: csv::Reader<&'a [u8]>,
    record: ByteRecord,
    /// Up to where lines have been counted, and the number of the line there.
    counted: usize,
    line: u64,
    /// Bytes that may still be read a second time behind open quotes.
    patience: usize,
}

impl<'a> Rows<'a> {
    /// Starts at the first row; the header is the first row like any other.
    #[must_use]
    pub fn new(bytes: &'a [u8], layout: Layout) -> Self {
        let bytes = bytes.strip_prefix(BOM).unwrap_or(bytes);
        Self {
            bytes,
            delimiter: layout.delimiter,
            base: 0,
            reader: reader(bytes, layout.delimiter),
            record: ByteRecord::new(),
            counted: 0,
            line: 1,
            patience: bytes.len().saturating_mul(8),
        }
    }

    /// The next row that holds anything.
    pub fn next_row(&mut self) -> Option<Row<'a, '_>> {
        loop {
            let start = self.position();
            // Reading from memory cannot fail, and rows of any length are let through: no error is possible.
            if start >= self.bytes.len() || !self.reader.read_byte_record(&mut self.record).unwrap_or(false) {
                return None;
            }
            let end = self.position();
            let blank = self.bytes[start..end].iter().take_while(|byte| is_line_end(**byte)).count();
            let start = start + blank;
            let line = self.line_at(start);
            let mut raw = trim_line_end(&self.bytes[start..end]);
            let may_swallow = end == self.bytes.len() || raw.iter().any(|byte| is_line_end(*byte));
            if may_swallow && quote_stays_open(raw, self.delimiter) {
                let length = raw.iter().position(|byte| is_line_end(*byte)).unwrap_or(raw.len());
                raw = &raw[..length];
                self.resume_behind(start + length);
                return Some(Row { line, raw, cells: None });
            }
            if self.record.iter().any(|cell| !cell.trim_ascii().is_empty()) {
                return Some(Row { line, raw, cells: Some(&self.record) });
            }
        }
    }

    fn position(&self) -> usize {
        let read = usize::try_from(self.reader.position().byte()).unwrap_or(usize::MAX);
        self.base.saturating_add(read).min(self.bytes.len())
    }

    fn line_at(&mut self, place: usize) -> u64 {
        self.line += line_ends(&self.bytes[self.counted..place], self.bytes.get(place).copied());
        self.counted = place;
        self.line
    }

    fn resume_behind(&mut self, place: usize) {
        self.base = place;
        let rest = &self.bytes[place..];
        match self.patience.checked_sub(rest.len()) {
            Some(left) => {
                self.patience = left;
                self.reader = reader(rest, self.delimiter);
            }
            None => {
                // Quote after quote stays open: the rest is read line by line, where none can swallow the next line.
                self.reader = csv::ReaderBuilder::new()
                    .has_headers(false)
                    .flexible(true)
                    .delimiter(self.delimiter)
                    .quoting(false)
                    .from_reader(rest);
            }
        }
    }
}

fn reader(bytes: &[u8], delimiter: u8) -> csv::Reader<&[u8]> {
    csv::ReaderBuilder::new().has_headers(false).flexible(true).delimiter(delimiter).from_reader(bytes)
}

const fn is_line_end(byte: u8) -> bool {
    matches!(byte, b'\r' | b'\n')
}

fn trim_line_end(raw: &[u8]) -> &[u8] {
    let kept = raw.iter().rposition(|byte| !is_line_end(*byte)).map_or(0, |last| last + 1);
    &raw[..kept]
}

/// Line endings in a part of a text: LF, CR LF, or a CR alone as old systems wrote it.
fn line_ends(part: &[u8], following: Option<u8>) -> u64 {
    let followers = part.iter().skip(1).copied().map(Some).chain([following]);
    part.iter()
        .zip(followers)
        .filter(|(byte, next)| **byte == b'\n' || (**byte == b'\r' && *next != Some(b'\n')))
        .count() as u64
}

/// Whether a quote opened at the start of a cell is still open at the end, or is ended on a later line in the middle of a
/// text: then a stray quote there has put an end to it, and whole rows lie between.
fn quote_stays_open(raw: &[u8], delimiter: u8) -> bool {
    enum At {
        Start,
        Plain,
        Quoted,
        /// Behind a quote inside a quoted cell: its end, or the first of two that stand for one.
        Quote,
    }
    let (mut at, mut lines_inside) = (At::Start, false);
    for byte in raw {
        at = match (at, *byte) {
            (At::Start, b'"') => {
                lines_inside = false;
                At::Quoted
            }
            (At::Quoted, b'"') => At::Quote,
            (At::Quote, b'"') => At::Quoted,
            (At::Quoted, byte) => {
                lines_inside |= is_line_end(byte);
                At::Quoted
            }
            (_, byte) if byte == delimiter || is_line_end(byte) => At::Start,
            (At::Quote, _) if lines_inside => return true,
            _ => At::Plain,
        };
    }
    matches!(at, At::Quoted)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(text: &str, delimiter: u8) -> Vec<(u64, String, Option<usize>)> {
        let mut rows = Rows::new(text.as_bytes(), Layout { delimiter, crlf: false, bom: false });
        let mut seen = Vec::new();
        while let Some(row) = rows.next_row() {
            let raw = String::from_utf8_lossy(row.raw).into_owned();
            seen.push((row.line, raw, row.cells.map(ByteRecord::len)));
        }
        seen
    }

    #[test]
    fn the_delimiter_is_the_one_that_names_columns() {
        let known = |cell: &str| matches!(cell, "winding" | "tested_on");
        for (text, delimiter) in [
            ("winding,tested_on", b','),
            ("winding;\"tested_on\";a,b,c,d", b';'),
            ("\u{feff}\n\nwinding\ttested_on", b'\t'),
            ("a;b;c", b';'),
            ("winding", b','),
        ] {
            assert_eq!(Layout::detect(text.as_bytes(), None, known).delimiter, delimiter, "{text}");
        }
        assert_eq!(Layout::detect(b"a,b", Some(b';'), known).delimiter, b';');
        assert!(Layout::detect(b"\xef\xbb\xbfa\r\nb", None, known).crlf);
    }

    #[test]
    fn lines_are_counted_as_an_editor_does() {
        for end in ["\n", "\r\n", "\r"] {
            let text = ["", "h,i", "", "a,\"b", "c\"", ",", "  ", "d,e", ""].join(end);
            let expected = [
                (2, "h,i".to_owned(), Some(2)),
                (4, format!("a,\"b{end}c\""), Some(2)),
                (8, "d,e".to_owned(), Some(2)),
            ];
            assert_eq!(rows(&text, b','), expected, "{end:?}");
        }
    }

    #[test]
    fn an_open_quote_costs_one_line_only() {
        let seen = rows("h,i\na,\"b\nc,d\n\ne,5\" pipe\n", b',');
        let expected = [
            (1, "h,i".to_owned(), Some(2)),
            (2, "a,\"b".to_owned(), None),
            (3, "c,d".to_owned(), Some(2)),
            (5, "e,5\" pipe".to_owned(), Some(2)),
        ];
        assert_eq!(seen, expected);
    }

    #[test]
    fn closed_quotes_are_closed() {
        for (raw, open) in [
            ("\"a\"\"b\"", false),
            ("a\"b", false),
            ("\"\"", false),
            ("\"", true),
            ("\"\"\"", true),
            ("a,\"", true),
            ("a\",\"\"\",", true),
            ("\"a\"x\",b", false),
            ("\"a\nb\",c", false),
            ("\"a\nb,5\" pipe", true),
        ] {
            assert_eq!(quote_stays_open(raw.as_bytes(), b','), open, "{raw}");
        }
    }

    #[test]
    fn quotes_that_never_close_do_not_cost_the_square_of_the_file() {
        let text = "a\",\"\"\",\n".repeat(20_000);
        let seen = rows(&text, b',');
        assert_eq!(seen.len(), 20_000);
    }
}
