//! Lines of running text: a date is never broken at its hyphens, a number never separated from its unit.

use textwrap::{Options, WordSeparator, WordSplitter};

/// Units that stay with the number before them.
const UNITS: [&str; 8] = ["MΩ", "GΩ", "kΩ", "TΩ", "°C", "%", "K", "V"];
/// Stands for a space that must not break, while lines are broken; no text that is shown holds it.
const GLUE: &str = "\u{e000}";

/// Breaks a text into lines of at most `width` columns, `first` before the first line and `rest` before the others.
#[must_use]
pub fn wrap(text: &str, width: usize, first: &str, rest: &str) -> String {
    let options = Options::new(width)
        .initial_indent(first)
        .subsequent_indent(rest)
        .word_separator(WordSeparator::AsciiSpace)
        .word_splitter(WordSplitter::NoHyphenation);
    textwrap::fill(&glued(text), options).replace(GLUE, " ")
}

fn glued(text: &str) -> String {
    let mut glued = String::with_capacity(text.len());
    for (i, word) in text.split(' ').enumerate() {
        let after_number = glued.ends_with(|c: char| c.is_ascii_digit());
        let unit = UNITS.contains(&word.trim_end_matches(['.', ',', ';', ':', ')']));
        let after_sign = glued.ends_with(['<', '>', '≥', '≤', '±']);
        glued.push_str(match (i, after_sign || (after_number && unit)) {
            (0, _) => "",
            (_, true) => GLUE,
            (_, false) => " ",
        });
        glued.push_str(word);
    }
    glued
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_and_quantities_stay_whole() {
        let text = "the latest test, on 2026-10-26, read < 48.3 MΩ, so it stays";
        for width in 13..40 {
            let lines = wrap(text, width, "", "  ");
            assert!(lines.contains("2026-10-26,") && lines.contains("< 48.3 MΩ,"), "{width}: {lines}");
            assert_eq!(lines.split_whitespace().collect::<Vec<_>>().join(" "), text);
        }
    }

    #[test]
    fn indents_stand_before_their_lines() {
        assert_eq!(wrap("a word and others", 10, "- ", "  "), "- a word\n  and\n  others");
    }
}
