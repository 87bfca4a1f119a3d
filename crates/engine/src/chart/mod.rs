//! Pictures: a judged series as a chart that can go on a work order.
//!
//! A chart is made in two steps. First plain data: [`trend::TrendPicture`] says in words and numbers what is to be seen.
//! Then drawing, generic over the backend: the same code draws pixels ([`raster`]), vectors ([`svg`]) and, in the tests, a
//! list of what was drawn where. Another kind of chart is another module with a picture and a [`Chart`] implementation;
//! shared are the words around the plot ([`surround`], [`legend`], [`words`]), its axes ([`timeline`], [`upright`],
//! [`axes`]), the frame of those over dates ([`dated`]), and what stands in it ([`marks`], [`flags`], [`limit`]). [`render`] makes the bytes of a file.
//!
//! Everything is laid out in page units, 150 to the inch. A backend is handed eighths of a unit, so that lines are smooth
//! although its coordinates are whole numbers.

pub mod absorption;
pub mod axes;
pub mod calibration;
pub mod dated;
pub mod flags;
pub mod fleet;
pub mod font;
pub mod legend;
pub mod limit;
pub mod marks;
pub mod page;
pub mod palette;
pub mod panels;
pub mod phases;
pub mod png;
pub mod raster;
pub mod readings;
pub mod surround;
pub mod svg;
pub mod theme;
pub mod timeline;
pub mod trend;
pub mod upright;
pub mod words;

#[cfg(test)]
pub(crate) mod recorder;
#[cfg(test)]
pub(crate) mod samples;

use groundwall::assess::SeriesAssessment;
use groundwall::nameplate::Nameplate;
use page::Drawn;
use plotters::coord::Shift;
use plotters::drawing::DrawingArea;
use plotters_backend::DrawingBackend;
use std::fmt;

/// Size of a picture in pixels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Size {
    /// Width, pixels.
    pub width: u32,
    /// Height, pixels.
    pub height: u32,
}

impl Size {
    /// Least width and height.
    pub const LEAST: u32 = 200;
    /// Greatest width and height.
    pub const GREATEST: u32 = 10_000;
}

impl Default for Size {
    fn default() -> Self {
        Self { width: 1200, height: 800 }
    }
}

/// Default resolution, dots per inch.
pub const DEFAULT_DPI: u32 = 150;

/// Dots per inch that a picture can have.
pub const DPI_RANGE: std::ops::RangeInclusive<u32> = 50..=1200;

/// What goes into a picture beside the judgement.
#[derive(Clone, Debug, Default)]
pub struct ChartContext {
    /// Names of the files that the tests came from.
    pub sources: Vec<String>,
    /// Words behind the winding's name above the title: site, area, description.
    pub place: Vec<String>,
}

/// The line of a series' minimum.
#[derive(Clone, Debug, PartialEq)]
pub struct MinimumLine {
    /// log10 megohms.
    pub value: f64,
    /// What the line is: the minimum, or an assumed one.
    pub name: &'static str,
    /// The value in words: "5 MΩ".
    pub label: String,
}

impl MinimumLine {
    /// The minimum of a series, if it has one.
    #[must_use]
    pub fn of(assessment: &SeriesAssessment) -> Option<Self> {
        let minimum = assessment.minimum.as_ref()?;
        let name = if minimum.assumed { "assumed minimum" } else { "minimum" };
        Some(Self { value: minimum.resistance.log10_megohms(), name, label: minimum.value_in_words() })
    }
}

/// A picture that can be drawn onto any backend.
pub trait Chart {
    /// Draws it over the whole area, whose pixels are eighths of a page unit.
    ///
    /// # Errors
    ///
    /// Whatever the backend reports.
    fn draw<DB: DrawingBackend>(&self, area: &DrawingArea<DB, Shift>) -> Drawn<DB>;

    /// One line for those who cannot see the picture.
    fn description(&self) -> String;
}

/// Why a chart could not be made.
#[derive(Debug)]
#[non_exhaustive]
pub enum ChartError {
    /// Width or height, in pixels, outside what can be drawn.
    Size(Size),
    /// Resolution outside what can be recorded.
    Dpi(u32),
    /// The backend refused.
    Drawing(String),
    /// The pixels could not be written as PNG.
    Encoding(::png::EncodingError),
}

impl fmt::Display for ChartError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Size(Size { width, height }) => write!(
                f,
                "a chart of {width} × {height} pixels cannot be drawn; each side must be {} to {} pixels",
                Size::LEAST,
                Size::GREATEST
            ),
            Self::Dpi(dpi) => {
                write!(f, "{dpi} dpi cannot be drawn; use {} to {} dpi", DPI_RANGE.start(), DPI_RANGE.end())
            }
            Self::Drawing(why) => write!(f, "the chart could not be drawn: {why}"),
            Self::Encoding(_) => write!(f, "the chart could not be written as PNG"),
        }
    }
}

impl std::error::Error for ChartError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Encoding(error) => Some(error),
            _ => None,
        }
    }
}

/// Where a machine stands and what it is, as far as the register says.
#[must_use]
pub fn place_of(nameplate: &Nameplate) -> Vec<String> {
    [&nameplate.site, &nameplate.area, &nameplate.description].into_iter().flatten().cloned().collect()
}

/// Kind of a picture file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PictureFormat {
    /// Pixels.
    Png,
    /// Lines.
    Svg,
}

/// Draws a chart as PNG with the resolution recorded in it. The same chart gives the same bytes.
///
/// # Errors
///
/// [`ChartError`] when the size or the resolution is outside its limits.
pub fn render_png<C: Chart>(chart: &C, size: Size, dpi: u32) -> Result<Vec<u8>, ChartError> {
    render_png_on(chart, &page::Sheet::new(size, dpi)?, dpi)
}

/// As [`render_png`], on a sheet that says how large a page unit is.
///
/// # Errors
///
/// [`ChartError`] when the pixels cannot be written.
pub fn render_png_on<C: Chart>(chart: &C, sheet: &page::Sheet, dpi: u32) -> Result<Vec<u8>, ChartError> {
    let pixels = raster::draw(chart, sheet)?;
    png::encode(&pixels, sheet.size, dpi)
}

/// Draws a chart as SVG with the fonts inside. The same chart gives the same bytes.
///
/// # Errors
///
/// [`ChartError`] when the size or the resolution is outside its limits.
pub fn render_svg<C: Chart>(chart: &C, size: Size, dpi: u32) -> Result<String, ChartError> {
    svg::draw(chart, &page::Sheet::new(size, dpi)?, size)
}

/// Draws a chart as the bytes of a file.
///
/// # Errors
///
/// [`ChartError`] when the size or the resolution is outside its limits.
pub fn render<C: Chart>(chart: &C, format: PictureFormat, size: Size, dpi: u32) -> Result<Vec<u8>, ChartError> {
    match format {
        PictureFormat::Png => render_png(chart, size, dpi),
        PictureFormat::Svg => render_svg(chart, size, dpi).map(String::into_bytes),
    }
}
