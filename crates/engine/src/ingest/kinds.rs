//! What kind of thing columns hold.

use groundwall::record::columns::Column;

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
