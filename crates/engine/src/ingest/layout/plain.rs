//! Whether a sheet is a plain table: one row per test below one header.

use super::cells::{self, Names};
use super::grid::GridRow;
use super::label::conductors::Letters;
use super::label::{self, Field, Label};
use super::label_reader::LabelReader;
use super::titles::{self, Values};
use super::{blocks, context, headers, phases, plan, points};
use crate::ingest::columns::Columns;
use crate::ingest::date_forms::DateForms;
use crate::ingest::dates::{self, Period};
use crate::ingest::reading_rules::ReadingRules;
use crate::ingest::{header_words, kinds};
use groundwall::record::columns::Column;
use groundwall::record::is_ditto;

/// Whether a sheet with this header is a plain table: the header names everything, and each row below it is one test.
pub(super) fn is_plain(rows: &[GridRow], at: usize, rules: &ReadingRules, reader: &LabelReader<'_>) -> bool {
    if readings_above(rows, at).is_some() {
        return false;
    }
    let header = &rows[at];
    let labels = cells::labels_of(header, reader);
    let columns = Columns::resolve(header.cells.clone(), &rules.mapping);
    let is_own = |place: usize| columns.known.iter().any(|(known, _)| *known == place);
    let pivots = labels.iter().enumerate().filter(|(place, label)| {
        label.connection.is_some()
            || label.stage.is_some()
            || label.occasion.is_some()
            || label.voltage.is_some()
            || label.is_dated()
            || (label.phase.is_some() && !is_own(*place))
    });
    let is_generic =
        columns.header.iter().any(|name| matches!(reader.read(name).field, Some(Field::Column(Column::Resistance(_)))));
    let below_place =
        |place: usize| rows[at + 1..].iter().map(move |row| row.cells[place].as_str()).filter(|cell| !cell.is_empty());
    // Below `r_60s` each row is a reading after one minute, whatever is written under connection.
    let is_timed = labels.iter().any(|label| matches!(label.column(), Some(Column::Reading(..))));
    let has_quantities = labels.iter().enumerate().any(|(place, label)| {
        let is_connection = label.field == Some(Field::Column(Column::Connection));
        is_connection && !is_timed && points::name_quantities(&rows[at + 1..], place, reader)
    });
    let readings: Vec<usize> =
        columns.known.iter().filter(|(_, column)| kinds::is_reading(*column)).map(|(place, _)| *place).collect();
    let has_point = has_quantities
        || labels.iter().any(|label| label.field == Some(Field::Point))
        || ((is_generic || readings.is_empty())
            && (0..header.cells.len())
                .filter(|place| !is_own(*place) && !header.cells[*place].is_empty() && !labels[*place].left_out)
                .any(|place| {
                    let cells =
                        rows[at + 1..].iter().map(|row| row.cells[place].as_str()).filter(|cell| !cell.is_empty());
                    points::names_points(cells, reader)
                }));
    // The same header again, or that of another table.
    let repeats = rows[at + 1..].iter().skip(1).any(|row| row.cells == header.cells || heads_tests(row, reader));
    let winding = columns.known.iter().find(|(_, column)| *column == Column::Winding);
    // Names written once for several rows, or dates on the left of them.
    let date = columns.known.iter().find(|(_, column)| *column == Column::TestedOn);
    let date = date.filter(|(place, _)| winding.is_some_and(|(winding, _)| place < winding));
    let connection = columns.known.iter().find(|(_, column)| *column == Column::Connection);
    let (forms, day) = (DateForms::new(rules), columns.known.iter().find(|(_, column)| *column == Column::TestedOn));
    let is_later = |row: &GridRow| day.is_some_and(|(place, _)| forms.is_later(&row.cells[*place]));
    let blank_names = winding.into_iter().chain(date).chain(connection).any(|(place, _)| {
        let has_reading = |row: &GridRow| readings.iter().any(|at| !row.cells[*at].is_empty());
        let with_reading = rows[at + 1..].iter().filter(|row| has_reading(row) && !is_later(row));
        let (blank, named): (Vec<&GridRow>, Vec<&GridRow>) = with_reading.partition(|row| row.cells[*place].is_empty());
        2 * blank.len() > named.len() && blank.len() > 2
    });
    let above = rows[..at].last().map(|row| cells::labels_of(row, reader)).unwrap_or_default();
    let groups = above
        .iter()
        .filter(|label| {
            label.connection.is_some() || label.stage.is_some() || label.occasion.is_some() || label.is_dated()
        })
        .count();
    let has_scale_above = rows[..at]
        .last()
        .and_then(GridRow::only)
        .is_some_and(|(place, text)| place > 0 && blocks::names_scale(text, reader));
    let unit_above = has_scale_above || rows[..at].iter().any(|row| context::unit_of_title(row).is_some());
    let titled = rows[..at]
        .iter()
        .filter_map(GridRow::only)
        .any(|(_, title)| !matches!(titles::values_of(title, reader), None | Some(Values::Resistances)));
    let below = &rows[at + 1..];
    let has = |field: Field| labels.iter().any(|label| label.field == Some(field));
    // Days whose year or month stands in another column, in a title or in a row above.
    let is_part = |text: &str| dates::is_part_of_year(text) || dates::day_of_month(text).is_some();
    let has_days_alone = day.is_some_and(|(place, _)| {
        let mut texts = below_place(*place).filter(|text| Period::read(text).is_none()).peekable();
        texts.peek().is_some() && texts.all(is_part)
    });
    let has_parts_of_dates =
        (has(Field::Year) && [Field::Month, Field::Quarter, Field::Week].into_iter().any(has)) || has_days_alone;
    let free = || (0..header.cells.len()).filter(|place| !labels[*place].is_known());
    let is_winding = |place: &usize| labels[*place].field == Some(Field::Column(Column::Winding));
    let named: Vec<usize> = (0..header.cells.len()).filter(is_winding).collect();
    let names = Names::of(below, &named, |place| header.cells[place].clone());
    let taken = winding.map(|(place, _)| *place);
    let has_components = names.component.is_some()
        || plan::named_by_site(&named, |place| header.cells[place].clone(), reader.mapping()).is_some()
        || (taken.is_some() && names.winding(|place| header.cells[place].clone()) != taken)
        || taken.is_some_and(|winding| cells::component_column(below, winding, free()).is_some())
        || taken.is_some_and(|winding| {
            cells::machine_column(below, winding, |place| header.cells[place].clone(), free()).is_some()
        });
    let has_clock = free().any(|place| cells::holds_clock(below, place));
    let is_said = connection.is_some_and(|(place, _)| below_place(*place).next().is_some());
    let has_phases = !is_said
        && free().any(|place| {
            !header_words::names_places(&header.cells[place]) && phases::names_phases(below, place, reader)
        });
    let has_two_units = cells::are_in_two_units(below, labels.iter().enumerate().map(|(at, label)| (at, &**label)));
    let has_colours = connection.is_some_and(|(place, _)| plan::letters_of(below, *place) != Letters::OfPhases);
    let has_dittos = named
        .iter()
        .chain(connection.map(|(place, _)| place))
        .chain(day.map(|(place, _)| place))
        .any(|place| below.iter().any(|row| is_ditto(&row.cells[*place])));
    let has_groups = groups > 1 && rows[at - 1].only().is_none();
    let numbered: Vec<(usize, Label)> =
        labels.iter().enumerate().map(|(at, label)| (at, Label::clone(label))).collect();
    pivots.count() < 2
        && headers::side_by_side(&numbered, header.cells.len()).len() < 2
        // `R`, `S`, `T` are phases, and neither a resistance nor a temperature.
        && label::custom_of(labels.iter().map(|label| &**label)).is_none()
        && !has_groups
        && !has_point
        && !repeats
        && !blank_names
        && !unit_above
        && !titled
        && !has_parts_of_dates
        && !has_components
        && !has_clock
        && !has_phases
        && !has_colours
        && !has_two_units
        && !has_dittos
        && !cells::is_label_row(rows.get(at + 1), reader)
        && !rows.get(at + 1).is_some_and(|row| blocks::heads_below(row, std::slice::from_ref(header), reader))
        && !reader.is_exhausted()
}

/// Whether a row is the header of tests: it names the column of motors, and that of dates or dates themselves.
fn heads_tests(row: &GridRow, reader: &LabelReader<'_>) -> bool {
    // A quick test first: almost every row of a table holds a number, and the only numbers in a header are years.
    let is_number = |cell: &str| {
        cell.len() != 4 && cell.bytes().all(|byte| byte.is_ascii_digit() || matches!(byte, b'.' | b',' | b'<' | b'>'))
    };
    if row.filled().any(|(_, cell)| is_number(cell)) {
        return false;
    }
    let is_column =
        |column: Column| row.filled().any(|(_, cell)| reader.read(cell).field == Some(Field::Column(column)));
    cells::is_header(row, reader)
        && is_column(Column::Winding)
        && (is_column(Column::TestedOn) || row.filled().filter(|(_, cell)| reader.read(cell).is_dated()).count() > 1)
}

/// The line of a row above a header that may hold tests of another table: two numbers side by side.
pub(super) fn readings_above(rows: &[GridRow], at: usize) -> Option<u64> {
    let is_test = |row: &&GridRow| row.cells.windows(2).any(|two| two.iter().all(|cell| cells::is_number(cell)));
    rows[..at].iter().find(is_test).map(|row| row.line)
}
