//! A kind of history, and a simulator as a list of kinds.

use crate::dice::Dice;
use crate::history::{History, Level, Testing};

/// What a kind is drawn for.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Role {
    /// Its level reaches the minimum within 30 years of the as-of date.
    Declining,
    /// Its level stays: no action may follow.
    Steady,
    /// Nothing is known but bounds, then a fall: only whether it is found counts.
    FallAfterBounds,
}

/// One kind of history.
pub(crate) struct Kind {
    pub(crate) name: &'static str,
    pub(crate) role: Role,
    /// Draws a level, how it is tested, and whether a sudden fall was planted in it.
    pub(crate) draw: fn(&mut Dice) -> (Level, Testing, bool),
}

/// A way to make histories.
pub(crate) struct Simulator {
    pub(crate) name: &'static str,
    pub(crate) kinds: &'static [Kind],
}

impl Kind {
    /// One history of this kind: drawn again until it fits the role.
    pub(crate) fn history(&self, dice: &mut Dice) -> History {
        loop {
            let (level, testing, planted) = (self.draw)(dice);
            let Some(mut history) = History::test(&level, &testing, dice) else { continue };
            history.planted = planted;
            if self.role == Role::Declining && history.truth().is_infinite() {
                continue;
            }
            return history;
        }
    }
}
