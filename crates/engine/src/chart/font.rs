//! The bundled font: widths of texts, and how a text is shortened or broken to fit.
//!
//! Inter, regular and semi-bold, under the SIL Open Font License 1.1 (see `fonts/`), cut down to Latin, Greek, Cyrillic
//! and the signs of the trade. Widths are sums of advances without kerning; the cut fonts hold no kerning, so a viewer of
//! the SVG spaces the text in the same way.

use ab_glyph::{Font, FontRef};
use std::sync::LazyLock;

/// File of the regular weight.
pub const REGULAR_FILE: &[u8] = include_bytes!("../../fonts/Inter-Regular-subset.otf");
/// File of the semi-bold weight.
pub const STRONG_FILE: &[u8] = include_bytes!("../../fonts/Inter-SemiBold-subset.otf");

static REGULAR: LazyLock<FontRef<'static>> = LazyLock::new(|| read(REGULAR_FILE));
static STRONG: LazyLock<FontRef<'static>> = LazyLock::new(|| read(STRONG_FILE));

/// Weight of a text.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Weight {
    /// For reading.
    Regular,
    /// For titles and the names of lines.
    Strong,
}

/// Size in page units, and weight.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Face {
    /// Size of the em, page units.
    pub size: f64,
    /// Weight.
    pub weight: Weight,
}

impl Face {
    /// A face for reading.
    #[must_use]
    pub const fn regular(size: f64) -> Self {
        Self { size, weight: Weight::Regular }
    }

    /// A face for titles.
    #[must_use]
    pub const fn strong(size: f64) -> Self {
        Self { size, weight: Weight::Strong }
    }

    /// Distance between two baselines.
    #[must_use]
    pub fn line_height(self) -> f64 {
        (self.size * 1.32).round()
    }

    /// Width of a text in page units.
    #[must_use]
    pub fn width(self, text: &str) -> f64 {
        let font = font(self.weight);
        let em = f64::from(font.units_per_em().unwrap_or(1.0));
        text.chars().map(|c| advance(font, c)).sum::<f64>() * self.size / em
    }

    /// The text, or as much of its beginning as fits with an ellipsis after it.
    #[must_use]
    pub fn fit(self, text: &str, width: f64) -> String {
        if self.width(text) <= width {
            return text.to_owned();
        }
        let room = width - self.width("…");
        let mut kept = String::new();
        let mut used = 0.0;
        for c in text.chars() {
            used += self.width(c.encode_utf8(&mut [0; 4]));
            if used > room {
                break;
            }
            kept.push(c);
        }
        format!("{}…", kept.trim_end())
    }

    /// Breaks a text at its spaces into at most so many lines; words longer than a line are broken, and what does not
    /// fit into the last line ends in an ellipsis.
    #[must_use]
    pub fn wrap(self, text: &str, width: f64, most: usize) -> Vec<String> {
        let mut lines: Vec<String> = Vec::new();
        let mut rest = text.trim();
        while !rest.is_empty() && lines.len() < most {
            if lines.len() + 1 == most || self.width(rest) <= width {
                lines.push(self.fit(rest, width));
                break;
            }
            let end = self.break_before(rest, width);
            let (line, after) = rest.split_at(end);
            lines.push(line.trim_end().to_owned());
            rest = after.trim_start();
        }
        lines
    }

    /// Breaks a text into no more lines than [`Face::wrap`] would, all of about the same width.
    #[must_use]
    pub fn wrap_even(self, text: &str, width: f64, most: usize) -> Vec<String> {
        let lines = self.wrap(text, width, most);
        let (mut least, mut enough) = (width / 2.0, width);
        if lines.len() < 2 || lines.last().is_some_and(|line| line.ends_with('…')) {
            return lines;
        }
        while enough - least > 4.0 {
            let middle = f64::midpoint(least, enough);
            let narrower = self.wrap(text, middle, most + 1);
            if narrower.len() > lines.len() {
                least = middle;
            } else {
                enough = middle;
            }
        }
        self.wrap(text, enough, most)
    }

    /// Where the first line of a text too long for one ends: behind the last space that fits, or behind the last character.
    fn break_before(self, text: &str, width: f64) -> usize {
        let mut used = 0.0;
        let mut space = None;
        for (at, c) in text.char_indices() {
            used += self.width(c.encode_utf8(&mut [0; 4]));
            if used > width {
                return space.unwrap_or(if at == 0 { c.len_utf8() } else { at });
            }
            if c == ' ' && !binds(&text[..at], &text[at + 1..]) {
                space = Some(at + 1);
            }
        }
        text.len()
    }
}

/// The font of a weight.
#[must_use]
pub fn font(weight: Weight) -> &'static FontRef<'static> {
    match weight {
        Weight::Regular => &REGULAR,
        Weight::Strong => &STRONG,
    }
}

/// Whether a character takes no room and leaves no mark: joiners and marks of writing direction.
#[must_use]
pub fn is_invisible(c: char) -> bool {
    matches!(c, '\u{200b}'..='\u{200f}' | '\u{2060}'..='\u{2069}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}')
}

/// Whether a space must not be broken: between a number and its unit, a month and its year, a day and its month.
fn binds(before: &str, after: &str) -> bool {
    let before = before.rsplit(' ').next().unwrap_or_default();
    let after = after.split([' ', ',', '.', ':', ';']).next().unwrap_or_default();
    let number = |word: &str| word.starts_with(|c: char| c.is_ascii_digit());
    let month = |word: &str| word.len() == 3 && word.starts_with(|c: char| c.is_ascii_uppercase());
    let unit = matches!(after, "Ω" | "kΩ" | "MΩ" | "GΩ" | "TΩ" | "%" | "°C" | "K" | "V" | "kV" | "kW");
    (number(before) && (unit || month(after))) || (month(before) && after.len() == 4 && number(after))
}

fn read(file: &'static [u8]) -> FontRef<'static> {
    FontRef::try_from_slice(file).expect("a bundled font is a font")
}

fn advance(font: &FontRef<'static>, c: char) -> f64 {
    if is_invisible(c) { 0.0 } else { f64::from(font.h_advance_unscaled(font.glyph_id(c))) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_sign_of_the_trade_can_be_drawn() {
        for weight in [Weight::Regular, Weight::Strong] {
            for c in "ΩMGTkµ°−≥≤<>±·–—é…→∞×%/()0123456789ÅßñŁřЖяΔτ²³₁\u{2126}".chars()
            {
                assert_ne!(font(weight).glyph_id(c).0, 0, "{c} in {weight:?}");
            }
        }
    }

    #[test]
    fn a_fitted_text_is_never_wider_than_asked() {
        let face = Face::regular(17.0);
        for width in [20.0, 55.0, 140.0, 400.0] {
            for text in ["", "a", "Kühlwasserpumpe 3 im Nordwerk", "WWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWW"] {
                assert!(face.width(&face.fit(text, width)) <= width);
                assert!(face.wrap(text, width, 3).iter().all(|line| face.width(line) <= width), "{text} in {width}");
                assert!(face.wrap(text, width, 3).len() <= 3);
            }
        }
    }

    #[test]
    fn lines_break_at_spaces_and_lose_nothing() {
        let lines = Face::regular(10.0).wrap("one two three four five six", 60.0, 9);
        assert!(lines.len() > 1);
        assert_eq!(lines.join(" "), "one two three four five six");
    }

    #[test]
    fn numbers_stay_with_their_units_and_months_with_their_years() {
        let face = Face::regular(10.0);
        for width in [60.0, 75.0, 90.0, 120.0, 160.0] {
            for line in face.wrap("reaches its 5 MΩ minimum between 3 Mar 2029 and Jan 2035", width, 9) {
                assert!(!line.ends_with(" 5") && !line.ends_with("Mar") && !line.ends_with("Jan"), "{line}");
                assert!(!line.ends_with(" 3"), "{line}");
            }
        }
    }

    #[test]
    fn even_lines_are_as_many_and_no_wider() {
        let (face, text) = (
            Face::strong(28.0),
            "Plan work on P-104: 49 MΩ now, reaches its 5 MΩ minimum between May 2027 and Oct 2027",
        );
        let even = face.wrap_even(text, 1120.0, 2);
        assert_eq!(even.len(), 2);
        assert_eq!(even.join(" "), text);
        assert!(face.width(&even[1]) > 400.0);
        assert_eq!(face.wrap_even("one line", 1120.0, 2), ["one line"]);
    }
}
