//! A sheet of a workbook as delimited text: one line per row of the sheet, so that everything downstream sees text.
//!
//! Numbers keep all their digits, dates become ISO dates, formulas give their stored values. A hostile workbook is refused
//! before it is opened ([`super::unpack`]); its cells are read one by one, so that two cells in far corners cost no grid.

use super::comments::Comments;
use super::layout::CellPlace;
use super::number_formats::{self, CellFormats, CellStyles, Format, Formatted, Shown};
use super::rows::{LONGEST_QUOTED, is_line_end};
use super::{compound, open_document, records, unpack, xml_parts};
use crate::error::{Failure, shown};
use calamine::{Data, DataType, Reader, Xls, Xlsx, XlsxError};
use groundwall::record::validate::DayCount;
use std::collections::{BTreeSet, HashMap};
use std::fmt::Write as _;
use std::io::{BufReader, Cursor};
use std::panic::{AssertUnwindSafe, catch_unwind};

/// Old binary workbooks end at 65,536 rows; a larger file than this is none that people wrote.
const GREATEST_BINARY: usize = 64 << 20;
/// The text of one cell has at most so many bytes. Spreadsheet programs stop at 32,767 characters.
pub(super) const LONGEST_CELL: usize = 1 << 20;
/// The header is looked for among so many rows.
pub const HEADER_WITHIN: usize = 40;

/// A cell with more bytes is a long text. All of them together may take so many bytes, or as many as the file has: a cell that repeats costs
/// nothing in the file, and each of its copies is looked through.
const LONG_TEXT: usize = 1000;
const LONG_TEXTS: u64 = 4 << 20;

/// What stands for a cell that cannot be read. It has a control character, which no name has.
pub(super) const UNREADABLE: &str = "unreadable\u{7f}";
/// Cells are marked as unreadable in so many rows at once; where more are in doubt, the workbook is damaged.
const MOST_ROWS_MARKED: u32 = 100;
/// Columns that a sheet of this kind can have.
const MOST_COLUMNS: u32 = 16_384;
/// Sheets with cells that a workbook may have.
const MOST_SHEETS: usize = 2000;
/// Rows with cells that a workbook may have however small it is; a larger one may have one for so many of its bytes. Test
/// sheets take ten bytes a row and more, packed. Each row costs time and memory beside its text.
const SMALL_ROWS: u64 = 250_000;
const BYTES_A_ROW: u64 = 8;
/// The same of cells; a larger workbook may have one for each of its bytes.
const SMALL_CELLS: u64 = 2_000_000;

/// One sheet as text delimited by commas.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sheet {
    /// Its name.
    pub name: String,
    /// The rows.
    pub text: Vec<u8>,
    /// Its rows that take several lines of the text, because cells hold line breaks.
    pub tall: Vec<Tall>,
    /// Its merged cells.
    pub merged: Vec<Merged>,
    /// The first cell whose number is shown with a unit by its format, and the unit.
    pub shown_in: Option<(CellPlace, &'static str)>,
    /// The first cell whose number is shown as a name by its format, the number and the name.
    pub shown_as: Option<(CellPlace, String, String)>,
}

/// A row of a sheet that takes several lines of its text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Tall {
    /// Its first and last line in the text.
    pub lines: (u64, u64),
    /// Lines up to its end beyond one for each row.
    pub surplus: u64,
}

impl Tall {
    /// The row that is on a line of the text, where these are tall.
    #[must_use]
    pub fn row_at(tall: &[Self], line: u64) -> u64 {
        let before = tall.partition_point(|row| row.lines.0 < line);
        let last = before.checked_sub(1).map(|at| tall[at]);
        last.map_or(line, |row| line + row.lines.1.saturating_sub(line) - row.surplus)
    }
}

/// Cells that were merged into one; the value of the first belongs to all of them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Merged {
    /// First and last row, from one.
    pub rows: (u64, u64),
    /// First and last column, from zero.
    pub columns: (usize, usize),
}

/// The sheets of a workbook that are to be read.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheets {
    /// Those that hold any cell, in their order.
    pub sheets: Vec<Sheet>,
    /// Names of the sheets that the user left out.
    pub left_out: Vec<String>,
    /// How the workbook counts days.
    pub days: DayCount,
    /// Its comments beside cells.
    pub comments: Comments,
}

/// Which sheets of a workbook are to be read.
#[derive(Clone, Copy, Debug, Default)]
pub struct SheetChoice<'a> {
    /// Names or patterns of those to be read; all where there is none.
    pub wanted: &'a [String],
    /// Names or patterns of those to be left out.
    pub skipped: &'a [String],
}

impl SheetChoice<'_> {
    /// Whether a sheet is to be read.
    fn takes(self, name: &str) -> bool {
        let named = |patterns: &[String]| patterns.iter().any(|pattern| fits(pattern, name));
        (self.wanted.is_empty() || named(self.wanted)) && !named(self.skipped)
    }

    /// Every name or pattern must fit a sheet.
    fn must_fit(self, file: &str, names: &[String]) -> Result<(), Failure> {
        let mut patterns = self.wanted.iter().chain(self.skipped);
        match patterns.find(|pattern| !names.iter().any(|name| fits(pattern, name))) {
            None => Ok(()),
            Some(pattern) => {
                let all: Vec<String> = names.iter().map(|name| shown(name)).collect();
                Err(Failure::usage(format!("{file}: there is no sheet {}", shown(pattern)))
                    .hint(format!("the sheets are {}", all.join(", "))))
            }
        }
    }
}

/// Whether a name or pattern fits the name of a sheet; case and outer blanks do not matter.
fn fits(pattern: &str, name: &str) -> bool {
    let plain = |text: &str| text.trim().to_lowercase();
    plain(pattern) == plain(name)
        || glob::Pattern::new(&plain(pattern)).is_ok_and(|pattern| pattern.matches(&plain(name)))
}

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

/// Why a workbook is not read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Trouble {
    /// It is damaged, or protected.
    Damaged,
    /// Its cells take more than they may.
    TooLarge,
    /// One of its cells does.
    LongCell,
    /// Its long texts take more than a file of its size needs.
    LongTexts,
    /// It has more rows or cells than a file of its size needs.
    TooMany,
    /// It has more sheets than people look through.
    ManySheets,
}

/// Rows with cells, and cells, that a workbook may still have.
#[derive(Clone, Copy, Debug)]
pub(super) struct Left {
    rows: u64,
    cells: u64,
    /// Bytes of long texts.
    long: u64,
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

/// The sheets that are asked for, on their way out of a workbook.
pub(super) struct Choice<'a> {
    choice: SheetChoice<'a>,
    decimal_comma: bool,
    limit: u64,
    names: Vec<String>,
    left_out: Vec<String>,
    sheets: Vec<Sheet>,
    size: u64,
    counts: Left,
    /// Comments beside cells.
    pub(super) comments: Comments,
}

impl<'a> Choice<'a> {
    /// The cells of the sheets may take so many bytes as text.
    pub(super) fn new(choice: SheetChoice<'a>, decimal_comma: bool, limit: u64, counts: Left) -> Self {
        let (names, left_out, sheets) = (Vec::new(), Vec::new(), Vec::new());
        let comments = Comments::default();
        Self { choice, decimal_comma, limit, names, left_out, sheets, size: 0, counts, comments }
    }

    /// A grid for the sheet of this name; none if it need not be read.
    pub(super) fn begin(&mut self, name: &str) -> Option<Grid> {
        self.names.push(name.to_owned());
        let is_chosen = self.choice.takes(name);
        if !is_chosen {
            self.left_out.push(name.to_owned());
        }
        let left = self.limit.saturating_sub(self.size);
        is_chosen.then(|| Grid::new(name, self.decimal_comma, left, self.counts))
    }

    /// Takes a sheet that was read.
    ///
    /// # Errors
    ///
    /// That the workbook grows beyond its limits.
    pub(super) fn offer(&mut self, grid: Grid) -> Result<(), Trouble> {
        let (sheet, counts) = grid.finish()?;
        self.counts = counts;
        self.size += sheet.text.len() as u64;
        if !sheet.text.trim_ascii().is_empty() {
            self.sheets.push(sheet);
        }
        if self.sheets.len() > MOST_SHEETS { Err(Trouble::ManySheets) } else { Ok(()) }
    }

    /// The first sheet that was read.
    #[cfg(test)]
    pub(super) fn take(&mut self) -> Sheet {
        if self.sheets.is_empty() { Sheet::default() } else { self.sheets.remove(0) }
    }

    fn chosen(self, file: &str, days: DayCount) -> Result<Sheets, Failure> {
        self.choice.must_fit(file, &self.names)?;
        Ok(Sheets { sheets: self.sheets, left_out: self.left_out, days, comments: self.comments })
    }
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

/// A cell as a planner would write it into a CSV file.
fn written(value: &Data, decimal_comma: bool) -> String {
    match value {
        Data::Int(value) => value.to_string(),
        Data::Float(value) => number(*value, decimal_comma),
        Data::String(text) => text.clone(),
        Data::Bool(value) => if *value { "TRUE" } else { "FALSE" }.to_owned(),
        Data::DateTime(day) => match day.as_datetime().filter(|_| day.is_datetime()) {
            // Times are stored as fractions of a day and come out a few milliseconds beside the second.
            Some(at) => iso(&(at + chrono::Duration::milliseconds(500)).format("%Y-%m-%dT%H:%M:%S").to_string()),
            None => number(day.as_f64(), decimal_comma),
        },
        Data::DateTimeIso(text) => iso(text),
        Data::DurationIso(text) => text.clone(),
        Data::Error(error) => error.to_string(),
        Data::Empty => String::new(),
    }
}

/// A number with all its digits.
pub(super) fn number(value: f64, decimal_comma: bool) -> String {
    let text = value.to_string();
    if decimal_comma { text.replace('.', ",") } else { text }
}

/// Midnight is a date without an hour; seconds of nought are not written.
pub(super) fn iso(text: &str) -> String {
    let text = text.split('.').next().unwrap_or(text);
    let text = text.strip_suffix("T00:00:00").unwrap_or(text);
    let minutes = text.strip_suffix(":00").filter(|rest| rest.len() == "0000-00-00T00:00".len());
    minutes.unwrap_or(text).to_owned()
}

/// Rows of a sheet on their way into text.
pub(super) struct Grid {
    sheet: Sheet,
    pub(super) decimal_comma: bool,
    /// Bytes that the cells may take as text, and those of the cells so far.
    limit: u64,
    bytes: u64,
    left: Left,
    /// The rows among which the header stands; every later row is made as wide as the widest of them.
    first: Vec<Vec<String>>,
    /// The row being filled.
    row: Vec<String>,
    /// How many rows have been ended.
    ended: usize,
    width: usize,
    lines: u64,
    trouble: Option<Trouble>,
    /// A row of whose cells one cannot be placed.
    spoilt: Option<usize>,
    /// Cells whose numbers are shown with a unit or as names by their format.
    formatted: Formatted,
    /// Cells that hold something which cannot be told.
    unread: BTreeSet<(u32, u32)>,
}

impl Grid {
    fn new(name: &str, decimal_comma: bool, limit: u64, left: Left) -> Self {
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
    fn as_shown(&mut self, place: (u32, u32), text: String, is_number: bool) -> String {
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
    fn put_unread_before(&mut self, place: (u32, u32)) -> Option<()> {
        while let Some((row, column)) = self.unread.first().copied().filter(|first| *first < place) {
            self.unread.remove(&(row, column));
            self.put(row, column, UNREADABLE.to_owned())?;
        }
        Some(())
    }

    /// Marks all cells of the row that is being filled, and of the one whose cell is next: a cell between the two cannot be placed, and those
    /// beside it may stand elsewhere.
    fn spoil(&mut self, next: u32) {
        self.row.iter_mut().filter(|cell| !cell.is_empty()).for_each(|cell| UNREADABLE.clone_into(cell));
        self.spoilt = usize::try_from(next).ok();
    }

    /// Marks every empty cell between two that were read: one of them could not be, and its reader does not say which. No rule
    /// takes the mark for a value, so the rows concerned are rejected and not misread.
    fn mark_unreadable(&mut self, after: Option<(u32, u32)>, before: (u32, u32)) -> Option<()> {
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
    fn finish(mut self) -> Result<(Sheet, Left), Trouble> {
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

#[cfg(test)]
mod tests;
