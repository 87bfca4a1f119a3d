//! `explain`: one judgement from the cell to the action.

use crate::args::ExplainArgs;
use crate::console::{Console, legibly};
use crate::fleet;
use crate::settings::Plan;
use groundwall_engine::error::{Failure, Status};
use groundwall_engine::output::account;

/// Explains one judgement.
///
/// # Errors
///
/// A [`Failure`] when an input cannot be read, the winding is not in it, or the output cannot be written.
pub fn run(args: &ExplainArgs, console: &mut Console<'_>) -> Result<Status, Failure> {
    let plan = Plan::check(&args.history, &[args.out.path()])?;
    let (judged, ingested) = fleet::one(&plan, console, &args.series)?;
    let shape = args.out.shape(console);
    args.out.write_result(console, args.force, |out| {
        legibly(out, shape.color, |out| account::write(out, &judged, &plan.policy, &shape))
    })?;
    Ok(plan.status(&ingested))
}
