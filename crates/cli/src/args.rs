//! The shape of the command line and its help. Nothing is decided here: values arrive checked one by one
//! ([`crate::values`]), and together they become a plan in [`crate::settings`].

use crate::chart::Size;
use crate::ingest::Input;
use crate::sink::Target;
use crate::values::{self, PictureFile, PicturePlace};
use chrono::NaiveDate;
use clap::{ArgGroup, Args, Parser, Subcommand, ValueEnum, ValueHint};
use clap_complete::Shell;
use encoding_rs::Encoding;
use groundwall::assess::Action;
use groundwall::nameplate::{Construction, Insulation};
use groundwall::record::Scope;
use groundwall::resistance::{Measured, TimedReading};
use groundwall::units::{Confidence, RelativeHumidity, Resistance, Temperature, TemperatureDifference, Voltage};
use std::path::PathBuf;

macro_rules! safety {
    () => {
        "Before a reading is taken: isolate the machine, lock it out and prove it dead; disconnect drives, surge arresters \
         and capacitors; keep others away while the voltage is on; afterwards discharge the winding to earth for at least \
         four times as long as it was charged. Local codes and licensed people decide, not this program."
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

const ROUND_HELP: &str = round_help!();

/// What is to be done before a reading is taken, and after it.
pub const SAFETY: &str = safety!();

/// The whole command line.
#[derive(Debug, Parser)]
#[command(name = "groundwall", version, max_term_width = 100)]
#[command(about = "Judges motor and generator winding insulation from direct-voltage test histories")]
#[command(
    long_about = "Judges motor and generator winding insulation from direct-voltage test histories: brings every \
    reading to one temperature, follows each winding's trend, and says which windings to hold, to test again, to plan \
    work for, or to leave alone. Results go to standard output, remarks to standard error."
)]
#[command(
    after_help = "Example:\n  groundwall demo works\n  groundwall assess works/history.csv --register works/register.csv"
)]
#[command(after_long_help = concat!("Example:\n  groundwall demo works\n  groundwall assess works/history.csv --register works/register.csv\n\n\
    Exit status:\n  0  done\n  1  we failed\n  2  wrong usage or unreadable input\n  3  --strict found rejected rows\n  \
    4  --fail-on was met\n\nSafety:\n  ", safety!()))]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
    /// Say nothing beside the result; failures are still told
    #[arg(long, short, global = true, display_order = 900)]
    pub quiet: bool,
    /// No colours; the environment variable NO_COLOR does the same
    #[arg(long, global = true, display_order = 901)]
    pub no_color: bool,
}

/// One verb each.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Judge every series of the histories, most urgent first
    #[command(after_help = "Example:\n  groundwall assess history.csv --register register.csv --fail-on hold\n\n\
        Actions, most urgent first: hold, recheck, plan, shorten, keep, gather.")]
    Assess(AssessArgs),
    /// Draw a chart of one winding or of the whole works
    #[command(
        after_help = "Examples:\n  groundwall chart history.csv --register register.csv --winding \"P-101 stator\" --out p-101.png\n  groundwall chart history.csv --register register.csv --kind fleet --size 1240x1754 --out pages/"
    )]
    Chart(ChartArgs),
    /// Write work-order pages with charts, a page of the works, and the results as files
    #[command(after_help = "Example:\n  groundwall report history.csv --register register.csv --out report\n\n\
        The folder then has index.html to begin with, a page and a chart for every series to hold, recheck, plan for or test \
        sooner, the result as JSON, CSV and workbook, the rejected rows, and manifest.json with the digests of all of it. \
        An older report there is replaced as a whole; a folder that is no report, or whose files were changed, is left alone.")]
    #[command(after_long_help = concat!("Example:\n  groundwall report history.csv --register register.csv --out report\n\n\
        The folder then has index.html to begin with, a page and a chart for every series to hold, recheck, plan for or test \
        sooner, the result as JSON, CSV and workbook, the rejected rows, and manifest.json with the digests of all of it. \
        An older report there is replaced as a whole; a folder that is no report, or whose files were changed, is left alone.\n\n\
        Safety:\n  ", safety!()))]
    Report(ReportArgs),
    /// Plan the next round: what is due, at which voltage, where to stop; sheets to fill in
    #[command(after_help = ROUND_HELP)]
    #[command(after_long_help = concat!(round_help!(), "\n\nSafety:\n  ", safety!()))]
    Round(RoundArgs),
    /// Read everything and say what was rejected and why
    #[command(after_help = "Example:\n  groundwall check history.csv --rejects rejects.csv\n\n\
        Accepted, repeated and rejected rows always add up to the rows read. Mend the rows in the rejects file and read \
        it like any other history.")]
    Check(CheckArgs),
    /// File new tests into the master history, checked, whole or not at all
    #[command(after_help = "Example:\n  groundwall add round-2026-11.xlsx --to history.csv --dry-run\n\n\
        New tests are put behind the rows of the master, in its own form. Tests that it has already are passed over; a row \
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
        At every past date the works is judged with only the tests made until then, and compared with what came."
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
    Spot(SpotArgs),
    /// Write the policy template: every threshold with default, range and source
    #[command(after_help = "Example:\n  groundwall policy --out policy.toml")]
    Policy(PolicyArgs),
    /// Write an invented works into a folder, to try everything on
    #[command(after_help = "Example:\n  groundwall demo works\n\n\
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

/// Histories and how to read and judge them.
#[derive(Args, Debug, Clone)]
pub struct HistoryArgs {
    /// Histories: CSV or text parted by semicolons or tabs, also packed with gzip, and workbooks (.xlsx, .xls, .ods); one row
    /// per test or per timed reading; patterns such as "round-*.csv"; - for standard input
    #[arg(required = true, value_name = "HISTORY", value_hint = ValueHint::FilePath)]
    pub inputs: Vec<Input>,
    /// Register of windings, one row each: winding, rated_volts, construction, insulation, year_made, minimum_mohm,
    /// interval_days, group and others; all but winding may be empty
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath, help_heading = "Judging")]
    pub register: Option<Input>,
    /// The site's limits and intervals; `groundwall policy` writes a template
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath, help_heading = "Judging")]
    pub policy: Option<Input>,
    /// Judge as on this day; later tests are left out and counted [default: today]
    #[arg(long, value_name = "DATE", value_parser = values::date, help_heading = "Judging")]
    pub as_of: Option<NaiveDate>,
    /// Confidence of every interval, 0.5 to 0.999
    #[arg(long, value_name = "FRACTION", default_value = "0.9", value_parser = values::confidence, help_heading = "Judging")]
    pub confidence: Confidence,
    /// Form of the dates if they are not year-month-day, such as %d/%m/%Y or %m/%d/%Y
    #[arg(long, value_name = "FORM", value_parser = values::date_format, help_heading = "Reading")]
    pub date_format: Option<String>,
    /// The comma is the decimal mark; assumed in files parted by semicolons
    #[arg(long, conflicts_with = "decimal_point", help_heading = "Reading")]
    pub decimal_comma: bool,
    /// The point is the decimal mark, also in files parted by semicolons
    #[arg(long, help_heading = "Reading")]
    pub decimal_point: bool,
    /// Sheet of the workbooks [default: the first whose headers can be read]
    #[arg(long, value_name = "NAME", help_heading = "Reading")]
    pub sheet: Option<String>,
    /// Encoding of the text, such as utf-8, utf-16le, windows-1252 [default: found from the bytes]
    #[arg(long, value_name = "NAME", value_parser = values::encoding, help_heading = "Reading")]
    pub encoding: Option<&'static Encoding>,
    /// What parts the cells: comma, semicolon or tab [default: found from the header]
    #[arg(long, value_name = "MARK", value_parser = values::delimiter, help_heading = "Reading")]
    pub delimiter: Option<u8>,
    /// Largest value the tester can show, in MΩ or with a unit, for rows that do not say it: OL means above this
    #[arg(long, value_name = "RESISTANCE", value_parser = values::plain_resistance, help_heading = "Reading")]
    pub full_scale: Option<Resistance>,
    /// End with status 3 if any row was rejected
    #[arg(long, help_heading = "Reading")]
    pub strict: bool,
}

/// Forms of the ranked list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum AssessFormat {
    /// For people
    Table,
    /// For programs: everything, with evidence
    Json,
    /// For spreadsheets: one line per series
    Csv,
    /// A workbook: series, findings, input and policy, one sheet each
    Xlsx,
}

/// Forms of all other results.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum TextFormat {
    /// For people
    Text,
    /// For programs
    Json,
}

/// `assess`
#[derive(Args, Debug)]
pub struct AssessArgs {
    /// Histories and how to read and judge them.
    #[command(flatten)]
    pub history: HistoryArgs,
    /// Form of the result
    #[arg(long, value_enum, default_value = "table")]
    pub format: AssessFormat,
    /// Write the result to this file, whole or not at all; - for standard output
    #[arg(long, value_name = "FILE", default_value = "-", value_hint = ValueHint::FilePath)]
    pub out: Target,
    /// End with status 4 if any series has this action or a more urgent one
    #[arg(long, value_name = "ACTION", value_parser = values::action)]
    pub fail_on: Option<Action>,
}

/// One series of a history.
#[derive(Args, Debug)]
pub struct SeriesArgs {
    /// The winding, as the history names it
    #[arg(long, value_name = "ID")]
    pub winding: String,
    /// Which of its series.
    #[command(flatten)]
    pub circuit: CircuitArgs,
}

/// What tells the series of one winding apart.
#[derive(Args, Debug, Clone)]
pub struct CircuitArgs {
    /// Which connection, if the winding was tested in several: all-earth, U-earth, U-V … [default: the most urgent]
    #[arg(long, value_name = "TEXT")]
    pub connection: Option<String>,
    /// Which scope: winding or winding+cable [default: the most urgent]
    #[arg(long, value_name = "TEXT", value_parser = values::scope)]
    pub scope: Option<Scope>,
}

/// `explain`
#[derive(Args, Debug)]
pub struct ExplainArgs {
    /// Histories and how to read and judge them.
    #[command(flatten)]
    pub history: HistoryArgs,
    /// Which series.
    #[command(flatten)]
    pub series: SeriesArgs,
    /// Write the account to this file, whole or not at all; - for standard output
    #[arg(long, value_name = "FILE", default_value = "-", value_hint = ValueHint::FilePath)]
    pub out: Target,
}

/// `replay`
#[derive(Args, Debug)]
pub struct ReplayArgs {
    /// Histories and how to read and judge them.
    #[command(flatten)]
    pub history: HistoryArgs,
    /// Days between the past dates at which the works is judged, 7 to 3650
    #[arg(long, value_name = "DAYS", default_value = "91", value_parser = clap::value_parser!(u32).range(7..=3650))]
    pub every: u32,
    /// Form of the result
    #[arg(long, value_enum, default_value = "text")]
    pub format: TextFormat,
    /// Write the result to this file, whole or not at all; - for standard output
    #[arg(long, value_name = "FILE", default_value = "-", value_hint = ValueHint::FilePath)]
    pub out: Target,
    /// Draw how the forecasts kept their word: .png or .svg by its ending
    #[arg(long, value_name = "FILE", value_parser = values::picture_file, value_hint = ValueHint::FilePath)]
    pub chart: Option<PictureFile>,
}

/// What a chart shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum ChartKind {
    /// Corrected resistance over the years, the minimum and the forecast
    Trend,
    /// Resistance within each ten-minute test, old to new, with PI, DAR and the fitted law
    Absorption,
    /// The phases side by side over the years, and their ratio against its limit
    Phases,
    /// Every series once, most urgent on top: level against minimum, and when the two meet
    Fleet,
}

impl ChartKind {
    /// The word for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Trend => "trend",
            Self::Absorption => "absorption",
            Self::Phases => "phases",
            Self::Fleet => "fleet",
        }
    }
}

/// `chart`
#[derive(Args, Debug)]
pub struct ChartArgs {
    /// Histories and how to read and judge them.
    #[command(flatten)]
    pub history: HistoryArgs,
    /// The winding, as the history names it; every kind but fleet needs one
    #[arg(long, value_name = "ID")]
    pub winding: Option<String>,
    /// Which of its series.
    #[command(flatten)]
    pub circuit: CircuitArgs,
    /// What to draw
    #[arg(long, value_enum, default_value = "trend")]
    pub kind: ChartKind,
    /// Size in pixels, WIDTHxHEIGHT, each 200 to 10000
    #[arg(long, value_name = "WIDTHxHEIGHT", default_value = "1200x800", value_parser = values::picture_size)]
    pub size: Size,
    /// Dots per inch, 50 to 1200: how large the words are, and what the file says of itself
    #[arg(long, value_name = "N", default_value = "150", value_parser = clap::value_parser!(u32).range(50..=1200))]
    pub dpi: u32,
    /// Which page of the fleet; a folder gets all of them [default: the first]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..))]
    pub page: Option<u32>,
    /// The picture: .png or .svg by its ending, or a folder, in which it is named after what it shows
    #[arg(long, value_name = "FILE", value_parser = values::picture_place, value_hint = ValueHint::AnyPath)]
    pub out: PicturePlace,
}

/// `report`
#[derive(Args, Debug)]
pub struct ReportArgs {
    /// Histories and how to read and judge them.
    #[command(flatten)]
    pub history: HistoryArgs,
    /// The folder of the report, written whole or not at all
    #[arg(long, value_name = "DIR", value_hint = ValueHint::DirPath)]
    pub out: PathBuf,
}

/// Forms of a round.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum RoundFormat {
    /// For people
    Table,
    /// A sheet to fill in: the columns of a history, then guidance
    Csv,
    /// The same as a workbook that checks what is written
    Xlsx,
    /// A page to print, with room to write
    Html,
    /// For programs
    Json,
}

/// `round`
#[derive(Args, Debug)]
pub struct RoundArgs {
    /// Histories and how to read and judge them.
    #[command(flatten)]
    pub history: HistoryArgs,
    /// Last day of the round [default: 91 days after the as-of date]
    #[arg(long, value_name = "DATE", value_parser = values::date)]
    pub until: Option<NaiveDate>,
    /// Form of the round
    #[arg(long, value_enum, default_value = "table")]
    pub format: RoundFormat,
    /// Write it to this file, whole or not at all; - for standard output
    #[arg(long, value_name = "FILE", default_value = "-", value_hint = ValueHint::FilePath)]
    pub out: Target,
}

/// `check`
#[derive(Args, Debug)]
pub struct CheckArgs {
    /// Histories and how to read and judge them.
    #[command(flatten)]
    pub history: HistoryArgs,
    /// Write the rejected rows here, unchanged, with the place and the reason in two more columns
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub rejects: Option<Target>,
    /// Read only the headers and print the section `columns` of a policy file
    #[arg(long, conflicts_with = "rejects")]
    pub suggest: bool,
    /// Form of the result
    #[arg(long, value_enum, default_value = "text")]
    pub format: TextFormat,
}

/// `add`
#[derive(Args, Debug)]
#[command(mut_arg("inputs", |arg| arg.value_name("SHEET").help(
    "Sheets of new tests, in any form that a history has: text, packed text, workbooks; patterns; - for standard input"
)))]
#[command(mut_arg("confidence", |arg| arg.hide(true)))]
pub struct AddArgs {
    /// Histories and how to read and judge them.
    #[command(flatten)]
    pub history: HistoryArgs,
    /// The master history: CSV or text parted by semicolons or tabs
    #[arg(long, value_name = "HISTORY", value_hint = ValueHint::FilePath)]
    pub to: PathBuf,
    /// Make the master if there is none
    #[arg(long)]
    pub create: bool,
    /// Add columns of the sheets that the master lacks at its end, with empty cells in the rows that are there
    #[arg(long)]
    pub extend: bool,
    /// Leave out rows that cannot be read or that contradict others, and file the rest
    #[arg(long)]
    pub skip_rejected: bool,
    /// Say what would be done and write nothing
    #[arg(long)]
    pub dry_run: bool,
    /// How long to wait for somebody else who is adding to the same master, 0 to 3600 s
    #[arg(long, value_name = "SECONDS", default_value = "10", value_parser = clap::value_parser!(u32).range(0..=3600))]
    pub wait: u32,
}

/// `correct`
#[derive(Args, Debug)]
#[command(override_usage = "groundwall correct [OPTIONS] --at <TEMPERATURE> <LAW> <RESISTANCE>\n       \
    LAW is --insulation <FAMILY>, --halving <KELVINS> or --activation-kelvin <KELVINS>")]
#[command(group = ArgGroup::new("law").required(true).args(["insulation", "halving", "activation_kelvin"]))]
pub struct CorrectArgs {
    /// The resistance: MΩ or with a unit; >1000 and OL are bounds and stay so
    #[arg(value_name = "RESISTANCE", value_parser = values::resistance, allow_negative_numbers = true)]
    pub resistance: Measured,
    /// Temperature of the winding at the test: °C, or °F with an F behind it; −60 to 250 °C
    #[arg(long, value_name = "TEMPERATURE", value_parser = values::temperature, allow_negative_numbers = true)]
    pub at: Temperature,
    /// Temperature to correct to: °C, or °F with an F behind it; −60 to 250 °C
    #[arg(long, value_name = "TEMPERATURE", default_value = "40", value_parser = values::temperature, allow_negative_numbers = true)]
    pub to: Temperature,
    /// The standard's law for this insulation: thermosetting, thermoplastic or unknown (between the two)
    #[arg(long, value_name = "FAMILY", value_parser = values::insulation)]
    pub insulation: Option<Insulation>,
    /// A law that halves the resistance with every rise by so many kelvins, 4 to 100
    #[arg(long, value_name = "KELVINS", value_parser = values::halving, allow_negative_numbers = true)]
    pub halving: Option<TemperatureDifference>,
    /// A law with this activation temperature in kelvins, 500 to 20000
    #[arg(long, value_name = "KELVINS", value_parser = values::activation, allow_negative_numbers = true)]
    pub activation_kelvin: Option<f64>,
    /// Form of the result
    #[arg(long, value_enum, default_value = "text")]
    pub format: TextFormat,
}

/// `ratios`
#[derive(Args, Debug)]
pub struct RatiosArgs {
    /// Timed readings of one test, such as 60s=420: time in s or min, resistance in MΩ or with a unit
    #[arg(required = true, num_args = 1.., value_name = "TIME=RESISTANCE", value_parser = values::timed_reading)]
    pub readings: Vec<TimedReading>,
    /// Form of the result
    #[arg(long, value_enum, default_value = "text")]
    pub format: TextFormat,
}

/// `spot`
#[derive(Args, Debug)]
pub struct SpotArgs {
    /// Resistance after one minute: MΩ or with a unit; >1000, OL and 0 are bounds
    #[arg(long, value_name = "RESISTANCE", value_parser = values::resistance, allow_negative_numbers = true)]
    pub r60: Measured,
    /// Temperature of the winding: °C, or °F with an F behind it; −60 to 250 °C
    #[arg(long, value_name = "TEMPERATURE", value_parser = values::temperature, allow_negative_numbers = true)]
    pub at: Option<Temperature>,
    /// Rated voltage of the winding, 1 to 100000 V
    #[arg(long, value_name = "VOLTS", value_parser = values::voltage, allow_negative_numbers = true)]
    pub rated_volts: Option<Voltage>,
    /// How the winding is made: form-wound, random-wound, dc-armature or field
    #[arg(long, value_name = "WORD", value_parser = values::construction)]
    pub construction: Option<Construction>,
    /// Family of the insulation: thermosetting, thermoplastic or unknown
    #[arg(long, value_name = "FAMILY", default_value = "unknown", value_parser = values::insulation)]
    pub insulation: Insulation,
    /// The site's own minimum at the reference temperature, in MΩ or with a unit; goes before the rule
    #[arg(long, value_name = "RESISTANCE", value_parser = values::plain_resistance, allow_negative_numbers = true)]
    pub minimum: Option<Resistance>,
    /// Year of make of the winding, 1880 to 2199
    #[arg(long, value_name = "YEAR", value_parser = values::year, allow_negative_numbers = true)]
    pub year: Option<i32>,
    /// Direct voltage applied, 1 to 100000 V
    #[arg(long, value_name = "VOLTS", value_parser = values::voltage, allow_negative_numbers = true)]
    pub test_volts: Option<Voltage>,
    /// Temperature of the air, for the dew point: °C, or °F with an F behind it; −60 to 250 °C
    #[arg(long, value_name = "TEMPERATURE", value_parser = values::temperature, allow_negative_numbers = true)]
    pub air: Option<Temperature>,
    /// Relative humidity of the air, 0 to 100 %, for the dew point
    #[arg(long, value_name = "PERCENT", value_parser = values::humidity, allow_negative_numbers = true)]
    pub rh: Option<RelativeHumidity>,
    /// The site's limits and intervals; `groundwall policy` writes a template
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub policy: Option<Input>,
    /// Form of the result
    #[arg(long, value_enum, default_value = "text")]
    pub format: TextFormat,
}

/// `policy`
#[derive(Args, Debug)]
pub struct PolicyArgs {
    /// Write the template to this file, whole or not at all; - for standard output
    #[arg(long, value_name = "FILE", default_value = "-", value_hint = ValueHint::FilePath)]
    pub out: Target,
}

/// `demo`
#[derive(Args, Debug)]
pub struct DemoArgs {
    /// The folder to write into; it is made if there is none
    #[arg(value_name = "DIR", value_hint = ValueHint::DirPath)]
    pub folder: PathBuf,
}

/// `completions`
#[derive(Args, Debug)]
pub struct CompletionsArgs {
    /// The shell
    #[arg(value_enum, value_name = "SHELL")]
    pub shell: Shell,
    /// Write the script to this file, whole or not at all; - for standard output
    #[arg(long, value_name = "FILE", default_value = "-", value_hint = ValueHint::FilePath)]
    pub out: Target,
}

/// `manual`
#[derive(Args, Debug)]
pub struct ManualArgs {
    /// The folder of the pages; it is made if it is not there, and other files in it stay
    #[arg(long, value_name = "DIR", value_hint = ValueHint::DirPath)]
    pub out: PathBuf,
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
