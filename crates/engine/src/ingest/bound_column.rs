//! Bounds in a column of their own: `5000` beside `above`.
//!
//! A column named like that of a reading with `_bound` after it, such as `r_60s_bound`, says of each reading whether it is exact
//! or a bound. It is for tables whose resistances are numbers. A word that is not understood, or that contradicts the cell beside
//! it, costs the row: a bound is never read as an exact reading.

use super::kinds::same_kind;
use groundwall::record::columns::Column;
use groundwall::record::validate::Fault;
use groundwall::resistance::{CellRules, Measured};
use std::borrow::Cow;

/// What the name of such a column ends with.
const ENDING: &str = "_bound";

/// A column of bounds and the readings that it belongs to.
#[derive(Clone, Debug, PartialEq)]
pub struct BoundColumn {
    /// Its place in the row.
    pub place: usize,
    /// Its header.
    pub header: String,
    /// Places of the readings that it says of whether they are bounds: one, or several of one time.
    pub belongs_to: Vec<usize>,
}

/// The columns of bounds among those at `places`.
#[must_use]
pub fn find(places: &[usize], header: &[String], known: &[(usize, Column)]) -> Vec<BoundColumn> {
    let plain = |name: &str| name.trim().to_lowercase();
    let readings = || known.iter().filter(|(_, column)| matches!(column, Column::Reading(..) | Column::Resistance(_)));
    let column = |place: &usize| {
        let written = plain(&header[*place]);
        let name = written.strip_suffix(ENDING)?;
        let of_that_name = readings().filter(|(at, _)| plain(&header[*at]) == name).map(|(at, _)| *at);
        let mut belongs_to: Vec<usize> = of_that_name.collect();
        if let (true, Some(meant)) = (belongs_to.is_empty(), Column::read(name)) {
            belongs_to = readings().filter(|(_, column)| same_kind(column, &meant)).map(|(at, _)| *at).collect();
        }
        let is_one = !belongs_to.is_empty();
        is_one.then(|| BoundColumn { place: *place, header: header[*place].trim().to_owned(), belongs_to })
    };
    places.iter().filter_map(column).collect()
}

impl BoundColumn {
    /// A reading with the bound beside it, as the text of one cell.
    ///
    /// # Errors
    ///
    /// The fault of a word that is not a bound, or that contradicts the reading.
    pub fn apply<'t>(&self, bound: &str, reading: &'t str) -> Result<Cow<'t, str>, Fault> {
        let fault = |rule: &str, hint: &str| Fault {
            column: self.header.clone(),
            value: bound.to_owned(),
            rule: rule.to_owned(),
            hint: hint.to_owned(),
        };
        let sign = match bound.trim().to_lowercase().as_str() {
            "" => return Ok(reading.into()),
            "exact" | "=" => None,
            "above" | ">" => Some('>'),
            "below" | "<" => Some('<'),
            _ => {
                return Err(fault(
                    "this column says of each reading whether it is exact, above or below",
                    "write one of these words, or leave the cell empty where the reading is exact",
                ));
            }
        };
        let written = reading.trim();
        let begins_with_digit = written.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '.' | ','));
        let read = CellRules::default().read(written);
        match (sign, read) {
            (Some('>'), _) if written.is_empty() => Ok("OL".into()),
            (None, _) if written.is_empty() || begins_with_digit => Ok(reading.into()),
            (Some('>'), Ok(Some(Measured::Above(_) | Measured::OffScale))) => Ok(reading.into()),
            (Some('<'), Ok(Some(Measured::Below(_)))) => Ok(reading.into()),
            (Some(sign), _) if begins_with_digit => Ok(format!("{sign}{written}").into()),
            _ => Err(fault(
                "the reading beside it says something else",
                "write the bound once: in this column, or before the reading as in >1000",
            )),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn applied(bound: &str, reading: &str) -> Result<String, String> {
        let column = BoundColumn { place: 1, header: "r_60s_bound".to_owned(), belongs_to: vec![0] };
        column.apply(bound, reading).map(Cow::into_owned).map_err(|fault| fault.to_string())
    }

    #[test]
    fn a_bound_beside_a_reading_is_the_sign_before_it() {
        for (bound, reading, cell) in [
            ("", "5000", "5000"),
            ("exact", "412.5", "412.5"),
            ("above", "5000", ">5000"),
            ("Above", ">5000", ">5000"),
            ("above", "OL", "OL"),
            ("above", "", "OL"),
            ("below", "0.1", "<0.1"),
            ("below", "<0.1", "<0.1"),
            ("exact", "", ""),
            ("", ">1000", ">1000"),
        ] {
            assert_eq!(applied(bound, reading).as_deref(), Ok(cell), "{bound} {reading}");
        }
    }

    #[test]
    fn what_is_no_bound_or_contradicts_the_reading_costs_the_row() {
        assert_eq!(
            applied("over", "5000"),
            Err("r_60s_bound is over; this column says of each reading whether it is exact, above or below (hint: write one \
                 of these words, or leave the cell empty where the reading is exact)"
                .to_owned())
        );
        for (bound, reading) in
            [("below", ">5000"), ("above", "<5"), ("exact", ">5000"), ("below", "OL"), ("below", "")]
        {
            assert_eq!(
                applied(bound, reading),
                Err(format!(
                    "r_60s_bound is {bound}; the reading beside it says something else (hint: write the bound once: in this \
                     column, or before the reading as in >1000)"
                )),
                "{bound} {reading}"
            );
        }
    }

    #[test]
    fn a_column_of_bounds_is_known_by_the_reading_that_it_names() {
        let header = ["winding", "tested_on", "r_60s_gohm", "r_60s_bound", "IR_bound", "r_30s_bound", "note"];
        let header = header.map(str::to_owned).to_vec();
        let columns = super::super::columns::Columns::resolve(header, &Default::default());
        let found: Vec<(usize, &[usize])> = columns.bounds.iter().map(|b| (b.place, b.belongs_to.as_slice())).collect();
        assert_eq!(found, [(3, &[2][..])]);
        assert_eq!(columns.left_alone, ["IR_bound", "r_30s_bound"]);
    }
}
