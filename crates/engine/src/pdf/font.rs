//! The bundled fonts inside the file, and text by their glyphs, with what each glyph stands for, so that it can be searched.

use super::{name, packed, rgb, string};
use crate::chart::font::{Face, REGULAR_FILE, STRONG_FILE, Weight, font, is_invisible};
use ab_glyph::Font;
use pdf_writer::types::{CidFontType, FontFlags, SystemInfo, UnicodeCmap};
use pdf_writer::{Content, Filter, Finish, Name, Pdf, Rect, Ref};
use plotters::style::RGBColor;
use std::collections::BTreeMap;

/// The characters that were shown, by glyph.
#[derive(Default)]
pub(super) struct Fonts {
    regular: BTreeMap<u16, char>,
    strong: BTreeMap<u16, char>,
}

/// A collection of glyphs that is numbered as its font numbers them.
const IDENTITY: SystemInfo<'static> =
    SystemInfo { registry: string(b"Adobe"), ordering: string(b"Identity"), supplement: 0 };

impl Fonts {
    /// Shows a line of text from the left end of its baseline, which is counted from the lower left corner.
    pub(super) fn show(&mut self, content: &mut Content, text: &str, (x, y): (f32, f32), face: Face, color: RGBColor) {
        let used = match face.weight {
            Weight::Regular => &mut self.regular,
            Weight::Strong => &mut self.strong,
        };
        let mut glyphs = Vec::with_capacity(2 * text.len());
        for c in text.chars().filter(|c| !is_invisible(*c)) {
            let glyph = font(face.weight).glyph_id(c).0;
            used.entry(glyph).or_insert(c);
            glyphs.extend(glyph.to_be_bytes());
        }
        let [r, g, b] = rgb(color);
        content.set_fill_rgb(r, g, b).begin_text().set_font(name(face.weight), face.size as f32);
        content.set_text_matrix([1.0, 0.0, 0.0, 1.0, x, y]).show(string(&glyphs)).end_text();
    }

    /// Puts both fonts into the file.
    pub(super) fn write(&self, pdf: &mut Pdf, fresh: &mut impl FnMut() -> Ref) -> [(Weight, Ref); 2] {
        let regular = embed(pdf, fresh, Weight::Regular, (b"Inter-Regular", REGULAR_FILE), &self.regular);
        let strong = embed(pdf, fresh, Weight::Strong, (b"Inter-SemiBold", STRONG_FILE), &self.strong);
        [(Weight::Regular, regular), (Weight::Strong, strong)]
    }
}

fn embed(
    pdf: &mut Pdf,
    fresh: &mut impl FnMut() -> Ref,
    weight: Weight,
    (base, file): (&[u8], &[u8]),
    used: &BTreeMap<u16, char>,
) -> Ref {
    let [font_id, cid_id, descriptor_id, meanings_id, file_id] = [fresh(), fresh(), fresh(), fresh(), fresh()];
    let face = font(weight);
    // Lengths inside a font are in thousandths of the em.
    let thousandth = 1000.0 / face.units_per_em().unwrap_or(1000.0);
    let widths = (0..face.glyph_count()).filter_map(|glyph| u16::try_from(glyph).ok());
    let widths: Vec<f32> = widths.map(|glyph| face.h_advance_unscaled(ab_glyph::GlyphId(glyph)) * thousandth).collect();
    let (ascent, descent) = (face.ascent_unscaled() * thousandth, face.descent_unscaled() * thousandth);
    pdf.type0_font(font_id)
        .base_font(Name(base))
        .encoding_predefined(Name(b"Identity-H"))
        .descendant_font(cid_id)
        .to_unicode(meanings_id);
    let mut cid = pdf.cid_font(cid_id);
    cid.subtype(CidFontType::Type0).base_font(Name(base)).system_info(IDENTITY).font_descriptor(descriptor_id);
    cid.widths().consecutive(0, widths);
    cid.finish();
    pdf.font_descriptor(descriptor_id)
        .name(Name(base))
        .flags(FontFlags::NON_SYMBOLIC)
        .bbox(Rect::new(-500.0, descent, 2000.0, ascent))
        .italic_angle(0.0)
        .ascent(ascent)
        .descent(descent)
        .cap_height(ascent)
        .stem_v(90.0)
        .font_file3(file_id);
    let mut meanings = UnicodeCmap::new(Name(b"Meanings"), IDENTITY);
    for (glyph, c) in used {
        meanings.pair(*glyph, *c);
    }
    pdf.cmap(meanings_id, &meanings.finish());
    pdf.stream(file_id, &packed(file)).filter(Filter::FlateDecode).pair(Name(b"Subtype"), Name(b"OpenType"));
    font_id
}
