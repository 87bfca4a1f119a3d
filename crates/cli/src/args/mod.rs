//! The shape of the command line and its help. Nothing is decided here: values arrive checked one by one
//! ([`crate::values`]), and together they become a plan in [`crate::settings`].

mod command;
mod form;
mod history;
mod on_histories;
mod without_histories;

pub use command::{Cli, Command};
pub use form::{AssessFormat, By, ChartKind, ColorWhen, ReportPages, RoundFormat, TextFormat};
pub use history::{CircuitArgs, HistoryArgs, SeriesArgs};
pub use on_histories::{
    AddArgs, AssessArgs, ChartArgs, CheckArgs, CompareArgs, ExplainArgs, ReplayArgs, ReportArgs, RoundArgs,
};
pub use without_histories::{CompletionsArgs, CorrectArgs, DemoArgs, ManualArgs, PolicyArgs, RatiosArgs, SpotArgs};
