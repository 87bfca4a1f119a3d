//! Rows of delimited text with their exact place: line numbers as an editor counts them, and the bytes of each row.
//!
//! Blank lines, and rows in which every cell is blank, are no rows. A quote that is opened and never closed would swallow
//! the rows behind it as one cell: only the line that opens it is given back as damaged, and reading goes on behind it.
//! Where a row begins therefore depends on nothing but the row before it, and text can be [cut] at any of them.

use csv_core::{ReadRecordResult, Reader};
use memchr::{memchr, memchr_iter, memchr2};
use std::ops::Range;

/// A quoted cell that has not ended so many bytes behind the start of its row was never meant to be closed.
pub const LONGEST_QUOTED: usize = 1 << 16;

/// So many bytes are searched for a quote at once.
const SEARCHED_AT_ONCE: usize = 1 << 14;

/// The cells of one row, as read: without quotes around them.
#[derive(Clone, Copy, Debug)]
pub struct Cells<'r> {
    bytes: &'r [u8],
    /// The same as text, where that is known already.
    text: Option<&'r str>,
    /// Where each cell starts, and where one behind the last would; how many bytes part a cell from the next.
    starts: &'r [usize],
    gap: usize,
}

impl<'r> Cells<'r> {
    /// How many there are.
    #[must_use]
    pub const fn len(self) -> usize {
        self.starts.len().saturating_sub(1)
    }

    /// Whether there is none.
    #[must_use]
    pub const fn is_empty(self) -> bool {
        self.len() == 0
    }

    /// One of them.
    #[must_use]
    pub fn get(self, place: usize) -> Option<&'r [u8]> {
        self.bytes.get(self.span(place)?)
    }

    /// One of them as text, an absent one as empty.
    ///
    /// # Errors
    ///
    /// The bytes of a cell that is not UTF-8.
    pub fn text(self, place: usize) -> Result<&'r str, &'r [u8]> {
        let Some(span) = self.span(place) else { return Ok("") };
        // Cells of a text are parted by bytes that are characters, so each of them is a text.
        if let Some(cell) = self.text.and_then(|text| text.get(span.clone())) {
            return Ok(cell);
        }
        let bytes = self.bytes.get(span).unwrap_or_default();
        std::str::from_utf8(bytes).map_err(|_| bytes)
    }

    fn span(self, place: usize) -> Option<Range<usize>> {
        match self.starts.get(place..)? {
            [start, next, ..] => Some(*start..*next - self.gap),
            _ => None,
        }
    }

    /// Whether nothing stands in any of them.
    fn are_blank(self) -> bool {
        // Most rows begin with a name.
        !self.bytes.first().is_some_and(|byte| byte.is_ascii_alphanumeric())
            && self.iter().all(|cell| cell.trim_ascii().is_empty())
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
    /// The same as text, where that is known already.
    text: Option<&'a str>,
    delimiter: u8,
    /// Up to where rows have been given, and the number of the line there.
    place: usize,
    line: u64,
    /// From the place to here there is no quote.
    without_quote: usize,
    reader: Reader,
    /// Cells of a row with quotes.
    unquoted: Vec<u8>,
    starts: Vec<usize>,
}

impl<'a> Rows<'a> {
    /// Starts at the first byte, which stands on this line; the header is a row like any other.
    #[must_use]
    pub fn new(bytes: &'a [u8], delimiter: u8, line: u64) -> Self {
        let reader = csv_core::ReaderBuilder::new().delimiter(delimiter).build();
        let (unquoted, starts) = (Vec::new(), Vec::new());
        Self { bytes, text: None, delimiter, place: 0, line, without_quote: 0, reader, unquoted, starts }
    }

    /// The rows of a text, of which no cell need be asked again whether it is UTF-8.
    #[must_use]
    pub fn of_text(text: &'a str, delimiter: u8, line: u64) -> Self {
        Self { text: Some(text), ..Self::new(text.as_bytes(), delimiter, line) }
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
            let (line, start) = (self.line, self.place);
            let first = &rest[..end_of_line(rest)];
            let quoted = self.has_quote_before(start + first.len());
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
            if !self.cells(quoted, start).are_blank() {
                return Some(Row { line, raw, cells: Some(self.cells(quoted, start)) });
            }
        }
    }

    /// The cells of the row that was just parted, which starts here and ends at the place.
    fn cells(&self, quoted: bool, start: usize) -> Cells<'_> {
        if quoted {
            return Cells { bytes: &self.unquoted, text: None, starts: &self.starts, gap: 0 };
        }
        let text = self.text.and_then(|text| text.get(start..self.place));
        Cells { bytes: &self.bytes[start..self.place], text, starts: &self.starts, gap: 1 }
    }

    /// Whether there is a quote between the place and `end`. Where quotes are rare, one search serves many rows.
    fn has_quote_before(&mut self, end: usize) -> bool {
        if end <= self.without_quote {
            return false;
        }
        let from = self.without_quote.max(self.place);
        let to = end.max(from + SEARCHED_AT_ONCE).min(self.bytes.len());
        self.without_quote = memchr(b'"', &self.bytes[from..to]).map_or(to, |at| from + at);
        self.without_quote < end
    }

    /// What is left, and the number of the line on which it begins.
    #[must_use]
    pub fn rest(&self) -> (&'a [u8], u64) {
        (&self.bytes[self.place..], self.line)
    }

    /// Notes where the cells of a row without quotes start, eight bytes at a time.
    fn split(&mut self, raw: &[u8]) {
        const LOW_BITS: u64 = u64::from_ne_bytes([0x7f; 8]);
        let delimiters = u64::from_ne_bytes([self.delimiter; 8]);
        self.starts.clear();
        self.starts.push(0);
        let (eights, rest) = raw.as_chunks::<8>();
        for (behind_first, eight) in (1..).step_by(8).zip(eights) {
            // Zero in every byte that is a delimiter; then a single bit in those and none in the others.
            let other = u64::from_le_bytes(*eight) ^ delimiters;
            let mut found = !(((other & LOW_BITS) + LOW_BITS) | other | LOW_BITS);
            while found != 0 {
                self.starts.push(behind_first + found.trailing_zeros() as usize / 8);
                found &= found - 1;
            }
        }
        let behind_first = raw.len() - rest.len() + 1;
        self.starts.extend((behind_first..).zip(rest).filter(|(_, byte)| **byte == self.delimiter).map(|(at, _)| at));
        self.starts.push(raw.len() + 1);
    }

    fn unquote(&mut self, raw: &[u8]) {
        // No cell is longer than its text, and there are fewer cells than bytes.
        self.unquoted.resize(raw.len(), 0);
        self.starts.clear();
        self.starts.resize(raw.len() + 2, 0);
        // Where a cell ends the next one starts.
        let ends = &mut self.starts[1..];
        self.reader.reset();
        let (result, _, mut written, mut cells) = self.reader.read_record(raw, &mut self.unquoted, ends);
        if result == ReadRecordResult::InputEmpty {
            let (_, _, more, last) = self.reader.read_record(&[], &mut self.unquoted[written..], &mut ends[cells..]);
            written += more;
            cells += last;
        }
        self.unquoted.truncate(written);
        self.starts.truncate(cells + 1);
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
    let (mut blank, mut lines) = (0, 0);
    while let Some(byte) = text.get(blank).filter(|byte| is_line_end(**byte)) {
        blank += 1;
        lines += u64::from(*byte == b'\n' || text.get(blank) != Some(&b'\n'));
    }
    (blank, lines)
}

/// Line endings in a text: LF, CR LF, or a CR alone as old systems wrote it. A CR at the very end counts.
#[must_use]
pub fn line_ends(text: &[u8]) -> u64 {
    let count = |byte| memchr_iter(byte, text).count();
    let (feeds, returns) = (count(b'\n'), count(b'\r'));
    let pairs = if returns == 0 { 0 } else { pairs(text) };
    (feeds + returns - pairs) as u64
}

/// How often an LF follows a CR.
fn pairs(text: &[u8]) -> usize {
    // So many are counted at once that a byte holds the count.
    const AT_ONCE: usize = 255;
    let is_pair = |(byte, next): (&u8, &u8)| u8::from(*byte == b'\r') & u8::from(*next == b'\n');
    let chunks = text.chunks(AT_ONCE).zip(text.get(1..).unwrap_or_default().chunks(AT_ONCE));
    chunks.map(|(bytes, nexts)| usize::from(bytes.iter().zip(nexts).map(is_pair).sum::<u8>())).sum()
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
