//! How delimited text is laid out.

/// How a file is laid out, so that a part of it can be written the same way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Layout {
    /// What parts the cells.
    pub delimiter: u8,
    /// Whether lines end with CR LF.
    pub crlf: bool,
    /// Whether the file starts with a byte-order mark.
    pub bom: bool,
}

/// Delimiters that are recognised.
pub const DELIMITERS: [u8; 3] = [b',', b';', b'\t'];
/// The header is looked for among so many rows.
pub const HEADER_WITHIN: usize = 40;
/// A header is not longer than this many bytes.
const LONGEST_HEADER: usize = 1 << 16;
pub(super) const BOM: &[u8] = b"\xef\xbb\xbf";

impl Layout {
    /// Finds the layout from the first lines that are not blank, among which the header stands.
    ///
    /// `known` says whether a cell is a column name that is understood: the delimiter that gives most of those in one line is
    /// taken, and among equals the one that gives most cells.
    #[must_use]
    pub fn detect(bytes: &[u8], given: Option<u8>, known: impl Fn(&str) -> bool) -> Self {
        let bom = bytes.starts_with(BOM);
        let text = &bytes[if bom { BOM.len() } else { 0 }..];
        let lines = text.split(|byte| matches!(byte, b'\r' | b'\n')).filter(|line| !line.trim_ascii().is_empty());
        let first: Vec<_> = lines.take(HEADER_WITHIN).map(|line| &line[..line.len().min(LONGEST_HEADER)]).collect();
        let first: Vec<_> = first.into_iter().map(String::from_utf8_lossy).collect();
        let weight = |delimiter: &u8| {
            let cells = |line: &str| {
                let cells = line.split(char::from(*delimiter)).map(|cell| cell.trim().trim_matches('"'));
                (cells.clone().filter(|cell| known(cell)).count(), cells.count())
            };
            (first.iter().map(|line| cells(line)).max(), *delimiter == b',')
        };
        let delimiter = given.unwrap_or_else(|| DELIMITERS.into_iter().max_by_key(weight).unwrap_or(b','));
        let crlf = text.iter().position(|b| *b == b'\n').is_some_and(|at| at > 0 && text[at - 1] == b'\r');
        Self { delimiter, crlf, bom }
    }

    /// The line ending.
    #[must_use]
    pub const fn line_end(self) -> &'static str {
        if self.crlf { "\r\n" } else { "\n" }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_delimiter_is_the_one_that_names_columns() {
        let known = |cell: &str| matches!(cell, "winding" | "tested_on");
        for (text, delimiter) in [
            ("winding,tested_on", b','),
            ("winding;\"tested_on\";a,b,c,d", b';'),
            ("\u{feff}\n\nwinding\ttested_on", b'\t'),
            ("a;b;c", b';'),
            ("winding", b','),
        ] {
            assert_eq!(Layout::detect(text.as_bytes(), None, known).delimiter, delimiter, "{text}");
        }
        assert_eq!(Layout::detect(b"a,b", Some(b';'), known).delimiter, b';');
        assert!(Layout::detect(b"\xef\xbb\xbfa\r\nb", None, known).crlf);
    }
}
