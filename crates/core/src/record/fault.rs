//! What is wrong with a row: one fault for each rule that a cell breaks.

use super::columns::Column;
use std::error::Error;
use std::fmt;
use std::ops::Deref;

/// One thing wrong with one cell.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// The column, under the name that is understood.
    pub column: String,
    /// The text found.
    pub value: String,
    /// The rule it breaks.
    pub rule: String,
    /// What to do.
    pub hint: String,
}

/// What the rule about dates after today begins with.
pub(super) const NONE_AFTER: &str = "no test can have been made after";

impl Fault {
    /// The column as it is understood; `None` for the whole row, and for a column of another kind, such as one of units.
    ///
    /// What follows from a fault is decided by this and not by how the name is written.
    #[must_use]
    pub fn known_column(&self) -> Option<Column> {
        Column::read(&self.column)
    }

    /// Whether it is a date after today.
    #[must_use]
    pub fn is_date_after_today(&self) -> bool {
        self.rule.starts_with(NONE_AFTER)
    }

    pub(super) fn new(column: impl ToString, value: &str, rule: impl Into<String>, hint: impl Into<String>) -> Self {
        Self { column: column.to_string(), value: value.to_owned(), rule: rule.into(), hint: hint.into() }
    }
}

impl fmt::Display for Fault {
    /// Column, value, rule and hint: `r_60s is -3.1; a resistance must be greater than 0 MΩ (hint: …)`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let value = if self.value.is_empty() { "empty" } else { &self.value };
        write!(f, "{} is {value}; {} (hint: {})", self.column, self.rule, self.hint)
    }
}

impl Error for Fault {}

/// Everything that is wrong with a row, in the order of its cells; never empty where it is an error.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Faults(Vec<Fault>);

impl Deref for Faults {
    type Target = [Fault];

    fn deref(&self) -> &[Fault] {
        &self.0
    }
}

impl From<Vec<Fault>> for Faults {
    fn from(faults: Vec<Fault>) -> Self {
        Self(faults)
    }
}

impl From<Faults> for Vec<Fault> {
    fn from(faults: Faults) -> Self {
        faults.0
    }
}

impl fmt::Display for Faults {
    /// One fault a line.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, fault) in self.0.iter().enumerate() {
            write!(f, "{}{fault}", if i > 0 { "\n" } else { "" })?;
        }
        Ok(())
    }
}

impl Error for Faults {}
