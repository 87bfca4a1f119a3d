//! Columns of a plain table that must be understood: those that may hold readings, tell tests apart, or are of either scale.

use super::cells;
use super::grid::GridRow;
use super::label_reader::LabelReader;
use super::refused::Refused;
use super::sheet_name::SheetName;
use super::{bands, blocks, open, phases, plan, signs, unnamed};
use crate::error::{Failure, shown};
use crate::ingest::columns::Columns;
use crate::ingest::date_forms::DateForms;
use crate::ingest::kinds::{self, is_celsius, is_key};
use crate::ingest::reading_rules::ReadingRules;
use crate::ingest::{aliases, header_words};
use groundwall::record::columns::Column;
use groundwall::resistance::ResistanceUnit;

/// Refuses a plain table with a column that must be understood and is not: one that seems to hold readings, one that tells the tests of a
/// day apart, temperatures that may be of either scale.
pub(super) fn must_be_understood(
    rows: &[GridRow],
    at: usize,
    rules: &ReadingRules,
    reader: &LabelReader<'_>,
    name: SheetName<'_>,
) -> Result<(), Refused> {
    let header = std::slice::from_ref(&rows[at]);
    if let Some(row) = rows.get(at + 1).filter(|row| blocks::heads_below(row, header, reader)) {
        let said: Vec<String> = row.filled().map(|(_, cell)| shown(cell)).collect();
        let message = format!(
            "{}: row {} below the header says {}, and it is not understood what that says of the columns",
            name.place,
            row.line,
            said.join(", ")
        );
        let hint = "write units and times into the header, such as IR 1 min (MΩ), and take the row out; a small m before Ω could mean \
                    milli or mega";
        return Err(Failure::usage(message).hint(hint).into());
    }
    let block = blocks::Block { titles: &[], headers: header, rows: &rows[at + 1..] };
    if let Some(sign) = signs::find(&[block], reader, name)?.first() {
        return Err(signs::not_read(name, sign).into());
    }
    let unread = unread_readings(rows, at, rules, reader);
    if !unread.is_empty() {
        return Err(Refused::by_columns(name, &unread));
    }
    let header = &rows[at].cells;
    let below = &rows[at + 1..];
    let mut columns = Columns::resolve(header.clone(), &rules.mapping);
    let free = columns.free_places(&rules.mapping).into_iter().filter(|place| *place < header.len());
    let cells = |place: usize| below.iter().map(|row| row.cells[place].clone()).collect();
    columns.take_for_units(free.map(|place| (place, cells(place))).collect::<Vec<_>>().into_iter());
    let keys = columns.known.iter().filter(|(_, column)| is_key(*column)).map(|(place, _)| *place).collect::<Vec<_>>();
    let of =
        |is: &dyn Fn(Column) -> bool| columns.known.iter().find(|(_, column)| is(*column)).map(|(place, _)| *place);
    let names = of(&|column| column == Column::Winding);
    let tested = of(&|column| column == Column::TestedOn);
    let dated = names.filter(|_| tested.is_some());
    let until = open::until_as_of(below, tested, &DateForms::new(rules));
    let below = until.as_deref().unwrap_or(below);
    let free = columns.free_places(&rules.mapping).into_iter().filter(|place| *place < header.len());
    // A column without a text says nothing.
    let is_filled = |place: &usize| below.iter().any(|row| !row.cells[*place].is_empty());
    let free: Vec<usize> =
        free.filter(|place| is_filled(place) && !open::is_guidance(&header[*place], header)).collect();
    let readings = columns
        .known
        .iter()
        .filter(|(place, column)| kinds::is_reading(*column) && Column::read(header[*place].trim()).is_none());
    let readings: Vec<_> =
        readings.map(|(place, _)| (*place, header[*place].trim(), reader.read(&header[*place]).ohms)).collect();
    if let Some(question) = open::of_a_factor_in_a_title(&rows[..=at], name) {
        return Err(question.into());
    }
    let unit = open::of_a_unit_written_once(below, &readings, name).filter(|_| columns.units.is_empty());
    if let Some(question) = unit {
        return Err(question.into());
    }
    for place in free.iter().copied() {
        let header = &header[place];
        let phases = || {
            let same = [of(&|column| column == Column::Connection), of(&|column| column == Column::Scope)];
            let same: Vec<usize> = same.into_iter().flatten().collect();
            phases::may_be_phases(below, (names, &same, tested), place, name, header, reader)
        };
        let apart = || dated.and_then(|_| open::tells_tests_apart(below, &keys, place, name, header));
        let trouble = || open::tells_of_trouble(below, names, place, name, header);
        let factors = || open::of_factors(below, place, name, header);
        if let Some(question) = phases().or_else(apart).or_else(trouble).or_else(factors) {
            return Err(question.into());
        }
    }
    if let Some(question) = open::of_trouble_below(below, names, name, reader) {
        return Err(question.into());
    }
    if let Some(at) = names {
        let readings: Vec<usize> =
            columns.known.iter().filter(|(_, column)| kinds::is_reading(*column)).map(|(place, _)| *place).collect();
        if let Some(question) = open::of_remarks_as_names(below, at, &readings, name) {
            return Err(question.into());
        }
        let named = open::Named::of(below, (at, &header[at]), tested, of(&kinds::is_reading), &DateForms::new(rules));
        let columns = free.iter().map(|place| (*place, header[*place].as_str()));
        if let Some(question) = bands::of_two_bands(below, (at, tested), (&DateForms::new(rules), reader), name) {
            return Err(question.into());
        }
        let is_said = Column::read(header[at].trim()).is_some() || rules.mapping.get(&header[at]).is_some();
        let others: Vec<(usize, String)> = free.iter().map(|place| (*place, header[*place].clone())).collect();
        let counted = open::of_row_numbers(below, (at, &header[at]), &others, name).filter(|_| !is_said);
        if let Some(question) = counted.or_else(|| open::of_two_machines(&named, columns, name)) {
            return Err(question.into());
        }
    }
    let unscaled =
        columns.known.iter().find(|(_, column)| is_celsius(*column)).map(|(place, _)| header[*place].as_str());
    let beside = rows[..at].iter().chain(below);
    if let Some(question) = unscaled.and_then(|header| open::of_other_scale(beside, name, header, &rules.mapping)) {
        return Err(question.into());
    }
    let mut celsius = columns.known.iter().filter(|(_, column)| is_celsius(*column)).map(|(place, _)| *place);
    match celsius.find_map(|place| open::of_either_scale(below, place, name, &header[place], &rules.mapping)) {
        Some(question) => Err(question.into()),
        None => Ok(()),
    }
}

/// The headers of a plain table's columns that seem to hold readings and are not read.
fn unread_readings(rows: &[GridRow], at: usize, rules: &ReadingRules, reader: &LabelReader<'_>) -> Vec<String> {
    let header = &rows[at].cells;
    let columns = Columns::resolve(header.clone(), &rules.mapping);
    if !columns.is_complete() {
        // What is missing is said.
        return Vec::new();
    }
    let at_places = |is: &dyn Fn(Column) -> bool| {
        columns.known.iter().filter(|(_, column)| is(*column)).map(|(place, _)| *place).collect::<Vec<usize>>()
    };
    let readings = at_places(&kinds::is_reading);
    let winding = at_places(&|column| column == Column::Winding).first().copied();
    let is_large = columns.known.iter().any(|(_, column)| {
        matches!(column, Column::Reading(_, unit) | Column::Resistance(unit) if *unit != ResistanceUnit::Ohm)
    });
    let is_unread = |place: &usize| {
        let label = reader.read(&header[*place]);
        if is_large && cells::holds_conductors(&rows[at + 1..], *place, &label) {
            return false;
        }
        // What is corrected follows from the reading of the same test.
        let is_beside = |at: &usize| {
            let read = reader.read(&header[*at]);
            read.date == label.date && read.stage == label.stage && read.occasion == label.occasion
        };
        let is_derived = cells::is_derived(&header[*place]) && readings.iter().any(is_beside);
        cells::says_reading(&header[*place], &label) && !is_derived && cells::holds_readings(&rows[at + 1..], *place)
            || (label.unknown
                && !is_derived
                && (plan::names_readings_by_unit(&rows[at + 1..], *place)
                    && !aliases::names_something_else(&header[*place])
                    || header_words::names_a_check(&header[*place])
                        && !aliases::names_a_count(&header[*place])
                        && cells::holds_readings(&rows[at + 1..], *place)))
            || unnamed::may_be_lowest(&rows[at + 1..], *place, &header[*place])
            || (label.unknown || !label.is_known() || label.column().is_some_and(kinds::is_reading))
                && unnamed::may_be_readings(&rows[at + 1..], winding, &readings, *place, &header[*place])
    };
    let free = columns.free_places(&rules.mapping).into_iter().filter(|place| *place < header.len());
    let free = free.filter(|place| !open::is_guidance(&header[*place], header));
    let is_filled = |place: &usize| rows[at + 1..].iter().any(|row| !row.cells[*place].is_empty());
    free.filter(is_filled).filter(is_unread).map(|place| shown(header[place].trim())).collect()
}
