//! A limit: a line, hatched on the side where nothing must be.

use super::page::{At, Pen};
use super::theme;
use plotters::drawing::DrawingAreaErrorKind;
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
pub fn draw<DB: DrawingBackend>(
    pen: &Pen<'_, DB>,
    (from, to): (f64, f64),
    at: f64,
    forbidden: Forbidden,
) -> Result<(), DrawingAreaErrorKind<DB::ErrorType>> {
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
