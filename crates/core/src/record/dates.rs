//! Dates of tests as they are written without a form: `2026-04-03`, with or without a time of day.

use super::TestedOn;
use super::columns::Column;
use super::fault::Fault;
use chrono::{Datelike, NaiveDate, NaiveDateTime, NaiveTime};

const FIRST_YEAR: i32 = 1950;
const LAST_YEAR: i32 = 2199;

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

/// A day in the usual years as `2026-04-03`, with or without a time of day as in `2026-04-03T09:30`, `2026-04-03 09:30:15`;
/// `None` for any other text.
pub(super) fn plain_date(text: &str) -> Option<TestedOn> {
    let (day, time) = text.as_bytes().split_first_chunk::<10>()?;
    let date = plain_day(*day)?;
    let time = match *time {
        [] => None,
        [b'T' | b' ', a, b, b':', c, d] => Some((two_digits(a, b)?, two_digits(c, d)?, 0)),
        [b'T' | b' ', a, b, b':', c, d, b':', e, f] => Some((two_digits(a, b)?, two_digits(c, d)?, two_digits(e, f)?)),
        _ => return None,
    };
    let time = match time {
        // A leap second is left to the rules.
        Some((hour, minute, second)) => Some(NaiveTime::from_hms_opt(hour, minute, second)?),
        None => None,
    };
    is_possible_year(date.year()).then_some(TestedOn { date, time })
}

/// The day of `2026-04-03`.
pub(super) fn plain_day(text: [u8; 10]) -> Option<NaiveDate> {
    let [a, b, c, d, b'-', e, f, b'-', g, h] = text else { return None };
    let year = i32::try_from(100 * two_digits(a, b)? + two_digits(c, d)?).ok()?;
    NaiveDate::from_ymd_opt(year, two_digits(e, f)?, two_digits(g, h)?)
}

/// The number of two digits.
fn two_digits(tens: u8, ones: u8) -> Option<u32> {
    let (tens, ones) = (tens.wrapping_sub(b'0'), ones.wrapping_sub(b'0'));
    (tens < 10 && ones < 10).then_some(10 * u32::from(tens) + u32::from(ones))
}
