//! Few colours instead of many: a chart as one byte a pixel.
//!
//! A chart has some ten colours and the blends at their edges. The 256 commonest blends become the palette; a rarer one
//! takes the nearest of them, which the eye cannot tell. Files get three to four times smaller.

use std::collections::HashMap;

/// Most colours a PNG palette can hold.
const MOST: usize = 256;

/// A picture of at most 256 colours.
pub struct Indexed {
    /// Red, green, blue of each colour, commonest first.
    pub palette: Vec<u8>,
    /// The colour of each pixel.
    pub pixels: Vec<u8>,
}

/// Turns pixels, each 0xRRGGBB, into colours of a palette. The same pixels give the same palette.
#[must_use]
pub fn index(pixels: &[u32]) -> Indexed {
    let mut ids: HashMap<u32, usize> = HashMap::new();
    let mut colors: Vec<(u32, usize)> = Vec::new();
    let mut runs: Vec<(usize, usize)> = Vec::with_capacity(pixels.len() / 16);
    let mut memory = vec![(u32::MAX, 0); 1024];
    let mut rest = pixels;
    while let Some(color) = rest.first() {
        let length = run(rest, *color);
        // The colours of a row come back again and again: most are found without looking them up.
        let memory = &mut memory[(color.wrapping_mul(0x9e37_79b1) >> 22) as usize];
        if memory.0 != *color {
            let id = *ids.entry(*color).or_insert_with(|| {
                colors.push((*color, 0));
                colors.len() - 1
            });
            *memory = (*color, id);
        }
        let id = memory.1;
        colors[id].1 += length;
        runs.push((id, length));
        rest = &rest[length..];
    }
    let mut order: Vec<usize> = (0..colors.len()).collect();
    order.sort_unstable_by_key(|id| (std::cmp::Reverse(colors[*id].1), colors[*id].0));
    let common: Vec<u32> = order.iter().take(MOST).map(|id| colors[*id].0).collect();
    let mut place = vec![0u8; colors.len()];
    for (rank, id) in order.into_iter().enumerate() {
        place[id] = u8::try_from(rank).unwrap_or_else(|_| nearest(&common, colors[id].0));
    }
    let mut indexed = Vec::with_capacity(pixels.len());
    for (id, length) in runs {
        indexed.resize(indexed.len() + length, place[id]);
    }
    Indexed {
        palette: common.iter().flat_map(|color| [(color >> 16) as u8, (color >> 8) as u8, *color as u8]).collect(),
        pixels: indexed,
    }
}

/// How many pixels from the first have the same colour.
fn run(pixels: &[u32], color: u32) -> usize {
    // Sixteen at a time without a branch: most of a chart is long runs of ground.
    let same = |block: &&[u32]| block.iter().fold(true, |same, pixel| same & (*pixel == color));
    let whole = pixels.chunks_exact(16).take_while(same).count() * 16;
    whole + pixels[whole..].iter().take_while(|pixel| **pixel == color).count()
}

/// The place of the colour nearest to another.
fn nearest(palette: &[u32], color: u32) -> u8 {
    let part = |color: u32, shift: u32| (color >> shift & 255) as i32;
    let distance =
        |other: u32| -> i32 { [16, 8, 0].iter().map(|shift| (part(color, *shift) - part(other, *shift)).pow(2)).sum() };
    let best = palette.iter().enumerate().min_by_key(|(_, other)| distance(**other));
    best.map_or(0, |(place, _)| place as u8)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn few_colours_are_kept_as_they_are() {
        let Indexed { palette, pixels } = index(&[0x01_02_03, 0x09_09_09, 0x09_09_09, 0x01_02_03, 0x09_09_09]);
        assert_eq!(palette, [9, 9, 9, 1, 2, 3]);
        assert_eq!(pixels, [1, 0, 0, 1, 0]);
    }

    #[test]
    fn rare_colours_take_the_nearest_common_one() {
        let mut grey: Vec<u32> = (0..256).flat_map(|c| [c * 0x01_01_01; 40]).collect();
        grey.push(100 * 0x01_01_01 + 1);
        let Indexed { palette, pixels } = index(&grey);
        assert_eq!(palette.len(), 768);
        assert_eq!(palette[usize::from(pixels[256 * 40]) * 3..][..3], [100, 100, 100]);
    }

    #[test]
    fn no_pixels_are_no_colours() {
        assert!(index(&[]).pixels.is_empty());
    }
}
