//! A buffer of pixels: outlines, lines, rings and glyphs are blended into it.

use super::outline::{P, bounds, cut, outline_of};
use super::stamp::Stamp;
use crate::chart::page::Sheet;
use ab_glyph_rasterizer::Rasterizer;
use plotters_backend::{BackendColor, BackendCoord};

/// Width of the strips in which large outlines are filled, pixels.
const STRIP: f32 = 32.0;
/// An outline no higher than this is filled at once, pixels.
const FLAT: f32 = 12.0;

/// A buffer of pixels that can be drawn on.
pub(super) struct Canvas<'a> {
    pixels: &'a mut [u32],
    width: usize,
    height: usize,
    /// Pixels an eighth of a page unit.
    pub(super) scale: f32,
    /// Width and height in eighths of a page unit.
    pub(super) fine: (u32, u32),
    edges: Rasterizer,
}

impl<'a> Canvas<'a> {
    /// A canvas over the pixels of a sheet.
    pub(super) fn over(pixels: &'a mut [u32], sheet: &Sheet) -> Self {
        Self {
            pixels,
            width: sheet.size.width as usize,
            height: sheet.size.height as usize,
            scale: sheet.scale as f32,
            fine: sheet.fine,
            edges: Rasterizer::new(1, 1),
        }
    }

    pub(super) fn to_pixels(&self, at: BackendCoord) -> P {
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
    pub(super) fn block(&mut self, left: i64, top: i64, right: i64, bottom: i64, color: BackendColor) {
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
    pub(super) fn fill(&mut self, outline: &[P], color: BackendColor) {
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

    /// Draws a line along points; between two on one level or upright, in whole pixels.
    pub(super) fn line(&mut self, points: &[P], width: f32, color: BackendColor) {
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
    pub(super) fn annulus(&mut self, at: P, inner: f32, outer: f32, color: BackendColor) {
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

    /// Puts a glyph where its stamp says, from this pixel on.
    pub(super) fn press(&mut self, stamp: &Stamp, at: (i32, i32), color: BackendColor) {
        let (left, top) = (at.0 + stamp.left, at.1 + stamp.top);
        for (row, line) in stamp.cover.chunks_exact(stamp.width.max(1)).enumerate() {
            for (column, cover) in line.iter().enumerate() {
                let (px, py) = (left + column as i32, top + row as i32);
                if *cover > 0.0 && px >= 0 && py >= 0 && (px as usize) < self.width {
                    self.blend(px as usize, py as usize, color, *cover);
                }
            }
        }
    }
}

fn packed(color: BackendColor) -> u32 {
    let (r, g, b) = color.rgb;
    u32::from(r) << 16 | u32::from(g) << 8 | u32::from(b)
}
