//! Stamps: glyphs of the bundled font as pixels, cut at quarters of a pixel and kept as long as the thread lives.

use crate::chart::font::{Weight, font};
use ab_glyph::{Font, GlyphId, PxScale, point};
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
pub(super) type StampKey = (Weight, GlyphId, u32, u8);

thread_local! {
    static STAMPS: RefCell<HashMap<StampKey, Rc<Stamp>>> = RefCell::default();
}

/// Most glyphs kept; one chart needs some three hundred.
const MOST_STAMPS: usize = 4000;

/// The stamp of a glyph, cut once.
pub(super) fn stamp(key: StampKey) -> Rc<Stamp> {
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
