//! `check`: reads everything, says what was rejected and why, and can write those rows out to be corrected.

use crate::args::{CheckArgs, TextFormat};
use crate::console::Console;
use crate::files::Target;
use crate::settings::Plan;
use groundwall_engine::error::{Failure, Status};
use groundwall_engine::ingest::{Ingested, InputLedger, Rejection, ledger, reasons, suggest};
use groundwall_engine::output::{register_template, rejects};
use groundwall_engine::program;
use serde::{Serialize, Serializer};
use std::io::{self, Write};

/// Checks the histories.
///
/// # Errors
///
/// A [`Failure`] when an input cannot be read at all or an output cannot be written.
pub fn run(args: &CheckArgs, console: &mut Console<'_>) -> Result<Status, Failure> {
    let outputs = [&args.rejects, &args.register_template].map(|target| target.as_ref().and_then(Target::path));
    let (plan, unreadable_register) = Plan::without_register(&args.history, &outputs)?;
    if args.suggest {
        for input in &plan.inputs {
            let section = suggest::section(&input.to_string(), input.read()?, &plan.rules)?;
            console.print_data(|out| out.write_all(section.as_bytes()))?;
        }
        return Ok(Status::Done);
    }
    let ingested = plan.ingest()?;
    match args.format {
        TextFormat::Text => console.print(|out| write_text(out, &ingested, &plan))?,
        TextFormat::Json => console.print_data(|out| write_json(out, &ingested, &plan))?,
    }
    if let Some(target) = &args.register_template {
        target.write_new(console, args.force, |out| register_template::write(out, &ingested))?;
    }
    if let Some(target) = &args.rejects {
        must_share_a_header(&ingested)?;
        let rows = ingested.rejections.iter();
        let first = ingested.rejections.first().map(|row| ingested.input(&row)).or(ingested.inputs.first());
        target.write_new(console, args.force, |out| {
            first.map_or(Ok(()), |first| rejects::write(out, &ingested, first, rows))
        })?;
    }
    unreadable_register.map_or_else(|| Ok(plan.status(&ingested)), Err)
}

fn write_text(out: &mut dyn Write, ingested: &Ingested, plan: &Plan) -> io::Result<()> {
    for text in &plan.remarks {
        writeln!(out, "{text}")?;
    }
    for input in &ingested.inputs {
        writeln!(out, "{}", ledger::counts(input))?;
        for text in &input.remarks {
            writeln!(out, "{text}")?;
        }
        let left_alone = ledger::left_alone(&input.name(), &input.columns.left_alone);
        let lacks = ledger::lacks_temperatures(input).into_iter().chain(ledger::lacks_checks(input));
        for text in left_alone.into_iter().chain(lacks) {
            writeln!(out, "{text}")?;
        }
    }
    let untested = plan.register.as_ref().and_then(|register| ledger::untested(ingested, register));
    for text in ledger::of_names(ingested, plan.register.as_ref()).into_iter().chain(untested) {
        writeln!(out, "{text}")?;
    }
    match later_tests(ingested, plan) {
        0 => {}
        1 => writeln!(out, "1 test is later than {} and would not be judged", plan.as_of)?,
        count => writeln!(out, "{count} tests are later than {} and would not be judged", plan.as_of)?,
    }
    // A hint that holds for several reasons in a row is given once, after the last of them.
    let (mut reasons, mut grouped) = (reasons::list(ingested).peekable(), false);
    while let Some(reason) = reasons.next() {
        grouped |= reason.is_shared;
        writeln!(out, "{}", reason.message)?;
        if reasons.peek().is_none_or(|next| next.hint != reason.hint) {
            writeln!(out, "hint: {}", reason.hint)?;
        }
    }
    if grouped {
        writeln!(out, "hint: --rejects FILE writes every rejected row with its reason, --format json lists them")?;
    }
    Ok(())
}

fn later_tests(ingested: &Ingested, plan: &Plan) -> usize {
    ingested.series.made_after(plan.as_of)
}

#[derive(Serialize)]
struct Report<'a> {
    schema: &'static str,
    as_of: String,
    input: Vec<InputReport<'a>>,
    later_than_as_of: usize,
    not_in_register: Option<Vec<&'a str>>,
    /// Cells of the register that cannot be read.
    register_unread: Option<Vec<&'a str>>,
    rejected: Rejections<'a>,
}

/// Every rejected row, told as it is written: there may be millions of them.
struct Rejections<'a>(&'a Ingested);

impl Serialize for Rejections<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.0.rejections.iter().map(|rejection| rejection_report(self.0, &rejection)))
    }
}

#[derive(Serialize)]
struct InputReport<'a> {
    #[serde(flatten)]
    ledger: &'a InputLedger,
    sheet: Option<&'a str>,
    columns_left_alone: &'a [String],
    remarks: &'a [String],
}

impl<'a> InputReport<'a> {
    fn of(ledger: &'a InputLedger) -> Self {
        Self {
            ledger,
            sheet: ledger.sheet.as_deref(),
            columns_left_alone: &ledger.columns.left_alone,
            remarks: &ledger.remarks,
        }
    }
}

#[derive(Serialize)]
struct RejectionReport<'a> {
    file: &'a str,
    line: u64,
    faults: Vec<FaultReport<'a>>,
}

#[derive(Serialize)]
struct FaultReport<'a> {
    column: &'a str,
    value: &'a str,
    rule: &'a str,
    hint: &'a str,
    message: String,
}

fn write_json(out: &mut dyn Write, ingested: &Ingested, plan: &Plan) -> io::Result<()> {
    let unregistered = plan.register.as_ref().map(|register| register.unregistered(ingested.series.windings()));
    let report = Report {
        schema: "groundwall/check/1",
        as_of: plan.as_of.to_string(),
        input: ingested.inputs.iter().map(InputReport::of).collect(),
        later_than_as_of: later_tests(ingested, plan),
        not_in_register: unregistered.map(|windings| windings.into_iter().collect()),
        register_unread: plan.register.as_ref().map(|register| {
            register.unread.iter().chain(&register.ignored).map(|problem| problem.message.as_str()).collect()
        }),
        rejected: Rejections(ingested),
    };
    program::write_json(out, &report)
}

fn rejection_report<'a>(ingested: &'a Ingested, rejection: &Rejection<'a>) -> RejectionReport<'a> {
    let faults = rejection.faults.iter().map(|fault| FaultReport {
        column: fault.column,
        value: fault.value,
        rule: fault.rule,
        hint: fault.hint,
        message: ingested.sentence(rejection.origin, fault),
    });
    let ledger = ingested.input(rejection);
    RejectionReport { file: &ledger.file, line: ledger.row(rejection.origin.line), faults: faults.collect() }
}

/// Rows of different headers cannot stand in one file.
fn must_share_a_header(ingested: &Ingested) -> Result<(), Failure> {
    let mut sources = ingested.inputs.iter().filter(|ledger| ledger.rejected > 0);
    let Some(first) = sources.next() else { return Ok(()) };
    match sources.find(|other| !rejects::share_a_header(first, other)) {
        Some(other) => Err(Failure::usage(format!(
            "the headers of {} and {} differ, so their rejected rows cannot be written to one file",
            first.name(),
            other.name()
        ))
        .hint("run check --rejects once for each of them")),
        None => Ok(()),
    }
}
