//! The line on a terminal.

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::time::{Duration, Instant};

/// Work of less time than this shows nothing.
const SHOWN_AFTER: Duration = Duration::from_secs(1);
/// The text of the line.
const LINE: &str = "judging, pass {prefix}: {pos} of {len} {wide_bar} {elapsed}";

/// A line that is cleared when this is dropped.
pub(super) struct Bar {
    line: ProgressBar,
    began: Instant,
}

impl Bar {
    /// Of steps that are counted; hidden for the first second.
    pub(super) fn counting() -> Self {
        let line = ProgressBar::with_draw_target(None, ProgressDrawTarget::hidden());
        let style = ProgressStyle::with_template(LINE).unwrap_or_else(|_| ProgressStyle::default_bar());
        Self { line: line.with_style(style), began: Instant::now() }
    }

    /// A spinner, for work of unknown length.
    pub(super) fn waiting(message: String) -> Self {
        let line = ProgressBar::new_spinner().with_message(message);
        line.enable_steady_tick(Duration::from_millis(200));
        Self { line, began: Instant::now() }
    }

    /// A new pass of so many steps.
    pub(super) fn begin(&self, pass: u64, steps: u64) {
        self.line.set_prefix(pass.to_string());
        self.line.set_length(steps);
        self.line.set_position(0);
    }

    pub(super) fn step(&self) {
        if self.line.is_hidden() && self.began.elapsed() > SHOWN_AFTER {
            self.line.set_draw_target(ProgressDrawTarget::stderr());
        }
        self.line.inc(1);
    }

    #[cfg(test)]
    pub(super) fn position(&self) -> (u64, Option<u64>) {
        (self.line.position(), self.line.length())
    }
}

impl Drop for Bar {
    fn drop(&mut self) {
        self.line.finish_and_clear();
    }
}
