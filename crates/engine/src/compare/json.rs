//! The comparison as JSON: schema `groundwall/comparison/1`.

use super::{Change, Comparison, Course};
use crate::program::write_json;
use serde::Serialize;
use std::io::{self, Write};

#[derive(Serialize)]
struct File<'a> {
    schema: &'static str,
    before: String,
    now: String,
    summary: Summary,
    series: Vec<ChangeView<'a>>,
}

#[derive(Serialize)]
struct Summary {
    more_urgent: usize,
    less_urgent: usize,
    new: usize,
    gone: usize,
    tested_since: usize,
    overdue_since: usize,
    unchanged: usize,
}

#[derive(Serialize)]
struct ChangeView<'a> {
    #[serde(flatten)]
    change: &'a Change,
    why: String,
}

/// Writes the comparison.
///
/// # Errors
///
/// Whatever the writer says.
pub fn write(out: &mut dyn Write, comparison: &Comparison) -> io::Result<()> {
    let with = |is: fn(&Change) -> bool| comparison.changes.iter().filter(|change| is(change)).count();
    let file = File {
        schema: "groundwall/comparison/1",
        before: comparison.before.to_string(),
        now: comparison.now.to_string(),
        summary: Summary {
            more_urgent: comparison.count(Course::MoreUrgent),
            less_urgent: comparison.count(Course::LessUrgent),
            new: comparison.count(Course::New),
            gone: comparison.count(Course::Gone),
            tested_since: with(|change| change.tested_since),
            overdue_since: with(|change| change.overdue_since),
            unchanged: comparison.unchanged,
        },
        series: comparison.changes.iter().map(|change| ChangeView { change, why: change.why() }).collect(),
    };
    write_json(out, &file)
}
