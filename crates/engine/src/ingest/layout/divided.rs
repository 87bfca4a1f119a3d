//! Cells that hold several readings, each named in the cell or in the header: `U-E 210, V-E 205`, and `410 / 1180` below
//! `1 min / 10 min (MΩ)`. They are divided into columns of their own.

use super::blocks::{self, Block};
use super::cells::meant;
use super::grid::GridRow;
use super::label::{self, Label};
use super::label_reader::LabelReader;
use crate::ingest::kinds::{is_reading, reads};
use groundwall::record::columns::Column;
use std::collections::BTreeSet;

/// More readings have no cell.
const MOST_PARTS: usize = 12;
/// Longer texts are notes.
const LONGEST_CELL: usize = 200;

/// The columns that were added, each with the column that its cells are written in.
pub(super) struct Divided {
    /// Columns of the sheet as it was.
    width: usize,
    /// The column of the sheet that each added one comes from.
    from: Vec<usize>,
}

/// The readings of a cell by the names of its parts.
type Named = Vec<(String, String)>;

/// A column whose cells are divided: its parts, and the readings of each row by part.
struct Division {
    place: usize,
    /// Line of the header.
    header: u64,
    /// Headers of the parts.
    names: Vec<String>,
    /// Rows by their lines, with the reading of each part.
    rows: Vec<(u64, Vec<String>)>,
}

impl Divided {
    /// Divides the cells of a sheet, where most of a column hold several readings.
    pub(super) fn of(rows: &mut [GridRow], reader: &LabelReader<'_>) -> Self {
        let width = rows.first().map_or(0, |row| row.cells.len());
        let mut from = Vec::new();
        let mut found = Vec::new();
        if rows.iter().flat_map(GridRow::filled).any(|(_, cell)| may_hold_several(cell, reader)) {
            for block in blocks::blocks(rows, reader) {
                found.extend((0..width).filter_map(|place| Division::of(&block, place, reader)));
            }
        }
        for division in found {
            let first = width + from.len();
            from.extend(division.names.iter().map(|_| division.place));
            rows.iter_mut().for_each(|row| row.cells.resize(width + from.len(), String::new()));
            let mut put = |line: u64, texts: Vec<String>| {
                let Ok(at) = rows.binary_search_by_key(&line, |row| row.line) else { return };
                rows[at].cells[division.place].clear();
                rows[at].cells[first..].clone_from_slice(&texts);
            };
            put(division.header, division.names);
            division.rows.into_iter().for_each(|(line, texts)| put(line, texts));
        }
        Self { width, from }
    }

    pub(super) const fn is_empty(&self) -> bool {
        self.from.is_empty()
    }

    /// The first column that was divided.
    pub(super) fn first(&self) -> Option<usize> {
        self.from.first().copied()
    }

    /// The column that a cell is written in.
    pub(super) fn written_in(&self, column: usize) -> usize {
        column.checked_sub(self.width).and_then(|added| self.from.get(added).copied()).unwrap_or(column)
    }
}

/// A test that the cells of most sheets fail.
fn may_hold_several(cell: &str, reader: &LabelReader<'_>) -> bool {
    let digits = |part: &str| part.bytes().any(|byte| byte.is_ascii_digit());
    let has_parts = |byte: u8| matches!(byte, b' ' | b'\t' | b':' | b'=' | b';' | b'|' | b'/') || !byte.is_ascii();
    digits(cell)
        && cell.len() <= LONGEST_CELL
        && cell.bytes().any(has_parts)
        && (cell.split_once('/').is_some_and(|(one, other)| digits(one) && digits(other) && !label::is_date(cell))
            || in_cell(cell, reader).is_some())
}

impl Division {
    fn of(block: &Block<'_>, place: usize, reader: &LabelReader<'_>) -> Option<Self> {
        let header = block.headers.iter().rev().find(|row| !row.cells[place].is_empty())?;
        let own = header.cells[place].as_str();
        let filled =
            || block.rows.iter().map(|row| (row.line, row.cells[place].as_str())).filter(|(_, cell)| !cell.is_empty());
        let are_most = |found: usize| found > 0 && 10 * found > 7 * filled().count();
        if let Some(names) = in_header(own, reader) {
            let parts = |cell: &str| {
                let parts: Vec<String> = cell.split('/').map(|part| part.trim().to_owned()).collect();
                let is_part = |part: &String| part.is_empty() || meant(part).is_some();
                (parts.len() == names.len() && parts.iter().all(is_part)).then_some(parts)
            };
            let divided = filled().filter(|(_, cell)| parts(cell).is_some()).count();
            let heads_reading = |name: &String| reader.read(name).column().is_none_or(is_reading);
            let first = names.iter().position(heads_reading);
            // A cell that is not divided is the reading, and the others of that row are missing.
            let whole = |cell: &str| {
                let mut texts = vec![String::new(); names.len()];
                cell.clone_into(texts.get_mut(first?)?);
                Some(texts)
            };
            let of_row = |(line, cell): (u64, &str)| Some((line, parts(cell).or_else(|| whole(cell))?));
            let rows: Option<Vec<(u64, Vec<String>)>> = filled().map(of_row).collect();
            return Some(Self { place, header: header.line, rows: rows.filter(|_| are_most(divided))?, names });
        }
        if !reader.read(own).column().is_some_and(is_reading) {
            return None;
        }
        let found: Vec<(u64, Named)> =
            filled().filter_map(|(line, cell)| Some((line, in_cell(cell, reader)?))).collect();
        // A number without the name of its part would be lost.
        let has_digit = |cell: &str| cell.contains(|c: char| c.is_ascii_digit());
        let numbers = filled().filter(|(_, cell)| has_digit(cell)).count();
        if !are_most(found.len()) || found.len() < numbers {
            return None;
        }
        let mut parts: Vec<String> = Vec::new();
        for (name, _) in found.iter().flat_map(|(_, named)| named) {
            if !parts.contains(name) {
                parts.push(name.clone());
            }
        }
        let of_row = |(line, named): (u64, Named)| {
            let text = |part: &String| named.iter().find(|(name, _)| name == part).map(|(_, text)| text.clone());
            (line, parts.iter().map(|part| text(part).unwrap_or_default()).collect())
        };
        let rows = found.into_iter().map(of_row).collect();
        let names = parts.iter().map(|part| format!("{part} {own}")).collect();
        (parts.len() <= MOST_PARTS).then_some(Self { place, header: header.line, names, rows })
    }
}

/// The headers that a header of several readings stands for: `IR 1 / 10 min (MΩ)`, `U/V/W (MΩ)`.
fn in_header(header: &str, reader: &LabelReader<'_>) -> Option<Vec<String>> {
    let (name, unit) = match header.strip_suffix([')', ']']).and_then(|rest| rest.rsplit_once(['(', '['])) {
        Some((name, unit)) => (name.trim(), format!(" ({unit})")),
        None => (header, String::new()),
    };
    let qualified = of_units(header, reader);
    if qualified.is_some() {
        return qualified;
    }
    let parts: Vec<&str> = name.split('/').map(str::trim).collect();
    if !(2..=MOST_PARTS).contains(&parts.len()) || parts.iter().any(|part| part.is_empty()) {
        return None;
    }
    // `1 / 10 min`: the unit of time is written once.
    let last = parts[parts.len() - 1];
    let time = last.trim_start_matches(|c: char| c.is_ascii_digit());
    let named = |part: &&str| {
        let is_number = part.ends_with(|c: char| c.is_ascii_digit()) && time.len() < last.len();
        format!("{part}{}{unit}", if is_number { time } else { "" })
    };
    let names: Vec<String> = parts.iter().map(named).collect();
    let labels: Vec<Label> = names.iter().map(|name| Label::clone(&reader.read(name))).collect();
    let time = |label: &Label| match label.column() {
        Some(Column::Reading(at, _)) => Some(at.to_string()),
        _ => None,
    };
    let is_custom = label::custom_of(labels.iter()).is_some();
    let phase = |label: &Label| {
        let letter = label.phase.as_ref().filter(|_| is_custom).map(|(letter, _)| letter.clone());
        label.connection.clone().or(letter)
    };
    let differ = |of: &dyn Fn(&Label) -> Option<String>| {
        labels.iter().filter_map(of).collect::<BTreeSet<String>>().len() == names.len()
    };
    (differ(&time) || differ(&phase)).then_some(names)
}

/// The headers of a reading and what was measured beside it, `IR / winding temp (MΩ / °C)`, or of two temperatures, `Temp °F (amb/wdg)`.
fn of_units(header: &str, reader: &LabelReader<'_>) -> Option<Vec<String>> {
    let (name, inside) = header.strip_suffix([')', ']'])?.rsplit_once(['(', '['])?;
    let (name, inside) = (name.trim(), inside.split('/').map(str::trim).collect::<Vec<_>>());
    let parts: Vec<&str> = name.split('/').map(str::trim).collect();
    let names: Vec<String> = if parts.len() == inside.len() {
        parts.iter().zip(&inside).map(|(part, unit)| format!("{part} ({unit})")).collect()
    } else if parts.len() == 1 {
        inside.iter().map(|part| format!("{part} {name}")).collect()
    } else {
        return None;
    };
    let is_measured = |column: Column| {
        is_reading(column) || matches!(column, Column::WindingTemp(_) | Column::AirTemp(_) | Column::Humidity)
    };
    let columns: BTreeSet<String> = names
        .iter()
        .filter_map(|name| reader.read(name).column().filter(|column| is_measured(*column)))
        .map(|column| column.to_string())
        .collect();
    (names.len() > 1 && columns.len() == names.len()).then_some(names)
}

/// The readings of a cell with the connection before each: `L1-E 210, L2-E 205`.
fn in_cell(cell: &str, reader: &LabelReader<'_>) -> Option<Named> {
    if cell.len() > LONGEST_CELL || !cell.starts_with(char::is_alphabetic) {
        return None;
    }
    let words = cell
        .split(|c: char| c.is_whitespace() || matches!(c, ':' | '=' | ';' | '|'))
        .map(|word| word.trim_matches([',', '/']))
        .filter(|word| !word.is_empty());
    let names_part = |word: &str| {
        let label = reader.read(word);
        !reads(word) && (label.connection.is_some() || label.phase.is_some())
    };
    let mut parts: Named = Vec::new();
    for word in words {
        match parts.last_mut() {
            _ if names_part(word) => parts.push((word.to_owned(), String::new())),
            Some((_, text)) => {
                // A unit follows its number.
                if !text.is_empty() {
                    text.push(' ');
                }
                text.push_str(word);
            }
            None => return None,
        }
    }
    let names: BTreeSet<&String> = parts.iter().map(|(name, _)| name).collect();
    let are_read = parts.iter().all(|(_, text)| meant(text).is_some());
    (parts.len() > 1 && names.len() == parts.len() && are_read).then_some(parts)
}
