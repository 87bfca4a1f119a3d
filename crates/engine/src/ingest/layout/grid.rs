//! The cells of a text or a sheet as a grid, with the value of merged cells in all cells that they cover.

use super::label_reader::LabelReader;
use crate::ingest::columns::MOST_COLUMNS;
use crate::ingest::delimited::HEADER_WITHIN;
use crate::ingest::document::Document;
use crate::ingest::mapping::Mapping;
use crate::ingest::rows::Row;
use crate::ingest::sample::FirstRows;
use crate::ingest::sheet::Merged;

/// What a sheet of another layout may hold: a larger one is none that people keep, and is read as a plain table or not at all.
/// A file may have few bytes and many cells, and every cell and test costs memory and time beside its text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Cells of its grid, blank ones among them.
    pub(super) cells: usize,
    /// Cells with something measured that the sheets still to come may have.
    pub(super) values: usize,
    /// The same for all sheets of a file.
    pub(super) of_file: usize,
    /// How often a value that belongs to several tests may be put into one.
    pub(super) shared: usize,
    /// Cells of the plain table that a sheet becomes: each test has one for every quantity and time in the sheet.
    pub(super) arranged: usize,
    /// Bytes of text that are read as labels.
    pub(super) labels: usize,
}

impl Limits {
    /// Those of a text, or of the sheets of a workbook of so many bytes: in a workbook a reading takes eight bytes and more, in a
    /// text four with its delimiter.
    #[must_use]
    pub fn of(documents: &[Document], workbook: usize) -> Self {
        match documents {
            [Document { sheet: None, text, .. }] => Self::of_bytes(text.len(), 4),
            _ => Self::of_bytes(workbook, 8),
        }
    }

    /// Reads the labels of the file.
    #[must_use]
    pub fn label_reader<'m>(&self, mapping: &'m Mapping) -> LabelReader<'m> {
        LabelReader::new(mapping, self.labels)
    }

    /// Those of so many bytes, of which each reading takes some.
    pub(super) fn of_bytes(length: usize, reading: usize) -> Self {
        let values = (length / reading).clamp(150_000, 1_000_000);
        Self {
            cells: (length / 2).clamp(1_000_000, 4_000_000),
            values,
            of_file: values,
            shared: 8 * values,
            arranged: 16_000_000,
            labels: length.max(LABELS),
        }
    }
}

/// Bytes of labels in the smallest file: most labels are a few texts that come again and again.
const LABELS: usize = 2 << 20;

/// Cells of the first rows of a document, beyond which fewer rows are looked at.
const MOST_CELLS_AHEAD: usize = 1_000_000;

/// One row that is not blank.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct GridRow {
    /// Line of the file, or row of the sheet.
    pub line: u64,
    /// Its cells without blanks around them; every row has as many.
    pub cells: Vec<String>,
}

impl GridRow {
    /// Its cells that hold anything, with their places.
    pub(super) fn filled(&self) -> impl Iterator<Item = (usize, &str)> {
        self.cells.iter().enumerate().map(|(place, cell)| (place, cell.as_str())).filter(|(_, cell)| !cell.is_empty())
    }

    /// Its only text, where all its filled cells say the same, as those of a merged title do.
    #[must_use]
    pub(super) fn only(&self) -> Option<(usize, &str)> {
        let mut filled = self.filled();
        let first = filled.next()?;
        filled.all(|(_, cell)| cell == first.1).then_some(first)
    }
}

/// Why a document is not held as a grid.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum NoGrid {
    /// It has too many cells.
    TooLarge,
    /// A row cannot be separated into cells of text.
    NoCells,
}

/// The rows of a document.
pub(super) fn rows_of(document: &Document, limits: &Limits) -> Result<Vec<GridRow>, NoGrid> {
    let mut found: Vec<GridRow> = Vec::new();
    let mut rows = document.rows();
    let (mut width, mut size) = (0, 0);
    while let Some(row) = rows.next_row() {
        let row = grid_row(&row, document).ok_or(NoGrid::NoCells)?;
        width = width.max(row.cells.len());
        size += row.cells.len();
        if size > limits.cells || width.saturating_mul(found.len() + 1) > 2 * limits.cells || width > MOST_COLUMNS {
            return Err(NoGrid::TooLarge);
        }
        found.push(row);
    }
    widen(&mut found, width);
    let mut budget = limits.cells;
    for merged in &document.merged {
        budget = budget.checked_sub(spread(&mut found, merged)).ok_or(NoGrid::TooLarge)?;
    }
    Ok(found)
}

/// The first rows of a document, as far as they can be separated into cells.
pub(super) fn first_rows_of(document: &Document) -> Vec<GridRow> {
    let mut found: Vec<GridRow> = Vec::new();
    FirstRows::of(document.rows()).each(|row| found.extend(grid_row(row, document)));
    // No header is wider, and a row that is would make all others as wide.
    found.iter_mut().for_each(|row| row.cells.truncate(MOST_COLUMNS));
    let width = found.iter().map(|row| row.cells.len()).max().unwrap_or(0);
    if width.saturating_mul(found.len()) > MOST_CELLS_AHEAD {
        found.truncate(HEADER_WITHIN);
    }
    widen(&mut found, width);
    found
}

fn grid_row(row: &Row<'_, '_>, document: &Document) -> Option<GridRow> {
    std::str::from_utf8(row.raw).ok()?;
    let mut cells: Vec<String> = row.cells.ok()?.texts().iter().map(|cell| one_line(cell)).collect();
    cells.truncate(cells.iter().rposition(|cell| !cell.is_empty()).map_or(0, |last| last + 1));
    Some(GridRow { line: document.line(row.line), cells })
}

fn widen(rows: &mut [GridRow], width: usize) {
    for row in rows {
        row.cells.resize(width, String::new());
    }
}

/// A cell on one line, without blanks around it.
fn one_line(cell: &str) -> String {
    let cell = cell.trim();
    if cell.contains(['\n', '\r', '\t']) {
        cell.split_whitespace().collect::<Vec<_>>().join(" ")
    } else {
        cell.to_owned()
    }
}

/// Puts the value of merged cells into all of them, and tells how many were looked at.
fn spread(rows: &mut [GridRow], merged: &Merged) -> usize {
    let first = rows.partition_point(|row| row.line < merged.rows.0);
    let Some(value) =
        rows.get(first).filter(|row| row.line == merged.rows.0).and_then(|row| row.cells.get(merged.columns.0))
    else {
        return 1;
    };
    let value = value.clone();
    let mut seen = 1;
    for row in rows[first..].iter_mut().take_while(|row| row.line <= merged.rows.1) {
        for cell in row.cells.iter_mut().take(merged.columns.1 + 1).skip(merged.columns.0) {
            // Long texts count for more than one cell.
            seen += 1 + value.len() / 64;
            if cell.is_empty() {
                cell.clone_from(&value);
            }
        }
    }
    seen
}
