//! The trend of one series: readings, level, minimum, and when the two meet.
//!
//! [`TrendPicture`] is plain data made from a judgement; drawing it decides nothing about the series any more.

mod build;
mod crossing;
mod draw;
mod layout;
#[cfg(test)]
mod print_tests;
#[cfg(test)]
mod tests;
mod words;

pub use draw::draw;

use super::flags::Flag;
use super::marks::Emphasis;
use super::page::Drawn;
use super::readings::Reading;
use super::surround::Surround;
use super::{Chart, ChartContext, MinimumLine};
use chrono::NaiveDate;
use groundwall::assess::{Judgement, Level};
use plotters::coord::Shift;
use plotters::drawing::DrawingArea;
use plotters_backend::DrawingBackend;

/// Everything that a trend chart shows, in days and log10 megohms.
#[derive(Clone, Debug, PartialEq)]
pub struct TrendPicture {
    /// The action in words, the weightiest finding, and all else around the plot.
    pub words: Surround,
    /// Readings in time order. Where the latest is doubtful, the level is that of the readings before it.
    pub readings: Vec<Reading>,
    /// The level up to the as-of date.
    pub level: Vec<LevelAt>,
    /// The level after it.
    pub forecast: Vec<LevelAt>,
    /// The minimum.
    pub minimum: Option<MinimumLine>,
    /// When the level reaches the minimum; an arrow at the right edge where that is later than the last day.
    pub crossing: Option<Crossing>,
    /// Work done and shifts found, in time order.
    pub flags: Vec<Flag>,
    /// The as-of date.
    pub as_of: f64,
    /// First and last day of the date axis.
    pub days: (f64, f64),
    /// Lower and upper end of the resistance axis, log10 megohms.
    pub span: (f64, f64),
}

/// The level on one day, log10 megohms.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LevelAt {
    /// The day.
    pub day: f64,
    /// Lower end of the interval.
    pub low: f64,
    /// Middle.
    pub middle: f64,
    /// Upper end.
    pub high: f64,
}

/// The interval of the crossing; one day, without a middle, where readings tell by when it was.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crossing {
    /// Earlier end.
    pub earliest: f64,
    /// As likely before as after.
    pub median: Option<f64>,
    /// Later end; none where there is none.
    pub latest: Option<f64>,
}

impl TrendPicture {
    /// The picture of a judgement.
    #[must_use]
    pub fn new(judgement: &Judgement, context: &ChartContext) -> Self {
        match judgement.fit_before_doubtful() {
            Some(before) => Self::with_levels(judgement, context, &|day| judgement.level_of(&before, day)),
            None => Self::with_levels(judgement, context, &|day| judgement.level_at(day)),
        }
    }

    /// The picture of a judgement whose level comes from somewhere else: for trials of other methods.
    #[must_use]
    pub fn with_levels(
        judgement: &Judgement,
        context: &ChartContext,
        level_at: &dyn Fn(NaiveDate) -> Option<Level>,
    ) -> Self {
        build::picture(judgement, context, level_at)
    }
}

impl TrendPicture {
    /// The readings of the latest test up to the as-of date, whether it counts or not.
    pub(super) fn latest(&self) -> impl Iterator<Item = &Reading> {
        let made = self.readings.iter().filter(|reading| reading.standing != Emphasis::AsRead);
        let last = made.clone().map(|reading| reading.day).fold(f64::NEG_INFINITY, f64::max);
        made.filter(move |reading| reading.day >= last)
    }
}

impl Chart for TrendPicture {
    fn draw<DB: DrawingBackend>(&self, area: &DrawingArea<DB, Shift>) -> Drawn<DB> {
        draw(area, self)
    }

    fn description(&self) -> String {
        self.words.description()
    }
}
