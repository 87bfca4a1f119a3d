//! What the cells of columns with unknown headers look like, as lines for `[columns]` that a message may propose. Nothing is read by
//! them: people look them over.

use super::aliases;
use super::columns::Columns;
use super::dates;
use super::sample::FirstRows;
use super::unit::Unit;
use super::unit_column::is_quantity;
use super::{free_form, header_words, layout, verdicts};
use crate::error::shown;
use groundwall::record::columns::Column;
use groundwall::resistance::{CellRules, ResistanceUnit};
use std::collections::BTreeSet;

/// A column looks like something where so many of its filled cells do.
const MOST: f64 = 0.8;
/// So many rows are looked at.
const ROWS: usize = 500;

/// One line for each of the `missing` columns that exactly one column of the table looks like.
pub(super) fn lines(columns: &Columns, missing: &[&str], rows: FirstRows<'_>) -> Vec<String> {
    let is_free = |place: &usize| {
        !columns.known.iter().any(|(known, _)| known == place) && !columns.header[*place].trim().is_empty()
    };
    let free: Vec<usize> = (0..columns.width).filter(is_free).collect();
    let mut cells: Vec<Vec<String>> = vec![Vec::new(); free.len()];
    let known_day = columns.known.iter().find(|(_, column)| *column == Column::TestedOn).map(|(place, _)| *place);
    let mut days: Vec<String> = Vec::new();
    rows.each(|row| {
        let Some(found) = row.cells.ok().filter(|_| cells.first().is_some_and(|cells| cells.len() < ROWS)) else {
            return;
        };
        days.extend(known_day.map(|place| found.text(place).unwrap_or_default().trim().to_owned()));
        for (cells, place) in cells.iter_mut().zip(&free) {
            cells.push(found.text(*place).unwrap_or_default().trim().to_owned());
        }
    });
    // A row without a day, such as one of units, is none of a test.
    let has_day = |row: usize, cells: &[Vec<String>]| {
        cells.iter().any(|column| dates::is_date(&column[row])) || days.get(row).is_some_and(|day| dates::is_date(day))
    };
    let count = cells.first().map_or(0, Vec::len);
    let of_tests: Vec<bool> = (0..count).map(|row| has_day(row, &cells)).collect();
    if 2 * of_tests.iter().filter(|is_test| **is_test).count() >= count && of_tests.contains(&true) {
        for column in &mut cells {
            let mut of_tests = of_tests.iter();
            column.retain(|_| of_tests.next().is_some_and(|is_test| *is_test));
        }
        let mut of_tests = of_tests.iter();
        days.retain(|_| of_tests.next().is_some_and(|is_test| *is_test));
    }
    if days.is_empty() {
        days = cells.iter().find(|column| column.iter().all(|cell| dates::is_date(cell))).cloned().unwrap_or_default();
    }
    let header = |at: usize| columns.header[free[at]].trim();
    let share = |at: usize, test: &dyn Fn(&str) -> bool| {
        let filled: Vec<&String> = cells[at].iter().filter(|cell| !cell.is_empty()).collect();
        let fit = filled.iter().filter(|cell| test(cell)).count();
        2 * filled.len() >= cells[at].len() && !filled.is_empty() && fit as f64 >= MOST * filled.len() as f64
    };
    let only = |test: &dyn Fn(usize) -> bool| {
        let mut found = (0..free.len()).filter(|at| test(*at));
        found.next().filter(|_| found.next().is_none())
    };
    let is_of_something_else =
        |at: usize| aliases::says_limit(header(at)) || aliases::has_unit_of_something_else(header(at));
    let mut lines = Vec::new();
    for name in missing {
        let (at, column) = match *name {
            "tested_on" => {
                let is_day =
                    |at: usize| share(at, &dates::is_date) && !is_of_something_else(at) && !dates::is_date(header(at));
                (only(&is_day), "tested_on".to_owned())
            }
            "winding" => {
                // Names come again at every test, and have numbers in them.
                let is_name = |at: usize| {
                    !aliases::names_ohms_or_degrees(header(at))
                        && share(at, &|cell| is_text(cell) && cell.contains(|c: char| c.is_ascii_digit()))
                        && distinct(&cells[at]) > 1
                };
                let Some(at) = only(&is_name) else {
                    // Without numbers in them, columns that are filled throughout may be parts of one name.
                    let is_full = |at: &usize| {
                        let filled = cells[*at].iter().filter(|cell| !cell.is_empty()).count();
                        10 * filled >= 9 * cells[*at].len()
                    };
                    let may_name = |at: &usize| {
                        is_full(at)
                            && share(*at, &is_text)
                            && distinct(&cells[*at]) > 1
                            && !aliases::names_ohms_or_degrees(header(*at))
                            && !names_no_machine(header(*at))
                    };
                    let mut parts: Vec<usize> = (0..free.len()).filter(may_name).collect();
                    // One of them that has no two tests on a day needs no other.
                    if let Some(alone) = parts.iter().copied().find(|at| are_days_apart(&cells[*at], &days)) {
                        parts = vec![alone];
                    }
                    if parts.len() <= MOST_PARTS {
                        lines.extend(parts.iter().map(|at| format!("\"{}\" = \"winding\"", shown(header(*at)))));
                    }
                    continue;
                };
                (Some(at), "winding".to_owned())
            }
            "r_60s" => {
                let unit = |at: usize| aliases::units(header(at)).and_then(|units| units.ohms);
                let is_read = |at: usize| {
                    let has_unit = unit(at).is_some() || share(at, &has_ohms);
                    has_unit
                        && !is_of_something_else(at)
                        && !aliases::names_something_else(header(at))
                        && !layout::is_derived(header(at))
                };
                // Of several columns none is proposed, though one has few readings.
                let may_be = |at: usize| is_read(at) && cells[at].iter().any(|cell| reads(cell));
                let is_winding = |at: &usize| share(*at, &reads) && !aliases::names_a_cable(header(*at));
                let at = only(&may_be).filter(is_winding);
                let column = match at.and_then(unit) {
                    Some(ResistanceUnit::Kilohm) => "r_60s_kohm",
                    Some(ResistanceUnit::Gigohm) => "r_60s_gohm",
                    _ => "r_60s",
                };
                (at, column.to_owned())
            }
            _ => continue,
        };
        lines.extend(at.map(|at| format!("\"{}\" = \"{column}\"", shown(header(at)))));
    }
    lines
}

/// Whether no two rows have the same name on one day.
fn are_days_apart(names: &[String], days: &[String]) -> bool {
    let mut seen = BTreeSet::new();
    !days.is_empty() && names.iter().zip(days).all(|two| seen.insert(two))
}

/// A name has no more parts in columns of their own.
const MOST_PARTS: usize = 2;

/// Whether a header is about work, people or verdicts.
fn names_no_machine(header: &str) -> bool {
    const WORK: [&str; 16] = [
        "job",
        "task",
        "work",
        "activity",
        "type",
        "description",
        "text",
        "unit",
        "arbeit",
        "tätigkeit",
        "tâche",
        "travaux",
        "tarea",
        "trabajo",
        "lavoro",
        "taak",
    ];
    let lower = header.to_lowercase();
    aliases::units(header).is_none_or(|units| units.ohms.is_some() || units.scale.is_some())
        || layout::is_derived(header)
        || verdicts::heads_verdicts(header)
        || header_words::says_circumstances(header)
        || lower.split(|c: char| !c.is_alphanumeric()).any(|word| WORK.contains(&word))
}

fn is_text(cell: &str) -> bool {
    !reads(cell)
        && !dates::is_date(cell)
        && !dates::is_clock(cell)
        && !dates::names_month(cell)
        && !is_quantity(cell)
        && (Unit::read(cell).is_none() || cell.chars().count() == 1)
        && cell.chars().count() <= 40
}

fn reads(cell: &str) -> bool {
    let rules = [false, true].map(|decimal_comma| CellRules { decimal_comma, ..CellRules::default() });
    let is_free_form = |rules: &CellRules| has_ohms(cell) && free_form::read(cell, rules).is_ok();
    rules.iter().any(|rules| matches!(rules.read(cell), Ok(Some(_))) || is_free_form(rules))
}

/// Whether a number has a unit of resistance after it.
fn has_ohms(cell: &str) -> bool {
    let unit = cell.trim_start_matches(|c: char| !c.is_alphabetic() && !matches!(c, 'Ω' | '\u{2126}'));
    let word = unit.split_whitespace().next().unwrap_or_default();
    let is_unit = word.chars().count() > 1 || matches!(word, "k" | "K" | "M" | "G");
    is_unit && unit.len() < cell.len() && ResistanceUnit::read(word).is_some()
}

fn distinct(cells: &[String]) -> usize {
    cells.iter().filter(|cell| !cell.is_empty()).collect::<BTreeSet<_>>().len()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ingest::mapping::Mapping;
    use crate::ingest::rows::Rows;

    fn proposed(text: &str) -> Vec<String> {
        let (header, rows) = text.split_once('\n').unwrap_or_default();
        let columns = Columns::resolve(header.split(';').map(str::to_owned).collect(), &Mapping::default());
        lines(&columns, &columns.missing(), FirstRows::of(Rows::new(rows.as_bytes(), b';', 2)))
    }

    #[test]
    fn columns_are_proposed_by_their_cells_where_one_alone_fits() {
        let text =
            "Matricule;Contrôlé le;Lieu;Contact (kΩ);kW\nP-1;2026-03-01;Nord;840;11\nP-2;2026-03-02;Nord;95;75\n";
        assert_eq!(
            proposed(text),
            ["\"Matricule\" = \"winding\"", "\"Contrôlé le\" = \"tested_on\"", "\"Contact (kΩ)\" = \"r_60s_kohm\""]
        );
        assert_eq!(proposed(&text.replace("Lieu", "Vu le").replace("Nord", "2026-04-01")).len(), 2, "two days");
        assert_eq!(
            proposed(&text.replace("Nord", "N-1").replace("N-1;95", "N-2;95")).len(),
            3,
            "one of them is enough"
        );
        assert_eq!(proposed(&text.replace("Contrôlé le", "Next due")).len(), 2, "a day to come");
        let units = "Pompe;Date;Isolement / T° bobinage (MΩ / °C)\nF 1;2026-03-01;420 / 23\nF 2;2026-03-02;95 / 24\n";
        assert_eq!(proposed(units), ["\"Pompe\" = \"winding\""], "what has a unit names nothing");
        let two = text.replace(";kW", ";Rés. autre (MΩ)");
        assert_eq!(proposed(&two).len(), 2, "two readings");
        assert_eq!(proposed(&text.replace(" (kΩ)", "")).len(), 2, "a number without a unit may be anything");
    }
}
