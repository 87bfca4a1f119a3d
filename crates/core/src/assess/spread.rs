//! How work on many things is spread: one after the other here, over threads by whoever has them.

/// Spreads work on many things, in any order, and gives the results in the order of the things.
pub trait Spread {
    /// Applies `f` to each of the things.
    fn map<T: Send, R: Send>(&self, things: Vec<T>, f: impl Fn(T) -> R + Sync + Send) -> Vec<R>;
}

/// One after the other on the caller's thread.
#[derive(Clone, Copy, Debug, Default)]
pub struct InTurn;

impl Spread for InTurn {
    fn map<T: Send, R: Send>(&self, things: Vec<T>, f: impl Fn(T) -> R + Sync + Send) -> Vec<R> {
        things.into_iter().map(f).collect()
    }
}
