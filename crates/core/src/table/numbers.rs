//! Different words, numbered as they come.

use std::collections::HashMap;

/// So many words are looked up without the map: those that came last, by their low bits.
const RECENT: usize = 256;

/// Words by number, from 1, and numbers by word.
#[derive(Clone, Debug, Default)]
pub(super) struct Numbers {
    words: Vec<u32>,
    numbers: HashMap<u32, u16>,
    /// Empty, or a word with its number in each place; number 0 where there is none yet.
    recent: Vec<(u32, u16)>,
}

impl Numbers {
    /// The number of a word, new if need be; `None` where the numbers have run out.
    pub(super) fn number(&mut self, word: u32) -> Option<u16> {
        if self.recent.is_empty() {
            self.recent = vec![(0, 0); RECENT];
        }
        let place = word as usize % RECENT;
        match self.recent[place] {
            (recent, number) if recent == word && number > 0 => return Some(number),
            _ => {}
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
        self.recent[place] = (word, number);
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
