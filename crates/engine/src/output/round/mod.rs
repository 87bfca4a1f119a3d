//! Forms of the next round: one file each. All take the same [`Planned`].

pub mod csv;
pub mod json;
pub mod page;
pub mod sheet;
pub mod table;
pub mod workbook;

use crate::chart::font::clean;
use crate::ingest::InputLedger;
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
    format!("As of {}, {due} due until {}; {later}.", round.as_of, round.until)
}
