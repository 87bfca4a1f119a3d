//! Sheets that are no plain table, turned into one before they are read: dates, phases or stages in columns, a sheet per motor,
//! area or quarter, measuring points in rows, several blocks, two rows of headers.
//!
//! Every cell of a sheet is looked at in the light of what its column headers, its row, its block and its sheet say. From those
//! that hold something measured, `table` makes one row per test in the plain form, and keeps the place of each. What cannot be
//! placed is rejected, or said where it holds no measurement.

mod arranged;
mod ask;
mod bands;
mod blocks;
mod cells;
mod context;
mod described;
mod divided;
mod draft;
mod entries;
mod entry;
mod grid;
mod header_rows;
mod headers;
mod join;
pub mod label;
mod label_reader;
mod open;
mod phases;
mod plain;
mod plan;
mod points;
mod range;
mod refused;
mod sheet;
mod sheet_name;
mod signs;
mod table;
mod texts;
mod titles;
mod turned;
mod understood;
mod units;
mod unnamed;
mod years;
use super::delimited::Layout;
use super::description::Description;
use super::document::Document;
use super::mapping::Mapping;
use super::reading_rules::ReadingRules;
use crate::error::{Failure, shown};
pub use arranged::{Arranged, KnownTest, Unplaced};
pub(super) use cells::is_derived;
use divided::Divided;
pub use grid::Limits;
use grid::{GridRow, NoGrid, first_rows_of, rows_of};
use label::{Field, Label};
pub use label_reader::LabelReader;
use plain::{is_plain, readings_above};
pub use refused::Refused;
pub use sheet_name::SheetName;
use table::{Kind, Outcome};
use turned::Turned;
use understood::must_be_understood;

/// A document as a plain table, where it is none and its layout is understood.
///
/// # Errors
///
/// [`Refused`] where it is no plain table and has too many cells to be arranged, where a title says that its values are no
/// resistances as they were read, and where a layout that is described finds no test.
pub fn arrange(
    document: &Document,
    rules: &ReadingRules,
    reader: &LabelReader<'_>,
    name: SheetName<'_>,
    limits: &mut Limits,
) -> Result<Option<Arranged>, Refused> {
    if rules.plain_only {
        return Ok(None);
    }
    let mut rows = match rows_of(document, limits) {
        Ok(rows) => rows,
        Err(NoGrid::TooLarge) if is_other(document, rules) => return Err(Refused::by_size(name, limits)),
        Err(_) => {
            must_read_all(document, rules, name)?;
            return Ok(None);
        }
    };
    let signs =
        if signs::are_there(&rows) { signs::find(&blocks::blocks(&rows, reader), reader, name)? } else { Vec::new() };
    signs::join(&mut rows, &signs);
    let divided = Divided::of(&mut rows, reader);
    let is_rewritten = !signs.is_empty() || !divided.is_empty();
    let described: Vec<&Description> = rules.layouts.iter().filter(|layout| layout.fits(name.sheet)).collect();
    if !described.is_empty() {
        let mut arranged = described::arrange(&rows, rules, reader, name, limits, &described)?;
        arranged.text = delimited(&arranged.text, document.layout);
        return Ok(Some(arranged));
    }
    if let Some(turned) = Turned::of(&rows, reader) {
        return match table::arrange(&turned.rows, rules, reader, name, limits, Kind::Turned(&turned)) {
            Outcome::NoLayout => Err(Refused::by_turned(name)),
            outcome => arranged_of(outcome, document, name, limits).map(Some),
        };
    }
    // Merged cells are filled in the grid only, so a table with values that reach down several rows is no plain one.
    let header = header_of(&rows, rules);
    // A header in cells that are merged down is one of several rows, and the plain reading would begin at another.
    let as_written = header_of(&first_rows_of(document), rules);
    let is_filled = as_written != header;
    let reaches_down = header.is_some_and(|at| {
        let header = rows[at].line;
        document.merged.iter().any(|merged| merged.rows.0 > header && merged.rows.1 > merged.rows.0)
    });
    let may_be_plain = !reaches_down && !is_filled && !is_rewritten;
    if let Some(at) = header.filter(|at| may_be_plain && is_plain(&rows, *at, rules, reader)) {
        if let Some(question) = open::of_a_merged_header(&rows, at, &document.merged, reader, name) {
            return Err(question.into());
        }
        must_be_understood(&rows, at, rules, reader, name)?;
        return Ok(None);
    }
    let from = match (is_rewritten, reaches_down) {
        (true, _) => Kind::Rewritten { signs: !signs.is_empty(), divided: !divided.is_empty() },
        (false, true) => Kind::Filled,
        (false, false) => Kind::Rows,
    };
    match table::arrange(&rows, rules, reader, name, limits, from) {
        Outcome::NoLayout => {
            if let Some(sign) = signs.first() {
                return Err(signs::not_read(name, sign).into());
            }
            if let Some(column) = divided.first() {
                let message = format!(
                    "{}: the cells of column {} hold several readings each, and it is not understood of which tests",
                    name.place,
                    column + 1
                );
                let hint =
                    "write one reading in a cell, each below a header of its own such as IR 1 min (MΩ) or U-E (MΩ)";
                return Err(Failure::usage(message).hint(hint).into());
            }
            let read_at = header.or(as_written);
            if let Some(question) =
                read_at.and_then(|at| open::of_a_merged_header(&rows, at, &document.merged, reader, name))
            {
                return Err(question.into());
            }
            if let Some(at) = header {
                if let Some(line) = readings_above(&rows, at) {
                    let message = format!(
                        "{}: the header in row {} has rows with numbers above it, such as row {line}, and it is not understood what they are",
                        name.place, rows[at].line
                    );
                    let hint = "put each table on a sheet or into a file of its own, or take those rows out if they are no tests";
                    return Err(Failure::usage(message).hint(hint).into());
                }
                if is_filled {
                    let message = format!(
                        "{}: the header takes several rows in merged cells, down to row {}, and it is not understood what its columns hold",
                        name.place, rows[at].line
                    );
                    let hint = "write it in one row, with what each column holds and its unit, such as IR 1 min (MΩ)";
                    return Err(Failure::usage(message).hint(hint).into());
                }
                must_be_understood(&rows, at, rules, reader, name)?;
            }
            Ok(None)
        }
        outcome => {
            let mut arranged = arranged_of(outcome, document, name, limits)?;
            let places = arranged.places.iter_mut().chain(arranged.unplaced.iter_mut().map(|cell| &mut cell.place));
            places.for_each(|place| place.column = divided.written_in(place.column));
            Ok(Some(arranged))
        }
    }
}

/// A sheet that was arranged, or why it is refused.
fn arranged_of(
    outcome: Outcome,
    document: &Document,
    name: SheetName<'_>,
    limits: &Limits,
) -> Result<Arranged, Refused> {
    match outcome {
        Outcome::Arranged(mut arranged) => {
            arranged.text = delimited(&arranged.text, document.layout);
            Ok(arranged)
        }
        Outcome::NoLayout => Err(Refused::by_turned(name)),
        Outcome::TwoNames(sheet, title) => Err(Refused::by_names(name, &sheet, &title)),
        Outcome::UnreadReadings(headers) => Err(Refused::by_columns(name, &headers)),
        Outcome::TooLarge => Err(Refused::by_size(name, limits)),
        Outcome::NoResistances(values, title) => Err(Refused::by_title(name, values, &title)),
        Outcome::Failed(failure) => Err(failure.into()),
    }
}

/// Refuses a plain table with columns that seem to hold readings and are not read, by its first rows.
///
/// # Errors
///
/// [`Refused`] with their headers.
pub fn must_read_all(document: &Document, rules: &ReadingRules, name: SheetName<'_>) -> Result<(), Refused> {
    let (rows, reader) = (first_rows_of(document), Limits::of_bytes(0, 4).label_reader(&rules.mapping));
    let Some(at) = header_of(&rows, rules) else { return Ok(()) };
    must_be_understood(&rows, at, rules, &reader, name)
}

/// Whether the first rows of a document are no plain table.
#[must_use]
pub fn is_other(document: &Document, rules: &ReadingRules) -> bool {
    rules.layouts.iter().any(|layout| layout.fits(document.sheet.as_deref())) || {
        let (rows, reader) = (first_rows_of(document), Limits::of_bytes(0, 4).label_reader(&rules.mapping));
        !header_of(&rows, rules).is_some_and(|at| is_plain(&rows, at, rules, &reader))
    }
}

/// A `[[layout]]` to be corrected, for a document that is not understood.
#[must_use]
pub fn suggestion(document: &Document) -> Option<String> {
    described::suggestion(&first_rows_of(document), document.sheet.as_deref())
}

/// The header of a column that says what each row measures.
#[must_use]
pub fn point_header(header: &[String], mapping: &Mapping) -> Option<String> {
    let is_point = |name: &&String| Label::read(name, mapping).field == Some(Field::Point);
    header.iter().find(is_point).map(|name| shown(name.trim()))
}

/// Whether a header says what other cells of its row are, the measuring point or the unit, which a row per test says in its headers.
#[must_use]
pub fn is_of_the_layout(name: &str, mapping: &Mapping) -> bool {
    matches!(Label::read(name, mapping).field, Some(Field::Point | Field::Unit))
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

/// The first row that can be the header of a plain table.
fn header_of(rows: &[GridRow], rules: &ReadingRules) -> Option<usize> {
    rows.iter().take(super::delimited::HEADER_WITHIN).position(|row| rules.fits(&row.cells))
}

#[cfg(test)]
mod tests;
