//! One test or one process in two panels: the resistance above, and below it what belongs to it, on one axis of hours or volts.
//!
//! [`drying`] and [`steps`] say in plain data what is to be seen; the drawing is the same for both.

mod draw;
pub mod drying;
pub mod steps;
#[cfg(test)]
mod tests;

use super::marks::BoundMark;
use super::page::Drawn;
use super::surround::Surround;
use super::{Chart, MinimumLine};
use plotters::coord::Shift;
use plotters::drawing::DrawingArea;
use plotters_backend::DrawingBackend;

/// Everything that such a chart shows.
#[derive(Clone, Debug, PartialEq)]
pub struct PanelsPicture {
    /// The words around the plot.
    pub words: Surround,
    /// One for each row, in order.
    pub points: Vec<Point>,
    /// Unit of the axis along which they stand: h, V.
    pub unit: &'static str,
    /// What the lower panel shows, with its unit.
    pub lower: String,
    /// Whether its axis begins at nought.
    pub from_nought: bool,
    /// Lines across both panels with their labels.
    pub marks: Vec<(f64, String)>,
    /// The limit of the readings as read, where there is one.
    pub minimum: Option<MinimumLine>,
}

/// One row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Where it stands along the axis: hours or volts.
    pub along: f64,
    /// log10 megohms as read; none for over-range without a limit, which is drawn at the upper edge, and where nothing was read.
    pub resistance: Option<f64>,
    /// What the reading says; none where nothing was read.
    pub says: Option<BoundMark>,
    /// The value of the lower panel.
    pub lower: Option<f64>,
}

impl Chart for PanelsPicture {
    fn draw<DB: DrawingBackend>(&self, area: &DrawingArea<DB, Shift>) -> Drawn<DB> {
        draw::draw(area, self)
    }

    fn description(&self) -> String {
        self.words.description()
    }
}
