//! `policy`: writes the commented template, and never over a policy that somebody has edited.

use crate::args::PolicyArgs;
use crate::console::Console;
use groundwall_engine::error::{Failure, Status};
use groundwall_engine::policy_file;

/// Writes the template.
///
/// # Errors
///
/// A [`Failure`] when it cannot be written, or when another file is there already and `--force` is not said.
pub fn run(args: &PolicyArgs, console: &mut Console<'_>) -> Result<Status, Failure> {
    args.out.write_new(console, args.force, policy_file::write_template)?;
    Ok(Status::Done)
}
