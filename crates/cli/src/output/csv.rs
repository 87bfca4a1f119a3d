//! The result as CSV: one line per series, through a frame of typed columns.

use super::Assessment;
use super::frame::frame_with;
use polars::prelude::{CsvWriter, SerWriter};
use std::io::{self, Write};

/// A text that a spreadsheet would run as a formula gets an apostrophe before it.
fn harmless(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r']) { format!("'{text}") } else { text.to_owned() }
}

/// Writes the result as CSV.
///
/// # Errors
///
/// Whatever the writer says.
pub fn write(out: &mut dyn Write, assessment: &Assessment<'_>) -> io::Result<()> {
    let mut frame = frame_with(&assessment.series, |text| harmless(&text)).map_err(io::Error::other)?;
    let mut bytes = Vec::new();
    CsvWriter::new(&mut bytes).finish(&mut frame).map_err(io::Error::other)?;
    out.write_all(&bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_spreadsheet_would_run_is_made_harmless() {
        assert_eq!(harmless("=HYPERLINK(\"x\")"), "'=HYPERLINK(\"x\")");
        assert_eq!(harmless("P-101"), "P-101");
        assert_eq!(harmless("@x"), "'@x");
    }
}
