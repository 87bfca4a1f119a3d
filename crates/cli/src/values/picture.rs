//! Pictures: where to, as what, and how large.

use groundwall_engine::chart::{PictureFormat, Size};
use std::path::{Path, PathBuf};

/// A picture to be written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PictureFile {
    /// The file.
    pub path: PathBuf,
    /// Its format.
    pub format: PictureFormat,
}

/// A path that ends in `.png` or `.svg`.
///
/// # Errors
///
/// The rule that the text breaks.
pub fn picture_file(text: &str) -> Result<PictureFile, String> {
    let path = PathBuf::from(text);
    let ending = path.extension().map(|ending| ending.to_string_lossy().to_lowercase());
    let format = match ending.as_deref() {
        Some("png") => PictureFormat::Png,
        Some("svg") => PictureFormat::Svg,
        _ => return Err("a chart is a file that ends in .png or .svg".to_owned()),
    };
    Ok(PictureFile { path, format })
}

/// A size in pixels: `1200x800`.
///
/// # Errors
///
/// The rule that the text breaks.
pub fn picture_size(text: &str) -> Result<Size, String> {
    let rule = || {
        format!("a size is WIDTHxHEIGHT in pixels, such as 1200x800, each side {} to {}", Size::LEAST, Size::GREATEST)
    };
    let (width, height) = text.split_once(['x', 'X', '×']).ok_or_else(rule)?;
    let side = |text: &str| {
        text.trim().parse().ok().filter(|side| (Size::LEAST..=Size::GREATEST).contains(side)).ok_or_else(rule)
    };
    Ok(Size { width: side(width)?, height: side(height)? })
}

/// Where a picture goes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PicturePlace {
    /// This file.
    File(PictureFile),
    /// A file of pixels in this folder, named after what it shows.
    Folder(PathBuf),
}

impl PicturePlace {
    /// The file, if it was named.
    #[must_use]
    pub fn file(&self) -> Option<&Path> {
        match self {
            Self::File(file) => Some(&file.path),
            Self::Folder(_) => None,
        }
    }
}

/// A path that ends in `.png` or `.svg`, or a folder: one that is there, or one whose name ends in a separator.
///
/// # Errors
///
/// The rule that the text breaks.
pub fn picture_place(text: &str) -> Result<PicturePlace, String> {
    let path = PathBuf::from(text);
    if path.is_dir() || text.ends_with(std::path::is_separator) {
        return Ok(PicturePlace::Folder(path));
    }
    picture_file(text).map(PicturePlace::File).map_err(|rule| format!("{rule}, or a folder, whose name ends in /"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_chart_is_a_picture_by_its_ending() {
        assert_eq!(picture_file("a/b.PNG").map(|file| file.format), Ok(PictureFormat::Png));
        assert_eq!(picture_file("b.svg").map(|file| file.format), Ok(PictureFormat::Svg));
        assert_eq!(picture_size("1240 × 1754"), Ok(Size { width: 1240, height: 1754 }));
        for text in ["1200", "1200x", "x800", "100x800", "1200x10001", "-1200x800", "1e3x800", "12x3x4"] {
            let rule = "a size is WIDTHxHEIGHT in pixels, such as 1200x800, each side 200 to 10000";
            assert_eq!(picture_size(text), Err(rule.to_owned()), "{text}");
        }
        assert_eq!(picture_file("b.gif"), Err("a chart is a file that ends in .png or .svg".to_owned()));
    }
}
