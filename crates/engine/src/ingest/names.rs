//! When two names of windings are probably one.

use crate::legible::steers;
use unicode_normalization::UnicodeNormalization as _;

/// A name by its letters and digits: in one Unicode form (NFKC) and lower case, without blanks, marks and invisible characters,
/// numbers without leading zeros, letters of other alphabets as the Latin ones that look the same.
#[must_use]
pub(super) fn bare(name: &str) -> String {
    let mut bare = String::with_capacity(name.len());
    let mut number = String::new();
    for c in name.nfkc().chain([' ']) {
        if let Some(digit) = digit(c) {
            number.push(digit);
            continue;
        }
        if !number.is_empty() {
            // Two numbers in a row stay two: `1-01` is not `101`.
            let gap = if bare.ends_with(|c: char| c.is_ascii_digit()) { "-" } else { "" };
            bare.push_str(gap);
            let digits = number.trim_start_matches('0');
            bare.push_str(if digits.is_empty() { "0" } else { digits });
            number.clear();
        }
        if c == 'ß' {
            bare.push_str("ss");
        } else if c.is_alphanumeric() && !steers(c) {
            bare.extend(c.to_lowercase().filter(|c| c.is_alphanumeric()).map(latin));
        }
    }
    bare
}

/// A digit, written in Arabic or Indian figures too.
fn digit(c: char) -> Option<char> {
    const ZEROS: [char; 4] = ['0', '\u{660}', '\u{6f0}', '\u{966}'];
    ZEROS.into_iter().find_map(|zero| {
        let value = u32::from(c).checked_sub(u32::from(zero)).filter(|value| *value < 10)?;
        char::from_digit(value, 10)
    })
}

/// The small Latin letter whose capital looks like that of a Greek or Cyrillic letter; other characters as they are.
fn latin(c: char) -> char {
    const ALIKE: [(char, &str); 16] = [
        ('σ', "ς"),
        ('a', "аα"),
        ('b', "вβ"),
        ('c', "с"),
        ('e', "еε"),
        ('h', "нη"),
        ('i', "іι"),
        ('j', "ј"),
        ('k', "кκ"),
        ('m', "мμ"),
        ('o', "оο"),
        ('p', "рρ"),
        ('s', "ѕ"),
        ('t', "тτ"),
        ('x', "хχ"),
        ('y', "уυ"),
    ];
    ALIKE.iter().find(|(_, others)| others.contains(c)).map_or(c, |(latin, _)| *latin)
}

/// A name as it is read aloud: in one Unicode form (NFKC) and lower case, without blanks and invisible characters.
#[must_use]
pub(super) fn folded(name: &str) -> String {
    name.nfkc().filter(|c| !c.is_whitespace() && !steers(*c)).flat_map(char::to_lowercase).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_that_look_alike_are_alike() {
        for (one, other) in [
            ("P-101", "p 101"),
            ("P-07", "P-7"),
            ("Bru\u{308}cke 1", "Brücke 1"),
            ("M\u{200b}-1", "M-1"),
            ("M\u{a0}1", "M-1"),
            ("Ｐ－１", "P-1"),
            ("M²", "M2"),
            ("М-1", "M-1"),
            ("ΚΜ 7", "KM 7"),
            ("Straße 3", "STRASSE 3"),
            ("P\u{115f}-1", "P-1"),
            ("ΠΥΡΓΟΣ", "πυργος"),
            ("İ1", "i1"),
            ("P-١", "P-1"),
            ("P-१", "P-1"),
        ] {
            assert_eq!(bare(one), bare(other), "{one} {other}");
        }
        for (one, other) in [("1-01", "101"), ("P-1", "P-11"), ("Brücke", "Brucke"), ("0", "")] {
            assert_ne!(bare(one), bare(other), "{one} {other}");
        }
    }
}
