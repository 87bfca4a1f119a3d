//! The cells of a sheet on their way into text, row by row: what is too much is refused, and what cannot be told is marked.

use super::cell_place::CellPlace;
use super::delimited::HEADER_WITHIN;
use super::number_formats::{self, Format, Formatted, Shown};
use super::rows::{LONGEST_QUOTED, is_line_end};
use super::sheet::{Sheet, Tall};
use super::trouble::Trouble;
use crate::legible::UNREADABLE;
use std::collections::BTreeSet;
use std::fmt::Write as _;

/// The text of one cell has at most so many bytes. Spreadsheet programs stop at 32,767 characters.
pub(super) const LONGEST_CELL: usize = 1 << 20;

/// A cell with more bytes is a long text. All of them together may take so many bytes, or as many as the file has: a cell that repeats costs
/// nothing in the file, and each of its copies is looked through.
pub(super) const LONG_TEXT: usize = 1000;

const LONG_TEXTS: u64 = 4 << 20;

/// Cells are marked as unreadable in so many rows at once; where more are in doubt, the workbook is damaged.
const MOST_ROWS_MARKED: u32 = 100;

/// Rows with cells that a workbook may have however small it is; a larger one may have one for so many of its bytes. Test
/// sheets take ten bytes a row and more, packed. Each row costs time and memory beside its text.
const SMALL_ROWS: u64 = 250_000;
const BYTES_A_ROW: u64 = 8;

/// The same of cells; a larger workbook may have one for each of its bytes.
const SMALL_CELLS: u64 = 2_000_000;

/// Rows with cells, and cells, that a workbook may still have.
#[derive(Clone, Copy, Debug)]
pub(super) struct Left {
    pub(super) rows: u64,
    pub(super) cells: u64,
    /// Bytes of long texts.
    pub(super) long: u64,
}

impl Left {
    /// Those of a workbook of so many bytes.
    pub(super) fn of(length: usize) -> Self {
        let length = length as u64;
        Self {
            rows: SMALL_ROWS.max(length / BYTES_A_ROW),
            cells: SMALL_CELLS.max(length),
            long: LONG_TEXTS.max(length),
        }
    }
}

/// Rows of a sheet on their way into text.
pub(super) struct Grid {
    pub(super) sheet: Sheet,
    pub(super) decimal_comma: bool,
    /// Bytes that the cells may take as text, and those of the cells so far.
    limit: u64,
    bytes: u64,
    pub(super) left: Left,
    /// The rows among which the header stands; every later row is made as wide as the widest of them.
    first: Vec<Vec<String>>,
    /// The row being filled.
    row: Vec<String>,
    /// How many rows have been ended.
    ended: usize,
    width: usize,
    lines: u64,
    pub(super) trouble: Option<Trouble>,
    /// A row of whose cells one cannot be placed.
    spoilt: Option<usize>,
    /// Cells whose numbers are shown with a unit or as names by their format.
    pub(super) formatted: Formatted,
    /// Cells that hold something which cannot be told.
    pub(super) unread: BTreeSet<(u32, u32)>,
}

impl Grid {
    pub(super) fn new(name: &str, decimal_comma: bool, limit: u64, left: Left) -> Self {
        Self {
            sheet: Sheet { name: name.to_owned(), ..Sheet::default() },
            decimal_comma,
            limit,
            bytes: 0,
            left,
            first: Vec::new(),
            row: Vec::new(),
            ended: 0,
            width: 0,
            lines: 0,
            trouble: None,
            spoilt: None,
            formatted: Formatted::new(),
            unread: BTreeSet::new(),
        }
    }

    /// A number with the unit that its format shows after it, or the name that is shown in its place.
    pub(super) fn as_shown(&mut self, place: (u32, u32), text: String, is_number: bool) -> String {
        match self.formatted.get(&place).filter(|_| is_number).cloned() {
            Some(Format::Unit(shown)) => self.with_unit(place, &text, shown),
            Some(Format::Name(form)) => match form.show(&text) {
                Some(name) => self.as_name(place, &text, name),
                None => text,
            },
            Some(Format::Text(parts)) => number_formats::seen_by(&parts, &text).unwrap_or(text),
            None => text,
        }
    }

    /// A name that is shown in place of a number; the first that differs is kept to be said.
    pub(super) fn as_name(&mut self, (row, column): (u32, u32), number: &str, name: String) -> String {
        if name != number {
            let place = CellPlace { line: u64::from(row) + 1, column: column as usize };
            self.sheet.shown_as.get_or_insert_with(|| (place, number.to_owned(), name.clone()));
        }
        name
    }

    /// A number with a unit after it; the first is kept to be said.
    pub(super) fn with_unit(&mut self, (row, column): (u32, u32), text: &str, shown: Shown) -> String {
        let place = || CellPlace { line: u64::from(row) + 1, column: column as usize };
        self.sheet.shown_in.get_or_insert_with(|| (place(), shown));
        format!("{text} {shown}")
    }

    /// Takes the next cell, in order of row and column; `None` when the sheet grows beyond its limit or is out of order.
    pub(super) fn put(&mut self, row: u32, column: u32, text: String) -> Option<()> {
        let (row, column) = (usize::try_from(row).ok()?, usize::try_from(column).ok()?);
        if text.is_empty() {
            return Some(());
        }
        if text.len() > LONGEST_CELL {
            self.trouble = Some(Trouble::LongCell);
            return None;
        }
        if text.len() > LONG_TEXT {
            let left = self.left.long.checked_sub(text.len() as u64);
            self.trouble = left.is_none().then_some(Trouble::LongTexts).or(self.trouble);
            self.left.long = left?;
        }
        self.bytes += 1 + text.len() as u64;
        if self.bytes > self.limit {
            self.trouble = Some(Trouble::TooLarge);
            return None;
        }
        self.left.cells = self.one_less(self.left.cells)?;
        if row < self.ended || row > 2_000_000 || column > 20_000 {
            return None;
        }
        while self.ended < row {
            self.end_row()?;
        }
        if self.row.len() <= column {
            self.row.resize(column + 1, String::new());
        }
        self.row[column] = if self.spoilt == Some(row) { UNREADABLE.to_owned() } else { text };
        Some(())
    }

    /// Marks the cells before a place that hold something which cannot be told.
    pub(super) fn put_unread_before(&mut self, place: (u32, u32)) -> Option<()> {
        while let Some((row, column)) = self.unread.first().copied().filter(|first| *first < place) {
            self.unread.remove(&(row, column));
            self.put(row, column, UNREADABLE.to_owned())?;
        }
        Some(())
    }

    /// Marks all cells of the row that is being filled, and of the one whose cell is next: a cell between the two cannot be placed, and those
    /// beside it may stand elsewhere.
    pub(super) fn spoil(&mut self, next: u32) {
        self.row.iter_mut().filter(|cell| !cell.is_empty()).for_each(|cell| UNREADABLE.clone_into(cell));
        self.spoilt = usize::try_from(next).ok();
    }

    /// Marks every empty cell between two that were read: one of them could not be, and its reader does not say which. No rule
    /// takes the mark for a value, so the rows concerned are rejected and not misread.
    pub(super) fn mark_unreadable(&mut self, after: Option<(u32, u32)>, before: (u32, u32)) -> Option<()> {
        let (row, first) = after.map_or((0, 0), |(row, column)| (row, column + 1));
        if before.0.saturating_sub(row) > MOST_ROWS_MARKED {
            return None;
        }
        let widest = self.width.max(self.row.len());
        for row in row..=before.0 {
            let width = u32::try_from(widest.max(self.row.len())).ok()?;
            let begin = if after.is_some_and(|(last, _)| last == row) { first } else { 0 };
            let end = if row == before.0 { before.1.min(width.max(first)) } else { width };
            for column in begin..end {
                self.put(row, column, UNREADABLE.to_owned())?;
            }
        }
        Some(())
    }

    /// One less of what is left of a count.
    fn one_less(&mut self, left: u64) -> Option<u64> {
        if left == 0 {
            self.trouble = Some(Trouble::TooMany);
        }
        left.checked_sub(1)
    }

    fn end_row(&mut self) -> Option<()> {
        self.ended += 1;
        let row = std::mem::take(&mut self.row);
        if !row.is_empty() {
            self.left.rows = self.one_less(self.left.rows)?;
        }
        if self.first.len() < HEADER_WITHIN {
            self.width = self.width.max(row.len());
            self.first.push(row);
            if self.first.len() == HEADER_WITHIN {
                self.write_first()?;
            }
            return Some(());
        }
        self.write(&row)
    }

    fn write_first(&mut self) -> Option<()> {
        let first = std::mem::take(&mut self.first);
        let outcome = first.iter().try_for_each(|row| self.write(row));
        self.first = first;
        outcome
    }

    fn write(&mut self, row: &[String]) -> Option<()> {
        let line = self.lines + 1;
        let text = &mut self.sheet.text;
        let start = text.len();
        // A blank row is a blank line, however wide the table is.
        let width = if row.is_empty() { 0 } else { self.width.max(row.len()) };
        for column in 0..width {
            if column > 0 {
                text.push(b',');
            }
            let cell = row.get(column).map_or("", String::as_str);
            if cell.contains(['"', ',', '\n', '\r']) {
                self.lines += line_ends(cell);
                let mut quoted = String::with_capacity(cell.len() + 2);
                let _ = write!(quoted, "\"{}\"", cell.replace('"', "\"\""));
                text.extend_from_slice(quoted.as_bytes());
            } else {
                text.extend_from_slice(cell.as_bytes());
            }
        }
        if self.lines >= line && text.len() - start > LONGEST_QUOTED {
            // So long a row would be taken for one with a quote that is never closed.
            text[start..].iter_mut().filter(|byte| is_line_end(**byte)).for_each(|byte| *byte = b' ');
            self.lines = line - 1;
        }
        text.push(b'\n');
        self.lines += 1;
        if self.lines > line {
            let surplus = self.sheet.tall.last().map_or(0, |row| row.surplus) + self.lines - line;
            self.sheet.tall.push(Tall { lines: (line, self.lines), surplus });
        }
        if text.len() as u64 > self.limit {
            self.trouble = Some(Trouble::TooLarge);
            return None;
        }
        Some(())
    }

    /// Why it takes no more cells.
    pub(super) fn trouble(&self) -> Trouble {
        self.trouble.unwrap_or(Trouble::Damaged)
    }

    /// The sheet, and what the others may have.
    pub(super) fn finish(mut self) -> Result<(Sheet, Left), Trouble> {
        if !self.row.is_empty() {
            self.end_row().ok_or_else(|| self.trouble())?;
        }
        if self.first.len() < HEADER_WITHIN {
            self.write_first().ok_or_else(|| self.trouble())?;
        }
        Ok((self.sheet, self.left))
    }
}

/// Line ends inside a cell, as an editor counts them.
fn line_ends(cell: &str) -> u64 {
    let pairs = cell.matches("\r\n").count();
    (cell.matches(['\r', '\n']).count() - pairs) as u64
}
