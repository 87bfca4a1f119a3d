//! `policy`: writes the commented template.

use crate::args::PolicyArgs;
use crate::console::Console;
use groundwall_engine::error::{Failure, Status};
use groundwall_engine::policy_file;

/// Writes the template.
///
/// # Errors
///
/// A [`Failure`] when it cannot be written.
pub fn run(args: &PolicyArgs, console: &mut Console<'_>) -> Result<Status, Failure> {
    args.out.write(console.out, policy_file::write_template)?;
    Ok(Status::Done)
}
