//! Command line of groundwall: arguments, files, the clock and the terminal on one side, the engine
//! ([`groundwall_engine`]) on the other.
//!
//! [`run`] reads as a table of contents: arguments (`args`), what they leave open (`config`), a checked plan (`settings`), one
//! verb per file (`commands`), which reads and writes through `files`; what stops a run is a [`Failure`]. Other programs use
//! the engine.

#![allow(unreachable_pub, reason = "nothing but `run` is for others; inside, `pub` marks what a module offers")]

mod args;
mod color;
mod commands;
mod config;
mod console;
mod files;
mod fleet;
pub mod guide;
mod progress;
mod settings;
mod threads;
mod values;

use args::{Cli, Command};
use clap::{ColorChoice, CommandFactory, FromArgMatches};
use console::{Console, MessageFormat};
use groundwall_engine::error::{Failure, Status};
use groundwall_engine::legible::{Legible, legible};
use std::ffi::OsString;
use std::io::{self, IsTerminal, Write};
use std::process::ExitCode;

/// Runs one command line, the program's name first, and gives the exit status.
pub fn run(args: impl IntoIterator<Item = OsString>) -> ExitCode {
    files::unfinished::handle_file_size_signal(Status::Failed.code());
    let args: Vec<OsString> = args.into_iter().collect();
    let plain = color::is_off(&args);
    let help = if plain { ColorChoice::Never } else { ColorChoice::Auto };
    let matches = match Cli::command().color(help).try_get_matches_from(args) {
        Ok(matches) => matches,
        Err(error) => return print_clap_error(&error),
    };
    let mut cli = match Cli::from_arg_matches(&matches) {
        Ok(cli) => cli,
        Err(error) => return print_clap_error(&error),
    };
    let at_terminal = io::stdout().is_terminal();
    let color = !plain && color::is_on(cli.color, at_terminal);
    // Standard error is not locked: what shows the progress writes to it from other threads.
    let (mut message_data, mut message_text) = (io::stderr(), Legible::new(io::stderr(), false));
    let is_data = matches!(cli.messages, MessageFormat::Json);
    let err: &mut dyn Write = if is_data { &mut message_data } else { &mut message_text };
    // Data for programs keep every character, except where a person sees them.
    let (mut data, mut seen) = (io::stdout().lock(), Legible::new(io::stdout(), color));
    let out: &mut dyn Write = if at_terminal { &mut seen } else { &mut data };
    let mut console = Console { out, err, quiet: cli.quiet, verbose: cli.verbose, messages: cli.messages, color };
    if !matches!(&cli.command, Command::Spot(_) | Command::Correct(_) | Command::Ratios(_)) {
        threads::start(cli.threads.map(usize::from));
    }
    let outcome =
        config::fill_in(&mut cli.command, &matches, &mut console).and_then(|()| dispatch(&cli.command, &mut console));
    let status = outcome.unwrap_or_else(|failure| {
        console.failure(&failure);
        failure.status()
    });
    ExitCode::from(status.code())
}

/// Prints what clap gives instead of a run: help, the version, or what is wrong with the arguments, which may hold anything.
fn print_clap_error(error: &clap::Error) -> ExitCode {
    if error.use_stderr() {
        let text = legible(&error.render().to_string());
        // Nobody may be listening; the status says it too.
        let _ = io::stderr().write_all(text.as_bytes());
    } else if let Err(failure) =
        Failure::unless_unread(error.print().and_then(|()| io::stdout().flush()), Failure::unprintable)
    {
        let _ = failure.print(&mut io::stderr());
        return ExitCode::from(failure.status().code());
    }
    ExitCode::from(u8::try_from(error.exit_code()).unwrap_or(Status::Usage.code()))
}

fn dispatch(command: &Command, console: &mut Console<'_>) -> Result<Status, Failure> {
    match command {
        Command::Assess(args) => commands::assess::run(args, console),
        Command::Compare(args) => commands::compare::run(args, console),
        Command::Report(args) => commands::report::run(args, console),
        Command::Round(args) => commands::round::run(args, console),
        Command::Check(args) => commands::check::run(args, console),
        Command::Add(args) => commands::add::run(args, console),
        Command::Policy(args) => commands::policy::run(args, console),
        Command::Completions(args) => commands::completions::run(args, console),
        Command::Manual(args) => commands::manual::run(args, console),
        Command::Correct(args) => commands::correct::run(args, console),
        Command::Explain(args) => commands::explain::run(args, console),
        Command::Replay(args) => commands::replay::run(args, console),
        Command::Ratios(args) => commands::ratios::run(args, console),
        Command::Spot(args) => commands::spot::run(args, console),
        Command::Demo(args) => commands::demo::run(args, console),
        Command::Chart(args) => commands::chart::run(args, console),
    }
}
