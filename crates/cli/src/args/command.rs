//! The verbs, each with an example, and the safety words of those that go with a reading.

use super::{
    AddArgs, AssessArgs, ChartArgs, CheckArgs, ColorWhen, CompareArgs, CompletionsArgs, CorrectArgs, DemoArgs,
    ExplainArgs, HistoryArgs, ManualArgs, PolicyArgs, RatiosArgs, ReplayArgs, ReportArgs, RoundArgs, SpotArgs,
};
use crate::console::MessageFormat;
use clap::{Parser, Subcommand, value_parser};
use groundwall_engine::program::Program;
use groundwall_engine::safety;
use std::sync::LazyLock;

macro_rules! report_help {
    () => {
        "Example:\n  groundwall report history.csv --register register.csv --out report\n\n\
        The folder then has index.html to begin with, a page and a chart for every series to hold, plan for, recheck or test \
        sooner, the result as JSON, CSV and workbook, the rejected rows, and manifest.json with the digests of all of it. \
        An older report there is replaced as a whole; a folder that is not a report, or whose files were changed, is not touched."
    };
}

macro_rules! round_help {
    () => {
        "Example:\n  groundwall round history.csv --register register.csv --format xlsx --out round.xlsx\n\n\
        Fill in what was measured in the CSV or the workbook, then file it: groundwall add round.xlsx --to history.csv. \
        Rows without a day and a reading are left out as not done; columns of guidance are not filed. Windings of the \
        register that were never tested are due."
    };
}

/// The version with what it was built from and for: a release sets `GROUNDWALL_COMMIT` when it is compiled.
fn long_version() -> &'static str {
    static TEXT: LazyLock<String> = LazyLock::new(|| {
        let Program { version, commit, target, features } = Program::this();
        let commit = commit.unwrap_or("not recorded in this build");
        let features = if features.is_empty() { "none".to_owned() } else { features.join(", ") };
        format!("{version}\ncommit: {commit}\ntarget: {target}\nfeatures: {features}")
    });
    &TEXT
}

const ROUND_HELP: &str = round_help!();

/// The whole command line.
#[derive(Debug, Parser)]
#[command(name = "groundwall", version, long_version = long_version(), max_term_width = 100)]
#[command(about = "Judges motor and generator winding insulation from direct-voltage test histories")]
#[command(
    long_about = "Judges motor and generator winding insulation from direct-voltage test histories: brings every \
    reading to one temperature, follows each winding's trend, and says which windings to hold, to test again, to plan \
    work for, or to leave alone. Results go to standard output, remarks to standard error."
)]
#[command(
    after_help = "Example:\n  groundwall demo plant\n  groundwall assess plant/history.csv --register plant/register.csv"
)]
#[command(after_long_help = concat!("Example:\n  groundwall demo plant\n  groundwall assess plant/history.csv --register plant/register.csv\n\n\
    Exit status:\n  0  done\n  1  internal error, or a file that cannot be written\n  2  wrong usage or unreadable input\n  3  --strict found rejected rows\n  \
    4  --fail-on was met\n\nSafety:\n  ", safety!()))]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
    /// Print the result only; failures are still reported
    #[arg(long, short, global = true, display_order = 900)]
    pub quiet: bool,
    /// Say more beside the result: how each file was read and what it was judged by
    #[arg(long, short, global = true, conflicts_with = "quiet", display_order = 901)]
    pub verbose: bool,
    /// When to colour results
    #[arg(
        long,
        value_name = "WHEN",
        global = true,
        value_enum,
        default_value = "auto",
        env = "GROUNDWALL_COLOR",
        hide_env_values = true,
        display_order = 902
    )]
    pub color: ColorWhen,
    /// No colours: the same as --color never
    #[arg(long, global = true, display_order = 903)]
    pub no_color: bool,
    /// Form of remarks and failures, on standard error
    #[arg(
        long,
        value_name = "FORM",
        global = true,
        value_enum,
        default_value = "text",
        env = "GROUNDWALL_MESSAGES",
        hide_env_values = true,
        display_order = 904
    )]
    pub messages: MessageFormat,
    /// Threads to work with, 1 to 1024; the result does not depend on it [default: one per core]
    #[arg(long, value_name = "N", global = true, value_parser = value_parser!(u16).range(1..=1024),
        env = "GROUNDWALL_THREADS", hide_env_values = true, display_order = 905)]
    pub threads: Option<u16>,
}

/// One verb each.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Judge every series of the histories, most urgent first
    #[command(after_help = "Example:\n  groundwall assess history.csv --register register.csv --fail-on hold\n\n\
        Actions, most urgent first: hold, plan, recheck, shorten, keep, gather.")]
    Assess(AssessArgs),
    /// Say what changed between two results, or between two days: moved up or down and why, new, gone, tested, overdue
    #[command(
        after_help = "Examples:\n  groundwall compare last/assessment.json report/assessment.json\n  groundwall compare history.csv --register register.csv --since 2026-08-25"
    )]
    Compare(CompareArgs),
    /// Draw a chart of one winding or of the whole plant
    #[command(
        after_help = "Examples:\n  groundwall chart history.csv --register register.csv --winding \"P-101 stator\" --out p-101.png\n  groundwall chart history.csv --register register.csv --kind fleet --size 1240x1754 --out pages/"
    )]
    Chart(ChartArgs),
    /// Write work-order pages with charts, a page of the plant, and the results as files
    #[command(after_help = report_help!())]
    #[command(after_long_help = concat!(report_help!(), "\n\nSafety:\n  ", safety!()))]
    Report(ReportArgs),
    /// Plan the next round: what is due, at which voltage, where to stop; sheets to fill in
    #[command(after_help = ROUND_HELP)]
    #[command(after_long_help = concat!(round_help!(), "\n\nSafety:\n  ", safety!()))]
    Round(RoundArgs),
    /// Read everything and say what was rejected and why
    #[command(after_help = "Example:\n  groundwall check history.csv --rejects rejects.csv\n\n\
        Accepted, repeated and rejected rows always add up to the rows read. Fix the rows in the rejects file and read \
        it like any other history.")]
    Check(CheckArgs),
    /// File new tests into the master history, checked, whole or not at all
    #[command(after_help = "Example:\n  groundwall add round-2026-11.xlsx --to history.csv --dry-run\n\n\
        New tests are added after the rows of the master, in its own form. Tests that it already has are skipped; a row \
        that cannot be read, or that says something else about a test it has, keeps everything out unless --skip-rejected \
        is given. The previous master is kept as HISTORY.bak. The reading options are about the sheets.")]
    Add(AddArgs),
    /// Follow one judgement from the cell to the action, step by step
    #[command(
        after_help = "Example:\n  groundwall explain history.csv --register register.csv --winding \"P-101 stator\""
    )]
    Explain(ExplainArgs),
    /// Go back through the history and report how well the forecasts of the time came true
    #[command(
        after_help = "Example:\n  groundwall replay history.csv --register register.csv --chart calibration.png\n\n\
        At every past date the plant is judged with only the tests made until then, and compared with what followed."
    )]
    Replay(ReplayArgs),
    /// Bring one resistance from the temperature it was measured at to another
    #[command(after_help = "Examples:\n  groundwall correct 200 --at 23 --insulation thermosetting\n  \
        groundwall correct 1.2G --at 68F --halving 15 --to 40\n  groundwall correct 200 --at 23 --activation-kelvin 4230")]
    Correct(CorrectArgs),
    /// Polarization index and other ratios of timed readings
    #[command(after_help = "Example:\n  groundwall ratios 30s=310 60s=420 10min=980\n\n\
        PI is R(10 min)/R(1 min), DAR is R(60 s)/R(30 s).")]
    #[command(after_long_help = concat!("Example:\n  groundwall ratios 30s=310 60s=420 10min=980\n\n\
        PI is R(10 min)/R(1 min), DAR is R(60 s)/R(30 s).\n\nSafety:\n  ", safety!()))]
    Ratios(RatiosArgs),
    /// Judge one reading at the machine
    #[command(
        after_help = "Example:\n  groundwall spot --r60 200 --at 28 --rated-volts 480 \\\n      --construction random-wound --insulation thermosetting\n\n--help adds what to do before a reading is taken."
    )]
    #[command(after_long_help = concat!("Example:\n  groundwall spot --r60 200 --at 28 --rated-volts 480 \\\n      --construction random-wound --insulation thermosetting\n\nSafety:\n  ", safety!()))]
    Spot(Box<SpotArgs>),
    /// Write the policy template: every threshold with default, range and source
    #[command(after_help = "Example:\n  groundwall policy --out policy.toml")]
    Policy(PolicyArgs),
    /// Write an invented plant into a folder, to try everything on
    #[command(after_help = "Example:\n  groundwall demo plant\n\n\
        Writes a history, a register, a policy and a page that says what to try. Nothing that is there is written over.")]
    Demo(DemoArgs),
    /// Write what a shell needs to complete commands, options and their words
    #[command(after_help = "Example:\n  groundwall completions bash --out groundwall.bash\n\n\
        Then, in the shell's own start-up file: source groundwall.bash")]
    Completions(CompletionsArgs),
    /// Write the manual pages: one for the program, one for each command
    #[command(after_help = "Example:\n  groundwall manual --out man1\n\nThen: man -l man1/groundwall-assess.1")]
    Manual(ManualArgs),
}

impl Command {
    /// The histories of a command and how they are read and judged, if it takes any.
    pub fn history_mut(&mut self) -> Option<&mut HistoryArgs> {
        match self {
            Self::Assess(args) => Some(&mut args.history),
            Self::Chart(args) => Some(&mut args.history),
            Self::Compare(args) => Some(&mut args.history),
            Self::Report(args) => Some(&mut args.history),
            Self::Round(args) => Some(&mut args.history),
            Self::Check(args) => Some(&mut args.history),
            Self::Add(args) => Some(&mut args.history),
            Self::Explain(args) => Some(&mut args.history),
            Self::Replay(args) => Some(&mut args.history),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_shape_is_sound() {
        Cli::command().debug_assert();
    }

    #[test]
    fn every_command_has_an_example_and_every_option_a_help() {
        for command in Cli::command().get_subcommands() {
            let help = command.get_after_help().map(ToString::to_string).unwrap_or_default();
            assert!(help.contains("groundwall"), "{}", command.get_name());
            for arg in command.get_arguments() {
                assert!(arg.get_help().is_some(), "{} {}", command.get_name(), arg.get_id());
            }
        }
    }
}
