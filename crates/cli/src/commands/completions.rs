//! `completions`: what a shell needs to complete our commands and options, from the same definitions as the help.

use crate::args::{Cli, CompletionsArgs};
use crate::console::Console;
use clap::CommandFactory;
use groundwall_engine::error::{Failure, Status};

/// Writes the script.
///
/// # Errors
///
/// A [`Failure`] when the output cannot be written.
pub fn run(args: &CompletionsArgs, console: &mut Console<'_>) -> Result<Status, Failure> {
    let mut script = Vec::new();
    let mut command = Cli::command();
    let name = command.get_name().to_owned();
    clap_complete::generate(args.shell, &mut command, name, &mut script);
    args.out.write_new(console, args.force, |out| out.write_all(&script))?;
    Ok(Status::Done)
}
