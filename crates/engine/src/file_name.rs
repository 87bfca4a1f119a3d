//! File names made of the names of windings: safe in every folder of every usual system, distinguished, and still readable.
//!
//! A winding may be called anything: `../../x`, `CON`, 300 characters, an emoji, a word written from right to left. Letters
//! and digits of any script stay, as do single hyphens; a blank becomes an underscore and everything else a hyphen. A name
//! in which more than blanks had to be changed carries a few digits of its digest, so that two windings never become one. No
//! name starts with a point or a hyphen, so none is hidden or read as an option.

use crate::digest::sha256;
use crate::legible::steers;
use std::collections::BTreeSet;

/// Longest stem in bytes: with an ending and a number it stays below the 255 that the usual file systems allow, and below
/// the 143 of encrypted ones.
const LONGEST: usize = 96;
/// Digits of the digest behind a name that was changed.
const DIGEST_DIGITS: usize = 8;

/// What stands between words.
const GAPS: [char; 3] = ['-', '_', '.'];

/// Names that some systems keep for devices, whatever their ending.
const DEVICES: [&str; 6] = ["con", "prn", "aux", "nul", "com", "lpt"];

/// The stem of a file name for a text, without an ending. Texts that differ in more than case have different stems, but for
/// a clash of digests.
#[must_use]
pub fn stem(text: &str) -> String {
    let mut stem = String::new();
    let mut same = true;
    for c in text.trim().chars() {
        let after_digit = stem.ends_with(|before: char| before.is_ascii_digit());
        let in_word = !stem.is_empty() && !stem.ends_with(GAPS);
        match c {
            _ if c.is_alphanumeric() && is_old(c) && !steers(c) => stem.push(c),
            ' ' if in_word => stem.push('_'),
            '-' if in_word => stem.push('-'),
            // The point of a number, as in a rated voltage.
            '.' if after_digit => stem.push('.'),
            _ => {
                same = false;
                if in_word {
                    stem.push('-');
                }
            }
        }
    }
    same &= stem.len() <= LONGEST && !stem.ends_with(GAPS) && !stem.is_empty() && !is_device(&stem);
    if same {
        return stem;
    }
    let cut = (0..=LONGEST.min(stem.len())).rev().find(|at| stem.is_char_boundary(*at)).unwrap_or(0);
    stem.truncate(cut);
    // What stands before a point would still be a device.
    let name = stem.trim_end_matches(GAPS).replace('.', "-");
    let digest = sha256(text.as_bytes());
    format!("{}-{}", if name.is_empty() { "winding" } else { &name }, &digest[..DIGEST_DIGITS])
}

/// Letters beyond the first plane are left out, because many programs cannot show them.
fn is_old(c: char) -> bool {
    u32::from(c) <= 0xFFFF
}

fn is_device(stem: &str) -> bool {
    let lower = stem.split('.').next().unwrap_or_default().to_lowercase();
    let bare = lower.trim_end_matches(|c: char| c.is_ascii_digit() || matches!(c, '¹' | '²' | '³'));
    DEVICES.contains(&bare) && lower.chars().count() <= 4
}

/// Names given out in one folder, each once. Case does not tell names apart, because some systems do not see it.
#[derive(Clone, Debug, Default)]
pub struct FileNames {
    taken: BTreeSet<String>,
}

impl FileNames {
    /// A name for a text that was not given out before: `P-101_stator.png`, then `P-101_stator-2.png`.
    pub fn name(&mut self, text: &str, ending: &str) -> String {
        let stem = stem(text);
        let mut name = format!("{stem}.{ending}");
        let mut count = 1_usize;
        while !self.taken.insert(name.to_lowercase()) {
            count += 1;
            name = format!("{stem}-{count}.{ending}");
        }
        name
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn ordinary_names_stay_readable() {
        for (text, expected) in [
            (" P-101 stator ", "P-101_stator"),
            ("Rührwerk 3", "Rührwerk_3"),
            ("насос 2", "насос_2"),
            ("6.6 kV feed pump", "6.6_kV_feed_pump"),
            ("مضخة 4", "مضخة_4"),
            ("console", "console"),
            ("COM12", "COM12"),
        ] {
            assert_eq!(stem(text), expected, "{text}");
        }
    }

    #[test]
    fn what_nobody_sees_is_in_no_file_name() {
        for text in ["P\u{3164}1", "P\u{2800}1", "P\u{115f}1", "P\u{ffa0}1"] {
            assert!(stem(text).starts_with("P-1-") && stem(text).is_ascii(), "{}", stem(text));
        }
    }

    #[test]
    fn hostile_names_are_made_safe_and_stay_apart() {
        let long = "x".repeat(300);
        let longer = format!("{long}y");
        let texts = [
            "../../x",
            "..\\..\\x",
            "/etc/x",
            "x",
            "CON",
            "con.txt",
            "LPT1",
            "nul",
            "..",
            ".",
            "",
            " ",
            "-rf",
            "😀",
            "😁",
            "a/b",
            "a:b",
            "a\u{202e}b",
            "a\nb",
            "a\0b",
            "a?",
            "a*",
            "~",
            "$HOME",
            "%PATH%",
            &long,
            &longer,
            "COM¹",
            "x.",
            "com1.2",
            "P-1",
            "P 1",
            "P_1",
            "P--1",
            "P  1",
            "P -1",
            "P-1-",
            "1.2",
            "1..2",
            "-1",
        ];
        let mut names = FileNames::default();
        let mut seen = BTreeSet::new();
        for text in texts {
            let name = names.name(text, "png");
            assert!(seen.insert(name.to_lowercase()), "{text:?} has the name {name} of another");
            assert!(name.len() <= 143, "{name}");
            assert_eq!(std::path::Path::new(&name).file_name().and_then(|n| n.to_str()), Some(name.as_str()));
            assert!(name.starts_with(|c: char| c.is_alphanumeric()), "{name}");
        }
        assert_eq!(stem("../../x"), format!("x-{}", &sha256(b"../../x")[..8]));
        assert_eq!(stem("CON"), format!("CON-{}", &sha256(b"CON")[..8]));
        assert_eq!(stem("😀"), format!("winding-{}", &sha256("😀".as_bytes())[..8]));
    }

    #[test]
    fn a_name_is_given_once_whatever_its_case() {
        let mut names = FileNames::default();
        assert_eq!(names.name("P-1 stator", "png"), "P-1_stator.png");
        assert_eq!(names.name("p-1 STATOR", "png"), "p-1_STATOR-2.png");
        assert_eq!(names.name("P-1 stator", "png"), "P-1_stator-3.png");
        assert_eq!(names.name("P-1 stator", "svg"), "P-1_stator.svg");
    }

    proptest! {
        #[test]
        fn any_text_gives_a_name_that_stays_in_its_folder(text in "\\PC{0,40}|[./\\\\:CONnul0-9 ]{0,12}") {
            let name = stem(&text);
            prop_assert!(!name.is_empty() && name.len() <= LONGEST + 1 + DIGEST_DIGITS);
            prop_assert!(!name.contains(['/', '\\', ':', '*', '?', '"', '<', '>', '|', '\0']));
            prop_assert!(!name.starts_with(['.', '-', ' ']) && !name.ends_with(['.', ' ']));
            prop_assert!(!is_device(&name), "{}", name);
            prop_assert!(!DEVICES.contains(&name.split('.').next().unwrap_or_default().to_lowercase().as_str()));
            prop_assert!(name.chars().all(|c| !c.is_control()));
        }
    }
}
