//! Rejected rows as a file to correct: the header and the rows verbatim, followed by the place and the reasons.

use crate::ingest::delimited::Layout;
use crate::ingest::{Ingested, InputLedger, Rejection};
use csv_core::{Reader, ReaderBuilder};
use std::io::{self, Write};

/// Columns that are put after the rejected rows.
const REASON_COLUMNS: [&str; 2] = ["rejected_at", "rejected_because"];

/// Whether rejected rows of the two can stand in one file.
#[must_use]
pub fn share_a_header(one: &InputLedger, other: &InputLedger) -> bool {
    one.header == other.header && one.layout.delimiter == other.layout.delimiter
}

/// Writes the header of an input, and rejected rows of inputs that share it.
///
/// # Errors
///
/// Whatever the writer says.
pub fn write<'a>(
    out: &mut dyn Write,
    ingested: &Ingested,
    first: &InputLedger,
    rows: impl Iterator<Item = Rejection<'a>>,
) -> io::Result<()> {
    let InputLedger { header, layout, .. } = first;
    if layout.bom {
        out.write_all("\u{feff}".as_bytes())?;
    }
    let mut counter = Counter::new(layout.delimiter);
    let width = counter.count(header);
    write_row(out, header, 0, &REASON_COLUMNS, *layout)?;
    for rejection in rows {
        let reasons = ingested.reasons(&rejection);
        let because: Vec<String> = reasons.into_iter().map(|(message, hint)| format!("{message} ({hint})")).collect();
        let short = width.saturating_sub(counter.count(rejection.raw));
        write_row(out, rejection.raw, short, &[&ingested.place(rejection.origin), &because.join("; ")], *layout)?;
    }
    Ok(())
}

/// Counts the cells of rows. It is made once, because that takes longer than many rows.
struct Counter {
    reader: Reader,
    cells: Vec<u8>,
    ends: Vec<usize>,
}

impl Counter {
    fn new(delimiter: u8) -> Self {
        let reader = ReaderBuilder::new().delimiter(delimiter).build();
        Self { reader, cells: Vec::new(), ends: Vec::new() }
    }

    fn count(&mut self, raw: &[u8]) -> usize {
        self.reader.reset();
        // No cell is longer than its text, and there are fewer cells than bytes.
        self.cells.resize(raw.len(), 0);
        self.ends.resize(raw.len() + 1, 0);
        let (_, _, written, count) = self.reader.read_record(raw, &mut self.cells, &mut self.ends);
        let (_, _, _, last) = self.reader.read_record(&[], &mut self.cells[written..], &mut self.ends[count..]);
        count + last
    }
}

/// A row as it stands, the cells it is short of the header, and the cells after them.
fn write_row(out: &mut dyn Write, raw: &[u8], short: usize, more: &[&str], layout: Layout) -> io::Result<()> {
    out.write_all(raw)?;
    out.write_all(&vec![layout.delimiter; short])?;
    for cell in more {
        write!(out, "{}\"{}\"", char::from(layout.delimiter), cell.replace('"', "\"\""))?;
    }
    out.write_all(layout.line_end().as_bytes())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_are_counted_as_the_file_has_them() {
        let mut counter = Counter::new(b';');
        for (row, count) in [
            ("", 0),
            ("P-1", 1),
            ("P-1;2026-01-05;x", 3),
            ("P-1;;", 3),
            ("\"P;1\";\"a\nb\";\"\"", 3),
            ("P-1;\"never closed;5", 2),
            ("P-1;5", 2),
        ] {
            assert_eq!(counter.count(row.as_bytes()), count, "{row}");
        }
    }
}
