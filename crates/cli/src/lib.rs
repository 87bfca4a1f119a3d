//! Command line of groundwall: arguments, files, the clock and the terminal on one side, the engine
//! ([`groundwall_engine`]) on the other.
//!
//! [`run`] reads as a table of contents: arguments ([`args`]), a checked plan ([`settings`]), one verb per file
//! ([`commands`]), which reads and writes through [`files`]; what stops a run is a
//! [`Failure`].

pub mod args;
pub mod commands;
pub mod console;
pub mod files;
pub mod fleet;
pub mod guide;
pub mod progress;
pub mod settings;
pub mod values;

use args::{Cli, Command};
use clap::{ColorChoice, CommandFactory, FromArgMatches};
use console::Console;
use groundwall_engine::error::{Failure, Status};
use std::ffi::OsString;
use std::io::{self, IsTerminal};
use std::process::ExitCode;

/// Runs one command line, the program's name first, and gives the exit status.
pub fn run(args: impl IntoIterator<Item = OsString>) -> ExitCode {
    let args: Vec<OsString> = args.into_iter().collect();
    let plain = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty())
        || args.iter().take_while(|arg| *arg != "--").any(|arg| arg == "--no-color");
    let color = if plain { ColorChoice::Never } else { ColorChoice::Auto };
    let cli = match Cli::command().color(color).try_get_matches_from(args).and_then(|m| Cli::from_arg_matches(&m)) {
        Ok(cli) => cli,
        Err(error) => {
            // Help that nobody reads to the end is no failure.
            let _ = error.print();
            return ExitCode::from(u8::try_from(error.exit_code()).unwrap_or(Status::Usage.code()));
        }
    };
    let stdout = io::stdout();
    let color = !plain && stdout.is_terminal();
    // Standard error is not locked: what shows the progress writes to it from other threads.
    let (mut out, mut words) = (stdout.lock(), io::stderr());
    let mut console = Console { out: &mut out, words: &mut words, quiet: cli.quiet, color };
    let status = match dispatch(&cli.command, &mut console) {
        Ok(status) => status,
        Err(failure) => {
            let _ = failure.print(console.words);
            failure.status()
        }
    };
    ExitCode::from(status.code())
}

fn dispatch(command: &Command, console: &mut Console<'_>) -> Result<Status, Failure> {
    match command {
        Command::Assess(args) => commands::assess::run(args, console),
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
