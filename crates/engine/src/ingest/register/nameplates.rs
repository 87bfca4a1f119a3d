//! The rows of a register, each judged on its own.

use super::cells::{Digits, cell_into, is_deciding, is_year_of_rewind, says_nothing};
use crate::error::{Problem, shown};
use crate::ingest::register_heading::Headings;
use crate::ingest::rows::{Row, Rows};
use groundwall::nameplate::Nameplate;

/// What is the same for all rows.
pub(super) struct RowRules<'a> {
    pub(super) file: &'a str,
    pub(super) header: &'a [String],
    pub(super) headings: &'a Headings,
    pub(super) digits: Digits,
}

/// A row read: a winding with its nameplate, and everything that is wrong with the row. Without a winding it is none.
pub(super) struct NameplateRow {
    pub(super) line: u64,
    pub(super) winding: String,
    pub(super) nameplate: Nameplate,
    /// Other names of the winding.
    pub(super) other_names: Vec<String>,
    /// What keeps the register from being read: the end of the row is unknown.
    pub(super) problems: Vec<Problem>,
    /// Why it names no winding, or none for certain.
    pub(super) unnamed: Option<Problem>,
    /// Cells that cannot be read, and whether a judgement depends on them.
    pub(super) unread: Vec<(Problem, bool)>,
}

impl RowRules<'_> {
    /// Judges all rows of a text; `line_of` is the line of the file that a line of the text stands on.
    pub(super) fn rows(&self, mut rows: Rows<'_>, line_of: &(dyn Fn(u64) -> u64 + Sync)) -> Vec<NameplateRow> {
        let mut read = Vec::new();
        while let Some(row) = rows.next_row() {
            read.push(self.row(line_of(row.line), &row));
        }
        read
    }

    fn row(&self, line: u64, row: &Row<'_, '_>) -> NameplateRow {
        let Self { file, header, headings, digits } = *self;
        let mut read = NameplateRow {
            line,
            winding: String::new(),
            nameplate: Nameplate::default(),
            other_names: Vec::new(),
            problems: Vec::new(),
            unnamed: None,
            unread: Vec::new(),
        };
        let NameplateRow { winding, nameplate, other_names, problems, unnamed, unread, .. } = &mut read;
        let problem = |message: String, hint: &str| Problem {
            message: format!("{file}:{line}: {message}"),
            hint: Some(hint.to_owned()),
        };
        let cells = match row.cells {
            Ok(cells) => cells,
            Err(why) => {
                let (found, rule, hint) = why.said();
                problems.push(problem(format!("the row has {found}; {rule}"), hint));
                return read;
            }
        };
        if cells.len() < header.len() || cells.iter().skip(header.len()).any(|cell| !cell.trim_ascii().is_empty()) {
            let plural = if cells.len() == 1 { "cell" } else { "cells" };
            *unnamed = Some(problem(
                format!("the row has {} {plural}; the header has {}", cells.len(), header.len()),
                "put text that holds the separator between quotes, or add the cells that are missing",
            ));
            return read;
        }
        let mut rewind_unread = false;
        for ((heading, cell), written) in headings.known.iter().zip(cells.iter()).zip(header) {
            let Some(heading) = *heading else { continue };
            let name = heading.name(written);
            let text = String::from_utf8_lossy(cell);
            let text = text.trim();
            if says_nothing(text) {
                continue;
            }
            let outcome = if std::str::from_utf8(cell).is_ok() && heading.is_other_names() {
                let names = text.split(if text.contains(';') { ';' } else { ',' }).map(str::trim);
                other_names.extend(names.filter(|name| !name.is_empty()).map(str::to_owned));
                Ok(())
            } else if std::str::from_utf8(cell).is_ok() {
                cell_into(winding, nameplate, heading, text, digits)
            } else {
                Err(("text is written in UTF-8".to_owned(), "save the file as CSV in UTF-8".to_owned()))
            };
            if let Err((rule, hint)) = outcome {
                let problem = problem(format!("{name} is {}; {rule}", shown(text)), &hint);
                if heading.is_winding() {
                    *unnamed = Some(problem);
                    continue;
                }
                if heading.is_drive_fed() {
                    // Only a no that can be read leaves out the warning.
                    nameplate.drive_fed = Some(true);
                }
                let deciding = is_deciding(heading);
                unread.push((problem, deciding));
                if deciding {
                    rewind_unread |= is_year_of_rewind(heading);
                    nameplate.unread.push(format!("{name} {}", shown(text)));
                }
            }
        }
        if rewind_unread {
            // It was rewound at an unknown date: the year of the machine says nothing of its winding.
            nameplate.year_made = None;
        }
        if winding.is_empty() && unnamed.is_none() {
            let message = "winding is empty; every row names its winding".to_owned();
            *unnamed = Some(problem(message, "write the winding's identifier"));
        }
        read
    }
}
