//! One sheet of a workbook as text, and where its rows are.

use super::cell_place::CellPlace;

/// One sheet as text delimited by commas.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sheet {
    /// Its name.
    pub name: String,
    /// The rows.
    pub text: Vec<u8>,
    /// Its rows that take several lines of the text, because cells hold line breaks.
    pub tall: Vec<Tall>,
    /// Its merged cells.
    pub merged: Vec<Merged>,
    /// The first cell whose number is shown with a unit by its format, and the unit.
    pub shown_in: Option<(CellPlace, &'static str)>,
    /// The first cell whose number is shown as a name by its format, the number and the name.
    pub shown_as: Option<(CellPlace, String, String)>,
}

/// A row of a sheet that takes several lines of its text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Tall {
    /// Its first and last line in the text.
    pub lines: (u64, u64),
    /// Lines up to its end beyond one for each row.
    pub surplus: u64,
}

impl Tall {
    /// The row that is on a line of the text, where these are tall.
    #[must_use]
    pub fn row_at(tall: &[Self], line: u64) -> u64 {
        let before = tall.partition_point(|row| row.lines.0 < line);
        let last = before.checked_sub(1).map(|at| tall[at]);
        last.map_or(line, |row| line + row.lines.1.saturating_sub(line) - row.surplus)
    }
}

/// Cells that were merged into one; the value of the first belongs to all of them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Merged {
    /// First and last row, from one.
    pub rows: (u64, u64),
    /// First and last column, from zero.
    pub columns: (usize, usize),
}
