//! Colours, text sizes and line widths of every chart.
//!
//! Shape and dash carry the meaning; colour supports it. Every pair of colours that must be distinguished differs in
//! lightness, so that a grey print says the same. Sizes are in page units: 150 to the inch.

use plotters::style::RGBColor;

/// Page units in an inch: the resolution at which one unit is one pixel.
pub const UNITS_PER_INCH: f64 = 150.0;

/// Readings that count, titles, tick labels.
pub const INK: RGBColor = RGBColor(24, 38, 48);
/// Words of second rank: subtitle, footer, axis words.
pub const SOFT: RGBColor = RGBColor(82, 94, 102);
/// Readings left out, values as read.
pub const FAINT: RGBColor = RGBColor(134, 143, 148);
/// The oldest of many curves.
pub const OLD: RGBColor = RGBColor(186, 193, 196);
/// Grid lines.
pub const HAIR: RGBColor = RGBColor(214, 219, 220);
/// The sheet.
pub const PAPER: RGBColor = RGBColor(255, 255, 255);
/// Ground behind what has not happened yet.
pub const AHEAD: RGBColor = RGBColor(247, 244, 235);
/// The fitted level.
pub const LEVEL: RGBColor = RGBColor(14, 98, 97);
/// Its band up to today.
pub const BAND: RGBColor = RGBColor(203, 224, 219);
/// Its band after today.
pub const BAND_AHEAD: RGBColor = RGBColor(220, 230, 218);
/// Edges of the band.
pub const BAND_EDGE: RGBColor = RGBColor(126, 170, 164);
/// The minimum.
pub const LIMIT: RGBColor = RGBColor(152, 60, 28);

/// Size of the title.
pub const TITLE: f64 = 28.0;
/// Size of the sentence under the title.
pub const SUBTITLE: f64 = 18.0;
/// Size of labels in the picture.
pub const LABEL: f64 = 17.0;
/// Size of the smallest print: legend and footer.
pub const SMALL: f64 = 15.5;
/// Free space around everything.
pub const MARGIN: f64 = 38.0;
