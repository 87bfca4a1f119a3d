//! A whole works: histories in, judgements out, spread over the processor's cores.

use crate::args::SeriesArgs;
use crate::console::Console;
use crate::error::{Failure, shown};
use crate::ingest::{self, Ingested, ledger};
use crate::progress::{self, Watched};
use crate::settings::Plan;
use groundwall::assess::{Judgement, Register, Terms, assess_fleet};
use groundwall::record::Connection;
use groundwall::table::SeriesTable;

/// What came of a works.
pub struct Fleet<R> {
    /// What was kept of each judgement, in the order of winding, connection and scope.
    pub judged: Vec<R>,
    /// The ledger of the rows; its tests have gone into the judgements.
    pub ingested: Ingested,
}

/// The histories of a plan, parted into series, with what is needed to judge them.
pub struct Works<'p> {
    /// The series, in order of winding, connection and scope.
    pub series: SeriesTable,
    /// The nameplates; empty without a register.
    pub register: &'p Register,
    /// The terms of judgement.
    pub terms: Terms,
    /// The ledger of the rows; its tests have gone into the series.
    pub ingested: Ingested,
}

/// No nameplates: what applies without a register.
static NO_REGISTER: Register = Register::new();

/// Reads the histories of a plan and says what is worth saying beside the result.
///
/// # Errors
///
/// A [`Failure`] when an input cannot be read as a history.
pub fn read<'p>(plan: &'p Plan, console: &mut Console<'_>) -> Result<Works<'p>, Failure> {
    let shown = progress::reading(console, &plan.inputs);
    let mut ingested = ingest::ingest(&plan.inputs, &plan.rules)?;
    drop(shown);
    ledger::remark(console, &ingested, plan.register.as_ref());
    Ok(Works {
        series: std::mem::take(&mut ingested.series),
        register: plan.register.as_ref().map_or(&NO_REGISTER, |register| register.plates()),
        terms: Terms { policy: plan.policy.clone(), as_of: plan.as_of, confidence: plan.confidence },
        ingested,
    })
}

/// Reads the histories of a plan and judges every series. `finish` says what is kept of each judgement.
///
/// # Errors
///
/// A [`Failure`] when an input cannot be read as a history.
pub fn judge<R: Send>(
    plan: &Plan,
    console: &mut Console<'_>,
    finish: impl Fn(Judgement) -> R + Sync + Send,
) -> Result<Fleet<R>, Failure> {
    let works = read(plan, console)?;
    let judged = assess_fleet(&works.series, works.register, &works.terms, &Watched::of(console), finish);
    Ok(Fleet { judged, ingested: works.ingested })
}

/// What is kept of a judgement when one series is looked for.
enum Kept {
    Wanted(Box<Judgement>),
    Other(String),
}

/// Judges all series, for the sake of what similar windings lend, and gives the one that is wanted: of several that fit, the
/// most urgent.
///
/// # Errors
///
/// A [`Failure`] when an input cannot be read, or no series fits; it names the nearest ones.
pub fn one(plan: &Plan, console: &mut Console<'_>, wanted: &SeriesArgs) -> Result<(Judgement, Ingested), Failure> {
    let connection = wanted.connection.as_deref().map(|text| Connection::read(text).to_string());
    let scope = wanted.scope.map(|scope| scope.to_string());
    let fleet = judge(plan, console, |judgement| {
        let series = &judgement.assessment;
        let fits = series.winding == wanted.winding
            && connection.as_ref().is_none_or(|connection| *connection == series.connection)
            && scope.as_ref().is_none_or(|scope| *scope == series.scope);
        if fits { Kept::Wanted(Box::new(judgement)) } else { Kept::Other(series.name()) }
    })?;
    let mut others = Vec::new();
    let mut found: Vec<Judgement> = Vec::new();
    for kept in fleet.judged {
        match kept {
            Kept::Wanted(judgement) => found.push(*judgement),
            Kept::Other(name) => others.push(name),
        }
    }
    let count = found.len();
    let Some(judgement) = found.into_iter().min_by_key(|judgement| judgement.assessment.action) else {
        return Err(not_found(plan, wanted, &others));
    };
    if count > 1 {
        console.remark(&format!(
            "{} was tested in {count} ways; this is {}, the most urgent; --connection and --scope choose another",
            shown(&wanted.winding),
            judgement.assessment.name()
        ));
    }
    Ok((judgement, fleet.ingested))
}

/// Names listed when a winding is not found.
const NAMES_SHOWN: usize = 3;

fn not_found(plan: &Plan, wanted: &SeriesArgs, others: &[String]) -> Failure {
    let files: Vec<String> = plan.inputs.iter().map(ToString::to_string).collect();
    let mut nearest: Vec<&String> = others.iter().collect();
    nearest.sort_by_key(|name| strsim::damerau_levenshtein(&name.to_lowercase(), &wanted.winding.to_lowercase()));
    let nearest: Vec<String> = nearest.into_iter().take(NAMES_SHOWN).map(|name| shown(name)).collect();
    let failure = Failure::usage(format!("{}: no series of winding {} fits", files.join(", "), shown(&wanted.winding)));
    if nearest.is_empty() {
        failure.hint("the histories hold no test at all")
    } else {
        failure.hint(format!("the nearest are {}", nearest.join(", ")))
    }
}
