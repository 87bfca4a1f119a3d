//! Sheets that hold no tests, such as explanations and registers.

use super::columns::Columns;
use super::delimited::HEADER_WITHIN;
use super::document::Document;
use super::kinds::{is_reading, reads};
use super::layout::{LabelReader, label, label::Field};
use super::reading_rules::ReadingRules;
use super::rows::Row;
use super::unit::Unit;
use chrono::Datelike;
use groundwall::record::{self, columns::Column};

/// Whether a sheet is a register, or has fewer than two rows with a number in them, and none with a date beside it. A number beside the
/// label of a resistance is a test where there is a date anywhere, and so is a failure with its date.
pub(super) fn holds_no_tests(document: &Document, rules: &ReadingRules, reader: &LabelReader<'_>) -> bool {
    let mut rows = document.rows();
    let (mut with_number, mut has_test, mut is_register, mut seen) = (0, false, false, 0);
    let (mut has_date, mut has_labelled, mut has_reading, mut has_names) = (false, false, false, false);
    let is_label = |text: &String| reader.read(text.trim()).column().is_some_and(is_reading);
    while let Some(row) = rows.next_row() {
        let texts = filled_texts(&row);
        let is_number = |text: &String| reads(text.trim());
        let has_number = texts.iter().any(is_number);
        with_number += usize::from(has_number);
        let dated = texts.iter().any(|text| label::is_date(text.trim()));
        has_date |= dated;
        has_labelled |= has_number && texts.iter().any(is_label);
        has_reading |= texts.iter().any(is_label);
        has_names |= texts.iter().any(|text| names_motors(text, reader));
        has_test |= has_number && dated;
        // A list of failures must not be skipped: it concerns motors whose tests may look good.
        has_test |= dated && texts.iter().any(|text| record::says_failed(text) || record::tells_of_trouble(text));
        has_test |= texts.iter().any(|text| tells_a_test(text));
        if seen < HEADER_WITHIN {
            is_register |= Columns::resolve(texts, &rules.mapping).nameplate_headers().is_some();
        }
        seen += 1;
    }
    // `Motor` and `MΩ` above one motor and its reading.
    has_test |= has_names && has_reading && with_number > 0;
    is_register || (with_number < 2 && !has_test && !(has_date && has_labelled))
}

fn filled_texts(row: &Row<'_, '_>) -> Vec<String> {
    row.texts().into_iter().filter(|text| !text.trim().is_empty()).collect()
}

fn names_motors(text: &str, reader: &LabelReader<'_>) -> bool {
    reader.read(text.trim()).field == Some(Field::Column(Column::Winding))
}

/// Longer texts are no remarks.
const LONGEST_REMARK: usize = 60;

/// What a sheet without tests says of trouble with a motor: it must not be passed over.
pub(super) fn trouble_without_tests(
    document: &Document,
    rules: &ReadingRules,
    reader: &LabelReader<'_>,
) -> Option<String> {
    let this_year = rules.as_of.map_or(i32::MAX, |day| day.year());
    let mut rows = document.rows();
    let (mut has_names, mut found) = (false, None);
    while let Some(row) = rows.next_row() {
        let texts = filled_texts(&row);
        has_names |= texts.iter().any(|text| names_motors(text, reader));
        // Longer texts are instructions, and those of past years are of the past.
        let is_old = |text: &str| {
            let words = text.split(|c: char| !c.is_ascii_digit()).filter(|word| word.len() == 4);
            words.filter_map(|word| word.parse::<i32>().ok()).any(|year| (1950..this_year).contains(&year))
        };
        let is_trouble = |text: &&String| {
            text.len() <= LONGEST_REMARK
                && !is_old(text)
                && (record::says_failed(text) || record::tells_of_trouble(text))
        };
        found = found.or_else(|| texts.iter().find(is_trouble).cloned());
    }
    found.filter(|_| has_names)
}

/// Whether a sentence tells of a test: `K-8: 0.8 MΩ (10 Oct 2026)`.
fn tells_a_test(text: &str) -> bool {
    let is_year = |word: &str| {
        word.len() == 4 && (word.starts_with("19") || word.starts_with("20")) && word.parse::<u16>().is_ok()
    };
    text.split(|c: char| !c.is_alphanumeric()).any(is_year)
        && text.split(|c: char| c.is_whitespace() || matches!(c, '(' | ')' | ',' | ';')).any(|word| {
            matches!(Unit::read(word.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.')), Some(Unit::Ohms(_)))
                && word.chars().count() > 1
        })
}

/// Whether the name of a sheet says that what it holds are no tests: `Example`, `Vorlage`, `DO NOT USE`.
pub(super) fn is_example(sheet: &str) -> bool {
    const WORDS: [&str; 19] = [
        "example",
        "examples",
        "template",
        "specimen",
        "dummy",
        "instructions",
        "beispiel",
        "beispiele",
        "muster",
        "vorlage",
        "exemple",
        "exemples",
        "modèle",
        "ejemplo",
        "plantilla",
        "esempio",
        "exemplo",
        "voorbeeld",
        "sjabloon",
    ];
    let lower = sheet.to_lowercase();
    lower.trim() == "sample"
        || lower.contains("do not use")
        || lower.split(|c: char| !c.is_alphanumeric()).any(|word| WORDS.contains(&word))
}

/// How to leave a sheet out.
pub(super) fn skip_hint(name: &str, file: &str) -> String {
    let sheet = name.strip_prefix(file).unwrap_or(name).trim_start_matches(':');
    format!("if the sheet holds no tests, leave it out: --skip-sheet \"{sheet}\"")
}
