//! What the drawing library asks for, as work on the canvas.

use super::canvas::Canvas;
use super::outline::P;
use crate::chart::font::Weight;
use crate::chart::page::{BASELINE_EM, PLOTTERS_EM};
use plotters_backend::{
    BackendColor, BackendCoord, BackendStyle, BackendTextStyle, DrawingBackend, DrawingErrorKind, FontStyle,
};
use std::convert::Infallible;

impl DrawingBackend for Canvas<'_> {
    type ErrorType = Infallible;

    fn get_size(&self) -> (u32, u32) {
        self.fine
    }

    fn ensure_prepared(&mut self) -> Result<(), DrawingErrorKind<Infallible>> {
        Ok(())
    }

    fn present(&mut self) -> Result<(), DrawingErrorKind<Infallible>> {
        Ok(())
    }

    fn draw_pixel(&mut self, at: BackendCoord, color: BackendColor) -> Result<(), DrawingErrorKind<Infallible>> {
        let (x, y) = self.to_pixels(at);
        self.block(x as i64, y as i64, x as i64 + 1, y as i64 + 1, color);
        Ok(())
    }

    fn draw_line<S: BackendStyle>(
        &mut self,
        from: BackendCoord,
        to: BackendCoord,
        style: &S,
    ) -> Result<(), DrawingErrorKind<Infallible>> {
        let points = [self.to_pixels(from), self.to_pixels(to)];
        self.line(&points, style.stroke_width() as f32 * self.scale, style.color());
        Ok(())
    }

    fn draw_rect<S: BackendStyle>(
        &mut self,
        upper_left: BackendCoord,
        bottom_right: BackendCoord,
        style: &S,
        fill: bool,
    ) -> Result<(), DrawingErrorKind<Infallible>> {
        let (a, b) = (self.to_pixels(upper_left), self.to_pixels(bottom_right));
        if fill {
            let whole = |value: f32| value.round() as i64;
            self.block(whole(a.0), whole(a.1), whole(b.0), whole(b.1), style.color());
        } else {
            let width = style.stroke_width() as f32 * self.scale;
            for side in [[a, (b.0, a.1)], [(b.0, a.1), b], [b, (a.0, b.1)], [(a.0, b.1), a]] {
                self.line(&side, width, style.color());
            }
        }
        Ok(())
    }

    fn draw_path<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        path: I,
        style: &S,
    ) -> Result<(), DrawingErrorKind<Infallible>> {
        let points: Vec<P> = path.into_iter().map(|at| self.to_pixels(at)).collect();
        self.line(&points, style.stroke_width() as f32 * self.scale, style.color());
        Ok(())
    }

    fn fill_polygon<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        path: I,
        style: &S,
    ) -> Result<(), DrawingErrorKind<Infallible>> {
        let points: Vec<P> = path.into_iter().map(|at| self.to_pixels(at)).collect();
        self.fill(&points, style.color());
        Ok(())
    }

    fn draw_circle<S: BackendStyle>(
        &mut self,
        center: BackendCoord,
        radius: u32,
        style: &S,
        fill: bool,
    ) -> Result<(), DrawingErrorKind<Infallible>> {
        let (at, radius) = (self.to_pixels(center), radius as f32 * self.scale);
        let half = (style.stroke_width() as f32 * self.scale).max(1.0) / 2.0;
        let (inner, outer) = if fill { (-1.0, radius) } else { (radius - half, radius + half) };
        self.annulus(at, inner, outer, style.color());
        Ok(())
    }

    fn draw_text<S: BackendTextStyle>(
        &mut self,
        text: &str,
        style: &S,
        pos: BackendCoord,
    ) -> Result<(), DrawingErrorKind<Infallible>> {
        let weight = if matches!(style.style(), FontStyle::Bold) { Weight::Strong } else { Weight::Regular };
        let em = style.size() as f32 / PLOTTERS_EM as f32 * self.scale;
        let (x, y) = self.to_pixels(pos);
        let baseline = (y + BASELINE_EM as f32 * em).round() as i32;
        self.text(text, (weight, em), (x, style.anchor().h_pos), baseline, style.color());
        Ok(())
    }
}
