//! A sheet of a workbook as delimited text: one line per row of the sheet, so that everything downstream sees text.
//!
//! Numbers keep all their digits, dates become ISO dates, formulas give their stored values. A hostile workbook is refused
//! before it is opened ([`super::unpack`]); its cells are read one by one, so that two cells in far corners cost no grid.

use super::comments::Comments;
use super::number_formats::{CellFormats, CellStyles};
use super::sheet::Merged;
use super::sheet_choice::{Choice, MOST_SHEETS, SheetChoice, Sheets};
use super::sheet_grid::{Grid, LONG_TEXT, LONGEST_CELL, Left};
use super::trouble::Trouble;
use super::written::written;
use super::{compound, open_document, records, unpack, xml_parts};
use crate::error::Failure;
use crate::legible::UNREADABLE;
use calamine::{Data, DataType, Reader, Xls, Xlsx, XlsxError};
use groundwall::record::validate::DayCount;
use std::collections::HashMap;
use std::io::{BufReader, Cursor};
use std::panic::{AssertUnwindSafe, catch_unwind};

/// Old binary workbooks end at 65,536 rows; a larger file than this is none that people wrote.
const GREATEST_BINARY: usize = 64 << 20;
/// Columns that a sheet of this kind can have.
const MOST_COLUMNS: u32 = 16_384;

/// Whether the bytes are those of a workbook or another archive.
#[must_use]
pub fn is_workbook(bytes: &[u8]) -> bool {
    bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"\xd0\xcf\x11\xe0")
}

/// Reads the sheets that are asked for.
///
/// # Errors
///
/// A [`Failure`] when the bytes are no workbook that can be read, are too large, or have no such sheet.
pub fn read(file: &str, bytes: &[u8], choice: SheetChoice<'_>, decimal_comma: bool) -> Result<Sheets, Failure> {
    let parts = if bytes.starts_with(b"PK") { unpack::check_archive(file, bytes)? } else { Vec::new() };
    let has = |name: &str| parts.iter().any(|part| part == name);
    let limit = unpack::greatest_sheet(bytes.len());
    let failure = |trouble: Trouble| match trouble {
        Trouble::Damaged => unreadable(file),
        Trouble::TooLarge => too_large(file, limit),
        Trouble::TooMany => too_many(file, Left::of(bytes.len())),
        Trouble::ManySheets => many_sheets(file),
        Trouble::LongCell => long_cell(file),
        Trouble::LongTexts => long_texts(file, Left::of(bytes.len())),
    };
    let mut choice = Choice::new(choice, decimal_comma, limit, Left::of(bytes.len()));
    let (mut formats, mut of_binary) = (None, HashMap::new());
    let mut days = DayCount::From1900;
    let opened = if has("xl/workbook.xml") {
        xml_parts::must_be_in_proportion(bytes, &parts, limit).map_err(failure)?;
        formats = Some(CellFormats::of(bytes, &parts).map_err(failure)?);
        choice.comments = Comments::of(bytes, &parts).map_err(failure)?;
        quietly(|| Xlsx::new(Cursor::new(bytes)).ok().map(Book::Xlsx))
    } else if has("content.xml") {
        let stream = |part| unpack::stream_of(bytes, part).map(BufReader::new);
        let content = || stream("content.xml").ok_or_else(|| unreadable(file));
        let mut styles = CellStyles::default();
        stream("styles.xml").map_or(Ok(()), |part| styles.add(part)).map_err(failure)?;
        styles.add(content()?).map_err(failure)?;
        open_document::read(content()?, &styles, &mut choice).map_err(failure)?;
        return choice.chosen(file, days);
    } else if !parts.is_empty() {
        return Err(Failure::usage(format!("{file}: this file is an archive, not a workbook of a kind that is read"))
            .hint("give an .xlsx, .xls or .ods workbook, or save the sheet as CSV in UTF-8"));
    } else if bytes.len() > GREATEST_BINARY {
        return Err(too_large(file, limit));
    } else if !compound::chains_end(bytes) || records::ask_too_much(bytes, limit) {
        return Err(unreadable(file));
    } else {
        of_binary = records::shown_with_units(bytes);
        quietly(|| Xls::new(Cursor::new(bytes)).ok().map(Book::Xls))
    };
    let mut book = opened.flatten().ok_or_else(|| unreadable(file))?;
    let names = book.names();
    // Two sheets never share a part; a part that many sheets name would be read as many times.
    if !parts.is_empty() && names.len() > parts.len() {
        return Err(unreadable(file));
    }
    if book.counts_from_1904() {
        days = DayCount::From1904;
    }
    for name in &names {
        let Some(mut grid) = choice.begin(name) else { continue };
        match &formats {
            Some(formats) => {
                grid.unread = formats.unread(name, grid.left.cells).map_err(failure)?;
                grid.formatted = formats.cells(name, grid.left.cells).map_err(failure)?;
            }
            None => grid.formatted = of_binary.remove(name).unwrap_or_default(),
        }
        match quietly(|| book.fill(name, &mut grid)) {
            Some(Some(())) => {
                grid.sheet.merged = quietly(|| book.merged(name)).unwrap_or_default();
                choice.offer(grid).map_err(failure)?;
            }
            // A sheet of charts is not a sheet of cells.
            Some(None) if grid.trouble.is_none() && choice.choice.wanted.is_empty() && names.len() > 1 => {}
            _ => return Err(failure(grid.trouble())),
        }
    }
    choice.chosen(file, days)
}

fn unreadable(file: &str) -> Failure {
    Failure::usage(format!("{file}: this workbook is damaged or protected by a password"))
        .hint("open it in a spreadsheet program and save it without a password, or save the sheet as CSV in UTF-8")
}

fn too_large(file: &str, limit: u64) -> Failure {
    Failure::usage(format!("{file}: the cells of this workbook take more than {} MiB", limit >> 20))
        .hint("delete the empty and repeated cells around the table, or save the sheet as CSV in UTF-8")
}

fn too_many(file: &str, Left { rows, cells, .. }: Left) -> Failure {
    Failure::usage(format!(
        "{file}: this workbook has more than {rows} rows or {cells} cells, too many for a file of its size"
    ))
    .hint("delete the rows and cells that repeat around the table, or save the sheet as CSV in UTF-8")
}

fn many_sheets(file: &str) -> Failure {
    Failure::usage(format!("{file}: this workbook has more than {MOST_SHEETS} sheets with cells"))
        .hint("name those that are to be read with --sheet, or save them in several workbooks")
}

fn long_cell(file: &str) -> Failure {
    Failure::usage(format!("{file}: a cell of this workbook holds more than {} MiB of text", LONGEST_CELL >> 20))
        .hint("shorten it, or save the sheet as CSV in UTF-8")
}

fn long_texts(file: &str, left: Left) -> Failure {
    Failure::usage(format!(
        "{file}: the cells of this workbook that have more than {LONG_TEXT} bytes take more than {} MiB together, too much for a file of its size",
        left.long >> 20
    ))
    .hint("shorten them, or save the sheet as CSV in UTF-8")
}

/// Runs a reader of other people's making: if it gives up in the middle, that is one more damaged file.
fn quietly<T>(read: impl FnOnce() -> T) -> Option<T> {
    let hook = std::panic::take_hook();
    std::panic::set_hook(Box::new(|_| {}));
    let outcome = catch_unwind(AssertUnwindSafe(read));
    std::panic::set_hook(hook);
    outcome.ok()
}

enum Book<'a> {
    Xlsx(Xlsx<Cursor<&'a [u8]>>),
    Xls(Xls<Cursor<&'a [u8]>>),
}

impl Book<'_> {
    fn names(&self) -> Vec<String> {
        match self {
            Self::Xlsx(book) => book.sheet_names(),
            Self::Xls(book) => book.sheet_names(),
        }
    }

    fn counts_from_1904(&self) -> bool {
        match self {
            Self::Xlsx(book) => book.has_1904_epoch(),
            Self::Xls(book) => book.has_1904_epoch(),
        }
    }

    /// The merged cells of a sheet; the open document format does not tell them.
    fn merged(&mut self, name: &str) -> Vec<Merged> {
        let areas = match self {
            Self::Xlsx(book) => book.merge_cells_by_sheet_name(name).unwrap_or_default(),
            Self::Xls(book) => book.merge_cells_by_sheet_name(name).unwrap_or_default(),
        };
        let area = |area: calamine::Dimensions| Merged {
            rows: (u64::from(area.start.0) + 1, u64::from(area.end.0) + 1),
            columns: (area.start.1 as usize, area.end.1 as usize),
        };
        areas.into_iter().map(area).collect()
    }

    /// Puts the cells of a sheet into the grid; `None` when they cannot be read.
    fn fill(&mut self, name: &str, grid: &mut Grid) -> Option<()> {
        let range = match self {
            Self::Xlsx(book) => {
                let mut cells = book.worksheet_cells_reader(name).ok()?;
                let (mut last, mut missed, mut lost) = (None, false, false);
                loop {
                    let next = catch_unwind(AssertUnwindSafe(|| cells.next_cell()));
                    match next.unwrap_or(Err(XlsxError::Unexpected("a cell that its reader cannot take"))) {
                        Ok(None) => break,
                        Ok(Some(cell)) => {
                            let (row, column) = cell.get_position();
                            if column >= MOST_COLUMNS {
                                lost = true;
                                continue;
                            }
                            if std::mem::take(&mut lost) {
                                grid.spoil(row);
                            }
                            if std::mem::take(&mut missed) {
                                let before = grid.left.cells;
                                grid.mark_unreadable(last, (row, column))?;
                                if grid.left.cells == before {
                                    // Nothing is blank between the two: cells that do not say their place have moved.
                                    grid.spoil(row);
                                }
                            }
                            let value = cell.get_value();
                            let text = match value.get_string() {
                                Some(text) => text.to_owned(),
                                None => {
                                    let value = Data::from(value.clone());
                                    let text = written(&value, grid.decimal_comma);
                                    grid.as_shown((row, column), text, value.is_float() || value.is_int())
                                }
                            };
                            grid.put_unread_before((row, column))?;
                            let text = if grid.unread.remove(&(row, column)) { UNREADABLE.to_owned() } else { text };
                            grid.put(row, column, text)?;
                            last = Some((row, column));
                        }
                        // Its reader gives up a cell that it does not understand and goes on with the next one.
                        Err(
                            XlsxError::ParseFloat(_)
                            | XlsxError::CellError(_)
                            | XlsxError::CellTAttribute(_)
                            | XlsxError::Unexpected(_)
                            | XlsxError::Unrecognized { .. },
                        ) => missed = true,
                        // A cell whose place cannot be read may move those after it.
                        Err(
                            XlsxError::Alphanumeric(_)
                            | XlsxError::NumericColumn(_)
                            | XlsxError::RangeWithoutColumnComponent
                            | XlsxError::RangeWithoutRowComponent
                            | XlsxError::ColumnNumberOverflow
                            | XlsxError::RowNumberOverflow,
                        ) => lost = true,
                        Err(_) => return None,
                    }
                }
                grid.put_unread_before((u32::MAX, u32::MAX))?;
                if let (true, Some((row, _))) = (lost, last) {
                    grid.spoil(row);
                }
                if let (true, Some((row, column))) = (missed, last) {
                    grid.mark_unreadable(last, (row, column.saturating_add(MOST_COLUMNS)))?;
                }
                return Some(());
            }
            Self::Xls(book) => book.worksheet_range(name).ok()?,
        };
        let (top, left) = range.start().unwrap_or_default();
        for (row, column, value) in range.used_cells() {
            let row = top.checked_add(u32::try_from(row).ok()?)?;
            let column = left.checked_add(u32::try_from(column).ok()?)?;
            let text = written(value, grid.decimal_comma);
            let text = grid.as_shown((row, column), text, value.is_float() || value.is_int());
            grid.put(row, column, text)?;
        }
        Some(())
    }
}

#[cfg(test)]
mod tests;
