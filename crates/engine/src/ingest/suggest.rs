//! `check --suggest`: a `[columns]` section for a file never seen before, to be looked over and pasted into the policy file.

use super::ReadingRules;
use super::aliases::{self, Units};
use super::columns::Columns;
use super::document::{Document, find_header};
use super::layout::{self, Limits, SheetName};
use crate::error::{Failure, shown};
use groundwall::record::columns::{Column, TemperatureScale};
use std::collections::BTreeSet;
use std::fmt::Write as _;

/// A name that is at least so like one of ours is suggested; 1 is equal.
const LIKE_ENOUGH: f64 = 0.85;

/// The section for one input: understood headers as they are read; guesses, with how sure they are, and all others commented out.
///
/// # Errors
///
/// A [`Failure`] when the input cannot be opened.
pub fn section(file: &str, bytes: Vec<u8>, rules: &ReadingRules) -> Result<String, Failure> {
    let length = bytes.len();
    let documents = rules.open(file, bytes)?;
    let mut limits = Limits::of(&documents, length);
    let sections: Vec<String> =
        documents.iter().map(|document| of(document, file, rules, &mut limits)).collect::<Result<_, _>>()?;
    Ok(sections.concat())
}

/// The section for a text or a sheet.
fn of(document: &Document, file: &str, rules: &ReadingRules, limits: &mut Limits) -> Result<String, Failure> {
    let name = document.name(file);
    let mut rows = document.rows();
    // A row of a table has many short cells; a title has one.
    let weight = |cells: &[String]| {
        let words =
            cells.iter().filter(|cell| cell.chars().any(char::is_alphabetic) && cell.chars().count() < 60).count();
        8 * rules.weight(cells) + words
    };
    let header = find_header(&name, &|line| document.line(line), &mut rows, &|cells| rules.fits(cells), &weight)?;
    let columns = Columns::resolve(header.cells, &rules.mapping);
    let mut text =
        format!("# {}:{}: look it over and paste it into the policy file\n[columns]\n", shown(&name), header.line);
    let mut taken: BTreeSet<String> = columns.known.iter().map(|(_, column)| column.to_string()).collect();
    let mut written = BTreeSet::new();
    let missing = columns.missing();
    for (place, header) in columns.header.iter().enumerate().take(columns.width) {
        if header.trim().is_empty() || !written.insert(header.trim().to_lowercase()) {
            continue;
        }
        // The blanks of a header do not matter, and a line break would end the line.
        let key = toml_edit::Value::from(header.split_whitespace().collect::<Vec<_>>().join(" ")).to_string();
        let _ = match columns.known.iter().find(|(known, _)| *known == place) {
            Some((_, column)) if columns.assumed.iter().any(|(_, assumed)| assumed == column) => {
                writeln!(text, "{key} = \"{column}\"  # assumed: check it")
            }
            Some((_, column)) => writeln!(text, "{key} = \"{column}\""),
            None => match guess(header, &taken) {
                Some((sure, column)) => {
                    taken.insert(column.clone());
                    writeln!(text, "# {key} = \"{column}\"  # a guess, {:.0} % alike", 100.0 * sure)
                }
                None => writeln!(text, "# {key} = \"-\"  # not understood"),
            },
        };
    }
    let reader = limits.label_reader(&rules.mapping);
    let is_arranged =
        matches!(layout::arrange(document, rules, &reader, SheetName::of(document, &name), limits), Ok(Some(_)));
    if let (true, Some(layout)) = (!missing.is_empty() && !is_arranged, layout::suggestion(document)) {
        let _ = writeln!(text, "#\n{}\n#", layout.trim_end());
    }
    if is_arranged {
        text.push_str("# the sheet is read by its layout, and no line above is needed\n");
    } else if !missing.is_empty() {
        let _ = writeln!(
            text,
            "# still missing: {}; take away the # before every line that holds it, and write what it holds; \
             a column of readings without a line is not read",
            missing.join(", ")
        );
    }
    Ok(text)
}

/// The name of ours that a header most likely stands for, among those not taken: a number with a unit of time is a reading,
/// anything else the name that is spelt most like it. A unit is never guessed: it is the one that the header names, or the
/// usual one.
fn guess(header: &str, taken: &BTreeSet<String>) -> Option<(f64, String)> {
    let units = aliases::units(header)?;
    let free = |column: &Column| !taken.contains(&column.to_string());
    let spelt = header.trim().to_lowercase().replace([' ', '-', '.'], "_");
    if aliases::says_limit(header) {
        return None;
    }
    let is_other = aliases::has_unit_of_something_else(header);
    if let Some(column) = reading(&spelt).filter(|_| !is_other).map(|column| in_units(column, units)) {
        return free(&column).then(|| (0.5, column.to_string()));
    }
    Column::names()
        .into_iter()
        .filter(|name| !name.starts_with("r_"))
        .filter_map(|name| {
            let column = Column::read(name)?;
            (free(&column) && in_units(column, units) == column).then_some((name, column))
        })
        .map(|(name, column)| (strsim::jaro_winkler(&spelt, name), column.to_string()))
        .filter(|(like, _)| *like >= LIKE_ENOUGH)
        .max_by(|a, b| a.0.total_cmp(&b.0))
}

/// The column with the units that the header names, else the usual ones.
fn in_units(column: Column, units: Units) -> Column {
    let ohms = units.ohms.unwrap_or_default();
    let scale = units.scale.unwrap_or(TemperatureScale::Celsius);
    match column {
        Column::Reading(at, _) => Column::Reading(at, ohms),
        Column::Resistance(_) => Column::Resistance(ohms),
        Column::FullScale(_) => Column::FullScale(ohms),
        Column::WindingTemp(_) => Column::WindingTemp(scale),
        Column::AirTemp(_) => Column::AirTemp(scale),
        other => other,
    }
}

/// `wert_60_s` and `nach_1min` as `r_60s` and `r_60s`.
fn reading(header: &str) -> Option<Column> {
    let start = header.find(|c: char| c.is_ascii_digit())?;
    let digits = header[start..].find(|c: char| !c.is_ascii_digit()).map_or(header.len(), |length| start + length);
    let unit = header[digits..].trim_start_matches('_');
    let unit = if unit.starts_with("min") {
        "min"
    } else if unit == "s" || unit.starts_with("s_") || unit.starts_with("sec") || unit.starts_with("sek") {
        "s"
    } else {
        return None;
    };
    Column::read(&format!("r_{}{unit}", &header[start..digits]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_unit_is_guessed_that_the_header_does_not_name() {
        let guessed = |header: &str| guess(header, &BTreeSet::new()).map(|(_, name)| name);
        for header in ["Windng temp", "Wnding temp", "Winding tmp", "Air tmp", "Aire temp"] {
            assert!(guessed(header).is_some_and(|name| name.ends_with("_temp_c")), "{header}: {:?}", guessed(header));
        }
        assert_eq!(guessed("Windng temp °F").as_deref(), Some("winding_temp_f"));
        assert_eq!(guessed("Air tmp (F)").as_deref(), Some("air_temp_f"));
        assert_eq!(guessed("Wert 60 s").as_deref(), Some("r_60s"));
        assert_eq!(guessed("Wert 60 s GΩ").as_deref(), Some("r_60s_gohm"));
        // Milliohms by the book: it is unclear what is meant.
        assert_eq!((guessed("Wert 60 s mΩ"), guessed("Wert 60 s MΩ GΩ")), (None, None));
    }
}
