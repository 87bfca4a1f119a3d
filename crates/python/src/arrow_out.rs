//! What a run says beside its series, as Arrow tables.

use crate::table::texts;
use arrow_array::RecordBatch;
use arrow_array::builder::{ArrayBuilder, Float64Builder, Int64Builder, ListBuilder, StringBuilder, StructBuilder};
use arrow_schema::{DataType, Field, Fields};
use groundwall::assess::{Evidence, SeriesAssessment};
use groundwall_engine::error::Failure;
use groundwall_engine::ingest::{Ingested, WHOLE_ROW, cells};
use groundwall_engine::output::arrow::table;
use std::sync::Arc;

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
        ("input", texts(inputs.into_iter())),
        ("line", Arc::new(lines.finish())),
        ("row", Arc::new(rows.finish())),
        ("column", texts(columns.into_iter())),
        ("value", texts(values.into_iter())),
        ("rule", texts(rules.into_iter())),
        ("hint", texts(hints.into_iter())),
        ("message", texts(messages.into_iter())),
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
    let refused = || Failure::internal("the findings could not be put into a table");
    let names = |pick: fn(&SeriesAssessment) -> &str| texts(series.iter().map(|series| Some(pick(series).to_owned())));
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
                    Evidence::Unknown => (None, None),
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
