//! Parquet and Arrow files: tables of typed cells, decoded batch by batch while they are read.
//!
//! The bytes of the file are held, the rows are not: a file is decoded once to see whether a row takes several lines, and once
//! to read it.
//!
//! # References
//!
//! Apache Parquet file format (magic numbers `PAR1`, `PARE`), Apache Arrow columnar format (`ARROW1`, and the continuation
//! marker `FFFFFFFF` of streams).

use super::cells::CellTable;
use crate::error::Failure;
use std::sync::Arc;

/// What a file is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    Parquet,
    /// Arrow with an index of its batches.
    Arrow,
    /// Arrow as it is sent over a line.
    ArrowStream,
}

impl Kind {
    fn of(bytes: &[u8]) -> Option<Self> {
        [
            (&b"PAR1"[..], Self::Parquet),
            (b"PARE", Self::Parquet),
            (b"ARROW1\0\0", Self::Arrow),
            (b"\xff\xff\xff\xff", Self::ArrowStream),
        ]
        .into_iter()
        .find_map(|(mark, kind)| bytes.starts_with(mark).then_some(kind))
    }

    const fn name(self) -> &'static str {
        match self {
            Self::Parquet => "a Parquet file",
            Self::Arrow => "an Arrow file",
            Self::ArrowStream => "an Arrow stream",
        }
    }
}

/// Whether the first bytes are those of a Parquet or an Arrow file.
#[must_use]
pub fn is_columnar(bytes: &[u8]) -> bool {
    Kind::of(bytes).is_some()
}

/// The table in a Parquet or an Arrow file.
///
/// # Errors
///
/// A [`Failure`] when the file is damaged, or when this program was built without the feature `parquet`.
#[cfg(feature = "parquet")]
pub fn open(file: &str, bytes: Vec<u8>) -> Result<Arc<dyn CellTable>, Failure> {
    files::Table::open(file, bytes).map(|table| Arc::new(table) as Arc<dyn CellTable>)
}

/// As with the feature `parquet`: this program says that it cannot read the file.
///
/// # Errors
///
/// Always.
#[cfg(not(feature = "parquet"))]
#[allow(clippy::needless_pass_by_value, reason = "with the feature the bytes are kept")]
pub fn open(file: &str, bytes: Vec<u8>) -> Result<Arc<dyn CellTable>, Failure> {
    let name = Kind::of(&bytes).map_or("a table of columns", Kind::name);
    Err(Failure::usage(format!("{file}: this is {name}, and this program was built without reading such files")).hint(
        "give the table as CSV or as a workbook, in Python as a table, or use a program built with the feature parquet",
    ))
}

#[cfg(feature = "parquet")]
mod files {
    use super::Kind;
    use crate::error::{Failure, shown};
    use crate::ingest::arrow::{Batch, header, unusable};
    use crate::ingest::cells::{Batches, CellRows, CellTable};
    use arrow_array::RecordBatch;
    use arrow_ipc::reader::{FileReader, StreamReader};
    use arrow_schema::{ArrowError, SchemaRef};
    use bytes::Bytes;
    use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
    use std::io::{self, Cursor};
    use std::panic::{AssertUnwindSafe, catch_unwind};
    use std::sync::Arc;

    /// So many rows of a Parquet file are decoded at once.
    const ROWS_AT_ONCE: usize = 1 << 10;

    /// The table in a file.
    pub(super) struct Table {
        kind: Kind,
        bytes: Bytes,
        schema: SchemaRef,
    }

    /// The batches of a file.
    type Decoded = Box<dyn Iterator<Item = Result<RecordBatch, ArrowError>> + Send>;

    impl Table {
        /// # Errors
        ///
        /// A [`Failure`] when the file is damaged, or claims more rows than it can hold.
        pub(super) fn open(file: &str, bytes: Vec<u8>) -> Result<Self, Failure> {
            let kind = Kind::of(&bytes).unwrap_or(Kind::Parquet);
            let bytes = Bytes::from(bytes);
            match caught(|| decode(kind, &bytes)) {
                Ok((schema, _)) => Ok(Self { kind, bytes, schema }),
                Err(error) => {
                    let why = shown(&reason(&error));
                    Err(Failure::usage(format!("{file}: this is {} that cannot be read: {why}", kind.name()))
                        .hint("write it again without encryption, or give the table as CSV"))
                }
            }
        }
    }

    impl CellTable for Table {
        fn header(&self) -> Vec<String> {
            header(&self.schema)
        }

        fn unusable(&self) -> Option<(String, String)> {
            unusable(&self.schema)
        }

        fn batches(&self) -> Batches {
            let kind = self.kind;
            let damaged = move |error: ArrowError| {
                let why = reason(&error);
                io::Error::new(io::ErrorKind::InvalidData, format!("it is {} that is damaged: {why}", kind.name()))
            };
            let mut decoded = match caught(|| decode(kind, &self.bytes)) {
                Ok((_, decoded)) => decoded,
                Err(error) => return Box::new(std::iter::once(Err(damaged(error)))),
            };
            let next = move || {
                let batch =
                    caught(|| decoded.next().transpose()?.map(|batch| Batch::of(&batch)).transpose()).transpose()?;
                Some(batch.map(|batch| Arc::new(batch) as Arc<dyn CellRows>).map_err(damaged))
            };
            // Nothing is read after the first error.
            let mut failed = false;
            Box::new(std::iter::from_fn(next).take_while(move |batch| !std::mem::replace(&mut failed, batch.is_err())))
        }
    }

    /// What the libraries say. They promise an error for damaged bytes; should one break off all the same, that is an error too.
    fn caught<T>(read: impl FnOnce() -> Result<T, ArrowError>) -> Result<T, ArrowError> {
        let broke_off = |_| Err(ArrowError::ParseError("its reader broke off".to_owned()));
        catch_unwind(AssertUnwindSafe(read)).unwrap_or_else(broke_off)
    }

    /// An error without the kinds that the libraries put before it.
    fn reason(error: &ArrowError) -> String {
        let text = error.to_string();
        text.rsplit("rror: ").next().unwrap_or_default().to_owned()
    }

    fn decode(kind: Kind, bytes: &Bytes) -> Result<(SchemaRef, Decoded), ArrowError> {
        let bytes = bytes.clone();
        Ok(match kind {
            Kind::Parquet => {
                let size = bytes.len();
                let builder = ParquetRecordBatchReaderBuilder::try_new(bytes)?.with_batch_size(ROWS_AT_ONCE);
                let rows = builder.metadata().file_metadata().num_rows();
                // A column of one value takes next to nothing; dates and readings do not.
                let most = 1_000_000 + 100 * i64::try_from(size).unwrap_or(i64::MAX / 100);
                if rows > most {
                    let claim = format!("it has {rows} rows, and a file of its size has at most {most}");
                    return Err(ArrowError::ParseError(claim));
                }
                (builder.schema().clone(), Box::new(builder.build()?))
            }
            Kind::Arrow => {
                let reader = FileReader::try_new(Cursor::new(bytes), None)?;
                (reader.schema(), Box::new(reader))
            }
            Kind::ArrowStream => {
                let reader = StreamReader::try_new(Cursor::new(bytes), None)?;
                (reader.schema(), Box::new(reader))
            }
        })
    }
}

#[cfg(test)]
mod tests;
