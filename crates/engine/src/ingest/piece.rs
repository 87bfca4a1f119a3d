//! One piece of a text read: its rows judged one by one, into tests and rejected rows.

use super::columns::Columns;
use super::dates::{self, Period};
use super::free_form::apparent;
use super::kinds::is_reading;
use super::piece_rules::PieceRules;
use super::pieces::Piece;
use super::rejections::Rejections;
use super::rewrite::{self, Liberties, Outcome};
use super::row_fault::{RowFault, WHOLE_ROW};
use super::rows::{Cells, Row, Rows};
use super::said_unit::{self, UnitCell, may_name_ohms, said_unit};
use super::unit::Unit;
use super::verdicts;
use groundwall::assess::looks_like_fahrenheit;
use groundwall::record::columns::Column;
use groundwall::record::validate::{Fault, TestRules};
use groundwall::record::{Event, KeptOut, Origin, RowBuffer, TestRecord, tells_of_trouble};
use groundwall::resistance::ResistanceUnit;
use groundwall::table::{TableFull, TestTable};
use groundwall::units::Elapsed;
use std::borrow::Cow;

/// What a piece holds.
#[derive(Debug, Default)]
pub struct Parsed {
    /// Its rows, those of tests not done left out.
    pub rows: u64,
    /// Rows that name what was to be tested and say nothing of a test.
    pub not_done: u64,
    /// Tests of one row each.
    pub tests: TestTable,
    /// Rows of one timed reading each.
    pub timed: Vec<TestRecord>,
    /// The rejected rows.
    pub rejections: Rejections,
    /// Which of the tests are what can be read of rejected rows, and what could not be.
    pub rejected_tests: Vec<(u32, KeptOut)>,
    /// Tests whose winding temperature looks like one in °F, of those that have it and the air's.
    pub like_fahrenheit: (u64, u64),
    /// What was read that the plain rules do not allow.
    pub liberties: Liberties,
    /// A text beside the tests that names a unit other than MΩ: its line, itself, and the unit.
    pub said: Option<(u64, String, Option<ResistanceUnit>)>,
    /// The same of a row that is not a test and names another unit than the readings have.
    pub said_below: Option<(u64, String, Option<ResistanceUnit>)>,
    /// Whether it is text in UTF-8.
    pub utf_8: bool,
}

/// Reads a piece.
///
/// # Errors
///
/// [`TableFull`] when it holds more than a table can.
pub fn parse(piece: &Piece, rules: &PieceRules<'_>) -> Result<Parsed, TableFull> {
    let text = std::str::from_utf8(&piece.text);
    let mut parsed = Parsed { utf_8: text.is_ok(), ..Parsed::default() };
    let mut rows = match text {
        Ok(text) => Rows::of_text(text, rules.delimiter, piece.line),
        Err(_) => Rows::new(&piece.text, rules.delimiter, piece.line),
    };
    let mut draft = RowBuffer::default();
    let timed = rules.columns.is_timed();
    let may_name = may_name_ohms(&piece.text);
    let names_unit = |note: &str| may_name && said_unit(note).is_some();
    // Where no other column says how the cells of a row are to be read.
    let plain_cells = rules.columns.units.is_empty() && rules.columns.bounds.is_empty();
    let mut last_kept = None;
    // The faulty row before, byte for byte, and its faults: a row that says the same right after it is judged alike.
    let mut last_faulty: Option<(Vec<u8>, Vec<Fault>)> = None;
    while let Some(row) = rows.next_row() {
        let origin = Origin { input: rules.input, line: (rules.place)(row.line) };
        if let Some((_, faults)) = last_faulty.as_ref().filter(|(raw, _)| raw == row.raw) {
            parsed.rejections.push(origin, row.raw, faults.iter().map(RowFault::from));
            parsed.rows += 1;
            continue;
        }
        last_faulty = None;
        let plain = judge_row(&rules.tests, rules.columns, &row, origin, &mut draft);
        let outcome = match (plain, row.cells) {
            (Ok(test), Ok(cells))
                if plain_cells && !test.note().is_some_and(names_unit) && !says_failed(rules.columns, cells) =>
            {
                Outcome::Test(test)
            }
            // A row of a test not done has no date, so it is found among the faulty ones only.
            (Err(_), _) if is_not_done(rules.columns, &row) => Outcome::NotDone,
            (Err(faults), Ok(_)) if faults.iter().any(is_of_the_row) => Outcome::Faulty(faults),
            (plain, Ok(cells)) => {
                let faults = plain.err().unwrap_or_default();
                rewrite::read(rules, cells, origin, &mut draft, faults, &mut parsed.liberties)
            }
            (plain, Err(_)) => Outcome::Faulty(plain.err().unwrap_or_default()),
        };
        if may_name && parsed.said_below.is_none() && !matches!(outcome, Outcome::Test(_)) {
            parsed.said_below = row_of_units(rules.columns, &row).map(|(text, unit)| (origin.line, text, unit));
        }
        if may_name && parsed.said_below.is_none() && matches!(outcome, Outcome::NotDone) {
            let of_readings = |unit: Option<ResistanceUnit>| {
                let mut units = rules.columns.known.iter().filter_map(|(_, column)| match column {
                    Column::Reading(_, own) | Column::Resistance(own) => Some(*own),
                    _ => None,
                });
                units.all(|own| Some(own) == unit)
            };
            let said = said_beside(rules.columns, &row, false).filter(|(_, unit)| !of_readings(*unit));
            parsed.said_below = said.map(|(text, unit)| (origin.line, text, unit));
        }
        if may_name && parsed.said.is_none() {
            let is_test = matches!(outcome, Outcome::Test(_));
            parsed.said = said_beside(rules.columns, &row, is_test).map(|(text, unit)| (origin.line, text, unit));
        }
        match outcome {
            Outcome::Test(test) if timed => parsed.timed.push(test.clone()),
            Outcome::Test(test) => {
                // A winding that is being dried out is heated.
                let heated = matches!(test.event(), Some(Event::Flooded | Event::Drying));
                if let (Some(winding), Some(air), false) = (test.winding_temp(), test.air_temp(), heated) {
                    parsed.like_fahrenheit.0 += u64::from(looks_like_fahrenheit(winding, air));
                    parsed.like_fahrenheit.1 += 1;
                }
                parsed.tests.push(test)?;
            }
            Outcome::NotDone => {
                parsed.not_done += 1;
                continue;
            }
            Outcome::Faulty(faults) => {
                if let Some((test, why)) = without_faulty_cells(rules, &row, origin, &faults) {
                    // Rows one after the other that say the same, as the lines of a broken cell do, are known by the first of them.
                    let kept = (parsed.tests.len(), test.content_digest(), why);
                    if last_kept != Some(kept) {
                        parsed.rejected_tests.push((u32::try_from(kept.0).unwrap_or(u32::MAX), why));
                        parsed.tests.push(&test)?;
                        last_kept = Some((parsed.tests.len(), kept.1, why));
                    }
                }
                parsed.rejections.push(origin, row.raw, faults.iter().map(RowFault::from));
                last_faulty = Some((row.raw.to_vec(), faults));
            }
        }
        parsed.rows += 1;
    }
    Ok(parsed)
}

/// Whether a column of verdicts says that the test failed.
fn says_failed(columns: &Columns, cells: Cells<'_>) -> bool {
    !columns.verdicts.is_empty() && columns.failures(|place| cells.text(place).unwrap_or_default()).next().is_some()
}

/// A unit that stands in place of a reading, other than the one that the column is read in: a row of units below the header.
#[cold]
fn row_of_units(columns: &Columns, row: &Row<'_, '_>) -> Option<(String, Option<ResistanceUnit>)> {
    let cells = row.cells.ok()?;
    let is_dated = |(place, column): &(usize, Column)| {
        *column == Column::TestedOn
            && cells.text(*place).is_ok_and(|text| dates::is_date(text) || Period::read(text).is_some())
    };
    if columns.known.iter().any(is_dated) {
        return None;
    }
    let texts = || (0..cells.len()).filter_map(|at| Some((at, cells.text(at).ok()?.trim())));
    let units = said_unit::row_of_units(texts().filter(|(_, text)| !text.is_empty())).filter(|units| units.len() > 1);
    let is_unclear = |place: usize| units.as_ref().is_some_and(|units| units.contains(&(place, UnitCell::Ohms(None))));
    columns.known.iter().find_map(|(place, column)| {
        let (Column::Reading(_, own) | Column::Resistance(own)) = column else { return None };
        let text = cells.text(*place).ok()?;
        match Unit::read(text) {
            Some(Unit::Ohms(unit)) if unit != *own => Some((text.trim().to_owned(), Some(unit))),
            None if is_unclear(*place) => Some((text.trim().to_owned(), None)),
            _ => None,
        }
    })
}

/// The first text of a row that names a unit for readings and stands under none of its columns; in a row that is not a test, under any but
/// those of readings and units.
#[cold]
fn said_beside(columns: &Columns, row: &Row<'_, '_>, is_test: bool) -> Option<(String, Option<ResistanceUnit>)> {
    let cells = row.cells.ok().filter(|_| may_name_ohms(row.raw))?;
    let is_asked = |place: &usize| {
        let known = columns.known.iter().find(|(at, _)| at == place).map(|(_, column)| *column);
        let is_unit = columns.units.iter().any(|unit| unit.place == *place);
        !is_unit
            && match known {
                None => true,
                Some(Column::Winding | Column::TestedOn) => !is_test,
                Some(_) => false,
            }
    };
    let texts = (0..cells.len()).filter(is_asked).filter_map(|place| cells.text(place).ok());
    texts.filter_map(|text| Some((text.trim().to_owned(), said_unit(text)?.unit))).next()
}

/// What a rejected row says without its faulty cells: it is not used, and must not make an answer less urgent by being away. Of a row
/// with too few or too many cells only what names the test is read.
#[cold]
fn without_faulty_cells(
    rules: &PieceRules<'_>,
    row: &Row<'_, '_>,
    origin: Origin,
    faults: &[Fault],
) -> Option<(TestRecord, KeptOut)> {
    let cells = row.cells.ok()?;
    let is_of_row = faults.iter().any(|fault| fault.column == WHOLE_ROW);
    let names_the_test =
        |column: &Column| matches!(column, Column::Winding | Column::TestedOn | Column::Connection | Column::Scope);
    let cell = |place: usize| cells.text(place).unwrap_or_default().trim();
    let is_faulty = |place: usize, column: &Column| {
        let mut names = vec![column.to_string()];
        // A fault names a reading with the unit that stands beside it.
        let meant = Some(*column).filter(|column| is_reading(*column));
        names.extend(meant.and_then(|own| Some(rules.columns.as_meant(place, own, &cell)?.0.to_string())));
        // No number is read in another unit than the one that stands beside it.
        (is_of_row && !names_the_test(column))
            || faults.iter().any(|fault| {
                names.contains(&fault.column)
                    || (rules.columns.is_unit_or_bound(&fault.column) && !names_the_test(column))
            })
    };
    // What a cell that is no reading seems to say, and a reading of no known time, count where they are worse.
    let is_untimed = faults.iter().any(|fault| matches!(fault.known_column(), Some(Column::Elapsed(_))));
    let (mut reading_unread, mut is_apparent) = (false, false);
    let mut texts: Vec<(Column, Cow<'_, str>)> = Vec::new();
    for (place, column) in &rules.columns.known {
        let (text, is_faulty) = (cell(*place), is_faulty(*place, column));
        if !is_reading(*column) {
            texts.extend((!is_faulty).then_some((*column, Cow::Borrowed(text))));
            continue;
        }
        let meant = rules.columns.as_meant(*place, *column, &cell).filter(|_| !is_of_row);
        let (true, Some((of_unit, whole))) = (at_one_minute(*column), meant.clone()) else {
            reading_unread |=
                if is_faulty { is_of_row || !text.is_empty() } else { meant.is_none() && !text.is_empty() };
            texts.extend(meant.filter(|_| !is_faulty));
            continue;
        };
        match (of_unit, is_faulty) {
            (Column::Resistance(unit), false) if is_untimed && !text.is_empty() => {
                (reading_unread, is_apparent) = (true, true);
                texts.extend(Elapsed::from_seconds(60.0).ok().map(|minute| (Column::Reading(minute, unit), whole)));
            }
            (_, true) => {
                reading_unread |= !text.is_empty();
                let seen = apparent(text);
                is_apparent |= seen.is_some();
                texts.extend(seen.map(|seen| (of_unit, Cow::Borrowed(seen))));
            }
            (_, false) => texts.push((of_unit, whole)),
        }
    }
    // A name with a unit in it may be that of a winding whose reading got into its cell.
    let named =
        rules.columns.known.iter().find(|(place, column)| *column == Column::Winding && is_faulty(*place, column));
    texts.extend(named.and_then(|(place, _)| Some((Column::Winding, Cow::Owned(legible_name(cell(*place))?)))));
    // A faulty cell may tell of trouble: `under water, do not start`.
    let told = (0..cells.len())
        .map(cell)
        .filter(|text| faults.iter().any(|fault| fault.value == *text) && tells_of_trouble(text));
    texts.extend(
        told.map(|text| (Column::Note, Cow::Borrowed(text)))
            .next()
            .filter(|_| !texts.iter().any(|(own, text)| *own == Column::Note && !text.is_empty())),
    );
    let texts = texts.iter().map(|(column, text)| (column, &**text));
    let (test, why) = rules.tests.remains(texts, origin, rules.dates.as_of, reading_unread)?;
    let why = if is_apparent { KeptOut::Unread } else { why };
    let is_misdated = why == KeptOut::Undated && faults.iter().any(Fault::is_date_after_today);
    Some((test, if is_misdated { KeptOut::Misdated } else { why }))
}

/// Whether a column holds the readings that are judged.
pub(super) fn at_one_minute(column: Column) -> bool {
    match column {
        Column::Reading(at, _) => (at.as_seconds() - 60.0).abs() < 0.5,
        column => matches!(column, Column::Resistance(_)),
    }
}

/// Whether a fault is one of a whole row, or of bytes that are no text: then its cells are not read once more.
fn is_of_the_row(fault: &Fault) -> bool {
    fault.column == WHOLE_ROW || fault.rule == NOT_UTF_8
}

/// Whether a row is one of a sheet to fill in that was left empty: it names a winding, perhaps its connection and scope, and
/// every other cell that would be read is blank. Cells of other columns do not matter. One cell more, be it a temperature or
/// a note, and somebody was there: then what is missing is a fault.
fn is_not_done(columns: &Columns, row: &Row<'_, '_>) -> bool {
    let Ok(cells) = row.cells else { return false };
    let blank = |cell: Option<&[u8]>| cell.is_none_or(|cell| cell.trim_ascii().is_empty());
    cells.len() >= columns.width
        && cells.iter().skip(columns.width).all(|cell| blank(Some(cell)))
        && columns.bounds.iter().all(|bound| blank(cells.get(bound.place)))
        && columns.known.iter().all(|(place, column)| match column {
            Column::Winding => !blank(cells.get(*place)) && !cells.text(*place).is_ok_and(verdicts::is_note_of_trouble),
            Column::Connection | Column::Scope => true,
            _ => blank(cells.get(*place)),
        })
}

/// A row as a test, or everything that is wrong with it.
fn judge_row<'d>(
    rules: &TestRules,
    columns: &Columns,
    row: &Row<'_, '_>,
    origin: Origin,
    draft: &'d mut RowBuffer,
) -> Result<&'d TestRecord, Vec<Fault>> {
    let cells = row.cells.map_err(|why| {
        let (found, rule, hint) = why.said();
        vec![row_fault(found, rule, hint)]
    })?;
    let wanted = columns.width;
    // Separators at the end of a line hold nothing and do no harm; a cell too few may stand in any place.
    if cells.len() < wanted || cells.iter().skip(wanted).any(|cell| !cell.trim_ascii().is_empty()) {
        let plural = if cells.len() == 1 { "cell" } else { "cells" };
        return Err(vec![row_fault(
            format!("{} {plural}", cells.len()),
            format!("the header has {wanted}"),
            "put text that holds the separator between quotes, or add the cells that are missing",
        )]);
    }
    if cells.are_text() {
        let text = |(place, column): &'_ (usize, Column)| (*column, cells.known_text(*place).unwrap_or_default());
        return rules.read(columns.known.iter().map(text), origin, draft).map_err(Vec::from);
    }
    let mut damaged = Vec::new();
    let texts = columns.known.iter().filter_map(|(place, column)| match cells.text(*place) {
        Ok(text) => Some((column, text)),
        Err(bytes) => {
            damaged.push(not_utf_8(*column, bytes));
            None
        }
    });
    let outcome = rules.read(texts, origin, draft).map_err(Vec::from);
    if damaged.is_empty() {
        return outcome;
    }
    // A cell that could not be read looks empty to the rules: that they miss it does not count.
    let mut others = outcome.err().unwrap_or_default();
    let is_reading = |fault: &Fault| matches!(fault.known_column(), Some(Column::Reading(..)));
    others.retain(|other| {
        let same = |fault: &Fault| fault.column == other.column || (is_reading(fault) && is_reading(other));
        !(other.value.is_empty() && damaged.iter().any(same))
    });
    damaged.extend(others);
    Err(damaged)
}

/// A name without the unit that ends it, or without its control characters.
fn legible_name(name: &str) -> Option<String> {
    if name.contains(char::is_control) {
        return Some(name.replace(char::is_control, ""));
    }
    let (rest, unit) = name.rsplit_once(char::is_whitespace)?;
    let is_unit = Unit::read(unit).is_some() || said_unit(unit).is_some();
    let rest = rest.trim_end();
    (is_unit && !rest.is_empty()).then(|| rest.to_owned())
}

/// The rule for texts.
const NOT_UTF_8: &str = "text is written in UTF-8";

#[cold]
fn not_utf_8(column: Column, bytes: &[u8]) -> Fault {
    Fault {
        column: column.to_string(),
        value: String::from_utf8_lossy(bytes).into_owned(),
        rule: NOT_UTF_8.to_owned(),
        hint: "save the file as CSV in UTF-8, or name its encoding: --encoding windows-1252".to_owned(),
    }
}

fn row_fault(value: String, rule: String, hint: &str) -> Fault {
    Fault { column: WHOLE_ROW.to_owned(), value, rule, hint: hint.to_owned() }
}
