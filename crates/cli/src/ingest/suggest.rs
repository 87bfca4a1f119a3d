//! `check --suggest`: a `[columns]` section for a file never seen before, to be looked over and pasted into the policy file.

use super::columns::Columns;
use super::document::find_header;
use super::{Input, ReadingRules};
use crate::error::{Failure, shown};
use groundwall::record::columns::Column;
use std::collections::BTreeSet;
use std::fmt::Write as _;

/// A name that is at least so like one of ours is suggested; 1 is equal.
const LIKE_ENOUGH: f64 = 0.75;

/// The section for one input: understood headers as they are read, near ones with how sure they are, the others commented out.
///
/// # Errors
///
/// A [`Failure`] when the input cannot be opened.
pub fn section(input: &Input, rules: &ReadingRules) -> Result<String, Failure> {
    let file = input.to_string();
    let document = rules.open(&file, input.read()?)?;
    let name = document.name(&file);
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
    let mut missing = columns.missing();
    for (place, header) in columns.header.iter().enumerate().take(columns.width) {
        if header.trim().is_empty() || !written.insert(header.trim().to_lowercase()) {
            continue;
        }
        let key = toml_edit::Value::from(header.trim()).to_string();
        let _ = match columns.known.iter().find(|(known, _)| *known == place) {
            Some((_, column)) if columns.assumed.iter().any(|(_, assumed)| assumed == column) => {
                writeln!(text, "{key} = \"{column}\"  # assumed: check it")
            }
            Some((_, column)) => writeln!(text, "{key} = \"{column}\""),
            None => match guess(header, &taken) {
                Some((sure, column)) => {
                    missing.retain(|name| *name != column);
                    taken.insert(Column::read(&column).map_or_else(String::new, |column| column.to_string()));
                    writeln!(text, "{key} = \"{column}\"  # a guess, {:.0} % alike: check it", 100.0 * sure)
                }
                None => writeln!(text, "# {key} = \"-\"  # not understood"),
            },
        };
    }
    if !missing.is_empty() {
        let _ = writeln!(
            text,
            "# still missing: {}; write the name in place of \"-\" where it belongs, and take away the # before that line",
            missing.join(", ")
        );
    }
    Ok(text)
}

/// The name of ours that a header most likely stands for, among those not taken: a number with a unit of time is a reading,
/// anything else the name that is spelt most like it.
fn guess(header: &str, taken: &BTreeSet<String>) -> Option<(f64, String)> {
    let free = |name: &str| Column::read(name).is_some_and(|column| !taken.contains(&column.to_string()));
    let header = header.trim().to_lowercase().replace([' ', '-', '.'], "_");
    if let Some(name) = reading(&header) {
        return free(&name).then_some((0.5, name));
    }
    Column::names()
        .into_iter()
        .filter(|name| free(name) && !name.starts_with("r_"))
        .map(|name| (strsim::jaro_winkler(&header, name), name.to_owned()))
        .filter(|(like, _)| *like >= LIKE_ENOUGH)
        .max_by(|a, b| a.0.total_cmp(&b.0))
}

/// `wert_60_s` and `nach_1min` as `r_60s` and `r_1min`.
fn reading(header: &str) -> Option<String> {
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
    let name = format!("r_{}{unit}", &header[start..digits]);
    Column::read(&name).map(|_| name)
}
