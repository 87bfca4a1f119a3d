//! What is wrong with a rejected row.

use groundwall::record::validate::Fault;

/// One thing that is wrong with a rejected row.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RowFault<'a> {
    /// The column, under the name that is understood.
    pub column: &'a str,
    /// The text found.
    pub value: &'a str,
    /// The rule it breaks.
    pub rule: &'a str,
    /// What to do.
    pub hint: &'a str,
}

impl<'a> From<&'a Fault> for RowFault<'a> {
    fn from(Fault { column, value, rule, hint }: &'a Fault) -> Self {
        Self { column, value, rule, hint }
    }
}

/// Faults that belong to a row and not to one cell are under this name.
pub const WHOLE_ROW: &str = "row";
