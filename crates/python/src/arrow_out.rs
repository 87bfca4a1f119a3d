//! Results as Arrow tables.

use arrow_array::builder::{
    ArrayBuilder, Date32Builder, Float64Builder, Int64Builder, ListBuilder, StringBuilder, StructBuilder,
};
use arrow_array::types::Date32Type;
use arrow_array::{ArrayRef, RecordBatch};
use arrow_schema::{ArrowError, DataType, Field, Fields};
use groundwall::assess::{Evidence, SeriesAssessment};
use groundwall_engine::error::Failure;
use groundwall_engine::ingest::{Ingested, WHOLE_ROW, cells};
use groundwall_engine::output::columns::{COLUMNS, Cell};
use std::sync::Arc;

/// A column on its way.
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
            // The cell of another kind that holds nothing, or a value as text.
            (Self::Text(column), cell) => column.append_option(in_words(cell)),
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

fn in_words(cell: Cell) -> Option<String> {
    match cell {
        Cell::Text(value) => value,
        Cell::Number(value) => value.map(|value| value.to_string()),
        Cell::Count(value) => value.map(|value| value.to_string()),
        Cell::Day(value) => value.map(|value| value.to_string()),
    }
}

fn table(columns: Vec<(&str, ArrayRef)>) -> Result<RecordBatch, Failure> {
    RecordBatch::try_from_iter_with_nullable(columns.into_iter().map(|(name, column)| (name, column, true)))
        .map_err(ours)
}

/// A refusal of the library that holds the tables, which no input is known to bring about.
pub(crate) fn ours(error: ArrowError) -> Failure {
    Failure::ours(error.to_string())
}

/// The flat form of the result: one row per series, as the command line's CSV.
pub(crate) fn series(series: &[SeriesAssessment]) -> Result<RecordBatch, Failure> {
    let columns = COLUMNS.iter().map(|column| {
        let mut cells = series.iter().map(column.cell).peekable();
        let mut builder = Builder::of(cells.peek().unwrap_or(&Cell::Text(None)));
        cells.for_each(|cell| builder.push(cell));
        (column.name, builder.finish())
    });
    table(columns.collect())
}

/// A column of texts.
fn text(values: impl Iterator<Item = Option<String>>) -> ArrayRef {
    let mut column = StringBuilder::new();
    values.for_each(|value| column.append_option(value));
    Arc::new(column.finish())
}

/// One row for each thing wrong with a rejected row.
pub(crate) fn rejected(ingested: &Ingested, is_table: impl Fn(&str) -> bool) -> Result<RecordBatch, Failure> {
    let (mut lines, mut rows) = (Int64Builder::new(), Int64Builder::new());
    let (mut inputs, mut columns, mut values) = (Vec::new(), Vec::new(), Vec::new());
    let (mut rules, mut hints, mut messages) = (Vec::new(), Vec::new(), Vec::new());
    for rejection in ingested.rejections.iter() {
        let (ledger, origin) = (ingested.input(&rejection), rejection.origin);
        let line = ledger.row(origin.line);
        let is_table = is_table(&ledger.file);
        let row = cells::row_of(line).filter(|_| is_table);
        for fault in &rejection.faults {
            let hint = if is_table { cells::hint(fault.column, fault.hint) } else { fault.hint };
            inputs.push(Some(ledger.name().into_owned()));
            lines.append_option(i64::try_from(line).ok());
            rows.append_option(row.and_then(|row| i64::try_from(row).ok()));
            columns.push((fault.column != WHOLE_ROW).then(|| fault.column.to_owned()));
            values.push(Some(fault.value.to_owned()));
            rules.push(Some(fault.rule.to_owned()));
            hints.push(Some(hint.to_owned()));
            messages.push(Some(ingested.sentence(origin, fault)));
        }
    }
    table(vec![
        ("input", text(inputs.into_iter())),
        ("line", Arc::new(lines.finish())),
        ("row", Arc::new(rows.finish())),
        ("column", text(columns.into_iter())),
        ("value", text(values.into_iter())),
        ("rule", text(rules.into_iter())),
        ("hint", text(hints.into_iter())),
        ("message", text(messages.into_iter())),
    ])
}

/// The fields of a finding.
fn finding_fields() -> Fields {
    let evidence = DataType::Struct(evidence_fields());
    Fields::from(vec![
        Field::new("code", DataType::Utf8, true),
        Field::new("message", DataType::Utf8, true),
        Field::new("source", DataType::Utf8, true),
        Field::new("evidence", DataType::List(Arc::new(Field::new("item", evidence, true))), true),
    ])
}

fn evidence_fields() -> Fields {
    Fields::from(vec![
        Field::new("name", DataType::Utf8, true),
        Field::new("number", DataType::Float64, true),
        Field::new("text", DataType::Utf8, true),
    ])
}

/// One row per series with all its findings, as the command line's JSON has them.
pub(crate) fn findings(series: &[SeriesAssessment]) -> Result<RecordBatch, Failure> {
    let refused = || Failure::ours("the findings could not be put into a table");
    let names = |pick: fn(&SeriesAssessment) -> &str| text(series.iter().map(|series| Some(pick(series).to_owned())));
    let mut lists = ListBuilder::new(StructBuilder::from_fields(finding_fields(), 0));
    for series in series {
        let one = lists.values();
        for finding in &series.findings {
            let texts = [finding.code.word(), &finding.message, &finding.source];
            for (at, value) in texts.into_iter().enumerate() {
                one.field_builder::<StringBuilder>(at).ok_or_else(refused)?.append_value(value);
            }
            let all = one.field_builder::<ListBuilder<Box<dyn ArrayBuilder>>>(3).ok_or_else(refused)?;
            let evidence = all.values().as_any_mut().downcast_mut::<StructBuilder>().ok_or_else(refused)?;
            for (name, value) in &finding.evidence {
                let (number, text) = match value {
                    Evidence::Number(number) => (Some(*number), None),
                    Evidence::Text(text) => (None, Some(text)),
                };
                evidence.field_builder::<StringBuilder>(0).ok_or_else(refused)?.append_value(name);
                evidence.field_builder::<Float64Builder>(1).ok_or_else(refused)?.append_option(number);
                evidence.field_builder::<StringBuilder>(2).ok_or_else(refused)?.append_option(text);
                evidence.append(true);
            }
            all.append(true);
            one.append(true);
        }
        lists.append(true);
    }
    table(vec![
        ("winding", names(|series| &series.winding)),
        ("connection", names(|series| &series.connection)),
        ("scope", names(|series| &series.scope)),
        ("findings", Arc::new(lists.finish())),
    ])
}
