//! Which result of this program a file is. The next result of the same kind may replace it; anything else may be the only copy there is.

use groundwall_engine::output::workbook;
use std::fs;
use std::io::{self, Read as _};
use std::path::Path;

/// So much of a file is looked at.
const HEAD: u64 = 1 << 14;

/// How the list in columns begins; where people add a column, its first line is another.
const LIST: &str = "winding,motor,connection,scope,site,area,description,";

/// Whether a file is empty, or a result of the same kind as the new one, as far as can be seen as it was written.
///
/// # Errors
///
/// When one of them cannot be read.
pub fn may_be_replaced(old: &Path, new: &Path) -> io::Result<bool> {
    let kind = kind_of(old)?;
    Ok(kind.as_deref() == Some("") || (kind.is_some() && kind == kind_of(new)?))
}

/// The kind of a result, colours left out; empty for an empty file and none for what is not a result. Pictures, papers, pages and workbooks say
/// which program made them, JSON names its schema, and tables of typed columns have a column of ours. A round is not a result, because people
/// fill it in.
fn kind_of(path: &Path) -> io::Result<Option<String>> {
    let mut head = Vec::new();
    fs::File::open(path)?.take(HEAD).read_to_end(&mut head)?;
    let text = without_colors(&String::from_utf8_lossy(&head));
    let first = text.lines().next().unwrap_or_default();
    let has = |bytes: &[u8], part: &[u8]| bytes.windows(part.len()).any(|found| found == part);
    let after = |mark: &str| text.split_once(mark).and_then(|(_, rest)| rest.lines().next());
    let is = |kind: &str, is: bool| is.then(|| kind.to_owned());
    Ok(match &head[..] {
        [] => Some(String::new()),
        [b'P', b'K', ..] => is("workbook", workbook::is_result(&fs::read(path)?)),
        [b'%', b'P', b'D', b'F', ..] => is("paper", has(&fs::read(path)?, b"/Producer (groundwall ")),
        [b'P', b'A', b'R', b'1', ..] => is("Parquet", has(&fs::read(path)?, b"latest_r60_ref_mohm")),
        [b'A', b'R', b'R', b'O', b'W', b'1', ..] => is("Arrow", has(&fs::read(path)?, b"latest_r60_ref_mohm")),
        [0x89, b'P', b'N', b'G', ..] => is("picture", has(&head, b"tEXtSoftware\0groundwall")),
        _ if text.starts_with('{') => {
            after("\n  \"schema\": \"groundwall/").map(|rest| rest.trim_end_matches(['"', ',']).to_owned())
        }
        _ if text.starts_with("<!DOCTYPE html>") => {
            let title = after("<title>").filter(|_| text.contains("<meta name=\"generator\" content=\"groundwall "));
            title.map(|title| title.split(|c: char| c.is_ascii_digit()).next().unwrap_or_default().to_owned())
        }
        _ if text.starts_with("<svg ") => is("drawing", text.contains(" data-program=\"groundwall ")),
        _ if text.starts_with(LIST) => Some(first.to_owned()),
        _ if text.starts_with("The plant was judged again at ") => Some("replay".to_owned()),
        _ if first.starts_with("From ") && first.contains(" to ") && first.contains(" more urgent") => {
            Some("comparison".to_owned())
        }
        _ if first.starts_with("Action ") && first.contains(" Winding ") && first.contains(" Found") => {
            Some("table".to_owned())
        }
        _ if text.contains("\nThe stretch that the trend is fitted to") => Some("account".to_owned()),
        _ => after("\n.TH groundwall").map(|page| format!("manual{}", page.split(' ').next().unwrap_or_default())),
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
    fn a_result_is_replaced_by_one_of_its_own_kind_alone() {
        let folder = tempfile::tempdir().unwrap();
        let [old, new] = ["old", "new"].map(|name| folder.path().join(name));
        let may = |before: &[u8], after: &[u8]| {
            fs::write(&old, before).unwrap();
            fs::write(&new, after).unwrap();
            may_be_replaced(&old, &new).unwrap()
        };
        for theirs in [
            &b"winding,tested_on,r_60s\n"[..],
            b"Call the shop.",
            b"{\"a\": 1}",
            b"{\n  \"mine\": {\n    \"schema\": \"groundwall/replay/1\"",
            b"PK",
            b"<!DOCTYPE html>",
            b"<!DOCTYPE html>\n<title>What groundwall says</title>",
            b"From 2024 to 2025",
            b"%PDF-1.7",
            b"<svg xmlns=\"http://www.w3.org/2000/svg\">",
            b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR",
        ] {
            assert!(!may(theirs, theirs), "{}", String::from_utf8_lossy(theirs));
        }
        let ours = [
            &b"%PDF-1.7 /Producer (groundwall "[..],
            b"\x1b[1mAction      Winding  R60  Found",
            b"{\n  \"schema\": \"groundwall/replay/1\",\n",
            b"{\n  \"schema\": \"groundwall/priors/1\"\n",
            b"winding,motor,connection,scope,site,area,description,action\n",
            b"winding,motor,connection,scope,site,area,description,action,mine\n",
            b".ie\n.TH groundwall-add 1",
            b".ie\n.TH groundwall-spot 1",
            b"<!DOCTYPE html>\n<meta name=\"generator\" content=\"groundwall 1\">\n<title>Winding insulation as of 2",
            b"<!DOCTYPE html>\n<meta name=\"generator\" content=\"groundwall 1\">\n<title>Round of winding tests until 2",
        ];
        for before in ours {
            for after in ours {
                assert_eq!(may(before, after), before == after, "{}", String::from_utf8_lossy(before));
            }
            assert!(may(b"", before));
        }
    }
}
