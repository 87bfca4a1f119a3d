//! Cells of an XML workbook that hold something which no reader of cells can tell: a formula whose value was never stored, a remark of
//! the file inside a value.
//!
//! Layout: ECMA-376 part 1, 18.3.1.4 (c), 18.3.1.40 (f), 18.3.1.96 (v), 18.18.11 (ST_CellType).
use super::trouble::Trouble;
use super::xml_attributes::{attribute, column_of};
use quick_xml::events::{BytesStart, Event};
use quick_xml::reader::Reader;
use std::collections::{BTreeSet, HashSet};
use std::io::BufRead;

/// A cell on its way.
#[derive(Default)]
struct Cell {
    place: (u32, u32),
    /// Whether a value of no letters is one: that of a text.
    may_be_empty: bool,
    has_formula: bool,
    has_value: bool,
    has_remark: bool,
    in_value: bool,
}

impl Cell {
    fn is_unread(&self) -> bool {
        self.has_remark || (self.has_formula && !self.has_value && !self.may_be_empty)
    }
}

/// The cells of a part whose value cannot be told, by row and column from zero.
///
/// # Errors
///
/// That a row or a cell is there twice, or that the XML is damaged.
pub(super) fn unread(content: impl BufRead, most: u64) -> Result<BTreeSet<(u32, u32)>, Trouble> {
    let mut found = BTreeSet::new();
    let mut xml = Reader::from_reader(content);
    xml.config_mut().check_end_names = false;
    let (mut buffer, mut row, mut column) = (Vec::new(), 0_u32, 0_u32);
    let (mut columns, mut cell): (HashSet<u32>, Option<Cell>) = (HashSet::new(), None);
    loop {
        buffer.clear();
        match xml.read_event_into(&mut buffer).map_err(|_| Trouble::Damaged)? {
            Event::Start(tag) => match (tag.local_name().as_ref(), &mut cell) {
                ("row", None) => row = next_row(&tag, row, &mut column, &mut columns)?,
                ("c", None) => cell = Some(begin(&tag, row, &mut column, &mut columns)?),
                ("f", Some(cell)) => cell.has_formula = true,
                ("v" | "is", Some(cell)) => cell.in_value = true,
                _ => {}
            },
            Event::Empty(tag) => match (tag.local_name().as_ref(), &mut cell) {
                ("row", None) => row = next_row(&tag, row, &mut column, &mut columns)?,
                ("c", None) => {
                    begin(&tag, row, &mut column, &mut columns)?;
                }
                ("f", Some(cell)) => cell.has_formula = true,
                _ => {}
            },
            Event::End(tag) => match (tag.local_name().as_ref(), &mut cell) {
                ("v" | "is", Some(cell)) => cell.in_value = false,
                ("c", Some(own)) => {
                    if own.is_unread() {
                        found.insert(own.place);
                    }
                    cell = None;
                    if found.len() as u64 > most {
                        return Err(Trouble::TooMany);
                    }
                }
                _ => {}
            },
            Event::Text(_) | Event::CData(_) | Event::GeneralRef(_) => {
                if let Some(cell) = cell.as_mut().filter(|cell| cell.in_value) {
                    cell.has_value = true;
                }
            }
            Event::Comment(_) | Event::PI(_) => {
                if let Some(cell) = &mut cell {
                    cell.has_remark = true;
                }
            }
            Event::Eof => return Ok(found),
            _ => {}
        }
    }
}

/// The number of a row, from one, which is greater than that of the row before.
fn next_row(tag: &BytesStart<'_>, before: u32, column: &mut u32, columns: &mut HashSet<u32>) -> Result<u32, Trouble> {
    let said = attribute(tag, "r")?.and_then(|text| text.trim().parse().ok());
    (*column, *columns) = (0, HashSet::new());
    match said.unwrap_or(before.saturating_add(1)) {
        row if row > before => Ok(row),
        _ => Err(Trouble::Damaged),
    }
}

fn begin(tag: &BytesStart<'_>, row: u32, column: &mut u32, columns: &mut HashSet<u32>) -> Result<Cell, Trouble> {
    let said = attribute(tag, "r")?.and_then(|place| column_of(&place));
    *column = said.unwrap_or(column.saturating_add(1));
    if !columns.insert(*column) {
        return Err(Trouble::Damaged);
    }
    let kind = attribute(tag, "t")?;
    Ok(Cell {
        place: (row.saturating_sub(1), column.saturating_sub(1)),
        may_be_empty: matches!(kind.as_deref(), Some("str" | "s" | "inlineStr")),
        ..Cell::default()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(rows: &str) -> Result<Vec<(u32, u32)>, Trouble> {
        let sheet = format!("<worksheet><sheetData>{rows}</sheetData></worksheet>");
        unread(sheet.as_bytes(), 10).map(|found| found.into_iter().collect())
    }

    #[test]
    fn formulas_without_a_value_and_remarks_inside_values_are_found() {
        let rows = "<row r='1'><c r='A1'><v>3</v></c><c r='B1'><f>A1*2</f></c><c r='C1'><f>A1*2</f><v></v></c></row>\
            <row><c t='str'><f>IF(A1=0,\"\",A1)</f><v></v></c><c><v>93<!-- x -->0</v></c><c s='1'/><c><f>1+2</f><v>3</v></c></row>";
        assert_eq!(of(rows), Ok(vec![(0, 1), (0, 2), (1, 1)]));
    }

    #[test]
    fn a_row_or_a_cell_that_is_there_twice_is_damage() {
        for rows in [
            "<row r='2'><c r='A2'><v>3</v></c></row><row r='2'><c r='A2'><v>930</v></c></row>",
            "<row r='2'><c r='A2'><v>3</v></c><c r='A2'><v>930</v></c></row>",
            "<row r='3'/><row r='2'/>",
        ] {
            assert_eq!(of(rows), Err(Trouble::Damaged), "{rows}");
        }
    }
}
