//! Work spread over all cores.

use groundwall::assess::Spread;
use rayon::iter::{IntoParallelIterator, ParallelIterator};

/// Spreads work over all cores; where there are no threads, as in a browser, it is done on the one there is.
#[derive(Clone, Copy, Debug, Default)]
pub struct AllCores;

impl Spread for AllCores {
    fn map<T: Send, R: Send>(&self, things: Vec<T>, f: impl Fn(T) -> R + Sync + Send) -> Vec<R> {
        things.into_par_iter().map(f).collect()
    }
}
