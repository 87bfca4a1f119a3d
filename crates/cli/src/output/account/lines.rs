//! How an account is set: a title, headings, sentences, and rows with a label.

use crate::output::wrap::wrap;
use std::io::{self, Write};

/// Columns of text.
const WIDTH: usize = 96;
/// Columns of a row's label.
const LABEL: usize = 25;

/// Writes wrapped lines.
pub(super) struct Lines<'a> {
    out: &'a mut dyn Write,
}

impl<'a> Lines<'a> {
    pub(super) fn new(out: &'a mut dyn Write) -> Self {
        Self { out }
    }

    pub(super) fn title(&mut self, text: &str) -> io::Result<()> {
        writeln!(self.out, "{text}")
    }

    pub(super) fn heading(&mut self, text: &str) -> io::Result<()> {
        writeln!(self.out, "\n{text}\n{}", "─".repeat(text.chars().count()))
    }

    pub(super) fn say(&mut self, text: &str) -> io::Result<()> {
        writeln!(self.out, "{}", wrap(text, WIDTH, "", ""))
    }

    pub(super) fn plain(&mut self, text: &str) -> io::Result<()> {
        writeln!(self.out, "{}", text.trim_end())
    }

    pub(super) fn row(&mut self, label: &str, text: &str) -> io::Result<()> {
        let indent = " ".repeat(LABEL);
        let first = format!("{label:<LABEL$}");
        let first = if first.chars().count() > LABEL { format!("{first} ") } else { first };
        writeln!(self.out, "{}", wrap(text, WIDTH, &first, &indent))
    }
}
