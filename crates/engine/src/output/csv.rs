//! The result as CSV: one line per series.
//!
//! A fleet of a quarter of a million series is written without holding its assessments: each becomes its line as soon as it is
//! judged, and the lines are put in order in the end.

use super::columns::{COLUMNS, Cell};
use csv::WriterBuilder;
use groundwall::assess::{SeriesAssessment, Urgency};
use std::borrow::Cow;
use std::io::{self, Write};

/// A series as it stands in the result.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// What decides where it stands.
    pub urgency: Urgency,
    text: Box<[u8]>,
}

impl Line {
    /// The line of a series.
    #[must_use]
    pub fn of(series: &SeriesAssessment) -> Self {
        let mut number = ryu::Buffer::new();
        let text = record(COLUMNS.iter().map(|column| match (column.cell)(series) {
            Cell::Text(text) => text.map_or(Cow::Borrowed(""), |text| harmless(&text).into_owned().into()),
            Cell::Number(value) => value.map_or("", |value| number.format(value)).to_owned().into(),
            Cell::Count(value) => value.map_or_else(String::new, |value| value.to_string()).into(),
            Cell::Day(day) => day.map_or_else(String::new, |day| day.to_string()).into(),
        }));
        // A copy that fits: a text cut short keeps the room it had.
        Self { urgency: series.urgency(), text: text.as_slice().into() }
    }
}

/// Whether a spreadsheet would run a text as a formula; some take the full-width signs too.
#[must_use]
pub fn would_run(text: &str) -> bool {
    text.starts_with(['=', '+', '-', '@', '\t', '\r', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}'])
}

/// A text that a spreadsheet would run as a formula gets an apostrophe before it.
#[must_use]
pub fn harmless(text: &str) -> Cow<'_, str> {
    if would_run(text) { format!("'{text}").into() } else { text.into() }
}

/// A name that a spreadsheet would run as a formula and that must come back as it was gets a blank before it, which reading passes over.
#[must_use]
pub fn kept_whole(name: &str) -> Cow<'_, str> {
    if would_run(name) { format!(" {name}").into() } else { name.into() }
}

fn record<'c>(cells: impl Iterator<Item = Cow<'c, str>>) -> Vec<u8> {
    let mut writer = WriterBuilder::new().buffer_capacity(LINE).from_writer(Vec::with_capacity(LINE));
    for cell in cells {
        // Writing into memory cannot fail.
        let _ = writer.write_field(cell.as_bytes());
    }
    let _ = writer.write_record(None::<&[u8]>);
    writer.into_inner().unwrap_or_default()
}

/// Room for a usual line, bytes.
const LINE: usize = 1024;

/// The error of the writer below, which says what to do: made an [`io::Error`] as usual it would lose its kind.
#[must_use]
pub fn reason(error: csv::Error) -> io::Error {
    match error.into_kind() {
        csv::ErrorKind::Io(error) => error,
        other => io::Error::other(format!("{other:?}")),
    }
}

/// Writes the header and the lines in the order given.
///
/// # Errors
///
/// Whatever the writer says.
pub fn write(out: &mut dyn Write, lines: &[Line]) -> io::Result<()> {
    out.write_all(&record(COLUMNS.iter().map(|column| column.name.into())))?;
    lines.iter().try_for_each(|line| out.write_all(&line.text))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_spreadsheet_would_run_is_made_harmless() {
        assert_eq!(harmless("=HYPERLINK(\"x\")"), "'=HYPERLINK(\"x\")");
        assert_eq!(harmless("P-101"), "P-101");
        assert_eq!(harmless("@x"), "'@x");
        assert_eq!(harmless("\u{ff1d}1+1"), "'\u{ff1d}1+1");
    }

    #[test]
    fn a_name_that_would_run_comes_back_as_it_was() {
        for name in ["=HYPERLINK(\"x\")", "+1", "-1", "@SUM(A1)"] {
            let cell = kept_whole(name);
            assert!(!would_run(&cell));
            assert_eq!(cell.trim(), name);
        }
        assert_eq!(kept_whole("P-101"), "P-101");
    }

    #[test]
    fn cells_are_quoted_where_they_must_be() {
        let cells = ["a", "", "b,c", "d \"e\"", "f\ng"];
        assert_eq!(record(cells.map(Cow::from).into_iter()), b"a,,\"b,c\",\"d \"\"e\"\"\",\"f\ng\"\n");
    }
}
