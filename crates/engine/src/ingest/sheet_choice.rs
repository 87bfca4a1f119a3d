//! Which sheets of a workbook are read, and those that were.

use super::comments::Comments;
use super::sheet::Sheet;
use super::sheet_grid::{Grid, Left};
use super::trouble::Trouble;
use crate::error::{Failure, shown};
use groundwall::record::validate::DayCount;

/// Sheets with cells that a workbook may have.
pub(super) const MOST_SHEETS: usize = 2000;

/// The sheets of a workbook that are to be read.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheets {
    /// Those that hold any cell, in their order.
    pub sheets: Vec<Sheet>,
    /// Names of the sheets that the user left out.
    pub left_out: Vec<String>,
    /// How the workbook counts days.
    pub days: DayCount,
    /// Its comments beside cells.
    pub comments: Comments,
}

/// Which sheets of a workbook are to be read.
#[derive(Clone, Copy, Debug, Default)]
pub struct SheetChoice<'a> {
    /// Names or patterns of those to be read; all where there is none.
    pub wanted: &'a [String],
    /// Names or patterns of those to be left out.
    pub skipped: &'a [String],
}

impl SheetChoice<'_> {
    /// Whether a sheet is to be read.
    fn takes(self, name: &str) -> bool {
        let named = |patterns: &[String]| patterns.iter().any(|pattern| fits(pattern, name));
        (self.wanted.is_empty() || named(self.wanted)) && !named(self.skipped)
    }

    /// Every name or pattern must fit a sheet.
    fn must_fit(self, file: &str, names: &[String]) -> Result<(), Failure> {
        let mut patterns = self.wanted.iter().chain(self.skipped);
        match patterns.find(|pattern| !names.iter().any(|name| fits(pattern, name))) {
            None => Ok(()),
            Some(pattern) => {
                let all: Vec<String> = names.iter().map(|name| shown(name)).collect();
                Err(Failure::usage(format!("{file}: there is no sheet {}", shown(pattern)))
                    .hint(format!("the sheets are {}", all.join(", "))))
            }
        }
    }
}

/// Whether a name or pattern fits the name of a sheet; case and outer blanks do not matter.
fn fits(pattern: &str, name: &str) -> bool {
    let plain = |text: &str| text.trim().to_lowercase();
    plain(pattern) == plain(name)
        || glob::Pattern::new(&plain(pattern)).is_ok_and(|pattern| pattern.matches(&plain(name)))
}

/// The sheets that are asked for, on their way out of a workbook.
pub(super) struct Choice<'a> {
    pub(super) choice: SheetChoice<'a>,
    decimal_comma: bool,
    limit: u64,
    names: Vec<String>,
    left_out: Vec<String>,
    sheets: Vec<Sheet>,
    size: u64,
    counts: Left,
    /// Comments beside cells.
    pub(super) comments: Comments,
}

impl<'a> Choice<'a> {
    /// The cells of the sheets may take so many bytes as text.
    pub(super) fn new(choice: SheetChoice<'a>, decimal_comma: bool, limit: u64, counts: Left) -> Self {
        let (names, left_out, sheets) = (Vec::new(), Vec::new(), Vec::new());
        let comments = Comments::default();
        Self { choice, decimal_comma, limit, names, left_out, sheets, size: 0, counts, comments }
    }

    /// A grid for the sheet of this name; none if it need not be read.
    pub(super) fn begin(&mut self, name: &str) -> Option<Grid> {
        self.names.push(name.to_owned());
        let is_chosen = self.choice.takes(name);
        if !is_chosen {
            self.left_out.push(name.to_owned());
        }
        let left = self.limit.saturating_sub(self.size);
        is_chosen.then(|| Grid::new(name, self.decimal_comma, left, self.counts))
    }

    /// Takes a sheet that was read.
    ///
    /// # Errors
    ///
    /// That the workbook grows beyond its limits.
    pub(super) fn offer(&mut self, grid: Grid) -> Result<(), Trouble> {
        let (sheet, counts) = grid.finish()?;
        self.counts = counts;
        self.size += sheet.text.len() as u64;
        if !sheet.text.trim_ascii().is_empty() {
            self.sheets.push(sheet);
        }
        if self.sheets.len() > MOST_SHEETS { Err(Trouble::ManySheets) } else { Ok(()) }
    }

    /// The first sheet that was read.
    #[cfg(test)]
    pub(super) fn take(&mut self) -> Sheet {
        if self.sheets.is_empty() { Sheet::default() } else { self.sheets.remove(0) }
    }

    pub(super) fn chosen(self, file: &str, days: DayCount) -> Result<Sheets, Failure> {
        self.choice.must_fit(file, &self.names)?;
        Ok(Sheets { sheets: self.sheets, left_out: self.left_out, days, comments: self.comments })
    }
}
