//! Different words, numbered as they come.

use std::collections::HashMap;

/// Places for words at least and at most. There are more as more words differ.
const LEAST_PLACES: usize = 1 << 8;
const MOST_PLACES: usize = 1 << 16;

/// Words by number, from 1, and numbers by word.
#[derive(Clone, Debug, Default)]
pub(super) struct Numbers {
    words: Vec<u32>,
    /// As many places as a power of two, or none yet: a word that has these low bits, with its number; number 0 where none has.
    places: Vec<(u32, u16)>,
    /// The words whose places were taken.
    others: HashMap<u32, u16>,
}

impl Numbers {
    /// The number of a word, if it stands in its place.
    #[inline]
    pub(super) fn at_hand(&self, word: u32) -> Option<u16> {
        let (other, number) = *self.places.get(self.place(word))?;
        (other == word && number > 0).then_some(number)
    }

    /// The number of a word, new if need be; `None` where the numbers have run out.
    pub(super) fn number(&mut self, word: u32) -> Option<u16> {
        if let Some(number) = self.at_hand(word) {
            return Some(number);
        }
        // Where its place is free, a word is new.
        let is_taken = self.places.get(self.place(word)).is_some_and(|(_, number)| *number > 0);
        if let Some(number) = self.others.get(&word).filter(|_| is_taken) {
            return Some(*number);
        }
        let number = u16::try_from(self.words.len() + 1).ok()?;
        self.words.push(word);
        if self.words.len() > self.places.len() / 2 && self.places.len() < MOST_PLACES {
            self.places = vec![(0, 0); (4 * self.places.len()).max(LEAST_PLACES)];
            self.others.clear();
            let words = std::mem::take(&mut self.words);
            (1..).zip(&words).for_each(|(number, word)| self.keep(*word, number));
            self.words = words;
        } else {
            self.keep(word, number);
        }
        Some(number)
    }

    /// Puts a new word into its place, or where the others are.
    fn keep(&mut self, word: u32, number: u16) {
        let place = self.place(word);
        match self.places.get_mut(place) {
            Some(free) if free.1 == 0 => *free = (word, number),
            _ => {
                self.others.insert(word, number);
            }
        }
    }

    fn place(&self, word: u32) -> usize {
        word as usize & self.places.len().wrapping_sub(1)
    }

    /// The word of a number; none for 0.
    pub(super) fn word(&self, number: u16) -> Option<u32> {
        self.words.get(usize::from(number).wrapping_sub(1)).copied()
    }

    /// All words, in the order of their numbers.
    pub(super) fn words(&self) -> &[u32] {
        &self.words
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn equal_words_have_one_number_and_others_another(
            words in prop::collection::vec((0u32..3000, 0u32..8), 1..3000),
        ) {
            let mut numbers = Numbers::default();
            for (low, high) in &words {
                // Many words share their place.
                let word = (low % 300) | (high << 20) | ((low / 300) << 9);
                let number = numbers.number(word);
                prop_assert_eq!(number.and_then(|number| numbers.word(number)), Some(word));
                prop_assert_eq!(numbers.number(word), number);
            }
            let mut all = numbers.words().to_vec();
            all.sort_unstable();
            prop_assert!(all.windows(2).all(|pair| pair[0] < pair[1]));
        }
    }

    #[test]
    fn numbers_run_out_behind_those_of_two_bytes() {
        let mut numbers = Numbers::default();
        let found: Vec<_> = (0..65_536).map(|word| numbers.number(word << 10)).collect();
        assert!((0..65_535).all(|i| found[i] == u16::try_from(i + 1).ok()));
        assert_eq!(found[65_535], None);
        assert_eq!((numbers.number(0), numbers.number(5 << 10)), (Some(1), Some(6)));
    }
}
