//! Commands on histories: what comes of them judged, their rows looked at, new rows filed.

use super::{AssessFormat, By, ChartKind, CircuitArgs, HistoryArgs, ReportPages, RoundFormat, SeriesArgs, TextFormat};
use crate::files::Target;
use crate::values::{self, PictureFile, PicturePlace};
use chrono::NaiveDate;
use clap::{Args, ValueHint};
use groundwall::assess::Action;
use groundwall_engine::chart::Size;
use std::path::PathBuf;

/// `assess`
#[derive(Args, Debug)]
pub struct AssessArgs {
    /// Histories and how to read and judge them.
    #[command(flatten)]
    pub history: HistoryArgs,
    /// Form of the result
    #[arg(long, short, value_enum, default_value = "table")]
    pub format: AssessFormat,
    /// Write the result to this file, whole or not at all; - for standard output
    #[arg(long, short, value_name = "FILE", default_value = "-", value_hint = ValueHint::FilePath)]
    pub out: Target,
    /// What a line of the list is about
    #[arg(long, value_enum, default_value = "series")]
    pub by: By,
    /// End with status 4 if any series has this action or a more urgent one
    #[arg(long, value_name = "ACTION", value_parser = values::action)]
    pub fail_on: Option<Action>,
    /// Save the priors learnt from these windings, which are the whole fleet, to this new file, for --priors
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub save_priors: Option<PathBuf>,
    /// These windings are a part of the fleet that --save-priors learnt from, with the same tests, policy, confidence and as-of date: judge them
    /// as among all others
    #[arg(long, value_name = "FILE", conflicts_with = "save_priors", value_hint = ValueHint::FilePath)]
    pub priors: Option<PathBuf>,
    /// Overwrite an existing file even if it is not a result, or the file of --save-priors; keep the old one as FILE.bak
    #[arg(long)]
    pub force: bool,
}

/// `chart`
#[derive(Args, Debug)]
pub struct ChartArgs {
    /// Histories and how to read and judge them.
    #[command(flatten)]
    pub history: HistoryArgs,
    /// The winding, as the history names it; every kind but fleet needs one
    #[arg(long, short, value_name = "ID")]
    pub winding: Option<String>,
    /// Which of its series.
    #[command(flatten)]
    pub circuit: CircuitArgs,
    /// What to draw
    #[arg(long, value_enum, default_value = "trend")]
    pub kind: ChartKind,
    /// Size in pixels, WIDTHxHEIGHT, each 200 to 10000 [default: 1200x800; a fleet is as high as what needs action]
    #[arg(long, value_name = "WIDTHxHEIGHT", value_parser = values::picture_size)]
    pub size: Option<Size>,
    /// Resolution in dots per inch, 50 to 1200; sets the size of the text and what the file states
    #[arg(long, value_name = "N", default_value = "150", value_parser = clap::value_parser!(u32).range(50..=1200))]
    pub dpi: u32,
    /// Which page of the fleet; a folder gets all of them [default: the first]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..))]
    pub page: Option<u32>,
    /// The picture: .png or .svg by its ending, or a folder, in which it is named after what it shows
    #[arg(long, short, value_name = "FILE", value_parser = values::picture_place, value_hint = ValueHint::AnyPath)]
    pub out: PicturePlace,
    /// Overwrite an existing file even if it is not a result; keep the old one as FILE.bak
    #[arg(long)]
    pub force: bool,
}

/// `compare`
#[derive(Args, Debug)]
#[command(mut_arg("inputs", |arg| arg.value_name("OLD NEW").help(
    "Two result files, the older first (assess --format json, or assessment.json of a report); with --since histories, in any \
     form that assess takes"
)))]
pub struct CompareArgs {
    /// Result files, or histories and how to read and judge them.
    #[command(flatten)]
    pub history: HistoryArgs,
    /// Judge the histories as on this day too, and say what changed until the as-of date
    #[arg(long, value_name = "DATE", value_parser = values::date)]
    pub since: Option<NaiveDate>,
    /// Form of the result
    #[arg(long, value_enum, default_value = "text")]
    pub format: TextFormat,
    /// Write the result to this file, whole or not at all; - for standard output
    #[arg(long, value_name = "FILE", default_value = "-", value_hint = ValueHint::FilePath)]
    pub out: Target,
    /// Overwrite an existing file even if it is not a result; keep the old one as FILE.bak
    #[arg(long)]
    pub force: bool,
}

/// `report`
#[derive(Args, Debug)]
pub struct ReportArgs {
    /// Histories and how to read and judge them.
    #[command(flatten)]
    pub history: HistoryArgs,
    /// The folder of the report, written whole or not at all
    #[arg(long, short, value_name = "DIR", required_unless_present_any = ["single", "pdf"], value_hint = ValueHint::DirPath)]
    pub out: Option<PathBuf>,
    /// Write the whole report as one page too, with pictures and results inside it, to send: no other file is needed
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub single: Option<PathBuf>,
    /// Which series get a page of their own
    #[arg(long, value_enum, default_value = "urgent")]
    pub pages: ReportPages,
    /// Write the pack as one file too, to send and to print: the list and a work order of two pages for each series with a page
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub pdf: Option<PathBuf>,
    /// Replace the file of --single or --pdf if it is there and is not a result, and keep the old one beside it as FILE.bak
    #[arg(long)]
    pub force: bool,
    /// The work order of one winding, whatever its action, into the file of --single or --pdf
    #[arg(long, short, value_name = "ID", conflicts_with_all = ["out", "pages"])]
    pub winding: Option<String>,
    /// Which of its series.
    #[command(flatten)]
    pub circuit: CircuitArgs,
    /// What a line of the list is about
    #[arg(long, value_enum, default_value = "series")]
    pub by: By,
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
    /// On the page of --format html give every test the full form, not only those that are special
    #[arg(long)]
    pub full: bool,
    /// Form of the round
    #[arg(long, short, value_enum, default_value = "table")]
    pub format: RoundFormat,
    /// Write it to this new file, whole or not at all; - for standard output
    #[arg(long, short, value_name = "FILE", default_value = "-", value_hint = ValueHint::FilePath)]
    pub out: Target,
    /// Replace the file if it is there, and keep the old one beside it as FILE.bak
    #[arg(long)]
    pub force: bool,
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
    #[arg(long, short, value_name = "FILE", default_value = "-", value_hint = ValueHint::FilePath)]
    pub out: Target,
    /// Overwrite an existing file even if it is not a result; keep the old one as FILE.bak
    #[arg(long)]
    pub force: bool,
}

/// `replay`
#[derive(Args, Debug)]
pub struct ReplayArgs {
    /// Histories and how to read and judge them.
    #[command(flatten)]
    pub history: HistoryArgs,
    /// Days between the past dates at which the plant is judged, 7 to 3650
    #[arg(long, value_name = "DAYS", default_value = "91", value_parser = clap::value_parser!(u32).range(7..=3650))]
    pub every: u32,
    /// Form of the result
    #[arg(long, short, value_enum, default_value = "text")]
    pub format: TextFormat,
    /// Write the result to this file, whole or not at all; - for standard output
    #[arg(long, short, value_name = "FILE", default_value = "-", value_hint = ValueHint::FilePath)]
    pub out: Target,
    /// Draw how well past forecasts held: .png or .svg by its ending
    #[arg(long, value_name = "FILE", value_parser = values::picture_file, value_hint = ValueHint::FilePath)]
    pub chart: Option<PictureFile>,
    /// Overwrite an existing file even if it is not a result; keep the old one as FILE.bak
    #[arg(long)]
    pub force: bool,
}

/// `check`
#[derive(Args, Debug)]
pub struct CheckArgs {
    /// Histories and how to read and judge them.
    #[command(flatten)]
    pub history: HistoryArgs,
    /// Write the rejected rows to this new file, unchanged, with the place and the reason in two more columns
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub rejects: Option<Target>,
    /// Write a register to this new file with the names of all windings, to be filled in
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub register_template: Option<Target>,
    /// Replace those files if they are there, and keep the old ones beside them as FILE.bak
    #[arg(long)]
    pub force: bool,
    /// Read only the headers and print the section `columns` of a policy file
    #[arg(long, conflicts_with_all = ["rejects", "register_template"])]
    pub suggest: bool,
    /// Form of the result
    #[arg(long, short, value_enum, default_value = "text")]
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
    /// The master history: CSV or text separated by semicolons or tabs
    #[arg(long, value_name = "HISTORY", value_hint = ValueHint::FilePath)]
    pub to: PathBuf,
    /// How the master is read, where its groundwall.toml is another than that of the sheets.
    #[arg(skip)]
    pub master: Option<Box<HistoryArgs>>,
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
