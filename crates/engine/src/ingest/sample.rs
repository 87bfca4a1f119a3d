//! The first rows below a header, which tell what it leaves open: the order of day and month, and columns of units without a
//! name for it. How many rows are asked does not depend on how a text is read.

use super::columns::Columns;
use super::date_forms::{self, DateForms};
use super::mapping::Mapping;
use super::marks::Marks;
use super::rows::{Row, Rows};
use super::unit::Unit;
use super::unit_column::Blank;
use super::{ReadingRules, aliases, said_unit};
use crate::error::{Failure, shown};
use groundwall::record::columns::{Column, TemperatureScale};
use groundwall::resistance::ResistanceUnit;

/// So many bytes of rows are asked.
pub const SAMPLE: usize = 1 << 20;

/// The first rows that may decide how a table is read.
pub struct FirstRows<'a> {
    rows: Rows<'a>,
    /// The place of dates, and how they are read: tests after the as-of date decide nothing about those before.
    dates: Option<(usize, &'a DateForms)>,
}

impl<'a> FirstRows<'a> {
    /// Those of a table.
    #[must_use]
    pub const fn of(rows: Rows<'a>) -> Self {
        Self { rows, dates: None }
    }

    /// The same without tests that are certainly later than the as-of date.
    #[must_use]
    pub fn until_the_as_of_date(self, columns: &Columns, forms: &'a DateForms) -> Self {
        Self { dates: date_place(columns).map(|place| (place, forms)), ..self }
    }

    /// Calls `look` with each of them, as far as they can be separated into cells.
    pub fn each(mut self, mut look: impl FnMut(&Row<'_, '_>)) {
        let mut read = 0;
        while read < SAMPLE {
            let Some(row) = self.rows.next_row() else { break };
            read += row.raw.len() + 1;
            let is_later = self.dates.is_some_and(|(place, forms)| {
                row.cells.ok().and_then(|cells| cells.text(place).ok()).is_some_and(|text| forms.is_later(text))
            });
            if !is_later {
                look(&row);
            }
        }
    }
}

fn date_place(columns: &Columns) -> Option<usize> {
    columns.known.iter().find(|(_, column)| *column == Column::TestedOn).map(|(place, _)| *place)
}

/// Finds columns of units by their cells.
pub fn find_units(columns: &mut Columns, mapping: &Mapping, rows: FirstRows<'_>) {
    let free = columns.free_places(mapping);
    if free.is_empty() {
        return;
    }
    let mut cells: Vec<Vec<String>> = vec![Vec::new(); free.len()];
    rows.each(|row| {
        let Ok(found) = row.cells else { return };
        for (cells, place) in cells.iter_mut().zip(&free) {
            let text = found.text(*place).unwrap_or_default().trim();
            // A text as long as this is not a unit; how many there are still counts.
            cells.push(text.chars().take(LONGEST_UNIT).collect());
        }
    });
    columns.take_for_units(free.into_iter().zip(cells));
}

/// The question about dates of which a spreadsheet seems to have exchanged day and month.
pub fn exchanged_days(name: &str, columns: &Columns, rows: FirstRows<'_>) -> Option<Failure> {
    let at = date_place(columns)?;
    let (mut texts, mut is_mixed) = (Vec::new(), false);
    rows.each(|row| {
        let text = row.cells.ok().and_then(|cells| cells.text(at).ok()).unwrap_or_default();
        let is_plain = text.as_bytes().get(4) == Some(&b'-');
        is_mixed |= !is_plain && !text.is_empty();
        // Of plain dates a few tell the order of all.
        if !is_plain || texts.len() < PLAIN_DATES {
            texts.push(text.to_owned());
        }
    });
    if !is_mixed {
        return None;
    }
    date_forms::question_of_exchanged(name, &columns.header[at], texts.iter().map(String::as_str))
}

/// Finds columns of temperatures in °F of which the cells tell it and the header does not.
pub fn find_scales(
    name: &str,
    columns: &mut Columns,
    mapping: &Mapping,
    rows: FirstRows<'_>,
    place: &(dyn Fn(u64) -> u64 + Sync),
) -> Vec<String> {
    let in_doubt = columns.without_scale(mapping);
    if in_doubt.is_empty() {
        return Vec::new();
    }
    let mut proofs: Vec<Option<(u64, String)>> = vec![None; in_doubt.len()];
    let mut has_celsius = vec![false; in_doubt.len()];
    rows.each(|row| {
        let Ok(cells) = row.cells else { return };
        for ((proof, has_celsius), at) in proofs.iter_mut().zip(&mut has_celsius).zip(&in_doubt) {
            let text = cells.text(*at).unwrap_or_default().trim();
            match scale_of(text) {
                Some(TemperatureScale::Celsius) => *has_celsius = true,
                Some(TemperatureScale::Fahrenheit) if proof.is_none() => {
                    *proof = Some((place(row.line), text.to_owned()))
                }
                _ => {}
            }
        }
    });
    // Of cells that say either a bare number may be in either.
    proofs.iter_mut().zip(has_celsius).filter(|(_, has_celsius)| *has_celsius).for_each(|(proof, _)| *proof = None);
    let mut remarks = Vec::new();
    for (at, (line, proof)) in in_doubt.into_iter().zip(proofs).filter_map(|(at, proof)| Some((at, proof?))) {
        columns.read_in_fahrenheit(at);
        let header = shown(columns.header[at].trim());
        remarks.push(format!("{name}:{line}: {header} is {}, so the numbers of this column are in °F", shown(&proof)));
    }
    remarks
}

/// The scale that stands after the number of a cell.
fn scale_of(text: &str) -> Option<TemperatureScale> {
    let unit = text.trim_start_matches(|c: char| c.is_ascii_digit() || matches!(c, '-' | '−' | '+' | '.' | ','));
    match Unit::read(unit).filter(|_| unit.len() < text.len()) {
        Some(Unit::Degrees(scale)) => Some(scale),
        _ => None,
    }
}

/// Finds what blank cells of columns of units mean, and says where they are read in the unit of the first row.
pub fn blank_units(name: &str, columns: &mut Columns, rows: FirstRows<'_>) -> Vec<String> {
    if columns.units.is_empty() {
        return Vec::new();
    }
    let mut cells: Vec<Vec<String>> = vec![Vec::new(); columns.units.len()];
    rows.each(|row| {
        let Ok(found) = row.cells else { return };
        for (cells, unit) in cells.iter_mut().zip(&columns.units) {
            let text = found.text(unit.place).unwrap_or_default().trim();
            cells.push(text.chars().take(LONGEST_UNIT).collect());
        }
    });
    let mut remarks = Vec::new();
    for (unit, cells) in columns.units.iter_mut().zip(&cells) {
        unit.blank = Blank::of(cells.iter().map(String::as_str));
        if let Blank::AsFirst(first) = &unit.blank {
            remarks.push(format!(
                "{name}: column {} has {} in its first row and nothing below, so the rows below are read in that unit too",
                shown(&unit.header),
                shown(first)
            ));
        }
    }
    remarks
}

/// The header of a column with readings that nothing gives a unit: neither the header, nor a column of units, nor the cells.
pub fn without_unit(columns: &Columns, rows: FirstRows<'_>, decimal_comma: bool) -> Option<(usize, Column)> {
    let in_doubt: Vec<(usize, Column)> = columns
        .known
        .iter()
        .filter(|(place, column)| {
            matches!(column, Column::Reading(_, ResistanceUnit::Megohm) | Column::Resistance(ResistanceUnit::Megohm))
                && !columns.units.iter().any(|unit| unit.belongs_to.contains(place))
                && aliases::units(&columns.header[*place]).is_some_and(|units| units.ohms.is_none())
        })
        .copied()
        .collect();
    let mut found = None;
    rows.each(|row| {
        let Some(cells) = row.cells.ok().filter(|_| found.is_none()) else { return };
        let needs_unit = |(place, _): &&(usize, Column)| {
            cells.text(*place).is_ok_and(|text| said_unit::needs_unit(text.trim(), decimal_comma))
        };
        found = in_doubt.iter().find(needs_unit).copied();
    });
    found
}

/// Whether a reading has no unit of its own.
pub fn has_bare(columns: &Columns, rows: FirstRows<'_>, decimal_comma: bool) -> bool {
    let is_reading = |column: &Column| matches!(column, Column::Reading(..) | Column::Resistance(_));
    let places: Vec<usize> =
        columns.known.iter().filter(|(_, column)| is_reading(column)).map(|(place, _)| *place).collect();
    let mut found = false;
    rows.each(|row| {
        let Some(cells) = row.cells.ok().filter(|_| !found) else { return };
        found = places
            .iter()
            .any(|place| cells.text(*place).is_ok_and(|text| said_unit::needs_unit(text.trim(), decimal_comma)));
    });
    found
}

const LONGEST_UNIT: usize = 20;
/// So many dates in the plain form are asked for the order of day and month.
const PLAIN_DATES: usize = 100;

/// What the numbers of the columns of resistances prove of their marks.
pub fn marks(columns: &Columns, rows: FirstRows<'_>) -> Marks {
    let readings: Vec<usize> = columns
        .known
        .iter()
        .filter(|(_, column)| matches!(column, Column::Reading(..) | Column::Resistance(_)))
        .map(|(place, _)| *place)
        .collect();
    let mut cells: Vec<String> = Vec::new();
    rows.each(|row| {
        let Ok(found) = row.cells else { return };
        let texts = readings.iter().filter_map(|place| found.text(*place).ok());
        // A number without marks proves nothing.
        cells.extend(texts.filter(|text| text.contains(['.', ','])).map(|text| text.trim().to_owned()));
    });
    Marks::of(cells.iter().map(String::as_str))
}

/// Whether a temperature or a humidity has a point in it, so that the point is the decimal mark of something at least.
pub fn has_points(columns: &Columns, rows: FirstRows<'_>) -> bool {
    let is_asked = |column: &Column| matches!(column, Column::WindingTemp(_) | Column::AirTemp(_) | Column::Humidity);
    let places: Vec<usize> =
        columns.known.iter().filter(|(_, column)| is_asked(column)).map(|(place, _)| *place).collect();
    let mut found = false;
    rows.each(|row| {
        let Some(cells) = row.cells.ok().filter(|_| !found) else { return };
        found = places.iter().any(|place| cells.text(*place).is_ok_and(|text| text.contains('.')));
    });
    found
}

/// How the dates of an input are read; said where they prove their order.
pub fn date_forms(
    rules: &ReadingRules,
    name: &str,
    columns: &Columns,
    rows: FirstRows<'_>,
    place: &(dyn Fn(u64) -> u64 + Sync),
    remarks: &mut Vec<String>,
) -> DateForms {
    let mut forms = DateForms::new(rules);
    let (Some(column), true) = (date_place(columns), forms.given.is_empty()) else { return forms };
    let mut texts = Vec::new();
    rows.each(|row| {
        let text = row.cells.ok().and_then(|cells| cells.text(column).ok()).unwrap_or_default();
        // Plain dates prove nothing.
        if !text.is_empty() && text.as_bytes().get(4) != Some(&b'-') {
            texts.push((place(row.line), text.to_owned()));
        }
    });
    if let Some((order, proof)) = forms.prove(texts.iter().map(|(_, text)| text.as_str())) {
        let line = texts.iter().find(|(_, text)| *text == proof).map_or(0, |(line, _)| *line);
        remarks.push(format!(
            "{name}:{line}: {} is {}, so the dates of this column are read {}; --date-format says otherwise",
            columns.as_written("tested_on"),
            shown(&proof),
            order.words()
        ));
    }
    forms
}
