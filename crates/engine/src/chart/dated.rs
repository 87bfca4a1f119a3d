//! The frame of a chart over dates: the words around it, days with a name above the data, the axis of dates below.

use super::flags::{self, Flag};
use super::page::{Drawn, Frame, Pen};
use super::surround::{self, Surround};
use super::timeline::Timeline;
use plotters_backend::DrawingBackend;

/// The days that a chart shows.
#[derive(Clone, Copy, Debug)]
pub struct Dates<'p> {
    /// First and last day of the axis.
    pub days: (f64, f64),
    /// The as-of date.
    pub as_of: f64,
    /// Work done and shifts found, in time order.
    pub flags: &'p [Flag],
}

/// A frame in its place.
#[derive(Clone, Debug)]
pub struct Dated {
    words: surround::Placed,
    /// The axis of dates.
    pub timeline: Timeline,
    /// The lines of days with a name, that of the as-of date first.
    pub flags: Vec<flags::Placed>,
    /// The plot with the tiers of their labels.
    pub plot: Frame,
    /// Height at which the data begins.
    pub data_top: f64,
}

impl Dated {
    /// Places the frame of a plot between two sides of a page, at least so high.
    #[must_use]
    pub fn place(page: Frame, words: &Surround, dates: Dates<'_>, (left, right): (f64, f64), least: f64) -> Self {
        let timeline = Timeline::new(dates.days, (left, right));
        let flags = flags::place_named(dates.flags, dates.as_of, &timeline, (left, right));
        let words = words.with_entries(flags::unnamed(&flags)).place(page, least + timeline.height());
        let plot = Frame { left, right, top: words.room.top, bottom: words.room.bottom - timeline.height() };
        let data_top = plot.top + flags::tiers(&flags) as f64 * flags::TIER + 6.0;
        Self { words, timeline, flags, plot, data_top }
    }

    /// Draws the sheet and the words, on which everything else comes to lie.
    ///
    /// # Errors
    ///
    /// Whatever the backend reports.
    pub fn draw_words<DB: DrawingBackend>(&self, pen: &Pen<'_, DB>) -> Drawn<DB> {
        self.words.draw(pen)
    }
}
