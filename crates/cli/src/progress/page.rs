//! The line where a page in a browser shows it: text on standard error that begins with a carriage return, written at once.

use std::io::{Write as _, stderr};
use std::sync::atomic::{AtomicU64, Ordering};

/// How often a pass is reported.
const REPORTS: u64 = 50;

/// A line that the page shows until the next one comes or the run ends.
pub(super) struct Bar {
    pass: AtomicU64,
    steps: AtomicU64,
    done: AtomicU64,
}

impl Bar {
    /// Of steps that are counted.
    pub(super) fn counting() -> Self {
        Self { pass: 0.into(), steps: 0.into(), done: 0.into() }
    }

    /// A spinner, for work of unknown length.
    pub(super) fn waiting(message: String) -> Self {
        show(&message);
        Self::counting()
    }

    /// A new pass of so many steps.
    pub(super) fn begin(&self, pass: u64, steps: u64) {
        self.pass.store(pass, Ordering::Relaxed);
        self.steps.store(steps, Ordering::Relaxed);
        self.done.store(0, Ordering::Relaxed);
    }

    pub(super) fn step(&self) {
        let done = 1 + self.done.fetch_add(1, Ordering::Relaxed);
        let steps = self.steps.load(Ordering::Relaxed);
        if done % (steps / REPORTS).max(1) == 0 {
            show(&format!("judging, pass {}: {done} of {steps}", self.pass.load(Ordering::Relaxed)));
        }
    }
}

fn show(text: &str) {
    // Nobody may be looking; the result does not depend on it.
    let _ = stderr().write_all(format!("\r{text}").as_bytes());
}
