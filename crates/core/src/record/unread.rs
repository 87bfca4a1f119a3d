//! Cells of a test that could not be read. Their test counts, and must not be judged less strictly for it.

use super::columns::Column;
use super::typed::{MayMean, may_mean};
use super::{Event, TestRecord};

/// A cell that cannot be read.
#[derive(Clone, Debug, PartialEq)]
pub struct UnreadCell {
    /// Where it stands.
    pub column: Column,
    /// What it says, without line breaks and control characters.
    pub text: String,
}

/// What separates the name of a column from the text of its cell, and one cell from the next, where cells are kept as one text.
const AFTER_NAME: char = '\u{1f}';
const AFTER_CELL: char = '\u{1e}';

impl UnreadCell {
    /// A cell.
    #[must_use]
    pub fn new(column: Column, text: &str) -> Self {
        Self { column, text: text.replace(char::is_control, " ") }
    }

    /// Whether it may be an event that asks for more than none does.
    pub(crate) fn may_be_an_event(&self) -> bool {
        self.column == Column::Event && (self.text.contains('?') || may_mean(&self.text) != MayMean::Else)
    }

    /// Whether it may be a rewind or a replacement, which owes another minimum.
    pub(crate) fn may_be_a_new_winding(&self) -> bool {
        let read = Event::read(&self.text);
        let is_read = matches!(read, Some(Event::Rewound | Event::Replaced));
        self.column == Column::Event && (is_read || read.is_none() && may_mean(&self.text) == MayMean::NewWinding)
    }

    /// Cells as one text.
    pub(crate) fn as_one_text(cells: &[Self]) -> String {
        cells.iter().map(|cell| format!("{}{AFTER_NAME}{}{AFTER_CELL}", cell.column, cell.text)).collect()
    }

    /// The cells of such a text.
    pub(crate) fn from_one_text(text: &str) -> Vec<Self> {
        let cells = text.split(AFTER_CELL).filter_map(|cell| cell.split_once(AFTER_NAME));
        cells.filter_map(|(name, text)| Some(Self { column: Column::read(name)?, text: text.to_owned() })).collect()
    }
}

impl TestRecord {
    /// What a cell says that could not be read.
    #[must_use]
    pub fn unread(&self, column: Column) -> Option<&str> {
        let cell = self.procedure().unread.iter().find(|cell| cell.column == column);
        cell.map(|cell| cell.text.as_str())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::Item;

    #[test]
    fn cells_kept_as_one_text_come_back() {
        let cells = [(Column::Procedure(Item::Battery), "half\u{1e}"), (Column::LeadCheck, "so-so")];
        let cells = cells.map(|(column, text)| UnreadCell::new(column, text)).to_vec();
        assert_eq!(UnreadCell::from_one_text(&UnreadCell::as_one_text(&cells)), cells);
        assert_eq!(cells[0].text, "half ");
    }
}
