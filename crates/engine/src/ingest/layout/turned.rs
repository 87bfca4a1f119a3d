//! Sheets with motors in columns and what was measured in rows, turned so that each motor has a row; forms of one motor too, with what was
//! measured beside its label.

use super::cells::{is_number, is_point};
use super::context::{Context, is_name};
use super::grid::GridRow;
use super::label::{self, Field, conductors};
use super::label_reader::LabelReader;
use crate::ingest::cell_place::CellPlace;
use crate::ingest::kinds::is_reading;
use crate::ingest::unit::Unit;
use groundwall::record::columns::Column;
use std::collections::BTreeMap;

/// A sheet that was turned.
#[derive(Debug)]
pub(super) struct Turned {
    /// Titles as they are, then a header and a row for each motor.
    pub(super) rows: Vec<GridRow>,
    /// By the line of a turned row: the column of its motor, and the lines of its cells.
    places: BTreeMap<u64, (usize, Vec<u64>)>,
}

/// Rows of one table in the sheet: the row of names, the column of what each row measures, the rows below.
struct Part<'a> {
    names: &'a GridRow,
    corner: usize,
    rows: &'a [GridRow],
    /// The column of the units of a form, after its values.
    units: Option<usize>,
}

impl Turned {
    /// Turns a sheet in which a row of names stands above rows that say what they measure, a date or another quantity and resistances among them.
    pub(super) fn of(rows: &[GridRow], reader: &LabelReader<'_>) -> Option<Self> {
        let first = (0..rows.len().min(HEADER_WITHIN)).find(|at| part(rows, *at, reader).is_some())?;
        let mut turned = Self { rows: rows[..first].to_vec(), places: BTreeMap::new() };
        // A gap, so that no title is a part of the header.
        let mut line = rows[first].line + 1;
        let mut at = first;
        while at < rows.len() {
            let Some(part) = part(rows, at, reader) else {
                // Something else below it is no part of this layout.
                let is_note = rows[at].only().is_some() && !rows[at].filled().any(|(_, cell)| is_number(cell));
                if !is_note {
                    return None;
                }
                at += 1;
                continue;
            };
            turned.add(&part, &mut line, reader);
            at += 1 + part.rows.len();
        }
        Some(turned)
    }

    fn add(&mut self, part: &Part<'_>, line: &mut u64, reader: &LabelReader<'_>) {
        let corner = &part.names.cells[part.corner];
        let is_named = reader.read(corner).field == Some(Field::Column(Column::Winding));
        let quantities = part.rows.iter().map(|row| {
            let cell = row.cells[part.corner].as_str();
            let label = seconds(cell).map_or_else(|| cell.to_owned(), |seconds| format!("{seconds} s"));
            match part.units.map_or("", |at| row.cells[at].as_str()) {
                unit if unit.is_empty() || has_unit(cell, reader) => label,
                unit => format!("{label} ({unit})"),
            }
        });
        let header = if is_named { corner.clone() } else { "Motor".to_owned() };
        self.push(std::iter::once(header).chain(quantities).collect(), *line);
        let dates = part.rows.iter().find(|row| reader.read(&row.cells[part.corner]).field == Some(DATE));
        let mut name = "";
        for column in (part.corner + 1..part.names.cells.len()).filter(|at| Some(*at) != part.units) {
            let own = part.names.cells[column].as_str();
            // Several tests of a motor, with its name above the first of them.
            let is_of_the_name = dates.is_some_and(|row| label::is_date(&row.cells[column]));
            if !own.is_empty() || !is_of_the_name {
                name = own;
            }
            let cells = part.rows.iter().map(|row| row.cells[column].clone());
            *line += 1;
            let lines = std::iter::once(part.names.line).chain(part.rows.iter().map(|row| row.line)).collect();
            self.places.insert(*line, (column, lines));
            self.push(std::iter::once(name.to_owned()).chain(cells).collect(), *line);
        }
        *line += 2;
    }

    fn push(&mut self, cells: Vec<String>, line: u64) {
        self.rows.push(GridRow { line, cells });
    }

    /// The place in the sheet of a cell of a turned row.
    pub(super) fn place(&self, place: CellPlace) -> CellPlace {
        match self.places.get(&place.line) {
            Some((column, lines)) => {
                CellPlace { line: lines.get(place.column).copied().unwrap_or(place.line), column: *column }
            }
            None => place,
        }
    }
}

/// A row of names stands among the first so many rows.
const HEADER_WITHIN: usize = 30;
const DATE: Field = Field::Column(Column::TestedOn);

/// The table that begins at a row, if it has motors in columns.
fn part<'a>(rows: &'a [GridRow], at: usize, reader: &LabelReader<'_>) -> Option<Part<'a>> {
    let names = &rows[at];
    let (first, text) = names.filled().next()?;
    let field = reader.read(text).field;
    let is_headed = matches!(field, Some(Field::Column(Column::Winding) | Field::Point));
    let below = rows.get(at + 1)?.filled().next().map_or(0, |(place, _)| place);
    let corner = if is_headed { first } else { below };
    let is_own = |name: &str| {
        let label = reader.read(name);
        // `RG Dorp` after `Motor` is a name, although it begins like a connection; `U to earth` is a connection.
        let is_word = |word: &str| word.chars().count() > 2 && !conductors::is_earth(&word.to_lowercase());
        let may_be = field == Some(Field::Column(Column::Winding)) && name.split_whitespace().any(is_word);
        let is_connection = label.connection.is_some() && !may_be;
        let is_other = label.field.is_some() || label.ohms.is_some() || is_connection || label.is_dated();
        !is_other && (is_headed || is_name(name))
    };
    let across: Vec<&str> = names.filled().filter(|(place, _)| *place > corner).map(|(_, name)| name).collect();
    let is_dated = |row: &GridRow| {
        let mut days = row.filled().filter(|(place, _)| *place > corner).map(|(_, cell)| cell).peekable();
        reader.read(&row.cells[corner]).field == Some(DATE) && days.peek().is_some() && days.all(label::is_date)
    };
    // `Check | CV-101 | CV-102` above `Date | 10/03/2026 | 11/03/2026`: the motors of a list of checks, where no title names one.
    let heads_dates = first == corner
        && is_dated(&rows[at + 1])
        && heads_checks(text)
        && Context::of(&rows[..at.min(HEADER_WITHIN)], reader).winding().is_none();
    // `Motor: | P-101 | Rated: | 6 kV` is a title.
    let is_title = |name: &&str| name.ends_with(':');
    let is_form = is_headed && across.len() == 1;
    if (across.len() < 2 && !is_form)
        || across.iter().any(is_title)
        || !across.iter().all(|name| is_own(name))
        || (!is_headed && first == corner && !heads_dates)
    {
        return None;
    }
    // A blank row may separate the readings from what stands above them.
    let heads = |row: &GridRow| {
        let field = reader.read(&row.cells[corner]).field;
        matches!(field, Some(Field::Column(Column::Winding) | Field::Point))
    };
    let is_note = |two: &[GridRow]| two[1].only().is_some() && two[0].line + 1 < two[1].line;
    let is_below = |two: &&[GridRow]| {
        two[1].line <= two[0].line + 2 && !two[1].cells[corner].is_empty() && !is_note(two) && !heads(&two[1])
    };
    let count = rows[at..].windows(2).take_while(is_below).count();
    let rows = &rows[at + 1..at + 1 + count];
    let has_values = |place: usize| rows.iter().any(|row| row.cells[place].contains(|c: char| c.is_ascii_digit()));
    if !names.filled().filter(|(place, _)| *place > corner).all(|(place, _)| has_values(place)) {
        return None;
    }
    let cells = || rows.iter().map(|row| row.cells[corner].as_str());
    let is_ohms = |cell: &str| {
        let label = reader.read(cell);
        label.ohms.is_some() || label.column().is_some_and(is_reading)
    };
    let times = cells().filter_map(seconds).count();
    let readings = cells().filter(|cell| is_ohms(cell)).count() + times;
    let others = cells().filter(|cell| is_point(cell, reader) && !is_ohms(cell)).count();
    let is_known = |cell: &str| reader.read(cell).is_known() || seconds(cell).is_some();
    let unknown = cells().filter(|cell| !is_known(cell)).count();
    let has_date = rows.iter().any(is_dated);
    let units = units_of(rows, corner);
    // `IR (MΩ)` with GΩ beside it contradicts itself.
    let differ = |row: &GridRow| {
        let label = reader.read(&row.cells[corner]);
        match units.and_then(|at| Unit::read(&row.cells[at])) {
            Some(Unit::Ohms(unit)) => label.ohms.is_some_and(|own| own != unit),
            Some(Unit::Degrees(scale)) => label.scale.is_some_and(|own| own != scale),
            _ => false,
        }
    };
    if rows.iter().any(differ) {
        return None;
    }
    if is_form {
        // With several days, the dates must be above the readings.
        let several =
            rows.iter().any(|row| row.filled().filter(|(at, _)| *at > corner && Some(*at) != units).count() > 1);
        let of_readings = rows.iter().position(|row| is_ohms(&row.cells[corner]));
        if several && of_readings < rows.iter().position(is_dated) {
            return None;
        }
        // A header among the values means that this is a table below a title.
        let values = || rows.iter().flat_map(|row| row.filled().filter(|(at, _)| *at > corner && Some(*at) != units));
        let is_header = |(_, cell): (usize, &str)| is_ohms(cell) && !is_number(cell) && !label::is_date(cell);
        if !has_date || values().any(is_header) {
            return None;
        }
    }
    (readings > 0 && (has_date || others > 0) && (heads_dates || 2 * unknown <= rows.len())).then_some(Part {
        names,
        corner,
        rows,
        units,
    })
}

/// Whether a label says its unit itself.
fn has_unit(label: &str, reader: &LabelReader<'_>) -> bool {
    let label = reader.read(label);
    label.ohms.is_some() || label.scale.is_some()
}

/// Whether a text heads the lines of a list of checks.
fn heads_checks(text: &str) -> bool {
    const WORDS: [&str; 30] = [
        "check",
        "checks",
        "task",
        "tasks",
        "step",
        "inspection",
        "description",
        "test",
        "tests",
        "activity",
        "operation",
        "prüfung",
        "prüfpunkt",
        "tätigkeit",
        "beschreibung",
        "arbeit",
        "contrôle",
        "opération",
        "tâche",
        "tarea",
        "actividad",
        "comprobación",
        "attività",
        "controllo",
        "descrizione",
        "taak",
        "omschrijving",
        "tarefa",
        "atividade",
        "descrição",
    ];
    WORDS.contains(&text.trim().to_lowercase().as_str())
}

/// The column after the values of a form in which there are units and nothing else.
fn units_of(rows: &[GridRow], corner: usize) -> Option<usize> {
    let last = rows.iter().filter_map(|row| row.filled().last()).map(|(at, _)| at).max()?;
    let mut units = rows.iter().map(|row| row.cells[last].as_str()).filter(|cell| !cell.is_empty());
    (last > corner + 1 && units.all(|cell| Unit::read(cell).is_some())).then_some(last)
}

/// A time after the voltage was applied, in minutes and seconds: `0:15`, `10:00`.
fn seconds(cell: &str) -> Option<u32> {
    let (minutes, seconds) = cell.trim().split_once(':')?;
    let number = |text: &str| text.parse::<u32>().ok().filter(|_| text.len() < 3);
    let (minutes, seconds) = (number(minutes)?, number(seconds).filter(|own| *own < 60)?);
    let time = 60 * minutes + seconds;
    // What is later is a time of day.
    (time > 0 && time <= 600 && time % 15 == 0).then_some(time)
}
