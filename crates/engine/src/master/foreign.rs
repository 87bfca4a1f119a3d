//! Columns that are not ours: work orders, crews, whatever a site keeps beside the tests. Their cells go from the sheet into
//! the master as they are. The guidance of a sheet of the next round does not.

use crate::error::{Failure, shown};
use crate::ingest::ReadingRules;
use crate::ingest::columns::Columns;
use crate::ingest::document::find_header;
use crate::ingest::layout::is_of_the_layout;
use crate::ingest::rows::Rows;
use crate::ingest::sample::{FirstRows, find_units};
use crate::output::round::sheet::is_guidance;
use std::collections::{BTreeMap, BTreeSet};

/// Such columns of one sheet, and their cells in the rows that are filed.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Foreign {
    /// Headers as the sheet writes them; those without a cell are left out.
    pub headers: Vec<String>,
    /// Cells by the line of a test as it was read, in the order of `headers`.
    pub rows: BTreeMap<u64, Vec<String>>,
}

impl Foreign {
    /// Reads them from a sheet that has been read as a history before, and left columns with the headers `left_alone` unread. What was
    /// read, such as the phases of a layout, is filed as part of the tests. `wanted` has the line of each test as it was read, and its row
    /// in the sheet, which is another one where the sheet was arranged.
    ///
    /// # Errors
    ///
    /// A [`Failure`] when it cannot be read after all.
    pub fn read(
        file: &str,
        bytes: Vec<u8>,
        rules: &ReadingRules,
        left_alone: &[String],
        wanted: &BTreeMap<u64, u64>,
    ) -> Result<Self, Failure> {
        let document = rules.open_one(file, bytes)?;
        let mut rows = document.rows();
        let (fits, weight) = (|cells: &[String]| rules.fits(cells), |cells: &[String]| rules.weight(cells));
        let header = find_header(file, &|line| document.line(line), &mut rows, &fits, &weight)?;
        let mut columns = Columns::resolve(header.cells, &rules.mapping);
        let (rest, line) = rows.rest();
        find_units(&mut columns, &rules.mapping, FirstRows::of(Rows::new(rest, document.layout.delimiter, line)));
        let mut places = foreign_columns(&columns);
        // What a sheet of the next round advises is not a part of the history, and readings are filed in the unit of the master.
        let is_unit = |place: usize| columns.units.iter().any(|unit| unit.place == place);
        // The header of a layout may have a row of groups above it.
        let is_unread = |name: &str| left_alone.iter().any(|left| left.ends_with(&*shown(name)));
        places.retain(|(place, name)| {
            is_unread(name)
                && !is_unit(*place)
                && !is_guidance(name, &columns)
                && !is_of_the_layout(name, &rules.mapping)
        });
        let mut foreign = Self { headers: places.iter().map(|(_, name)| name.clone()).collect(), ..Self::default() };
        let mut filled = vec![false; places.len()];
        let rows_wanted: BTreeSet<u64> = wanted.values().copied().collect();
        let mut by_row: BTreeMap<u64, Vec<String>> = BTreeMap::new();
        while let Some(row) = rows.next_row() {
            let line = document.line(row.line);
            let Some(cells) = row.cells.ok().filter(|_| rows_wanted.contains(&line)) else { continue };
            let texts: Vec<String> = places
                .iter()
                .map(|(place, _)| String::from_utf8_lossy(cells.get(*place).unwrap_or_default()).into_owned())
                .collect();
            for (filled, text) in filled.iter_mut().zip(&texts) {
                *filled |= !text.trim().is_empty();
            }
            by_row.insert(line, texts);
        }
        foreign.rows = wanted.iter().filter_map(|(line, row)| Some((*line, by_row.get(row)?.clone()))).collect();
        foreign.keep(&filled);
        Ok(foreign)
    }

    /// The cell under a header in the row of a line, if there is one.
    #[must_use]
    pub fn cell(&self, line: u64, header: &str) -> Option<&str> {
        let place = self.headers.iter().position(|own| same_header(own, header))?;
        self.rows.get(&line)?.get(place).map(String::as_str)
    }

    fn keep(&mut self, filled: &[bool]) {
        let kept = |texts: &mut Vec<String>| {
            let mut places = filled.iter();
            texts.retain(|_| places.next().copied().unwrap_or(false));
        };
        kept(&mut self.headers);
        self.rows.values_mut().for_each(kept);
    }
}

/// Named columns that are not ours, and their places.
#[must_use]
pub fn foreign_columns(columns: &Columns) -> Vec<(usize, String)> {
    let known = |place: usize| columns.known.iter().any(|(other, _)| *other == place);
    let named = columns.header.iter().enumerate().filter(|(place, name)| !known(*place) && !name.trim().is_empty());
    named.map(|(place, name)| (place, name.trim().to_owned())).collect()
}

/// Whether two headers name the same column, whatever their case.
#[must_use]
pub fn same_header(one: &str, other: &str) -> bool {
    one.trim().to_lowercase() == other.trim().to_lowercase()
}
