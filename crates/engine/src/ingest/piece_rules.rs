//! How the pieces of a text are read.

use super::columns::Columns;
use super::date_forms::DateForms;
use super::marks::Marks;
use groundwall::record::validate::TestRules;

/// What is the same for all pieces of a text.
pub struct PieceRules<'a> {
    /// Rules for the cells.
    pub tests: TestRules,
    /// What the header names, and where.
    pub columns: &'a Columns,
    /// How dates are read that are not in the plain form.
    pub dates: &'a DateForms,
    /// What the other numbers prove of the marks in numbers.
    pub marks: &'a Marks,
    /// Whether people say which mark is the decimal mark.
    pub mark_is_said: bool,
    /// The delimiter of the cells.
    pub delimiter: u8,
    /// Number of the input.
    pub input: u32,
    /// The line of the file, or row of the sheet, that stands on a line of the text.
    pub place: &'a (dyn Fn(u64) -> u64 + Sync),
}
