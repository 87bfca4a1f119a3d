//! What kind of thing columns and cells hold.

use groundwall::record::Item;
use groundwall::record::columns::{Column, TemperatureScale};
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

/// Whether a column belongs to what tells one test from another.
pub(super) fn is_key(column: Column) -> bool {
    matches!(
        column,
        Column::Winding
            | Column::TestedOn
            | Column::Connection
            | Column::Scope
            | Column::TestVolts
            | Column::Elapsed(_)
            | Column::Event
            | Column::Procedure(Item::WorkOrder)
    )
}

/// Whether a column holds temperatures in °C.
pub(super) const fn is_celsius(column: Column) -> bool {
    matches!(column, Column::WindingTemp(TemperatureScale::Celsius) | Column::AirTemp(TemperatureScale::Celsius))
}

/// Whether a cell is a reading by the plain rules, whichever its decimal mark is.
pub(super) fn reads(cell: &str) -> bool {
    [false, true]
        .into_iter()
        .any(|decimal_comma| matches!(CellRules { decimal_comma, ..CellRules::default() }.read(cell), Ok(Some(_))))
}
