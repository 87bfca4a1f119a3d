//! Units that texts beside a table name for its readings, and readings that have none.

use super::blocks::Block;
use super::cells::is_number;
use super::context::unit_of_title;
use super::grid::GridRow;
use super::plan::Plan;
use super::sheet::{Known, Said, Sheet};
use crate::error::{Failure, shown};
use crate::ingest::cell_place::CellPlace;
use crate::ingest::kinds::is_reading;
use crate::ingest::said_unit::{needs_unit, said_unit, symbol, unit_of_row};
use crate::ingest::unit::Unit;
use groundwall::record::columns::Column;
use groundwall::record::validate::Fault;
use groundwall::resistance::ResistanceUnit;

impl<'a> Sheet<'a> {
    /// Looks for units in the name of the sheet, in titles that are not taken for a unit, and beside or below the rows of tests.
    pub(super) fn find_said_units(&mut self, blocks: &[Block<'_>]) {
        let of_sheet = self.name.sheet.filter(|name| said_unit(name).is_some());
        self.said =
            of_sheet.and_then(|name| Some(Said { place: None, text: name.to_owned(), unit: said_unit(name)?.unit }));
        for block in blocks {
            let titles = block.titles.iter().filter(|row| unit_of_title(row).is_none());
            for (row, is_title) in titles.map(|row| (row, true)).chain(block.rows.iter().map(|row| (row, false))) {
                if self.said.is_none() {
                    self.said = self.said_in(row, is_title);
                }
            }
        }
    }

    fn said_in(&self, row: &GridRow, is_title: bool) -> Option<Said> {
        let of_row = unit_of_row(row.filled()).filter(|(_, unit)| *unit != Some(ResistanceUnit::Megohm));
        if let Some((column, unit)) = of_row.filter(|_| is_title || row.only().is_none()) {
            let place = Some(CellPlace { line: row.line, column });
            return Some(Said { place, text: row.cells[column].clone(), unit });
        }
        let mut cells = row.filled().filter(|(_, cell)| said_unit(cell).is_some()).peekable();
        cells.peek()?;
        // In a row of tests the name of a measuring point has its unit, and a column of units only units.
        let is_test = !is_title && row.filled().any(|(_, cell)| is_number(cell));
        let is_of_the_row = |cell: &str| is_test && (Unit::read(cell).is_some() || !self.reader.read(cell).unknown);
        let (column, text) = cells.find(|(_, cell)| !is_of_the_row(cell))?;
        let place = Some(CellPlace { line: row.line, column });
        Some(Said { place, text: text.to_owned(), unit: said_unit(text)?.unit })
    }

    /// Takes note of a reading that nothing gives a unit; false, and a rejected cell, where its own unit is missing that others have.
    pub(super) fn has_unit(
        &mut self,
        plan: &Plan,
        row: &GridRow,
        column: Column,
        place: CellPlace,
        text: &str,
        known: Known,
    ) -> bool {
        if !is_reading(column) || !(needs_unit(text, false) || needs_unit(text, true)) {
            return true;
        }
        if let Some((rule, hint)) = plan.fault_of_blank_unit(place.column, row) {
            let fault = Fault { column: "unit".to_owned(), value: String::new(), rule, hint: hint.to_owned() };
            // Nobody knows its unit.
            self.unplaced.push((place, text.to_owned(), fault, Some(Known { column: None, ..known })));
            return false;
        }
        self.bare.get_or_insert(place);
        true
    }

    /// Why the sheet is not read: a text beside readings without a unit names one.
    pub(super) fn refusal_by_unit(&self) -> Option<Failure> {
        let (said, bare) = (self.said.as_ref()?, self.bare?);
        let name = self.name.place;
        let place = said.place.map_or_else(|| name.to_owned(), |place| format!("{name}:{}", self.cell(place).name()));
        let unit = symbol(said.unit);
        let example = if said.unit.is_none() { "MΩ" } else { unit };
        let failure = Failure::usage(format!(
            "{place}: “{}” names {unit}, and nothing gives the reading at {} a unit; it would be read in MΩ",
            shown(&said.text),
            self.cell(bare).name()
        ));
        Some(failure.hint(format!(
            "write the unit into the header of the readings, or above the table: all readings in {example}; or take the text out if it \
             speaks of something else"
        )))
    }
}
