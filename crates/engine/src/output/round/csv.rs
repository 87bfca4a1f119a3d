//! The sheet to fill in as CSV.
//!
//! No cell is one that a spreadsheet would run as a formula. Guidance gets an apostrophe, as results do. The name of a winding
//! must come back as it was: it gets a blank before it, which spreadsheets take for text, and which reading passes over.

use super::super::columns::Cell;
use super::super::csv::{harmless, kept_whole, reason};
use super::Planned;
use super::sheet::{GUIDES, given, to_fill_in};
use csv::WriterBuilder;
use groundwall::round::Line;
use std::io::{self, Write};

/// Writes the header and one row for each test.
///
/// # Errors
///
/// Whatever the writer says.
pub fn write(out: &mut dyn Write, planned: &Planned<'_>) -> io::Result<()> {
    let round = planned.round;
    let fill = to_fill_in(planned.inputs, &round.lines);
    let mut writer = WriterBuilder::new().from_writer(out);
    let header = fill.iter().map(ToString::to_string).chain(GUIDES.iter().map(|guide| guide.name.to_owned()));
    writer.write_record(header).map_err(reason)?;
    for line in &round.lines {
        let identity = fill
            .iter()
            .map(|column| given(*column, line).map_or_else(String::new, |text| kept_whole(&text).into_owned()));
        writer.write_record(identity.chain(GUIDES.iter().map(|guide| guidance(guide.cell, line)))).map_err(reason)?;
    }
    writer.flush()
}

fn guidance(cell: fn(&Line) -> Cell, line: &Line) -> String {
    match cell(line) {
        Cell::Text(text) => text.map_or_else(String::new, |text| harmless(&text).into_owned()),
        Cell::Number(value) => value.map_or_else(String::new, |value| value.to_string()),
        Cell::Count(value) => value.map_or_else(String::new, |value| value.to_string()),
        Cell::Day(day) => day.map_or_else(String::new, |day| day.to_string()),
    }
}
