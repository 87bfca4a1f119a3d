//! What a sheet leaves open and people must settle: a column that tells the tests of a day apart, notes of trouble in a column that is
//! not read, two machines of one name, temperatures of either scale.

use super::blocks::Block;
use super::cells::is_number;
use super::grid::GridRow;
use super::label;
use super::label_reader::LabelReader;
use super::sheet_name::SheetName;
use super::titles::{self, Values};
use crate::error::{Failure, shown};
use crate::ingest::aliases::{self, Meaning};
use crate::ingest::cell_place::CellPlace;
use crate::ingest::date_forms::DateForms;
use crate::ingest::dates;
use crate::ingest::header_words::{is_verdict, names_a_life, names_machines, says_circumstances};
use crate::ingest::kinds::is_reading;
use crate::ingest::kinds::reads;
use crate::ingest::mapping::Mapping;
use crate::ingest::said_unit::symbol;
use crate::ingest::sheet::Merged;
use crate::ingest::unit::Unit;
use crate::ingest::unit_column::is_quantity;
use crate::ingest::verdicts;
use chrono::NaiveDate;
use groundwall::record::{self, columns::Column};
use groundwall::resistance::ResistanceUnit;
use std::collections::{BTreeMap, BTreeSet};

/// Texts of guidance in the sheet of a round, which comes back filled in.
const GUIDANCE: [&str; 23] = [
    "apply_volts",
    "hold_minutes",
    "discharge_minutes",
    "likely_winding_temp_c",
    "stop_below_mohm",
    "stop_below_10_k_colder_mohm",
    "stop_below_10_k_warmer_mohm",
    "minimum_mohm",
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
pub(super) const ROWS_ASKED: usize = 4000;
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
        "if it is part of the motor's name, or names windings of one machine, say so under [columns] in groundwall.toml or the policy file: \
         \"{header}\" = \"winding\" and that of the motors likewise; if it says between what was measured, \"{header}\" = \"connection\"; if it \
         says what was measured, name resistances IR 1 MIN and temperatures WDG TEMP there; \"{header}\" = \"-\" leaves it out, and the rows \
         of a day are then tests made again"
    )))
}

/// The question about a column of days beside columns that are headed by dates, where nobody knows which are those of the tests.
pub(super) fn of_dates_beside_dates(
    rows: &[GridRow],
    place: usize,
    name: SheetName<'_>,
    header: &str,
) -> Option<Failure> {
    if aliases::says_limit(header) || says_circumstances(header) || names_a_life(header) {
        return None;
    }
    let is_day = |cell: &str| {
        dates::is_date(cell) || (dates::is_part_of_year(cell) && cell.contains(|c: char| c.is_ascii_digit()))
    };
    let cells = || rows.iter().map(|row| row.cells[place].trim()).filter(|cell| !cell.is_empty());
    let days = cells().filter(|cell| is_day(cell)).count();
    if days == 0 || 2 * days <= cells().count() {
        return None;
    }
    let column = column_name(header, place);
    let message = format!(
        "{}: {column} has days, such as {}, and the readings are headed by dates or periods: which are those of the tests?",
        name.place,
        shown(cells().find(|cell| is_day(cell)).unwrap_or_default())
    );
    let header = shown(header.trim());
    Some(Failure::usage(message).hint(format!(
        "if the days are those of the tests, write one row per test, or put the name of each test in a row above its date and its readings; \
         if they are of something else, leave them out under [columns] in groundwall.toml or the policy file: \"{header}\" = \"-\""
    )))
}

/// The question about a text of trouble in a column that is not read: water, an earth fault, a failure. What is the same in all rows
/// of a motor describes it, such as `burner fan`, and is no note. Columns of verdicts are looked through for failures anyway.
pub(super) fn tells_of_trouble(
    rows: &[GridRow],
    winding: Option<usize>,
    place: usize,
    name: SheetName<'_>,
    header: &str,
) -> Option<Failure> {
    const WEATHER: [&str; 8] = ["weather", "wetter", "witterung", "météo", "temps", "clima", "tiempo", "meteo"];
    if WEATHER.contains(&header.trim().to_lowercase().as_str()) || verdicts::heads_verdicts(header) {
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
        let text = row.cells[place].trim();
        record::says_failed(text)
            || (record::tells_of_trouble(text) && (is_mostly_blank || varying.contains(&motor_of(row))))
    };
    let text = rows.iter().find(is_note).map(|row| row.cells[place].as_str())?;
    let (place, header) = (name.place, shown(header.trim()));
    let message = format!("{place}: column {header} is not read, and it says {}", shown(text));
    Some(Failure::usage(message).hint(format!(
        "if it holds notes, say so under [columns] in groundwall.toml or the policy file: \"{header}\" = \"note\"; \"{header}\" = \"-\" leaves \
         it out"
    )))
}

/// The question about a line of trouble below the first header that is in no test: below the tests of a block, above the next header.
pub(super) fn of_trouble_outside(
    rows: &[GridRow],
    blocks: &[Block<'_>],
    is_tested: impl Fn(&str) -> bool,
    name: SheetName<'_>,
) -> Option<Failure> {
    let first = blocks.first()?.headers.first()?.line;
    let is_inside = |row: &GridRow| blocks.iter().any(|block| block.rows.iter().any(|own| own.line == row.line));
    let mut lines = rows.iter().filter(|row| row.line > first).filter_map(|row| Some((row, row.only()?.1)));
    let (row, text) =
        lines.find(|(row, text)| (is_of_a_test(text) || is_trouble_of(text, &is_tested)) && !is_inside(row))?;
    Some(line_of_trouble(row, text, name))
}

/// The question about a line of trouble below the header of a plain table.
pub(super) fn of_trouble_below(
    rows: &[GridRow],
    names: Option<usize>,
    name: SheetName<'_>,
    reader: &LabelReader<'_>,
) -> Option<Failure> {
    let rows = &rows[..rows.len().min(ROWS_ASKED)];
    let lines: Vec<(&GridRow, &str)> = rows.iter().filter_map(|row| Some((row, row.only()?.1))).collect();
    if lines.is_empty() {
        return None;
    }
    let tested = rows.iter().filter(|row| row.only().is_none());
    let tested: BTreeSet<String> =
        names.iter().flat_map(|at| tested.clone().map(|row| row.cells[*at].to_lowercase())).collect();
    let mut lines = lines.into_iter();
    if let Some(question) = lines.clone().find_map(|(row, text)| of_changed_readings(row, text, name, reader)) {
        return Some(question);
    }
    lines
        .find(|(_, text)| is_of_a_test(text) || is_trouble_of(text, |motor| tested.contains(motor)))
        .map(|(row, text)| line_of_trouble(row, text, name))
}

/// Whether a line is the name of a motor that was tested and what is wrong with it: `P-1 earth fault`. Names of motors themselves may have
/// words of trouble.
fn is_trouble_of(text: &str, is_tested: impl Fn(&str) -> bool) -> bool {
    let lower = text.to_lowercase();
    let mut gaps = lower.char_indices().filter(|(_, c)| matches!(c, ' ' | ':' | ',' | '-' | '–'));
    !is_tested(&lower)
        && gaps.any(|(at, _)| {
            let rest = lower[at..].trim_start_matches([' ', ':', ',', '-', '–']);
            is_tested(lower[..at].trim_end()) && (record::says_failed(rest) || record::tells_of_trouble(rest))
        })
}

/// Whether a line says that tests are void or were mixed up, or gives a number of a test made again or of a day: `A retested 20 Nov 2026: 0.4`.
pub(super) fn tells_of_a_test(text: &str) -> bool {
    const AGAIN: [&str; 8] =
        ["retest", "retested", "recheck", "rechecked", "repeated", "nachmessung", "wiederholt", "repetido"];
    const MIXED_UP: [&str; 7] = ["void", "swapped", "interchanged", "ungültig", "vertauscht", "annulé", "invertidos"];
    const OF_OTHERS: [&str; 14] = [
        "rev", "form", "limit", "next", "ambient", "legend", "printed", "stand", "druck", "voltage", "minimum",
        "issue", "version", "page",
    ];
    let lower = text.to_lowercase();
    let is_gap = |c: char| c.is_whitespace() || matches!(c, '(' | ')' | ':' | ';');
    let words: Vec<&str> =
        lower.split(is_gap).map(|word| word.trim_end_matches(['.', ','])).filter(|word| !word.is_empty()).collect();
    let has = |list: &[&str]| words.iter().any(|word| list.contains(word));
    // `0.4`, and neither `11.2026` nor `22.5 °C`.
    let is_reading = |at: usize| {
        let is_decimal = words[at].contains(['.', ',']) && words[at].replace(',', ".").parse::<f64>().is_ok();
        let is_of_ohms = |unit: &&str| !matches!(Unit::read(unit), Some(unit) if !matches!(unit, Unit::Ohms(_)));
        is_decimal && !label::is_date(words[at]) && words.get(at + 1).is_none_or(is_of_ohms)
    };
    let has_day = (1..=3).any(|length| words.windows(length).any(|phrase| dates::is_date(&phrase.join(" "))));
    let has_reading = (0..words.len()).any(is_reading);
    words.len() > 1 && (has(&MIXED_UP) || (has_reading && !has(&OF_OTHERS) && (has(&AGAIN) || has_day)))
}

/// Whether a line tells of trouble, or of a reading on a day. The end of a scale has no day.
fn is_of_a_test(text: &str) -> bool {
    if tells_of_a_test(text) {
        return true;
    }
    let has_day = || text.split_whitespace().any(|word| label::is_date(word.trim_matches(['(', ')', ',', ';', '.'])));
    verdicts::is_note_of_trouble(text) && (record::tells_of_trouble(text) || has_day())
}

fn line_of_trouble(row: &GridRow, text: &str, name: SheetName<'_>) -> Failure {
    let message = format!("{}: row {} holds no test, and it says {}", name.place, row.line, shown(text));
    Failure::usage(message).hint(
        "write it into a column of notes beside the test that it speaks of, or take it out if it speaks of something else",
    )
}

/// The question about a header that is merged over several columns, where they hold different things.
pub(super) fn of_a_merged_header(
    rows: &[GridRow],
    at: usize,
    merged: &[Merged],
    reader: &LabelReader<'_>,
    name: SheetName<'_>,
) -> Option<Failure> {
    let header = &rows[at];
    let is_over = |merged: &&Merged| {
        merged.rows.0 <= header.line && header.line <= merged.rows.1 && merged.columns.0 < merged.columns.1
    };
    merged.iter().filter(is_over).find_map(|merged| {
        let (first, last) = merged.columns;
        let text = header.cells.get(first).filter(|text| !text.is_empty())?;
        let others = |row: &'_ GridRow| -> Vec<String> { row.cells.iter().take(last + 1).skip(first + 1).cloned().collect() };
        let differs = |row: &GridRow| others(row).iter().any(|cell| !cell.is_empty() && *cell != row.cells[first]);
        let column = reader.read(text).column();
        // A name and its description, unless one name has several.
        let tells_apart = || {
            let mut seen: BTreeMap<&str, Vec<String>> = BTreeMap::new();
            let mut named = rows[at + 1..].iter().take(ROWS_ASKED).filter(|row| !row.cells[first].is_empty());
            named.any(|row| *seen.entry(&row.cells[first]).or_insert_with(|| others(row)) != others(row))
        };
        let is_open = match column {
            Some(Column::Winding) => tells_apart(),
            Some(column) => (is_reading(column) || column == Column::TestedOn) && rows[at + 1..].iter().any(differs),
            None => false,
        };
        let cell = |column: usize| CellPlace { line: header.line, column }.name();
        is_open.then(|| {
            let message = format!(
                "{}: the header {} is merged over {} to {}, and it is not understood what each of these columns holds",
                name.place,
                shown(text),
                cell(first),
                cell(last)
            );
            Failure::usage(message).hint(
                "undo the merge and give each column a header of its own, such as R (MΩ), S (MΩ) and T (MΩ), or Test date and Due date",
            )
        })
    })
}

/// The question about a row that a remark names in the place of a motor: `retest`, `(2)`, `MΩ`.
pub(super) fn of_remarks_as_names(
    rows: &[GridRow],
    winding: usize,
    readings: &[usize],
    name: SheetName<'_>,
) -> Option<Failure> {
    const REMARKS: [&str; 22] = [
        "retest",
        "re-test",
        "repeat",
        "repeated",
        "again",
        "wet",
        "dry",
        "damp",
        "after rain",
        "with cable",
        "without cable",
        "rotor",
        "stator",
        "nachmessung",
        "wiederholung",
        "wiederholt",
        "2nd reading",
        "second reading",
        "2nd",
        "contre-mesure",
        "ripetizione",
        "repetición",
    ];
    let is_remark = |text: &str| {
        let lower = text.to_lowercase();
        REMARKS.contains(&lower.trim_matches(['(', ')', '.', ':', ' ']))
            || matches!(Unit::read(text), Some(Unit::Ohms(_))) && text.chars().count() > 1
            || lower
                .strip_prefix('(')
                .is_some_and(|rest| rest.trim_end_matches(')').bytes().all(|byte| byte.is_ascii_digit()))
    };
    let names: BTreeSet<&str> = rows.iter().take(ROWS_ASKED).map(|row| row.cells[winding].trim()).collect();
    // A site may call all its machines so.
    if names.iter().filter(|text| is_remark(text)).count() * 2 > names.len() {
        return None;
    }
    let has_reading = |row: &&GridRow| readings.iter().any(|at| reads(&row.cells[*at]));
    let row = rows.iter().take(ROWS_ASKED).filter(has_reading).find(|row| is_remark(row.cells[winding].trim()))?;
    let message = format!(
        "{}: row {} has {} in the place of a motor's name",
        name.place,
        row.line,
        shown(row.cells[winding].trim())
    );
    Some(Failure::usage(message).hint(
        "write the name of the motor there, and the remark into a column of notes; a test made again is a row of its own with its date",
    ))
}

/// The question about readings without a unit beside others whose header names one that is not MΩ: a unit may be written once for all. They
/// are given by place, header and unit.
pub(super) fn of_a_unit_written_once(
    rows: &[GridRow],
    readings: &[(usize, &str, Option<ResistanceUnit>)],
    name: SheetName<'_>,
) -> Option<Failure> {
    let (at, header, unit) =
        readings.iter().find(|(.., unit)| unit.is_some_and(|unit| unit != ResistanceUnit::Megohm))?;
    let has_no_unit = |cell: &str| reads(cell) && !cell.contains(char::is_alphabetic);
    let is_bare = |place: usize| rows.iter().take(ROWS_ASKED).any(|row| has_no_unit(&row.cells[place]));
    let (bare, other, _) = readings.iter().find(|(place, _, unit)| unit.is_none() && is_bare(*place))?;
    let message = format!(
        "{}: {} is in {}, and {} names no unit",
        name.place,
        column_name(header, *at),
        symbol(*unit),
        column_name(other, *bare)
    );
    Some(
        Failure::usage(message)
            .hint("write the unit into the header of each column of readings, such as IR 1 min (MΩ)"),
    )
}

/// The question about a factor in a title of readings: `Insulation MΩ (÷1000)`.
pub(super) fn of_a_factor_in_a_title(titles: &[GridRow], name: SheetName<'_>) -> Option<Failure> {
    let mut texts = titles.iter().flat_map(GridRow::filled).map(|(_, text)| text);
    let text = texts.find(|text| names_factor(text) || says_to_multiply(text) || has_factor(text))?;
    let message = format!(
        "{}: a title says {}, and the readings below it may have to be multiplied or divided",
        name.place,
        shown(text)
    );
    Some(Failure::usage(message).hint("write the readings in MΩ, and take the factor out of the title"))
}

/// The question about a line that says that readings were brought to another temperature, or are to be multiplied.
fn of_changed_readings(row: &GridRow, text: &str, name: SheetName<'_>, reader: &LabelReader<'_>) -> Option<Failure> {
    const NOT: [&str; 8] = ["not", "uncorrected", "nicht", "non", "pas", "sin", "não", "niet"];
    let is_denied = text.to_lowercase().split(|c: char| !c.is_alphabetic()).any(|word| NOT.contains(&word));
    let is_corrected = titles::values_of(text, reader) == Some(Values::Corrected) && text.contains('°') && !is_denied;
    (is_corrected || says_to_multiply(text)).then(|| {
        let message =
            format!("{}: row {} says {}, so the readings are not those of the tester", name.place, row.line, shown(text));
        Failure::usage(message).hint(if is_corrected {
            "write the readings as they were taken, with the temperature of the winding beside them, and take the line out"
        } else {
            "write the megohms that were measured, and take the line out"
        })
    })
}

/// Whether a text says to multiply or divide by a power of ten: `Divide by 10`, `Readings / 10`, `Werte x 0,1`.
fn says_to_multiply(text: &str) -> bool {
    const VERBS: [&str; 16] = [
        "divide",
        "divided",
        "divisé",
        "diviser",
        "dividir",
        "dividido",
        "dividere",
        "delen",
        "teilen",
        "geteilt",
        "multiply",
        "multiplied",
        "multiplier",
        "multiplicar",
        "moltiplicare",
        "multiplizieren",
    ];
    let lower = text.to_lowercase().replace(',', ".");
    let words: Vec<&str> = lower.split([' ', '(', ')', ':']).filter(|word| !word.is_empty()).collect();
    let Some((last, before)) = words.split_last() else { return false };
    let attached = last.strip_prefix(['x', '×', '*', '/', '÷']).is_some_and(is_power_of_ten);
    let is_sign = |word: &&str| matches!(*word, "x" | "×" | "*" | "/" | "÷" | "mal");
    let apart =
        is_power_of_ten(last) && (before.last().is_some_and(is_sign) || before.iter().any(|word| VERBS.contains(word)));
    const OF_READINGS: [&str; 18] = [
        "readings",
        "reading",
        "values",
        "ir",
        "results",
        "werte",
        "messwerte",
        "valeurs",
        "lectures",
        "valores",
        "lecturas",
        "leituras",
        "valori",
        "letture",
        "waarden",
        "metingen",
        "multiplier",
        "factor",
    ];
    if !words.iter().any(|word| VERBS.contains(word) || OF_READINGS.contains(word)) {
        return false;
    }
    // `Readings 1 / 10` counts.
    let named = if attached { before.last() } else { before.iter().rev().find(|word| !is_sign(word)) };
    (attached || apart) && named.is_some_and(|word| !word.contains(|c: char| c.is_ascii_digit()))
}

/// Whether a word of a header is a factor: `IR x0.1 (MΩ)`.
fn has_factor(text: &str) -> bool {
    let lower = text.to_lowercase().replace(',', ".");
    // Thousands are understood.
    let is_factor = |factor: &str| is_power_of_ten(factor) && !matches!(factor, "1000" | "1000000");
    lower.split([' ', '(', ')']).any(|word| word.strip_prefix(['x', '×', '*', '÷']).is_some_and(is_factor))
        && aliases::names_ohms_or_degrees(text)
}

fn is_power_of_ten(text: &str) -> bool {
    text.starts_with("10") && text[1..].bytes().all(|byte| byte == b'0')
        || text.strip_prefix("0.").is_some_and(|rest| rest.trim_start_matches('0') == "1")
}

/// Whether a unit of resistance has a factor after it, which ends the text or its brackets: `MΩ (÷1000)`, `MΩ x 0.001`, `MΩ x10-3`.
fn names_factor(text: &str) -> bool {
    const MARKS: [&str; 7] = ["÷", "×", "*", "x", "/", "mal", "times"];
    let is_gap = |c: char| c.is_whitespace() || matches!(c, '(' | ')' | '[' | ']');
    let lower = text.to_lowercase().replace(',', ".");
    let ends_with_ohms = |before: &str| {
        let word = before.trim_end_matches(is_gap).rsplit(is_gap).next().unwrap_or_default();
        word.chars().count() > 1 && matches!(Unit::read(word), Some(Unit::Ohms(_)))
    };
    let is_power = |after: &str| {
        let number = after.trim_matches(is_gap);
        let (base, exponent) = number.split_once('-').unwrap_or((number, ""));
        let is_exponent = exponent.bytes().all(|byte| byte.is_ascii_digit());
        is_exponent
            && (base.starts_with("0.") && base.parse::<f64>().is_ok()
                || base.strip_prefix("10").is_some_and(|zeros| zeros.bytes().all(|byte| byte == b'0')))
    };
    let upper = text.replace(',', ".");
    MARKS.iter().any(|mark| {
        lower.match_indices(mark).any(|(at, _)| {
            // Units are case-sensitive; lower-case text can have other byte offsets.
            upper.get(..at).is_some_and(ends_with_ohms) && is_power(&lower[at + mark.len()..])
        })
    })
}

/// The rows without those that are certainly dated after the as-of date; `None` if there are none. Such rows raise no question.
pub(super) fn until_as_of(rows: &[GridRow], date: Option<usize>, forms: &DateForms) -> Option<Vec<GridRow>> {
    let date = date?;
    let is_later = |row: &GridRow| forms.is_later(&row.cells[date]);
    rows.iter().any(is_later).then(|| rows.iter().filter(|row| !is_later(row)).cloned().collect())
}

/// The question about a text of trouble in a row with tests of several motors.
pub(super) fn note_of_several(rows: &[GridRow], place: usize, name: SheetName<'_>, header: &str) -> Option<Failure> {
    let is_note = |row: &&GridRow| {
        let text = row.cells[place].trim();
        record::says_failed(text) || record::tells_of_trouble(text)
    };
    let row = rows.iter().take(ROWS_ASKED).find(is_note)?;
    let message = format!(
        "{}: row {} has tests of several motors, and {} says {}: of which?",
        name.place,
        row.line,
        column_name(header, place),
        shown(&row.cells[place])
    );
    let header = shown(header.trim());
    Some(Failure::usage(message).hint(format!(
        "write that test into a list with one row per test and its note beside it; what is settled is left out under [columns] in \
         groundwall.toml or the policy file: \"{header}\" = \"-\""
    )))
}

/// The question about a column of factors, such as `x1k` or `E-3`, by which the readings beside it may have to be multiplied.
pub(super) fn of_factors(rows: &[GridRow], place: usize, name: SheetName<'_>, header: &str) -> Option<Failure> {
    let cells = || rows.iter().take(ROWS_ASKED).map(|row| row.cells[place].trim()).filter(|cell| !cell.is_empty());
    let (factors, filled) = (cells().filter(|cell| is_factor(cell)).count(), cells().count());
    if 2 * factors <= filled {
        return None;
    }
    let message = format!(
        "{}: {} has factors, such as {}, and the readings beside it may have to be multiplied by them",
        name.place,
        column_name(header, place),
        shown(cells().find(|cell| is_factor(cell)).unwrap_or_default())
    );
    let header = shown(header.trim());
    Some(Failure::usage(message).hint(format!(
        "write the readings multiplied, each with its unit; a factor of something else is left out under [columns] in groundwall.toml or the \
         policy file: \"{header}\" = \"-\""
    )))
}

/// Whether a cell is a factor and nothing else: `x10`, `× 1k`, `10^3`, `E-3`.
fn is_factor(cell: &str) -> bool {
    let lower = cell.to_lowercase().replace(['−', '–'], "-").replace(' ', "");
    let is_number = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
    let is_exponent = |text: &str| is_number(text.strip_prefix(['-', '+']).unwrap_or(text));
    let times =
        lower.strip_prefix(['x', '×', '*', '÷', '/']).map(|rest| rest.trim_end_matches(['k', 'm', 'g', 'Ω', 'ω']));
    times.is_some_and(is_number)
        || lower.strip_prefix("10^").or_else(|| lower.strip_prefix('e')).is_some_and(is_exponent)
        || lower.chars().all(|c| c.is_ascii_digit() || "⁻⁰¹²³⁴⁵⁶⁷⁸⁹".contains(c))
            && lower.contains(|c: char| "⁻⁰¹²³⁴⁵⁶⁷⁸⁹".contains(c))
}

/// Readings of one name differ by so much where another column says that they are of two machines.
const OF_TWO_MACHINES: f64 = 3.0;
/// Longer texts are notes, and greater numbers are measured.
const LONGEST_NAME: usize = 40;
const MOST_MACHINES: u32 = 20;
/// Machines of one name that are tested one after the other, round by round; fewer rounds prove nothing.
const LEAST_ROUNDS: usize = 2;
/// Columns that a question names.
const COLUMNS_ASKED: usize = 5;

/// The rows of a sheet by the name of the winding.
pub(super) struct Named<'a> {
    /// The place of the names, unless titles name the windings.
    column: Option<usize>,
    /// The header above the names.
    header: String,
    /// The rows of each name in the order of their days, if all of them can be read.
    rows: BTreeMap<String, Vec<NamedRow<'a>>>,
    /// Whether each row holds all tests of a winding.
    is_wide: bool,
}

struct NamedRow<'a> {
    row: &'a GridRow,
    name: &'a str,
    day: Option<NaiveDate>,
    read: Option<f64>,
}

impl<'a> Named<'a> {
    /// Groups rows by the names in a column, which has this header; `date` and `reading` are the places of days and readings.
    pub(super) fn of(
        rows: &'a [GridRow],
        (column, header): (usize, &str),
        date: Option<usize>,
        reading: Option<usize>,
        forms: &DateForms,
    ) -> Self {
        let rows: Vec<(&str, &GridRow)> = rows.iter().map(|row| (row.cells[column].trim(), row)).collect();
        let named = Self::by_name(rows, date, reading, forms);
        Self { column: Some(column), header: header.trim().to_owned(), ..named }
    }

    /// Groups rows by the text alone in a row above them, or by the title of all.
    pub(super) fn by_title(
        rows: &'a [GridRow],
        title: &'a str,
        date: Option<usize>,
        reading: Option<usize>,
        forms: &DateForms,
    ) -> Self {
        let mut above = title;
        let mut named = Vec::new();
        for row in rows {
            match row.only() {
                Some((_, text)) => above = text,
                None => named.push((above, row)),
            }
        }
        Self::by_name(named, date, reading, forms)
    }

    fn by_name(
        rows: Vec<(&'a str, &'a GridRow)>,
        date: Option<usize>,
        reading: Option<usize>,
        forms: &DateForms,
    ) -> Self {
        let mut forms = forms.clone();
        forms.prove(rows.iter().filter_map(|(_, row)| date.map(|at| row.cells[at].as_str())));
        let number = |text: &str| text.trim().replace(',', ".").parse::<f64>().ok().filter(|read| *read > 0.0);
        let day = |text: &str| forms.read(text)?.iso.get(..10)?.parse().ok();
        let mut named: BTreeMap<String, Vec<NamedRow<'_>>> = BTreeMap::new();
        for (name, row) in rows {
            let (day, read) = (date.and_then(|at| day(&row.cells[at])), reading.and_then(|at| number(&row.cells[at])));
            if !name.is_empty() {
                named.entry(name.to_lowercase()).or_default().push(NamedRow { row, name, day, read });
            }
        }
        for rows in named.values_mut().filter(|rows| rows.iter().all(|row| row.day.is_some())) {
            rows.sort_by_key(|row| row.day);
        }
        Self { column: None, header: String::new(), rows: named, is_wide: false }
    }

    /// The same where each row holds all tests of a winding.
    pub(super) fn wide(self, is_wide: bool) -> Self {
        Self { is_wide, ..self }
    }
}

/// The question about columns that are not read and tell machines of one name apart, given by place and header. Whatever a header says, a
/// text that differs within one name may be part of it: that such a column is asked about for nothing costs a line, and two machines
/// read as one hide the worse.
pub(super) fn of_two_machines<'h>(
    named: &Named<'_>,
    columns: impl Iterator<Item = (usize, &'h str)>,
    name: SheetName<'_>,
) -> Option<Failure> {
    let asked: Vec<(&str, String)> = columns
        .filter(|(_, header)| !says_circumstances(header) && !aliases::names_ohms_or_degrees(header))
        .filter_map(|(place, header)| Some((header.trim(), told_apart(named, place, header)?)))
        .take(COLUMNS_ASKED)
        .collect();
    if asked.is_empty() {
        return None;
    }
    let differing: Vec<&str> = asked.iter().map(|(_, differing)| differing.as_str()).collect();
    let message = format!("{}: {}: one machine or several?", name.place, differing.join("; "));
    let headers: Vec<String> = asked.iter().map(|(header, _)| shown(header)).collect();
    let names = shown(&named.header);
    if named.column.is_none() && !headers.iter().any(String::is_empty) {
        return Some(Failure::usage(message).hint(format!(
            "write the whole name of each machine into its rows, below a header such as Motor; if they are one machine, leave the column out under \
             [columns] in groundwall.toml or the policy file: \"{}\" = \"-\"",
            headers[0]
        )));
    }
    if names.is_empty() || headers.iter().any(String::is_empty) {
        return Some(Failure::usage(message).hint(
            "write a header above each of these columns; then say under [columns] in groundwall.toml or the policy file which of them are \
             parts of the name, \"winding\", and which are left out, \"-\"",
        ));
    }
    let (joined, left): (Vec<String>, Vec<String>) =
        headers.iter().map(|header| (format!("\"{header}\" = \"winding\""), format!("\"{header}\" = \"-\""))).unzip();
    Some(Failure::usage(message).hint(format!(
        "under [columns] in groundwall.toml or the policy file, make one name of the columns that are parts of it, such as \"{names}\" = \
         \"winding\" and {}, and leave out those that are not: {}",
        joined[0],
        left.join(", ")
    )))
}

/// The question about a column taken for names that only counts the rows, beside one that may name the windings.
pub(super) fn of_row_numbers(
    rows: &[GridRow],
    (column, header): (usize, &str),
    others: &[(usize, String)],
    name: SheetName<'_>,
) -> Option<Failure> {
    // Of a header that can only mean names, numbers are names.
    if matches!(aliases::read(header), Some(Meaning::Sure(_))) {
        return None;
    }
    let numbers: Vec<u32> = rows
        .iter()
        .map(|row| row.cells[column].trim())
        .filter(|text| !text.is_empty())
        .map(|text| text.trim_end_matches('.').parse().ok())
        .collect::<Option<_>>()?;
    let counts = numbers.len() > 2 && numbers.windows(2).all(|two| two[0].checked_add(1) == Some(two[1]));
    let names = |place: usize| {
        let is_name = |row: &&GridRow| {
            let text = row.cells[place].trim();
            may_name(text) && text.contains(char::is_alphabetic) && !is_verdict(&text.to_lowercase())
        };
        3 * rows.iter().filter(is_name).count() > 2 * numbers.len()
    };
    let (place, other) = others.iter().find(|(place, _)| counts && names(*place))?;
    let message = format!(
        "{}: {} counts the rows from {} to {}, and {} may name the motors",
        name.place,
        column_name(header, column),
        numbers[0],
        numbers[numbers.len() - 1],
        column_name(other, *place)
    );
    let (counter, other) = (shown(header.trim()), shown(other.trim()));
    if counter.is_empty() || other.is_empty() {
        return Some(Failure::usage(message).hint("write a header above each of these columns, such as No. and Motor"));
    }
    Some(Failure::usage(message).hint(format!(
        "say which does under [columns] in groundwall.toml or the policy file: \"{other}\" = \"winding\" and \"{counter}\" = \"-\", or the other \
         way round"
    )))
}

/// The question which of several columns names the windings, where no header says so. They are given by place and header.
pub(super) fn of_several_names(rows: &[GridRow], columns: &[(usize, String)], name: SheetName<'_>) -> Option<Failure> {
    let differ = |place: usize| {
        let mut seen = BTreeSet::new();
        rows.iter().map(|row| row.cells[place].trim()).filter(|text| !text.is_empty()).all(|text| seen.insert(text))
    };
    let filled = |place: usize| rows.iter().filter(|row| !row.cells[place].is_empty()).count();
    // Areas are written once for the rows below them.
    let most = columns.iter().map(|(place, _)| filled(*place)).max()?;
    let full = || columns.iter().filter(|(place, _)| filled(*place) == most);
    let first = full().find(|(place, _)| differ(*place)).or(full().next())?;
    if columns.len() < 2 {
        return None;
    }
    let headers: Vec<String> =
        columns.iter().take(COLUMNS_ASKED).map(|(place, header)| column_name(header, *place)).collect();
    let message = format!("{}: no header says which column names the windings: {}", name.place, headers.join(", "));
    let header = shown(first.1.trim());
    Some(Failure::usage(message).hint(if header.is_empty() {
        "write Motor above the names".to_owned()
    } else {
        format!("say which under [columns] in groundwall.toml or the policy file, such as \"{header}\" = \"winding\"")
    }))
}

/// A column in messages.
fn column_name(header: &str, place: usize) -> String {
    let header = header.trim();
    if header.is_empty() { format!("column {} (no name)", place + 1) } else { format!("column {}", shown(header)) }
}

/// The first name that has several texts in a column that may be part of it, and two of them.
fn told_apart(named: &Named<'_>, place: usize, header: &str) -> Option<String> {
    let is_named = names_machines(header);
    let mut filled =
        named.rows.values().flatten().map(|row| row.row.cells[place].trim()).filter(|text| !text.is_empty());
    if filled.all(is_quantity) {
        return None;
    }
    let texts = || named.rows.values().flatten().map(|row| row.row.cells[place].trim()).filter(|text| may_name(text));
    let mut seen = BTreeSet::new();
    let come_again = texts().any(|text| !seen.insert(text.to_lowercase()));
    // `ok` among other texts is one of notes; a letter may be of a place.
    let is_judged = texts().any(|text| text.chars().count() > 1 && is_verdict(&text.to_lowercase()));
    let is_counted = !come_again && texts().all(|text| text.bytes().all(|byte| byte.is_ascii_digit()));
    let is_counted = is_counted || (is_named && rises(named, place));
    named.rows.values().find_map(|rows| {
        let rows: Vec<(String, &NamedRow<'_>)> = rows
            .iter()
            .map(|row| (row.row.cells[place].trim().to_lowercase(), row))
            .filter(|(text, row)| may_name(text) && !is_key(text, row.name))
            .collect();
        let texts: BTreeSet<&str> = rows.iter().map(|(text, _)| text.as_str()).collect();
        if texts.len() < 2 {
            return None;
        }
        let written = |row: &NamedRow<'_>| row.row.cells[place].trim().to_owned();
        let are_numbers = texts.iter().all(|text| text.bytes().all(|byte| byte.is_ascii_digit()));
        // Below a title that names them all, numbers that come again, or that differ on one day, are those of machines.
        let of_one_day = || {
            let days: BTreeSet<Option<NaiveDate>> = rows.iter().map(|(_, row)| row.day).collect();
            days.len() < rows.len() && rows.iter().all(|(_, row)| row.day.is_some())
        };
        let is_told = if are_numbers && named.column.is_none() {
            come_again || of_one_day()
        } else if is_named || named.is_wide {
            !is_counted || named.is_wide
        } else if are_numbers {
            let are_few = texts.iter().all(|text| text.parse().is_ok_and(|number: u32| number <= MOST_MACHINES));
            are_few && are_rounds(&rows, texts.len()) || are_far_apart(&rows)
        } else {
            !is_judged
                && !texts.iter().all(|text| is_verdict(text))
                && (come_again || rows.iter().all(|(_, row)| looks_like_a_name(&written(row))))
        };
        let (first, of) = rows.first()?;
        let (_, other) = rows.iter().find(|(text, _)| text != first)?;
        is_told.then(|| {
            let motor = shown(of.name);
            format!(
                "{motor} has {} and {} in {}",
                shown(&written(of)),
                shown(&written(other)),
                column_name(header, place)
            )
        })
    })
}

/// Whether a text may tell machines apart: it is no day, no note, and no number with a decimal mark, which is measured.
fn may_name(text: &str) -> bool {
    let is_count = text.len() <= 12 && text.bytes().all(|byte| byte.is_ascii_digit());
    let has_unit = text.starts_with(|c: char| c.is_ascii_digit() || c == '-')
        && text.ends_with(['C', 'F', '%', 'V'])
        && text.contains([' ', '°', '%']);
    let is_measured = || has_unit || is_number(text) || reads(text) || label::is_date(text);
    !text.is_empty() && text.chars().count() <= LONGEST_NAME && (is_count || !is_measured())
}

/// Whether a text is the name and something more, put together by a formula: `P-101|2`.
fn is_key(text: &str, name: &str) -> bool {
    text.strip_prefix(&name.to_lowercase()).is_some_and(|rest| rest.trim_start().starts_with(['|', ';', '_']))
}

/// Whether a text that comes but once looks like a name and not like a note.
fn looks_like_a_name(text: &str) -> bool {
    text.split_whitespace().count() <= 2 && text.starts_with(|c: char| c.is_uppercase() || c.is_ascii_digit())
}

/// Whether a column numbers the tests of each winding: 1, 2, 3.
fn rises(named: &Named<'_>, place: usize) -> bool {
    named.rows.values().all(|rows| {
        let numbers: Vec<Option<u32>> = rows.iter().map(|row| row.row.cells[place].trim().parse().ok()).collect();
        rows.len() > 2
            && numbers.iter().all(Option::is_some)
            && numbers.is_sorted_by(|one, next| one.is_some_and(|one| Some(one + 1) == *next))
    })
}

/// Whether rows are rounds in which each of so many texts comes once, and a round is over long before the next.
fn are_rounds(rows: &[(String, &NamedRow<'_>)], texts: usize) -> bool {
    let days: Option<Vec<NaiveDate>> = rows.iter().map(|(_, row)| row.day).collect();
    let Some(days) = days.filter(|days| texts > 1 && days.len() >= LEAST_ROUNDS * texts) else { return false };
    let is_complete = |round: &[(String, &NamedRow<'_>)]| {
        round.iter().map(|(text, _)| text).collect::<BTreeSet<_>>().len() == round.len()
    };
    let rounds: Vec<&[NaiveDate]> = days.chunks(texts).collect();
    let is_apart = |pair: &[&[NaiveDate]]| {
        let [[first, .., last], [next, ..]] = pair else { return false };
        *first < *next && 2 * (*last - *first).num_days() <= (*next - *last).num_days()
    };
    rows.chunks(texts).all(is_complete) && rounds.windows(2).all(is_apart)
}

/// Whether what was read under one text of a name is far from what was read under the other, and both come by turns. One that was moved
/// changes its place once.
fn are_far_apart(rows: &[(String, &NamedRow<'_>)]) -> bool {
    let mut turns: Vec<&String> = rows.iter().map(|(text, _)| text).collect();
    turns.dedup();
    let texts: BTreeSet<&String> = turns.iter().copied().collect();
    let median = |of: &String| {
        let of_text = rows.iter().filter(|(text, _)| text == of);
        let mut read: Vec<f64> = of_text.filter_map(|(_, row)| row.read).collect();
        read.sort_by(f64::total_cmp);
        read.get(read.len() / 2).copied()
    };
    let medians: Option<Vec<f64>> = texts.iter().map(|text| median(text)).collect();
    texts.len() == 2
        && turns.len() > texts.len()
        && medians.is_some_and(|medians| {
            let (one, other) = (medians[0], medians[1]);
            one.max(other) >= OF_TWO_MACHINES * one.min(other)
        })
}

/// Whether a header of temperatures says in which scale they are, or the site does.
fn names_scale(header: &str, mapping: &Mapping) -> bool {
    Column::read(header).is_some()
        || mapping.get(header.trim()).is_some()
        || crate::ingest::aliases::units(header).is_some_and(|units| units.scale.is_some())
}

/// The question about a header of temperatures that names no scale, where a text beside the table names degrees Fahrenheit.
pub(super) fn of_other_scale<'r>(
    texts: impl Iterator<Item = &'r GridRow>,
    name: SheetName<'_>,
    header: &str,
    mapping: &Mapping,
) -> Option<Failure> {
    if names_scale(header, mapping) {
        return None;
    }
    let names_fahrenheit = |text: &str| {
        let lower = text.to_lowercase().replace('º', "°");
        let is_word = |word: &str| matches!(word, "°f" | "degf" | "fahrenheit");
        let words: Vec<&str> = lower.split(|c: char| !(c.is_alphanumeric() || c == '°')).collect();
        let in_two = words.windows(2).any(|two| matches!(two, ["deg" | "degrees" | "°", "f"]));
        in_two || words.iter().any(|word| is_word(word) || word.strip_suffix("°f").is_some())
    };
    let mut texts = texts.take(ROWS_ASKED).flat_map(|row| row.filled().map(move |(_, text)| (row.line, text)));
    let (line, text) = texts.find(|(_, text)| names_fahrenheit(text))?;
    let (place, header, text) = (name.place, shown(header.trim()), shown(text));
    let message = format!(
        "{place}:{line}: “{text}” names °F, and nothing gives the temperatures under {header} a scale; they would be read in °C"
    );
    Some(Failure::usage(message).hint(scale_hint(&header)))
}

/// How to say in which scale the temperatures under a header are.
fn scale_hint(header: &str) -> String {
    format!(
        "write °C or °F into that header, or say which under [columns] in groundwall.toml or the policy file: \"{header}\" = \"winding_temp_f\""
    )
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
    if names_scale(header, mapping) {
        return None;
    }
    let number = |row: &GridRow| row.cells[place].trim().replace(',', ".").parse::<f64>().ok();
    let mut temperatures: Vec<f64> = rows.iter().take(ROWS_ASKED).filter_map(number).collect();
    temperatures.sort_by(f64::total_cmp);
    let median = temperatures.get(temperatures.len() / 2).filter(|median| **median > HOT_CELSIUS)?;
    let (place, header) = (name.place, shown(header.trim()));
    let message =
        format!("{place}: half of the temperatures under {header} are {median} or more, which may be °C or °F");
    Some(Failure::usage(message).hint(scale_hint(&header)))
}
