//! The phases of one winding side by side, and below them how far they stand apart, against the limit.

mod build;
mod draw;
#[cfg(test)]
mod tests;

use super::flags::Flag;
use super::marks::{BoundMark, Emphasis};
use super::page::Drawn;
use super::readings::Reading;
use super::surround::Surround;
use super::{Chart, ChartContext, MinimumLine};
use groundwall::assess::Judgement;
use groundwall::record::Phase;
use plotters::coord::Shift;
use plotters::drawing::DrawingArea;
use plotters_backend::DrawingBackend;

/// Everything that a chart of phases shows, in days and log10.
#[derive(Clone, Debug, PartialEq)]
pub struct PhasesPicture {
    /// The most urgent of the phases' actions, how far they stand apart, and all else around the plot.
    pub words: Surround,
    /// The readings of each phase, in time order.
    pub phases: Vec<(Phase, Vec<Reading>)>,
    /// How far they stand apart, day by day.
    pub ratios: Vec<RatioMark>,
    /// The greatest ratio that is let pass, log10.
    pub limit: f64,
    /// The same in words.
    pub limit_label: String,
    /// The minimum of one phase.
    pub minimum: Option<MinimumLine>,
    /// Work done and shifts found, in time order.
    pub flags: Vec<Flag>,
    /// The as-of date.
    pub as_of: f64,
    /// First and last day of the date axis.
    pub days: (f64, f64),
    /// Lower and upper end of the resistance axis, log10 megohms.
    pub span: (f64, f64),
    /// Upper end of the ratio axis, log10; it begins at a ratio of 1.
    pub farthest: f64,
}

/// The ratio of the highest phase to the lowest on one day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RatioMark {
    /// The day.
    pub day: f64,
    /// log10 of the ratio, or of its limit.
    pub value: f64,
    /// Exact, or above.
    pub says: BoundMark,
    /// Counts, or before the stretch.
    pub standing: Emphasis,
    /// The lowest phase.
    pub lowest: Phase,
}

impl PhasesPicture {
    /// The picture of the series of one winding and scope, phase to earth; `limit` is the greatest ratio let pass. None where
    /// fewer than two phases have a reading.
    #[must_use]
    pub fn new(phases: &[&Judgement], limit: f64, context: &ChartContext) -> Option<Self> {
        build::picture(phases, limit, context)
    }
}

impl Chart for PhasesPicture {
    fn draw<DB: DrawingBackend>(&self, area: &DrawingArea<DB, Shift>) -> Drawn<DB> {
        draw::draw(area, self)
    }

    fn description(&self) -> String {
        self.words.description()
    }
}
