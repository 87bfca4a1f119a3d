//! Words and dates: the cells of a test that are not numbers.

use super::columns::Column;
use super::plain::plain_day;
use super::validate::{Fault, WINDING_MAX_CHARS};
use super::{Event, LeadCheck, TestedOn};
use chrono::{Datelike, NaiveDate, NaiveDateTime};

const FIRST_YEAR: i32 = 1900;
const LAST_YEAR: i32 = 2199;

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

pub(super) fn iso_date(text: &str) -> Result<TestedOn, Fault> {
    let shape = |pattern: &str| {
        let text = text.as_bytes();
        text.len() == pattern.len()
            && pattern.bytes().zip(text).all(|(p, c)| if p == b'0' { c.is_ascii_digit() } else { p == *c })
    };
    let not_a_day = || {
        Fault::new(Column::TestedOn, text, "this day is not in the calendar", "check the date against the test sheet")
    };
    if let (Ok(day), true) = (text.as_bytes().try_into(), shape("0000-00-00")) {
        return plain_day(day).map(TestedOn::day).ok_or_else(not_a_day);
    }
    for (pattern, format) in [
        ("0000-00-00T00:00", "%Y-%m-%dT%H:%M"),
        ("0000-00-00 00:00", "%Y-%m-%d %H:%M"),
        ("0000-00-00T00:00:00", "%Y-%m-%dT%H:%M:%S"),
        ("0000-00-00 00:00:00", "%Y-%m-%d %H:%M:%S"),
    ] {
        if shape(pattern) {
            return NaiveDateTime::parse_from_str(text, format)
                .map(|at| TestedOn { date: at.date(), time: Some(at.time()) })
                .map_err(|_| not_a_day());
        }
    }
    Err(Fault::new(
        Column::TestedOn,
        text,
        "a date is written year-month-day, such as 2026-04-03; day and month are never guessed",
        date_hint(text),
    ))
}

/// What to say about a date in another form, with the marks, the month and the digits of the year that it has.
fn date_hint(text: &str) -> String {
    let (day, time) = match text.split_once(' ') {
        Some((day, time)) if time.contains(':') => (day, time),
        _ => (text, ""),
    };
    let mark = day.chars().find(|c| matches!(c, '.' | '-' | '/' | ' ')).unwrap_or('/');
    let parts: Vec<&str> = day.split(mark).map(str::trim).collect();
    let year = |part: Option<&&str>| if part.is_some_and(|part| part.len() == 2) { "%y" } else { "%Y" };
    let said = "specify the date format: --date-format";
    let Some(named) = parts.iter().position(|part| part.chars().all(char::is_alphabetic) && !part.is_empty()) else {
        if parts.first().is_some_and(|part| part.len() == 4) {
            return format!("{said} %Y{mark}%m{mark}%d");
        }
        let year = year(parts.last());
        return format!(
            "{said} %d{mark}%m{mark}{year} if the day comes first, %m{mark}%d{mark}{year} if the month does"
        );
    };
    // A month in letters leaves no doubt which part is which.
    let orders: &[[&str; 3]] = match named {
        0 => &[["%b", "%d", "%Y"], ["%b", "%d", "%y"], ["%B", "%d", "%Y"], ["%B", "%d", "%y"]],
        _ => &[
            ["%d", "%b", "%Y"],
            ["%d", "%b", "%y"],
            ["%Y", "%b", "%d"],
            ["%d", "%B", "%Y"],
            ["%d", "%B", "%y"],
            ["%Y", "%B", "%d"],
        ],
    };
    let forms = orders.iter().map(|order| order.join(&mark.to_string()));
    let mut fitting =
        forms.filter(|form| NaiveDate::parse_from_str(day, form).is_ok_and(|day| is_possible_year(day.year())));
    let clock = match time.matches(':').count() {
        0 => "",
        1 => " %H:%M",
        _ => " %H:%M:%S",
    };
    match fitting.next() {
        Some(form) if form.contains(' ') || !clock.is_empty() => format!("{said} \"{form}{clock}\""),
        Some(form) => format!("{said} {form}"),
        None => "write the date in numbers, such as 2026-04-03; the name of its month is not understood".to_owned(),
    }
}

pub(super) fn is_possible_year(year: i32) -> bool {
    (FIRST_YEAR..=LAST_YEAR).contains(&year)
}

pub(super) fn in_years(text: &str, tested_on: TestedOn) -> Result<TestedOn, Fault> {
    if is_possible_year(tested_on.date.year()) {
        Ok(tested_on)
    } else {
        Err(Fault::new(
            Column::TestedOn,
            text,
            format!("the year of a test lies between {FIRST_YEAR} and {LAST_YEAR}"),
            "check the digits of the year",
        ))
    }
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

/// Whether a text is a mark or word that means the one above it: `"`, `〃`, `ditto`, `idem`.
#[must_use]
pub fn is_ditto(text: &str) -> bool {
    const WORDS: [&str; 18] = [
        "ditto",
        "do",
        "do.",
        "dto",
        "dto.",
        "dito",
        "idem",
        "id.",
        "same",
        "as above",
        "s.o.",
        "s. o.",
        "wie oben",
        "siehe oben",
        "come sopra",
        "igual",
        "zelfde",
        "//",
    ];
    let text = text.trim();
    let is_mark = |c: char| matches!(c, '"' | '″' | '”' | '“' | '„' | '〃' | '\'' | '’');
    WORDS.iter().any(|word| text.eq_ignore_ascii_case(word))
        || (text.starts_with(|c: char| is_mark(c) || c == '-')
            && text.contains(is_mark)
            && text.chars().all(|c| is_mark(c) || matches!(c, '-' | ' ')))
}
