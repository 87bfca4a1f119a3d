//! The bytes of one input and what can be said of them before they are read as rows.

use super::workbook::is_workbook;
use crate::error::Failure;
use encoding_rs::{Encoding, UTF_8};
use sha2::{Digest, Sha256};
use std::ffi::OsString;
use std::fmt::{self, Write as _};
use std::fs::File;
use std::io::{self, Cursor, Read};
use std::path::{Path, PathBuf};

/// A place that rows are read from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Input {
    /// Standard input, written `-`.
    Stdin,
    /// A file.
    File(PathBuf),
}

impl From<OsString> for Input {
    fn from(text: OsString) -> Self {
        if text == "-" { Self::Stdin } else { Self::File(text.into()) }
    }
}

impl fmt::Display for Input {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Stdin => f.write_str("standard input"),
            Self::File(path) => write!(f, "{}", path.display()),
        }
    }
}

impl Input {
    /// Reads all of it.
    ///
    /// # Errors
    ///
    /// A [`Failure`] with the path and what to do; for a missing file also the name most like it.
    pub fn read(&self) -> Result<Vec<u8>, Failure> {
        let outcome = match self {
            Self::Stdin => {
                let mut bytes = Vec::new();
                io::stdin().lock().read_to_end(&mut bytes).map(|_| bytes)
            }
            Self::File(path) if path.is_dir() => Err(io::ErrorKind::IsADirectory.into()),
            Self::File(path) => std::fs::read(path),
        };
        outcome.map_err(|error| {
            let failure = Failure::unreadable(&self.to_string(), &error);
            match self {
                Self::File(path) if error.kind() == io::ErrorKind::NotFound => match closest_file(path) {
                    Some(name) => failure.hint(format!("the most similar name in that folder is {name}")),
                    None => failure,
                },
                _ => failure,
            }
        })
    }
}

/// The name in the same folder that is most like the one asked for, where one is like it.
fn closest_file(path: &Path) -> Option<String> {
    let wanted = path.file_name()?.to_str()?;
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let names: Vec<String> =
        std::fs::read_dir(folder).ok()?.take(1000).filter_map(|e| e.ok()?.file_name().into_string().ok()).collect();
    closest(wanted, names.iter().map(String::as_str), 0.85).first().map(|name| (*name).to_owned())
}

/// Those of `names` that are at least `least` like `wanted` (1 is equal), best first.
pub(crate) fn closest<'a>(wanted: &str, names: impl Iterator<Item = &'a str>, least: f64) -> Vec<&'a str> {
    let wanted = wanted.to_lowercase();
    let mut scored: Vec<(f64, &str)> = names
        .map(|name| (strsim::jaro_winkler(&wanted, &name.to_lowercase()), name))
        .filter(|(score, _)| *score >= least)
        .collect();
    scored.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.cmp(b.1)));
    scored.into_iter().map(|(_, name)| name).collect()
}

/// SHA-256 of the bytes, in lower-case hexadecimal.
#[must_use]
pub fn sha256(bytes: &[u8]) -> String {
    hexadecimal(&Sha256::digest(bytes))
}

/// Bytes as hexadecimal digits.
pub(crate) fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().fold(String::with_capacity(2 * bytes.len()), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

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
    if start.iter().filter(|byte| **byte == 0).count() * 10 > start.len() {
        return Err(Failure::usage(format!("{file}: this file is not text and not a workbook"))
            .hint("give a CSV file or a workbook (.xlsx, .xls, .ods); --encoding names the encoding of unusual text"));
    }
    Ok(())
}

/// The inputs with patterns such as `round-*.csv` replaced by the files they fit, in order of name. A file that bears such a
/// name itself goes before the pattern.
///
/// # Errors
///
/// A [`Failure`] when a pattern fits no file.
pub fn expand(inputs: &[Input]) -> Result<Vec<Input>, Failure> {
    let mut found = Vec::new();
    for input in inputs {
        let pattern = match input {
            Input::File(path) if !path.exists() => path.to_str().filter(|text| text.contains(['*', '?', '['])),
            _ => None,
        };
        let Some(pattern) = pattern else {
            found.push(input.clone());
            continue;
        };
        let fitting = glob::glob(pattern).map_err(|error| {
            Failure::usage(format!("{pattern}: this pattern cannot be read: {}", error.msg))
                .hint("* stands for any part of a name, ? for one character, [ab] for one of several")
        })?;
        let mut files: Vec<PathBuf> = fitting.filter_map(Result::ok).filter(|path| path.is_file()).collect();
        if files.is_empty() {
            return Err(Failure::usage(format!("{pattern}: no file fits this pattern"))
                .hint("check the folder and the ending; * stands for any part of a name"));
        }
        files.sort();
        found.extend(files.into_iter().map(Input::File));
    }
    Ok(found)
}

/// Files from this size on are read piece by piece, if they are plain text.
const LARGE: u64 = 1 << 24;
/// The first bytes, in which the layout of a text shows.
const HEAD: u64 = 1 << 22;

/// Whether a file is so large that it should not be held whole, and text in UTF-8 as far as its first bytes tell.
#[must_use]
pub fn is_large_plain_text(path: &Path, encoding: Option<&'static Encoding>) -> bool {
    let large = std::fs::metadata(path).is_ok_and(|found| found.is_file() && found.len() >= LARGE);
    let mut head = Vec::new();
    large
        && encoding.is_none_or(|encoding| encoding == UTF_8)
        && File::open(path).and_then(|file| file.take(4096).read_to_end(&mut head)).is_ok()
        && !head.contains(&0)
        && !head.starts_with(b"\x1f\x8b")
        && !is_workbook(&head)
        && Encoding::for_bom(&head).is_none_or(|(encoding, _)| encoding == UTF_8)
}

/// A file that is read piece by piece.
pub struct LargeFile {
    head: Vec<u8>,
    rest: File,
}

impl LargeFile {
    /// Opens it and reads its head.
    ///
    /// # Errors
    ///
    /// Whatever the system says.
    pub fn open(path: &Path) -> io::Result<Self> {
        let mut rest = File::open(path)?;
        let mut head = Vec::new();
        rest.by_ref().take(HEAD).read_to_end(&mut head)?;
        Ok(Self { head, rest })
    }

    /// Its first bytes.
    #[must_use]
    pub fn head(&self) -> &[u8] {
        &self.head
    }

    /// All of it, from the start.
    #[must_use]
    pub fn into_text(self) -> impl Read + Send {
        Cursor::new(self.head).chain(self.rest)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_digest_of_abc_is_the_published_one() {
        // FIPS 180-2, appendix B.1.
        assert_eq!(sha256(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }

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

    #[test]
    fn a_pattern_that_fits_nothing_is_said() {
        let inputs = [Input::File("no-such-folder/*.csv".into())];
        assert_eq!(
            expand(&inputs).err().map(|failure| failure.to_string()).as_deref(),
            Some(
                "no-such-folder/*.csv: no file fits this pattern\n\
                 hint: check the folder and the ending; * stands for any part of a name"
            )
        );
        assert_eq!(expand(&[Input::Stdin]), Ok(vec![Input::Stdin]));
    }

    #[test]
    fn the_most_similar_name_comes_first() {
        let names = ["notes.txt", "plant-b.csv", "plant.csv"];
        assert_eq!(closest("plnt.csv", names.into_iter(), 0.85), ["plant.csv", "plant-b.csv"]);
    }
}
