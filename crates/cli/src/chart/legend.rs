//! The legend: a strip of samples and words below the plot, where it covers nothing.

use super::font::Face;
use super::marks::{self, Says, Standing};
use super::page::{Align, At, Frame, Pen};
use super::theme;
use plotters::drawing::DrawingAreaErrorKind;
use plotters_backend::DrawingBackend;

/// What stands before the words of an entry.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sample {
    /// The mark of a reading.
    Mark(Standing, Says),
    /// The fitted level with its band.
    Level,
    /// The level to come, with its band.
    Forecast,
    /// The interval of a crossing.
    Crossing,
    /// A crossing later than the picture.
    Later,
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
            Sample::Level | Sample::Forecast | Sample::Crossing | Sample::Later => 48.0,
            Sample::None => 0.0,
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
    pub fn draw<DB: DrawingBackend>(
        &self,
        pen: &Pen<'_, DB>,
        corner: At,
    ) -> Result<(), DrawingAreaErrorKind<DB::ErrorType>> {
        for (entry, offset) in &self.placed {
            let (x, middle) = (corner.0 + offset.0, corner.1 + offset.1 + ROW / 2.0);
            sample(pen, entry.sample, (x, middle))?;
            let at = (x + entry.sample_width(), middle + theme::SMALL * 0.35);
            pen.text(&entry.words, at, Align::Left, FACE, theme::INK)?;
        }
        Ok(())
    }
}

fn sample<DB: DrawingBackend>(
    pen: &Pen<'_, DB>,
    sample: Sample,
    (x, y): At,
) -> Result<(), DrawingAreaErrorKind<DB::ErrorType>> {
    let right = x + 38.0;
    let band = Frame { left: x, top: y - 7.0, right, bottom: y + 7.0 };
    match sample {
        Sample::Mark(standing, says) => {
            let shift = match says {
                Says::Exact => 0.0,
                Says::Above | Says::OffScale => 8.5,
                Says::Below => -8.5,
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
        Sample::Crossing => bracket(pen, (x, right), y, (true, true), Some(x + 15.0)),
        Sample::Later => later(pen, x, right, y),
        Sample::None => Ok(()),
    }
}

/// Dash and gap of the level to come.
pub const FORECAST_DASH: [f64; 2] = [11.0, 6.0];

/// A crossing later than the picture: an arrow without a beginning.
///
/// # Errors
///
/// Whatever the backend reports.
pub fn later<DB: DrawingBackend>(
    pen: &Pen<'_, DB>,
    left: f64,
    right: f64,
    y: f64,
) -> Result<(), DrawingAreaErrorKind<DB::ErrorType>> {
    let neck = right - 12.0;
    for (from, share) in [(left, 0.2), (left + (neck - left) * 0.38, 0.2), (left + (neck - left) * 0.72, 0.3)] {
        pen.rect(
            Frame { left: from, top: y - 3.0, right: from + (neck - left) * share, bottom: y + 3.0 },
            theme::LIMIT,
        )?;
    }
    pen.polygon(&[(neck, y - 9.0), (right, y), (neck, y + 9.0)], theme::LIMIT)
}

/// The interval of a crossing: a bar with a stop at each end that is known, an arrow where it is not, and a lozenge at the
/// middle.
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
) -> Result<(), DrawingAreaErrorKind<DB::ErrorType>> {
    pen.rect(Frame { left, top: y - 3.0, right, bottom: y + 3.0 }, theme::LIMIT)?;
    for (x, known, way) in [(left, stops.0, -1.0), (right, stops.1, 1.0)] {
        if known {
            pen.rect(Frame { left: x - 1.5, top: y - 10.0, right: x + 1.5, bottom: y + 10.0 }, theme::LIMIT)?;
        } else {
            pen.polygon(&[(x - way * 12.0, y - 9.0), (x, y), (x - way * 12.0, y + 9.0)], theme::LIMIT)?;
        }
    }
    if let Some(x) = middle {
        let lozenge = |r: f64| [(x, y - r), (x + r, y), (x, y + r), (x - r, y)];
        pen.polygon(&lozenge(10.5), theme::PAPER)?;
        pen.polygon(&lozenge(8.0), theme::LIMIT)?;
    }
    Ok(())
}
