//! One column: a code of four bytes for each row, nothing stored before the first row that has one.
//!
//! Few of a column's codes differ: a working life has some ten thousand days, and a tester shows three or four digits. So a
//! dictionary numbers the different codes, and a row keeps the number, in one byte or two. Where too many differ, the rows keep
//! the codes themselves.

use super::dictionary::Dictionary;
use super::packed::NONE;

/// Codes by row. A row after the last code has none.
#[derive(Clone, Debug, Default)]
pub(super) struct PackedColumn {
    rows: Rows,
    dictionary: Dictionary,
    /// The code put last and its number, 0 for none: most rows say what the row before says.
    last: (u32, u16),
}

/// What is kept of each row: the number of its code, 0 for none; or the code itself, [`NONE`] for none.
#[derive(Clone, Debug)]
enum Rows {
    Bytes(Vec<u8>),
    Pairs(Vec<u16>),
    Codes(Vec<u32>),
}

impl Default for Rows {
    fn default() -> Self {
        Self::Bytes(Vec::new())
    }
}

impl PackedColumn {
    /// Puts a code into a row: the last one that has a code, or any after it.
    pub(super) fn put(&mut self, row: usize, code: u32) {
        let known =
            if self.last.0 == code && self.last.1 > 0 { Some(self.last.1) } else { self.dictionary.known(code) };
        self.last = (code, known.unwrap_or(0));
        match (&mut self.rows, known) {
            (Rows::Bytes(rows), Some(number)) if number <= u8::MAX.into() => put(rows, row, 0, number as u8),
            (Rows::Pairs(rows), Some(number)) => put(rows, row, 0, number),
            _ => self.put_any(row, code),
        }
    }

    fn put_any(&mut self, row: usize, code: u32) {
        let number = self.number(code);
        match &mut self.rows {
            Rows::Bytes(rows) => put(rows, row, 0, number as u8),
            Rows::Pairs(rows) => put(rows, row, 0, number),
            Rows::Codes(rows) => put(rows, row, NONE, code),
        }
    }

    /// The code of a row.
    pub(super) fn get(&self, row: usize) -> Option<u32> {
        match &self.rows {
            Rows::Bytes(rows) => self.dictionary.code((*rows.get(row)?).into()),
            Rows::Pairs(rows) => self.dictionary.code(*rows.get(row)?),
            Rows::Codes(rows) => rows.get(row).copied().filter(|code| *code != NONE),
        }
    }

    /// Whether any row may have a code of this kind; if not, no row need be asked.
    pub(super) fn may_have(&self, kind: impl Fn(u32) -> bool) -> bool {
        matches!(self.rows, Rows::Codes(_)) || self.dictionary.codes().iter().any(|code| kind(*code))
    }

    /// How many rows reach to the last code.
    pub(super) const fn len(&self) -> usize {
        match &self.rows {
            Rows::Bytes(rows) => rows.len(),
            Rows::Pairs(rows) => rows.len(),
            Rows::Codes(rows) => rows.len(),
        }
    }

    /// Appends the codes of another column after so many rows.
    pub(super) fn append(&mut self, rows: usize, other: &Self, turned: impl Fn(u32) -> u32) {
        if other.len() == 0 {
            return;
        }
        // All codes of the other column are numbered first, so that the rows here are as wide as they must be.
        let mut here = vec![0];
        here.extend(other.dictionary.codes().iter().map(|code| self.number(turned(*code))));
        match (&mut self.rows, &other.rows) {
            (Rows::Bytes(to), Rows::Bytes(from)) => extend(to, rows, from.iter().map(|n| here[usize::from(*n)] as u8)),
            (Rows::Pairs(to), Rows::Bytes(from)) => extend(to, rows, from.iter().map(|n| here[usize::from(*n)])),
            (Rows::Pairs(to), Rows::Pairs(from)) => extend(to, rows, from.iter().map(|n| here[usize::from(*n)])),
            _ => {
                for (row, code) in (0..other.len()).filter_map(|row| Some((row, other.get(row)?))) {
                    self.put(rows + row, turned(code));
                }
            }
        }
    }

    /// Frees unused capacity.
    pub(super) fn shrink(&mut self) {
        match &mut self.rows {
            Rows::Bytes(rows) => rows.shrink_to_fit(),
            Rows::Pairs(rows) => rows.shrink_to_fit(),
            Rows::Codes(rows) => rows.shrink_to_fit(),
        }
    }

    /// The number of a code in rows that are wide enough for it; 0 where the rows keep codes.
    fn number(&mut self, code: u32) -> u16 {
        if matches!(self.rows, Rows::Codes(_)) {
            return 0;
        }
        let Some(number) = self.dictionary.number(code) else {
            let codes = (0..self.len()).map(|row| self.get(row).unwrap_or(NONE)).collect();
            (self.rows, self.dictionary, self.last) = (Rows::Codes(codes), Dictionary::default(), (0, 0));
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

/// A row that is there already, because the rest of its test did not fit, is written over and moves no other.
#[inline]
fn put<T: Copy>(rows: &mut Vec<T>, row: usize, none: T, here: T) {
    if let Some(place) = rows.get_mut(row) {
        *place = here;
        return;
    }
    if rows.len() < row {
        rows.resize(row, none);
    }
    rows.push(here);
}

fn extend<T: Copy + Default>(rows: &mut Vec<T>, after: usize, others: impl Iterator<Item = T>) {
    rows.resize(after, T::default());
    rows.extend(others);
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn filled(codes: &[Option<u32>]) -> PackedColumn {
        let mut column = PackedColumn::default();
        codes
            .iter()
            .enumerate()
            .filter_map(|(row, code)| Some((row, (*code)?)))
            .for_each(|(row, code)| column.put(row, code));
        column
    }

    proptest! {
        #[test]
        fn codes_come_back_however_many_differ(
            first in prop::collection::vec(prop::option::of(0u32..400), 0..600),
            second in prop::collection::vec(prop::option::of(0u32..400), 0..600),
            by in 0u32..2,
        ) {
            let mut column = filled(&first);
            column.append(first.len(), &filled(&second), |code| code + by);
            let codes = first.iter().copied().chain(second.iter().map(|code| code.map(|code| code + by)));
            for (row, code) in codes.enumerate() {
                prop_assert_eq!(column.get(row), code, "row {}", row);
            }
            prop_assert_eq!(column.get(first.len() + second.len()), None);
        }
    }

    #[test]
    fn a_row_put_twice_moves_no_other() {
        for different in [1, 300, 70_000] {
            let mut column = filled(&(0..different).map(Some).collect::<Vec<_>>());
            let next = different as usize;
            column.put(next, 5);
            column.put(next, 7);
            column.put(next + 1, 9);
            assert_eq!((column.get(next), column.get(next + 1)), (Some(7), Some(9)), "{different}");
        }
    }

    #[test]
    fn rows_are_as_wide_as_their_codes_need() {
        for (different, bytes) in [(255, 1), (256, 2), (65_535, 2), (65_536, 4), (100_000, 4)] {
            let codes: Vec<Option<u32>> = (0..different).map(|i| (i % 7 != 3 || i > 60_000).then_some(i * 3)).collect();
            let holes = codes.iter().filter(|code| code.is_none()).count();
            let codes: Vec<Option<u32>> =
                codes.into_iter().chain((0..holes).map(|i| Some(9_000_000 + i as u32))).collect();
            for column in [filled(&codes), {
                let (first, second) = codes.split_at(codes.len() / 2);
                let mut column = filled(first);
                column.append(first.len(), &filled(second), |code| code);
                column.shrink();
                column
            }] {
                let width = match &column.rows {
                    Rows::Bytes(_) => 1,
                    Rows::Pairs(_) => 2,
                    Rows::Codes(_) => 4,
                };
                assert_eq!(width, bytes, "{different} different codes");
                assert!(codes.iter().enumerate().all(|(row, code)| column.get(row) == *code), "{different}");
            }
        }
    }
}
