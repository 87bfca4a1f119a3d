//! A sheet divided into blocks: titles, headers and the rows below them.

use super::cells::{continues, is_header, is_label_row, is_number};
use super::grid::GridRow;
use super::label::Field;
use super::label_reader::LabelReader;
use crate::ingest::kinds::{is_reading, reads};
use groundwall::record::columns::Column;
use groundwall::record::is_ditto;

/// Rows that headers may take.
pub(super) const HEADER_ROWS: usize = 3;

/// A part of a sheet with one header.
pub(super) struct Block<'a> {
    pub(super) titles: &'a [GridRow],
    pub(super) headers: &'a [GridRow],
    pub(super) rows: &'a [GridRow],
}

/// The blocks of a sheet.
pub(super) fn blocks<'a>(rows: &'a [GridRow], reader: &LabelReader<'_>) -> Vec<Block<'a>> {
    let mut bands: Vec<(usize, usize)> = Vec::new();
    let mut at = 0;
    while at < rows.len() {
        let above = bands.last().map(|(start, end)| &rows[*start..*end]);
        if !is_header(&rows[at], reader) || above.is_some_and(|headers| is_test_below(&rows[at], headers, reader)) {
            at += 1;
            continue;
        }
        // A row of groups above it, or rows of units and phases below it, belong to the header.
        let after_last = bands.last().map_or(0, |(_, end)| *end);
        let heads_scales =
            |row: &GridRow| row.only().is_some_and(|(place, cell)| place > 0 && names_scale(cell, reader));
        let is_group = |row: &GridRow| {
            (row.only().is_none() || heads_scales(row))
                && (row.filled().count() > 1 || heads_scales(row))
                && row.filled().all(|(_, cell)| !is_number(cell) && !cell.contains(':'))
        };
        let mut start = at;
        if start > after_last && rows[start - 1].line + 1 == rows[start].line && is_group(&rows[start - 1]) {
            start -= 1;
        }
        let mut end = at + 1;
        while end < rows.len()
            && end - start < HEADER_ROWS
            && rows[end].line == rows[end - 1].line + 1
            && (is_header(&rows[end], reader)
                || is_label_row(rows.get(end), reader)
                || parts_of_dates(&rows[end]).is_some()
                || heads_below(&rows[end], &rows[start..end], reader))
        {
            end += 1;
        }
        let goes_on = bands.last().is_some_and(|(first, below)| {
            rows[start - 1].line + 1 == rows[start].line
                && rows[*first..*below].iter().map(|row| &row.cells).eq(rows[start..end].iter().map(|row| &row.cells))
                && is_headless(&rows[start - 1], rows.get(end), &rows[*first..*below], reader)
        });
        if !goes_on {
            bands.push((start, end));
        }
        at = end;
    }
    let ends = bands.iter().skip(1).map(|(start, _)| *start).chain([rows.len()]);
    let mut title_from = 0;
    let mut found = Vec::new();
    for ((start, end), next) in bands.iter().zip(ends) {
        // Titles of the next block follow the last row of this one that has more than one text.
        let data_end = if next == rows.len() {
            next
        } else {
            let last = rows[*end..next].iter().rposition(|row| row.only().is_none() && !is_title(row, reader));
            let last = last.map_or(*end, |last| end + last + 1);
            // The name of the next motor ends the tests of this one, whatever the lines below it say.
            let named = rows[*end..last].iter().position(|row| names_motor(row, &rows[*start..*end], reader));
            named.filter(|named| *named > 0).map_or(last, |named| end + named)
        };
        found.push(Block {
            titles: &rows[title_from..*start],
            headers: &rows[*start..*end],
            rows: &rows[*end..data_end],
        });
        title_from = data_end;
    }
    found
}

/// Whether a row below a header that comes again has no name of its own, so that it goes on with the motor of the rows above: those of a list
/// that takes several pages.
fn is_headless(above: &GridRow, below: Option<&GridRow>, headers: &[GridRow], reader: &LabelReader<'_>) -> bool {
    let heads_names = |place: &usize| {
        let is_winding = |row: &GridRow| reader.read(&row.cells[*place]).field == Some(Field::Column(Column::Winding));
        headers.iter().any(is_winding)
    };
    // A test, or a line between two pages.
    let goes_on = match above.only() {
        Some((_, text)) => continues(text),
        None => above.filled().any(|(_, cell)| is_number(cell)) && !is_title(above, reader),
    };
    let place = (0..above.cells.len()).find(heads_names);
    goes_on && place.is_some_and(|place| below.is_some_and(|row| row.cells[place].is_empty()))
}

/// The first of three columns side by side that are headed by the letters of a day, a month and a year: `J`, `M`, `A`.
pub(super) fn parts_of_dates(header: &GridRow) -> Option<usize> {
    const PARTS: [[&str; 3]; 11] = [
        ["d", "m", "y"],
        ["j", "m", "a"],
        ["t", "m", "j"],
        ["g", "m", "a"],
        ["d", "m", "a"],
        ["d", "m", "j"],
        ["dd", "mm", "yyyy"],
        ["tt", "mm", "jjjj"],
        ["jj", "mm", "aaaa"],
        ["gg", "mm", "aaaa"],
        ["dd", "mm", "aaaa"],
    ];
    let is_part = |cell: &str, part: &str| cell.trim_end_matches('.').eq_ignore_ascii_case(part);
    let are =
        |three: &[String]| PARTS.iter().any(|parts| three.iter().zip(parts).all(|(cell, part)| is_part(cell, part)));
    header.cells.windows(3).position(are)
}

/// Whether a text above several columns is a temperature with its scale: `Temperature (°C)`.
pub(super) fn names_scale(text: &str, reader: &LabelReader<'_>) -> bool {
    let label = reader.read(text);
    label.scale.is_some() && matches!(label.column(), Some(Column::WindingTemp(_) | Column::AirTemp(_)))
}

/// Whether a row directly below headers belongs to them, though not all of it is understood: it has neither a name nor a date nor a number,
/// and text under a reading or a temperature that is none, such as a unit.
pub(super) fn heads_below(row: &GridRow, headers: &[GridRow], reader: &LabelReader<'_>) -> bool {
    let heads = |place: usize, is: &dyn Fn(Column) -> bool| {
        headers.iter().any(|header| reader.read(&header.cells[place]).column().is_some_and(is))
    };
    let is_said_above = |place: usize, cell: &str| headers.iter().any(|header| header.cells[place] == cell);
    let mut own = row.filled().filter(|(place, cell)| !is_said_above(*place, cell)).peekable();
    let mut has_unread = false;
    let is_key = |column: Column| matches!(column, Column::Winding | Column::TestedOn);
    let is_measured =
        |column: Column| is_reading(column) || matches!(column, Column::WindingTemp(_) | Column::AirTemp(_));
    let has_keys = (0..row.cells.len()).any(|place| heads(place, &|column| column == Column::Winding));
    own.peek().is_some()
        && has_keys
        && own.all(|(place, cell)| {
            has_unread |= heads(place, &is_measured) && !reads(cell) && cell.contains(char::is_alphabetic);
            !heads(place, &is_key)
                && !is_number(cell)
                && !is_ditto(cell)
                && (!heads(place, &is_reading) || !reads(cell))
        })
        && has_unread
}

/// Whether a row is a test below headers that name windings and dates, whatever its words are: where they have `Motor`, it has the name of
/// one and no header.
fn is_test_below(row: &GridRow, headers: &[GridRow], reader: &LabelReader<'_>) -> bool {
    let has = |place: &usize, column: Column| {
        headers.iter().any(|header| reader.read(&header.cells[*place]).field == Some(Field::Column(column)))
    };
    let places = 0..row.cells.len();
    let winding = places.clone().find(|place| has(place, Column::Winding));
    let names_one = |place: usize| {
        let label = reader.read(&row.cells[place]);
        !row.cells[place].is_empty() && (label.unknown || !label.is_known())
    };
    winding.is_some_and(names_one) && places.clone().any(|place| has(&place, Column::TestedOn))
}

/// Whether a row below headers without names names a motor: `Motor` beside its name.
fn names_motor(row: &GridRow, headers: &[GridRow], reader: &LabelReader<'_>) -> bool {
    let heads_names = |text: &str| {
        let label = reader.read(text.trim_end_matches([':', ' ']));
        label.field == Some(Field::Column(Column::Winding)) && !label.unknown
    };
    let is_named = headers.iter().flat_map(|header| header.filled()).any(|(_, cell)| heads_names(cell));
    !is_named && row.filled().count() == 2 && row.filled().next().is_some_and(|(_, cell)| heads_names(cell))
}

/// Whether a row of several cells is a title: `Motor No:` beside its value, or `Autumn round`, `Date:` and a day.
pub(super) fn is_title(row: &GridRow, reader: &LabelReader<'_>) -> bool {
    let is_label = |name: &str| reader.read(name).field.is_some();
    let begins =
        row.filled().next().is_some_and(|(_, cell)| cell.split_once(':').is_some_and(|(name, _)| is_label(name)));
    begins || row.filled().any(|(_, cell)| cell.strip_suffix(':').is_some_and(|name| is_label(name.trim())))
}
