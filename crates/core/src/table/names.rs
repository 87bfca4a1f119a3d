//! Texts that come again and again, each kept once.

use std::collections::HashMap;
use std::sync::Arc;

/// Texts by number, and numbers by text.
#[derive(Clone, Debug, Default)]
pub(super) struct Names {
    texts: Vec<Arc<str>>,
    places: HashMap<Arc<str>, u32>,
    last: u32,
}

impl Names {
    /// The number of a text. Rows of one winding often follow each other, so the last one is looked at first.
    pub(super) fn number(&mut self, text: &str) -> u32 {
        if self.texts.get(self.last as usize).is_some_and(|last| **last == *text) {
            return self.last;
        }
        self.last = match self.places.get(text) {
            Some(place) => *place,
            None => self.add(text.into()),
        };
        self.last
    }

    fn add(&mut self, text: Arc<str>) -> u32 {
        // There are never more names than rows, and those are counted in as many bits.
        let place = u32::try_from(self.texts.len()).unwrap_or(u32::MAX);
        self.texts.push(Arc::clone(&text));
        self.places.insert(text, place);
        place
    }

    /// The text of a number.
    pub(super) fn text(&self, number: u32) -> &str {
        self.texts.get(number as usize).map_or("", |text| text)
    }

    /// All texts, in the order of their numbers.
    pub(super) fn texts(&self) -> impl ExactSizeIterator<Item = &str> {
        self.texts.iter().map(|text| &**text)
    }

    /// Numbers in here for the numbers of another.
    pub(super) fn take_over(&mut self, other: &Self) -> Vec<u32> {
        let number = |text: &Arc<str>| match self.places.get(text) {
            Some(place) => *place,
            None => self.add(Arc::clone(text)),
        };
        other.texts.iter().map(number).collect()
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
