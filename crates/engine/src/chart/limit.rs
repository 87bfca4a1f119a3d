//! A limit: a line, hatched on the side where nothing must be.

use super::font::Face;
use super::page::{Align, At, Drawn, Pen};
use super::theme;
use plotters_backend::DrawingBackend;

/// The side of the line where nothing must be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Forbidden {
    /// Below a level line.
    Below,
    /// Above a level line.
    Above,
    /// To the left of an upright line.
    Left,
}

const LABEL: Face = Face::regular(theme::LABEL);
const NAME: Face = Face::strong(theme::LABEL);

/// Width of the line.
const WIDTH: f64 = 2.4;

/// Distance between two strokes of the hatching.
const STEP: f64 = 12.0;

/// How far a stroke reaches along the line and away from it.
const REACH: (f64, f64) = (8.0, 9.0);

/// Draws a limit between two ends at some height, or at some x where the line is upright.
///
/// # Errors
///
/// Whatever the backend reports.
pub fn draw<DB: DrawingBackend>(pen: &Pen<'_, DB>, (from, to): (f64, f64), at: f64, forbidden: Forbidden) -> Drawn<DB> {
    let point = |along: f64, away: f64| -> At {
        match forbidden {
            Forbidden::Below => (along, at + away),
            Forbidden::Above => (along, at - away),
            Forbidden::Left => (at - away, along),
        }
    };
    let mut along = from + STEP;
    while along < to {
        pen.path(&[point(along, 0.0), point(along - REACH.0, REACH.1)], 1.2, theme::LIMIT)?;
        along += STEP;
    }
    pen.path(&[point(from, 0.0), point(to, 0.0)], WIDTH, theme::LIMIT)
}

/// Room that the name of a limit takes beside a plot.
#[must_use]
pub fn name_width(what: &str, value: &str) -> f64 {
    LABEL.width(what).max(NAME.width(value))
}

/// Names a limit beside the right end of its line: what it is above the line, its value below.
///
/// # Errors
///
/// Whatever the backend reports.
pub fn name<DB: DrawingBackend>(pen: &Pen<'_, DB>, (right, y): At, what: &str, value: &str) -> Drawn<DB> {
    let from = right + 8.0;
    pen.text(what, (from, y - 3.0), Align::Left, LABEL, theme::LIMIT)?;
    pen.text(value, (from, y + 17.0), Align::Left, NAME, theme::LIMIT)
}
