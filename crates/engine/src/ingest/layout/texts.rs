//! Texts that stand in many cells, each kept once and known by a number.

use std::collections::HashMap;
use std::rc::Rc;

/// The number of a text.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub(super) struct TextId(u32);

impl TextId {
    /// That of no text.
    pub(super) const EMPTY: Self = Self(0);

    pub(super) fn is_empty(self) -> bool {
        self == Self::EMPTY
    }
}

/// Texts by number, and numbers by text.
#[derive(Debug)]
pub(super) struct Texts {
    texts: Vec<Rc<str>>,
    ids: HashMap<Rc<str>, TextId>,
}

impl Default for Texts {
    fn default() -> Self {
        let empty: Rc<str> = "".into();
        Self { texts: vec![Rc::clone(&empty)], ids: HashMap::from([(empty, TextId::EMPTY)]) }
    }
}

impl Texts {
    /// The number of a text.
    pub(super) fn id(&mut self, text: &str) -> TextId {
        if text.is_empty() {
            return TextId::EMPTY;
        }
        if let Some(id) = self.ids.get(text) {
            return *id;
        }
        // There are fewer than cells, of which a sheet may have some millions.
        let id = TextId(u32::try_from(self.texts.len()).unwrap_or(u32::MAX));
        let text: Rc<str> = text.into();
        self.texts.push(Rc::clone(&text));
        self.ids.insert(text, id);
        id
    }

    /// The text of a number.
    pub(super) fn get(&self, id: TextId) -> &str {
        self.texts.get(id.0 as usize).map_or("", |text| text)
    }
}
