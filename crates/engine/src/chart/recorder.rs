//! A backend for tests: it keeps what was drawn where, in page units, and draws nothing.

use super::font::{Face, Weight};
use super::page::{FINE, Frame, PLOTTERS_EM};
use super::{Chart, Size, page::Sheet};
use plotters::drawing::IntoDrawingArea;
use plotters_backend::text_anchor::HPos;
use plotters_backend::{
    BackendColor, BackendCoord, BackendStyle, BackendTextStyle, DrawingBackend, DrawingErrorKind, FontStyle,
};
use std::convert::Infallible;

type Drawn = Result<(), DrawingErrorKind<Infallible>>;

/// What was drawn.
#[derive(Default)]
pub(crate) struct Record {
    /// Every text with what it covers.
    pub(crate) texts: Vec<(String, Frame)>,
    /// Centres of filled circles.
    pub(crate) discs: Vec<(f64, f64)>,
    /// Least size of a text, page units.
    pub(crate) least_text: f64,
    /// Everything but texts, in the order of drawing.
    pub(crate) shapes: Vec<Shape>,
}

/// A shape with its corners in page units.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Shape {
    pub(crate) kind: Kind,
    pub(crate) points: Vec<(f64, f64)>,
    /// Width of the stroke, or radius of a circle.
    pub(crate) width: f64,
    pub(crate) color: (u8, u8, u8),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    Rect,
    Path,
    Polygon,
    Disc,
    Ring,
}

impl Record {
    /// The first text that leaves the page or meets another, if there is one.
    pub(crate) fn misplaced(&self, page: Frame) -> Option<String> {
        for (i, (text, here)) in self.texts.iter().enumerate() {
            let inside = here.left >= page.left && here.right <= page.right;
            if !inside || here.top < page.top || here.bottom > page.bottom {
                return Some(format!("{text:?} leaves the page: {here:?}"));
            }
            let tight = Frame { top: here.top + 2.0, ..*here };
            if let Some((other, _)) = self.texts[..i].iter().find(|(_, there)| tight.overlaps(there)) {
                return Some(format!("{text:?} covers {other:?}"));
            }
        }
        None
    }

    /// Whether a text is there.
    pub(crate) fn says(&self, text: &str) -> bool {
        self.texts.iter().any(|(found, _)| found == text)
    }
}

struct Recorder<'a> {
    record: &'a mut Record,
    fine: (u32, u32),
}

/// Draws a chart into a record.
pub(crate) fn record<C: Chart>(chart: &C, size: Size, dpi: u32) -> (Record, Frame) {
    record_on(chart, &Sheet::new(size, dpi).expect("a size that can be drawn"))
}

/// What of a chart is drawn on a sheet, and the page.
pub(crate) fn record_on<C: Chart>(chart: &C, sheet: &Sheet) -> (Record, Frame) {
    let mut record = Record { least_text: f64::INFINITY, ..Record::default() };
    let recorder = Recorder { record: &mut record, fine: sheet.fine };
    chart.draw(&recorder.into_drawing_area()).expect("a recorder never fails");
    let (right, bottom) = (f64::from(sheet.fine.0) / FINE, f64::from(sheet.fine.1) / FINE);
    (record, Frame { left: 0.0, top: 0.0, right, bottom })
}

impl Recorder<'_> {
    fn keep<S: BackendStyle>(&mut self, kind: Kind, points: Vec<(f64, f64)>, width: u32, style: &S) {
        let shape = Shape { kind, points, width: f64::from(width) / FINE, color: style.color().rgb };
        self.record.shapes.push(shape);
    }
}

fn units(at: BackendCoord) -> (f64, f64) {
    (f64::from(at.0) / FINE, f64::from(at.1) / FINE)
}

impl DrawingBackend for Recorder<'_> {
    type ErrorType = Infallible;

    fn get_size(&self) -> (u32, u32) {
        self.fine
    }

    fn ensure_prepared(&mut self) -> Drawn {
        Ok(())
    }

    fn present(&mut self) -> Drawn {
        Ok(())
    }

    fn draw_pixel(&mut self, _: BackendCoord, _: BackendColor) -> Drawn {
        Ok(())
    }

    fn draw_rect<S: BackendStyle>(&mut self, a: BackendCoord, b: BackendCoord, style: &S, _: bool) -> Drawn {
        self.keep(Kind::Rect, vec![units(a), units(b)], 0, style);
        Ok(())
    }

    fn draw_path<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(&mut self, path: I, style: &S) -> Drawn {
        self.keep(Kind::Path, path.into_iter().map(units).collect(), style.stroke_width(), style);
        Ok(())
    }

    fn fill_polygon<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(&mut self, path: I, style: &S) -> Drawn {
        self.keep(Kind::Polygon, path.into_iter().map(units).collect(), 0, style);
        Ok(())
    }

    fn draw_circle<S: BackendStyle>(&mut self, at: BackendCoord, radius: u32, style: &S, fill: bool) -> Drawn {
        self.keep(if fill { Kind::Disc } else { Kind::Ring }, vec![units(at)], radius, style);
        if fill {
            self.record.discs.push(units(at));
        }
        Ok(())
    }

    fn draw_text<S: BackendTextStyle>(&mut self, text: &str, style: &S, pos: BackendCoord) -> Drawn {
        let weight = if matches!(style.style(), FontStyle::Bold) { Weight::Strong } else { Weight::Regular };
        let face = Face { size: style.size() / PLOTTERS_EM / FINE, weight };
        self.record.least_text = self.record.least_text.min(face.size);
        let (x, top) = units(pos);
        let width = face.width(text);
        let left = match style.anchor().h_pos {
            HPos::Left => x,
            HPos::Center => x - width / 2.0,
            HPos::Right => x - width,
        };
        let frame = Frame { left, top, right: left + width, bottom: top + face.size };
        self.record.texts.push((text.to_owned(), frame));
        Ok(())
    }
}
