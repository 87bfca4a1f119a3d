//! What a column or a row of a sheet may hold.

use groundwall::record::columns::Column;

/// What a column or a row of a sheet holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Field {
    /// A column of a history.
    Column(Column),
    /// Years, beside quarters or months.
    Year,
    /// Quarters of a year.
    Quarter,
    /// Months of a year.
    Month,
    /// Calendar weeks of a year.
    Week,
    /// Names of measuring points, one row each.
    Point,
    /// Units of measure.
    Unit,
    /// Numbers of work orders.
    WorkOrder,
    /// What follows from the readings or is no part of a test, and is not read.
    Ignored,
}
