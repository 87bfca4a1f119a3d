//! The axis of dates below a plot.

use super::axes::{self, Tick};
use super::font::Face;
use super::page::{Align, Drawn, Pen};
use super::theme;
use plotters_backend::DrawingBackend;

const LABEL: Face = Face::regular(theme::LABEL);
const SMALL: Face = Face::regular(theme::SMALL);

/// Height of the date labels with their ticks: one row, and two.
const HEIGHTS: (f64, f64) = (40.0, 56.0);

/// Least distance between two date labels, and the same on a short axis.
const APART: (f64, f64) = (84.0, 56.0);

/// Days on a stretch of the page.
#[derive(Clone, Debug)]
pub struct Timeline {
    days: (f64, f64),
    ends: (f64, f64),
    ticks: Vec<Tick>,
}

impl Timeline {
    /// The first and last day, and where on the page they stand.
    #[must_use]
    pub fn new(days: (f64, f64), ends: (f64, f64)) -> Self {
        Self { days, ends, ticks: axes::date_ticks(days.0, days.1, ends.1 - ends.0, APART.0) }
    }

    /// The same for a short axis, whose labels stand closer.
    #[must_use]
    pub fn narrow(days: (f64, f64), ends: (f64, f64)) -> Self {
        Self { days, ends, ticks: axes::date_ticks(days.0, days.1, ends.1 - ends.0, APART.1) }
    }

    /// Where a day stands.
    #[must_use]
    pub fn x(&self, day: f64) -> f64 {
        let (first, last) = self.days;
        self.ends.0 + (day - first) / (last - first).max(1.0) * (self.ends.1 - self.ends.0)
    }

    /// Height of the axis with its labels.
    #[must_use]
    pub fn height(&self) -> f64 {
        if self.ticks.iter().any(|tick| !tick.second.is_empty()) { HEIGHTS.1 } else { HEIGHTS.0 }
    }

    /// Where the named days stand.
    pub fn named(&self) -> impl Iterator<Item = f64> {
        self.ticks.iter().map(|tick| self.x(tick.at))
    }

    /// Draws the axis at a height.
    ///
    /// # Errors
    ///
    /// Whatever the backend reports.
    pub fn draw<DB: DrawingBackend>(&self, pen: &Pen<'_, DB>, y: f64) -> Drawn<DB> {
        let (left, right) = self.ends;
        pen.path(&[(left, y), (right, y)], 1.6, theme::INK)?;
        for at in axes::minor_dates(self.days.0, self.days.1, right - left) {
            let x = self.x(at);
            pen.path(&[(x, y), (x, y + 4.0)], 1.0, theme::FAINT)?;
        }
        for tick in &self.ticks {
            let x = self.x(tick.at);
            pen.path(&[(x, y), (x, y + 8.0)], 1.6, theme::INK)?;
            pen.text(&tick.label, (x, y + 26.0), Align::Middle, LABEL, theme::INK)?;
            pen.text(&tick.second, (x, y + 45.0), Align::Middle, SMALL, theme::SOFT)?;
        }
        Ok(())
    }
}
