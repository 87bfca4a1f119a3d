//! The result as an Arrow table, and as the Parquet and Arrow files that hold it.

use super::columns::{COLUMNS, Cell};
use crate::error::Failure;
use arrow_array::builder::{Date32Builder, Float64Builder, Int64Builder, StringBuilder};
use arrow_array::types::Date32Type;
use arrow_array::{ArrayRef, RecordBatch};
use arrow_schema::ArrowError;
use groundwall::assess::SeriesAssessment;
use std::sync::Arc;

/// A column of results being built.
enum Builder {
    Text(StringBuilder),
    Number(Float64Builder),
    Count(Int64Builder),
    Day(Date32Builder),
}

impl Builder {
    /// For a column of cells like this one.
    fn of(cell: &Cell) -> Self {
        match cell {
            Cell::Text(_) => Self::Text(StringBuilder::new()),
            Cell::Number(_) => Self::Number(Float64Builder::new()),
            Cell::Count(_) => Self::Count(Int64Builder::new()),
            Cell::Day(_) => Self::Day(Date32Builder::new()),
        }
    }

    fn push(&mut self, cell: Cell) {
        match (self, cell) {
            (Self::Text(column), Cell::Text(value)) => column.append_option(value),
            (Self::Number(column), Cell::Number(value)) => column.append_option(value),
            (Self::Count(column), Cell::Count(value)) => column.append_option(value.map(i64::from)),
            (Self::Day(column), Cell::Day(value)) => column.append_option(value.map(Date32Type::from_naive_date)),
            // A column is of one kind, whatever its first cell holds.
            (Self::Text(column), _) => column.append_null(),
            (Self::Number(column), _) => column.append_null(),
            (Self::Count(column), _) => column.append_null(),
            (Self::Day(column), _) => column.append_null(),
        }
    }

    fn finish(self) -> ArrayRef {
        match self {
            Self::Text(mut column) => Arc::new(column.finish()),
            Self::Number(mut column) => Arc::new(column.finish()),
            Self::Count(mut column) => Arc::new(column.finish()),
            Self::Day(mut column) => Arc::new(column.finish()),
        }
    }
}

/// One row per series, with the columns of the CSV: texts, 64-bit numbers and counts, days. What is not known is null.
///
/// # Units
///
/// As the name of each column says.
///
/// # Errors
///
/// A [`Failure`] if the library refuses, which no input is known to bring about.
pub fn series(series: &[SeriesAssessment]) -> Result<RecordBatch, Failure> {
    let columns = COLUMNS.iter().map(|column| {
        let mut cells = series.iter().map(column.cell).peekable();
        let mut builder = Builder::of(cells.peek().unwrap_or(&Cell::Text(None)));
        cells.for_each(|cell| builder.push(cell));
        (column.name, builder.finish())
    });
    table(columns.collect())
}

/// A table of these columns, any of which may have nulls.
///
/// # Errors
///
/// A [`Failure`] if the library refuses, as for columns of different lengths.
pub fn table(columns: Vec<(&str, ArrayRef)>) -> Result<RecordBatch, Failure> {
    RecordBatch::try_from_iter_with_nullable(columns.into_iter().map(|(name, column)| (name, column, true)))
        .map_err(refused)
}

/// A refusal of the library that holds the tables, which no input is known to bring about.
#[must_use]
#[allow(clippy::needless_pass_by_value, reason = "it maps errors")]
pub fn refused(error: ArrowError) -> Failure {
    Failure::internal(error.to_string())
}

#[cfg(feature = "parquet")]
mod files {
    use super::{refused, series};
    use crate::error::Failure;
    use crate::output::Assessment;
    use crate::program::Program;
    use arrow_array::RecordBatch;
    use arrow_ipc::writer::FileWriter;
    use arrow_schema::ArrowError;
    use parquet::arrow::ArrowWriter;
    use parquet::basic::{Compression, ZstdLevel};
    use parquet::file::properties::WriterProperties;
    use std::collections::HashMap;
    use std::sync::Arc;

    /// The result as the bytes of a Parquet file, compressed with Zstandard.
    ///
    /// # Errors
    ///
    /// As [`series`].
    pub fn parquet(assessment: &Assessment<'_>) -> Result<Vec<u8>, Failure> {
        let batch = signed(assessment)?;
        let written = || -> Result<Vec<u8>, parquet::errors::ParquetError> {
            let properties =
                WriterProperties::builder().set_compression(Compression::ZSTD(ZstdLevel::default())).build();
            let mut writer = ArrowWriter::try_new(Vec::new(), batch.schema(), Some(properties))?;
            writer.write(&batch)?;
            writer.into_inner()
        };
        written().map_err(|error| refused(ArrowError::from(error)))
    }

    /// The result as the bytes of an Arrow file.
    ///
    /// # Errors
    ///
    /// As [`series`].
    pub fn file(assessment: &Assessment<'_>) -> Result<Vec<u8>, Failure> {
        let batch = signed(assessment)?;
        let written = || {
            let mut writer = FileWriter::try_new(Vec::new(), &batch.schema())?;
            writer.write(&batch)?;
            writer.into_inner()
        };
        written().map_err(refused)
    }

    /// The table, with the program, the day and the confidence in the metadata of its schema.
    fn signed(assessment: &Assessment<'_>) -> Result<RecordBatch, Failure> {
        let batch = series(&assessment.series)?;
        let program = serde_json::to_string(&Program::this()).map_err(|error| Failure::internal(error.to_string()))?;
        let metadata = HashMap::from([
            ("program".to_owned(), program),
            ("as_of".to_owned(), assessment.as_of.to_string()),
            ("confidence".to_owned(), assessment.confidence.as_fraction().to_string()),
        ]);
        let schema = batch.schema().as_ref().clone().with_metadata(metadata);
        RecordBatch::try_new(Arc::new(schema), batch.columns().to_vec()).map_err(refused)
    }
}

#[cfg(feature = "parquet")]
pub use files::{file, parquet};
