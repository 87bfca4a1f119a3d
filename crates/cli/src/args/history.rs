//! Histories, how to read and judge them, and which series of them is meant.

use crate::files::Input;
use crate::values;
use chrono::NaiveDate;
use clap::{Args, ValueHint};
use encoding_rs::Encoding;
use groundwall::record::{Connection, Scope};
use groundwall::units::{Confidence, Resistance};
use groundwall_engine::fleet::Wanted;
use groundwall_engine::ingest::description::Description;
use groundwall_engine::ingest::joined::OtherName;
use groundwall_engine::ingest::mapping::Mapping;

/// Histories and how to read and judge them.
#[derive(Args, Debug, Clone)]
pub struct HistoryArgs {
    /// Histories: CSV or text separated by semicolons or tabs, also packed with gzip, workbooks (.xlsx, .xls, .ods), and Parquet and
    /// Arrow files if the program was built with them; one row per test or per timed reading; patterns such as "round-*.csv"; - for
    /// standard input
    #[arg(required = true, value_name = "HISTORY", value_hint = ValueHint::FilePath)]
    pub inputs: Vec<Input>,
    /// Register of windings, one row each: winding, rated_volts, construction, insulation, year_made, minimum_mohm,
    /// interval_days, group and others; all but winding may be empty
    #[arg(long, short, value_name = "FILE", env = "GROUNDWALL_REGISTER", hide_env_values = true, value_hint = ValueHint::FilePath, help_heading = "Judging")]
    pub register: Option<Input>,
    /// The site's limits and intervals; `groundwall policy` writes a template
    #[arg(long, short, value_name = "FILE", env = "GROUNDWALL_POLICY", hide_env_values = true, value_hint = ValueHint::FilePath, help_heading = "Judging")]
    pub policy: Option<Input>,
    /// Judge as on this day; later tests are left out and counted [default: today]
    #[arg(long, value_name = "DATE", value_parser = values::date, help_heading = "Judging")]
    pub as_of: Option<NaiveDate>,
    /// Confidence of every interval, 0.5 to 0.999 [default: 0.9]
    #[arg(long, value_name = "FRACTION", value_parser = values::confidence, help_heading = "Judging")]
    pub confidence: Option<Confidence>,
    /// Form of the dates, if neither they nor their column say it: %d/%m/%Y, %m/%d/%Y; %y for a year of two digits, %b for a
    /// month such as Jul; may be given several times
    #[arg(long, value_name = "FORM", value_parser = values::date_format, help_heading = "Reading")]
    pub date_format: Vec<String>,
    /// The comma is the decimal mark; assumed in files separated by semicolons
    #[arg(long, conflicts_with = "decimal_point", help_heading = "Reading")]
    pub decimal_comma: bool,
    /// The point is the decimal mark, also in files separated by semicolons
    #[arg(long, help_heading = "Reading")]
    pub decimal_point: bool,
    /// Sheet of the workbooks to be read, by name or pattern; may be given several times [default: all]
    #[arg(long, value_name = "NAME", help_heading = "Reading")]
    pub sheet: Vec<String>,
    /// Sheet of the workbooks to be left out, by name or pattern; may be given several times
    #[arg(long, value_name = "NAME", help_heading = "Reading")]
    pub skip_sheet: Vec<String>,
    /// Encoding of the text, such as utf-8, utf-16le, windows-1252 [default: found from the bytes]
    #[arg(long, value_name = "NAME", value_parser = values::encoding, help_heading = "Reading")]
    pub encoding: Option<&'static Encoding>,
    /// Cell delimiter: comma, semicolon or tab [default: found from the header]
    #[arg(long, value_name = "MARK", value_parser = values::delimiter, help_heading = "Reading")]
    pub delimiter: Option<u8>,
    /// Largest value the tester can show, in MΩ or with a unit, for rows that do not say it: OL means above this
    #[arg(long, value_name = "RESISTANCE", value_parser = values::plain_resistance, help_heading = "Reading")]
    pub full_scale: Option<Resistance>,
    /// End with status 3 if any row was rejected
    #[arg(long, help_heading = "Reading")]
    pub strict: bool,
    /// What headers stand for, from groundwall.toml.
    #[arg(skip)]
    pub columns: Mapping,
    /// Layouts, from groundwall.toml.
    #[arg(skip)]
    pub layouts: Vec<Description>,
    /// Other names of windings, from groundwall.toml.
    #[arg(skip)]
    pub names: Vec<OtherName>,
    /// The groundwall.toml that was read.
    #[arg(skip)]
    pub settings: Option<Input>,
    /// Do not read groundwall.toml, the file beside the history or above it that sets what options leave open
    #[arg(long)]
    pub no_config: bool,
}

/// One series of a history.
#[derive(Args, Debug)]
pub struct SeriesArgs {
    /// The winding, as the history names it
    #[arg(long, short, value_name = "ID")]
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

impl CircuitArgs {
    /// The series of this winding that are meant.
    #[must_use]
    pub fn of(&self, winding: &str) -> Wanted {
        Wanted {
            winding: winding.to_owned(),
            connection: self.connection.as_deref().map(Connection::read),
            scope: self.scope,
        }
    }
}
