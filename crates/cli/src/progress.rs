//! How far long work is: one line on standard error that goes away when the work is done.
//!
//! It is shown only on a terminal, never with `--quiet`, and only for work that has taken a second already, so that nothing
//! flickers where the result is there at once.

use crate::args::MessageFormat;
use crate::console::Console;
use crate::files::Input;
use groundwall::assess::InEach;
use groundwall_engine::spread::AllCores;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::io::IsTerminal;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};

/// Work of less time than this shows nothing.
const SHOWN_AFTER: Duration = Duration::from_secs(1);
/// Histories of fewer bytes than this are read within about a second.
const LARGE: u64 = 200 << 20;
/// What stands on the line.
const LINE: &str = "judging, pass {prefix}: {pos} of {len} {wide_bar} {elapsed}";

/// Spreads the work over all cores and shows how far it is.
pub struct Watched {
    /// None where nothing is to be shown.
    bar: Option<ProgressBar>,
    began: Instant,
    passes: AtomicU64,
}

impl Watched {
    /// For the work of a command.
    #[must_use]
    pub fn of(console: &Console<'_>) -> Self {
        let bar = is_shown(console).then(|| {
            let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::hidden());
            bar.with_style(ProgressStyle::with_template(LINE).unwrap_or_else(|_| ProgressStyle::default_bar()))
        });
        Self { bar, began: Instant::now(), passes: AtomicU64::new(0) }
    }

    fn step(&self, bar: &ProgressBar) {
        if bar.is_hidden() && self.began.elapsed() > SHOWN_AFTER {
            bar.set_draw_target(ProgressDrawTarget::stderr());
        }
        bar.inc(1);
    }
}

impl Drop for Watched {
    fn drop(&mut self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }
}

impl InEach for Watched {
    fn in_each<T: Send, R: Send>(&self, things: Vec<T>, f: impl Fn(T) -> R + Sync + Send) -> Vec<R> {
        let Some(bar) = &self.bar else { return AllCores.in_each(things, f) };
        bar.set_prefix((1 + self.passes.fetch_add(1, Ordering::Relaxed)).to_string());
        bar.set_length(things.len() as u64);
        bar.set_position(0);
        let watched = |thing| {
            let result = f(thing);
            self.step(bar);
            result
        };
        AllCores.in_each(things, watched)
    }
}

/// Shows that histories are being read, if they are large; the line goes away with what is given back.
pub fn reading(console: &Console<'_>, inputs: &[Input]) -> Cleared {
    let size = |input: &Input| match input {
        Input::File(path) => std::fs::metadata(path).map_or(0, |file| file.len()),
        Input::Stdin => 0,
    };
    let bytes: u64 = inputs.iter().map(size).sum();
    Cleared((is_shown(console) && bytes >= LARGE).then(|| {
        let bar = ProgressBar::new_spinner().with_message(format!("reading {} MiB", bytes >> 20));
        bar.enable_steady_tick(Duration::from_millis(200));
        bar
    }))
}

/// A line that goes away with this.
#[must_use]
pub struct Cleared(Option<ProgressBar>);

impl Drop for Cleared {
    fn drop(&mut self) {
        if let Some(bar) = &self.0 {
            bar.finish_and_clear();
        }
    }
}

fn is_shown(console: &Console<'_>) -> bool {
    !console.quiet && console.messages == MessageFormat::Text && std::io::stderr().is_terminal()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_results_are_those_without_it_in_their_order() {
        let hidden = ProgressBar::with_draw_target(None, ProgressDrawTarget::hidden());
        for bar in [None, Some(hidden)] {
            let watched = Watched { bar, began: Instant::now(), passes: AtomicU64::new(0) };
            let squares = watched.in_each((0..1000_u64).collect(), |i| i * i);
            assert_eq!(squares, (0..1000_u64).map(|i| i * i).collect::<Vec<_>>());
            assert!(watched.bar.as_ref().is_none_or(|bar| (bar.position(), bar.length()) == (1000, Some(1000))));
        }
    }

    #[test]
    fn nothing_is_shown_to_who_wants_quiet() {
        let (mut out, mut words) = (std::io::sink(), std::io::sink());
        let console = Console {
            out: &mut out,
            words: &mut words,
            quiet: true,
            verbose: false,
            messages: MessageFormat::Text,
            color: false,
        };
        assert!(Watched::of(&console).bar.is_none());
        assert!(reading(&console, &[]).0.is_none());
    }
}
