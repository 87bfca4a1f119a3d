//! Columns whose cells name what each row measures.

use super::cells::{POINTS_ASKED, is_letter, is_number, is_point, is_quantity};
use super::grid::GridRow;
use super::label_reader::LabelReader;
use super::phases;
use crate::ingest::kinds::is_reading;

/// Whether the cells of a column name what each row measures: not resistances alone, and most of them something that is understood, or
/// a share of them resistances beside words that are not.
pub(super) fn names_points<'a>(cells: impl Iterator<Item = &'a str>, reader: &LabelReader<'_>) -> bool {
    let cells: Vec<&str> = cells.take(POINTS_ASKED).collect();
    // `A` is no ampere, `C` no temperature and `G` no unit where nothing else is measured.
    let proves = |cell: &&&str| is_point(cell, reader) && !is_letter(cell) && !phases::is_usual(cell);
    if !cells.iter().any(|cell| proves(&cell)) || phases::are_of_one_custom(cells.iter().copied()) {
        return false;
    }
    let (mut all, mut resistances, mut others, mut unknown) = (0, 0, 0, 0);
    for cell in cells {
        all += 1;
        if is_point(cell, reader) && !is_letter(cell) {
            let is_resistance = reader.read(cell).column().is_some_and(is_reading);
            resistances += usize::from(is_resistance);
            others += usize::from(!is_resistance);
        } else if !is_number(cell) {
            unknown += 1;
        }
    }
    (others > 0 && 2 * (resistances + others) >= all)
        || (resistances > 0 && others + unknown > 0 && 5 * resistances >= all && resistances + others + unknown == all)
}

/// Whether so many cells of a column of connections, blank ones among them, name quantities that its rows are those of measuring points; one
/// may be a slip.
pub(super) fn name_quantities(rows: &[GridRow], place: usize, reader: &LabelReader<'_>) -> bool {
    let cells: Vec<&str> = rows.iter().take(POINTS_ASKED).map(|row| row.cells[place].as_str()).collect();
    let quantities = cells.iter().filter(|cell| !cell.is_empty() && is_quantity(cell, reader)).count();
    quantities > 0 && 5 * quantities >= cells.len()
}
