//! What a sheet leaves open and people must settle: a column that tells the tests of a day apart, notes of trouble in a column that is
//! not read, two machines of one name, temperatures of either scale.

use super::SheetName;
use super::cells::{is_number, reads};
use super::grid::GridRow;
use super::label;
use crate::error::{Failure, shown};
use crate::ingest::mapping::Mapping;
use groundwall::record::{self, columns::Column};
use std::collections::{BTreeMap, BTreeSet};

/// Texts of guidance in the sheet of a round, which comes back filled in.
const GUIDANCE: [&str; 15] = [
    "site",
    "area",
    "why",
    "action",
    "apply_why",
    "hold_why",
    "likely_from",
    "expected",
    "minimum_rule",
    "last_as_read",
    "instrument_last_used",
    "ask",
    "before_the_test",
    "cautions",
    "due_by",
];

/// Whether a column of a sheet is guidance of a round: its name is ours, and the sheet is one of ours.
pub(super) fn is_guidance(header: &str, all: &[String]) -> bool {
    let has = |name: &str| all.iter().any(|header| header.trim() == name);
    GUIDANCE.contains(&header.trim()) && has("apply_volts") && has("stop_below_mohm") && has("cautions")
}

/// So many rows tell.
const ROWS_ASKED: usize = 4000;
/// Fewer days with several rows may be tests that were made again.
const LEAST_DAYS: usize = 2;

/// The question about a column of texts that differ between rows that are alike in all keys, where that is so on most days with several
/// rows, and the texts come again: it says what was measured, or on what.
pub(super) fn tells_tests_apart(
    rows: &[GridRow],
    keys: &[usize],
    place: usize,
    name: SheetName<'_>,
    header: &str,
) -> Option<Failure> {
    let mut tests: BTreeMap<Vec<&str>, Vec<&str>> = BTreeMap::new();
    for row in rows.iter().take(ROWS_ASKED) {
        let text = row.cells[place].as_str();
        if text.is_empty() || is_number(text) || reads(text) || label::is_date(text) {
            continue;
        }
        tests.entry(keys.iter().map(|key| row.cells[*key].as_str()).collect()).or_default().push(text);
    }
    let several: Vec<&Vec<&str>> = tests.values().filter(|texts| texts.len() > 1).collect();
    let is_told_apart = |texts: &&&Vec<&str>| texts.iter().collect::<BTreeSet<_>>().len() == texts.len();
    let apart: Vec<&&Vec<&str>> = several.iter().filter(is_told_apart).collect();
    let texts: BTreeSet<&str> = apart.iter().flat_map(|texts| texts.iter().copied()).collect();
    let comes_again = 2 * texts.len() <= apart.iter().map(|texts| texts.len()).sum();
    if apart.len() < LEAST_DAYS || 2 * apart.len() < several.len() || !comes_again {
        return None;
    }
    let mut examples = texts.into_iter().map(shown);
    let (one, other) = (examples.next()?, examples.next()?);
    let (place, header) = (name.place, shown(header.trim()));
    let message = format!(
        "{place}: column {header} tells rows of one motor and day apart, such as {one} and {other}, and it is not understood what it says"
    );
    Some(Failure::usage(message).hint(format!(
        "if it says between what was measured, say so under [columns] in groundwall.toml or the policy file: \"{header}\" = \"connection\"; if \
         it names windings of one machine, put it into the name of the winding; if it says what was measured, name resistances IR 1 MIN and \
         temperatures WDG TEMP there; \"{header}\" = \"-\" leaves it out, and the rows of a day are then tests made again"
    )))
}

/// The question about a text of trouble in a column that is not read: water, an earth fault, a failure. What is the same in all rows
/// of a motor describes it, such as `burner fan`, and is no note.
pub(super) fn tells_of_trouble(
    rows: &[GridRow],
    winding: Option<usize>,
    place: usize,
    name: SheetName<'_>,
    header: &str,
) -> Option<Failure> {
    const WEATHER: [&str; 8] = ["weather", "wetter", "witterung", "météo", "temps", "clima", "tiempo", "meteo"];
    if WEATHER.contains(&header.trim().to_lowercase().as_str()) {
        return None;
    }
    let rows = &rows[..rows.len().min(ROWS_ASKED)];
    let motor_of = |row: &'_ GridRow| winding.map(|at| row.cells[at].clone());
    let mut first: BTreeMap<Option<String>, &str> = BTreeMap::new();
    let mut varying = BTreeSet::new();
    for row in rows {
        let text = row.cells[place].trim();
        if *first.entry(motor_of(row)).or_insert(text) != text {
            varying.insert(motor_of(row));
        }
    }
    let is_mostly_blank = 2 * rows.iter().filter(|row| row.cells[place].is_empty()).count() > rows.len();
    let is_note = |row: &&GridRow| {
        record::tells_of_trouble(&row.cells[place]) && (is_mostly_blank || varying.contains(&motor_of(row)))
    };
    let text = rows.iter().find(is_note).map(|row| row.cells[place].as_str())?;
    let (place, header) = (name.place, shown(header.trim()));
    let message = format!("{place}: column {header} is not read, and it says {}", shown(text));
    Some(Failure::usage(message).hint(format!(
        "if it holds notes, say so under [columns] in groundwall.toml or the policy file: \"{header}\" = \"note\"; \"{header}\" = \"-\" leaves \
         it out"
    )))
}

/// Readings of one name differ by so much where another column says that they are of two machines.
const OF_TWO_MACHINES: f64 = 3.0;

/// The question about a column that tells two machines of one name apart: its texts come and go under the name, and what was read under
/// each is far from what was read under the other.
pub(super) fn of_two_machines(
    rows: &[GridRow],
    (winding, reading): (usize, usize),
    place: usize,
    name: SheetName<'_>,
    header: &str,
) -> Option<Failure> {
    let number = |row: &GridRow| row.cells[reading].trim().replace(',', ".").parse::<f64>().ok().filter(|r| *r > 0.0);
    let mut said: BTreeMap<&str, Vec<(&str, f64)>> = BTreeMap::new();
    for row in rows.iter().take(ROWS_ASKED) {
        let (motor, text) = (row.cells[winding].as_str(), row.cells[place].trim());
        // A number with a decimal mark is measured, and names nothing.
        if let (false, false, Some(read)) =
            (motor.is_empty(), text.is_empty() || text.contains(['.', ',']), number(row))
        {
            said.entry(motor).or_default().push((text, read));
        }
    }
    said.into_iter().find_map(|(motor, rows)| {
        let mut turns: Vec<&str> = rows.iter().map(|(text, _)| *text).collect();
        turns.dedup();
        let texts: BTreeSet<&str> = turns.iter().copied().collect();
        // One that was moved changes its place once.
        if texts.len() != 2 || turns.len() <= texts.len() {
            return None;
        }
        let mut texts = texts.into_iter();
        let (one, other) = (texts.next()?, texts.next()?);
        let median = |of: &str| {
            let mut read: Vec<f64> = rows.iter().filter(|(text, _)| *text == of).map(|(_, read)| *read).collect();
            read.sort_by(f64::total_cmp);
            read.get(read.len() / 2).copied()
        };
        let (low, high) = (median(one)?.min(median(other)?), median(one)?.max(median(other)?));
        (high >= OF_TWO_MACHINES * low).then(|| {
            let (place, header, motor) = (name.place, shown(header.trim()), shown(motor));
            let (one, other) = (shown(one), shown(other));
            let message = format!(
                "{place}: {motor} reads about {high} and {low} by turns, with {one} and {other} in column {header}: one machine or two?"
            );
            Failure::usage(message).hint(format!(
                "of two, write that column into the name, such as \"{one} {motor}\"; of one, leave the column out: \"{header}\" = \"-\" under \
                 [columns] in groundwall.toml or the policy file"
            ))
        })
    })
}

/// Half of the temperatures below a header without a scale lie above it: windings at rest are cooler, and air is.
const HOT_CELSIUS: f64 = 45.0;

/// The question about temperatures that may be of either scale.
pub(super) fn of_either_scale(
    rows: &[GridRow],
    place: usize,
    name: SheetName<'_>,
    header: &str,
    mapping: &Mapping,
) -> Option<Failure> {
    let names_scale = Column::read(header).is_some()
        || mapping.get(header.trim()).is_some()
        || crate::ingest::aliases::units(header).is_some_and(|units| units.scale.is_some());
    if names_scale {
        return None;
    }
    let number = |row: &GridRow| row.cells[place].trim().replace(',', ".").parse::<f64>().ok();
    let mut temperatures: Vec<f64> = rows.iter().take(ROWS_ASKED).filter_map(number).collect();
    temperatures.sort_by(f64::total_cmp);
    let median = temperatures.get(temperatures.len() / 2).filter(|median| **median > HOT_CELSIUS)?;
    let (place, header) = (name.place, shown(header.trim()));
    let message =
        format!("{place}: half of the temperatures under {header} are {median} or more, which may be °C or °F");
    Some(Failure::usage(message).hint(format!(
        "write °C or °F into that header, or say which under [columns] in groundwall.toml or the policy file: \"{header}\" = \"winding_temp_f\""
    )))
}
