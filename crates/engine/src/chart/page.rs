//! The sheet, and the pen that draws on it in page units whatever the backend.

use super::font::{Face, Weight};
use super::{ChartError, DPI_RANGE, Size, theme};
use plotters::coord::Shift;
use plotters::drawing::{DrawingArea, DrawingAreaErrorKind};
use plotters::element::{Circle, PathElement, Polygon, Rectangle};
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{Color, FontDesc, FontFamily, FontStyle, RGBColor, ShapeStyle, TextStyle};
use plotters_backend::DrawingBackend;

/// Backend pixels per page unit.
pub const FINE: f64 = 8.0;

/// Family name under which the fonts travel inside an SVG, with what to use where they cannot be read.
pub const FAMILY: &str = "groundwall-inter, Inter, Arial, sans-serif";

/// How much larger than the em a plotters font size is; the SVG backend divides by it.
pub const PLOTTERS_EM: f64 = 1.24;

/// Where the SVG backend puts the baseline of a text anchored at its top, in ems below the anchor.
pub const BASELINE_EM: f64 = 0.76;

/// Smallest page that text of readable size fits on; a smaller picture is this page, scaled down.
const SMALLEST_PAGE: (f64, f64) = (1000.0, 680.0);

/// What drawing gives back: nothing, or the fault of the backend.
pub type Drawn<DB> = Result<(), DrawingAreaErrorKind<<DB as DrawingBackend>::ErrorType>>;

/// A point on the page, page units from the upper left corner.
pub type At = (f64, f64);

/// How large the page is in page units, and how large a unit is in pixels.
#[derive(Clone, Copy, Debug)]
pub struct Sheet {
    /// Size in pixels.
    pub size: Size,
    /// Pixels per backend unit.
    pub scale: f64,
    /// Size in backend units.
    pub fine: (u32, u32),
}

impl Sheet {
    /// The sheet of a picture.
    ///
    /// # Errors
    ///
    /// [`ChartError`] when the size or the resolution is outside its limits.
    pub fn new(size: Size, dpi: u32) -> Result<Self, ChartError> {
        if !DPI_RANGE.contains(&dpi) {
            return Err(ChartError::Dpi(dpi));
        }
        let (width, height) = (f64::from(size.width), f64::from(size.height));
        let unit = f64::from(dpi) / theme::UNITS_PER_INCH;
        Self::with_unit(size, unit.min(width / SMALLEST_PAGE.0).min(height / SMALLEST_PAGE.1))
    }

    /// The sheet of a picture that is so many page units wide, whatever it is shown on: the fewer, the larger its words.
    ///
    /// # Errors
    ///
    /// [`ChartError`] when the size is outside its limits.
    pub fn across(size: Size, units: f64) -> Result<Self, ChartError> {
        Self::with_unit(size, f64::from(size.width) / units)
    }

    fn with_unit(size: Size, unit: f64) -> Result<Self, ChartError> {
        let sides = Size::LEAST..=Size::GREATEST;
        if !sides.contains(&size.width) || !sides.contains(&size.height) {
            return Err(ChartError::Size(size));
        }
        let scale = unit / FINE;
        let fine = |pixels: u32| (f64::from(pixels) / scale).round() as u32;
        Ok(Self { size, scale, fine: (fine(size.width), fine(size.height)) })
    }
}

/// Which point of a text stands at the given place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Align {
    /// Its beginning.
    Left,
    /// Its middle.
    Middle,
    /// Its end.
    Right,
}

/// A rectangle on the page.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    /// Left edge.
    pub left: f64,
    /// Upper edge.
    pub top: f64,
    /// Right edge.
    pub right: f64,
    /// Lower edge.
    pub bottom: f64,
}

impl Frame {
    /// Whether two rectangles share more than an edge.
    #[must_use]
    pub fn overlaps(&self, other: &Self) -> bool {
        self.left < other.right && other.left < self.right && self.top < other.bottom && other.top < self.bottom
    }

    /// Width.
    #[must_use]
    pub fn width(&self) -> f64 {
        self.right - self.left
    }

    /// Height.
    #[must_use]
    pub fn height(&self) -> f64 {
        self.bottom - self.top
    }
}

/// Draws on an area in page units.
pub struct Pen<'a, DB: DrawingBackend> {
    area: &'a DrawingArea<DB, Shift>,
    /// The whole page.
    pub page: Frame,
}

impl<'a, DB: DrawingBackend> Pen<'a, DB> {
    /// A pen for an area whose pixels are eighths of a page unit.
    #[must_use]
    pub fn new(area: &'a DrawingArea<DB, Shift>) -> Self {
        let (width, height) = area.dim_in_pixel();
        let page = Frame { left: 0.0, top: 0.0, right: f64::from(width) / FINE, bottom: f64::from(height) / FINE };
        Self { area, page }
    }

    /// Fills a rectangle.
    ///
    /// # Errors
    ///
    /// Whatever the backend reports.
    pub fn rect(&self, frame: Frame, color: RGBColor) -> Drawn<DB> {
        let corners = [fine((frame.left, frame.top)), fine((frame.right, frame.bottom))];
        self.area.draw(&Rectangle::new(corners, color.filled()))
    }

    /// Draws a line along points.
    ///
    /// # Errors
    ///
    /// As for [`Pen::rect`].
    pub fn path(&self, points: &[At], width: f64, color: RGBColor) -> Drawn<DB> {
        if points.len() < 2 {
            return Ok(());
        }
        let points: Vec<_> = points.iter().copied().map(fine).collect();
        self.area.draw(&PathElement::new(points, stroke(width, color)))
    }

    /// Draws a line in dashes: lengths of dash and gap in turn.
    ///
    /// # Errors
    ///
    /// As for [`Pen::rect`].
    pub fn dashed(&self, points: &[At], dashes: &[f64], width: f64, color: RGBColor) -> Drawn<DB> {
        for dash in cut_into_dashes(points, dashes) {
            self.path(&dash, width, color)?;
        }
        Ok(())
    }

    /// Fills a polygon.
    ///
    /// # Errors
    ///
    /// As for [`Pen::rect`].
    pub fn polygon(&self, points: &[At], color: RGBColor) -> Drawn<DB> {
        if points.len() < 3 {
            return Ok(());
        }
        let points: Vec<_> = points.iter().copied().map(fine).collect();
        self.area.draw(&Polygon::new(points, color.filled()))
    }

    /// Fills a circle.
    ///
    /// # Errors
    ///
    /// As for [`Pen::rect`].
    pub fn disc(&self, at: At, radius: f64, color: RGBColor) -> Drawn<DB> {
        self.area.draw(&Circle::new(fine(at), length(radius), color.filled()))
    }

    /// Draws a circle.
    ///
    /// # Errors
    ///
    /// As for [`Pen::rect`].
    pub fn ring(&self, at: At, radius: f64, width: f64, color: RGBColor) -> Drawn<DB> {
        self.area.draw(&Circle::new(fine(at), length(radius), stroke(width, color)))
    }

    /// Sets a text with its baseline at the given height.
    ///
    /// # Errors
    ///
    /// As for [`Pen::rect`].
    pub fn text(&self, text: &str, at: At, align: Align, face: Face, color: RGBColor) -> Drawn<DB> {
        if text.is_empty() {
            return Ok(());
        }
        let h_pos = match align {
            Align::Left => HPos::Left,
            Align::Middle => HPos::Center,
            Align::Right => HPos::Right,
        };
        let weight = match face.weight {
            Weight::Regular => FontStyle::Normal,
            Weight::Strong => FontStyle::Bold,
        };
        let font = FontDesc::new(FontFamily::Name(FAMILY), face.size * FINE * PLOTTERS_EM, weight);
        let style = TextStyle { font, color: color.to_backend_color(), pos: Pos::new(h_pos, VPos::Top) };
        self.area.draw_text(text, &style, fine((at.0, at.1 - face.size * BASELINE_EM)))
    }

    /// Hands the picture over.
    ///
    /// # Errors
    ///
    /// As for [`Pen::rect`].
    pub fn done(&self) -> Drawn<DB> {
        self.area.present()
    }
}

fn fine(at: At) -> (i32, i32) {
    ((at.0 * FINE).round() as i32, (at.1 * FINE).round() as i32)
}

fn length(units: f64) -> u32 {
    (units * FINE).round().max(1.0) as u32
}

fn stroke(width: f64, color: RGBColor) -> ShapeStyle {
    ShapeStyle { color: color.to_rgba(), filled: false, stroke_width: length(width) }
}

/// Cuts a line into its dashes; the pattern runs on around corners.
fn cut_into_dashes(points: &[At], dashes: &[f64]) -> Vec<Vec<At>> {
    let mut cut = Vec::new();
    if dashes.is_empty() || dashes.iter().any(|dash| *dash <= 0.0) {
        return cut;
    }
    let (mut at, mut left, mut current) = (0, dashes[0], Vec::new());
    for pair in points.windows(2) {
        let (mut from, to) = (pair[0], pair[1]);
        loop {
            let span = (to.0 - from.0).hypot(to.1 - from.1);
            if at % 2 == 0 && current.is_empty() {
                current.push(from);
            }
            if span <= left {
                left -= span;
                if at % 2 == 0 {
                    current.push(to);
                }
                break;
            }
            let share = left / span;
            from = (from.0 + (to.0 - from.0) * share, from.1 + (to.1 - from.1) * share);
            if at % 2 == 0 {
                current.push(from);
                cut.push(std::mem::take(&mut current));
            }
            at += 1;
            left = dashes[at % dashes.len()];
        }
    }
    if current.len() > 1 {
        cut.push(current);
    }
    cut
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dashes_run_on_around_corners() {
        let cut = cut_into_dashes(&[(0.0, 0.0), (5.0, 0.0), (5.0, 10.0)], &[4.0, 3.0]);
        assert_eq!(cut[0], [(0.0, 0.0), (4.0, 0.0)]);
        assert_eq!(cut[1], [(5.0, 2.0), (5.0, 6.0)]);
        assert_eq!(cut.len(), 3);
        assert!(cut_into_dashes(&[(0.0, 0.0)], &[1.0]).is_empty());
        assert!(cut_into_dashes(&[(0.0, 0.0), (1.0, 0.0)], &[0.0]).is_empty());
    }

    #[test]
    fn a_small_picture_is_a_page_scaled_down() {
        let sheet = Sheet::new(Size { width: 400, height: 300 }, 150).map(|sheet| sheet.fine);
        assert_eq!(sheet.ok(), Some((8000, 6000)));
        assert!(Sheet::new(Size { width: 199, height: 300 }, 150).is_err());
        assert!(Sheet::new(Size::default(), 5).is_err());
    }
}
