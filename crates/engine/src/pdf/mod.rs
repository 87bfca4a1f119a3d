//! A file to send and to print: pages of text, lines and charts, with the bundled fonts inside, text that can be searched, and a
//! bookmark for every part. The same pages give the same bytes.

mod canvas;
mod font;

use crate::chart::font::{Face, Weight};
use crate::chart::page::Sheet;
use crate::chart::{Chart, ChartError, Size};
use crate::legible::clean;
use flate2::Compression;
use flate2::write::ZlibEncoder;
use font::Fonts;
use pdf_writer::types::PageMode;
use pdf_writer::{Content, Filter, Finish, Name, Pdf, Rect, Ref, Str, TextStr};
use plotters::drawing::IntoDrawingArea;
use plotters::style::RGBColor;
use std::io::Write as _;

/// Width and height of a page, points: A4.
pub const PAGE: (f64, f64) = (595.28, 841.89);

/// Pixels that a chart is laid out for in one point.
const PIXELS_PER_POINT: f64 = 4.0;

/// A file in the making. Places are in points from the upper left corner of the page.
#[derive(Default)]
pub struct Document {
    pages: Vec<Content>,
    bookmarks: Vec<Bookmark>,
    fonts: Fonts,
}

struct Bookmark {
    title: String,
    page: usize,
}

/// A rectangle on a page: left, top, width, height.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Area {
    /// Left edge.
    pub left: f64,
    /// Upper edge.
    pub top: f64,
    /// Width.
    pub width: f64,
    /// Height.
    pub height: f64,
}

impl Document {
    /// Begins a page.
    pub fn begin_page(&mut self) {
        self.pages.push(Content::new());
    }

    /// How many pages there are.
    #[must_use]
    pub fn pages(&self) -> usize {
        self.pages.len()
    }

    /// Names the page that was begun last.
    pub fn bookmark(&mut self, title: &str) {
        self.bookmarks.push(Bookmark { title: clean(title), page: self.pages.len().saturating_sub(1) });
    }

    /// Writes one line of text from the left end of its baseline.
    pub fn text(&mut self, text: &str, at: (f64, f64), face: Face, color: RGBColor) {
        let Some(content) = self.pages.last_mut() else { return };
        self.fonts.show(content, text, point(at), face, color);
    }

    /// Draws a straight line.
    pub fn line(&mut self, from: (f64, f64), to: (f64, f64), width: f64, color: RGBColor) {
        let Some(content) = self.pages.last_mut() else { return };
        let [(x1, y1), (x2, y2)] = [point(from), point(to)];
        let [r, g, b] = rgb(color);
        content.set_stroke_rgb(r, g, b).set_line_width(width as f32).move_to(x1, y1).line_to(x2, y2).stroke();
    }

    /// Draws the edges of a rectangle, or fills it.
    pub fn rectangle(&mut self, area: Area, color: RGBColor, filled: bool) {
        let Some(content) = self.pages.last_mut() else { return };
        let (x, y) = point((area.left, area.top + area.height));
        let [r, g, b] = rgb(color);
        content.set_fill_rgb(r, g, b).set_stroke_rgb(r, g, b).set_line_width(0.8);
        content.rect(x, y, area.width as f32, area.height as f32);
        if filled {
            content.fill_nonzero()
        } else {
            content.stroke()
        };
    }

    /// Draws a chart as lines and text, so many page units wide: the fewer, the larger its words.
    ///
    /// # Errors
    ///
    /// [`ChartError`] when the area is smaller or larger than a chart can be.
    pub fn chart(&mut self, chart: &impl Chart, area: Area, units: f64) -> Result<(), ChartError> {
        let Some(content) = self.pages.last_mut() else { return Ok(()) };
        let pixels = |points: f64| (points * PIXELS_PER_POINT).round() as u32;
        let sheet = Sheet::across(Size { width: pixels(area.width), height: pixels(area.height) }, units)?;
        content.save_state();
        let drawn = {
            let canvas = canvas::Canvas::new(content, &mut self.fonts, area, sheet.fine).into_drawing_area();
            chart.draw(&canvas).map_err(|error| ChartError::Drawing(error.to_string()))
        };
        content.restore_state();
        drawn
    }

    /// The bytes of the file.
    #[must_use]
    pub fn finish(self, title: &str) -> Vec<u8> {
        let mut pdf = Pdf::new();
        let mut next = 0;
        let mut fresh = || {
            next += 1;
            Ref::new(next)
        };
        let (catalog, tree, info, outline) = (fresh(), fresh(), fresh(), fresh());
        let pages: Vec<(Ref, Ref)> = self.pages.iter().map(|_| (fresh(), fresh())).collect();
        let marks: Vec<Ref> = self.bookmarks.iter().map(|_| fresh()).collect();
        let fonts = self.fonts.write(&mut pdf, &mut fresh);
        let mut root = pdf.catalog(catalog);
        root.pages(tree).outlines(outline).page_mode(PageMode::UseOutlines).lang(TextStr("en"));
        root.finish();
        pdf.document_info(info).title(TextStr(title)).producer(TextStr(crate::program::NAME));
        let count = i32::try_from(pages.len()).unwrap_or(i32::MAX);
        pdf.pages(tree).kids(pages.iter().map(|(page, _)| *page)).count(count);
        for (content, (id, stream)) in self.pages.into_iter().zip(&pages) {
            let mut page = pdf.page(*id);
            page.media_box(Rect::new(0.0, 0.0, PAGE.0 as f32, PAGE.1 as f32)).parent(tree).contents(*stream);
            let mut resources = page.resources();
            let mut named = resources.fonts();
            for (weight, font) in fonts {
                named.pair(name(weight), font);
            }
            named.finish();
            resources.finish();
            page.finish();
            pdf.stream(*stream, &packed(&content.finish())).filter(Filter::FlateDecode);
        }
        let mut top = pdf.outline(outline);
        if let (Some(first), Some(last)) = (marks.first(), marks.last()) {
            top.first(*first).last(*last).count(i32::try_from(marks.len()).unwrap_or(i32::MAX));
        }
        top.finish();
        for (at, (mark, id)) in self.bookmarks.iter().zip(&marks).enumerate() {
            let mut item = pdf.outline_item(*id);
            item.title(TextStr(&mark.title)).parent(outline);
            if let Some(before) = at.checked_sub(1).and_then(|at| marks.get(at)) {
                item.prev(*before);
            }
            if let Some(after) = marks.get(at + 1) {
                item.next(*after);
            }
            if let Some((page, _)) = pages.get(mark.page) {
                item.dest().page(*page).fit();
            }
        }
        pdf.finish()
    }
}

/// The name of a font in the resources of a page.
const fn name(weight: Weight) -> Name<'static> {
    match weight {
        Weight::Regular => Name(b"R"),
        Weight::Strong => Name(b"S"),
    }
}

/// A place as the file counts it: from the lower left corner.
fn point((x, y): (f64, f64)) -> (f32, f32) {
    (x as f32, (PAGE.1 - y) as f32)
}

fn rgb(color: RGBColor) -> [f32; 3] {
    [color.0, color.1, color.2].map(|part| f32::from(part) / 255.0)
}

/// Bytes as a page description compresses them.
fn packed(bytes: &[u8]) -> Vec<u8> {
    let mut packer = ZlibEncoder::new(Vec::new(), Compression::default());
    // Writing into memory cannot fail.
    let _ = packer.write_all(bytes);
    packer.finish().unwrap_or_default()
}

/// Bytes as a string of the file.
const fn string(bytes: &[u8]) -> Str<'_> {
    Str(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::theme;

    fn one_page() -> Vec<u8> {
        let mut document = Document::default();
        document.begin_page();
        document.bookmark("P-101 stator");
        document.text("12 MΩ at 40 °C", (40.0, 60.0), Face::regular(9.0), theme::INK);
        document.finish("Winding insulation")
    }

    #[test]
    fn the_same_pages_give_the_same_bytes() {
        let bytes = one_page();
        assert!(bytes == one_page());
        assert!(bytes.starts_with(b"%PDF-1.7"), "{:?}", bytes.get(..16));
        let holds = |text: &[u8]| bytes.windows(text.len()).any(|window| window == text);
        assert!(holds(b"/UseOutlines") && holds(b"/FontFile3") && holds(b"/ToUnicode") && holds(b"(P-101 stator)"));
    }

    #[test]
    fn a_document_without_pages_is_still_a_file() {
        assert!(Document::default().finish("empty").starts_with(b"%PDF-"));
    }
}
