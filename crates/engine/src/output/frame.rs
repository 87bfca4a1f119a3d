//! The result as a frame of typed columns: what pipelines take.

use super::columns::{COLUMNS, Cell};
use groundwall::assess::SeriesAssessment;
use polars::prelude::{DataFrame, IntoColumn, NamedFrom, PolarsResult, Series};

/// The result as a frame: one row per series, the columns of [`COLUMNS`], unknown is null.
///
/// # Units
///
/// As the name of each column says; texts, 64-bit numbers, 32-bit counts and dates.
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
    let text = |cell| if let Cell::Text(value) = cell { value } else { None };
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
