//! One input as text that rows are read from, and the place of each row.

use super::cell_place::CellPlace;
use super::delimited::{BOM, HEADER_WITHIN, Layout};
use super::rows::Rows;
use super::sheet::{Merged, Tall};
use crate::error::{Failure, shown};
use groundwall::record::validate::DayCount;

/// Text that rows are read from, and where its lines stand.
#[derive(Clone, Debug, PartialEq)]
pub struct Document {
    /// The text, in UTF-8 as far as it is text.
    pub text: Vec<u8>,
    /// How it is laid out; what was not UTF-8 before is written out as UTF-8 with a byte-order mark.
    pub layout: Layout,
    /// The sheet of a workbook.
    pub sheet: Option<String>,
    /// How a workbook counts days.
    pub days: Option<DayCount>,
    /// Sentences about how the file was read.
    pub remarks: Vec<String>,
    /// Merged cells of a sheet.
    pub merged: Vec<Merged>,
    /// Where each row of the text comes from, if it was arranged from another layout.
    pub places: Option<Vec<CellPlace>>,
    /// Rows of a sheet that take several lines of the text.
    pub(super) tall: Vec<Tall>,
}

impl Document {
    /// A text in UTF-8.
    #[must_use]
    pub fn of_text(text: Vec<u8>, layout: Layout) -> Self {
        Self { text, layout, ..Self::empty() }
    }

    /// A table whose rows were written as text, with those that take several lines.
    #[must_use]
    pub fn of_table(text: Vec<u8>, layout: Layout, tall: Vec<Tall>) -> Self {
        Self { tall, ..Self::of_text(text, layout) }
    }

    /// Whether one of the first rows can be the header.
    #[must_use]
    pub fn has_header(&self, fits: &dyn Fn(&[String]) -> bool) -> bool {
        let mut rows = self.rows();
        (0..HEADER_WITHIN).map_while(|_| Some(rows.next_row()?.texts())).any(|cells| fits(&cells))
    }

    /// A text that holds nothing yet: in UTF-8, delimited by commas.
    #[must_use]
    pub const fn empty() -> Self {
        let layout = Layout { delimiter: b',', crlf: false, bom: false };
        Self {
            text: Vec::new(),
            layout,
            sheet: None,
            days: None,
            remarks: Vec::new(),
            merged: Vec::new(),
            places: None,
            tall: Vec::new(),
        }
    }

    /// Takes a plain table that was arranged from this document, with the cell that each of its rows comes from.
    pub fn rearranged(&mut self, text: Vec<u8>, places: Vec<CellPlace>) {
        (self.text, self.places, self.tall) = (text, Some(places), Vec::new());
    }

    /// The name of the input in messages: `plant.xlsx:Sheet1` for a sheet.
    #[must_use]
    pub fn name(&self, file: &str) -> String {
        self.sheet.as_ref().map_or_else(|| file.to_owned(), |sheet| format!("{file}:{}", shown(sheet)))
    }

    /// The line of the file, or row of the sheet, that stands on a line of the text.
    #[must_use]
    pub fn line(&self, line: u64) -> u64 {
        Tall::row_at(&self.tall, line)
    }

    /// The text without a byte-order mark.
    #[must_use]
    pub fn bare(&self) -> &[u8] {
        self.text.strip_prefix(BOM).unwrap_or(&self.text)
    }

    /// The rows.
    #[must_use]
    pub fn rows(&self) -> Rows<'_> {
        Rows::new(self.bare(), self.layout.delimiter, 1)
    }
}

/// A row that may be the header.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Header {
    /// Line of the file, or row of the sheet.
    pub line: u64,
    /// The row, byte for byte.
    pub raw: Box<[u8]>,
    /// Its cells.
    pub cells: Vec<String>,
    /// How many rows stand above it.
    pub above: usize,
}

/// A longer text is not a name of a column, and is not looked through for one; bytes.
const LONGEST_NAME: usize = 4096;

/// Leaves of a cell of the header what a name can have.
fn clip(cell: &mut String) {
    let end = (0..=LONGEST_NAME.min(cell.len())).rev().find(|at| cell.is_char_boundary(*at)).unwrap_or(0);
    cell.truncate(end);
}

/// Looks for the header among the first rows: the first that `fits`, or else the one with the greatest `weight`, so that a
/// message can say what is missing. The rows after it are left to be read.
///
/// # Errors
///
/// A [`Failure`] when there is no row at all.
pub fn find_header(
    file: &str,
    place: &dyn Fn(u64) -> u64,
    rows: &mut Rows<'_>,
    fits: &dyn Fn(&[String]) -> bool,
    weight: &dyn Fn(&[String]) -> usize,
) -> Result<Header, Failure> {
    let mut best: Option<(usize, Header)> = None;
    let mut unsplit = None;
    for above in 0..HEADER_WITHIN {
        let Some(row) = rows.next_row() else { break };
        let line = place(row.line);
        let mut cells = match row.cells {
            Ok(cells) => cells.texts(),
            Err(why) => {
                unsplit.get_or_insert((line, why));
                continue;
            }
        };
        cells.iter_mut().for_each(clip);
        let found = fits(&cells);
        let weight = if found { usize::MAX } else { weight(&cells) };
        if best.as_ref().is_none_or(|(least, _)| weight > *least) {
            best = Some((weight, Header { line, raw: row.raw.into(), cells, above }));
        }
        if found {
            break;
        }
    }
    match (best, unsplit) {
        (Some((usize::MAX, header)), _) => Ok(header),
        (_, Some((line, why))) => {
            let (found, rule, hint) = why.said();
            Err(Failure::usage(format!("{file}:{line}: the header has {found}; {rule}")).hint(hint))
        }
        (Some((_, header)), None) => Ok(header),
        (None, None) => Err(Failure::usage(format!("{file}: the file has no header"))),
    }
}
