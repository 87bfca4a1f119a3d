//! The result as CSV: one line per series, through a frame of typed columns.

use super::Assessment;
use super::columns::{COLUMNS, Cell};
use groundwall::assess::SeriesAssessment;
use polars::prelude::{CsvWriter, DataFrame, IntoColumn, NamedFrom, PolarsResult, SerWriter, Series};
use std::io::{self, Write};

/// The result as a frame: one row per series, the columns of [`COLUMNS`], unknown is null.
///
/// # Errors
///
/// None in practice: all columns have the same length.
pub fn frame(series: &[SeriesAssessment]) -> PolarsResult<DataFrame> {
    let columns = COLUMNS.iter().map(|column| {
        let cells: Vec<Cell> = series.iter().map(column.cell).collect();
        typed(column.name, cells).into_column()
    });
    DataFrame::new(series.len(), columns.collect())
}

fn typed(name: &str, cells: Vec<Cell>) -> Series {
    match cells.first() {
        Some(Cell::Number(_)) => Series::new(name.into(), cells.into_iter().map(number).collect::<Vec<_>>()),
        Some(Cell::Count(_)) => Series::new(name.into(), cells.into_iter().map(count).collect::<Vec<_>>()),
        Some(Cell::Day(_)) => Series::new(name.into(), cells.into_iter().map(day).collect::<Vec<_>>()),
        Some(Cell::Text(_)) | None => Series::new(name.into(), cells.into_iter().map(text).collect::<Vec<_>>()),
    }
}

fn number(cell: Cell) -> Option<f64> {
    if let Cell::Number(value) = cell { value } else { None }
}

fn count(cell: Cell) -> Option<u32> {
    if let Cell::Count(value) = cell { value } else { None }
}

fn day(cell: Cell) -> Option<chrono::NaiveDate> {
    if let Cell::Day(value) = cell { value } else { None }
}

fn text(cell: Cell) -> Option<String> {
    if let Cell::Text(value) = cell { value.map(|text| harmless(&text)) } else { None }
}

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
    let mut frame = frame(&assessment.series).map_err(io::Error::other)?;
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
