//! Text: glyph by glyph in the bundled font, as stamps of pixels.

use super::canvas::Canvas;
use super::stamp::stamp;
use crate::chart::font::{Weight, font, is_invisible};
use ab_glyph::{Font, GlyphId};
use plotters_backend::BackendColor;
use plotters_backend::text_anchor::HPos;

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
