//! The histories of a plan read and judged, with remarks and progress on the way.

use crate::args::SeriesArgs;
use crate::console::Console;
use crate::progress::{self, Watched};
use crate::settings::Plan;
use groundwall::assess::{Judgement, Terms};
use groundwall_engine::error::{Failure, shown};
use groundwall_engine::fleet::{Fleet, Judged};
use groundwall_engine::ingest::{Ingested, exchanged, ledger};
use groundwall_engine::priors::Priors;

/// Reads the histories of a plan and says what is worth saying beside the result.
///
/// # Errors
///
/// A [`Failure`] when an input cannot be read as a history, or every row of all of them was rejected.
pub fn read<'p>(plan: &'p Plan, console: &mut Console<'_>) -> Result<Fleet<'p>, Failure> {
    let ingested = ingest(plan, console)?;
    Ok(of(plan, ingested))
}

fn of(plan: &Plan, ingested: Ingested) -> Fleet<'_> {
    let terms = Terms { policy: plan.policy.clone(), as_of: plan.as_of, confidence: plan.confidence };
    Fleet::new(ingested, plan.register.as_ref(), terms)
}

fn ingest(plan: &Plan, console: &mut Console<'_>) -> Result<Ingested, Failure> {
    let shown = progress::reading(console, &plan.inputs);
    let mut ingested = plan.ingest()?;
    drop(shown);
    exchanged::must_not_be(&ingested, &plan.rules.tests)?;
    let begun_after = ingested.series.remove_begun_after(plan.as_of);
    console.remarks(plan.remarks.clone());
    console.remarks(ledger::remarks(&ingested, plan.register.as_ref()));
    for input in &ingested.inputs {
        console.detail(|| {
            let columns: Vec<String> = input.columns.known.iter().map(|(_, column)| column.to_string()).collect();
            format!("{}; columns read: {}", ledger::counts(input), columns.join(", "))
        });
    }
    console.detail(|| {
        let register = plan.register.as_ref().map_or_else(
            || "no register".to_owned(),
            |register| format!("{} windings in {}", register.nameplates().len(), register.file),
        );
        format!("judged as of {} with {} confidence and {register}", plan.as_of, plan.confidence)
    });
    ledger::must_hold_a_test(&ingested, plan.strict)?;
    console.remarks(ledger::begun_after(&ingested, begun_after, plan.as_of)?);
    Ok(ingested)
}

/// Reads the histories of a plan and judges every series; windings of the register without a test are reported. `finish` says what is kept of each judgement; the results are in
/// the order of winding, connection and scope.
///
/// # Errors
///
/// As for [`read`].
pub fn judge<R: Send>(
    plan: &Plan,
    console: &mut Console<'_>,
    finish: impl Fn(Judgement) -> R + Sync + Send,
) -> Result<(Vec<R>, Ingested), Failure> {
    let ingested = ingest(plan, console)?;
    console.remarks(plan.register.as_ref().and_then(|register| ledger::untested(&ingested, register)));
    let fleet = of(plan, ingested);
    let judged = fleet.judge(&Watched::of(console), finish);
    Ok((judged, fleet.ingested))
}

/// As [`judge`], but under what `learn` says that the fleet taught, which these histories may be a part of.
///
/// # Errors
///
/// As for [`read`], and when they are no part of that fleet.
pub fn judge_under<R: Send>(
    plan: &Plan,
    console: &mut Console<'_>,
    learn: impl FnOnce(&Fleet<'_>, &mut Console<'_>) -> Result<Priors, Failure>,
    finish: impl Fn(Judgement) -> R + Sync + Send,
) -> Result<(Vec<R>, Ingested), Failure> {
    let fleet = read(plan, console)?;
    let priors = learn(&fleet, console)?;
    let judged = fleet.judge_under(&priors, &Watched::of(console), finish)?;
    Ok((judged, fleet.ingested))
}

/// Judges all series and gives those of one winding that fit, in the order of connection and scope.
///
/// # Errors
///
/// A [`Failure`] when an input cannot be read, or no series fits; it names the nearest ones.
pub fn of_winding(
    plan: &Plan,
    console: &mut Console<'_>,
    wanted: &SeriesArgs,
) -> Result<(Vec<Judged>, Ingested), Failure> {
    let fleet = read(plan, console)?;
    let judged = fleet.of_winding(&Watched::of(console), &wanted.circuit.of(&wanted.winding))?;
    Ok((judged, fleet.ingested))
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
    let judged =
        urgent.ok_or_else(|| Failure::internal(format!("no series of winding {} fits", shown(&wanted.winding))))?;
    if count > 1 {
        console.remark(&format!(
            "{} was tested in {count} ways; this is {}, the most urgent; --connection and --scope choose another",
            shown(&wanted.winding),
            judged.judgement.assessment.name()
        ));
    }
    Ok((judged, ingested))
}
