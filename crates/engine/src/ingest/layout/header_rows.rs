//! What the rows of a header say of each column, read from the top down.

use super::cells::{is_component, is_header, is_label_row, unit_alone};
use super::context::{is_name, may_be_name};
use super::grid::GridRow;
use super::label::{self, Field, Label};
use super::label_reader::LabelReader;
use crate::ingest::aliases;
use crate::ingest::kinds::is_reading;
use crate::ingest::unit::Unit;
use groundwall::record::columns::Column;
use std::collections::{BTreeMap, BTreeSet};

/// What the rows of a header say.
#[derive(Default)]
pub(super) struct HeaderRows {
    /// Each column's label.
    pub(super) labels: Vec<(usize, Label)>,
    /// The text of each column's header.
    pub(super) headers: BTreeMap<usize, String>,
    /// Texts above columns that are not part of their headers.
    pub(super) groups: BTreeMap<usize, String>,
    /// Columns whose own header is not understood below one that is.
    pub(super) half_known: BTreeSet<usize>,
}

impl HeaderRows {
    /// Reads the rows of a header.
    pub(super) fn of(rows: &[GridRow], reader: &LabelReader<'_>) -> Self {
        let width = rows.first().map_or(0, |row| row.cells.len());
        let last = rows.len() - 1;
        let mut found = Self::default();
        let texts = || rows.iter().flat_map(|row| &row.cells);
        let has_names = texts().any(|text| reader.read(text).field == Some(Field::Column(Column::Winding)));
        let of = Rows { rows, reader, has_names, earths: letters_to_earth(rows) };
        for place in 0..width {
            let (label, whole) = of.label(of.column(place, &mut found));
            if !whole.is_empty() {
                found.headers.insert(place, whole);
            }
            if last > 0 && rows[last].cells[place].is_empty() && label.ohms.is_some() {
                found.half_known.insert(place);
            }
            found.labels.push((place, label));
        }
        found
    }
}

/// The rows of a header.
struct Rows<'h> {
    rows: &'h [GridRow],
    reader: &'h LabelReader<'h>,
    /// Whether a column is called that of names.
    has_names: bool,
    /// Headers as they would be with E for earth.
    earths: BTreeMap<String, String>,
}

/// One column of them, from the top down.
#[derive(Default)]
struct Stack<'h> {
    label: Label,
    /// The texts of its header.
    parts: Vec<&'h str>,
    /// All that its rows say.
    said: Vec<&'h str>,
    /// Whether its unit cannot be told.
    is_unclear: bool,
    /// Whether a text above its header says that it holds something else.
    is_other: bool,
}

impl<'h> Rows<'h> {
    fn names_a_column(&self, text: &str) -> bool {
        is_component(text) || if self.has_names { is_name(text) } else { may_be_name(text) }
    }

    /// What the rows say of a column, one after the other.
    fn column(&'h self, place: usize, found: &mut HeaderRows) -> Stack<'h> {
        let (rows, last) = (self.rows, self.rows.len() - 1);
        let Stack { mut label, mut parts, mut said, mut is_unclear, mut is_other } = Stack::default();
        for (i, row) in rows.iter().enumerate() {
            let own = row.cells[place].as_str();
            let mut text = self.earths.get(own).map_or(own, String::as_str);
            if text.is_empty() && i < last && rows[i + 1..].iter().any(|below| !below.cells[place].is_empty()) {
                text = group_of(&row.cells, place, self.reader);
            }
            if text.is_empty() || parts.last() == Some(&text) {
                continue;
            }
            let read = self.reader.read(text);
            let is_open = read.unknown && !read.is_known();
            is_unclear |= is_open && aliases::names_unknown_ohms(text);
            is_unclear |= is_open
                && i > 0
                && label.column().is_some_and(is_reading)
                && !(is_header(row, self.reader) || is_label_row(Some(row), self.reader));
            said.push(text);
            // With nothing below it, a text of its own is the header.
            let is_group =
                row.cells[place].is_empty() || rows[i + 1..].iter().any(|below| !below.cells[place].is_empty());
            if i < last && is_open && is_group {
                found.groups.insert(place, text.to_owned());
                // `Limit` above a unit says that the column holds something else.
                is_other |= !row.cells[place].is_empty() && !self.names_a_column(text) && !label::names_tests(text);
                continue;
            }
            // `Phase to earth` above U, V and W is a group, and no column of phases.
            if (read.connection.is_some() || read.phase.is_some()) && label.names_what_is_tested() {
                label = Label { field: None, ..label };
            }
            if !parts.is_empty() && read.unknown && !read.is_known() && read.phase.is_none() {
                found.half_known.insert(place);
            }
            // `Room` below `Temperature (°C)` is no winding.
            let is_word = is_open && text.contains(char::is_alphabetic);
            let scale = label.scale.filter(|_| is_word && matches!(label.column(), Some(Column::WindingTemp(_))));
            label = match scale.map(|scale| (scale, self.reader.read(&format!("{text} temp")).column())) {
                Some((scale, Some(Column::AirTemp(_)))) => {
                    Label { field: Some(Field::Column(Column::AirTemp(scale))), ..label }
                }
                Some(_) => Label { unknown: true, ..Label::default() },
                None if parts.is_empty() => Label::clone(&read),
                None => label.with(&read),
            };
            parts.push(text);
        }
        Stack { label, parts, said, is_unclear, is_other }
    }

    /// The label of a column, and the text of its header.
    fn label(&self, column: Stack<'_>) -> (Label, String) {
        let Stack { mut label, parts, said, is_unclear, is_other } = column;
        let rows = self.rows;
        // `t` above `s`.
        if let [name, unit] = parts[..]
            && let Some(header) = as_unit_in_brackets(name, unit)
            && rows[1..].iter().any(names_units)
        {
            label = Label::clone(&self.reader.read(&header));
        }
        // A question names the header as a whole, and so may the answer.
        let whole = if is_unclear { said.join(" ") } else { parts.join(" ") };
        let is_named = self.reader.mapping().get(&whole).is_some();
        if parts.len() > 1 && is_named || is_unclear {
            label = Label::clone(&self.reader.read(&whole));
        }
        let is_scale_alone = parts.len() == 1 && matches!(Unit::read(parts[0]), Some(Unit::Degrees(_)));
        if is_other && (label.field.is_none() && label.ohms.is_some() || is_scale_alone)
            || is_unclear && !is_named && label.column().is_some_and(is_reading)
        {
            label = Label { unknown: true, ..Label::default() };
        }
        // `Obs.` below a resistance is what was observed, and no note; below nothing but a common header it is no test of its own.
        if label.field == Some(Field::Column(Column::Note)) && label.ohms.is_some() {
            label = Label { unknown: true, ohms: label.ohms, ..Label::default() };
        }
        (label, whole)
    }
}

/// Headers of A, B and C against T, which is earth where all three are: as they would be with E.
fn letters_to_earth(headers: &[GridRow]) -> BTreeMap<String, String> {
    let mut found: BTreeMap<String, String> = BTreeMap::new();
    let mut seen: BTreeSet<char> = BTreeSet::new();
    for (_, cell) in headers.iter().flat_map(GridRow::filled) {
        let word = cell.split([' ', '(', '[']).next().unwrap_or_default();
        if let [letter @ (b'A' | b'B' | b'C'), b'-' | b'/', b'T'] = word.as_bytes() {
            let letter = char::from(*letter);
            seen.insert(letter);
            found.insert(cell.to_owned(), format!("{letter}-E{}", &cell[word.len()..]));
        }
    }
    if seen.len() == 3 { found } else { BTreeMap::new() }
}

/// A name above a unit as one header, `t [s]`, where the unit is none of resistance or temperature.
fn as_unit_in_brackets(name: &str, unit: &str) -> Option<String> {
    let header = format!("{name} [{}]", unit.trim_matches(['(', ')', '[', ']']));
    aliases::unit_in_brackets(&header).is_some().then_some(header)
}

/// Whether a row of headers has a unit of resistance, so that its letters are units too.
fn names_units(row: &GridRow) -> bool {
    row.filled().any(|(place, cell)| unit_alone(place, cell).is_some())
}

/// The text of a row of groups that belongs to a column on the right of it.
pub(super) fn group_of<'a>(cells: &'a [String], place: usize, reader: &LabelReader<'_>) -> &'a str {
    let group = cells[..place].iter().rev().find(|cell| !cell.is_empty()).map_or("", String::as_str);
    let label = reader.read(group);
    let is_key = label.is_key() || matches!(label.field, Some(Field::Unit | Field::WorkOrder));
    let is_group = label::names_ratio(group) || aliases::names_a_conductor(group);
    let is_number_of_row = label.field == Some(Field::Ignored) && !is_group;
    if is_key || is_number_of_row { "" } else { group }
}
