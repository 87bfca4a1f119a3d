//! `assess`: the main job. Every series judged, most urgent first.

use crate::args::{AssessArgs, AssessFormat};
use crate::console::Console;
use crate::error::{Failure, Status};
use crate::fleet;
use crate::ingest::ledger;
use crate::output::table::Shape;
use crate::output::{self, Assessment};
use crate::settings::Plan;
use crate::sink::Target;
use groundwall::assess::Code;
use std::io::{IsTerminal, Write};

/// Width of a table that goes into a file or a pipe, columns.
const WIDTH_WITHOUT_TERMINAL: usize = 120;

/// Judges the histories.
///
/// # Errors
///
/// A [`Failure`] when an input cannot be read or the output cannot be written.
pub fn run(args: &AssessArgs, console: &mut Console<'_>) -> Result<Status, Failure> {
    if args.format == AssessFormat::Xlsx && args.out == Target::Stdout && std::io::stdout().is_terminal() {
        return Err(Failure::usage("standard output is a terminal; a workbook is not text")
            .hint("name a file with --out, such as --out assessment.xlsx"));
    }
    let plan = Plan::check(&args.history, &[args.out.path()])?;
    let fleet = fleet::judge(&plan, console, |judgement| judgement.assessment)?;
    let mut series = fleet.judged;
    output::by_urgency(&mut series);
    let unrated = series.iter().filter(|one| one.findings.iter().any(|f| f.code == Code::MinimumUnknown)).count();
    ledger::remark_lacks(console, &fleet.ingested, plan.register.as_ref(), unrated);
    let assessment = Assessment {
        as_of: plan.as_of,
        confidence: plan.confidence,
        policy: &plan.policy,
        inputs: &fleet.ingested.inputs,
        series,
    };
    let shape = shape(console, &args.out);
    args.out.write(console.out, |out| match args.format {
        AssessFormat::Table => output::table::write(out, &assessment, &shape),
        AssessFormat::Json => output::json::write(out, &assessment),
        AssessFormat::Csv => output::csv::write(out, &assessment),
        AssessFormat::Xlsx => out.write_all(&output::workbook::bytes(&assessment)?),
    })?;
    if args.format == AssessFormat::Table {
        console.remark(&output::table::cautions());
    }
    let met = args.fail_on.is_some_and(|limit| assessment.series.iter().any(|series| series.action <= limit));
    Ok(match fleet.ingested.status(plan.strict) {
        Status::Done if met => Status::ActionMet,
        status => status,
    })
}

/// The terminal's width, if the table goes to one.
fn shape(console: &Console<'_>, target: &Target) -> Shape {
    let terminal = if *target == Target::Stdout { terminal_size::terminal_size_of(std::io::stdout()) } else { None };
    let width = terminal.map_or(WIDTH_WITHOUT_TERMINAL, |(width, _)| usize::from(width.0));
    Shape { width, color: console.color && *target == Target::Stdout }
}
