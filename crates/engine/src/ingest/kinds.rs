//! What kind of thing columns and cells hold.

use groundwall::record::columns::Column;
use groundwall::resistance::CellRules;

/// Whether a column holds resistances.
pub(super) const fn is_reading(column: Column) -> bool {
    matches!(column, Column::Reading(..) | Column::Resistance(_))
}

/// Whether two columns hold the same thing, be it in different units.
pub(crate) fn same_kind(one: &Column, other: &Column) -> bool {
    match (one, other) {
        (Column::Reading(at, _), Column::Reading(when, _)) => at == when,
        (Column::Procedure(item), Column::Procedure(other)) => item == other,
        _ => std::mem::discriminant(one) == std::mem::discriminant(other),
    }
}

/// Whether a cell is a reading by the plain rules, whichever its decimal mark is.
pub(super) fn reads(cell: &str) -> bool {
    [false, true]
        .into_iter()
        .any(|decimal_comma| matches!(CellRules { decimal_comma, ..CellRules::default() }.read(cell), Ok(Some(_))))
}
