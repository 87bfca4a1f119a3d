//! Appends new tests to a master, and proves that the result reads as both together.

use super::foreign::{Foreign, foreign_columns, same_header};
use super::row::lacking;
use super::{Master, read_rows};
use crate::error::{Failure, shown};
use crate::ingest::kinds::same_kind;
use crate::ingest::repeats::difference;
use crate::ingest::rows::Cells;
use crate::ingest::said_unit::symbol;
use encoding_rs::UTF_8;
use groundwall::record::columns::Column;
use groundwall::record::{Origin, TestRecord};
use groundwall::resistance::{ResistanceUnit, TimedReading};
use groundwall::units::Elapsed;

/// Tests to be filed, and where they come from.
pub struct New<'a> {
    /// The tests, in the order in which their rows are to stand.
    pub tests: &'a [TestRecord],
    /// The columns of the sheets that are not ours, by the number of the input.
    pub foreign: &'a dyn Fn(u32) -> Option<&'a Foreign>,
    /// The place of a row in words.
    pub place: &'a dyn Fn(Origin) -> String,
    /// Whether columns that the master lacks are added to it.
    pub extend: bool,
}

/// A master with the new tests in it.
#[derive(Clone, Debug, PartialEq)]
pub struct Merged {
    /// Its bytes.
    pub bytes: Vec<u8>,
    /// Headers of the columns that were added.
    pub added: Vec<String>,
    /// Headers of the sheets that are not ours, that the master lacks, and whose cells are left out.
    pub left_out: Vec<String>,
    /// Headers of the sheets that are not ours, and that the master would not leave alone: their cells are left out.
    pub misread: Vec<String>,
}

/// A column that is added at the end.
enum Added {
    Ours(Column),
    Foreign(String),
}

impl Added {
    fn header(&self) -> String {
        match self {
            Self::Ours(column) => column.to_string(),
            Self::Foreign(name) => name.clone(),
        }
    }

    fn foreign(&self) -> Option<&str> {
        match self {
            Self::Ours(_) => None,
            Self::Foreign(name) => Some(name),
        }
    }
}

/// Puts the new tests behind the rows that are there.
///
/// # Errors
///
/// A [`Failure`] when the master lacks a column for them and may not be extended, or when the result would not read as the
/// old rows and the new tests together, number for number.
pub fn merge(master: &Master, new: &New<'_>) -> Result<Merged, Failure> {
    let (mut added, left_out) = columns_to_add(master, new)?;
    let foreign: Vec<String> = added.iter().filter_map(Added::foreign).map(str::to_owned).collect();
    let headers = |added: &[Added]| added.iter().map(Added::header).collect();
    let failure = match merged(master, new, &added) {
        Ok(bytes) => return Ok(Merged { bytes, added: headers(&added), left_out, misread: Vec::new() }),
        Err(failure) => failure,
    };
    // A column that the sheet leaves alone may be read in the master, where other columns are beside it.
    added.retain(|column| column.foreign().is_none());
    if foreign.is_empty() || merged(master, new, &added).is_err() {
        return Err(failure);
    }
    let mut misread = Vec::new();
    for name in foreign {
        added.push(Added::Foreign(name.clone()));
        if added.len() > MOST_TRIED || merged(master, new, &added).is_err() {
            added.pop();
            misread.push(shown(&name));
        }
    }
    let bytes = merged(master, new, &added)?;
    Ok(Merged { bytes, added: headers(&added), left_out, misread })
}

/// So many columns that are not ours are tried one by one.
const MOST_TRIED: usize = 40;

/// The bytes of a master with the new tests, proved to read back.
fn merged(master: &Master, new: &New<'_>, added: &[Added]) -> Result<Vec<u8>, Failure> {
    let mut text = if added.is_empty() { Vec::new() } else { extended(master, added)? };
    let tail = tail(master, new, added, &text);
    let bytes = if added.is_empty() {
        let mut bytes = master.bytes.clone().unwrap_or_default();
        bytes.extend(master.form.encode(&master.name, &tail)?);
        bytes
    } else {
        text.extend(tail.as_bytes());
        in_encoding(master, text)?
    };
    prove(master, new, bytes.clone())?;
    Ok(bytes)
}

fn columns_to_add(master: &Master, new: &New<'_>) -> Result<(Vec<Added>, Vec<String>), Failure> {
    let create = master.bytes.is_none();
    let mut ours = lacking(new.tests, &master.columns.known, master.columns.is_timed());
    if !ours.is_empty() && !create && !new.extend {
        let names: Vec<String> = ours.iter().map(ToString::to_string).collect();
        let (noun, verb) = if names.len() == 1 { ("column", "is") } else { ("columns", "are") };
        return Err(Failure::usage(format!(
            "{}:{}: the new tests fill the {noun} {}, which {verb} missing in the master",
            master.name,
            master.header.line,
            names.join(", ")
        ))
        .hint("--extend adds what is missing at the end, with empty cells in the rows that are there"));
    }
    if create && !ours.iter().any(|column| matches!(column, Column::Reading(..))) {
        // A history has a resistance column, also one that so far mentions events only.
        ours.extend(Elapsed::from_seconds(60.0).map(|minute| Column::Reading(minute, ResistanceUnit::Megohm)));
    }
    let mut foreign: Vec<String> = Vec::new();
    let there = foreign_columns(&master.columns);
    let mut inputs: Vec<u32> = new.tests.iter().map(|test| test.origin().input).collect();
    inputs.dedup();
    for header in inputs.into_iter().filter_map(new.foreign).flat_map(|foreign| &foreign.headers) {
        let known = there.iter().map(|(_, name)| name).chain(&foreign).any(|name| same_header(name, header));
        if !known {
            foreign.push(header.clone());
        }
    }
    let mut added: Vec<Added> = ours.into_iter().map(Added::Ours).collect();
    if create || new.extend {
        added.extend(foreign.into_iter().map(Added::Foreign));
        return Ok((added, Vec::new()));
    }
    Ok((added, foreign.iter().map(|name| shown(name)).collect()))
}

/// The master's text with new columns: their names behind the header, and empty cells behind each row.
fn extended(master: &Master, added: &[Added]) -> Result<Vec<u8>, Failure> {
    let form = &master.form;
    let names: Vec<String> = added.iter().map(Added::header).collect();
    if master.bytes.is_none() {
        return Ok(form.line(&names).into_bytes());
    }
    if let Some(rejection) = master.ingested.rejections.first() {
        return Err(Failure::usage(format!(
            "{}: the row cannot be parsed, so the new cells cannot be placed",
            master.ingested.place(rejection.origin)
        ))
        .hint("fix the rejected rows before adding columns; `groundwall check` lists them"));
    }
    let text = &master.document.text;
    let end_of = |raw: &[u8]| (raw.as_ptr() as usize + raw.len()).saturating_sub(text.as_ptr() as usize);
    let mut result = Vec::with_capacity(text.len() + text.len() / 8);
    let mut copied = 0;
    let (width, separator) = (master.header.cells.len(), form.delimiter);
    let mut rows = master.document.rows();
    while let Some(row) = rows.next_row() {
        let line = master.document.line(row.line);
        if line < master.header.line {
            continue;
        }
        let end = end_of(row.raw).min(text.len());
        result.extend_from_slice(text.get(copied..end).unwrap_or_default());
        copied = end;
        if line == master.header.line {
            for name in &names {
                let mut cell = String::from(char::from(separator));
                form.push_cell(&mut cell, name);
                result.extend_from_slice(cell.as_bytes());
            }
        } else {
            let cells = row.cells.map_or(width, Cells::len);
            result.extend(std::iter::repeat_n(separator, (width + names.len()).saturating_sub(cells)));
        }
    }
    result.extend_from_slice(text.get(copied..).unwrap_or_default());
    Ok(result)
}

/// The new rows, with the end of the last line before them if it lacks one.
fn tail(master: &Master, new: &New<'_>, added: &[Added], extended: &[u8]) -> String {
    let before = if added.is_empty() { &master.document.text } else { extended };
    let mut tail = String::new();
    if before.last().is_some_and(|byte| !matches!(byte, b'\r' | b'\n')) {
        tail.push_str(master.form.line_end);
    }
    for test in new.tests {
        if master.columns.is_timed() && !test.readings().is_empty() {
            for reading in test.readings() {
                tail.push_str(&master.form.line(&cells(master, new, added, test, Some(reading))));
            }
        } else {
            tail.push_str(&master.form.line(&cells(master, new, added, test, None)));
        }
    }
    tail
}

/// The cells of one new row: those of the header that is there, then those of the added columns.
fn cells(
    master: &Master,
    new: &New<'_>,
    added: &[Added],
    test: &TestRecord,
    reading: Option<&TimedReading>,
) -> Vec<String> {
    let foreign = |name: &str| -> String {
        let sheet = (new.foreign)(test.origin().input);
        sheet.and_then(|sheet| sheet.cell(test.origin().line, name)).unwrap_or_default().to_owned()
    };
    let mut cells = vec![String::new(); master.header.cells.len()];
    for (i, (place, column)) in master.columns.known.iter().enumerate() {
        // Two columns may hold the same reading; the first is filled.
        let filled = master.columns.known[..i].iter().any(|(_, other)| same_kind(other, column));
        if let Some(cell) = cells.get_mut(*place).filter(|_| !filled) {
            *cell = master.form.cell(*column, test, reading);
        }
    }
    let units = &master.columns.units;
    for (place, name) in foreign_columns(&master.columns) {
        if let Some(cell) = cells.get_mut(place).filter(|_| !units.iter().any(|unit| unit.place == place)) {
            *cell = foreign(&name);
        }
    }
    // A reading is written in the unit of its column.
    for unit in units {
        let ohms = master.columns.known.iter().find_map(|(place, column)| match column {
            Column::Reading(_, own) | Column::Resistance(own) if unit.belongs_to.contains(place) => Some(*own),
            _ => None,
        });
        if let (Some(cell), Some(ohms)) = (cells.get_mut(unit.place), ohms) {
            *cell = symbol(Some(ohms)).replace('Ω', "Ohm");
        }
    }
    cells.extend(added.iter().map(|column| match column {
        Added::Ours(column) => master.form.cell(*column, test, reading),
        Added::Foreign(name) => foreign(name),
    }));
    cells
}

fn in_encoding(master: &Master, text: Vec<u8>) -> Result<Vec<u8>, Failure> {
    if master.form.encoding == UTF_8 {
        return Ok(text);
    }
    let mut bytes = master.mark().to_vec();
    bytes.extend(master.form.encode(&master.name, &String::from_utf8_lossy(&text))?);
    Ok(bytes)
}

/// Reads the result as anybody will, and compares it with what it should say.
fn prove(master: &Master, new: &New<'_>, bytes: Vec<u8>) -> Result<(), Failure> {
    let read = read_rows(&master.name, bytes, &master.rules)?;
    let expected = master.tests.iter().chain(new.tests);
    let found = read.tests();
    for (test, found) in expected.clone().zip(&found) {
        if test.same_content(found) {
            continue;
        }
        let message = match new.tests.iter().any(|own| std::ptr::eq(own, test)) {
            true => format!(
                "{}: this test cannot be written as {} writes its rows: {}",
                (new.place)(test.origin()),
                master.name,
                difference(test, found).replace(" here", " in the sheet").replace(" there", " in the master")
            ),
            false => format!("{}: a row that cannot be parsed is before the new ones", master.name),
        };
        return Err(Failure::usage(message).hint(
            "nothing was written; fix the problems that `groundwall check` reports in the master, or save it with ISO dates as CSV in UTF-8",
        ));
    }
    if found.len() == expected.count() && read.rejections.len() == master.ingested.rejections.len() {
        return Ok(());
    }
    let known = |origin| master.ingested.rejections.iter().any(|rejection| rejection.origin == origin);
    let reason = read.rejections.iter().find(|rejection| !known(rejection.origin));
    let reason = reason.and_then(|rejection| read.reasons(&rejection).into_iter().next());
    let (message, hint) = reason.unwrap_or_else(|| {
        (
            "a rejected row of the master is about one of them".to_owned(),
            "fix the master's rejected rows first; `groundwall check` lists them".to_owned(),
        )
    });
    Err(Failure::usage(format!("{}: the new rows would not be read back: {message}", master.name)).hint(hint))
}
