//! The legend: a strip of samples and words below the plot, where it covers nothing.

use super::font::Face;
use super::marks::{self, BoundMark, Emphasis};
use super::page::{Align, At, Drawn, Frame, Pen};
use super::theme;
use groundwall::record::Phase;
use plotters_backend::DrawingBackend;

/// What stands before the words of an entry.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sample {
    /// The mark of a reading.
    Mark(Emphasis, BoundMark),
    /// The fitted level with its band.
    Level,
    /// The level to come, with its band.
    Forecast,
    /// The interval of a crossing.
    Crossing,
    /// The test by which a limit was reached.
    Reached,
    /// A crossing later than the picture.
    Later,
    /// A fitted law of absorption.
    Law,
    /// Curves of older tests.
    Older,
    /// Readings joined without a law.
    Joined,
    /// The line and mark of a phase.
    Phase(Phase),
    /// The level of one series with its band.
    LevelOfOne,
    /// A bound in a list, where more lies to the right.
    Sideways,
    /// Nothing: a remark.
    None,
}

/// One entry of the legend.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// The sample.
    pub sample: Sample,
    /// Its words.
    pub words: String,
}

const FACE: Face = Face::regular(theme::SMALL);
const ROW: f64 = 25.0;
const GAP: f64 = 26.0;

impl Entry {
    fn sample_width(&self) -> f64 {
        match self.sample {
            Sample::Mark(..) => 24.0,
            Sample::None => 0.0,
            _ => 48.0,
        }
    }
}

/// Where the entries stand, row by row.
#[derive(Clone, Debug)]
pub struct Strip {
    placed: Vec<(Entry, At)>,
    /// Height of all rows.
    pub height: f64,
}

impl Strip {
    /// Places entries in rows of some width; entries longer than a row are shortened.
    #[must_use]
    pub fn new(entries: &[Entry], width: f64) -> Self {
        let (mut x, mut row) = (0.0, 0.0);
        let mut placed = Vec::new();
        for entry in entries {
            let words = FACE.fit(&entry.words, width - entry.sample_width());
            let wide = entry.sample_width() + FACE.width(&words);
            if x > 0.0 && x + wide > width {
                x = 0.0;
                row += 1.0;
            }
            placed.push((Entry { words, sample: entry.sample }, (x, row * ROW)));
            x += wide + GAP;
        }
        Self { height: if placed.is_empty() { 0.0 } else { (row + 1.0) * ROW }, placed }
    }

    /// Draws the strip with its upper left corner at a point.
    ///
    /// # Errors
    ///
    /// Whatever the backend reports.
    pub fn draw<DB: DrawingBackend>(&self, pen: &Pen<'_, DB>, corner: At) -> Drawn<DB> {
        for (entry, offset) in &self.placed {
            let (x, middle) = (corner.0 + offset.0, corner.1 + offset.1 + ROW / 2.0);
            sample(pen, entry.sample, (x, middle))?;
            let at = (x + entry.sample_width(), middle + theme::SMALL * 0.35);
            pen.text(&entry.words, at, Align::Left, FACE, theme::INK)?;
        }
        Ok(())
    }
}

fn sample<DB: DrawingBackend>(pen: &Pen<'_, DB>, sample: Sample, (x, y): At) -> Drawn<DB> {
    let right = x + 38.0;
    let band = Frame { left: x, top: y - 7.0, right, bottom: y + 7.0 };
    match sample {
        Sample::Mark(standing, says) => {
            let shift = match says {
                BoundMark::Exact => 0.0,
                BoundMark::Above | BoundMark::OffScale => 8.5,
                BoundMark::Below => -8.5,
            };
            marks::draw(pen, standing, says, (x + 8.0, y + shift), 1.0)
        }
        Sample::Level => {
            pen.rect(band, theme::BAND)?;
            pen.path(&[(x, y), (right, y)], 3.2, theme::LEVEL)
        }
        Sample::Forecast => {
            pen.rect(band, theme::BAND_AHEAD)?;
            pen.dashed(&[(x, y), (right, y)], &FORECAST_DASH, 3.2, theme::LEVEL)
        }
        Sample::Crossing => bracket(pen, (x, right), y, (true, true), Some(x + 15.0), 1.0),
        Sample::Reached => {
            pen.rect(Frame { left: x, top: y - 1.2, right, bottom: y + 1.2 }, theme::LIMIT)?;
            bracket(pen, (x + 19.0, x + 19.0), y, (true, true), None, 1.0)
        }
        Sample::Later => later(pen, x, right, y, 1.0),
        Sample::Law => pen.path(&[(x, y + 4.0), (right, y - 4.0)], 3.2, theme::LEVEL),
        Sample::Older => {
            pen.path(&[(x, y + 7.0), (right, y - 1.0)], 1.5, theme::OLD)?;
            pen.path(&[(x, y + 1.0), (right, y - 7.0)], 1.5, theme::SOFT)
        }
        Sample::Joined => pen.dashed(&[(x, y + 4.0), (right, y - 4.0)], &JOINED_DASH, 1.5, theme::SOFT),
        Sample::Phase(phase) => {
            marks::phase_line(pen, phase, &[(x, y), (right, y)], false)?;
            marks::phase(pen, phase, BoundMark::Exact, (x + 19.0, y), false)
        }
        Sample::LevelOfOne => marks::level_of_one(pen, (x, right), x + 19.0, y),
        Sample::Sideways => marks::sideways(pen, BoundMark::Above, (x + 4.0, y), true),
        Sample::None => Ok(()),
    }
}

/// Dash and gap of a line that only joins readings.
pub const JOINED_DASH: [f64; 2] = [2.5, 4.0];

/// Dash and gap of the level to come.
pub const FORECAST_DASH: [f64; 2] = [11.0, 6.0];

/// A crossing later than the picture: an arrow without a beginning, at some share of the usual height.
///
/// # Errors
///
/// Whatever the backend reports.
pub fn later<DB: DrawingBackend>(pen: &Pen<'_, DB>, left: f64, right: f64, y: f64, share: f64) -> Drawn<DB> {
    let neck = right - 12.0 * share;
    for (from, part) in [(left, 0.2), (left + (neck - left) * 0.38, 0.2), (left + (neck - left) * 0.72, 0.3)] {
        let to = from + (neck - left) * part;
        pen.rect(Frame { left: from, top: y - 3.0 * share, right: to, bottom: y + 3.0 * share }, theme::LIMIT)?;
    }
    pen.polygon(&[(neck, y - 9.0 * share), (right, y), (neck, y + 9.0 * share)], theme::LIMIT)
}

/// The interval of a crossing: a bar with a stop at each end that is known, an arrow where it is not, and a lozenge at the
/// middle; at some share of the usual height.
///
/// # Errors
///
/// Whatever the backend reports.
pub fn bracket<DB: DrawingBackend>(
    pen: &Pen<'_, DB>,
    (left, right): (f64, f64),
    y: f64,
    stops: (bool, bool),
    middle: Option<f64>,
    share: f64,
) -> Drawn<DB> {
    let across = |r: f64, x: (f64, f64)| Frame { left: x.0, top: y - r * share, right: x.1, bottom: y + r * share };
    pen.rect(across(3.0, (left, right)), theme::LIMIT)?;
    for (x, known, way) in [(left, stops.0, -1.0), (right, stops.1, 1.0)] {
        if known {
            pen.rect(across(10.0, (x - 1.5, x + 1.5)), theme::LIMIT)?;
        } else {
            let neck = x - way * 12.0 * share;
            pen.polygon(&[(neck, y - 9.0 * share), (x, y), (neck, y + 9.0 * share)], theme::LIMIT)?;
        }
    }
    if let Some(x) = middle {
        let lozenge = |r: f64| [(x, y - r * share), (x + r * share, y), (x, y + r * share), (x - r * share, y)];
        pen.polygon(&lozenge(10.5), theme::PAPER)?;
        pen.polygon(&lozenge(8.0), theme::LIMIT)?;
    }
    Ok(())
}
