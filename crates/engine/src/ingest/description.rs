//! A layout that the user describes: any regular sheet can be read so.
//!
//! ```toml
//! [[layout]]
//! sheet = "Pump*"              # which sheets; without it all, and texts
//! rows = "6:40"                # rows with tests; "6:" to the end
//! values = "D:O"               # columns with readings
//! holds = "r_60s"              # what they hold, or where its name stands: "row 5", "column C"
//! winding = "column A"         # where it stands: "column A", "row 5", "cell B2", "sheet", "text P-101"
//! tested_on = "row 5"
//! connection = "column B"      # likewise any other column of a history
//! unit = "column C"            # and the units of the readings, where a sheet has them
//! ```
//!
//! A blank cell of a row of headers stands for the one on its left, and a blank name of a winding for the one above.

use super::cell_place::CellPlace;
use super::kinds::is_reading;
use groundwall::record::columns::Column;
use toml_edit::TableLike;

const WHERE: &str = "it is where it stands: \"column A\", \"row 5\", \"cell B2\", \"sheet\" or \"text …\"";

/// Where something stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Source {
    /// In a column, in the row of the reading.
    Column(usize),
    /// In a row, in the column of the reading.
    Row(u64),
    /// In one cell.
    Cell(CellPlace),
    /// It is the name of the sheet.
    Sheet,
    /// It is this text.
    Text(String),
}

/// What the readings are.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Holds {
    One(Column),
    Named(Source),
}

/// A layout as it is described.
#[derive(Clone, Debug, PartialEq)]
pub struct Description {
    pub(super) sheet: Option<glob::Pattern>,
    pub(super) rows: (u64, u64),
    pub(super) values: (usize, usize),
    pub(super) holds: Holds,
    /// Where the units of the readings stand.
    pub(super) unit: Option<Source>,
    /// Columns of a history and where they stand, those of winding and date among them.
    pub(super) columns: Vec<(Column, Source)>,
}

impl Description {
    /// Reads a `[[layout]]`.
    ///
    /// # Errors
    ///
    /// The name of the key and the rule that it breaks.
    pub fn read(table: &dyn TableLike) -> Result<Self, (String, String)> {
        let mut description = Self {
            sheet: None,
            rows: (0, 0),
            values: (0, 0),
            holds: Holds::Named(Source::Sheet),
            unit: None,
            columns: Vec::new(),
        };
        let (mut has_rows, mut has_values, mut has_holds) = (false, false, false);
        for (key, item) in table.iter() {
            let fail = |rule: &str| (key.to_owned(), rule.to_owned());
            let text = item.as_str().ok_or_else(|| fail("it is a text between quotes"))?.trim();
            match key {
                "sheet" => {
                    let pattern = glob::Pattern::new(text).map_err(|error| fail(error.msg))?;
                    description.sheet = Some(pattern);
                }
                "rows" => {
                    let row = |text: &str| text.trim().parse::<u64>().ok().filter(|row| *row > 0);
                    description.rows = match text.split_once(':') {
                        Some((first, "")) => row(first).map(|first| (first, u64::MAX)),
                        Some((first, last)) => row(first).zip(row(last)),
                        None => row(text).map(|only| (only, only)),
                    }
                    .ok_or_else(|| {
                        fail("it is the first and the last row with tests, such as \"6:40\", or \"6:\" to the end")
                    })?;
                    has_rows = true;
                }
                "values" => {
                    let (first, last) = text.split_once(':').unwrap_or((text, text));
                    let last = if last.trim().is_empty() { Some(usize::MAX) } else { column_of(last) };
                    description.values = column_of(first).zip(last).ok_or_else(|| {
                        fail("it is the first and the last column with readings, such as \"D:O\", or \"D:\" to the end")
                    })?;
                    has_values = true;
                }
                "holds" => {
                    description.holds = match Column::read(text) {
                        Some(column) if is_reading(column) => Holds::One(column),
                        _ => Holds::Named(Source::read(text).ok_or_else(|| {
                            fail("it is the name of a column of resistances, such as r_60s, or where it stands, such as \"row 5\"")
                        })?),
                    };
                    has_holds = true;
                }
                "unit" => {
                    description.unit = Some(Source::read(text).ok_or_else(|| fail(WHERE))?);
                }
                _ => {
                    let column = Column::read(key).filter(|column| !is_reading(*column)).ok_or_else(|| {
                        fail("it is none of sheet, rows, values, holds, unit, and no column of a history, such as winding")
                    })?;
                    let source = Source::read(text).ok_or_else(|| fail(WHERE))?;
                    description.columns.push((column, source));
                }
            }
        }
        let has = |column: Column| description.columns.iter().any(|(own, _)| *own == column);
        let needed = [
            ("rows", has_rows),
            ("values", has_values),
            ("holds", has_holds),
            ("winding", has(Column::Winding)),
            ("tested_on", has(Column::TestedOn)),
        ];
        match needed.into_iter().find(|(_, is_there)| !is_there) {
            Some((key, _)) => Err((key.to_owned(), "a layout needs it".to_owned())),
            None => Ok(description),
        }
    }

    /// Whether it is meant for a sheet of this name, or for a text without any.
    #[must_use]
    pub fn fits(&self, sheet: Option<&str>) -> bool {
        self.sheet.as_ref().is_none_or(|pattern| sheet.is_some_and(|sheet| pattern.matches(sheet)))
    }

    /// Whether a cell is one of its values.
    pub(super) fn has(&self, line: u64, column: usize) -> bool {
        (self.rows.0..=self.rows.1).contains(&line) && (self.values.0..=self.values.1).contains(&column)
    }

    pub(super) fn source(&self, column: Column) -> Option<&Source> {
        self.columns.iter().find(|(own, _)| *own == column).map(|(_, source)| source)
    }
}

impl Source {
    fn read(text: &str) -> Option<Self> {
        let (kind, rest) = text.trim().split_once(' ').unwrap_or((text.trim(), ""));
        let rest = rest.trim();
        match kind {
            "column" => column_of(rest).map(Self::Column),
            "row" => rest.parse().ok().filter(|row| *row > 0).map(Self::Row),
            "cell" => {
                let digits = rest.find(|c: char| c.is_ascii_digit())?;
                let (column, line) = rest.split_at(digits);
                Some(Self::Cell(CellPlace { column: column_of(column)?, line: line.parse().ok()? }))
            }
            "sheet" if rest.is_empty() => Some(Self::Sheet),
            "text" if !rest.is_empty() => Some(Self::Text(rest.to_owned())),
            _ => None,
        }
    }
}

/// The place of a column that spreadsheets call `A`, `B`, … `AA`.
fn column_of(letters: &str) -> Option<usize> {
    let letters = letters.trim();
    if letters.is_empty() || letters.len() > 3 || !letters.bytes().all(|byte| byte.is_ascii_alphabetic()) {
        return None;
    }
    let number = letters.bytes().fold(0, |all, byte| 26 * all + usize::from(byte.to_ascii_uppercase() - b'A') + 1);
    Some(number - 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<Description, (String, String)> {
        let table: toml_edit::DocumentMut = text.parse().unwrap_or_default();
        Description::read(table.as_table())
    }

    #[test]
    fn what_a_layout_lacks_or_gets_wrong_is_said() {
        let whole =
            "rows = \"2:\"\nvalues = \"B:C\"\nholds = \"r_60s\"\nwinding = \"column A\"\ntested_on = \"row 1\"\n";
        assert!(read(whole).is_ok());
        let error = |text: &str| read(text).err();
        let said = |key: &str, rule: &str| Some((key.to_owned(), rule.to_owned()));
        assert_eq!(error(&whole.replace("rows = \"2:\"\n", "")), said("rows", "a layout needs it"));
        assert_eq!(
            error(&whole.replace("column A", "A")),
            said("winding", "it is where it stands: \"column A\", \"row 5\", \"cell B2\", \"sheet\" or \"text …\"")
        );
        assert_eq!(
            error(&whole.replace("B:C", "2:3")),
            said("values", "it is the first and the last column with readings, such as \"D:O\", or \"D:\" to the end")
        );
        assert_eq!(
            error(&format!("{whole}motor = \"column A\"\n")),
            said(
                "motor",
                "it is none of sheet, rows, values, holds, unit, and no column of a history, such as winding"
            )
        );
        assert_eq!((column_of("A"), column_of("aa"), column_of("A1")), (Some(0), Some(26), None));
    }
}
