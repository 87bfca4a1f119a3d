//! Bytes of any usual encoding as text in UTF-8. Text that is UTF-8 already is handed through without a copy.

use crate::error::Failure;
use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};

/// Text in UTF-8, and the name of the encoding it was turned from, if it was.
#[derive(Clone, Debug, PartialEq)]
pub struct Text {
    /// The text; rows that are not UTF-8 after all are refused one by one later.
    pub bytes: Vec<u8>,
    /// What it was written in, if not in UTF-8.
    pub turned_from: Option<&'static str>,
}

/// Turns bytes into text.
///
/// A byte-order mark decides; then a zero in every second byte of the start (UTF-16 without a mark); then whether all is
/// valid UTF-8. Bytes that are not, in a file without a single character of UTF-8, are Windows-1252; where both are mixed the
/// file stays as it is, and the rows that cannot be read are refused.
///
/// # Errors
///
/// A [`Failure`] where the bytes do not fit the encoding that was asked for.
pub fn decode(file: &str, bytes: Vec<u8>, given: Option<&'static Encoding>) -> Result<Text, Failure> {
    let encoding = given.unwrap_or_else(|| detect(&bytes));
    if encoding == UTF_8 {
        return Ok(Text { bytes, turned_from: None });
    }
    let (text, damaged) = encoding.decode_with_bom_removal(&bytes);
    if damaged {
        let message = format!("{file}: this file is not text in {}", encoding.name());
        return Err(Failure::usage(message).hint("leave --encoding out, or save the file as CSV in UTF-8"));
    }
    Ok(Text { bytes: text.into_owned().into_bytes(), turned_from: Some(encoding.name()) })
}

fn detect(bytes: &[u8]) -> &'static Encoding {
    if let Some((encoding, _)) = Encoding::for_bom(bytes) {
        return encoding;
    }
    match bytes {
        [a, 0, b, 0, ..] if *a != 0 && *b != 0 => return UTF_16LE,
        [0, a, 0, b, ..] if *a != 0 && *b != 0 => return UTF_16BE,
        _ => {}
    }
    match std::str::from_utf8(bytes) {
        Ok(_) => UTF_8,
        Err(_) if has_utf_8(bytes) => UTF_8,
        Err(_) => WINDOWS_1252,
    }
}

/// Whether there is a character of several bytes in UTF-8.
fn has_utf_8(bytes: &[u8]) -> bool {
    bytes.utf8_chunks().any(|chunk| !chunk.valid().is_ascii())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn encodings_are_told_apart() {
        let wide = |text: &str, little: bool| -> Vec<u8> {
            text.encode_utf16().flat_map(|unit| if little { unit.to_le_bytes() } else { unit.to_be_bytes() }).collect()
        };
        for (bytes, text, from) in [
            (b"a,5 M\xce\xa9".to_vec(), "a,5 MΩ", None),
            (b"Br\xfccke".to_vec(), "Brücke", Some("windows-1252")),
            (wide("\u{feff}a,Ω", true), "a,Ω", Some("UTF-16LE")),
            (wide("\u{feff}a,Ω", false), "a,Ω", Some("UTF-16BE")),
            (wide("a,Ω", true), "a,Ω", Some("UTF-16LE")),
            (wide("a,Ω", false), "a,Ω", Some("UTF-16BE")),
        ] {
            let expected = Text { bytes: text.as_bytes().to_vec(), turned_from: from };
            assert_eq!(decode("a", bytes, None), Ok(expected), "{text}");
        }
        let mixed = b"\xce\xa9 and \xfc".to_vec();
        assert_eq!(decode("a", mixed.clone(), None), Ok(Text { bytes: mixed, turned_from: None }));
    }

    #[test]
    fn the_given_encoding_goes_before_the_detected_one() {
        let text = decode("a", b"\xc3\xbc".to_vec(), Some(WINDOWS_1252)).map(|text| text.bytes);
        assert_eq!(text, Ok("Ã¼".as_bytes().to_vec()));
        let refused =
            decode("a.csv", b"\x00\xd8\x41\x00".to_vec(), Some(UTF_16LE)).map_err(|failure| failure.to_string());
        assert_eq!(
            refused.err().as_deref(),
            Some(
                "a.csv: this file is not text in UTF-16LE\n\
                 hint: leave --encoding out, or save the file as CSV in UTF-8"
            )
        );
    }
}
