//! The result file: schema `groundwall/assessment/1`.

use super::{Assessment, motor, rules};
use crate::ingest::InputLedger;
use crate::program::write_json;
use crate::summary::in_plain_words;
use groundwall::assess::{Action, SeriesAssessment};
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
    series: Vec<Listed<'a>>,
}

/// A series, and the motor that it belongs to.
#[derive(Serialize)]
struct Listed<'a> {
    motor: &'a str,
    asks_for: String,
    #[serde(flatten)]
    series: &'a SeriesAssessment,
}

#[derive(Serialize)]
struct Summary {
    series: usize,
    actions: Actions,
    overdue: Overdue,
    motors: Option<Motors>,
}

/// The motors of a list by motor, each with the action of its most urgent series.
#[derive(Serialize)]
struct Motors {
    count: usize,
    actions: Actions,
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

impl From<[(Action, usize); 6]> for Actions {
    fn from(counts: [(Action, usize); 6]) -> Self {
        let [hold, plan, recheck, shorten, keep, gather] = counts.map(|(_, count)| count);
        Self { hold, plan, recheck, shorten, keep, gather }
    }
}

/// Writes the result as JSON.
///
/// # Errors
///
/// Whatever the writer says.
pub fn write(out: &mut dyn Write, assessment: &Assessment<'_>) -> io::Result<()> {
    let of_series = |action| (action, assessment.series.iter().filter(|series| series.action == action).count());
    let overdue = || assessment.series.iter().filter_map(|series| series.overdue_days);
    let file = File {
        schema: "groundwall/assessment/1",
        as_of: assessment.as_of.to_string(),
        confidence: assessment.confidence.as_fraction(),
        policy: rules(assessment.policy),
        input: assessment.inputs,
        summary: Summary {
            series: assessment.series.len(),
            actions: Action::ALL.map(of_series).into(),
            overdue: Overdue { series: overdue().count(), longest_days: overdue().max() },
            motors: assessment.motors().map(|count| Motors { count, actions: assessment.counts().into() }),
        },
        series: (assessment.series.iter())
            .map(|series| Listed { motor: motor(&series.winding), asks_for: in_plain_words(series), series })
            .collect(),
    };
    write_json(out, &file)
}
