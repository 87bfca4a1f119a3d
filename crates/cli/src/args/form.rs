//! The forms that results can have.

use clap::ValueEnum;
use groundwall_engine::output::ListBy;

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
    /// The list as one page, to sort, to filter and to print
    Html,
    /// For databases and notebooks: typed columns, if the program was built with them
    Parquet,
    /// The same for programs that share memory
    Arrow,
}

/// What a line of a list is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum By {
    /// One series: a winding, connection and scope
    Series,
    /// One motor: its most urgent series, with its others below it
    Motor,
}

impl From<By> for ListBy {
    fn from(by: By) -> Self {
        match by {
            By::Series => Self::Series,
            By::Motor => Self::Motor,
        }
    }
}

/// Which series get a page of their own in a report.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum ReportPages {
    /// Those to hold, plan for, recheck or test sooner
    Urgent,
    /// Every series
    All,
}

/// Forms of all other results.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum TextFormat {
    /// For people
    Text,
    /// For programs
    Json,
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

/// When results are coloured.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum ColorWhen {
    /// On a terminal, unless NO_COLOR or CLICOLOR=0 says otherwise; CLICOLOR_FORCE colours anything
    Auto,
    /// Always
    Always,
    /// Never
    Never,
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
    /// One test at several voltages: resistance and current against voltage
    Steps,
    /// Drying out: resistance and temperature against hours
    Drying,
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
            Self::Steps => "steps",
            Self::Drying => "drying",
            Self::Fleet => "fleet",
        }
    }
}
