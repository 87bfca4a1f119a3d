//! The result file: schema `groundwall/assessment/1`.

use super::{Assessment, rules};
use crate::ingest::InputLedger;
use groundwall::assess::SeriesAssessment;
use groundwall::policy::keys::Value;
use serde::Serialize;
use std::collections::BTreeMap;
use std::io::{self, Write};

#[derive(Serialize)]
struct File<'a> {
    schema: &'static str,
    as_of: String,
    confidence: f64,
    policy: BTreeMap<&'static str, BTreeMap<&'static str, Value>>,
    input: &'a [InputLedger],
    summary: Summary,
    series: &'a [SeriesAssessment],
}

#[derive(Serialize)]
struct Summary {
    series: usize,
    actions: Actions,
    overdue: Overdue,
}

#[derive(Serialize)]
struct Overdue {
    series: usize,
    longest_days: Option<u32>,
}

#[derive(Serialize)]
struct Actions {
    hold: usize,
    plan: usize,
    recheck: usize,
    shorten: usize,
    keep: usize,
    gather: usize,
}

/// Writes the result as JSON.
///
/// # Errors
///
/// Whatever the writer says.
pub fn write(out: &mut dyn Write, assessment: &Assessment<'_>) -> io::Result<()> {
    let [hold, plan, recheck, shorten, keep, gather] = assessment.counts().map(|(_, count)| count);
    let file = File {
        schema: "groundwall/assessment/1",
        as_of: assessment.as_of.to_string(),
        confidence: assessment.confidence.as_fraction(),
        policy: rules(assessment.policy),
        input: assessment.inputs,
        summary: Summary {
            series: assessment.series.len(),
            actions: Actions { hold, plan, recheck, shorten, keep, gather },
            overdue: Overdue { series: assessment.overdue().count(), longest_days: assessment.overdue().max() },
        },
        series: &assessment.series,
    };
    serde_json::to_writer_pretty(&mut *out, &file).map_err(io::Error::from)?;
    writeln!(out)
}
