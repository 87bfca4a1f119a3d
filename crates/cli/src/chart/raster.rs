//! Pixels: a backend that smooths every edge by the share of each pixel that is covered.
//!
//! Coordinates arrive in eighths of a page unit and are scaled to pixels here. Level and upright lines and rectangles snap
//! to whole pixels, so that grid and axes are crisp. Text is set in the bundled font, glyph by glyph at a quarter of a
//! pixel, from a cache that lives as long as the thread.

use super::font::{Weight, font, is_invisible};
use super::page::{BASELINE_EM, PLOTTERS_EM, Sheet};
use super::{Chart, ChartError};
use ab_glyph::{Font, GlyphId, PxScale, point};
use ab_glyph_rasterizer::Rasterizer;
use plotters::drawing::IntoDrawingArea;
use plotters_backend::text_anchor::HPos;
use plotters_backend::{
    BackendColor, BackendCoord, BackendStyle, BackendTextStyle, DrawingBackend, DrawingErrorKind, FontStyle,
};
use std::cell::RefCell;
use std::collections::HashMap;
use std::convert::Infallible;
use std::rc::Rc;

/// Draws a chart as rows of pixels, each 0xRRGGBB.
///
/// # Errors
///
/// [`ChartError::Drawing`] when the drawing code asks for what cannot be drawn.
pub fn draw<C: Chart>(chart: &C, sheet: &Sheet) -> Result<Vec<u32>, ChartError> {
    let mut pixels = vec![0x00ff_ffff; sheet.size.width as usize * sheet.size.height as usize];
    let canvas = Canvas {
        pixels: &mut pixels,
        width: sheet.size.width as usize,
        height: sheet.size.height as usize,
        scale: sheet.scale as f32,
        fine: sheet.fine,
        edges: Rasterizer::new(1, 1),
    };
    chart.draw(&canvas.into_drawing_area()).map_err(|error| ChartError::Drawing(error.to_string()))?;
    Ok(pixels)
}

/// A buffer of pixels that can be drawn on.
struct Canvas<'a> {
    pixels: &'a mut [u32],
    width: usize,
    height: usize,
    scale: f32,
    fine: (u32, u32),
    edges: Rasterizer,
}

type P = (f32, f32);

/// Width of the strips in which large outlines are filled, pixels.
const STRIP: f32 = 32.0;
/// An outline no higher than this is filled at once, pixels.
const FLAT: f32 = 12.0;

/// The corners of the box around an outline.
fn bounds(outline: &[P]) -> (P, P) {
    let low = outline.iter().fold((f32::MAX, f32::MAX), |m, p| (m.0.min(p.0), m.1.min(p.1)));
    let high = outline.iter().fold((f32::MIN, f32::MIN), |m, p| (m.0.max(p.0), m.1.max(p.1)));
    (low, high)
}

/// The part of an outline on one side of an upright line (Sutherland and Hodgman 1974).
fn cut(outline: &[P], x: f32, keep_right: bool, kept: &mut Vec<P>) {
    kept.clear();
    let is_kept = |p: P| if keep_right { p.0 >= x } else { p.0 <= x };
    for (from, to) in outline.iter().zip(outline.iter().cycle().skip(1)) {
        if is_kept(*from) {
            kept.push(*from);
        }
        if is_kept(*from) != is_kept(*to) {
            let share = (x - from.0) / (to.0 - from.0);
            kept.push((x, from.1 + (to.1 - from.1) * share));
        }
    }
}

impl Canvas<'_> {
    fn to_pixels(&self, at: BackendCoord) -> P {
        (at.0 as f32 * self.scale, at.1 as f32 * self.scale)
    }

    fn blend(&mut self, x: usize, y: usize, color: BackendColor, cover: f32) {
        let Some(pixel) = self.pixels.get_mut(y * self.width + x) else { return };
        // Sixteen steps are as smooth to the eye, and leave few enough colours for a palette.
        let cover = (cover * 16.0 + 0.5) as u32;
        let mix = |was: u32, new: u32, mask: u32| ((was & mask) * (16 - cover) + (new & mask) * cover) >> 4 & mask;
        let new = packed(color);
        *pixel = mix(*pixel, new, 0x00ff_00ff) | mix(*pixel, new, 0x0000_ff00);
    }

    /// Fills whole pixels.
    fn block(&mut self, left: i64, top: i64, right: i64, bottom: i64, color: BackendColor) {
        let clip = |value: i64, most: usize| value.clamp(0, most as i64) as usize;
        let (left, right) = (clip(left, self.width), clip(right, self.width));
        let (top, bottom) = (clip(top, self.height), clip(bottom, self.height));
        for y in top..bottom {
            if let Some(row) = self.pixels.get_mut(y * self.width + left..y * self.width + right.max(left)) {
                row.fill(packed(color));
            }
        }
    }

    /// Fills an outline, which may cross itself.
    fn fill(&mut self, outline: &[P], color: BackendColor) {
        let (low, high) = bounds(outline);
        if high.0 - low.0 <= STRIP || high.1 - low.1 <= FLAT {
            return self.fill_whole(outline, color);
        }
        // A slanting line covers little of the box around it: in strips the boxes are small. They part at whole pixels, so
        // that no pixel belongs to two of them.
        let right = high.0.min(self.width as f32);
        let mut from = low.0.floor().max(0.0);
        let mut strip = Vec::with_capacity(outline.len() + 8);
        let mut half = Vec::with_capacity(outline.len() + 8);
        while from < right {
            cut(outline, from, true, &mut half);
            cut(&half, from + STRIP, false, &mut strip);
            self.fill_whole(&strip, color);
            from += STRIP;
        }
    }

    fn fill_whole(&mut self, outline: &[P], color: BackendColor) {
        let (low, high) = bounds(outline);
        let left = low.0.floor().clamp(0.0, self.width as f32);
        let top = low.1.floor().clamp(0.0, self.height as f32);
        let columns = (high.0.ceil().min(self.width as f32) - left) as usize + 1;
        let rows = (high.1.ceil().min(self.height as f32) - top) as usize;
        if outline.len() < 3 || rows == 0 || high.0 < 0.0 {
            return;
        }
        let mut edges = std::mem::replace(&mut self.edges, Rasterizer::new(0, 0));
        edges.reset(columns, rows);
        let inside = |p: P| ab_glyph_rasterizer::point(p.0 - left, p.1 - top);
        for (from, to) in outline.iter().zip(outline.iter().cycle().skip(1)) {
            edges.draw_line(inside(*from), inside(*to));
        }
        let (left, top) = (left as usize, top as usize);
        edges.for_each_pixel_2d(|x, y, cover| {
            if cover > 0.002 && left + (x as usize) < self.width {
                self.blend(left + x as usize, top + y as usize, color, cover.min(1.0));
            }
        });
        self.edges = edges;
    }

    fn line(&mut self, points: &[P], width: f32, color: BackendColor) {
        if let [from, to] = points {
            let thick = width.round().max(1.0);
            let start = |middle: f32| (middle - thick / 2.0).round() as i64;
            if (from.1 - to.1).abs() < 0.01 {
                let (left, right) = (from.0.min(to.0).round() as i64, from.0.max(to.0).round() as i64);
                return self.block(left, start(from.1), right, start(from.1) + thick as i64, color);
            }
            if (from.0 - to.0).abs() < 0.01 {
                let (top, bottom) = (from.1.min(to.1).round() as i64, from.1.max(to.1).round() as i64);
                return self.block(start(from.0), top, start(from.0) + thick as i64, bottom, color);
            }
        }
        let outline = outline_of(points, width.max(0.9) / 2.0);
        self.fill(&outline, color);
    }

    /// Fills between two circles about the same centre.
    fn annulus(&mut self, at: P, inner: f32, outer: f32, color: BackendColor) {
        let reach = outer + 1.0;
        let range = |middle: f32, most: usize| {
            let clip = |value: f32| value.clamp(0.0, most as f32) as usize;
            clip((middle - reach).floor())..clip((middle + reach).ceil())
        };
        for y in range(at.1, self.height) {
            for x in range(at.0, self.width) {
                let distance = (x as f32 + 0.5 - at.0).hypot(y as f32 + 0.5 - at.1);
                let cover = (outer + 0.5 - distance).clamp(0.0, 1.0) - (inner + 0.5 - distance).clamp(0.0, 1.0);
                if cover > 0.0 {
                    self.blend(x, y, color, cover);
                }
            }
        }
    }
}

fn packed(color: BackendColor) -> u32 {
    let (r, g, b) = color.rgb;
    u32::from(r) << 16 | u32::from(g) << 8 | u32::from(b)
}

/// The outline of a line of some half width along points, corners mitred up to twice the width.
fn outline_of(points: &[P], half: f32) -> Vec<P> {
    let mut path: Vec<P> = points.to_vec();
    path.dedup_by(|a, b| (a.0 - b.0).abs() + (a.1 - b.1).abs() < 0.02);
    if path.len() < 2 {
        return Vec::new();
    }
    let normal = |a: P, b: P| {
        let length = (b.0 - a.0).hypot(b.1 - a.1);
        (-(b.1 - a.1) / length, (b.0 - a.0) / length)
    };
    let (mut one, mut other) = (Vec::with_capacity(path.len() * 2), Vec::with_capacity(path.len()));
    for (i, at) in path.iter().enumerate() {
        let before = if i > 0 { normal(path[i - 1], *at) } else { normal(*at, path[i + 1]) };
        let after = if i + 1 < path.len() { normal(*at, path[i + 1]) } else { before };
        let sum = (before.0 + after.0, before.1 + after.1);
        let reach = half * 2.0 / (sum.0 * sum.0 + sum.1 * sum.1).max(0.5);
        one.push((at.0 + sum.0 * reach, at.1 + sum.1 * reach));
        other.push((at.0 - sum.0 * reach, at.1 - sum.1 * reach));
    }
    one.extend(other.into_iter().rev());
    one
}

/// A glyph as shares of covered pixels.
struct Stamp {
    left: i32,
    top: i32,
    width: usize,
    cover: Vec<f32>,
}

type StampKey = (Weight, GlyphId, u32, u8);

thread_local! {
    static STAMPS: RefCell<HashMap<StampKey, Rc<Stamp>>> = RefCell::default();
}

/// Most glyphs kept; one chart needs some three hundred.
const MOST_STAMPS: usize = 4000;

fn stamp(key: StampKey) -> Rc<Stamp> {
    STAMPS.with_borrow_mut(|stamps| {
        if stamps.len() > MOST_STAMPS {
            stamps.clear();
        }
        Rc::clone(stamps.entry(key).or_insert_with(|| Rc::new(cut_stamp(key))))
    })
}

fn cut_stamp((weight, id, size, quarter): StampKey) -> Stamp {
    let font = font(weight);
    let glyph = id.with_scale_and_position(PxScale::from(f32::from_bits(size)), point(f32::from(quarter) / 4.0, 0.0));
    let Some(outline) = font.outline_glyph(glyph) else {
        return Stamp { left: 0, top: 0, width: 0, cover: Vec::new() };
    };
    let bounds = outline.px_bounds();
    let (width, height) = (bounds.width() as usize, bounds.height() as usize);
    let mut cover = vec![0.0; width * height];
    outline.draw(|x, y, share| {
        if let Some(cell) = cover.get_mut(y as usize * width + x as usize) {
            *cell = share.min(1.0);
        }
    });
    Stamp { left: bounds.min.x as i32, top: bounds.min.y as i32, width, cover }
}

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
        let font = font(weight);
        let em = style.size() as f32 / PLOTTERS_EM as f32 * self.scale;
        let per_unit = em / font.units_per_em().unwrap_or(1.0);
        let size = font.height_unscaled() * per_unit;
        let visible = || text.chars().filter(|c| !is_invisible(*c)).map(|c| font.glyph_id(c));
        let advance = |id: GlyphId| font.h_advance_unscaled(id) * per_unit;
        let (x, y) = self.to_pixels(pos);
        let mut x = match style.anchor().h_pos {
            HPos::Left => x,
            HPos::Center => x - visible().map(advance).sum::<f32>() / 2.0,
            HPos::Right => x - visible().map(advance).sum::<f32>(),
        };
        let baseline = (y + BASELINE_EM as f32 * em).round() as i32;
        let color = style.color();
        for id in visible() {
            let quarters = (x * 4.0).round() as i32;
            let stamp = stamp((weight, id, size.to_bits(), quarters.rem_euclid(4) as u8));
            let (left, top) = (quarters.div_euclid(4) + stamp.left, baseline + stamp.top);
            for (row, line) in stamp.cover.chunks_exact(stamp.width.max(1)).enumerate() {
                for (column, cover) in line.iter().enumerate() {
                    let (px, py) = (left + column as i32, top + row as i32);
                    if *cover > 0.0 && px >= 0 && py >= 0 && (px as usize) < self.width {
                        self.blend(px as usize, py as usize, color, *cover);
                    }
                }
            }
            x += advance(id);
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn strips_of_an_outline_make_up_the_whole() {
        // A star that crosses itself; twice its area is the sum of its cross products.
        let star = [(10.0, 90.0), (50.0, 0.0), (90.0, 90.0), (0.0, 30.0), (100.0, 30.0)];
        let area = |outline: &[P]| -> f32 {
            let edges = outline.iter().zip(outline.iter().cycle().skip(1));
            edges.map(|(a, b)| a.0 * b.1 - b.0 * a.1).sum()
        };
        let (mut half, mut strip, mut sum) = (Vec::new(), Vec::new(), 0.0);
        for i in 0..10_u8 {
            let from = f32::from(i) * 10.0;
            cut(&star, from, true, &mut half);
            cut(&half, from + 10.0, false, &mut strip);
            assert!(strip.iter().all(|p| p.0 >= from - 1e-3 && p.0 <= from + 10.001));
            sum += area(&strip);
        }
        assert!((sum - area(&star)).abs() < 0.5, "{sum} {}", area(&star));
    }
}
