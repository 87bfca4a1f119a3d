//! Sheets of a layout that the user describes, and the description that a sheet suggests.

use super::arranged::Arranged;
use super::cells::{is_number, is_summary, says_reading};
use super::context::Context;
use super::entry::{Entry, Of};
use super::grid::{GridRow, Limits};
use super::label::conductors::Letters;
use super::label::{self, Field, conductors};
use super::label_reader::LabelReader;
use super::refused::Refused;
use super::sheet::{Known, Sheet};
use super::sheet_name::SheetName;
use super::table::Outcome;
use super::texts::TextId;
use crate::error::{Failure, shown};
use crate::ingest::cell_place::CellPlace;
use crate::ingest::delimited::HEADER_WITHIN;
use crate::ingest::description::{Description, Holds, Source};
use crate::ingest::kinds::is_reading;
use crate::ingest::mapping::Mapping;
use crate::ingest::said_unit::{needs_unit, said_unit, symbol};
use crate::ingest::unit::Unit;
use crate::ingest::unit_column::NO_UNIT;
use crate::ingest::{ReadingRules, aliases};
use groundwall::record::columns::Column;
use groundwall::record::validate::Fault;
use groundwall::resistance::ResistanceUnit;
use std::collections::BTreeMap;

/// A grid in which cells are found by their places.
struct Cells<'a> {
    rows: BTreeMap<u64, &'a GridRow>,
    sheet: &'a str,
}

impl<'a> Cells<'a> {
    fn at(&self, line: u64, column: usize) -> &'a str {
        self.rows.get(&line).and_then(|row| row.cells.get(column)).map_or("", String::as_str)
    }

    /// What stands at a source for the reading in a cell.
    fn text<'s>(&self, source: &'s Source, place: CellPlace) -> &'s str
    where
        'a: 's,
    {
        match source {
            Source::Column(column) => self.at(place.line, *column),
            Source::Row(line) => {
                let left = (0..=place.column).rev().map(|column| self.at(*line, column));
                left.into_iter().find(|text| !text.is_empty()).unwrap_or("")
            }
            Source::Cell(cell) => self.at(cell.line, cell.column),
            Source::Sheet => self.sheet,
            Source::Text(text) => text,
        }
    }
}

/// A sheet as a plain table, by what is described of it.
///
/// # Errors
///
/// [`Refused`] where no test is at the place described, or more than the limits allow.
pub(super) fn arrange<'a>(
    rows: &'a [GridRow],
    rules: &'a ReadingRules,
    reader: &'a LabelReader<'_>,
    name: SheetName<'a>,
    limits: &mut Limits,
    descriptions: &[&'a Description],
) -> Result<Arranged, Refused> {
    let mut sheet = Sheet::new(rules, reader, name, *limits);
    sheet.prove_dates(rows.iter().flat_map(|row| row.cells.iter()).map(String::as_str));
    let cells = Cells { rows: rows.iter().map(|row| (row.line, row)).collect(), sheet: name.sheet.unwrap_or_default() };
    if let Some(failure) = outside(descriptions, rows, &cells, name, reader) {
        return Err(failure.into());
    }
    let said = said_unit_of(descriptions, rows, name);
    for description in descriptions {
        sheet.read_described(description, rows, &cells);
    }
    let is_other = |column: &Column| said.as_ref().is_some_and(|(_, _, unit)| Some(unit_of(*column)) != Some(*unit));
    if let (Some((place, text, unit)), Some((bare, column))) =
        (&said, sheet.bare_described.iter().find(|(_, column)| is_other(column)))
    {
        let (place, bare, unit) = (
            place.map_or_else(|| name.place.to_owned(), |place| format!("{}:{}", name.place, place.name())),
            bare.name(),
            symbol(*unit),
        );
        let message =
            format!("{place}: “{}” names {unit}, and [[layout]] reads the number at {bare} as {column}", shown(text));
        let hint = "say where the units stand, such as unit = \"column D\", or what the values are, such as holds = \"r_60s_kohm\"; or take the \
                    text out if it speaks of something else";
        return Err(Failure::usage(message).hint(hint).into());
    }
    sheet.seen.described = true;
    match sheet.finish(limits) {
        Outcome::Arranged(arranged) => Ok(arranged),
        Outcome::TooLarge => Err(Refused::by_size(name, limits)),
        _ => {
            let message = format!("{}: no test stands where [[layout]] says", name.place);
            let hint =
                "check its rows, its columns and where winding and tested_on stand, or give it the sheet that it is of";
            Err(Failure::usage(message).hint(hint).into())
        }
    }
}

/// The unit that readings of a column are in.
const fn unit_of(column: Column) -> Option<ResistanceUnit> {
    match column {
        Column::Reading(_, unit) | Column::Resistance(unit) => Some(unit),
        _ => None,
    }
}

/// The first text outside of the values that names a unit other than MΩ, where no description says where units stand.
fn said_unit_of(
    descriptions: &[&Description],
    rows: &[GridRow],
    name: SheetName<'_>,
) -> Option<(Option<CellPlace>, String, Option<ResistanceUnit>)> {
    if descriptions.iter().any(|description| description.unit.is_some()) {
        return None;
    }
    let unit = |text: &str| {
        let alone = || match Unit::read(text) {
            Some(Unit::Ohms(unit)) if text.chars().count() > 1 && unit != ResistanceUnit::Megohm => Some(Some(unit)),
            _ => None,
        };
        said_unit(text).map(|said| said.unit).or_else(alone)
    };
    if let Some((sheet, unit)) = name.sheet.and_then(|sheet| Some((sheet, unit(sheet)?))) {
        return Some((None, sheet.to_owned(), unit));
    }
    let is_value = |line: u64, column: usize| descriptions.iter().any(|own| own.has(line, column));
    let texts = rows.iter().flat_map(|row| row.filled().map(move |(column, text)| (row.line, column, text)));
    let mut texts = texts.filter(|(line, column, _)| !is_value(*line, *column));
    let first = descriptions.iter().map(|own| own.rows.0).min().unwrap_or(1);
    // `IR (x 1000 Ohm)` above the tests.
    let above = |line: u64, text: &str| {
        let named = aliases::units(text)
            .and_then(|units| units.ohms)
            .filter(|_| line < first && aliases::names_a_resistance(text));
        named.filter(|unit| *unit != ResistanceUnit::Megohm).map(Some)
    };
    texts.find_map(|(line, column, text)| {
        Some((Some(CellPlace { line, column }), text.to_owned(), unit(text).or_else(|| above(line, text))?))
    })
}

/// Why a sheet is not read: a test is beside, above or below what is described.
fn outside(
    descriptions: &[&Description],
    rows: &[GridRow],
    cells: &Cells<'_>,
    name: SheetName<'_>,
    reader: &LabelReader<'_>,
) -> Option<Failure> {
    let is_within = |line: u64, column: usize| descriptions.iter().any(|own| own.has(line, column));
    for own in descriptions {
        let is_source = |line: u64, column: usize| {
            own.columns.iter().map(|(_, source)| source).chain(&own.unit).any(|source| match source {
                Source::Column(at) => *at == column,
                Source::Row(at) => *at == line,
                Source::Cell(place) => *place == CellPlace { line, column },
                Source::Sheet | Source::Text(_) => false,
            })
        };
        let named = |line: u64| match own.source(Column::Winding) {
            Some(Source::Column(column)) => cells.at(line, *column),
            _ => "-",
        };
        for row in rows {
            let line = row.line;
            let is_in_rows = (own.rows.0..=own.rows.1).contains(&line);
            let first = row.filled().next().map_or("", |(_, cell)| cell);
            if named(line).is_empty() || is_summary(first) {
                continue;
            }
            for (column, text) in row.filled().filter(|(_, text)| is_number(text)) {
                if is_within(line, column) || is_source(line, column) {
                    continue;
                }
                let is_in_values = (own.values.0..=own.values.1).contains(&column);
                // Columns beside the values hold tests where a date or a reading heads them.
                let heads = own.columns.iter().filter_map(|(of, source)| match source {
                    Source::Row(at) if *of == Column::TestedOn => Some(*at),
                    _ => None,
                });
                let is_headed = heads.map(|at| cells.at(at, column)).any(label::is_date)
                    || (own.rows.0 > 1 && {
                        let header = cells.at(own.rows.0 - 1, column);
                        says_reading(header, &reader.read(header))
                            || reader.read(header).column().is_some_and(is_reading)
                    });
                let (place, shown_text) = (CellPlace { line, column }.name(), shown(text));
                let message = match (is_in_rows, is_in_values) {
                    (false, true) => {
                        format!("{}:{place}: {shown_text} is outside of the rows that [[layout]] names", name.place)
                    }
                    (true, false) if is_headed => {
                        format!(
                            "{}:{place}: {shown_text} is outside of the columns that [[layout]] names as values",
                            name.place
                        )
                    }
                    _ => continue,
                };
                let hint = "let rows and values take in all tests; \"4:\" and \"C:\" reach to the end of the sheet, and a column that is \
                            no reading gets a line of its own";
                return Some(Failure::usage(message).hint(hint));
            }
        }
    }
    None
}

/// So many cells tell by which letters phases are called.
const CELLS_ASKED: usize = 4096;

impl<'a> Sheet<'a> {
    fn read_described(&mut self, description: &'a Description, rows: &'a [GridRow], cells: &Cells<'a>) {
        let (first, last) = description.values;
        let mut entries = Vec::new();
        let mut above = "";
        let own_rows = || rows.iter().filter(|row| (description.rows.0..=description.rows.1).contains(&row.line));
        let letters = description.source(Column::Connection).map_or(Letters::OfPhases, |source| {
            let places = own_rows().flat_map(|row| (first..=last).map(|column| CellPlace { line: row.line, column }));
            Letters::of(places.take(CELLS_ASKED).map(|place| cells.text(source, place)))
        });
        for row in own_rows() {
            let named = match description.source(Column::Winding) {
                Some(Source::Column(column)) => cells.at(row.line, *column),
                _ => "",
            };
            if !named.is_empty() {
                above = named;
            }
            for column in first..=last.min(row.cells.len().saturating_sub(1)) {
                let place = CellPlace { line: row.line, column };
                let text = cells.at(row.line, column);
                if !text.is_empty() && self.may_hold(|left| &mut left.values, 1 + description.columns.len()) {
                    self.described_cell(description, (cells, letters), place, above, &mut entries);
                }
            }
        }
        self.join(entries, false, false, &Context::default());
    }

    fn described_cell(
        &mut self,
        description: &'a Description,
        (cells, letters): (&Cells<'a>, Letters),
        place: CellPlace,
        above: &str,
        entries: &mut Vec<Entry<'a>>,
    ) {
        let of = |column: Column| description.source(column).map_or("", |source| cells.text(source, place));
        let column = match &description.holds {
            Holds::One(column) => Some(*column),
            Holds::Named(source) => self.reader.read(cells.text(source, place)).column(),
        };
        let text = cells.at(place.line, place.column);
        let Some(column) = column else {
            let name = if let Holds::Named(source) = &description.holds { cells.text(source, place) } else { "" };
            *self.other_points.entry(name.to_owned()).or_default() += 1;
            return;
        };
        let unit = description.unit.as_ref().map_or("", |source| cells.text(source, place));
        let is_bare = needs_unit(text, false) || needs_unit(text, true);
        let column = match (column, Unit::read(unit)) {
            (Column::Reading(at, _), Some(Unit::Ohms(unit))) if is_bare => Column::Reading(at, unit),
            (Column::Resistance(_), Some(Unit::Ohms(unit))) if is_bare => Column::Resistance(unit),
            (Column::Reading(..) | Column::Resistance(_), Some(_)) if is_bare => {
                *self.other_points.entry(unit.to_owned()).or_default() += 1;
                return;
            }
            (Column::Reading(..) | Column::Resistance(_), None) if is_bare && description.unit.is_some() => {
                let (rule, hint) = NO_UNIT;
                let fault = Fault {
                    column: "unit".to_owned(),
                    value: unit.to_owned(),
                    rule: rule.to_owned(),
                    hint: hint.to_owned(),
                };
                let (winding, date, connection) = (of(Column::Winding), of(Column::TestedOn), of(Column::Connection));
                let known = Known {
                    winding: self.texts.id(if winding.is_empty() { above } else { winding }),
                    date: self.texts.id(date),
                    connection: self.texts.id(connection),
                    column: None,
                };
                self.unplaced.push((place, text.to_owned(), fault, Some(known)));
                return;
            }
            (column, _) => column,
        };
        if is_bare && is_reading(column) {
            self.bare_described.push((place, column));
        }
        let winding = of(Column::Winding);
        let connection = of(Column::Connection);
        let entry = Entry {
            winding: self.texts.id(if winding.is_empty() { above } else { winding }),
            date: self.texts.id(of(Column::TestedOn)),
            order: TextId::EMPTY,
            connection: if connection.is_empty() {
                TextId::EMPTY
            } else {
                self.texts.id(&conductors::connection(connection, letters))
            },
            stage: None,
            column,
            text,
            place,
            of: Of::Test,
        };
        let keys = [Column::Winding, Column::TestedOn, Column::Connection];
        for (column, source) in description.columns.iter().filter(|(column, _)| !keys.contains(column)) {
            let text = cells.text(source, place);
            if !text.is_empty() {
                entries.push(Entry { column: *column, text, ..entry });
            }
        }
        entries.push(entry);
    }
}

/// A `[[layout]]` for a sheet that is not understood, to be corrected: everything in it is a guess.
#[must_use]
pub(super) fn suggestion(rows: &[GridRow], sheet: Option<&str>) -> Option<String> {
    let has_number = |cell: &String| super::cells::is_number(cell);
    let is_data = |row: &&GridRow| row.cells.iter().filter(|cell| has_number(cell)).count() > 0 && row.only().is_none();
    let data: Vec<&GridRow> = rows.iter().filter(is_data).collect();
    let mapping = Mapping::default();
    let reader = LabelReader::new(&mapping, 1 << 20);
    let known = |row: &GridRow| row.filled().filter(|(_, cell)| reader.read(cell).is_known()).count();
    // Rows above the header may have numbers too.
    let is_header = |row: &&GridRow| row.filled().count() > 2 && 2 * known(row) >= row.filled().count();
    let named = rows.iter().take(HEADER_WITHIN).find(is_header);
    let data: Vec<&GridRow> =
        data.into_iter().filter(|row| named.is_none_or(|header| row.line > header.line)).collect();
    let first = data.first().filter(|_| data.len() > 1)?;
    let width = first.cells.len();
    let above = || rows.iter().take_while(|row| row.line < first.line);
    let header = named.or_else(|| above().last());
    let text_of = |column: usize| header.map_or("", |row| row.cells[column].as_str());
    let field = |column: usize| reader.read(text_of(column)).field;
    let mostly = |column: usize, test: &dyn Fn(&str) -> bool| {
        let cells = || data.iter().map(|row| row.cells[column].as_str()).filter(|cell| !cell.is_empty());
        2 * cells().filter(|cell| test(cell)).count() > cells().count()
    };
    let of_field = |of: Column| (0..width).find(|column| field(*column) == Some(Field::Column(of)));
    let may_be_day = |column: &usize| mostly(*column, &label::is_date) && !aliases::says_limit(text_of(*column));
    let date = of_field(Column::TestedOn).or_else(|| (0..width).find(may_be_day));
    let is_text = |cell: &str| !is_number(cell) && !label::is_date(cell);
    let winding = of_field(Column::Winding).or_else(|| (0..width).find(|column| mostly(*column, &is_text)));
    let may_be_value = |column: &usize| {
        let label = reader.read(text_of(*column));
        let is_other = label.field.is_some() && !label.column().is_some_and(is_reading);
        !is_other && !aliases::has_unit_of_something_else(text_of(*column)) && !aliases::says_limit(text_of(*column))
    };
    let has_numbers =
        |column: &usize| 2 * data.iter().filter(|row| has_number(&row.cells[*column])).count() > data.len();
    let numbers: Vec<usize> = (0..width)
        .filter(|column| Some(*column) != date && Some(*column) != winding)
        .filter(|column| has_numbers(column) && may_be_value(column))
        .collect();
    let header = header.map_or(first.line, |row| row.line);
    let letters =
        |column: usize| CellPlace { line: 1, column }.name().trim_end_matches(|c: char| c.is_ascii_digit()).to_owned();
    // Later tests come below, or on the right where dates head the columns.
    let is_dated = |column: usize| above().any(|row| label::is_date(&row.cells[column]));
    let end = numbers.last().filter(|last| !is_dated(**last)).map_or_else(String::new, |last| letters(*last));
    let values = format!("{}:{end}", letters(*numbers.first()?));
    let of_sheet = sheet.map_or_else(String::new, |sheet| {
        format!("# sheet = {}  # the sheets that it is of; without it all\n", toml_edit::Value::from(sheet))
    });
    let winding = letters(winding.unwrap_or_default());
    let tested_on = date.map_or_else(|| format!("row {header}"), |column| format!("column {}", letters(column)));
    Some(format!(
        "# What the sheet looks like, for groundwall.toml beside the history: correct every line, and take away the marks before them.\n\
         # [[layout]]\n\
         {of_sheet}\
         # rows = \"{}:\"  # the rows with tests, to the end\n\
         # values = \"{values}\"  # the columns with readings\n\
         # holds = \"r_60s\"  # what they hold: r_60s, r_600s, r_60s_gohm …, or where its name stands\n\
         # winding = \"column {winding}\"  # where it stands: column A, row {header}, cell B2, sheet, text P-101\n\
         # tested_on = \"{tested_on}\"  # likewise; and connection, winding_temp_c, test_volts and the others, if they are there\n",
        first.line,
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_suggestion_names_the_columns_that_the_header_names() {
        let rows = |text: &str| -> Vec<GridRow> {
            let lines = text.lines().zip(1_u64..);
            lines
                .map(|(line, at)| GridRow {
                    line: at,
                    cells: line.split('|').map(|cell| cell.trim().to_owned()).collect(),
                })
                .collect()
        };
        let lines = |text: &str| -> Vec<String> {
            let found = suggestion(&rows(text), None).unwrap_or_default();
            found
                .lines()
                .filter_map(|line| Some(line.strip_prefix("# ")?.split("  #").next()?.to_owned()))
                .skip(2)
                .collect()
        };
        let list = "Firmware | 3.12 | | | |
                    Serial | 2207 | | | |
                    Object | Date | U [V] | Q [MΩ] | kW |
                    C-1 | 2025-06-24 | 500 | 452 | 11 |
                    C-2 | 2025-06-25 | 500 | 95 | 11 |";
        let of = |winding: &str, tested_on: &str, rows: &str, values: &str| {
            vec![
                format!("rows = \"{rows}\""),
                format!("values = \"{values}\""),
                "holds = \"r_60s\"".to_owned(),
                format!("winding = \"column {winding}\""),
                format!("tested_on = \"{tested_on}\""),
            ]
        };
        assert_eq!(lines(list), of("A", "column B", "4:", "D:D"));
        // What is due is no day of a test.
        let due = list.replace("| Date |", "| Next due |");
        assert_eq!(lines(&due), of("A", "row 3", "4:", "D:D"));
        let wide = "Readings of the mill | | |
                    Pos. | Drive | 2024-03-01 | 2025-03-01
                    1 | Roll | 230 | 218
                    2 | Press | 140 | 61";
        assert_eq!(lines(wide), of("B", "row 2", "3:", "C:"));
    }
}
