//! `manual`: the manual pages, one for the program and one for each command, from the same definitions as the help.

use crate::args::{Cli, ManualArgs};
use crate::console::Console;
use crate::files::made;
use clap::{Command, CommandFactory};
use clap_mangen::Man;
use groundwall_engine::error::{Failure, Status};
use std::io;

/// Section of the manual for commands that people run.
const SECTION: &str = "1";

/// Writes the pages: all of them, or none.
///
/// # Errors
///
/// A [`Failure`] when a page cannot be written.
pub fn run(args: &ManualArgs, console: &mut Console<'_>) -> Result<Status, Failure> {
    let pages = pages().map_err(|error| Failure::internal(error.to_string()))?;
    let files: Vec<(&str, &[u8])> = pages.iter().map(|(name, text)| (name.as_str(), text.as_slice())).collect();
    console.remarks(made::write_all(&args.out, &files, args.force)?);
    let (count, folder) = (pages.len(), args.out.display());
    console
        .print(|out| writeln!(out, "{count} manual pages in {folder}; read the first with: man -l {}", first(args)))?;
    Ok(Status::Done)
}

fn first(args: &ManualArgs) -> String {
    args.out.join(format!("groundwall.{SECTION}")).display().to_string()
}

/// Names and texts of all pages.
fn pages() -> io::Result<Vec<(String, Vec<u8>)>> {
    // Without the command `help`, which is not a page of its own; options for all commands go into each.
    let mut program = Cli::command().disable_help_subcommand(true);
    program.build();
    let commands: Vec<Command> = program.get_subcommands().cloned().collect();
    let mut pages = vec![page(program)?];
    for command in commands {
        // A page is named as it is asked for: man groundwall-assess.
        let name = format!("groundwall-{}", command.get_name());
        pages.push(page(command.display_name(&name))?);
    }
    Ok(pages)
}

fn page(command: Command) -> io::Result<(String, Vec<u8>)> {
    let name = command.get_display_name().unwrap_or_else(|| command.get_name()).to_owned();
    let mut text = Vec::new();
    Man::new(command).section(SECTION).render(&mut text)?;
    Ok((format!("{name}.{SECTION}"), text))
}
