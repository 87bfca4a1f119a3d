//! Different words, numbered as they come.

use std::collections::HashMap;

/// So many words at least and at most are looked up without the map: those that came last, by their low bits. There are more
/// places as more words differ.
const RECENT: usize = 1 << 8;
const MOST_RECENT: usize = 1 << 14;

/// Words by number, from 1, and numbers by word.
#[derive(Clone, Debug, Default)]
pub(super) struct Numbers {
    words: Vec<u32>,
    numbers: HashMap<u32, u16>,
    /// Empty, or a word with its number in each place; number 0 where there is none yet.
    recent: Vec<(u32, u16)>,
}

impl Numbers {
    /// The number of a word that came lately, if it is at hand.
    #[inline]
    pub(super) fn recent(&self, word: u32) -> Option<u16> {
        let (recent, number) = *self.recent.get(word as usize & self.recent.len().wrapping_sub(1))?;
        (recent == word && number > 0).then_some(number)
    }

    /// The number of a word, new if need be; `None` where the numbers have run out.
    pub(super) fn number(&mut self, word: u32) -> Option<u16> {
        if let Some(number) = self.recent(word) {
            return Some(number);
        }
        let number = match self.numbers.get(&word) {
            Some(number) => *number,
            None => {
                let number = u16::try_from(self.words.len() + 1).ok()?;
                self.words.push(word);
                self.numbers.insert(word, number);
                number
            }
        };
        if self.words.len() > self.recent.len() / 2 && self.recent.len() < MOST_RECENT {
            self.recent = vec![(0, 0); (4 * self.recent.len()).max(RECENT)];
            (1..).zip(&self.words).for_each(|(number, word)| keep(&mut self.recent, *word, number));
        }
        keep(&mut self.recent, word, number);
        Some(number)
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

/// Puts a word into its place, of as many as a power of two.
fn keep(recent: &mut [(u32, u16)], word: u32, number: u16) {
    let place = word as usize & (recent.len() - 1);
    recent[place] = (word, number);
}
