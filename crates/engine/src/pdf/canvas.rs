//! What the drawing library asks for, as lines and text of a page.

use super::font::Fonts;
use super::{Area, point, rgb};
use crate::chart::font::{Face, Weight};
use crate::chart::page::{BASELINE_EM, PLOTTERS_EM};
use pdf_writer::Content;
use pdf_writer::types::{LineCapStyle, LineJoinStyle};
use plotters::style::RGBColor;
use plotters_backend::text_anchor::HPos;
use plotters_backend::{
    BackendColor, BackendCoord, BackendStyle, BackendTextStyle, DrawingBackend, DrawingErrorKind, FontStyle,
};
use std::convert::Infallible;

/// How far the handles of a quarter of a circle reach, in radii.
const QUARTER: f32 = 0.552_285;

type Drawn = Result<(), DrawingErrorKind<Infallible>>;

/// An area of a page to draw on in backend units.
pub(super) struct Canvas<'a> {
    content: &'a mut Content,
    fonts: &'a mut Fonts,
    area: Area,
    fine: (u32, u32),
    /// Points per backend unit.
    scale: f64,
}

impl<'a> Canvas<'a> {
    pub(super) fn new(content: &'a mut Content, fonts: &'a mut Fonts, area: Area, fine: (u32, u32)) -> Self {
        content.set_line_cap(LineCapStyle::ButtCap).set_line_join(LineJoinStyle::RoundJoin);
        Self { content, fonts, area, fine, scale: area.width / f64::from(fine.0.max(1)) }
    }

    fn at(&self, (x, y): BackendCoord) -> (f32, f32) {
        point((self.area.left + f64::from(x) * self.scale, self.area.top + f64::from(y) * self.scale))
    }

    fn color<S: BackendStyle>(&mut self, style: &S) {
        let (r, g, b) = style.color().rgb;
        let [r, g, b] = rgb(RGBColor(r, g, b));
        let width = (f64::from(style.stroke_width()) * self.scale) as f32;
        self.content.set_fill_rgb(r, g, b).set_stroke_rgb(r, g, b).set_line_width(width);
    }

    /// Begins a path along points; false where there is none.
    fn along(&mut self, path: impl IntoIterator<Item = BackendCoord>) -> bool {
        let mut points = path.into_iter();
        let Some(first) = points.next() else { return false };
        let (x, y) = self.at(first);
        self.content.move_to(x, y);
        for next in points {
            let (x, y) = self.at(next);
            self.content.line_to(x, y);
        }
        true
    }
}

impl DrawingBackend for Canvas<'_> {
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

    fn draw_line<S: BackendStyle>(&mut self, from: BackendCoord, to: BackendCoord, style: &S) -> Drawn {
        self.draw_path([from, to], style)
    }

    fn draw_rect<S: BackendStyle>(&mut self, a: BackendCoord, b: BackendCoord, style: &S, fill: bool) -> Drawn {
        let corners = [a, (b.0, a.1), b, (a.0, b.1)];
        if fill {
            self.fill_polygon(corners, style)
        } else {
            self.draw_path([corners[0], corners[1], b, corners[3], a], style)
        }
    }

    fn draw_path<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(&mut self, path: I, style: &S) -> Drawn {
        self.color(style);
        if self.along(path) {
            self.content.stroke();
        }
        Ok(())
    }

    fn fill_polygon<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(&mut self, path: I, style: &S) -> Drawn {
        self.color(style);
        if self.along(path) {
            self.content.close_path().fill_nonzero();
        }
        Ok(())
    }

    fn draw_circle<S: BackendStyle>(&mut self, center: BackendCoord, radius: u32, style: &S, fill: bool) -> Drawn {
        self.color(style);
        let ((x, y), r) = (self.at(center), (f64::from(radius) * self.scale) as f32);
        let k = r * QUARTER;
        self.content.move_to(x + r, y);
        self.content.cubic_to(x + r, y + k, x + k, y + r, x, y + r);
        self.content.cubic_to(x - k, y + r, x - r, y + k, x - r, y);
        self.content.cubic_to(x - r, y - k, x - k, y - r, x, y - r);
        self.content.cubic_to(x + k, y - r, x + r, y - k, x + r, y);
        self.content.close_path();
        if fill {
            self.content.fill_nonzero()
        } else {
            self.content.stroke()
        };
        Ok(())
    }

    fn draw_text<S: BackendTextStyle>(&mut self, text: &str, style: &S, at: BackendCoord) -> Drawn {
        let weight = if matches!(style.style(), FontStyle::Bold) { Weight::Strong } else { Weight::Regular };
        let em = style.size() / PLOTTERS_EM * self.scale;
        let face = Face { size: em, weight };
        let (x, y) = self.at(at);
        let back = match style.anchor().h_pos {
            HPos::Left => 0.0,
            HPos::Center => face.width(text) / 2.0,
            HPos::Right => face.width(text),
        };
        let (r, g, b) = style.color().rgb;
        let place = (x - back as f32, y - (BASELINE_EM * em) as f32);
        self.fonts.show(self.content, text, place, face, RGBColor(r, g, b));
        Ok(())
    }
}
