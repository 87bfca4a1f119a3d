//! Texts that come again and again, each kept once.

use std::hash::{BuildHasher, RandomState};
use std::sync::Arc;

/// So many places at first.
const LEAST_PLACES: usize = 1 << 6;

/// Texts by number, and numbers by text.
#[derive(Clone, Debug, Default)]
pub(super) struct Names {
    texts: Vec<Arc<str>>,
    /// Of each text, so that it is hashed once.
    hashes: Vec<u32>,
    /// As many as a power of two, or none yet: the number of a text and one, in the first free place from where its hash points;
    /// 0 where a place is free.
    places: Vec<u32>,
    hasher: RandomState,
    last: u32,
}

impl Names {
    /// The number of a text. Rows of one winding often follow each other, so the last one is looked at first.
    pub(super) fn number(&mut self, text: &str) -> u32 {
        if self.texts.get(self.last as usize).is_none_or(|last| **last != *text) {
            self.last = self.number_or_new(text, || text.into());
        }
        self.last
    }

    /// Numbers in here for the numbers of another.
    pub(super) fn take_over(&mut self, other: &Self) -> Vec<u32> {
        other.texts.iter().map(|text| self.number_or_new(text, || Arc::clone(text))).collect()
    }

    fn number_or_new(&mut self, text: &str, kept: impl FnOnce() -> Arc<str>) -> u32 {
        if 2 * self.texts.len() >= self.places.len() {
            self.grow();
        }
        // The upper half is as good as the whole.
        let hash = (self.hasher.hash_one(text) >> 32) as u32;
        let is_text = |number: usize| self.hashes[number] == hash && *self.texts[number] == *text;
        match place(&self.places, hash, is_text) {
            (_, Some(number)) => number,
            (free, None) => {
                // There are never more names than rows, and those are counted in as many bits.
                let number = u32::try_from(self.texts.len()).unwrap_or(u32::MAX);
                self.places[free] = number.saturating_add(1);
                self.texts.push(kept());
                self.hashes.push(hash);
                number
            }
        }
    }

    /// Makes four times as many places.
    fn grow(&mut self) {
        self.places = vec![0; (4 * self.places.len()).max(LEAST_PLACES)];
        for (number, hash) in (1..).zip(&self.hashes) {
            let (free, _) = place(&self.places, *hash, |_| false);
            self.places[free] = number;
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

/// The place that holds a text, with its number; or the free one that it may take. Some place is always free.
fn place(places: &[u32], hash: u32, is_text: impl Fn(usize) -> bool) -> (usize, Option<u32>) {
    let mut at = hash as usize & (places.len() - 1);
    loop {
        match places[at].checked_sub(1) {
            None => return (at, None),
            Some(number) if is_text(number as usize) => return (at, Some(number)),
            Some(_) => at = (at + 1) & (places.len() - 1),
        }
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
            let (mut names, mut others) = (Names::default(), Names::default());
            let numbers: Vec<u32> = first.iter().map(|text| names.number(text)).collect();
            let other_numbers: Vec<u32> = second.iter().map(|text| others.number(text)).collect();
            let turned = names.take_over(&others);
            let all = first.iter().zip(numbers);
            let all = all.chain(second.iter().zip(other_numbers.iter().map(|number| turned[*number as usize])));
            for (text, number) in all {
                prop_assert_eq!(names.text(number), text);
                prop_assert_eq!(names.number(text), number);
            }
            let mut texts: Vec<&str> = names.texts().collect();
            let count = texts.len();
            texts.sort_unstable();
            texts.dedup();
            prop_assert_eq!(texts.len(), count);
        }
    }
}
