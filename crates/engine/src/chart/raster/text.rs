//! Text: glyph by glyph in the bundled font, as stamps of pixels that are cut at quarters of a pixel and kept as long as the
//! thread lives.

use super::canvas::Canvas;
use crate::chart::font::{Weight, font, is_invisible};
use ab_glyph::{Font, GlyphId, PxScale, point};
use plotters_backend::BackendColor;
use plotters_backend::text_anchor::HPos;
use std::cell::RefCell;
use std::collections::HashMap;
use std::rc::Rc;

/// A glyph as shares of covered pixels.
pub(super) struct Stamp {
    pub(super) left: i32,
    pub(super) top: i32,
    pub(super) width: usize,
    pub(super) cover: Vec<f32>,
}

/// Weight, glyph, bits of the size in pixels, and the quarter of a pixel that it begins at.
type StampKey = (Weight, GlyphId, u32, u8);

thread_local! {
    static STAMPS: RefCell<HashMap<StampKey, Rc<Stamp>>> = RefCell::default();
}

/// Most glyphs kept; one chart needs some three hundred.
const MOST_STAMPS: usize = 4000;

/// The stamp of a glyph, cut once.
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

impl Canvas<'_> {
    /// Sets a line of text: in a weight and a size of the em, beginning, centred or ending at a place, on a base line.
    pub(super) fn text(
        &mut self,
        text: &str,
        (weight, em): (Weight, f32),
        (x, anchor): (f32, HPos),
        baseline: i32,
        color: BackendColor,
    ) {
        let font = font(weight);
        let per_unit = em / font.units_per_em().unwrap_or(1.0);
        let size = font.height_unscaled() * per_unit;
        let visible = || text.chars().filter(|c| !is_invisible(*c)).map(|c| font.glyph_id(c));
        let advance = |id: GlyphId| font.h_advance_unscaled(id) * per_unit;
        let mut x = match anchor {
            HPos::Left => x,
            HPos::Center => x - visible().map(advance).sum::<f32>() / 2.0,
            HPos::Right => x - visible().map(advance).sum::<f32>(),
        };
        for id in visible() {
            let quarters = (x * 4.0).round() as i32;
            let stamp = stamp((weight, id, size.to_bits(), quarters.rem_euclid(4) as u8));
            self.press(&stamp, (quarters.div_euclid(4), baseline), color);
            x += advance(id);
        }
    }
}
