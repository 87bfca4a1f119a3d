//! `round`: what to test next, and the sheet to fill in.

use crate::args::{RoundArgs, RoundFormat};
use crate::console::{Console, legibly};
use crate::files::Target;
use crate::fleet;
use crate::progress::Watched;
use crate::settings::Plan;
use chrono::{Days, NaiveDate};
use groundwall::round::plan_round;
use groundwall_engine::error::{Failure, Status};
use groundwall_engine::output::round::{self, Planned};
use groundwall_engine::output::table;
use std::io::IsTerminal;

/// Days that a round covers by default: the usual interval between tests.
pub const USUAL_DAYS: u64 = 91;

/// Plans the round.
///
/// # Errors
///
/// A [`Failure`] when an input cannot be read, the last day lies before the first, or the output cannot be written.
pub fn run(args: &RoundArgs, console: &mut Console<'_>) -> Result<Status, Failure> {
    if args.format == RoundFormat::Xlsx && args.out == Target::Stdout && std::io::stdout().is_terminal() {
        return Err(Failure::usage("standard output is a terminal; a workbook is not text")
            .hint("name a file with --out, such as --out round.xlsx"));
    }
    let plan = Plan::check(&args.history, &[args.out.path()])?;
    let until = last_day(args.until, plan.as_of)?;
    let plant = fleet::read(&plan, console)?;
    let round = plan_round(plant.series.to_vec(), &plant.register, &plant.terms, until, &Watched::of(console));
    let planned = Planned { round: &round, inputs: &plant.ingested.inputs };
    let page = if args.format == RoundFormat::Html { round::page::text(&planned, args.full)? } else { String::new() };
    let shape = args.out.shape(console);
    // A sheet may have been filled in since it was written.
    args.out.write_new(console, args.force, |out| match args.format {
        RoundFormat::Table => legibly(out, shape.color, |out| round::table::write(out, &planned, &shape)),
        RoundFormat::Csv => round::csv::write(out, &planned),
        RoundFormat::Xlsx => out.write_all(&round::workbook::bytes(&planned)?),
        RoundFormat::Html => out.write_all(page.as_bytes()),
        RoundFormat::Json => round::json::write(out, &planned),
    })?;
    if args.format == RoundFormat::Table {
        console.remark(&table::cautions());
    }
    Ok(plan.status(&plant.ingested))
}

/// The last day of the round.
fn last_day(until: Option<NaiveDate>, as_of: NaiveDate) -> Result<NaiveDate, Failure> {
    match until {
        Some(until) if until < as_of => Err(Failure::usage(format!(
            "--until is {until}, before the as-of date {as_of}; a round is about the days to come"
        ))
        .hint("name a later day with --until, or an earlier one with --as-of")),
        Some(until) => Ok(until),
        None => Ok(as_of.checked_add_days(Days::new(USUAL_DAYS)).unwrap_or(as_of)),
    }
}
