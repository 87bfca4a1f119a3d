//! Text that comes again and again, each kept once.

use hashbrown::HashTable;
use hashbrown::hash_table::Entry;
use std::hash::{BuildHasher, RandomState};
use std::sync::Arc;

/// Strings by number, and numbers by string.
#[derive(Clone, Debug, Default)]
pub(super) struct Strings {
    texts: Vec<Arc<str>>,
    numbers: HashTable<u32>,
    hasher: RandomState,
    last: u32,
}

impl Strings {
    /// The number of a text. Rows of one winding often follow each other, so the last one is looked at first.
    pub(super) fn number(&mut self, text: &str) -> u32 {
        if self.texts.get(self.last as usize).is_none_or(|last| **last != *text) {
            self.last = self.number_or_new(text, || text.into());
        }
        self.last
    }

    /// Numbers in here for the numbers of another.
    pub(super) fn merge(&mut self, other: &Self) -> Vec<u32> {
        other.texts.iter().map(|text| self.number_or_new(text, || Arc::clone(text))).collect()
    }

    fn number_or_new(&mut self, text: &str, kept: impl FnOnce() -> Arc<str>) -> u32 {
        let is_text = |number: &u32| *self.texts[*number as usize] == *text;
        let hash = |number: &u32| self.hasher.hash_one(&*self.texts[*number as usize]);
        match self.numbers.entry(self.hasher.hash_one(text), is_text, hash) {
            Entry::Occupied(known) => *known.get(),
            Entry::Vacant(free) => {
                // There are never more strings than rows, and those are counted in as many bits.
                let number = u32::try_from(self.texts.len()).unwrap_or(u32::MAX);
                free.insert(number);
                self.texts.push(kept());
                number
            }
        }
    }

    /// The text of a number.
    pub(super) fn text(&self, number: u32) -> &str {
        self.texts.get(number as usize).map_or("", |text| text)
    }

    /// All texts, in the order of their numbers.
    pub(super) fn texts(&self) -> impl ExactSizeIterator<Item = &str> {
        self.texts.iter().map(|text| &**text)
    }

    /// For each number its place in alphabetical order.
    pub(super) fn ranks(&self) -> Vec<u32> {
        let mut order: Vec<u32> = (0..).take(self.texts.len()).collect();
        order.sort_unstable_by(|a, b| self.texts[*a as usize].cmp(&self.texts[*b as usize]));
        let mut ranks = vec![0; order.len()];
        for (rank, number) in (0..).zip(order) {
            ranks[number as usize] = rank;
        }
        ranks
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn equal_texts_have_one_number_and_others_another(
            first in prop::collection::vec("[ab]{0,8}", 1..500),
            second in prop::collection::vec("[ab]{0,8}", 1..500),
        ) {
            let (mut strings, mut others) = (Strings::default(), Strings::default());
            let numbers: Vec<u32> = first.iter().map(|text| strings.number(text)).collect();
            let other_numbers: Vec<u32> = second.iter().map(|text| others.number(text)).collect();
            let turned = strings.merge(&others);
            let all = first.iter().zip(numbers);
            let all = all.chain(second.iter().zip(other_numbers.iter().map(|number| turned[*number as usize])));
            for (text, number) in all {
                prop_assert_eq!(strings.text(number), text);
                prop_assert_eq!(strings.number(text), number);
            }
            let mut texts: Vec<&str> = strings.texts().collect();
            let count = texts.len();
            texts.sort_unstable();
            texts.dedup();
            prop_assert_eq!(texts.len(), count);
        }
    }
}
