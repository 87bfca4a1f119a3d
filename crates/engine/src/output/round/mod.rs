//! Forms of the next round: one file each. All take the same [`Planned`].

pub mod csv;
pub mod json;
pub mod page;
pub mod sheet;
pub mod table;
pub mod workbook;

use crate::ingest::InputLedger;
use crate::legible::clean;
use crate::summary::{overdue_in_words, span_in_words};
use groundwall::round::{Line, Round};

/// A round and the histories it was planned from.
#[derive(Clone, Copy)]
pub struct Planned<'a> {
    /// The tests to be made.
    pub round: &'a Round,
    /// The ledger of the histories, whose columns the sheet takes over.
    pub inputs: &'a [InputLedger],
}

/// Where a machine stands: site and area as far as they are known.
#[must_use]
pub fn place(line: &Line) -> String {
    let parts = [&line.nameplate.site, &line.nameplate.area];
    parts.into_iter().flatten().map(|part| clean(part)).collect::<Vec<_>>().join(", ")
}

/// The counts of a round in one sentence.
#[must_use]
pub fn summary(round: &Round) -> String {
    let due = match round.lines.len() {
        0 => "no test is".to_owned(),
        1 => "1 test is".to_owned(),
        count => format!("{count} tests are"),
    };
    let later = match round.not_due {
        0 => "none is due later".to_owned(),
        1 => "1 series is due later".to_owned(),
        count => format!("{count} series are due later"),
    };
    let days: Vec<u32> = round.lines.iter().filter_map(days_late).collect();
    let overdue = overdue_in_words(&days, round.lines.len()).map_or_else(String::new, |words| format!(" {words}."));
    format!("As of {}, {due} due until {}; {later}.{overdue}", round.as_of, round.until)
}

/// For how many days a test is overdue; none where it is not, or where the winding was never tested.
fn days_late(line: &Line) -> Option<u32> {
    line.assessment.as_ref()?.overdue_days
}

/// By when a test is due: the day, or for how long it has been overdue.
fn due(line: &Line) -> String {
    match days_late(line) {
        Some(days) => format!("overdue {}", span_in_words(days)),
        None => line.due.by.to_string(),
    }
}
