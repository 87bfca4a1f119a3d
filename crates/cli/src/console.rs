//! The two streams a command writes to: data to standard output, messages to standard error.

use clap::ValueEnum;
use groundwall_engine::error::Failure;
use groundwall_engine::legible::Legible;
use std::io::{self, Write};

/// Width of a table that goes into a file or a pipe, columns.
const WIDTH_WITHOUT_TERMINAL: usize = 132;
/// Width of a terminal that does not say its own.
const WIDTH_OF_TERMINAL: usize = 80;

/// Forms of remarks and failures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum MessageFormat {
    /// For people
    Text,
    /// For programs: one JSON object a line
    Json,
}

/// Where a command writes.
pub struct Console<'a> {
    /// Standard output: data.
    pub out: &'a mut dyn Write,
    /// Standard error: messages.
    pub err: &'a mut dyn Write,
    /// Whether remarks are kept back. Failures never are.
    pub quiet: bool,
    /// Whether to report how files were read.
    pub verbose: bool,
    /// Form of remarks and failures.
    pub messages: MessageFormat,
    /// Whether standard output may be coloured.
    pub color: bool,
}

impl Console<'_> {
    /// Says something beside the result.
    pub fn remark(&mut self, text: &str) {
        if !self.quiet {
            let (text, hint) = match text.split_once("\nhint: ") {
                Some((text, hint)) => (text, Some(hint)),
                None => (text, None),
            };
            self.message("remark", text, hint);
        }
    }

    /// Reports a detail, if it was asked for (`-v`).
    pub fn detail(&mut self, text: impl FnOnce() -> String) {
        if self.verbose {
            self.remark(&text());
        }
    }

    /// Reports why a run ended.
    pub fn failure(&mut self, failure: &Failure) {
        match self.messages {
            MessageFormat::Text => {
                let _ = failure.print(self.err);
            }
            MessageFormat::Json => {
                for problem in failure.problems() {
                    self.message("problem", &problem.message, problem.hint.as_deref());
                }
            }
        }
    }

    fn message(&mut self, kind: &str, text: &str, hint: Option<&str>) {
        // Nobody may be listening; the result does not depend on it.
        let _ = match (self.messages, hint) {
            (MessageFormat::Json, _) => {
                let object = serde_json::json!({ "kind": kind, "message": text, "hint": hint }).to_string();
                writeln!(self.err, "{}", groundwall_engine::legible::legible_json(&object))
            }
            (MessageFormat::Text, Some(hint)) => writeln!(self.err, "{text}\nhint: {hint}"),
            (MessageFormat::Text, None) => writeln!(self.err, "{text}"),
        };
    }

    /// Says several things beside the result.
    pub fn remarks(&mut self, texts: impl IntoIterator<Item = String>) {
        texts.into_iter().for_each(|text| self.remark(&text));
    }

    /// Writes text for people to standard output.
    ///
    /// # Errors
    ///
    /// As [`Console::print_data`].
    pub fn print(&mut self, fill: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> Result<(), Failure> {
        let color = self.color;
        self.print_data(|out| legibly(out, color, fill))
    }

    /// Writes data for programs to standard output.
    ///
    /// # Errors
    ///
    /// A [`Failure`] when the output cannot be written; a reader that went away is none.
    pub fn print_data(&mut self, fill: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> Result<(), Failure> {
        let mut out = io::BufWriter::new(&mut *self.out);
        Failure::unless_unread(fill(&mut out).and_then(|()| out.flush()), Failure::unprintable)
    }
}

/// Writes text for people: whatever it says, it steers no terminal.
///
/// # Errors
///
/// That of `fill` or of the writer.
pub fn legibly(
    out: &mut dyn Write,
    color: bool,
    fill: impl FnOnce(&mut dyn Write) -> io::Result<()>,
) -> io::Result<()> {
    let mut text = Legible::new(out, color);
    fill(&mut text)?;
    text.flush()
}

/// Width of a table: of the terminal, or of a file or a pipe.
#[must_use]
pub fn width_of_table(at_terminal: bool) -> usize {
    if at_terminal { width_of_terminal() } else { WIDTH_WITHOUT_TERMINAL }
}

/// The width that `COLUMNS` sets, else the terminal's own.
fn width_of_terminal() -> usize {
    let said = std::env::var("COLUMNS").ok().and_then(|columns| columns.trim().parse().ok());
    said.filter(|columns| *columns > 0).or_else(own_width).unwrap_or(WIDTH_OF_TERMINAL)
}

#[cfg(not(target_family = "wasm"))]
fn own_width() -> Option<usize> {
    terminal_size::terminal_size_of(io::stdout()).map(|(width, _)| usize::from(width.0))
}

#[cfg(target_family = "wasm")]
fn own_width() -> Option<usize> {
    None
}
