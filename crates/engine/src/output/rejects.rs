//! Rejected rows as a file to be mended: the header and the rows as they stand, with the place and the reasons behind them.

use crate::ingest::delimited::Layout;
use crate::ingest::rows::Rows;
use crate::ingest::{Ingested, InputLedger, Rejection};
use std::io::{self, Write};

/// Columns that are put behind the rejected rows.
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
    let width = cells(header, layout.delimiter);
    write_row(out, header, 0, &REASON_COLUMNS, *layout)?;
    for rejection in rows {
        let reasons = ingested.reasons(&rejection);
        let because: Vec<String> = reasons.into_iter().map(|(message, hint)| format!("{message} ({hint})")).collect();
        let short = width.saturating_sub(cells(rejection.raw, layout.delimiter));
        write_row(out, rejection.raw, short, &[&ingested.place(rejection.origin), &because.join("; ")], *layout)?;
    }
    Ok(())
}

/// How many cells a row has.
fn cells(raw: &[u8], delimiter: u8) -> usize {
    if let Some(cells) = Rows::new(raw, delimiter, 1).next_row().and_then(|row| row.cells) {
        return cells.len();
    }
    // A quote in it is never closed.
    let mut reader = csv::ReaderBuilder::new().has_headers(false).flexible(true).delimiter(delimiter).from_reader(raw);
    let mut record = csv::ByteRecord::new();
    if reader.read_byte_record(&mut record).unwrap_or(false) { record.len() } else { 0 }
}

/// A row as it stands, the cells it is short of the header, and the cells behind them.
fn write_row(out: &mut dyn Write, raw: &[u8], short: usize, more: &[&str], layout: Layout) -> io::Result<()> {
    out.write_all(raw)?;
    out.write_all(&vec![layout.delimiter; short])?;
    for cell in more {
        write!(out, "{}\"{}\"", char::from(layout.delimiter), cell.replace('"', "\"\""))?;
    }
    out.write_all(layout.line_end().as_bytes())
}
