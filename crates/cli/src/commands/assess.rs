//! `assess`: the main job. Every series judged, most urgent first.

use crate::args::{AssessArgs, AssessFormat, By};
use crate::console::{Console, legibly};
use crate::files::{Input, Target};
use crate::fleet;
use crate::progress::Watched;
use crate::settings::{self, Plan, must_not_overwrite};
use groundwall::assess::{Action, Judgement};
use groundwall_engine::error::{Failure, Status};
use groundwall_engine::fleet::Fleet;
use groundwall_engine::ingest::{Ingested, ledger};
use groundwall_engine::output::csv::Line;
use groundwall_engine::output::{self, Assessment, ListBy};
use groundwall_engine::priors::{self, Priors};
use groundwall_engine::report::plant_page;
use std::io::IsTerminal;

/// Judges the histories.
///
/// # Errors
///
/// A [`Failure`] when an input cannot be read or the output cannot be written.
pub fn run(args: &AssessArgs, console: &mut Console<'_>) -> Result<Status, Failure> {
    must_be_possible(args)?;
    let outputs = [args.out.path(), args.save_priors.as_deref()];
    let plan = Plan::check(&args.history, &outputs)?;
    must_not_overwrite(args.priors.clone().map(Input::File).iter(), &outputs)?;
    let (ingested, most_urgent) = match args.format {
        AssessFormat::Csv if args.by == By::Series => lines(args, &plan, console)?,
        _ => whole(args, &plan, console)?,
    };
    let met = args.fail_on.zip(most_urgent).is_some_and(|(limit, action)| action <= limit);
    Ok(match plan.status(&ingested) {
        Status::Done if met => Status::ActionMet,
        status => status,
    })
}

/// Refuses a form that this program cannot write, or that no terminal shows, before anything is read.
fn must_be_possible(args: &AssessArgs) -> Result<(), Failure> {
    let (what, ending) = match args.format {
        AssessFormat::Xlsx => ("a workbook", "xlsx"),
        AssessFormat::Parquet => ("a Parquet file", "parquet"),
        AssessFormat::Arrow => ("an Arrow file", "arrow"),
        _ => return Ok(()),
    };
    if args.format != AssessFormat::Xlsx && !cfg!(feature = "parquet") {
        return Err(Failure::usage(format!("--format is {ending}; this program was built without such files"))
            .hint("take csv, or a program built with the feature parquet, as the releases are"));
    }
    if args.out == Target::Stdout && std::io::stdout().is_terminal() {
        return Err(Failure::usage(format!("standard output is a terminal; {what} is not text"))
            .hint(format!("name a file with --out, such as --out assessment.{ending}")));
    }
    Ok(())
}

/// The bytes of a Parquet or an Arrow file; none of any other form.
#[cfg(feature = "parquet")]
fn columns(assessment: &Assessment<'_>, format: AssessFormat) -> Result<Vec<u8>, Failure> {
    match format {
        AssessFormat::Parquet => output::arrow::parquet(assessment),
        AssessFormat::Arrow => output::arrow::file(assessment),
        _ => Ok(Vec::new()),
    }
}

/// None: these forms have been refused.
#[cfg(not(feature = "parquet"))]
#[allow(clippy::unnecessary_wraps, reason = "with the feature it can fail")]
const fn columns(_: &Assessment<'_>, _: AssessFormat) -> Result<Vec<u8>, Failure> {
    Ok(Vec::new())
}

/// The ledger, and the most urgent action of all.
type Done = (Ingested, Option<Action>);

/// Judges the histories: as a whole, which may be written down for its parts, or as a part.
fn judge<R: Send>(
    args: &AssessArgs,
    plan: &Plan,
    console: &mut Console<'_>,
    finish: impl Fn(Judgement) -> R + Sync + Send,
) -> Result<(Vec<R>, Ingested), Failure> {
    match (&args.priors, &args.save_priors) {
        (None, None) => fleet::judge(plan, console, finish),
        (Some(path), _) => fleet::judge_under(plan, console, |_, _| settings::priors(path), finish),
        (None, Some(path)) => {
            let learn = |fleet: &Fleet<'_>, console: &mut Console<'_>| {
                let learnt = fleet.learn(&Watched::of(console))?;
                let target = Target::File(path.clone());
                target.write_new(console, args.force, |out| priors::write(out, &learnt))?;
                Ok(Priors { name: path.display().to_string(), learnt })
            };
            fleet::judge_under(plan, console, learn, finish)
        }
    }
}

/// Writes one line per series, and holds no more of it than that.
fn lines(args: &AssessArgs, plan: &Plan, console: &mut Console<'_>) -> Result<Done, Failure> {
    let (judged, ingested) = judge(args, plan, console, |judgement| {
        let series = judgement.assessment;
        (Line::of(&series), ledger::is_unrated(&series))
    })?;
    let unrated = judged.iter().filter(|(_, unrated)| *unrated).count();
    console.remarks(ledger::lacking(&ingested, plan.register.is_some(), unrated));
    let mut lines: Vec<Line> = judged.into_iter().map(|(line, _)| line).collect();
    lines.sort_by_key(|line| line.urgency);
    let most_urgent = lines.first().map(|line| line.urgency.action);
    args.out.write_result(console, args.force, |out| output::csv::write(out, &lines))?;
    Ok((ingested, most_urgent))
}

/// Writes the result as a whole.
fn whole(args: &AssessArgs, plan: &Plan, console: &mut Console<'_>) -> Result<Done, Failure> {
    let (mut series, ingested) = judge(args, plan, console, |judgement| judgement.assessment)?;
    let by = ListBy::from(args.by);
    by.sort(&mut series, |series| series);
    let unrated = series.iter().filter(|series| ledger::is_unrated(series)).count();
    console.remarks(ledger::lacking(&ingested, plan.register.is_some(), unrated));
    let most_urgent = series.iter().map(|series| series.action).min();
    let assessment = Assessment {
        as_of: plan.as_of,
        confidence: plan.confidence,
        policy: &plan.policy,
        inputs: &ingested.inputs,
        by,
        series,
    };
    let columns = columns(&assessment, args.format)?;
    let page = if args.format == AssessFormat::Html { plant_page::list(&assessment)? } else { String::new() };
    let shape = args.out.shape(console);
    args.out.write_result(console, args.force, |out| match args.format {
        AssessFormat::Json => output::json::write(out, &assessment),
        AssessFormat::Xlsx => out.write_all(&output::workbook::bytes(&assessment)?),
        AssessFormat::Csv => output::csv::write(out, &assessment.series.iter().map(Line::of).collect::<Vec<_>>()),
        AssessFormat::Parquet | AssessFormat::Arrow => out.write_all(&columns),
        AssessFormat::Html => out.write_all(page.as_bytes()),
        AssessFormat::Table => legibly(out, shape.color, |out| output::table::write(out, &assessment, &shape)),
    })?;
    if args.format == AssessFormat::Table {
        console.remark(&output::table::cautions());
    }
    Ok((ingested, most_urgent))
}
