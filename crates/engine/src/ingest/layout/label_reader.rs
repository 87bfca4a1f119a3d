//! Texts read as labels. Most texts of a sheet come again and again, so what a text says is kept.

use super::label::Label;
use crate::ingest::mapping::Mapping;
use std::cell::{Cell, RefCell};
use std::collections::HashMap;
use std::rc::Rc;

/// Texts kept at most; when there are as many, all are dropped.
const TEXTS_KEPT: usize = 8192;
/// Longer texts are notes, which are not kept.
const LONGEST_KEPT: usize = 120;

/// Reads the labels of one file.
#[derive(Debug)]
pub struct LabelReader<'m> {
    mapping: &'m Mapping,
    kept: RefCell<HashMap<Box<str>, Rc<Label>>>,
    /// Bytes of text that it may still take apart.
    left: Cell<usize>,
    is_exhausted: Cell<bool>,
}

impl<'m> LabelReader<'m> {
    /// For a site whose headers stand for what this mapping says. It takes apart texts of so many bytes together.
    pub(super) fn new(mapping: &'m Mapping, bytes: usize) -> Self {
        Self { mapping, kept: RefCell::default(), left: Cell::new(bytes), is_exhausted: Cell::new(false) }
    }

    /// What headers mean at this site.
    pub(super) const fn mapping(&self) -> &'m Mapping {
        self.mapping
    }

    /// Whether there was more text than it takes apart; labels of the rest say nothing.
    pub(super) fn is_exhausted(&self) -> bool {
        self.is_exhausted.get()
    }

    /// As [`Label::read`].
    pub(in crate::ingest) fn read(&self, text: &str) -> Rc<Label> {
        let mut kept = self.kept.borrow_mut();
        if let Some(label) = kept.get(text) {
            return Rc::clone(label);
        }
        let Some(left) = self.left.get().checked_sub(text.len()) else {
            self.is_exhausted.set(true);
            return Rc::default();
        };
        self.left.set(left);
        let label = Rc::new(Label::read(text, self.mapping));
        if text.len() <= LONGEST_KEPT {
            if kept.len() == TEXTS_KEPT {
                kept.clear();
            }
            kept.insert(text.into(), Rc::clone(&label));
        }
        label
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_is_taken_apart_once_and_what_is_kept_has_a_limit() {
        let mapping = Mapping::default();
        let reader = LabelReader::new(&mapping, 1 << 20);
        let first = reader.read("IR 1 min (MΩ)");
        assert_eq!(*first, Label::read("IR 1 min (MΩ)", &mapping));
        assert!(Rc::ptr_eq(&first, &reader.read("IR 1 min (MΩ)")));
        for i in 0..3 * TEXTS_KEPT {
            reader.read(&format!("M-{i}"));
            assert!(reader.kept.borrow().len() <= TEXTS_KEPT);
        }
        let note = "n".repeat(LONGEST_KEPT + 1);
        reader.read(&note);
        assert!(!reader.kept.borrow().contains_key(note.as_str()));
        assert_eq!(reader.read("IR 1 min (MΩ)"), first);
        assert!(!reader.is_exhausted());
        let short = LabelReader::new(&mapping, 4);
        assert_eq!(*short.read("PI"), Label::read("PI", &mapping));
        assert!(!short.is_exhausted());
        assert_eq!(*short.read("DAR"), Label::default());
        assert!(short.is_exhausted());
    }
}
