//! Compressed bytes, unpacked within limits.
//!
//! A few kilobytes can unpack to terabytes. What a file says about its own size is checked first, because that is cheap, and
//! what really comes out is counted as well, because a file can lie: no step writes more than its limit.

use crate::error::Failure;
use flate2::read::{DeflateDecoder, MultiGzDecoder};
use std::io::{self, Read};

/// Compressed text may unpack to this many bytes at most, and to [`GREATEST_RATIO`] times its own size.
pub const GREATEST_TEXT: u64 = 2 << 30;
/// A workbook's parts may unpack to this many times its own size together, and the cells of a sheet may take as many bytes
/// as text. Workbooks of test sheets shrink to a tenth or a twentieth.
const WORKBOOK_RATIO: u64 = 25;
/// Below this size the ratio does not matter.
const SMALL_WORKBOOK: u64 = 48 << 20;
/// However large a workbook is, its parts together and the cells of a sheet take no more than this.
const GREATEST_WORKBOOK: u64 = 512 << 20;
const GREATEST_SHEET: u64 = 256 << 20;
/// Text of test sheets shrinks to a fifth or a thirtieth; more than this many times is not a test sheet.
pub const GREATEST_RATIO: u64 = 200;
/// Below this size the ratio does not matter.
const SMALL: u64 = 16 << 20;

/// Unpacks gzip.
///
/// # Errors
///
/// A [`Failure`] when the bytes are damaged or unpack to more than the limit.
pub fn gunzip(file: &str, packed: &[u8]) -> Result<Vec<u8>, Failure> {
    let limit = GREATEST_TEXT.min((packed.len() as u64).saturating_mul(GREATEST_RATIO).max(SMALL));
    let mut bytes = Vec::new();
    MultiGzDecoder::new(packed).take(limit + 1).read_to_end(&mut bytes).map_err(|_| {
        Failure::usage(format!("{file}: the compressed data is damaged or cut short"))
            .hint("unpack it with another program, or fetch the file again")
    })?;
    if bytes.len() as u64 > limit { Err(too_large(file, limit)) } else { Ok(bytes) }
}

fn too_large(file: &str, limit: u64) -> Failure {
    Failure::usage(format!("{file}: this file unpacks to more than {} MiB; that is not done", limit >> 20))
        .hint("if it is a history all the same, unpack it, keep the sheet that is needed and give that as CSV")
}

fn damaged(file: &str, what: &str) -> Failure {
    Failure::usage(format!("{file}: this workbook is damaged: {what}"))
        .hint("open it in a spreadsheet program and save it again, or save the sheet as CSV in UTF-8")
}

/// One part of an archive, as its directory describes it.
#[derive(Clone, Copy, Debug)]
struct Part<'a> {
    name: &'a [u8],
    method: u16,
    packed: u64,
    unpacked: u64,
    place: u64,
}

/// Bytes that the parts of a workbook of so many bytes may unpack to.
fn greatest_workbook(length: usize) -> u64 {
    (length as u64).saturating_mul(WORKBOOK_RATIO).clamp(SMALL_WORKBOOK, GREATEST_WORKBOOK)
}

/// Bytes that the cells of a sheet in a workbook of so many bytes may take as text.
#[must_use]
pub fn greatest_sheet(length: usize) -> u64 {
    greatest_workbook(length).min(GREATEST_SHEET)
}

/// Names of the parts of a zip archive whose every part unpacks to what its directory says, and all within the limit.
///
/// # Errors
///
/// A [`Failure`] when the archive is damaged, lies about its sizes or unpacks to more than a workbook of its size may.
pub fn check_archive(file: &str, bytes: &[u8]) -> Result<Vec<String>, Failure> {
    let parts = directory(bytes).ok_or_else(|| damaged(file, "its directory cannot be read"))?;
    let total = parts.iter().fold(0_u64, |sum, part| sum.saturating_add(part.unpacked));
    let limit = greatest_workbook(bytes.len());
    if total > limit {
        return Err(too_large(file, limit));
    }
    for part in &parts {
        let data = data_of(bytes, part).ok_or_else(|| damaged(file, "a part lies outside the file"))?;
        let written = match part.method {
            0 => Ok(data.len() as u64),
            8 => io::copy(&mut DeflateDecoder::new(data).take(part.unpacked + 1), &mut io::sink()),
            _ => return Err(damaged(file, "a part is packed in a way that workbooks do not use")),
        };
        match written {
            Ok(written) if written == part.unpacked => {}
            Ok(_) => return Err(damaged(file, "a part unpacks to another size than its directory says")),
            Err(_) => return Err(damaged(file, "a part cannot be unpacked")),
        }
    }
    Ok(parts.iter().map(|part| String::from_utf8_lossy(part.name).into_owned()).collect())
}

/// The content of one part of an archive that [`check_archive`] has passed, unpacked as it is read.
#[must_use]
pub fn stream_of<'a>(bytes: &'a [u8], name: &str) -> Option<Box<dyn Read + 'a>> {
    let part = directory(bytes)?.into_iter().find(|part| part.name == name.as_bytes())?;
    let data = data_of(bytes, &part)?;
    Some(if part.method == 0 { Box::new(data) } else { Box::new(DeflateDecoder::new(data).take(part.unpacked)) })
}

/// The same as a whole.
#[must_use]
pub fn part_of(bytes: &[u8], name: &str) -> Option<Vec<u8>> {
    let mut unpacked = Vec::new();
    stream_of(bytes, name)?.read_to_end(&mut unpacked).ok()?;
    Some(unpacked)
}

fn number(bytes: &[u8], at: usize, width: usize) -> Option<u64> {
    let digits = bytes.get(at..at.checked_add(width)?)?;
    Some(digits.iter().rev().fold(0, |number, byte| number << 8 | u64::from(*byte)))
}

/// The central directory; APPNOTE.TXT of the zip format, sections 4.3.12 and 4.3.16.
fn directory(bytes: &[u8]) -> Option<Vec<Part<'_>>> {
    let from = bytes.len().saturating_sub(22 + 65_535);
    let end = from + bytes[from..].windows(4).rposition(|mark| mark == b"PK\x05\x06")?;
    let count = number(bytes, end + 10, 2)?;
    let mut at = usize::try_from(number(bytes, end + 16, 4)?).ok()?;
    let mut parts = Vec::new();
    for _ in 0..count {
        if bytes.get(at..at.checked_add(4)?)? != b"PK\x01\x02" {
            return None;
        }
        let field = |offset: usize, width: usize| number(bytes, at + offset, width);
        let name_length = usize::try_from(field(28, 2)?).ok()?;
        let extra_length = usize::try_from(field(30, 2)?).ok()?;
        let comment_length = usize::try_from(field(32, 2)?).ok()?;
        let extra = bytes.get(at + 46 + name_length..at + 46 + name_length + extra_length)?;
        let mut wide = wide_fields(extra);
        let mut value = |offset: usize| match field(offset, 4)? {
            0xffff_ffff => wide.next(),
            value => Some(value),
        };
        let unpacked = value(24)?;
        let packed = value(20)?;
        let place = value(42)?;
        parts.push(Part {
            name: bytes.get(at + 46..at + 46 + name_length)?,
            method: u16::try_from(field(10, 2)?).ok()?,
            packed,
            unpacked,
            place,
        });
        at += 46 + name_length + extra_length + comment_length;
    }
    Some(parts)
}

/// The sizes of eight bytes that stand where four do not suffice (extra field 1).
fn wide_fields(extra: &[u8]) -> impl Iterator<Item = u64> + '_ {
    let mut at = 0;
    let mut found: &[u8] = &[];
    while let (Some(kind), Some(length)) = (number(extra, at, 2), number(extra, at + 2, 2)) {
        let length = usize::try_from(length).unwrap_or(0);
        if kind == 1 {
            found = extra.get(at + 4..at + 4 + length).unwrap_or_default();
            break;
        }
        at += 4 + length;
    }
    found.chunks_exact(8).filter_map(|field| number(field, 0, 8))
}

fn data_of<'a>(bytes: &'a [u8], part: &Part<'_>) -> Option<&'a [u8]> {
    let place = usize::try_from(part.place).ok()?;
    if bytes.get(place..place.checked_add(4)?)? != b"PK\x03\x04" {
        return None;
    }
    let name = usize::try_from(number(bytes, place + 26, 2)?).ok()?;
    let extra = usize::try_from(number(bytes, place + 28, 2)?).ok()?;
    let start = place + 30 + name + extra;
    bytes.get(start..start.checked_add(usize::try_from(part.packed).ok()?)?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use flate2::Compression;
    use flate2::write::{DeflateEncoder, GzEncoder};
    use std::io::Write as _;

    fn deflated(length: usize) -> Vec<u8> {
        let mut encoder = DeflateEncoder::new(Vec::new(), Compression::best());
        let _ = encoder.write_all(&vec![b'0'; length]);
        encoder.finish().unwrap_or_default()
    }

    /// An archive of one part whose directory says what it likes.
    fn archive(data: &[u8], says: u32) -> Vec<u8> {
        let packed = u32::try_from(data.len()).unwrap_or(0).to_le_bytes();
        let says = says.to_le_bytes();
        let mut bytes = [&b"PK\x03\x04\x14\0\0\0\x08\0"[..], &[0; 8], &packed, &says, b"\x01\0\0\0a", data].concat();
        let start = u32::try_from(bytes.len()).unwrap_or(0).to_le_bytes();
        let part =
            [&b"PK\x01\x02\x14\0\x14\0\0\0\x08\0"[..], &[0; 8], &packed, &says, b"\x01\0\0\0\0\0", &[0; 12], b"a"];
        bytes.extend(part.concat());
        bytes.extend([&b"PK\x05\x06\0\0\0\0\x01\0\x01\0"[..], &47_u32.to_le_bytes(), &start, b"\0\0"].concat());
        bytes
    }

    fn refusal(bytes: &[u8]) -> String {
        check_archive("a.xlsx", bytes).err().map(|failure| failure.problems()[0].message.clone()).unwrap_or_default()
    }

    #[test]
    fn an_archive_that_says_it_is_too_large_is_refused_and_one_that_lies_too() {
        let data = deflated(20_000_000);
        assert_eq!(check_archive("a.xlsx", &archive(&data, 20_000_000)), Ok(vec!["a".to_owned()]));
        assert_eq!(
            refusal(&archive(&data, 4_000_000_000)),
            "a.xlsx: this file unpacks to more than 48 MiB; that is not done"
        );
        assert_eq!(
            refusal(&archive(&data, 1000)),
            "a.xlsx: this workbook is damaged: a part unpacks to another size than its directory says"
        );
        assert_eq!(refusal(b"PK\x03\x04"), "a.xlsx: this workbook is damaged: its directory cannot be read");
        let whole = archive(&data, 20_000_000);
        for end in 0..whole.len() {
            let _ = check_archive("a.xlsx", &whole[end..]);
        }
    }

    #[test]
    fn gzip_is_unpacked_up_to_its_limit() {
        let packed = |length: usize| {
            let mut encoder = GzEncoder::new(Vec::new(), Compression::best());
            let _ = encoder.write_all(&vec![b'0'; length]);
            encoder.finish().unwrap_or_default()
        };
        assert_eq!(gunzip("a.csv.gz", &packed(1000)).map(|bytes| bytes.len()), Ok(1000));
        let refused = gunzip("a.csv.gz", &packed(64 << 20)).err().map(|failure| failure.problems()[0].message.clone());
        assert_eq!(refused.as_deref(), Some("a.csv.gz: this file unpacks to more than 16 MiB; that is not done"));
        let cut = gunzip("a.csv.gz", &packed(1000)[..12]).err().map(|failure| failure.to_string());
        assert_eq!(
            cut.as_deref(),
            Some(
                "a.csv.gz: the compressed data is damaged or cut short\n\
                 hint: unpack it with another program, or fetch the file again"
            )
        );
    }
}
