//! The marks of readings: shape says what a reading is, and how much it counts.
//!
//! An exact reading is round, a bound is a bar at the limit with an arrow towards where the truth lies. What counts is
//! filled with ink; what was left out is hollow, with a sign for the reason.

use super::page::{At, Drawn, Frame, Pen};
use super::theme;
use groundwall::record::Phase;
use plotters::style::RGBColor;
use plotters_backend::DrawingBackend;

/// Whether and how a reading counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Emphasis {
    /// Corrected, and part of the trend.
    Counts,
    /// Part of the trend, but corrected by an assumed temperature: its own is not known.
    Uncorrected,
    /// The latest test, to be repeated before it is believed.
    Doubtful,
    /// Thought to be an outlier by the trend.
    Outlier,
    /// The leads were not proved before the test.
    LeadsNotProved,
    /// Left out for that reason, and the last test that was made: it is to be repeated.
    Void,
    /// From before the stretch.
    Before,
    /// The value before correction.
    AsRead,
}

/// How the reading bounds the resistance.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum BoundMark {
    /// This value.
    Exact,
    /// More than this value.
    Above,
    /// Less than this value.
    Below,
    /// Over range, with an unknown full scale.
    OffScale,
}

/// Radius of the mark of an exact reading.
pub const RADIUS: f64 = 5.5;

/// How far an arrow reaches from its limit.
pub const ARROW: f64 = 19.0;

/// What a mark covers, with a little air.
#[must_use]
pub fn extent(says: BoundMark, (x, y): At) -> Frame {
    let reach = RADIUS + 2.0;
    let (up, down) = match says {
        BoundMark::Exact => (reach, reach),
        BoundMark::Above | BoundMark::OffScale => (ARROW + 2.0, 3.0),
        BoundMark::Below => (3.0, ARROW + 2.0),
    };
    Frame { left: x - reach, top: y - up, right: x + reach, bottom: y + down }
}

/// Draws the mark of a reading; exact readings that count at some share of the usual size.
///
/// # Errors
///
/// Whatever the backend reports.
pub fn draw<DB: DrawingBackend>(
    pen: &Pen<'_, DB>,
    standing: Emphasis,
    says: BoundMark,
    at: At,
    share: f64,
) -> Drawn<DB> {
    let (x, y) = at;
    match (standing, says) {
        (Emphasis::AsRead, BoundMark::Exact) => {
            pen.path(&[(x - 5.0 * share, y), (x + 5.0 * share, y)], 2.0, theme::FAINT)
        }
        (Emphasis::AsRead, _) => Ok(()),
        (Emphasis::Counts, BoundMark::Exact) => {
            pen.disc(at, (RADIUS + 1.5) * share, theme::PAPER)?;
            pen.disc(at, RADIUS * share, theme::INK)
        }
        (Emphasis::Uncorrected, BoundMark::Exact) => {
            pen.disc(at, RADIUS + 1.0, theme::INK)?;
            pen.disc(at, 2.2, theme::PAPER)
        }
        (Emphasis::Counts | Emphasis::Uncorrected, _) => {
            arrow(pen, says, at, true)?;
            // The foot of an arrow with a gap stands at an assumed temperature; without a foot there is nothing to correct.
            let assumed = standing == Emphasis::Uncorrected && says != BoundMark::OffScale;
            if assumed { pen.disc(at, 2.2, theme::PAPER) } else { Ok(()) }
        }
        (Emphasis::Doubtful, BoundMark::Exact) => {
            pen.disc(at, RADIUS + 4.0, theme::PAPER)?;
            pen.ring(at, RADIUS + 3.0, 1.8, theme::INK)?;
            pen.disc(at, RADIUS - 2.0, theme::INK)
        }
        (Emphasis::Doubtful, _) => arrow(pen, says, at, true),
        (left_out, BoundMark::Exact) => {
            pen.disc(at, RADIUS + 1.0, theme::PAPER)?;
            reason(pen, left_out, at)
        }
        (left_out, _) => {
            arrow(pen, says, at, false)?;
            if matches!(left_out, Emphasis::Outlier | Emphasis::LeadsNotProved | Emphasis::Void) {
                let middle = if says == BoundMark::Below { (x, y + 8.0) } else { (x, y - 8.0) };
                return reason(pen, left_out, middle);
            }
            Ok(())
        }
    }
}

/// The hollow mark with the sign for why a reading was left out.
fn reason<DB: DrawingBackend>(pen: &Pen<'_, DB>, standing: Emphasis, (x, y): At) -> Drawn<DB> {
    let r = RADIUS + 0.5;
    let cross = r * 0.72;
    match standing {
        Emphasis::LeadsNotProved | Emphasis::Void => {
            if standing == Emphasis::Void {
                pen.disc((x, y), r + 3.5, theme::PAPER)?;
                pen.ring((x, y), r + 3.5, 1.8, theme::INK)?;
            }
            pen.path(&[(x - cross, y - cross), (x + cross, y + cross)], 2.2, theme::INK)?;
            pen.path(&[(x - cross, y + cross), (x + cross, y - cross)], 2.2, theme::INK)
        }
        Emphasis::Outlier => {
            pen.ring((x, y), r, 1.6, theme::INK)?;
            pen.path(&[(x - r - 2.5, y + r + 2.5), (x + r + 2.5, y - r - 2.5)], 1.6, theme::INK)
        }
        _ => pen.ring((x, y), r, 1.6, theme::FAINT),
    }
}

/// A bar at the limit and an arrow away from it; the bar is missing where there is no limit.
fn arrow<DB: DrawingBackend>(pen: &Pen<'_, DB>, says: BoundMark, (x, y): At, counts: bool) -> Drawn<DB> {
    let way = if says == BoundMark::Below { 1.0 } else { -1.0 };
    let (color, width) = if counts { (theme::INK, 2.4) } else { (theme::FAINT, 1.6) };
    let tip = y + way * ARROW;
    let neck = tip - way * 8.5;
    if says == BoundMark::OffScale {
        pen.path(&[(x, y), (x, y + way * 4.0)], width, color)?;
    } else {
        pen.path(&[(x - 7.0, y), (x + 7.0, y)], width, color)?;
    }
    pen.path(&[(x, y), (x, neck)], width, color)?;
    let head = [(x - 5.5, neck), (x, tip), (x + 5.5, neck)];
    if counts {
        pen.polygon(&head, color)
    } else {
        pen.path(&[head[0], head[1], head[2], head[0], head[1]], width, color)
    }
}

fn phase_color(phase: Phase, pale: bool) -> RGBColor {
    match (phase, pale) {
        (_, true) => theme::OLD,
        (Phase::U, _) => theme::INK,
        (Phase::V, _) => theme::LEVEL,
        (Phase::W, _) => theme::SOFT,
    }
}

/// Joins the readings of a phase: U in one stroke, V in dashes, W in dots.
///
/// # Errors
///
/// Whatever the backend reports.
pub fn phase_line<DB: DrawingBackend>(pen: &Pen<'_, DB>, phase: Phase, points: &[At], pale: bool) -> Drawn<DB> {
    let color = phase_color(phase, pale);
    match phase {
        Phase::U => pen.path(points, 1.8, color),
        Phase::V => pen.dashed(points, &[9.0, 4.0], 1.8, color),
        Phase::W => pen.dashed(points, &[2.5, 3.0], 1.8, color),
    }
}

/// The mark of a phase: U round and full, V a square with a hole, W a triangle. A bound has its arrow as well.
///
/// # Errors
///
/// Whatever the backend reports.
pub fn phase<DB: DrawingBackend>(
    pen: &Pen<'_, DB>,
    phase: Phase,
    says: BoundMark,
    (x, y): At,
    pale: bool,
) -> Drawn<DB> {
    let color = phase_color(phase, pale);
    if says != BoundMark::Exact {
        arrow(pen, says, (x, y), !pale)?;
    }
    let square = |r: f64| Frame { left: x - r, top: y - r, right: x + r, bottom: y + r };
    let triangle = |r: f64| [(x - r, y + r * 0.7), (x, y - r), (x + r, y + r * 0.7)];
    match phase {
        Phase::U => {
            pen.disc((x, y), RADIUS + 1.0, theme::PAPER)?;
            pen.disc((x, y), RADIUS - 0.5, color)
        }
        Phase::V => {
            pen.rect(square(RADIUS + 1.0), theme::PAPER)?;
            pen.rect(square(RADIUS - 0.5), color)?;
            pen.rect(square(RADIUS - 2.5), theme::PAPER)
        }
        Phase::W => {
            pen.polygon(&triangle(RADIUS + 3.5), theme::PAPER)?;
            pen.polygon(&triangle(RADIUS + 1.5), color)
        }
    }
}

/// How far a sideways arrow reaches from its limit.
pub const SIDEWAYS: f64 = 17.0;

/// The mark of a bound in a list whose values grow to the right: a bar at the limit, where there is one, and an arrow.
///
/// # Errors
///
/// Whatever the backend reports.
pub fn sideways<DB: DrawingBackend>(pen: &Pen<'_, DB>, says: BoundMark, (x, y): At, counts: bool) -> Drawn<DB> {
    let way = if says == BoundMark::Below { -1.0 } else { 1.0 };
    let (tip, neck) = (x + way * SIDEWAYS, x + way * (SIDEWAYS - 7.5));
    if says != BoundMark::OffScale {
        pen.path(&[(x, y - 6.0), (x, y + 6.0)], 2.4, theme::INK)?;
    }
    pen.path(&[(x, y), (neck, y)], 2.4, theme::INK)?;
    pen.polygon(&[(neck, y - 5.0), (tip, y), (neck, y + 5.0)], theme::INK)?;
    if counts { Ok(()) } else { pen.disc((x, y), 2.2, theme::PAPER) }
}

/// The level of one series in a list: a short upright stroke in the middle of its band.
///
/// # Errors
///
/// Whatever the backend reports.
pub fn level_of_one<DB: DrawingBackend>(pen: &Pen<'_, DB>, (low, high): (f64, f64), middle: f64, y: f64) -> Drawn<DB> {
    pen.rect(Frame { left: low, top: y - 4.0, right: high, bottom: y + 4.0 }, theme::BAND_EDGE)?;
    pen.rect(Frame { left: middle - 1.6, top: y - 7.0, right: middle + 1.6, bottom: y + 7.0 }, theme::LEVEL)
}
