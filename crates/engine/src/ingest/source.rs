//! What can be said of the bytes of an input before they are read as rows.

use super::columnar::is_columnar;
use super::workbook::is_workbook;
use crate::error::Failure;
use encoding_rs::{Encoding, UTF_8};
use std::io::{self, Read};

/// The first bytes, in which the layout of a text shows.
pub(super) const HEAD: u64 = 1 << 22;

/// Refuses files of another kind that their first bytes give away, with the way to a table.
///
/// # Errors
///
/// A [`Failure`] that names what the file is.
pub fn must_be_a_table(file: &str, bytes: &[u8]) -> Result<(), Failure> {
    const PICTURES: [&[u8]; 5] = [b"\x89PNG", b"\xff\xd8\xff", b"GIF8", b"II*\0", b"MM\0*"];
    let bare = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes).trim_ascii_start();
    let begins = |word: &[u8]| bare.get(..word.len()).is_some_and(|start| start.eq_ignore_ascii_case(word));
    let (what, hint) = if PICTURES.iter().any(|mark| bytes.starts_with(mark)) {
        ("a picture", "give the table itself, as a CSV file or a workbook (.xlsx, .xls, .ods)")
    } else if bytes.starts_with(b"%PDF") {
        ("a PDF document", "give the table itself, as a CSV file or a workbook (.xlsx, .xls, .ods)")
    } else if begins(b"<!doctype html") || begins(b"<html") {
        ("a web page", "open it with a spreadsheet program and save the table as CSV or as a workbook (.xlsx, .ods)")
    } else if is_json(bare) {
        ("JSON", "give the rows as a CSV file or a workbook (.xlsx, .xls, .ods), one row per test")
    } else {
        return Ok(());
    };
    Err(Failure::usage(format!("{file}: this is {what}, no table")).hint(hint))
}

/// Whether a text begins as JSON does: an object, or a list of objects or lists. A title may stand between brackets.
fn is_json(text: &[u8]) -> bool {
    let next = text.get(1..).unwrap_or_default().trim_ascii_start().first();
    match text.first() {
        Some(b'{') => matches!(next, Some(b'"' | b'}')),
        Some(b'[') => matches!(next, Some(b'{' | b'[')),
        _ => false,
    }
}

/// Refuses bytes that are not text, with the way to make them so.
///
/// # Errors
///
/// A [`Failure`] that names what the bytes are.
pub fn must_be_text(file: &str, bytes: &[u8]) -> Result<(), Failure> {
    if bytes.iter().all(u8::is_ascii_whitespace) {
        return Err(Failure::usage(format!("{file}: the file is empty"))
            .hint("the first line names the columns, such as winding,tested_on,r_60s; one row per test follows"));
    }
    must_be_a_table(file, bytes)?;
    let start = &bytes[..bytes.len().min(4096)];
    if start.iter().filter(|byte| **byte == 0).count() * 10 > start.len() { Err(not_text(file)) } else { Ok(()) }
}

fn not_text(file: &str) -> Failure {
    Failure::usage(format!("{file}: this file is not text and not a workbook"))
        .hint("give a CSV file or a workbook (.xlsx, .xls, .ods); --encoding names the encoding of unusual text")
}

/// Reads all of an input. It stops where zero bytes alone follow for a whole chunk, because a file with a hole in it can be
/// larger than any memory, and at the most that is held.
///
/// # Errors
///
/// That of the reader, or a [`Failure`] that says what the input is.
pub fn read_all(file: &str, mut input: impl Read) -> io::Result<Result<Vec<u8>, Failure>> {
    let mut bytes = Vec::new();
    loop {
        let before = bytes.len();
        input.by_ref().take(CHUNK).read_to_end(&mut bytes)?;
        let new = &bytes[before..];
        if new.is_empty() {
            return Ok(Ok(bytes));
        }
        if new.len() as u64 == CHUNK && new.iter().all(|byte| *byte == 0) {
            return Ok(Err(not_text(file)));
        }
        if bytes.len() as u64 > MAX_HELD {
            return Ok(Err(Failure::usage(format!("{file}: this input has more than {} GiB", MAX_HELD >> 30))
                .hint("give it as a file of text in UTF-8, which is read in chunks, or in several parts")));
        }
    }
}

/// So many bytes are read before they are looked at. No workbook or compressed text has so many zeros in a row.
const CHUNK: u64 = 1 << 22;
/// Input that is not a file of plain text is held in memory, up to so many bytes.
const MAX_HELD: u64 = 4 << 30;

/// Whether these first bytes are those of plain text in UTF-8, which can be read in chunks.
#[must_use]
pub fn is_plain_text(head: &[u8], encoding: Option<&'static Encoding>) -> bool {
    encoding.is_none_or(|encoding| encoding == UTF_8)
        && !head.contains(&0)
        && !head.starts_with(b"\x1f\x8b")
        && !is_workbook(head)
        && !is_columnar(head)
        && Encoding::for_bom(head).is_none_or(|(encoding, _)| encoding == UTF_8)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_text_is_told_what_it_is() {
        for (bytes, message) in
            [(&b" \r\n"[..], "a: the file is empty"), (b"winding\0", "a: this file is not text and not a workbook")]
        {
            let failure = must_be_text("a", bytes).err();
            assert_eq!(failure.map(|f| f.problems()[0].message.clone()), Some(message.to_owned()));
        }
        assert_eq!(must_be_text("a", b"winding\n"), Ok(()));
    }

    #[test]
    fn what_is_no_table_is_told_by_its_first_bytes() {
        for (bytes, what) in [
            (&b"\x89PNG\r\n\x1a\n"[..], Some("a picture")),
            (b"\xff\xd8\xff\xe0", Some("a picture")),
            (b"%PDF-1.7", Some("a PDF document")),
            (b"\xef\xbb\xbf\n <!DOCTYPE HTML>", Some("a web page")),
            (b"<html lang=\"en\">", Some("a web page")),
            (b"{\n  \"schema\": 1}", Some("JSON")),
            (b"[\n[1]]", Some("JSON")),
            (b"[Pump house], 2026\nwinding", None),
            (b"{Pump house}\nwinding", None),
            (b"<0.1", None),
            (b"winding,tested_on", None),
        ] {
            let said = must_be_a_table("f", bytes).err().map(|failure| failure.problems()[0].message.clone());
            assert_eq!(said, what.map(|what| format!("f: this is {what}, no table")));
        }
    }
}
