//! How the resistance of a winding rises within its tests: all ten-minute tests over one another, old to new.
//!
//! Damp and dirt flatten the rise; sound, dry insulation goes on rising. Both scales are logarithmic, so a power law is a
//! straight line and a steady leakage bends it towards the level.

mod build;
mod draw;
#[cfg(test)]
mod tests;

use super::marks::BoundMark;
use super::page::Drawn;
use super::surround::Surround;
use super::{Chart, ChartContext};
use groundwall::assess::Judgement;
use groundwall::record::TestRecord;
use plotters::coord::Shift;
use plotters::drawing::DrawingArea;
use plotters_backend::DrawingBackend;

/// Everything that an absorption chart shows, in log10 seconds and log10 megohms.
#[derive(Clone, Debug, PartialEq)]
pub struct AbsorptionPicture {
    /// The latest ratios, what they mean, the latest law, and all else around the plot.
    pub words: Surround,
    /// One curve for each ten-minute test, old to new; at least one.
    pub curves: Vec<Curve>,
    /// First and last elapsed time, log10 seconds.
    pub times: (f64, f64),
    /// Lower and upper end of the resistance axis, log10 megohms.
    pub span: (f64, f64),
}

/// One test.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    /// The day, in words.
    pub date: String,
    /// R(10 min)/R(1 min) in words; a bound says so.
    pub pi: String,
    /// R(60 s)/R(30 s) in words; a bound says so.
    pub dar: String,
    /// Timed readings in order of time.
    pub readings: Vec<Timed>,
    /// The fitted law: log10 seconds and log10 megohms. Empty where none could be fitted.
    pub law: Vec<(f64, f64)>,
}

/// One timed reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Timed {
    /// Elapsed time, log10 seconds.
    pub time: f64,
    /// log10 megohms; none for over-range without a limit, which is drawn at the upper edge.
    pub value: Option<f64>,
    /// What it says about the resistance.
    pub says: BoundMark,
}

impl AbsorptionPicture {
    /// The picture of a series: its judgement, and the rows it was made from. None where no test went on for ten minutes.
    #[must_use]
    pub fn new(judgement: &Judgement, rows: &[TestRecord], context: &ChartContext) -> Option<Self> {
        build::picture(judgement, rows, context)
    }
}

impl Chart for AbsorptionPicture {
    fn draw<DB: DrawingBackend>(&self, area: &DrawingArea<DB, Shift>) -> Drawn<DB> {
        draw::draw(area, self)
    }

    fn description(&self) -> String {
        self.words.description()
    }
}
