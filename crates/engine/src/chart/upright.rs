//! The axis of resistances beside a plot: log10 megohms between two heights.

use super::axes::{self, Tick};
use super::font::Face;
use super::page::{Align, Drawn, Pen};
use super::theme;
use plotters_backend::DrawingBackend;

const LABEL: Face = Face::regular(theme::LABEL);

/// Least distance between two labels.
const APART: f64 = 18.0;

/// Values on an upright stretch of the page.
#[derive(Clone, Copy, Debug)]
pub struct Upright {
    /// Value at the lower and at the upper end, log10.
    pub span: (f64, f64),
    /// Height of the upper end.
    pub top: f64,
    /// Height of the lower end.
    pub bottom: f64,
}

impl Upright {
    /// The height of a value; one beyond the ends stays within reach of the page.
    #[must_use]
    pub fn y(&self, value: f64) -> f64 {
        let (low, high) = self.span;
        let share = (value - low) / (high - low).max(1e-9);
        self.bottom - share.clamp(-50.0, 50.0) * (self.bottom - self.top)
    }

    /// The same, held between the ends.
    #[must_use]
    pub fn y_inside(&self, value: f64) -> f64 {
        self.y(value).max(self.top).min(self.bottom)
    }

    /// Draws a grid line for each tick between two sides of the plot, and the axis at the left one, with as many labels as
    /// have room: those of decades first.
    ///
    /// # Errors
    ///
    /// Whatever the backend reports.
    pub fn draw<DB: DrawingBackend>(&self, pen: &Pen<'_, DB>, ticks: &[Tick], (left, right): (f64, f64)) -> Drawn<DB> {
        let is_decade = |tick: &Tick| (tick.at - tick.at.round()).abs() < 1e-9;
        let (decades, others): (Vec<&Tick>, Vec<&Tick>) = ticks.iter().partition(|tick| is_decade(tick));
        let mut labelled: Vec<f64> = Vec::new();
        for tick in decades.into_iter().chain(others) {
            let y = self.y(tick.at);
            pen.path(&[(left - 7.0, y), (right, y)], 1.0, theme::HAIR)?;
            if labelled.iter().all(|other| (other - y).abs() >= APART) {
                let at = (left - 12.0, y + theme::LABEL * 0.36);
                pen.text(&tick.label, at, Align::Right, LABEL, theme::INK)?;
                labelled.push(y);
            }
        }
        for at in axes::minor_resistances(self.span.0, self.span.1) {
            let y = self.y(at);
            pen.path(&[(left - 4.0, y), (left, y)], 1.0, theme::FAINT)?;
        }
        pen.path(&[(left, self.top), (left, self.bottom)], 1.0, theme::FAINT)
    }
}
