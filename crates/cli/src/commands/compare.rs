//! `compare`: what changed between two results, or between two days of the same histories.

use crate::args::{CompareArgs, TextFormat};
use crate::console::{Console, legibly};
use crate::files::Input;
use crate::fleet;
use crate::progress::Watched;
use crate::settings::{Plan, must_not_overwrite};
use chrono::NaiveDate;
use groundwall::assess::{Judgement, LeftOut};
use groundwall_engine::compare::{self, Comparison, Snapshot};
use groundwall_engine::error::{Failure, Status};
use groundwall_engine::fleet::Fleet;
use groundwall_engine::output::{Assessment, ListBy};

/// Compares.
///
/// # Errors
///
/// A [`Failure`] when an input cannot be read, when it is not clear which two results are meant, or when the output cannot be
/// written.
pub fn run(args: &CompareArgs, console: &mut Console<'_>) -> Result<Status, Failure> {
    let (comparison, status) = match args.since {
        Some(since) => of_days(args, since, console)?,
        None => (of_files(args)?, Status::Done),
    };
    let width = args.out.shape(console).text_width();
    args.out.write_result(console, args.force, |out| match args.format {
        TextFormat::Text => legibly(out, false, |out| compare::words::write(out, &comparison, width)),
        TextFormat::Json => compare::json::write(out, &comparison),
    })?;
    Ok(status)
}

fn of_files(args: &CompareArgs) -> Result<Comparison, Failure> {
    let [before, now] = args.history.inputs.as_slice() else {
        let count = args.history.inputs.len();
        return Err(Failure::usage(format!(
            "two result files are compared, an older and a newer one; named here: {count}"
        ))
        .hint("to compare two days of the same histories, name the earlier one: --since 2026-08-25"));
    };
    if [before, now].iter().all(|input| **input == Input::Stdin) {
        return Err(Failure::usage("standard input (-) is named more than once; it can be read only once")
            .hint("save one of the inputs to a file and name that"));
    }
    must_not_overwrite([before, now].into_iter().chain(&args.history.settings), &[args.out.path()])?;
    let read = |input: &Input| Snapshot::read(&input.to_string(), &input.read()?);
    match (read(before), read(now)) {
        (Ok(older), Ok(newer)) if older.as_of > newer.as_of => Err(Failure::usage(format!(
            "{before} is as of {}, later than {now}, as of {}: the older result comes first",
            older.as_of, newer.as_of
        ))
        .hint(format!("write compare {now} {before}"))),
        (Ok(older), Ok(newer)) => Ok(Comparison::new(&older, &newer)),
        (Err(one), Err(other)) => Err(one.and(other)),
        (Err(failure), _) | (_, Err(failure)) => Err(failure),
    }
}

fn of_days(args: &CompareArgs, since: NaiveDate, console: &mut Console<'_>) -> Result<(Comparison, Status), Failure> {
    let plan = Plan::check(&args.history, &[args.out.path()])?;
    if since >= plan.as_of {
        return Err(Failure::usage(format!(
            "--since is {since}, and the newer day is {}; the older one must lie before it",
            plan.as_of
        ))
        .hint("name an earlier day with --since, or a later one with --as-of"));
    }
    let mut fleet = fleet::read(&plan, console)?;
    let now = snapshot(&fleet, &plan, console);
    fleet.terms.as_of = since;
    let before = snapshot(&fleet, &plan, console);
    Ok((Comparison::new(&before, &now), fleet.ingested.status(plan.strict)))
}

/// The series on the day of the terms. One without a test until then was not there yet.
fn snapshot(fleet: &Fleet<'_>, plan: &Plan, console: &Console<'_>) -> Snapshot {
    let was_there =
        |judgement: &Judgement| judgement.tests.iter().any(|test| test.left_out != Some(LeftOut::AfterAsOf));
    let judged = fleet.judge(&Watched::of(console), |judgement| was_there(&judgement).then_some(judgement.assessment));
    let mut series: Vec<_> = judged.into_iter().flatten().collect();
    ListBy::Series.sort(&mut series, |series| series);
    Snapshot::of(&Assessment {
        as_of: fleet.terms.as_of,
        confidence: plan.confidence,
        policy: &plan.policy,
        inputs: &fleet.ingested.inputs,
        by: ListBy::Series,
        series,
    })
}
