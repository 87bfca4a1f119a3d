//! A sheet of a workbook as delimited text: one line per row of the sheet, so that everything behind this point sees text.
//!
//! Numbers keep all their digits, dates become ISO dates, formulas give their stored values. A hostile workbook is refused
//! before it is opened ([`super::unpack`]); its cells are read one by one, so that two cells in far corners cost no grid.

use super::unpack::{self, GREATEST_SHEET};
use super::{compound, markup, records};
use crate::error::{Failure, shown};
use calamine::{Data, DataType, Ods, Reader, Xls, Xlsx};
use groundwall::record::validate::DayCount;
use std::fmt::Write as _;
use std::io::Cursor;
use std::panic::{AssertUnwindSafe, catch_unwind};

/// Old binary workbooks end at 65,536 rows; a larger file than this is none that people wrote.
const GREATEST_BINARY: usize = 64 << 20;
/// Cells that repeats in a sheet of the open document format may stand for.
const GREATEST_REPEATS: u64 = 20_000_000;
/// The header is looked for among so many rows.
pub const HEADER_WITHIN: usize = 40;

/// One sheet as text parted by commas.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sheet {
    /// Its name.
    pub name: String,
    /// The rows.
    pub text: Vec<u8>,
    /// The line of the text on which each row of the sheet starts, where cells hold line breaks.
    pub starts: Option<Vec<u64>>,
}

/// The sheet that was chosen.
#[derive(Clone, Debug, PartialEq)]
pub struct Chosen {
    /// The sheet.
    pub sheet: Sheet,
    /// Names of all sheets.
    pub names: Vec<String>,
    /// How the workbook counts days.
    pub days: DayCount,
}

/// Whether the bytes are those of a workbook or another archive.
#[must_use]
pub fn is_workbook(bytes: &[u8]) -> bool {
    bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"\xd0\xcf\x11\xe0")
}

/// Reads the sheet that is asked for, or the first that `fits`, or else the first that holds anything.
///
/// # Errors
///
/// A [`Failure`] when the bytes are no workbook that can be read, are too large, or have no such sheet.
pub fn read(
    file: &str,
    bytes: &[u8],
    wanted: Option<&str>,
    decimal_comma: bool,
    fits: &dyn Fn(&[String]) -> bool,
) -> Result<Chosen, Failure> {
    let parts = if bytes.starts_with(b"PK") { unpack::check_archive(file, bytes)? } else { Vec::new() };
    let has = |name: &str| parts.iter().any(|part| part == name);
    let opened = if has("xl/workbook.xml") {
        quietly(|| Xlsx::new(Cursor::new(bytes)).ok().map(Book::Xlsx))
    } else if has("content.xml") {
        let content = unpack::part_of(bytes, "content.xml").unwrap_or_default();
        if !markup::is_whole(&content) {
            return Err(unreadable(file));
        }
        if repeats(&content) > GREATEST_REPEATS {
            return Err(too_many_cells(file));
        }
        quietly(|| Ods::new(Cursor::new(bytes)).ok().map(Book::Ods))
    } else if !parts.is_empty() {
        return Err(Failure::usage(format!("{file}: this file is an archive, not a workbook of a kind that is read"))
            .hint("give an .xlsx, .xls or .ods workbook, or save the sheet as CSV in UTF-8"));
    } else if bytes.len() > GREATEST_BINARY {
        return Err(too_many_cells(file));
    } else if !compound::chains_end(bytes) || records::ask_too_much(bytes) {
        return Err(unreadable(file));
    } else {
        quietly(|| Xls::new(Cursor::new(bytes)).ok().map(Book::Xls))
    };
    let mut book = opened.flatten().ok_or_else(|| unreadable(file))?;
    let names = book.names();
    let days = if book.counts_from_1904() { DayCount::From1904 } else { DayCount::From1900 };
    let candidates: Vec<String> = match wanted {
        None => names.clone(),
        Some(wanted) => {
            let same = |name: &&String| name.trim().to_lowercase() == wanted.trim().to_lowercase();
            let Some(name) = names.iter().find(same) else {
                let all: Vec<String> = names.iter().map(|name| shown(name)).collect();
                return Err(Failure::usage(format!("{file}: there is no sheet {}", shown(wanted)))
                    .hint(format!("the sheets are {}", all.join(", "))));
            };
            vec![name.clone()]
        }
    };
    let mut fallback: Option<Sheet> = None;
    for name in &candidates {
        let mut grid = Grid::new(name, decimal_comma);
        match quietly(|| book.fill(name, &mut grid)) {
            Some(Some(())) => {}
            // A sheet of charts is no sheet of cells.
            Some(None) if !grid.too_large && candidates.len() > 1 => continue,
            _ if grid.too_large => return Err(too_many_cells(file)),
            _ => return Err(unreadable(file)),
        }
        let found = grid.first_rows().iter().any(|row| fits(row));
        let sheet = grid.finish();
        if found {
            return Ok(Chosen { sheet, names, days });
        }
        if fallback.as_ref().is_none_or(|sheet| sheet.text.is_empty()) {
            fallback = Some(sheet);
        }
    }
    Ok(Chosen { sheet: fallback.unwrap_or_default(), names, days })
}

fn unreadable(file: &str) -> Failure {
    Failure::usage(format!("{file}: this workbook is damaged or protected by a password"))
        .hint("open it in a spreadsheet program and save it without a password, or save the sheet as CSV in UTF-8")
}

fn too_many_cells(file: &str) -> Failure {
    Failure::usage(format!("{file}: the cells of this workbook take more than {} MiB", GREATEST_SHEET >> 20))
        .hint("delete the empty and repeated cells around the table, or save the sheet as CSV in UTF-8")
}

/// Runs a reader of other people's making: if it gives up in the middle, that is one more damaged workbook.
fn quietly<T>(read: impl FnOnce() -> T) -> Option<T> {
    let hook = std::panic::take_hook();
    std::panic::set_hook(Box::new(|_| {}));
    let outcome = catch_unwind(AssertUnwindSafe(read));
    std::panic::set_hook(hook);
    outcome.ok()
}

/// How many cells a sheet in the open document format stands for, repeats counted; empty ones at the end of a row do not count.
fn repeats(content: &[u8]) -> u64 {
    let attribute = |tag: &[u8], mark: &[u8]| {
        tag.windows(mark.len()).position(|part| part == mark).map_or(1, |at| {
            let digits = tag[at + mark.len()..].iter().take_while(|byte| byte.is_ascii_digit());
            digits.take(9).fold(0_u64, |number, digit| number * 10 + u64::from(digit - b'0'))
        })
    };
    let (mut sum, mut in_row, mut pending, mut rows) = (0_u64, 0_u64, 0_u64, 1_u64);
    for tag in content.split(|byte| *byte == b'<') {
        if tag.starts_with(b"/table:table-row") {
            sum = sum.saturating_add(in_row.saturating_mul(rows));
            (in_row, pending) = (0, 0);
        } else if tag.starts_with(b"table:table-row") {
            rows = attribute(tag, b"number-rows-repeated=\"");
        } else if tag.starts_with(b"table:table-cell") || tag.starts_with(b"table:covered-table-cell") {
            in_row = in_row.saturating_add(std::mem::take(&mut pending));
            let count = attribute(tag, b"number-columns-repeated=\"");
            if tag.windows(10).any(|part| part == b"value-type") {
                in_row = in_row.saturating_add(count);
            } else {
                pending = count;
            }
        }
    }
    sum
}

enum Book<'a> {
    Xlsx(Xlsx<Cursor<&'a [u8]>>),
    Xls(Xls<Cursor<&'a [u8]>>),
    Ods(Ods<Cursor<&'a [u8]>>),
}

impl Book<'_> {
    fn names(&self) -> Vec<String> {
        match self {
            Self::Xlsx(book) => book.sheet_names(),
            Self::Xls(book) => book.sheet_names(),
            Self::Ods(book) => book.sheet_names(),
        }
    }

    fn counts_from_1904(&self) -> bool {
        match self {
            Self::Xlsx(book) => book.has_1904_epoch(),
            Self::Xls(book) => book.has_1904_epoch(),
            Self::Ods(_) => false,
        }
    }

    /// Puts the cells of a sheet into the grid; `None` when they cannot be read.
    fn fill(&mut self, name: &str, grid: &mut Grid) -> Option<()> {
        let range = match self {
            Self::Xlsx(book) => {
                let mut cells = book.worksheet_cells_reader(name).ok()?;
                while let Some(cell) = cells.next_cell().ok()? {
                    let (row, column) = cell.get_position();
                    let value = cell.get_value();
                    let text = match value.get_string() {
                        Some(text) => text.to_owned(),
                        None => written(&Data::from(value.clone()), grid.decimal_comma),
                    };
                    grid.put(row, column, text)?;
                }
                return Some(());
            }
            Self::Xls(book) => book.worksheet_range(name).ok()?,
            Self::Ods(book) => book.worksheet_range(name).ok()?,
        };
        let (top, left) = range.start().unwrap_or_default();
        for (row, column, value) in range.used_cells() {
            let row = top.checked_add(u32::try_from(row).ok()?)?;
            let column = left.checked_add(u32::try_from(column).ok()?)?;
            grid.put(row, column, written(value, grid.decimal_comma))?;
        }
        Some(())
    }
}

/// A cell as a planner would write it into a CSV file.
fn written(value: &Data, decimal_comma: bool) -> String {
    let number = |text: String| if decimal_comma { text.replace('.', ",") } else { text };
    match value {
        Data::Int(value) => value.to_string(),
        Data::Float(value) => number(value.to_string()),
        Data::String(text) => text.clone(),
        Data::Bool(value) => if *value { "TRUE" } else { "FALSE" }.to_owned(),
        Data::DateTime(day) => match day.as_datetime().filter(|_| day.is_datetime()) {
            // Times are stored as fractions of a day and come out a few milliseconds beside the second.
            Some(at) => iso(&(at + chrono::Duration::milliseconds(500)).format("%Y-%m-%dT%H:%M:%S").to_string()),
            None => number(day.as_f64().to_string()),
        },
        Data::DateTimeIso(text) => iso(text),
        Data::DurationIso(text) => text.clone(),
        Data::Error(error) => error.to_string(),
        Data::Empty => String::new(),
    }
}

/// Midnight is a date without an hour; seconds of nought are not written.
fn iso(text: &str) -> String {
    let text = text.split('.').next().unwrap_or(text);
    let text = text.strip_suffix("T00:00:00").unwrap_or(text);
    let minutes = text.strip_suffix(":00").filter(|rest| rest.len() == "0000-00-00T00:00".len());
    minutes.unwrap_or(text).to_owned()
}

/// Rows of a sheet on their way into text.
struct Grid {
    sheet: Sheet,
    decimal_comma: bool,
    /// The rows among which the header stands; every later row is made as wide as the widest of them.
    first: Vec<Vec<String>>,
    /// The row being filled.
    row: Vec<String>,
    /// How many rows have been ended.
    ended: usize,
    width: usize,
    lines: u64,
    broken: bool,
    too_large: bool,
}

impl Grid {
    fn new(name: &str, decimal_comma: bool) -> Self {
        Self {
            sheet: Sheet { name: name.to_owned(), text: Vec::new(), starts: Some(Vec::new()) },
            decimal_comma,
            first: Vec::new(),
            row: Vec::new(),
            ended: 0,
            width: 0,
            lines: 0,
            broken: false,
            too_large: false,
        }
    }

    /// Takes the next cell, in order of row and column; `None` when the sheet grows beyond its limit or is out of order.
    fn put(&mut self, row: u32, column: u32, text: String) -> Option<()> {
        let (row, column) = (usize::try_from(row).ok()?, usize::try_from(column).ok()?);
        if text.is_empty() {
            return Some(());
        }
        if row < self.ended || row > 2_000_000 || column > 20_000 {
            return None;
        }
        while self.ended < row {
            self.end_row()?;
        }
        if self.row.len() <= column {
            self.row.resize(column + 1, String::new());
        }
        self.row[column] = text;
        Some(())
    }

    fn end_row(&mut self) -> Option<()> {
        self.ended += 1;
        let row = std::mem::take(&mut self.row);
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
        if let Some(starts) = &mut self.sheet.starts {
            starts.push(self.lines + 1);
        }
        let text = &mut self.sheet.text;
        // A blank row is a blank line, however wide the table is.
        let width = if row.is_empty() { 0 } else { self.width.max(row.len()) };
        for column in 0..width {
            if column > 0 {
                text.push(b',');
            }
            let cell = row.get(column).map_or("", String::as_str);
            if cell.contains(['"', ',', '\n', '\r']) {
                self.broken |= cell.contains(['\n', '\r']);
                self.lines += line_ends(cell);
                let mut quoted = String::with_capacity(cell.len() + 2);
                let _ = write!(quoted, "\"{}\"", cell.replace('"', "\"\""));
                text.extend_from_slice(quoted.as_bytes());
            } else {
                text.extend_from_slice(cell.as_bytes());
            }
        }
        text.push(b'\n');
        self.lines += 1;
        self.too_large = text.len() as u64 > GREATEST_SHEET;
        (!self.too_large).then_some(())
    }

    fn first_rows(&self) -> Vec<&[String]> {
        self.first.iter().chain([&self.row]).take(HEADER_WITHIN).map(Vec::as_slice).collect()
    }

    fn finish(mut self) -> Sheet {
        if !self.row.is_empty() {
            let _ = self.end_row();
        }
        if self.first.len() < HEADER_WITHIN {
            let _ = self.write_first();
        }
        if !self.broken {
            self.sheet.starts = None;
        }
        self.sheet
    }
}

/// Line ends inside a cell, as an editor counts them.
fn line_ends(cell: &str) -> u64 {
    let pairs = cell.matches("\r\n").count();
    (cell.matches(['\r', '\n']).count() - pairs) as u64
}

#[cfg(test)]
mod tests;
