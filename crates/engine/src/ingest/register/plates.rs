//! The rows of a register, each judged on its own.

use super::cells::cell_into;
use crate::error::{Problem, shown};
use crate::ingest::register_heading::Headings;
use crate::ingest::rows::{Row, Rows};
use groundwall::nameplate::Nameplate;

/// What is the same for all rows.
pub(super) struct RowRules<'a> {
    pub(super) file: &'a str,
    pub(super) header: &'a [String],
    pub(super) headings: &'a Headings,
    pub(super) decimal_comma: bool,
}

/// A row read: a winding with its nameplate, and everything that is wrong with the row. Without a winding it is none.
pub(super) struct PlateRow {
    pub(super) line: u64,
    pub(super) winding: String,
    pub(super) plate: Nameplate,
    pub(super) problems: Vec<Problem>,
}

impl RowRules<'_> {
    /// Judges all rows of a text; `line_of` is the line of the file that a line of the text stands on.
    pub(super) fn rows(&self, mut rows: Rows<'_>, line_of: &(dyn Fn(u64) -> u64 + Sync)) -> Vec<PlateRow> {
        let mut read = Vec::new();
        while let Some(row) = rows.next_row() {
            read.push(self.row(line_of(row.line), &row));
        }
        read
    }

    fn row(&self, line: u64, row: &Row<'_, '_>) -> PlateRow {
        let Self { file, header, headings, decimal_comma } = *self;
        let mut read = PlateRow { line, winding: String::new(), plate: Nameplate::default(), problems: Vec::new() };
        let PlateRow { winding, plate, problems, .. } = &mut read;
        let mut problem = |message: String, hint: &str| {
            problems.push(Problem { message: format!("{file}:{line}: {message}"), hint: Some(hint.to_owned()) });
        };
        let Some(cells) = row.cells else {
            problem("the row has a quote that is opened and never closed".to_owned(), "close the quote or take it out");
            return read;
        };
        if cells.len() < header.len() || cells.iter().skip(header.len()).any(|cell| !cell.trim_ascii().is_empty()) {
            problem(
                format!("the row has {} cells; the header has {}", cells.len(), header.len()),
                "put text that holds the separator between quotes, or add the cells that are missing",
            );
            return read;
        }
        for ((heading, cell), written) in headings.known.iter().zip(cells.iter()).zip(header) {
            let Some(heading) = *heading else { continue };
            let name = || heading.name(written);
            let Ok(text) = std::str::from_utf8(cell) else {
                let value = shown(&String::from_utf8_lossy(cell));
                problem(format!("{} is {value}; text is written in UTF-8", name()), "save the file as CSV in UTF-8");
                continue;
            };
            let text = text.trim();
            if text.is_empty() || text == "-" {
                continue;
            }
            if let Err((rule, hint)) = cell_into(winding, plate, heading, text, decimal_comma) {
                problem(format!("{} is {}; {rule}", name(), shown(text)), &hint);
            }
        }
        if winding.is_empty() {
            problem("winding is empty; every row names its winding".to_owned(), "write the winding's identifier");
        }
        read
    }
}
