//! Whether a file is a result of this program, which the next result may replace. Anything else may be the only copy there is.

use groundwall_engine::output::workbook;
use std::fs;
use std::io::{self, Read as _};
use std::path::Path;

/// So much of a file is looked at.
const HEAD: u64 = 1 << 14;

/// How lists begin, colours left out. Pictures, papers and workbooks say which program made them, JSON names its kind, and tables of typed
/// columns have a column of ours.
const BEGINS: [&[u8]; 2] = [b"winding,motor,connection,scope,site,area,description,", b"The plant was judged anew at "];

/// Whether a file is empty, or a result as its first bytes have it.
///
/// # Errors
///
/// When it cannot be read.
pub fn is_result(path: &Path) -> io::Result<bool> {
    let mut head = Vec::new();
    fs::File::open(path)?.take(HEAD).read_to_end(&mut head)?;
    let text = without_colors(&String::from_utf8_lossy(&head));
    let first = text.lines().next().unwrap_or_default();
    let has = |bytes: &[u8], part: &[u8]| bytes.windows(part.len()).any(|found| found == part);
    Ok(head.is_empty()
        || BEGINS.iter().any(|begin| head.starts_with(begin) || text.as_bytes().starts_with(begin))
        || (text.starts_with('{') && text.contains("\"schema\": \"groundwall/"))
        || (text.starts_with("<!DOCTYPE html>") && text.contains("groundwall"))
        || (first.starts_with("Action ") && first.contains(" Winding ") && first.contains(" Found"))
        || (first.starts_with("From ") && first.contains(" to ") && first.contains(" more urgent"))
        || (text.starts_with("<svg ") && text.contains(" data-program=\"groundwall "))
        || (head.starts_with(b"\x89PNG\r\n\x1a\n") && has(&head, b"tEXtSoftware\0groundwall"))
        || text.contains("\nThe stretch that the trend is fitted to")
        || match &head[..] {
            [b'P', b'K', ..] => workbook::is_ours(&fs::read(path)?),
            [b'%', b'P', b'D', b'F', ..] => has(&fs::read(path)?, b"/Producer (groundwall "),
            [b'P', b'A', b'R', b'1', ..] | [b'A', b'R', b'R', b'O', b'W', b'1', ..] => {
                has(&fs::read(path)?, b"latest_r60_ref_mohm")
            }
            _ => false,
        })
}

/// A text without the sequences by which lines are bold.
fn without_colors(text: &str) -> String {
    groundwall_engine::legible::BOLD.iter().fold(text.to_owned(), |text, bold| text.replace(bold, ""))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]
mod tests {
    use super::*;

    #[test]
    fn what_people_write_is_no_result() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a");
        let is = |bytes: &[u8]| {
            fs::write(&path, bytes).unwrap();
            is_result(&path).unwrap()
        };
        for theirs in [
            &b"winding,tested_on,r_60s\n"[..],
            b"Call the shop.",
            b"{\"a\": 1}",
            b"PK",
            b"<!DOCTYPE html>",
            b"From 2024 to 2025",
            b"%PDF-1.7",
            b"<svg xmlns=\"http://www.w3.org/2000/svg\">",
            b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR",
        ] {
            assert!(!is(theirs), "{}", String::from_utf8_lossy(theirs));
        }
        for ours in [
            &b""[..],
            b"%PDF-1.7 /Producer (groundwall ",
            b"\x1b[1mAction      Winding  R60  Found",
            b"{\n  \"schema\": \"groundwall/replay/1\"",
        ] {
            assert!(is(ours), "{}", String::from_utf8_lossy(ours));
        }
    }
}
