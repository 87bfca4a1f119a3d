//! A whole works: histories in, judgements out, spread over the processor's cores.

use crate::args::SeriesArgs;
use crate::console::Console;
use crate::error::{Failure, shown};
use crate::ingest::{self, Ingested, exchanged, ledger};
use crate::progress::{self, Watched};
use crate::settings::Plan;
use groundwall::assess::{Judgement, Register, SeriesAssessment, Terms, assess_fleet};
use groundwall::record::Connection;
use groundwall::series::{Series, SeriesKey};
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
/// A [`Failure`] when an input cannot be read as a history, or every row of all of them was rejected.
pub fn read<'p>(plan: &'p Plan, console: &mut Console<'_>) -> Result<Works<'p>, Failure> {
    let shown = progress::reading(console, &plan.inputs);
    let mut ingested = ingest::ingest(&plan.inputs, &plan.rules)?;
    drop(shown);
    exchanged::must_not_be(&ingested, &plan.rules.tests)?;
    ledger::remark(console, &ingested, plan.register.as_ref());
    ledger::must_hold_a_test(&ingested, plan.strict)?;
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
/// As for [`read`].
pub fn judge<R: Send>(
    plan: &Plan,
    console: &mut Console<'_>,
    finish: impl Fn(Judgement) -> R + Sync + Send,
) -> Result<Fleet<R>, Failure> {
    let works = read(plan, console)?;
    let judged = assess_fleet(&works.series, works.register, &works.terms, &Watched::of(console), finish);
    Ok(Fleet { judged, ingested: works.ingested })
}

/// What is kept of a judgement when the series of one winding are looked for.
enum Kept {
    Wanted(Box<Judgement>),
    Other(String),
}

/// A judged series with the rows that it was made from.
pub struct Judged {
    /// The judgement.
    pub judgement: Judgement,
    /// Its rows, in time order.
    pub series: Series,
}

/// Judges all series, for the sake of what similar windings lend, and gives those of one winding that fit, in the order of
/// connection and scope.
///
/// # Errors
///
/// A [`Failure`] when an input cannot be read, or no series fits; it names the nearest ones.
pub fn of_winding(
    plan: &Plan,
    console: &mut Console<'_>,
    wanted: &SeriesArgs,
) -> Result<(Vec<Judged>, Ingested), Failure> {
    let connection = wanted.circuit.connection.as_deref().map(Connection::read);
    let fits = |key: &SeriesKey| {
        key.winding == wanted.winding
            && connection.as_ref().is_none_or(|connection| *connection == key.connection)
            && wanted.circuit.scope.is_none_or(|scope| scope == key.scope)
    };
    let works = read(plan, console)?;
    let table = &works.series;
    let rows: Vec<Series> = (0..table.len()).filter(|i| fits(&table.key(*i))).map(|i| table.series(i)).collect();
    let is_wanted = |series: &SeriesAssessment| {
        rows.iter().any(|row| {
            row.key.winding == series.winding
                && row.key.connection.to_string() == series.connection
                && row.key.scope.to_string() == series.scope
        })
    };
    let judged = assess_fleet(table, works.register, &works.terms, &Watched::of(console), |judgement| {
        let series = &judgement.assessment;
        if is_wanted(series) { Kept::Wanted(Box::new(judgement)) } else { Kept::Other(series.name()) }
    });
    let (mut found, mut others) = (Vec::new(), Vec::new());
    for kept in judged {
        match kept {
            Kept::Wanted(judgement) => found.push(*judgement),
            Kept::Other(name) => others.push(name),
        }
    }
    if found.is_empty() {
        return Err(not_found(plan, wanted, &others));
    }
    // Both are in the order of their keys.
    let judged = found.into_iter().zip(rows).map(|(judgement, series)| Judged { judgement, series });
    Ok((judged.collect(), works.ingested))
}

/// As [`of_winding`], but of several series that fit only the most urgent.
///
/// # Errors
///
/// As for [`of_winding`].
pub fn one(plan: &Plan, console: &mut Console<'_>, wanted: &SeriesArgs) -> Result<(Judged, Ingested), Failure> {
    let (found, ingested) = of_winding(plan, console, wanted)?;
    let count = found.len();
    let urgent = found.into_iter().min_by_key(|judged| judged.judgement.assessment.action);
    let Some(judged) = urgent else { return Err(not_found(plan, wanted, &[])) };
    if count > 1 {
        console.remark(&format!(
            "{} was tested in {count} ways; this is {}, the most urgent; --connection and --scope choose another",
            shown(&wanted.winding),
            judged.judgement.assessment.name()
        ));
    }
    Ok((judged, ingested))
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
