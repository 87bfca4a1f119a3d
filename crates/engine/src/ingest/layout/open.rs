//! What a sheet leaves open and people must settle: a column that tells the tests of a day apart, temperatures of either scale.

use super::SheetName;
use super::cells::{is_number, reads};
use super::grid::GridRow;
use super::label;
use crate::error::{Failure, shown};
use crate::ingest::mapping::Mapping;
use groundwall::record::columns::Column;
use std::collections::{BTreeMap, BTreeSet};

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
