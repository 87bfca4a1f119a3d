//! Sheets that are no plain table, turned into one before they are read: dates, phases or stages in columns, a sheet per motor,
//! area or quarter, measuring points in rows, several blocks, two rows of headers.
//!
//! Every cell of a sheet is looked at in the light of what its column headers, its row, its block and its sheet say. From those
//! that hold something measured, `table` makes one row per test in the plain form, and keeps the place of each. What cannot be
//! placed is rejected, or said where it holds no measurement.

mod blocks;
mod cells;
mod context;
mod entries;
mod grid;
mod headers;
mod join;
pub mod label;
mod plan;
mod table;

use super::delimited::Layout;
use super::document::Document;
use super::mapping::Mapping;
use super::{ReadingRules, columns::Columns};
use crate::error::shown;
use grid::{GridRow, rows_of};
use groundwall::record::columns::Column;
use groundwall::record::validate::Fault;
use label::{Field, Label};

/// A cell of a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct CellPlace {
    /// Line of the file, or row of the sheet, from one.
    pub line: u64,
    /// Column, from zero.
    pub column: usize,
}

impl CellPlace {
    /// The cell as spreadsheets name it: `C7`.
    #[must_use]
    pub fn name(self) -> String {
        let (mut letters, mut rest) = (Vec::new(), self.column + 1);
        while rest > 0 {
            letters.push(char::from(b'A' + ((rest - 1) % 26) as u8));
            rest = (rest - 1) / 26;
        }
        let letters: String = letters.into_iter().rev().collect();
        format!("{letters}{}", self.line)
    }
}

/// A sheet as a plain table.
#[derive(Clone, Debug, PartialEq)]
pub struct Arranged {
    /// The plain table with its header.
    pub text: Vec<u8>,
    /// The cell that each row of the plain table comes from: that of its first reading.
    pub places: Vec<CellPlace>,
    /// Cells with a measurement that belongs to no test.
    pub unplaced: Vec<(CellPlace, String, Fault)>,
    /// Headers of columns that were not read.
    pub ignored: Vec<String>,
    /// How many rows hold no test by what they say of themselves.
    pub not_done: u64,
    /// Sentences about how it was read.
    pub remarks: Vec<String>,
}

/// What a sheet is called, and whether its workbook has others.
#[derive(Clone, Copy, Debug)]
pub struct SheetName<'a> {
    /// The name in messages.
    pub place: &'a str,
    /// The name of the sheet.
    pub sheet: Option<&'a str>,
    /// Whether there are other sheets.
    pub several: bool,
}

/// A document as a plain table, where it is none and its layout is understood.
#[must_use]
pub fn arrange(document: &Document, rules: &ReadingRules, name: SheetName<'_>) -> Option<Arranged> {
    let rows = rows_of(document)?;
    // Merged cells are filled in the grid only, so a table with values that reach down several rows is no plain one.
    let header =
        rows.iter().take(super::workbook::HEADER_WITHIN).find(|row| rules.fits(&row.cells)).map(|row| row.line);
    let reaches_down = header.is_some_and(|header| {
        document.merged.iter().any(|merged| merged.rows.0 > header && merged.rows.1 > merged.rows.0)
    });
    if !reaches_down && is_plain(&rows, rules) {
        return None;
    }
    let mut arranged = table::arrange(&rows, rules, name, reaches_down)?;
    arranged.text = delimited(&arranged.text, document.layout);
    Some(arranged)
}

/// The header of a column that says what each row measures.
#[must_use]
pub fn point_header(header: &[String], mapping: &Mapping) -> Option<String> {
    let is_point = |name: &&String| Label::read(name, mapping).field == Some(Field::Point);
    header.iter().find(is_point).map(|name| shown(name.trim()))
}

/// Puts the delimiter of a file into a text delimited by unit separators.
fn delimited(text: &[u8], layout: Layout) -> Vec<u8> {
    let mut out = Vec::with_capacity(text.len() + text.len() / 8);
    for line in text.split(|byte| *byte == b'\n') {
        if line.is_empty() {
            continue;
        }
        for (i, cell) in line.split(|byte| *byte == table::SEPARATOR).enumerate() {
            if i > 0 {
                out.push(layout.delimiter);
            }
            if cell.contains(&layout.delimiter) || cell.contains(&b'"') {
                out.push(b'"');
                for byte in cell {
                    out.extend_from_slice(if *byte == b'"' { b"\"\"" } else { std::slice::from_ref(byte) });
                }
                out.push(b'"');
            } else {
                out.extend_from_slice(cell);
            }
        }
        out.push(b'\n');
    }
    out
}

/// Whether a sheet is a plain table: one header that names everything, one row per test.
fn is_plain(rows: &[GridRow], rules: &ReadingRules) -> bool {
    let fits = |row: &&GridRow| rules.fits(&row.cells);
    let Some(at) = rows.iter().take(super::workbook::HEADER_WITHIN).position(|row| fits(&row)) else { return false };
    let header = &rows[at];
    let labels = cells::labels_of(header, &rules.mapping);
    let columns = Columns::resolve(header.cells.clone(), &rules.mapping);
    let is_own = |place: usize| columns.known.iter().any(|(known, _)| *known == place);
    let pivots = labels.iter().enumerate().filter(|(place, label)| {
        label.connection.is_some()
            || label.stage.is_some()
            || label.is_dated()
            || (label.phase.is_some() && !is_own(*place))
    });
    let is_generic = columns
        .header
        .iter()
        .any(|name| matches!(Label::read(name, &rules.mapping).field, Some(Field::Column(Column::Resistance(_)))));
    let has_point = labels.iter().any(|label| label.field == Some(Field::Point))
        || (is_generic
            && (0..header.cells.len()).filter(|place| !is_own(*place) && !header.cells[*place].is_empty()).any(
                |place| {
                    let cells =
                        rows[at + 1..].iter().map(|row| row.cells[place].as_str()).filter(|cell| !cell.is_empty());
                    cells::names_points(cells, &rules.mapping)
                },
            ));
    let repeats = rows[at + 1..].iter().any(|row| row.cells == header.cells);
    let winding = columns.known.iter().find(|(_, column)| *column == Column::Winding);
    let blank_names = winding.is_some_and(|(place, _)| {
        let (mut blank, mut named) = (0, 0);
        for row in &rows[at + 1..] {
            if row.cells[*place].is_empty() { blank += 1 } else { named += 1 }
        }
        2 * blank > named && blank > 2
    });
    let above = rows[..at].last().map(|row| cells::labels_of(row, &rules.mapping)).unwrap_or_default();
    let groups =
        above.iter().filter(|label| label.connection.is_some() || label.stage.is_some() || label.is_dated()).count();
    let unit_above = rows[..at].iter().any(|row| context::unit_of_title(row).is_some());
    let has_groups = groups > 1 && rows[at - 1].only().is_none();
    pivots.count() < 2
        && !has_groups
        && !has_point
        && !repeats
        && !blank_names
        && !unit_above
        && !cells::is_label_row(rows.get(at + 1), &rules.mapping)
}
