//! Vectors: the SVG file, with the fonts inside so that it looks the same everywhere.

use super::font::{REGULAR_FILE, STRONG_FILE};
use super::page::Sheet;
use super::{Chart, ChartError, Size};
use crate::digest::base64;
use crate::legible::clean;
use plotters::backend::SVGBackend;
use plotters::drawing::IntoDrawingArea;
use std::fmt::Write as _;

/// Draws a chart as a whole SVG document.
///
/// # Errors
///
/// [`ChartError::Drawing`] when the backend reports a fault.
pub fn draw<C: Chart>(chart: &C, sheet: &Sheet, size: Size) -> Result<String, ChartError> {
    let content = content(chart, sheet)?;
    let mut file = String::with_capacity(content.len() + 160_000);
    let _ = writeln!(
        file,
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="{}" height="{}" viewBox="0 0 {} {}" role="img" data-program="{}">"#,
        size.width,
        size.height,
        sheet.fine.0,
        sheet.fine.1,
        crate::program::NAME
    );
    let _ = writeln!(file, "<title>{}</title>", escape(&clean(&chart.description())));
    let _ = writeln!(file, "<style>{}</style>", fonts());
    file.push_str(&content);
    Ok(file)
}

/// Draws a chart as a part of a page that has the fonts of the charts.
///
/// # Errors
///
/// [`ChartError::Drawing`] when the backend reports a fault.
pub fn part<C: Chart>(chart: &C, sheet: &Sheet) -> Result<String, ChartError> {
    let (width, height) = sheet.fine;
    let words = escape(&clean(&chart.description())).replace('"', "&quot;");
    let content = content(chart, sheet)?;
    Ok(format!(
        r#"<svg viewBox="0 0 {width} {height}" preserveAspectRatio="xMinYMid meet" role="img" aria-label="{words}">{content}"#
    ))
}

/// The style that holds the fonts of the charts.
pub(crate) fn fonts() -> String {
    let face = |(weight, font): (&str, &[u8])| {
        format!(
            "@font-face{{font-family:groundwall-inter;font-weight:{weight};\
             src:url(data:font/otf;base64,{}) format(\"opentype\")}}",
            base64(font)
        )
    };
    [("normal", REGULAR_FILE), ("bold", STRONG_FILE)].map(face).concat()
}

/// What is drawn, with the closing tag.
fn content<C: Chart>(chart: &C, sheet: &Sheet) -> Result<String, ChartError> {
    let mut body = String::new();
    {
        let area = SVGBackend::with_string(&mut body, sheet.fine).into_drawing_area();
        chart.draw(&area).map_err(|error| ChartError::Drawing(error.to_string()))?;
    }
    // The backend's first line is its opening tag, in fine units; the one written before says how large they are to be shown.
    Ok(body.split_once('\n').map_or_else(String::new, |(_, content)| content.to_owned()))
}

fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}
