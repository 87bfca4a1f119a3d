//! The cells of a test that hold words.

use super::columns::Column;
use super::fault::Fault;
use super::{Event, LeadCheck};

/// Longest identifier of a winding, in characters.
pub const WINDING_MAX_CHARS: usize = 120;

pub(super) fn is_missing(text: &str) -> bool {
    matches!(text, "-" | "–" | "—") || text.eq_ignore_ascii_case("n/a")
}

pub(super) fn identifier(text: &str) -> Result<(), Fault> {
    if text.len() > WINDING_MAX_CHARS && text.chars().count() > WINDING_MAX_CHARS {
        let rule = format!("an identifier has at most {WINDING_MAX_CHARS} characters");
        return Err(Fault::new(Column::Winding, text, rule, "put the description into the note"));
    }
    if text.len() > 1 && is_dash(text) {
        let rule = "a dash names no winding";
        return Err(Fault::new(Column::Winding, text, rule, "write the name of the winding in every row"));
    }
    if let Some(unit) = unit_in(text) {
        let rule = format!("a name of a winding has no unit in it, and this one has {unit}");
        let hint = "write the name alone, and the unit into the header of the readings or after each of them";
        return Err(Fault::new(Column::Winding, text, rule, hint));
    }
    if is_ditto(text) {
        let rule = "a mark for the line above names no winding";
        return Err(Fault::new(Column::Winding, text, rule, "write the name of the winding in every row"));
    }
    // Most names are of plain letters, digits and marks.
    let is_plain = text.bytes().all(|byte| matches!(byte, b' '..=b'~'));
    if !is_plain && text.chars().any(char::is_control) {
        return Err(Fault::new(
            Column::Winding,
            text,
            "an identifier has no line breaks or control characters",
            "write it on one line",
        ));
    }
    Ok(())
}

pub(super) fn lead_check(text: &str) -> Result<Option<LeadCheck>, Fault> {
    if is_missing(text) {
        return Ok(None);
    }
    LeadCheck::read(text).map(Some).ok_or_else(|| {
        Fault::new(
            Column::LeadCheck,
            text,
            "a lead check is ok or failed",
            "leave the cell empty if the leads were not proved",
        )
    })
}

pub(super) fn event(text: &str) -> Result<Option<Event>, Fault> {
    if is_missing(text) || text.eq_ignore_ascii_case("none") {
        return Ok(None);
    }
    Event::read(text).map(Some).ok_or_else(|| {
        let words: Vec<&str> = Event::WORDS.iter().map(|(_, word)| *word).collect();
        Fault::new(
            Column::Event,
            text,
            format!("an event is one of {}", words.join(", ")),
            "an event starts the trend afresh, so it is never guessed; put anything else into the note",
        )
    })
}

fn is_dash(text: &str) -> bool {
    text.chars().all(|c| matches!(c, '-' | '–' | '—' | ' '))
}

/// The unit of a resistance or a temperature that a name ends with: then a number beside it may be in that unit.
fn unit_in(name: &str) -> Option<&str> {
    // Most names end with a digit.
    if name.ends_with(|c: char| c.is_ascii_digit()) {
        return None;
    }
    let bare = name.trim_end_matches([')', ']', ' ']);
    let (before, word) = bare.rsplit_once([' ', '(', '[', '_', ','])?;
    let is_unit = matches!(
        word.to_lowercase().replace(['\u{2126}', 'ω'], "ohm").as_str(),
        "ohm"
            | "ohms"
            | "kohm"
            | "kohms"
            | "mohm"
            | "mohms"
            | "gohm"
            | "gohms"
            | "tohm"
            | "megohm"
            | "megohms"
            | "°c"
            | "°f"
            | "degc"
            | "degf"
            | "%"
            | "hpa"
            | "mbar"
    );
    (is_unit && !before.trim().is_empty()).then_some(word)
}

/// Whether a text is a mark or word that means the one above it: `"`, `〃`, `-do-`, `ditto`, `idem`.
#[must_use]
pub fn is_ditto(text: &str) -> bool {
    const WORDS: [&str; 19] = [
        "|",
        "ditto",
        "do",
        "dto",
        "dito",
        "idem",
        "same",
        "as above",
        "same as above",
        "s.o",
        "s. o",
        "wie oben",
        "siehe oben",
        "come sopra",
        "comme ci-dessus",
        "igual",
        "ídem",
        "zelfde",
        "↓",
    ];
    // Almost every name and every date has a digit, and no mark has.
    if text.bytes().any(|byte| byte.is_ascii_digit()) {
        return false;
    }
    let is_mark = |c: char| matches!(c, '"' | '″' | '”' | '“' | '„' | '〃' | '\'' | '’' | '/' | '\\');
    let is_dash = |c: char| matches!(c, '-' | '–' | '—' | '_' | ' ');
    let text = text.trim();
    let word =
        text.trim_matches(|c: char| is_mark(c) || is_dash(c) || matches!(c, '.' | ',' | '(' | ')')).to_lowercase();
    // A single stroke, dash or comma means that there is nothing.
    let marks = text.chars().filter(|c| is_mark(*c) || *c == ',').count();
    let strokes = text.chars().filter(|c| matches!(c, '/' | '\\' | ',')).count();
    WORDS.contains(&word.as_str())
        || matches!(text, "..." | "…")
        // `ID` is a fan.
        || text.eq_ignore_ascii_case("id.")
        || text.eq_ignore_ascii_case("-id-")
        || (text.chars().all(|c| is_mark(c) || is_dash(c) || c == ',') && (marks > strokes || strokes > 1))
}
