//! One column: a word for each row, nothing stored before the first row that has one.

use super::packed::NONE;

/// Words by row. A row behind the last word has none.
#[derive(Clone, Debug, Default)]
pub(super) struct Lane {
    words: Vec<u32>,
}

impl Lane {
    /// Puts a word into a row behind all those that have one.
    pub(super) fn put(&mut self, row: usize, word: u32) {
        self.words.resize(row, NONE);
        self.words.push(word);
    }

    /// The word of a row.
    pub(super) fn get(&self, row: usize) -> Option<u32> {
        self.words.get(row).copied().filter(|word| *word != NONE)
    }

    /// Puts the words of another lane behind so many rows.
    pub(super) fn append(&mut self, rows: usize, other: &Self, turned: impl Fn(u32) -> u32) {
        if other.words.is_empty() {
            return;
        }
        self.words.resize(rows, NONE);
        self.words.extend(other.words.iter().map(|word| if *word == NONE { NONE } else { turned(*word) }));
    }

    /// Gives back room that was kept for more.
    pub(super) fn shrink(&mut self) {
        self.words.shrink_to_fit();
    }
}
