//! Text that leaves for people at a terminal: what could steer the terminal, or hide or turn text round, is shown as text.
//!
//! Names and notes come from files. A control sequence in one of them could clear the screen or write a verdict of its own; a
//! mark that turns the direction round could make two names look alike. Data for programs (JSON, CSV, workbooks) keep every
//! character.
//!
//! # References
//!
//! Unicode Standard, chapter 23 (control codes, directional and zero-width characters) and its property
//! `Default_Ignorable_Code_Point` (`DerivedCoreProperties.txt`, from memory); Unicode Technical Report 36, section 2.

use std::io::{self, Write};

/// Bold on and off: all that this program itself ever sends to a terminal.
pub const BOLD: [&str; 2] = ["\u{1b}[1m", "\u{1b}[0m"];

/// What takes the place of a cell of a workbook that holds an error or cannot be read. Nobody types its last character.
pub(crate) const UNREADABLE: &str = "unreadable\u{7f}";

/// Whether a character must be shown as an escape: one that controls or is invisible, such as the blank of Braille, or one that is not
/// assigned, or of private use. Line ends and tabs need none.
#[must_use]
pub fn steers(c: char) -> bool {
    c.is_control() && !matches!(c, '\n' | '\t')
        || matches!(c,
            '\u{ad}' | '\u{34f}' | '\u{61c}' | '\u{115f}' | '\u{1160}' | '\u{17b4}' | '\u{17b5}' | '\u{180b}'..='\u{180f}'
            | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{2800}' | '\u{3164}' | '\u{fe00}'..='\u{fe0f}'
            | '\u{feff}' | '\u{ffa0}' | '\u{fff0}'..='\u{fffb}' | '\u{1bca0}'..='\u{1bca3}' | '\u{1d173}'..='\u{1d17a}'
            | '\u{e000}'..='\u{f8ff}' | '\u{fdd0}'..='\u{fdef}' | '\u{e0000}'..='\u{e0fff}' | '\u{f0000}'..='\u{10ffff}')
        || u32::from(c) & 0xfffe == 0xfffe
}

/// The text with every character that [`steers`] shown as an escape, such as `\u{1b}`.
#[must_use]
pub fn legible(text: &str) -> String {
    let mut shown = String::with_capacity(text.len());
    for c in text.chars() {
        if steers(c) { shown.extend(c.escape_default()) } else { shown.push(c) }
    }
    shown
}

/// The text on one line, for pictures, pages and tables: blanks instead of control characters, and what [`steers`] shown as an escape.
#[must_use]
pub fn clean(text: &str) -> String {
    let allowed = |c: char| match c {
        '\u{fffe}' | '\u{ffff}' => None,
        c if c.is_control() || c.is_whitespace() => Some(' '),
        c => Some(c),
    };
    legible(&text.chars().filter_map(allowed).take(2000).collect::<String>())
        .split(' ')
        .filter(|word| !word.is_empty())
        .fold(String::new(), |mut line, word| {
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
            line
        })
}

/// JSON in which every character that [`steers`] is escaped as JSON escapes it, so that it says the same.
#[must_use]
pub fn legible_json(json: &str) -> String {
    let mut shown = String::with_capacity(json.len());
    for c in json.chars() {
        if steers(c) {
            let units = &mut [0; 2];
            shown.extend(c.encode_utf16(units).iter().map(|unit| format!("\\u{unit:04x}")));
        } else {
            shown.push(c);
        }
    }
    shown
}

/// A writer of [`legible`] text, line by line. What is not text in UTF-8 is shown with the replacement character.
pub struct Legible<W: Write> {
    out: W,
    line: Vec<u8>,
    may_be_bold: bool,
}

impl<W: Write> Legible<W> {
    /// Nothing written yet. Where lines `may_be_bold`, those between our own [`BOLD`] stay so.
    pub const fn new(out: W, may_be_bold: bool) -> Self {
        Self { out, line: Vec::new(), may_be_bold }
    }

    fn end_line(&mut self) -> io::Result<()> {
        let line = std::mem::take(&mut self.line);
        let line = String::from_utf8_lossy(&line);
        let [on, off] = BOLD;
        let bold = line.strip_prefix(on).filter(|_| self.may_be_bold);
        match bold.and_then(|line| line.strip_suffix('\n')?.strip_suffix(off)) {
            Some(inside) => writeln!(self.out, "{on}{}{off}", legible(inside)),
            None => self.out.write_all(legible(&line).as_bytes()),
        }
    }
}

impl<W: Write> Write for Legible<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        for part in bytes.split_inclusive(|byte| *byte == b'\n') {
            self.line.extend_from_slice(part);
            if part.ends_with(b"\n") {
                self.end_line()?;
            }
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        if !self.line.is_empty() {
            self.end_line()?;
        }
        self.out.flush()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(mut writer: Legible<&mut Vec<u8>>, parts: &[&str]) -> bool {
        parts.iter().all(|part| writer.write_all(part.as_bytes()).is_ok()) && writer.flush().is_ok()
    }

    #[test]
    fn nothing_of_a_file_steers_a_terminal() {
        let mut out = Vec::new();
        let parts = ["P-1\u{1b}[2J\u{202e}x", "\u{200b}é\t°C\r\nΩ ", "\u{9b}1m end"];
        assert!(written(Legible::new(&mut out, false), &parts));
        assert_eq!(legible("P-1\u{2800}\u{3164}"), "P-1\\u{2800}\\u{3164}");
        assert_eq!(legible("\u{ffff}\u{e000}\u{1ffff}é\u{20000}"), "\\u{ffff}\\u{e000}\\u{1ffff}é\u{20000}");
        assert_eq!(String::from_utf8_lossy(&out), "P-1\\u{1b}[2J\\u{202e}x\\u{200b}é\t°C\\r\nΩ \\u{9b}1m end");
    }

    #[test]
    fn json_says_the_same_with_nothing_that_steers() {
        assert_eq!(legible_json("{\"a\":\"é\u{202e}\u{200b}\u{e0001}\"}"), "{\"a\":\"é\\u202e\\u200b\\udb40\\udc01\"}");
    }

    #[test]
    fn only_whole_lines_of_ours_are_bold() {
        let [on, off] = BOLD;
        for (bold, plain) in [(true, false), (false, true)] {
            let mut out = Vec::new();
            assert!(written(Legible::new(&mut out, bold), &[on, "hold P-1\u{1b}[1m", off, "\n", "a", on, "b\n"]));
            let text = String::from_utf8_lossy(&out).into_owned();
            assert_eq!(text.contains("\u{1b}[1mhold P-1\\u{1b}[1m\u{1b}[0m\n"), bold, "{text}");
            assert_eq!(text.starts_with("\\u{1b}[1mhold"), plain, "{text}");
            assert!(text.ends_with("a\\u{1b}[1mb\n"), "{text}");
        }
    }

    #[test]
    fn control_characters_and_direction_overrides_do_not_reach_a_picture() {
        assert_eq!(clean(" a\n\tb\u{0}\u{202e}c  d\u{85} \u{2066}\u{3164}"), "a b \\u{202e}c d \\u{2066}\\u{3164}");
    }
}
