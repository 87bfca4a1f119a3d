//! Arrow tables as tables of cells.
//!
//! Texts are read where they are, whatever their layout (plain, large, views, dictionaries). Columns of numbers and times are
//! brought to one type for each kind first: eight bytes a cell at the most, and never text.

use super::cells::{Batches, CellRows, CellTable, RowText};
use arrow_array::array::*;
use arrow_array::cast::AsArray;
use arrow_array::types::{Date32Type, Float32Type, Float64Type, Int64Type, TimestampMicrosecondType, UInt64Type};
use arrow_array::{ArrayRef, RecordBatch};
use arrow_cast::cast;
use arrow_schema::{ArrowError, DataType, Schema, SchemaRef, TimeUnit};
use memchr::memchr2;
use std::io;
use std::sync::Arc;

/// The cells of one column in one batch.
enum Cells {
    Missing,
    Text(StringArray),
    LargeText(LargeStringArray),
    TextView(StringViewArray),
    /// Each cell is one of a few.
    Choice {
        keys: Int64Array,
        choices: Box<Cells>,
    },
    Number(Float64Array),
    Single(Float32Array),
    Whole(Int64Array),
    Natural(UInt64Array),
    Day(Date32Array),
    Moment(TimestampMicrosecondArray),
    Truth(BooleanArray),
}

/// Some rows of a table.
pub(super) struct Batch {
    columns: Vec<Cells>,
    height: usize,
}

impl Batch {
    /// The rows of a record batch.
    ///
    /// # Errors
    ///
    /// An [`ArrowError`] for a batch that is not what it says.
    pub(super) fn of(batch: &RecordBatch) -> Result<Self, ArrowError> {
        if batch.num_rows() == 0 {
            // Producers leave anything in the columns of an empty batch.
            return Ok(Self { columns: Vec::new(), height: 0 });
        }
        let columns = batch.columns().iter().map(Cells::of).collect::<Result<_, _>>()?;
        Ok(Self { columns, height: batch.num_rows() })
    }
}

impl CellRows for Batch {
    fn height(&self) -> usize {
        self.height
    }

    fn has_line_breaks(&self) -> bool {
        self.columns.iter().any(|cells| cells.any_text(&|text| memchr2(b'\n', b'\r', text).is_some()))
    }

    fn write(&self, row: usize, out: &mut RowText) {
        self.columns.iter().for_each(|cells| cells.write(row, out));
    }
}

/// An Arrow table in memory.
pub struct ArrowCells {
    schema: SchemaRef,
    batches: Vec<Arc<Batch>>,
}

impl ArrowCells {
    /// The table of these batches.
    ///
    /// # Errors
    ///
    /// An [`ArrowError`] for batches that are not what they say.
    pub fn new(batches: &[RecordBatch], schema: SchemaRef) -> Result<Self, ArrowError> {
        let batches = batches.iter().map(|batch| Batch::of(batch).map(Arc::new)).collect::<Result<_, _>>()?;
        Ok(Self { schema, batches })
    }
}

impl CellTable for ArrowCells {
    fn header(&self) -> Vec<String> {
        header(&self.schema)
    }

    fn unusable(&self) -> Option<(String, String)> {
        unusable(&self.schema)
    }

    fn batches(&self) -> Batches {
        Box::new(self.batches.clone().into_iter().map(|batch| io::Result::Ok(batch as Arc<dyn CellRows>)))
    }
}

/// The names of the columns.
pub(super) fn header(schema: &Schema) -> Vec<String> {
    schema.fields().iter().map(|field| field.name().clone()).collect()
}

/// The first column whose type holds no cells, and that type.
pub(super) fn unusable(schema: &Schema) -> Option<(String, String)> {
    let field = schema.fields().iter().find(|field| !is_usable(field.data_type()))?;
    Some((field.name().clone(), field.data_type().to_string()))
}

fn is_usable(kind: &DataType) -> bool {
    use DataType as D;
    match kind {
        D::Dictionary(_, of) => is_usable(of) && !matches!(**of, D::Dictionary(..)),
        // A moment with a zone is of another day in another place; the day of a test is the one on its sheet.
        D::Timestamp(_, zone) => zone.is_none(),
        D::Null | D::Boolean | D::Float16 | D::Float32 | D::Float64 | D::Date32 | D::Date64 => true,
        D::Utf8 | D::LargeUtf8 | D::Utf8View => true,
        D::Decimal32(..) | D::Decimal64(..) | D::Decimal128(..) | D::Decimal256(..) => true,
        other => other.is_integer(),
    }
}

impl Cells {
    fn of(column: &ArrayRef) -> Result<Self, ArrowError> {
        use DataType as D;
        let to = |kind: D| cast(column, &kind);
        Ok(match column.data_type() {
            kind if !is_usable(kind) => Self::Missing,
            D::Null => Self::Missing,
            D::Utf8 => Self::Text(checked(column)?.as_string::<i32>().clone()),
            D::LargeUtf8 => Self::LargeText(checked(column)?.as_string::<i64>().clone()),
            D::Utf8View => Self::TextView(checked(column)?.as_string_view().clone()),
            D::Dictionary(..) => {
                let dictionary = column.as_any_dictionary();
                let keys = cast(dictionary.keys(), &D::Int64)?.as_primitive::<Int64Type>().clone();
                Self::Choice { keys, choices: Box::new(Self::of(dictionary.values())?) }
            }
            D::Boolean => Self::Truth(column.as_boolean().clone()),
            D::Float64 => Self::Number(column.as_primitive::<Float64Type>().clone()),
            D::Float16 | D::Float32 => Self::Single(to(D::Float32)?.as_primitive::<Float32Type>().clone()),
            D::UInt64 => Self::Natural(column.as_primitive::<UInt64Type>().clone()),
            D::Date32 | D::Date64 => Self::Day(to(D::Date32)?.as_primitive::<Date32Type>().clone()),
            D::Timestamp(..) => {
                let moments = to(D::Timestamp(TimeUnit::Microsecond, None))?;
                Self::Moment(moments.as_primitive::<TimestampMicrosecondType>().clone())
            }
            kind if kind.is_integer() => Self::Whole(to(D::Int64)?.as_primitive::<Int64Type>().clone()),
            // Decimal numbers have their digits as text already.
            _ => Self::LargeText(to(D::LargeUtf8)?.as_string::<i64>().clone()),
        })
    }

    fn write(&self, row: usize, out: &mut RowText) {
        match self {
            Self::Missing => out.missing(),
            Self::Text(texts) => text(texts, row, out),
            Self::LargeText(texts) => text(texts, row, out),
            Self::TextView(texts) => text(texts, row, out),
            Self::Choice { keys, choices } => match valid(keys, row).and_then(|key| usize::try_from(key).ok()) {
                Some(key) if key < choices.len() => choices.write(key, out),
                Some(_) => out.unreadable(),
                None => out.missing(),
            },
            Self::Number(numbers) => put(valid(numbers, row), out, RowText::number),
            Self::Single(numbers) => put(valid(numbers, row), out, RowText::single),
            Self::Whole(numbers) => put(valid(numbers, row).map(i128::from), out, RowText::integer),
            Self::Natural(numbers) => put(valid(numbers, row).map(i128::from), out, RowText::integer),
            Self::Day(days) => put(valid(days, row).map(|_| days.value_as_date(row)), out, |out, day| match day {
                Some(day) => out.day(day),
                None => out.unreadable(),
            }),
            Self::Moment(moments) => {
                put(valid(moments, row).map(|_| moments.value_as_datetime(row)), out, |out, at| match at {
                    Some(at) => out.moment(at),
                    None => out.unreadable(),
                });
            }
            Self::Truth(truths) => {
                put((row < truths.len() && truths.is_valid(row)).then(|| truths.value(row)), out, RowText::truth)
            }
        }
    }

    fn len(&self) -> usize {
        match self {
            Self::Missing => 0,
            Self::Text(cells) => cells.len(),
            Self::LargeText(cells) => cells.len(),
            Self::TextView(cells) => cells.len(),
            Self::Choice { keys, .. } => keys.len(),
            Self::Number(cells) => cells.len(),
            Self::Single(cells) => cells.len(),
            Self::Whole(cells) => cells.len(),
            Self::Natural(cells) => cells.len(),
            Self::Day(cells) => cells.len(),
            Self::Moment(cells) => cells.len(),
            Self::Truth(cells) => cells.len(),
        }
    }

    fn any_text(&self, is: &impl Fn(&[u8]) -> bool) -> bool {
        match self {
            Self::Text(texts) => is(within(texts)),
            Self::LargeText(texts) => is(within(texts)),
            Self::TextView(texts) => texts.iter().flatten().any(|text| is(text.as_bytes())),
            Self::Choice { choices, .. } => choices.any_text(is),
            _ => false,
        }
    }
}

/// A column of texts, looked through: its producer may be any program.
fn checked(column: &ArrayRef) -> Result<&ArrayRef, ArrowError> {
    column.to_data().validate_full().map(|()| column)
}

/// The bytes of all texts of a column.
fn within<O: OffsetSizeTrait>(texts: &GenericStringArray<O>) -> &[u8] {
    let offsets = texts.value_offsets();
    let (first, last) = (offsets.first().map_or(0, |at| at.as_usize()), offsets.last().map_or(0, |at| at.as_usize()));
    texts.value_data().get(first..last).unwrap_or_default()
}

fn valid<T: arrow_array::types::ArrowPrimitiveType>(values: &PrimitiveArray<T>, row: usize) -> Option<T::Native> {
    (row < values.len() && values.is_valid(row)).then(|| values.value(row))
}

fn text<'a>(texts: impl StringArrayType<'a>, row: usize, out: &mut RowText) {
    put((row < texts.len() && texts.is_valid(row)).then(|| texts.value(row)), out, RowText::text);
}

fn put<V>(value: Option<V>, out: &mut RowText, write: impl FnOnce(&mut RowText, V)) {
    match value {
        Some(value) => write(out, value),
        None => out.missing(),
    }
}
