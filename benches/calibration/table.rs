//! The tallies as a Markdown table.

use std::fmt::{self, Display, Formatter};

use crate::kind::Simulator;
use crate::run::total;
use crate::scoring::Tally;

/// One simulator's table.
pub(crate) struct Table<'a> {
    pub(crate) simulator: &'a Simulator,
    pub(crate) tallies: &'a [Tally],
}

impl Display for Table<'_> {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let all = total(self.tallies);
        writeln!(
            f,
            "| {:<28} | held | before | after | score | baseline held | baseline score | ratio | error | cannot say | alarm | flagged | \
             falls | false falls |",
            self.simulator.name.chars().take(28).collect::<String>()
        )?;
        writeln!(f, "|{}", " --- |".repeat(14))?;
        for (kind, tally) in self.simulator.kinds.iter().zip(self.tallies) {
            row(f, kind.name, tally)?;
        }
        row(f, "**all**", &all)
    }
}

fn row(f: &mut Formatter<'_>, name: &str, t: &Tally) -> fmt::Result {
    write!(f, "| {name:<28} | ")?;
    if t.dated > 0.0 {
        write!(
            f,
            "{:.3} | {:.3} | {:.3} | {:5.2} | {:.2} | {:5.1} | {:.2} | {:4.2} | ",
            t.covered / t.dated,
            t.too_early / t.dated,
            t.too_late / t.dated,
            t.score / t.dated,
            t.baseline_covered / t.dated,
            t.baseline_score / t.dated,
            t.score / t.baseline_score,
            t.median_error(),
        )?;
    } else {
        write!(f, "| | | | | | | | ")?;
    }
    for (part, whole) in [
        (t.cannot_say, t.all),
        (t.false_alarms, t.steady),
        (t.flagged, t.ahead),
        (t.falls_found, t.falls),
        (t.false_falls, t.calm),
    ] {
        if whole > 0.0 {
            write!(f, "{:.3} | ", part / whole)?;
        } else {
            write!(f, "| ")?;
        }
    }
    writeln!(f)
}
