//! How an account is set: a title, headings, sentences, and rows with a label.

use crate::output::wrap::wrap;
use std::io::{self, Write};
use textwrap::core::display_width;

/// Columns of text at most, and at least.
const WIDTH: (usize, usize) = (96, 60);
/// Columns of a row's label.
const LABEL: usize = 25;

/// Writes wrapped lines.
pub(super) struct Lines<'a> {
    out: &'a mut dyn Write,
    width: usize,
}

impl<'a> Lines<'a> {
    /// Lines for paper or a terminal of so many columns.
    pub(super) fn new(out: &'a mut dyn Write, width: usize) -> Self {
        Self { out, width: width.clamp(WIDTH.1, WIDTH.0) }
    }

    pub(super) fn title(&mut self, text: &str) -> io::Result<()> {
        writeln!(self.out, "{text}")
    }

    pub(super) fn heading(&mut self, text: &str) -> io::Result<()> {
        writeln!(self.out, "\n{text}\n{}", "─".repeat(text.chars().count()))
    }

    pub(super) fn say(&mut self, text: &str) -> io::Result<()> {
        writeln!(self.out, "{}", wrap(text, self.width, "", ""))
    }

    /// A line of a table with a remark after it, or below where the line has no room.
    pub(super) fn remarked(&mut self, line: &str, remark: Option<&str>) -> io::Result<()> {
        let Some(remark) = remark else { return self.plain(line) };
        let one = format!("{}  {remark}", line.trim_end());
        if display_width(&one) <= self.width {
            return self.plain(&one);
        }
        self.plain(line)?;
        writeln!(self.out, "{}", wrap(remark, self.width, "  ", "  "))
    }

    pub(super) fn plain(&mut self, text: &str) -> io::Result<()> {
        writeln!(self.out, "{}", text.trim_end())
    }

    pub(super) fn row(&mut self, label: &str, text: &str) -> io::Result<()> {
        let indent = " ".repeat(LABEL);
        let first = format!("{label:<LABEL$}");
        let first = if first.chars().count() > LABEL { format!("{first} ") } else { first };
        writeln!(self.out, "{}", wrap(text, self.width, &first, &indent))
    }
}
