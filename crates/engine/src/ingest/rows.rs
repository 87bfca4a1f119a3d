//! Rows of delimited text with their exact place: line numbers as an editor counts them, and the bytes of each row.
//!
//! Blank lines, and rows in which every cell is blank, are not rows. A quote that is opened and never closed would swallow
//! the rows after it as one cell: only the line that opens it is given back as damaged, and reading goes on after it.
//! Where a row begins therefore depends on nothing but the row before it, and text can be [cut] at any of them.

use super::delimited::BOM;
use csv_core::{ReadRecordResult, Reader};
use memchr::{memchr, memchr_iter, memchr2};
use std::ops::Range;

/// A quoted cell that has not ended so many bytes behind the start of its row was never meant to be closed.
pub const LONGEST_QUOTED: usize = 1 << 16;

/// The most cells of a row, as many as a worksheet has columns. Each cell costs memory.
pub const MOST_CELLS: usize = 1 << 14;

/// So many bytes are searched for a quote at once.
const SEARCHED_AT_ONCE: usize = 1 << 14;

/// The cells of one row, as read: without quotes around them.
#[derive(Clone, Copy, Debug)]
pub struct Cells<'r> {
    bytes: &'r [u8],
    /// The same as text, where that is known already.
    text: Option<&'r str>,
    /// Where each cell starts and ends.
    spans: &'r [(usize, usize)],
}

impl<'r> Cells<'r> {
    /// How many there are.
    #[must_use]
    pub const fn len(self) -> usize {
        self.spans.len()
    }

    /// Whether there is none.
    #[must_use]
    pub const fn is_empty(self) -> bool {
        self.spans.is_empty()
    }

    /// One of them.
    #[must_use]
    pub fn get(self, place: usize) -> Option<&'r [u8]> {
        self.bytes.get(self.span(place)?)
    }

    /// One of them as text, an absent one as empty, where the whole row is known to be text.
    #[inline]
    #[must_use]
    pub fn known_text(self, place: usize) -> Option<&'r str> {
        let text = self.text?;
        self.span(place).map_or(Some(""), |span| text.get(span))
    }

    /// One of them as text, an absent one as empty.
    ///
    /// # Errors
    ///
    /// The bytes of a cell that is not UTF-8.
    pub fn text(self, place: usize) -> Result<&'r str, &'r [u8]> {
        // Cells of a text are separated by bytes that are characters, so each of them is a text.
        if let Some(cell) = self.known_text(place) {
            return Ok(cell);
        }
        let bytes = self.get(place).unwrap_or_default();
        std::str::from_utf8(bytes).map_err(|_| bytes)
    }

    /// Whether the whole row is known to be text.
    #[must_use]
    pub const fn are_text(self) -> bool {
        self.text.is_some()
    }

    #[inline]
    fn span(self, place: usize) -> Option<Range<usize>> {
        self.spans.get(place).map(|(start, end)| *start..*end)
    }

    /// Whether nothing stands in any of them.
    fn are_blank(self) -> bool {
        // Most rows begin with a name.
        !self.bytes.first().is_some_and(|byte| byte.is_ascii_alphanumeric())
            && self.iter().all(|cell| cell.trim_ascii().is_empty())
    }

    /// All of them as texts; bytes that are no UTF-8 are replaced.
    #[must_use]
    pub fn texts(self) -> Vec<String> {
        self.iter().map(|cell| String::from_utf8_lossy(cell).into_owned()).collect()
    }

    /// All of them.
    pub fn iter(self) -> impl Iterator<Item = &'r [u8]> {
        (0..self.len()).filter_map(move |place| self.get(place))
    }
}

/// Why a row has no cells.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unsplit {
    /// A quote is opened and never closed.
    OpenQuote,
    /// It has [more cells](MOST_CELLS) than a row may have.
    TooManyCells,
}

impl Unsplit {
    /// What was found, the rule, and what to do.
    #[must_use]
    pub fn said(self) -> (String, String, &'static str) {
        match self {
            Self::OpenQuote => (
                "a quote that is opened and never closed".to_owned(),
                "a quoted cell ends with a quote".to_owned(),
                "close the quote or take it out",
            ),
            Self::TooManyCells => (
                format!("more than {MOST_CELLS} cells"),
                format!("a row has at most {MOST_CELLS}"),
                "take out the delimiters that follow the last cell, or divide the row",
            ),
        }
    }
}

/// One row of the file.
#[derive(Clone, Copy, Debug)]
pub struct Row<'a, 'r> {
    /// Line on which the row starts, from one.
    pub line: u64,
    /// Its bytes without the line ending.
    pub raw: &'a [u8],
    /// Its cells, or why there are none.
    pub cells: Result<Cells<'r>, Unsplit>,
}

impl Row<'_, '_> {
    /// Its cells as texts; none where it could not be divided into cells.
    #[must_use]
    pub fn texts(&self) -> Vec<String> {
        self.cells.map(Cells::texts).unwrap_or_default()
    }
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
    /// Reads rows with quotes; built with the first of them, because that takes as long as splitting hundreds of rows.
    reader: Option<Reader>,
    /// Where the cells of a row are, in the row or in what its quotes hold.
    spans: Vec<(usize, usize)>,
    unquoted: Vec<u8>,
    ends: Vec<usize>,
}

impl<'a> Rows<'a> {
    /// Starts at the first byte, which stands on this line; the header is a row like any other.
    #[must_use]
    pub fn new(bytes: &'a [u8], delimiter: u8, line: u64) -> Self {
        let (spans, unquoted, ends) = (Vec::new(), Vec::new(), Vec::new());
        Self { bytes, text: None, delimiter, place: 0, line, without_quote: 0, reader: None, spans, unquoted, ends }
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
            let has_quote = self.has_quote_before(start + first.len());
            let in_place = if has_quote {
                self.split_quoted(first)
            } else {
                self.split(first);
                true
            };
            let end = if in_place { Some(first.len()) } else { end_of_quoted(rest, self.delimiter) };
            let Some(end) = end else {
                self.place += first.len();
                return Some(Row { line, raw: first, cells: Err(Unsplit::OpenQuote) });
            };
            let raw = &rest[..end];
            self.place += end;
            if !in_place {
                self.line += line_ends(raw);
                self.unquote(raw);
            }
            if self.spans.len() > MOST_CELLS {
                if !is_blank(raw, self.delimiter) {
                    return Some(Row { line, raw, cells: Err(Unsplit::TooManyCells) });
                }
            } else if !self.cells(in_place, start).are_blank() {
                return Some(Row { line, raw, cells: Ok(self.cells(in_place, start)) });
            }
        }
    }

    /// The cells of the row that was just split, which starts here and ends at the place.
    fn cells(&self, in_place: bool, start: usize) -> Cells<'_> {
        if !in_place {
            return Cells { bytes: &self.unquoted, text: None, spans: &self.spans };
        }
        let text = self.text.and_then(|text| text.get(start..self.place));
        Cells { bytes: &self.bytes[start..self.place], text, spans: &self.spans }
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

    /// Finds the cells of a row without quotes, eight bytes at a time; stops soon after the most that are allowed.
    fn split(&mut self, raw: &[u8]) {
        const LOW_BITS: u64 = u64::from_ne_bytes([0x7f; 8]);
        let delimiters = u64::from_ne_bytes([self.delimiter; 8]);
        self.spans.clear();
        let (eights, rest) = raw.as_chunks::<8>();
        let mut start = 0;
        for (first, eight) in (0..).step_by(8).zip(eights) {
            if self.spans.len() > MOST_CELLS {
                return;
            }
            // Zero in every byte that is a delimiter; then a single bit in those and none in the others.
            let other = u64::from_le_bytes(*eight) ^ delimiters;
            let mut found = !(((other & LOW_BITS) + LOW_BITS) | other | LOW_BITS);
            while found != 0 {
                let end = first + found.trailing_zeros() as usize / 8;
                self.spans.push((start, end));
                start = end + 1;
                found &= found - 1;
            }
        }
        for (end, _) in (raw.len() - rest.len()..).zip(rest).filter(|(_, byte)| **byte == self.delimiter) {
            self.spans.push((start, end));
            start = end + 1;
        }
        self.spans.push((start, raw.len()));
    }

    /// Finds the cells of a line in which every quoted cell is a text between two quotes and nothing else. False where there is
    /// more to it.
    fn split_quoted(&mut self, raw: &[u8]) -> bool {
        self.spans.clear();
        // The library that reads all other rows passes over a mark at the start of one.
        let (mut start, mut is_last) = (0, raw.starts_with(BOM));
        while !is_last {
            if self.spans.len() > MOST_CELLS {
                return false;
            }
            let rest = &raw[start..];
            let (opening, closing) = match rest {
                [b'"', inner @ ..] => match memchr(b'"', inner) {
                    Some(end) => (1, end + 1),
                    None => return false,
                },
                _ => (0, rest.iter().position(|byte| *byte == self.delimiter).unwrap_or(rest.len())),
            };
            self.spans.push((start + opening, start + closing));
            start += closing + opening;
            match raw.get(start) {
                Some(byte) if *byte == self.delimiter => start += 1,
                Some(_) => return false,
                None => is_last = true,
            }
        }
        !self.spans.is_empty()
    }

    fn unquote(&mut self, raw: &[u8]) {
        // No cell is longer than its text, and there are fewer cells than bytes.
        self.unquoted.resize(raw.len(), 0);
        self.ends.resize((raw.len() + 1).min(MOST_CELLS + 1), 0);
        let new = || csv_core::ReaderBuilder::new().delimiter(self.delimiter).build();
        let reader = self.reader.get_or_insert_with(new);
        reader.reset();
        let (result, _, mut written, mut cells) = reader.read_record(raw, &mut self.unquoted, &mut self.ends);
        if result == ReadRecordResult::InputEmpty {
            let (_, _, more, last) = reader.read_record(&[], &mut self.unquoted[written..], &mut self.ends[cells..]);
            written += more;
            cells += last;
        }
        self.unquoted.truncate(written);
        self.spans.clear();
        let starts = [0].into_iter().chain(self.ends.iter().copied());
        self.spans.extend(starts.zip(self.ends.iter().copied()).take(cells));
    }
}

/// Whether a row holds nothing but delimiters, quotes and blanks.
fn is_blank(raw: &[u8], delimiter: u8) -> bool {
    raw.iter().all(|byte| *byte == delimiter || *byte == b'"' || byte.is_ascii_whitespace())
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

/// Whether a byte ends a line.
#[must_use]
pub const fn is_line_end(byte: u8) -> bool {
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
mod tests;
