//! What single cells and rows look like: numbers, names of quantities, headers, rows of labels.

use super::grid::GridRow;
use super::label::{Field, Label};
use crate::ingest::dates::Period;
use crate::ingest::mapping::Mapping;
use groundwall::record::columns::Column;
use groundwall::resistance::CellRules;

/// The labels of a row's cells.
pub(super) fn labels_of(row: &GridRow, mapping: &Mapping) -> Vec<Label> {
    row.cells.iter().map(|cell| Label::read(cell, mapping)).collect()
}

/// Whether a row below a header belongs to it: every cell of it is a label, and none a name, a number or a date of a test.
pub(super) fn is_label_row(row: Option<&GridRow>, mapping: &Mapping) -> bool {
    row.is_some_and(|row| {
        let mut filled = row.filled().peekable();
        filled.peek().is_some()
            && filled.all(|(_, cell)| {
                !is_number(cell) && {
                    let label = Label::read(cell, mapping);
                    label.is_known() && !label.unknown && !cell.eq_ignore_ascii_case("ok")
                }
            })
            && row.filled().count() > 1
    })
}

pub(super) fn is_number(cell: &str) -> bool {
    let is_year = cell.len() == 4 && Period::read(cell).is_some();
    !is_year && cell.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '<' | '>' | '-' | '.')) && reads(cell)
}

/// Whether a cell is a reading by the plain rules, whichever its decimal mark is.
pub(super) fn reads(cell: &str) -> bool {
    [false, true]
        .into_iter()
        .any(|decimal_comma| matches!(CellRules { decimal_comma, ..CellRules::default() }.read(cell), Ok(Some(_))))
}

/// Whether a cell names something measured.
pub(super) fn is_point(cell: &str, mapping: &Mapping) -> bool {
    let label = Label::read(cell, mapping);
    let is_measured = match label.field {
        Some(Field::Column(column)) => !matches!(column, Column::Winding | Column::TestedOn | Column::Note),
        _ => label.ohms.is_some(),
    };
    is_measured && !label.is_dated() && !is_number(cell)
}

/// Whether the cells of a column name what each row measures: most of them, and not resistances alone.
pub(super) fn names_points<'a>(cells: impl Iterator<Item = &'a str>, mapping: &Mapping) -> bool {
    let (mut all, mut points, mut others) = (0, 0, 0);
    for cell in cells.take(POINTS_ASKED) {
        all += 1;
        if is_point(cell, mapping) {
            points += 1;
            let column = Label::read(cell, mapping).column();
            others += usize::from(!column.is_some_and(is_reading));
        }
    }
    others > 0 && 2 * points >= all
}

/// So many cells tell whether a column names measuring points.
pub(super) const POINTS_ASKED: usize = 400;

/// Whether a row is the header of a block.
pub(super) fn is_header(row: &GridRow, mapping: &Mapping) -> bool {
    if row.only().is_some() || row.filled().any(|(_, cell)| is_number(cell)) {
        return false;
    }
    let labels: Vec<(usize, Label)> = row.filled().map(|(at, cell)| (at, Label::read(cell, mapping))).collect();
    let known = labels.iter().filter(|(_, label)| label.is_known()).count();
    let keys = labels.iter().filter(|(_, label)| label.is_key()).count();
    let dates: Vec<usize> = labels.iter().filter(|(_, label)| label.is_dated()).map(|(at, _)| *at).collect();
    let connections = labels.iter().filter(|(_, label)| label.connection.is_some()).count();
    let all_known_from = |first: usize| labels.iter().filter(|(at, _)| *at >= first).all(|(_, label)| label.is_known());
    (keys > 0 && known >= 2 && dates.len() != 1 && 2 * known >= labels.len())
        // Dates down and motors across.
        || (labels.len() > 2 && labels[0].1.field == Some(Field::Column(Column::TestedOn)) && row.filled().all(|(_, cell)| !cell.contains(':')))
        || (dates.len() >= 2 && all_known_from(dates[0]))
        || (connections >= 2 && dates.is_empty())
}

pub(super) const fn is_reading(column: Column) -> bool {
    matches!(column, Column::Reading(..) | Column::Resistance(_))
}
