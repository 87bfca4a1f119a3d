//! Days that a text gives as a range: `1-3 November 2026`, `Oct 30-Nov 2 2026`. The tests were made until the last of them.

use super::dates::{LONGEST_TEXT, YEARS, month_name};
use std::borrow::Cow;
use std::ops::Range;

#[derive(Clone, Copy, Debug, PartialEq)]
enum Kind {
    Day,
    Month,
    Year,
    /// `-`, `/`, `and`: between the days of a range.
    Joins,
    Comma,
    Other,
}

/// A word, a number or a mark of a text.
#[derive(Clone, Copy, Debug)]
struct Token {
    kind: Kind,
    start: usize,
    /// Whether it is a word or a number.
    is_word: bool,
}

/// The text with the last day alone of each range, and without a comma before the year: `Nov 5 2026`.
#[must_use]
pub(super) fn last_day(text: &str) -> Cow<'_, str> {
    let mut text = Cow::Borrowed(text);
    if text.len() > LONGEST_TEXT || !text.contains(|c: char| c.is_ascii_digit()) {
        return text;
    }
    while let Some(earlier) = earlier_days(&text) {
        text.to_mut().replace_range(earlier, "");
    }
    text
}

/// Where a text names the earlier days of a range.
fn earlier_days(text: &str) -> Option<Range<usize>> {
    use Kind::{Comma, Day, Joins, Month, Year};
    let tokens = tokens(text);
    let is_year_at = |at: usize| {
        tokens.get(at).is_some_and(|token| {
            let is_short = token.kind == Day && tokens.len() == at + 1 && text.len() == token.start + 2;
            token.kind == Year || is_short
        })
    };
    (0..tokens.len()).find_map(|at| {
        let kinds: Vec<Kind> = tokens[at..].iter().take(6).map(|token| token.kind).collect();
        let from_to = |first: usize, last: usize| tokens[at + first].start..tokens[at + last].start;
        // `Phase 1 - 3 Nov` is no range of days: blanks may part other things too.
        let is_close = |first: usize| {
            let joint = tokens[at + first + 1];
            at + first == 0 || joint.is_word || !text[from_to(first, first + 2)].contains(char::is_whitespace)
        };
        match kinds[..] {
            [Day, Joins, Day, Month, ..] if is_close(0) => Some(from_to(0, 2)),
            [Day, Month, Joins, Day, Month, ..] => Some(from_to(0, 3)),
            [Month, Day, Joins, Month, Day, ..] => Some(from_to(0, 3)),
            [Month, Day, Joins, Day, Comma, ..] if is_year_at(at + 5) => Some(from_to(1, 3)),
            [Month, Day, Joins, Day, ..] if is_year_at(at + 4) => Some(from_to(1, 3)),
            [Month, Day, Comma, Year, ..] => Some(tokens[at + 2].start..tokens[at + 2].start + 1),
            // `1.-3.11.2026`, `30.10.-2.11.2026`
            [Day, Joins, Day, Day, Year, ..] => Some(from_to(0, 2)),
            [Day, Day, Joins, Day, Day, Year] => Some(from_to(0, 3)),
            _ => None,
        }
    })
}

/// The tokens of a text; points and words such as `de` between the parts of a date are none.
fn tokens(text: &str) -> Vec<Token> {
    let mut found = Vec::new();
    let mut chars = text.char_indices().peekable();
    while let Some((start, first)) = chars.next() {
        if first.is_whitespace() {
            continue;
        }
        let is_word = first.is_alphanumeric();
        let mut end = start + first.len_utf8();
        while is_word && let Some((at, next)) = chars.next_if(|(_, c)| c.is_alphanumeric()) {
            end = at + next.len_utf8();
        }
        let word = text[start..end].to_lowercase();
        if matches!(word.as_str(), "." | "º" | "de" | "of" | "del" | "di") {
            continue;
        }
        found.push(Token { kind: kind_of(&word), start, is_word });
    }
    found
}

fn kind_of(word: &str) -> Kind {
    let digits = ["st", "nd", "rd", "th", "er", "º"].iter().find_map(|end| word.strip_suffix(end)).unwrap_or(word);
    let number = digits.parse::<u32>().ok().filter(|_| digits.bytes().all(|byte| byte.is_ascii_digit()));
    match (number, word) {
        (Some(1..=31), _) if digits.len() <= 2 => Kind::Day,
        (Some(year), _) if i32::try_from(year).is_ok_and(|year| YEARS.contains(&year)) => Kind::Year,
        (Some(_), _) => Kind::Other,
        (_, "-" | "–" | "/" | "+" | "&") => Kind::Joins,
        (_, "and" | "to" | "until" | "und" | "bis" | "et" | "au" | "y" | "e" | "al" | "a" | "en" | "tot") => {
            Kind::Joins
        }
        (_, ",") => Kind::Comma,
        _ if month_name(word).is_some() => Kind::Month,
        _ => Kind::Other,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_range_of_days_is_its_last_day() {
        for (text, last) in [
            ("1-3 November 2026", "3 November 2026"),
            ("Round 1–3 Nov 2026", "Round 3 Nov 2026"),
            ("1st/2nd November 2026", "2nd November 2026"),
            ("1, 2 and 3 November 2026", "1, 3 November 2026"),
            ("vom 1.-3. November 2026", "vom 3. November 2026"),
            ("1-3 de novembro de 2026", "3 de novembro de 2026"),
            ("du 1er au 3 novembre 2026", "du 3 novembre 2026"),
            ("Shut Nov 14-16 26", "Shut Nov 16 26"),
            ("Nov 14 & 15 26", "Nov 15 26"),
            ("November 1-3, 2026", "November 3 2026"),
            ("Oct 30-Nov 2 2026", "Nov 2 2026"),
            ("30 Oct - 2 Nov 2026", "2 Nov 2026"),
            ("1.-3.11.2026", "3.11.2026"),
            ("30.10.-02.11.2026", "02.11.2026"),
        ] {
            assert_eq!(last_day(text), last);
        }
        for text in [
            "Phase 1 - 3 Nov 2026",
            "14-Nov-26",
            "3/11/2026",
            "U-1 14 Nov 2026",
            "2026-11-03",
            "IR 1-2",
            "Nov 14-16",
            "M-1-3",
        ] {
            assert_eq!(last_day(text), text);
        }
    }
}
