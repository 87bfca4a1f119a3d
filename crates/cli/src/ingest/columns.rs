//! Which cell of a row holds what, found from the header; and what to say when it cannot be found.

use super::source::closest;
use crate::error::{Failure, shown};
use groundwall::record::columns::Column;

/// More names than this are counted, not listed.
const NAMES_SHOWN: usize = 40;

/// The columns of one history.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Columns {
    /// Place in the row and what stands there.
    pub known: Vec<(usize, Column)>,
    /// All headers as written.
    pub header: Vec<String>,
    /// Headers that are not ours; their cells are not read.
    pub left_alone: Vec<String>,
}

impl Columns {
    /// Finds the columns of a history by their names, in any order.
    ///
    /// # Errors
    ///
    /// A [`Failure`] when a required column is missing or a column is there twice.
    pub fn find(file: &str, line: u64, header: Vec<String>) -> Result<Self, Failure> {
        let mut columns = Self { header, ..Self::default() };
        for (place, name) in columns.header.iter().enumerate() {
            match Column::read(name) {
                Some(column) => columns.known.push((place, column)),
                None if name.trim().is_empty() => columns.left_alone.push(format!("column {} (no name)", place + 1)),
                None => columns.left_alone.push(shown(name.trim())),
            }
        }
        columns.must_be_single(file, line)?;
        columns.must_be_complete(file, line)?;
        Ok(columns)
    }

    /// The header of a column as the file writes it.
    #[must_use]
    pub fn as_written(&self, column: &str) -> String {
        let written = self.known.iter().find(|(_, known)| known.to_string() == column);
        written.map_or_else(|| column.to_owned(), |(place, _)| shown(self.header[*place].trim()))
    }

    /// Two readings at one time may agree row by row and are compared there; any other column stands once.
    fn must_be_single(&self, file: &str, line: u64) -> Result<(), Failure> {
        for (i, (place, column)) in self.known.iter().enumerate() {
            if matches!(column, Column::Reading(..)) {
                continue;
            }
            if let Some((first, _)) = self.known[..i].iter().find(|(_, other)| other == column) {
                let message = format!("{file}:{line}: the columns {} and {} are both {column}", first + 1, place + 1);
                return Err(Failure::usage(message).hint("rename or delete the one that is not to be read"));
            }
        }
        Ok(())
    }

    fn must_be_complete(&self, file: &str, line: u64) -> Result<(), Failure> {
        let mut missing = Vec::new();
        for (column, name) in [(Column::Winding, "winding"), (Column::TestedOn, "tested_on")] {
            if !self.known.iter().any(|(_, known)| *known == column) {
                missing.push(name);
            }
        }
        if !self.known.iter().any(|(_, known)| matches!(known, Column::Reading(..))) {
            missing.push("r_60s");
        }
        if missing.is_empty() {
            return Ok(());
        }
        Err(missing_columns(file, line, &missing, &self.header, &self.left_alone))
    }
}

/// The failure for required columns that are missing: which, what was found instead, the closest names.
#[must_use]
pub fn missing_columns(file: &str, line: u64, missing: &[&str], header: &[String], unknown: &[String]) -> Failure {
    let mut found: Vec<String> = header.iter().take(NAMES_SHOWN).map(|name| shown(name.trim())).collect();
    if header.len() > NAMES_SHOWN {
        found.push(format!("and {} more", header.len() - NAMES_SHOWN));
    }
    let (noun, verb) = if missing.len() == 1 { ("column", "is") } else { ("columns", "are") };
    let message =
        format!("{file}:{line}: the {noun} {} {verb} missing; the header has {}", missing.join(", "), found.join(", "));
    let near: Vec<String> = missing
        .iter()
        .filter_map(|name| {
            let like = closest(name, unknown.iter().map(String::as_str), 0.6);
            let like: Vec<&str> = like.into_iter().take(2).collect();
            (!like.is_empty()).then(|| format!("closest to {name}: {}", like.join(", ")))
        })
        .collect();
    let what = "rename the column that holds it in the first line";
    let reading =
        if missing.contains(&"r_60s") { "; a reading after one minute is r_60s, after ten r_600s" } else { "" };
    if near.is_empty() {
        Failure::usage(message).hint(format!("{what}{reading}"))
    } else {
        Failure::usage(message).hint(format!("{what} ({}){reading}", near.join("; ")))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn find(header: &str) -> Result<Columns, String> {
        let names = header.split(',').map(str::to_owned).collect();
        Columns::find("plant.csv", 1, names).map_err(|failure| failure.to_string())
    }

    #[test]
    fn columns_are_found_in_any_order_and_strangers_are_left_alone() {
        let columns = find("r_10min,Work Order, TESTED ON ,,Winding");
        assert_eq!(
            columns.map(|c| (c.known.iter().map(|(place, _)| *place).collect(), c.left_alone, c.header.len())),
            Ok((vec![0, 2, 4], vec!["Work Order".to_owned(), "column 4 (no name)".to_owned()], 5))
        );
    }

    #[test]
    fn a_missing_column_is_named_with_the_closest() {
        assert_eq!(
            find("windings,test_date,R60"),
            Err("plant.csv:1: the columns winding, tested_on, r_60s are missing; \
                 the header has windings, test_date, R60\n\
                 hint: rename the column that holds it in the first line (closest to winding: windings; \
                 closest to tested_on: test_date; closest to r_60s: R60); \
                 a reading after one minute is r_60s, after ten r_600s"
                .to_owned())
        );
        assert_eq!(
            find("winding,qqq,r_60s"),
            Err("plant.csv:1: the column tested_on is missing; the header has winding, qqq, r_60s\n\
                 hint: rename the column that holds it in the first line"
                .to_owned())
        );
    }

    #[test]
    fn a_column_stands_once() {
        assert_eq!(
            find("winding,tested_on,r_60s,Winding"),
            Err("plant.csv:1: the columns 1 and 4 are both winding\n\
                 hint: rename or delete the one that is not to be read"
                .to_owned())
        );
        assert!(find("winding,tested_on,r_60s,r_1min").is_ok());
    }
}
