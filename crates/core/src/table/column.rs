//! One column: a word for each row, nothing stored before the first row that has one.
//!
//! Few of a column's words differ: a working life has some ten thousand days, and a tester shows three or four digits. So the
//! different words are numbered, and a row keeps the number, in one byte or in two. Where too many differ, the rows keep the
//! words themselves.

use super::numbers::Numbers;
use super::packed::NONE;

/// Words by row. A row behind the last word has none.
#[derive(Clone, Debug, Default)]
pub(super) struct Lane {
    rows: Rows,
    numbers: Numbers,
}

/// What is kept of each row: the number of its word, 0 for none; or the word itself, [`NONE`] for none.
#[derive(Clone, Debug)]
enum Rows {
    Bytes(Vec<u8>),
    Pairs(Vec<u16>),
    Words(Vec<u32>),
}

impl Default for Rows {
    fn default() -> Self {
        Self::Bytes(Vec::new())
    }
}

impl Lane {
    /// Puts a word into a row behind all those that have one.
    pub(super) fn put(&mut self, row: usize, word: u32) {
        match (&mut self.rows, self.numbers.at_hand(word)) {
            (Rows::Bytes(rows), Some(number)) if number <= u8::MAX.into() => put(rows, row, 0, number as u8),
            (Rows::Pairs(rows), Some(number)) => put(rows, row, 0, number),
            _ => self.put_any(row, word),
        }
    }

    fn put_any(&mut self, row: usize, word: u32) {
        let number = self.number(word);
        match &mut self.rows {
            Rows::Bytes(rows) => put(rows, row, 0, number as u8),
            Rows::Pairs(rows) => put(rows, row, 0, number),
            Rows::Words(rows) => put(rows, row, NONE, word),
        }
    }

    /// The word of a row.
    pub(super) fn get(&self, row: usize) -> Option<u32> {
        match &self.rows {
            Rows::Bytes(rows) => self.numbers.word((*rows.get(row)?).into()),
            Rows::Pairs(rows) => self.numbers.word(*rows.get(row)?),
            Rows::Words(rows) => rows.get(row).copied().filter(|word| *word != NONE),
        }
    }

    /// Whether any row may have a word of this kind; if not, no row need be asked.
    pub(super) fn may_have(&self, kind: impl Fn(u32) -> bool) -> bool {
        matches!(self.rows, Rows::Words(_)) || self.numbers.words().iter().any(|word| kind(*word))
    }

    /// How many rows reach to the last word.
    pub(super) const fn len(&self) -> usize {
        match &self.rows {
            Rows::Bytes(rows) => rows.len(),
            Rows::Pairs(rows) => rows.len(),
            Rows::Words(rows) => rows.len(),
        }
    }

    /// Puts the words of another lane behind so many rows.
    pub(super) fn append(&mut self, rows: usize, other: &Self, turned: impl Fn(u32) -> u32) {
        if other.len() == 0 {
            return;
        }
        // All words of the other lane are numbered first, so that the rows here are as wide as they must be.
        let mut here = vec![0];
        here.extend(other.numbers.words().iter().map(|word| self.number(turned(*word))));
        match (&mut self.rows, &other.rows) {
            (Rows::Bytes(to), Rows::Bytes(from)) => extend(to, rows, from.iter().map(|n| here[usize::from(*n)] as u8)),
            (Rows::Pairs(to), Rows::Bytes(from)) => extend(to, rows, from.iter().map(|n| here[usize::from(*n)])),
            (Rows::Pairs(to), Rows::Pairs(from)) => extend(to, rows, from.iter().map(|n| here[usize::from(*n)])),
            _ => {
                for (row, word) in (0..other.len()).filter_map(|row| Some((row, other.get(row)?))) {
                    self.put(rows + row, turned(word));
                }
            }
        }
    }

    /// Gives back room that was kept for more.
    pub(super) fn shrink(&mut self) {
        match &mut self.rows {
            Rows::Bytes(rows) => rows.shrink_to_fit(),
            Rows::Pairs(rows) => rows.shrink_to_fit(),
            Rows::Words(rows) => rows.shrink_to_fit(),
        }
    }

    /// The number of a word in rows that are wide enough for it; 0 where the rows keep words.
    fn number(&mut self, word: u32) -> u16 {
        if matches!(self.rows, Rows::Words(_)) {
            return 0;
        }
        let Some(number) = self.numbers.number(word) else {
            let words = (0..self.len()).map(|row| self.get(row).unwrap_or(NONE)).collect();
            (self.rows, self.numbers) = (Rows::Words(words), Numbers::default());
            return 0;
        };
        match &self.rows {
            Rows::Bytes(rows) if number > u8::MAX.into() => {
                self.rows = Rows::Pairs(rows.iter().map(|number| (*number).into()).collect());
            }
            _ => {}
        }
        number
    }
}

#[inline]
fn put<T: Copy>(rows: &mut Vec<T>, row: usize, none: T, here: T) {
    if rows.len() < row {
        rows.resize(row, none);
    }
    rows.push(here);
}

fn extend<T: Copy + Default>(rows: &mut Vec<T>, behind: usize, others: impl Iterator<Item = T>) {
    rows.resize(behind, T::default());
    rows.extend(others);
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn filled(words: &[Option<u32>]) -> Lane {
        let mut lane = Lane::default();
        words
            .iter()
            .enumerate()
            .filter_map(|(row, word)| Some((row, (*word)?)))
            .for_each(|(row, word)| lane.put(row, word));
        lane
    }

    proptest! {
        #[test]
        fn words_come_back_however_many_differ(
            first in prop::collection::vec(prop::option::of(0u32..400), 0..600),
            second in prop::collection::vec(prop::option::of(0u32..400), 0..600),
            by in 0u32..2,
        ) {
            let mut lane = filled(&first);
            lane.append(first.len(), &filled(&second), |word| word + by);
            let words = first.iter().copied().chain(second.iter().map(|word| word.map(|word| word + by)));
            for (row, word) in words.enumerate() {
                prop_assert_eq!(lane.get(row), word, "row {}", row);
            }
            prop_assert_eq!(lane.get(first.len() + second.len()), None);
        }
    }

    #[test]
    fn rows_are_as_wide_as_their_words_need() {
        for (different, bytes) in [(255, 1), (256, 2), (65_535, 2), (65_536, 4), (100_000, 4)] {
            let words: Vec<Option<u32>> = (0..different).map(|i| (i % 7 != 3 || i > 60_000).then_some(i * 3)).collect();
            let holes = words.iter().filter(|word| word.is_none()).count();
            let words: Vec<Option<u32>> =
                words.into_iter().chain((0..holes).map(|i| Some(9_000_000 + i as u32))).collect();
            for lane in [filled(&words), {
                let (first, second) = words.split_at(words.len() / 2);
                let mut lane = filled(first);
                lane.append(first.len(), &filled(second), |word| word);
                lane.shrink();
                lane
            }] {
                let width = match &lane.rows {
                    Rows::Bytes(_) => 1,
                    Rows::Pairs(_) => 2,
                    Rows::Words(_) => 4,
                };
                assert_eq!(width, bytes, "{different} different words");
                assert!(words.iter().enumerate().all(|(row, word)| lane.get(row) == *word), "{different}");
            }
        }
    }
}
