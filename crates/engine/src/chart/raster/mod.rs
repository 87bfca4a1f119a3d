//! Pixels: a backend that smooths every edge by the share of each pixel that is covered.
//!
//! Coordinates arrive in eighths of a page unit and are scaled to pixels in `backend`. Level and upright lines and
//! rectangles snap to whole pixels, so that grid and axes are crisp; all else is filled as an `outline` on the `canvas`. `text` is
//! set in the bundled font, glyph by glyph as a `stamp`.

mod backend;
mod canvas;
mod outline;
mod stamp;
mod text;

use super::page::Sheet;
use super::{Chart, ChartError};
use canvas::Canvas;
use plotters::drawing::IntoDrawingArea;

/// Draws a chart as rows of pixels, each 0xRRGGBB.
///
/// # Errors
///
/// [`ChartError::Drawing`] when the drawing code asks for what cannot be drawn.
pub fn draw<C: Chart>(chart: &C, sheet: &Sheet) -> Result<Vec<u32>, ChartError> {
    let mut pixels = vec![0x00ff_ffff; sheet.size.width as usize * sheet.size.height as usize];
    let canvas = Canvas::over(&mut pixels, sheet);
    chart.draw(&canvas.into_drawing_area()).map_err(|error| ChartError::Drawing(error.to_string()))?;
    Ok(pixels)
}
