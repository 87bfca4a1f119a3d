//! Rows of delimited text with their exact place: line numbers as an editor counts them, and the bytes of each row.
//!
//! Blank lines, and rows in which every cell is blank, are no rows. A quote that is opened and never closed would swallow
//! the rows behind it as one cell: only the line that opens it is given back as damaged, and reading goes on behind it.
//! Where a row begins therefore depends on nothing but the row before it, and text can be [cut] at any of them.

use csv_core::{ReadRecordResult, Reader};
use memchr::{memchr, memchr2};

/// A quoted cell that has not ended so many bytes behind the start of its row was never meant to be closed.
pub const LONGEST_QUOTED: usize = 1 << 16;

/// The cells of one row, as read: without quotes around them.
#[derive(Clone, Copy, Debug)]
pub struct Cells<'r> {
    bytes: &'r [u8],
    /// Where each cell ends, and how many bytes of what parts it from the next follow.
    ends: &'r [usize],
    gap: usize,
}

impl<'r> Cells<'r> {
    /// How many there are.
    #[must_use]
    pub const fn len(self) -> usize {
        self.ends.len()
    }

    /// Whether there is none.
    #[must_use]
    pub const fn is_empty(self) -> bool {
        self.ends.is_empty()
    }

    /// One of them.
    #[must_use]
    pub fn get(self, place: usize) -> Option<&'r [u8]> {
        let end = *self.ends.get(place)?;
        let start = place.checked_sub(1).and_then(|before| self.ends.get(before)).map_or(0, |end| end + self.gap);
        self.bytes.get(start..end)
    }

    /// All of them.
    pub fn iter(self) -> impl Iterator<Item = &'r [u8]> {
        (0..self.len()).filter_map(move |place| self.get(place))
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
    pub cells: Option<Cells<'r>>,
}

/// The rows of one text.
pub struct Rows<'a> {
    bytes: &'a [u8],
    delimiter: u8,
    /// Up to where rows have been given, and the number of the line there.
    place: usize,
    line: u64,
    reader: Reader,
    /// Cells of a row with quotes.
    unquoted: Vec<u8>,
    ends: Vec<usize>,
}

impl<'a> Rows<'a> {
    /// Starts at the first byte, which stands on this line; the header is a row like any other.
    #[must_use]
    pub fn new(bytes: &'a [u8], delimiter: u8, line: u64) -> Self {
        let reader = csv_core::ReaderBuilder::new().delimiter(delimiter).build();
        Self { bytes, delimiter, place: 0, line, reader, unquoted: Vec::new(), ends: Vec::new() }
    }

    /// The next row that holds anything.
    pub fn next_row(&mut self) -> Option<Row<'a, '_>> {
        loop {
            let (blank, lines) = blank_lines(&self.bytes[self.place..]);
            self.place += blank;
            self.line += lines;
            let rest = &self.bytes[self.place..];
            if rest.is_empty() {
                return None;
            }
            let line = self.line;
            let first = &rest[..end_of_line(rest)];
            let quoted = memchr(b'"', first).is_some();
            let end = if quoted { end_of_quoted(rest, self.delimiter) } else { Some(first.len()) };
            let Some(end) = end else {
                self.place += first.len();
                return Some(Row { line, raw: first, cells: None });
            };
            let raw = &rest[..end];
            self.place += end;
            if quoted {
                self.line += line_ends(raw);
                self.unquote(raw);
            } else {
                self.split(raw);
            }
            let cells = if quoted {
                Cells { bytes: &self.unquoted, ends: &self.ends, gap: 0 }
            } else {
                Cells { bytes: raw, ends: &self.ends, gap: 1 }
            };
            if cells.iter().any(|cell| !cell.trim_ascii().is_empty()) {
                // Taken anew, because a row that is given back must not be borrowed in the next round.
                let (bytes, gap) = if quoted { (&*self.unquoted, 0) } else { (raw, 1) };
                return Some(Row { line, raw, cells: Some(Cells { bytes, ends: &self.ends, gap }) });
            }
        }
    }

    /// What is left, and the number of the line on which it begins.
    #[must_use]
    pub fn rest(&self) -> (&'a [u8], u64) {
        (&self.bytes[self.place..], self.line)
    }

    fn split(&mut self, raw: &[u8]) {
        self.ends.clear();
        self.ends.extend(raw.iter().enumerate().filter(|(_, byte)| **byte == self.delimiter).map(|(at, _)| at));
        self.ends.push(raw.len());
    }

    fn unquote(&mut self, raw: &[u8]) {
        // No cell is longer than its text, and there are fewer cells than bytes.
        self.unquoted.resize(raw.len(), 0);
        self.ends.resize(raw.len() + 1, 0);
        self.reader.reset();
        let (result, _, mut written, mut cells) = self.reader.read_record(raw, &mut self.unquoted, &mut self.ends);
        if result == ReadRecordResult::InputEmpty {
            let (_, _, more, last) =
                self.reader.read_record(&[], &mut self.unquoted[written..], &mut self.ends[cells..]);
            written += more;
            cells += last;
        }
        self.unquoted.truncate(written);
        self.ends.truncate(cells);
    }
}

/// Where text may be cut: the start of the first row at or behind `least`, if it is certain. It is not where what follows could
/// still belong to the row before, which the end of the text settles if this is the `last` of it.
#[must_use]
pub fn cut(text: &[u8], delimiter: u8, least: usize, last: bool) -> Option<usize> {
    if text.len() < least && !last {
        return None;
    }
    let mut place = 0;
    while place < least.min(text.len()) {
        let rest = &text[place..];
        let within = &rest[..rest.len().min(least - place)];
        let quote = memchr(b'"', within);
        // Rows without a quote are lines.
        let plain = &within[..quote.unwrap_or(within.len())];
        let line_start = plain.iter().rposition(|byte| is_line_end(*byte)).map_or(0, |at| at + 1);
        let row = &rest[line_start..];
        let end = end_of_line(row);
        let end = match memchr(b'"', &row[..end]).map(|_| end_of_quoted(row, delimiter)) {
            Some(Some(end)) => end,
            // Nobody knows yet whether the quote is closed.
            Some(None) if !last && row.len() <= LONGEST_QUOTED => return None,
            Some(None) | None => end,
        };
        if line_start + end == rest.len() && !last {
            return None;
        }
        let (blank, _) = blank_lines(&row[end..]);
        if line_start + end + blank == rest.len() && !last {
            // A CR at the end may be half of a line ending.
            return None;
        }
        place += line_start + end + blank;
    }
    Some(place)
}

/// How many bytes of line endings a text begins with, and how many lines they end.
fn blank_lines(text: &[u8]) -> (usize, u64) {
    let blank = text.iter().take_while(|byte| is_line_end(**byte)).count();
    (blank, line_ends(&text[..blank]))
}

/// Line endings in a text: LF, CR LF, or a CR alone as old systems wrote it. A CR at the very end counts.
#[must_use]
pub fn line_ends(text: &[u8]) -> u64 {
    let followers = text.iter().skip(1).copied().map(Some).chain([None]);
    let ends =
        text.iter().zip(followers).filter(|(byte, next)| **byte == b'\n' || (**byte == b'\r' && *next != Some(b'\n')));
    ends.count() as u64
}

const fn is_line_end(byte: u8) -> bool {
    matches!(byte, b'\r' | b'\n')
}

fn end_of_line(text: &[u8]) -> usize {
    memchr2(b'\r', b'\n', text).unwrap_or(text.len())
}

/// Where a row with quotes ends. `None` where a quote opened at the start of a cell is still open at the end or
/// [so far away](LONGEST_QUOTED), or is ended on a later line in the middle of a text: then a stray quote there has put an
/// end to it, and whole rows lie between.
fn end_of_quoted(text: &[u8], delimiter: u8) -> Option<usize> {
    enum At {
        Start,
        Plain,
        Quoted,
        /// Behind a quote inside a quoted cell: its end, or the first of two that stand for one.
        Quote,
    }
    let (mut at, mut lines_inside) = (At::Start, false);
    for (place, byte) in text.iter().enumerate() {
        at = match (at, *byte) {
            (At::Start, b'"') => {
                lines_inside = false;
                At::Quoted
            }
            (At::Quoted, b'"') => At::Quote,
            (At::Quote, b'"') => At::Quoted,
            (At::Quoted, byte) => {
                lines_inside |= is_line_end(byte);
                if lines_inside && place > LONGEST_QUOTED {
                    return None;
                }
                At::Quoted
            }
            (_, byte) if is_line_end(byte) => return Some(place),
            (_, byte) if byte == delimiter => At::Start,
            (At::Quote, _) if lines_inside => return None,
            _ => At::Plain,
        };
    }
    (!matches!(at, At::Quoted)).then_some(text.len())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn rows(text: &str, delimiter: u8) -> Vec<(u64, String, Option<usize>)> {
        let mut rows = Rows::new(text.as_bytes(), delimiter, 1);
        let mut seen = Vec::new();
        while let Some(row) = rows.next_row() {
            let raw = String::from_utf8_lossy(row.raw).into_owned();
            seen.push((row.line, raw, row.cells.map(Cells::len)));
        }
        seen
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
            assert_eq!(end_of_quoted(raw.as_bytes(), b',').is_none(), open, "{raw}");
        }
    }

    #[test]
    fn quotes_that_never_close_do_not_cost_the_square_of_the_file() {
        let text = "a\",\"\"\",\n".repeat(20_000);
        let seen = rows(&text, b',');
        assert_eq!(seen.len(), 20_000);
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 2000, ..ProptestConfig::default() })]

        #[test]
        fn wherever_text_is_cut_the_rows_are_the_same(
            text in "([a-c\\r\\n;]|\"|\"\"|;\"|\";|\\r\\n){0,60}",
            least in prop::collection::vec(0usize..20, 1..20),
        ) {
            let whole = rows(&text, b';');
            let (mut pieces, mut rest, mut line) = (Vec::new(), text.as_bytes(), 1);
            for least in least.into_iter().cycle().take(100) {
                let at = cut(rest, b';', least.max(1), true).expect("the end is known");
                let mut part = Rows::new(&rest[..at], b';', line);
                while let Some(row) = part.next_row() {
                    let raw = String::from_utf8_lossy(row.raw).into_owned();
                    pieces.push((row.line, raw, row.cells.map(Cells::len)));
                }
                line += line_ends(&rest[..at]);
                rest = &rest[at..];
            }
            prop_assert!(rest.is_empty());
            prop_assert_eq!(pieces, whole);
        }

        #[test]
        fn where_it_is_certain_before_the_end_more_text_changes_nothing(
            text in "([a-c\\r\\n;]|\"|;\"|\";|\\r\\n){0,60}",
            more in "([a-c\\r\\n;]|\"|;\"|\";|\\r\\n){0,60}",
            least in 1usize..40,
        ) {
            if let Some(at) = cut(text.as_bytes(), b';', least, false) {
                prop_assert_eq!(cut(format!("{text}{more}").as_bytes(), b';', least, true), Some(at));
            }
        }

        #[test]
        fn cells_are_those_of_the_csv_library(text in "([a-c;]|\"|\"\"|;\"|\";){1,30}") {
            let mut rows = Rows::new(text.as_bytes(), b';', 1);
            if let Some(Row { cells: Some(cells), .. }) = rows.next_row() {
                let mut reader = csv::ReaderBuilder::new()
                    .has_headers(false)
                    .delimiter(b';')
                    .from_reader(text.as_bytes());
                let record = reader.byte_records().next().expect("a record").expect("a record");
                prop_assert_eq!(cells.iter().collect::<Vec<_>>(), record.iter().collect::<Vec<_>>());
            }
        }
    }
}
