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
    /// Number of lines.
    pub(crate) lines: usize,
    /// Number of polygons.
    pub(crate) polygons: usize,
}

struct Recorder<'a> {
    record: &'a mut Record,
    fine: (u32, u32),
}

/// Draws a chart into a record.
pub(crate) fn record<C: Chart>(chart: &C, size: Size, dpi: u32) -> (Record, Frame) {
    let mut record = Record::default();
    let sheet = Sheet::new(size, dpi).expect("a size that can be drawn");
    let recorder = Recorder { record: &mut record, fine: sheet.fine };
    chart.draw(&recorder.into_drawing_area()).expect("a recorder never fails");
    let (right, bottom) = (f64::from(sheet.fine.0) / FINE, f64::from(sheet.fine.1) / FINE);
    (record, Frame { left: 0.0, top: 0.0, right, bottom })
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

    fn draw_rect<S: BackendStyle>(&mut self, _: BackendCoord, _: BackendCoord, _: &S, _: bool) -> Drawn {
        Ok(())
    }

    fn draw_path<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(&mut self, _: I, _: &S) -> Drawn {
        self.record.lines += 1;
        Ok(())
    }

    fn fill_polygon<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(&mut self, _: I, _: &S) -> Drawn {
        self.record.polygons += 1;
        Ok(())
    }

    fn draw_circle<S: BackendStyle>(&mut self, at: BackendCoord, _: u32, _: &S, fill: bool) -> Drawn {
        if fill {
            self.record.discs.push(units(at));
        }
        Ok(())
    }

    fn draw_text<S: BackendTextStyle>(&mut self, text: &str, style: &S, pos: BackendCoord) -> Drawn {
        let weight = if matches!(style.style(), FontStyle::Bold) { Weight::Strong } else { Weight::Regular };
        let face = Face { size: style.size() / PLOTTERS_EM / FINE, weight };
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
