//! The PNG file: pixels, and how many of them make a metre of paper.

use super::palette::{Indexed, index};
use super::{ChartError, Size};
use png::{BitDepth, ColorType, DeflateCompression, Encoder, Filter, PixelDimensions, Unit};

/// Inches in a metre, exactly 1/0.0254.
const INCHES_PER_METRE: f64 = 1.0 / 0.0254;

/// A file longer than this, in bytes, is packed again with more care.
const LONG: usize = 140_000;

/// Writes rows of pixels, each 0xRRGGBB, as PNG.
///
/// # Errors
///
/// [`ChartError::Encoding`] when the number of pixels does not fit the size.
pub fn encode(pixels: &[u32], size: Size, dpi: u32) -> Result<Vec<u8>, ChartError> {
    let indexed = index(pixels);
    // Most rows repeat the row above: the difference is nothing, which packs fastest.
    let file = write(&indexed, size, dpi, Filter::Up, DeflateCompression::FdeflateUltraFast)?;
    if file.len() <= LONG {
        return Ok(file);
    }
    // Many slanting lines repeat themselves along the row.
    write(&indexed, size, dpi, Filter::NoFilter, DeflateCompression::Level(1))
}

fn write(
    Indexed { palette, pixels }: &Indexed,
    size: Size,
    dpi: u32,
    filter: Filter,
    packing: DeflateCompression,
) -> Result<Vec<u8>, ChartError> {
    let mut file = Vec::with_capacity(pixels.len() / 8);
    let mut encoder = Encoder::new(&mut file, size.width, size.height);
    encoder.set_color(ColorType::Indexed);
    encoder.set_palette(palette.as_slice());
    encoder.set_depth(BitDepth::Eight);
    encoder.set_deflate_compression(packing);
    encoder.set_filter(filter);
    let per_metre = (f64::from(dpi) * INCHES_PER_METRE).round() as u32;
    encoder.set_pixel_dims(Some(PixelDimensions { xppu: per_metre, yppu: per_metre, unit: Unit::Meter }));
    // The keyword of the standard for the program that made a picture; what is replaced is known by it.
    encoder.add_text_chunk("Software".to_owned(), crate::program::NAME.to_owned()).map_err(ChartError::Encoding)?;
    let mut writer = encoder.write_header().map_err(ChartError::Encoding)?;
    writer.write_image_data(pixels).map_err(ChartError::Encoding)?;
    writer.finish().map_err(ChartError::Encoding)?;
    Ok(file)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_resolution_is_in_the_file() {
        let file = encode(&[0x00ff_ffff; 4], Size { width: 2, height: 2 }, 150).expect("four pixels are a picture");
        let at = file.windows(4).position(|w| w == b"pHYs").expect("a pHYs chunk") + 4;
        // 150 dpi are 5905.5 dots per metre.
        assert_eq!(file[at..at + 9], [0, 0, 0x17, 0x12, 0, 0, 0x17, 0x12, 1]);
    }

    #[test]
    fn the_program_is_in_the_file() {
        let file = encode(&[0x00ff_ffff; 4], Size { width: 2, height: 2 }, 150).expect("four pixels are a picture");
        assert!(file.windows(23).any(|part| part == b"tEXtSoftware\0groundwall"));
    }

    #[test]
    fn too_few_pixels_are_an_error() {
        assert!(encode(&[0; 5], Size { width: 2, height: 2 }, 150).is_err());
    }
}
