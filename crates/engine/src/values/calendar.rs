//! Days, years, and the forms in which other files write days.

use crate::ingest::date_forms::is_month_form;
use chrono::{Datelike, NaiveDate, NaiveDateTime, NaiveTime};
use std::fmt::Write as _;

/// A day: `2026-11-25`.
///
/// # Errors
///
/// The rule that the text breaks.
pub fn date(text: &str) -> Result<NaiveDate, String> {
    let shape = text.len() == 10 && text.bytes().enumerate().all(|(i, c)| matches!(i, 4 | 7) || c.is_ascii_digit());
    let day = NaiveDate::parse_from_str(text, "%Y-%m-%d").ok().filter(|_| shape);
    day.filter(|day| (1900..=2199).contains(&day.year())).ok_or_else(|| {
        "a day is written year-month-day and is in the calendar, 1900 to 2199, such as 2026-11-25".to_owned()
    })
}

/// A year.
///
/// # Errors
///
/// The rule that the text breaks.
pub fn year(text: &str) -> Result<i32, String> {
    let year = text.trim().parse::<i32>().ok().filter(|year| (1880..=2199).contains(year));
    year.ok_or_else(|| "a year of make is a whole number from 1880 to 2199".to_owned())
}

/// A form of date that holds day, month and year, or month and year.
///
/// # Errors
///
/// The rule that the text breaks.
pub fn date_format(text: &str) -> Result<String, String> {
    let rule =
        "a form of date holds day, month and year as in %d/%m/%Y or %m/%d/%Y or %d.%m.%y, or month and year as in %Y%m";
    if is_month_form(text) {
        return Ok(text.to_owned());
    }
    let sample = NaiveDate::from_ymd_opt(2026, 4, 23).unwrap_or_default();
    let at = NaiveDateTime::new(sample, NaiveTime::MIN);
    let mut written = String::new();
    // Writing fails where the form has a mark that is unknown or asks for a time zone.
    let back = write!(written, "{}", at.format(text)).ok().and_then(|()| {
        let day = NaiveDateTime::parse_from_str(&written, text).map(|at| at.date());
        day.or_else(|_| NaiveDate::parse_from_str(&written, text)).ok()
    });
    if back == Some(sample) { Ok(text.to_owned()) } else { Err(rule.to_owned()) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_are_iso_and_in_the_calendar() {
        assert!(date("2026-11-25").is_ok());
        for text in ["2026-02-30", "25/11/2026", "+2026-1-1", "2026-1-01", "0001-01-01", "today"] {
            assert!(date(text).is_err(), "{text}");
        }
    }

    #[test]
    fn a_year_is_whole_and_of_a_winding() {
        assert_eq!(year("1998"), Ok(1998));
        assert_eq!(year("26"), Err("a year of make is a whole number from 1880 to 2199".to_owned()));
    }

    #[test]
    fn a_form_of_date_must_hold_a_whole_date() {
        for form in ["%d/%m/%Y", "%m/%d/%y", "%d %b %Y", "%Y-%m-%d %H:%M", "%d.%m.%Y %H:%M:%S"] {
            assert_eq!(date_format(form), Ok(form.to_owned()));
        }
        for form in ["%Y%m", "%m/%Y", "%b %y"] {
            assert_eq!(date_format(form), Ok(form.to_owned()));
        }
        for form in ["%m", "%Y", "dd/mm/yyyy", "%d/%m", "%Q", "%d/%m/%Y %z", "%", ""] {
            assert!(date_format(form).is_err(), "{form}");
        }
    }
}
