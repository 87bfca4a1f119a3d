//! How far long work is: one line on standard error that goes away when the work is done.
//!
//! It is shown only on a terminal, never with `--quiet`, and only for work that has taken a second already, so that nothing
//! flickers where the result is there at once.

#[cfg(not(target_family = "wasm"))]
mod bar;
#[cfg(target_family = "wasm")]
#[path = "progress/page.rs"]
mod bar;

use crate::console::{Console, MessageFormat};
use crate::files::Input;
use bar::Bar;
use groundwall::assess::Spread;
use groundwall_engine::spread::AllCores;
use std::io::IsTerminal;
use std::sync::atomic::{AtomicU64, Ordering};

/// Histories of fewer bytes than this are read within about a second.
const LARGE: u64 = 200 << 20;

/// Spreads the work over all cores and shows how far it is.
pub struct Watched {
    /// None where nothing is to be shown.
    bar: Option<Bar>,
    passes: AtomicU64,
}

impl Watched {
    /// For the work of a command.
    #[must_use]
    pub fn of(console: &Console<'_>) -> Self {
        Self { bar: is_shown(console).then(Bar::counting), passes: AtomicU64::new(0) }
    }
}

impl Spread for Watched {
    fn map<T: Send, R: Send>(&self, things: Vec<T>, f: impl Fn(T) -> R + Sync + Send) -> Vec<R> {
        let Some(bar) = &self.bar else { return AllCores.map(things, f) };
        bar.begin(1 + self.passes.fetch_add(1, Ordering::Relaxed), things.len() as u64);
        let watched = |thing| {
            let result = f(thing);
            bar.step();
            result
        };
        AllCores.map(things, watched)
    }
}

/// Shows that histories are being read, if they are large; the line is cleared when what is returned is dropped.
pub fn reading(console: &Console<'_>, inputs: &[Input]) -> Cleared {
    let size = |input: &Input| match input {
        Input::File(path) => std::fs::metadata(path).map_or(0, |file| file.len()),
        Input::Stdin => 0,
    };
    let bytes: u64 = inputs.iter().map(size).sum();
    let shown = is_shown(console) && bytes >= LARGE;
    Cleared(shown.then(|| Bar::waiting(format!("reading {} MiB", bytes >> 20))))
}

/// A line that is cleared with this.
#[must_use]
pub struct Cleared(#[allow(dead_code, reason = "held for its drop")] Option<Bar>);

fn is_shown(console: &Console<'_>) -> bool {
    !console.quiet && console.messages == MessageFormat::Text && std::io::stderr().is_terminal()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_results_are_those_without_it_in_their_order() {
        for bar in [None, Some(Bar::counting())] {
            let watched = Watched { bar, passes: AtomicU64::new(0) };
            let squares = watched.map((0..1000_u64).collect(), |i| i * i);
            assert_eq!(squares, (0..1000_u64).map(|i| i * i).collect::<Vec<_>>());
            assert!(watched.bar.as_ref().is_none_or(|bar| bar.position() == (1000, Some(1000))));
        }
    }

    #[test]
    fn nothing_is_shown_to_who_wants_quiet() {
        let (mut out, mut err) = (std::io::sink(), std::io::sink());
        let console = Console {
            out: &mut out,
            err: &mut err,
            quiet: true,
            verbose: false,
            messages: MessageFormat::Text,
            color: false,
        };
        assert!(Watched::of(&console).bar.is_none());
        assert!(reading(&console, &[]).0.is_none());
    }
}
