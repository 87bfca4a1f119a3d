//! Dates as people write them: with the month in letters, with the year first, a month or a quarter alone, day and month in
//! an order that the other dates of the column prove.
//!
//! Day and month are never guessed. A date with a number above twelve is certain by itself; it also proves the order of the
//! other dates of its column, unless another one proves the opposite.

use chrono::{Datelike, Days, NaiveDate};
use groundwall::record::validate::date_by_form;
use std::fmt;
use std::ops::RangeInclusive;

/// Years in which tests were made.
const YEARS: RangeInclusive<i32> = 1900..=2199;
/// Years that a bare number of four digits is taken for.
const BARE_YEARS: RangeInclusive<i32> = 1950..=2100;

/// Which of day and month is written first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Order {
    /// As in 23/05/2024.
    DayFirst,
    /// As in 05/23/2024.
    MonthFirst,
}

impl Order {
    /// The order in words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::DayFirst => "day before month",
            Self::MonthFirst => "month before day",
        }
    }
}

/// How the dates of one input are read.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct DateForms {
    /// Forms that the user named, as `strftime` patterns.
    pub given: Vec<String>,
    /// The order of day and month that the column proves.
    pub order: Option<Order>,
    /// The as-of date: a period that has begun and not ended holds a test that was made until then.
    pub as_of: Option<NaiveDate>,
}

/// A date, and how exactly it was written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Dated {
    /// The day in ISO form, with the time where it was written.
    pub iso: String,
    /// The period, where no day was written: the day is then its middle.
    pub period: Option<Period>,
}

/// A span of time that a sheet dates its tests by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Period {
    /// A month of a year.
    Month(i32, u32),
    /// A quarter of a year, 1 to 4.
    Quarter(i32, u32),
    /// A half of a year, 1 or 2.
    Half(i32, u32),
    /// A year.
    Year(i32),
}

impl Period {
    /// Reads `May 2023`, `Jan 24`, `2023-05`, `05/2023`, `Q1 2024`, `2024-Q1`, `1Q24`, `1st quarter 2024`, `H1 2024`, `2024`.
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        let tokens = tokens(text);
        let tokens: Vec<&str> = tokens.iter().map(String::as_str).collect();
        match tokens.as_slice() {
            [year] if year.len() == 4 => Self::year(year).map(Self::Year).filter(|_| is_bare_year(year)),
            [one, other] => {
                if let Some(quarter) = quarter(one) {
                    return Some(Self::Quarter(Self::year(other)?, quarter));
                }
                if let (Some(quarter), 4) = (quarter(other), one.len()) {
                    return Some(Self::Quarter(Self::year(one)?, quarter));
                }
                if let (Some(half), 4) = (half(one), other.len()) {
                    return Some(Self::Half(Self::year(other)?, half));
                }
                if let (Some(half), 4) = (half(other), one.len()) {
                    return Some(Self::Half(Self::year(one)?, half));
                }
                match (month_name(one), month_name(other)) {
                    (Some(month), None) => Some(Self::Month(Self::year(other)?, month)),
                    (None, Some(month)) if one.len() == 4 => Some(Self::Month(Self::year(one)?, month)),
                    _ => {
                        let (year, month) = if one.len() == 4 { (one, other) } else { (other, one) };
                        let number: u32 = month.parse().ok().filter(|_| year.len() == 4 && month.len() <= 2)?;
                        (1..=12).contains(&number).then_some(Self::Month(Self::year(year)?, number))
                    }
                }
            }
            [number, word, year] | [word, number, year] if is_quarter_word(word) => {
                Some(Self::Quarter(Self::year(year)?, ordinal(number)?))
            }
            [year, word, number] if is_quarter_word(word) && year.len() == 4 => {
                Some(Self::Quarter(Self::year(year)?, ordinal(number)?))
            }
            _ => None,
        }
    }

    /// The period of a cell of years and one of quarters or months: `2024` and `Q1`, `2024` and `1`, `2024` and `Mar`.
    #[must_use]
    pub fn of_columns(year: &str, quarter_text: Option<&str>, month: Option<&str>) -> Option<Self> {
        let year = Self::year(year.trim())?;
        if let Some(text) = month.map(str::trim).filter(|text| !text.is_empty()) {
            let number = text.parse().ok().or_else(|| month_name(&text.to_lowercase()))?;
            return (1..=12).contains(&number).then_some(Self::Month(year, number));
        }
        match quarter_text.map(str::trim).filter(|text| !text.is_empty()) {
            Some(text) => {
                let tokens = tokens(text);
                let number = tokens.iter().find_map(|token| quarter(token).or_else(|| token.parse().ok()))?;
                (1..=4).contains(&number).then_some(Self::Quarter(year, number))
            }
            None => Some(Self::Year(year)),
        }
    }

    fn year(text: &str) -> Option<i32> {
        let year: i32 = text.parse().ok()?;
        match text.len() {
            2 => Some(if year < 70 { 2000 + year } else { 1900 + year }),
            4 => YEARS.contains(&year).then_some(year),
            _ => None,
        }
    }

    /// Its middle, or the as-of date where that lies in it and before the middle: the test was made until then.
    #[must_use]
    pub fn middle(self, as_of: Option<NaiveDate>) -> Option<NaiveDate> {
        let (year, month, months) = match self {
            Self::Month(year, month) => (year, month, 1),
            Self::Quarter(year, quarter) => (year, 3 * quarter - 2, 3),
            Self::Half(year, half) => (year, 6 * half - 5, 6),
            Self::Year(year) => (year, 1, 12),
        };
        let first = NaiveDate::from_ymd_opt(year, month, 1)?;
        let next = first.checked_add_months(chrono::Months::new(months))?;
        let days = u64::try_from((next - first).num_days()).ok()?;
        let middle = first.checked_add_days(Days::new(days / 2))?;
        Some(as_of.filter(|day| (first..middle).contains(day)).unwrap_or(middle))
    }

    /// The day that stands for it.
    #[must_use]
    pub fn dated(self, as_of: Option<NaiveDate>) -> Option<Dated> {
        Some(Dated { iso: self.middle(as_of)?.to_string(), period: Some(self) })
    }
}

impl fmt::Display for Period {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Month(year, month) => write!(f, "{year}-{month:02}"),
            Self::Quarter(year, quarter) => write!(f, "Q{quarter} {year}"),
            Self::Half(year, half) => write!(f, "H{half} {year}"),
            Self::Year(year) => write!(f, "{year}"),
        }
    }
}

impl DateForms {
    /// Reads a date; `None` where its form is unknown or leaves day and month open.
    #[must_use]
    pub fn read(&self, text: &str) -> Option<Dated> {
        let text = text.trim();
        let day = |iso: String| Some(Dated { iso, period: None });
        let (date, time) = split_time(text);
        for form in &self.given {
            let timed = || Some(format!("{}T{}", by_form(date, form)?, time.as_ref()?));
            if let Some(iso) = by_form(text, form).or_else(timed) {
                return day(iso);
            }
        }
        if let Some(found) = certain_day(date).or_else(|| self.ordered_day(date)) {
            return day(match time {
                Some(time) => format!("{found}T{time}"),
                None => found.to_string(),
            });
        }
        Period::read(text)?.dated(self.as_of)
    }

    /// A day written in numbers whose order is proved: by itself, or by the column.
    fn ordered_day(&self, text: &str) -> Option<NaiveDate> {
        let (one, other, year) = day_and_month(text)?;
        let order = proves(one, other);
        // Forms that were named go before whatever else a text could be.
        let order = if self.given.is_empty() { order.or(self.order) } else { None };
        match order? {
            Order::DayFirst => NaiveDate::from_ymd_opt(year, other, one),
            Order::MonthFirst => NaiveDate::from_ymd_opt(year, one, other),
        }
    }
}

/// Whether a text is a day, be its order of day and month certain or not.
#[must_use]
pub fn is_date(text: &str) -> bool {
    let (date, _) = split_time(text.trim());
    certain_day(date).is_some() || day_and_month(date).is_some()
}

/// Whether a text is a day, a month or a quarter without a year: `12 Feb`, `Jan`, `Q3`.
#[must_use]
pub fn is_part_of_year(text: &str) -> bool {
    let tokens = tokens(text);
    match tokens.iter().map(String::as_str).collect::<Vec<_>>().as_slice() {
        [only] => month_name(only).is_some() || (quarter(only).is_some() && only.starts_with('q')),
        [day, month] => {
            month_name(month).is_some() && day.len() <= 2 && day.parse().is_ok_and(|day: u32| (1..=31).contains(&day))
        }
        _ => false,
    }
}

/// The order of day and month that a column of dates proves, with the first text that does; `None` where none does, or two
/// contradict each other.
pub fn proved_order<'a>(texts: impl Iterator<Item = &'a str>) -> Option<(Order, &'a str)> {
    let mut proof: Option<(Order, &str)> = None;
    for text in texts {
        let Some((one, other, _)) = day_and_month(split_time(text.trim()).0) else { continue };
        let Some(order) = proves(one, other) else { continue };
        match proof {
            None => proof = Some((order, text)),
            Some((earlier, _)) if earlier != order => return None,
            Some(_) => {}
        }
    }
    proof
}

fn proves(one: u32, other: u32) -> Option<Order> {
    match (one > 12, other > 12) {
        (true, false) => Some(Order::DayFirst),
        (false, true) => Some(Order::MonthFirst),
        _ => None,
    }
}

/// The two numbers before the year of `23/05/2024`, `23.5.24`, `05-23-2024`.
fn day_and_month(text: &str) -> Option<(u32, u32, i32)> {
    let mark = text.chars().find(|c| !c.is_ascii_digit())?;
    if !matches!(mark, '/' | '.' | '-' | ' ') {
        return None;
    }
    let parts: Vec<&str> = text.trim_end_matches('.').split(mark).map(str::trim).collect();
    let [one, other, year] = parts.as_slice() else { return None };
    let number = |part: &str| part.parse::<u32>().ok().filter(|n| part.len() <= 2 && (1..=31).contains(n));
    Some((number(one)?, number(other)?, Period::year(year)?))
}

/// A text by a `strftime` pattern, in ISO form.
fn by_form(text: &str, form: &str) -> Option<String> {
    let at = date_by_form(text, form).filter(|at| YEARS.contains(&at.date.year()))?;
    Some(match at.time {
        Some(time) => format!("{}T{}", at.date, time.format("%H:%M:%S")),
        None => at.date.to_string(),
    })
}

/// A day that leaves no doubt: the year first, or the month in letters.
fn certain_day(text: &str) -> Option<NaiveDate> {
    let tokens = tokens(text);
    let mut tokens: Vec<&str> = tokens.iter().map(String::as_str).collect();
    tokens.retain(|token| !WEEKDAYS.contains(token) && !matches!(*token, "de" | "of"));
    if let [one] = tokens.as_slice() {
        let is_compact = one.len() == 8 && one.bytes().all(|byte| byte.is_ascii_digit());
        return NaiveDate::parse_from_str(one, "%Y%m%d")
            .ok()
            .filter(|day| is_compact && BARE_YEARS.contains(&day.year()));
    }
    let [a, b, c] = tokens.as_slice() else { return None };
    let number = |part: &str| {
        let digits = ["st", "nd", "rd", "th"].iter().find_map(|end| part.strip_suffix(end)).unwrap_or(part);
        digits.parse::<u32>().ok().filter(|_| digits.len() <= 2)
    };
    let (year, month, day) = match (month_name(a), month_name(b)) {
        (Some(month), _) => (c, month, number(b)?),
        (None, Some(month)) if a.len() == 4 => (a, month, number(c)?),
        (None, Some(month)) => (c, month, number(a)?),
        (None, None) if a.len() == 4 => (a, number(b)?, number(c)?),
        (None, None) => return None,
    };
    NaiveDate::from_ymd_opt(Period::year(year)?, month, day)
}

/// A date and its time of day, where one follows.
fn split_time(text: &str) -> (&str, Option<String>) {
    let Some(at) = text.find(':') else { return (text, None) };
    let start = text[..at].rfind([' ', 'T']).unwrap_or(0);
    let clock = text[start..].trim_start_matches(['T', ' ']).to_uppercase();
    for form in ["%H:%M", "%H:%M:%S", "%H:%M:%S%.f", "%I:%M %p", "%I:%M:%S %p", "%I:%M%p"] {
        if let Ok(time) = chrono::NaiveTime::parse_from_str(clock.trim_end_matches('Z').trim(), form) {
            return (text[..start].trim_end_matches(',').trim(), Some(time.format("%H:%M:%S").to_string()));
        }
    }
    (text, None)
}

/// Whether a text is a time of day alone.
#[must_use]
pub fn is_clock(text: &str) -> bool {
    matches!(split_time(text.trim()), ("", Some(_)))
}

fn is_bare_year(text: &str) -> bool {
    text.parse().is_ok_and(|year: i32| BARE_YEARS.contains(&year))
}

/// The words and numbers of a date in lower case; letters and digits that touch are kept apart only where a year follows.
fn tokens(text: &str) -> Vec<String> {
    let text = text.to_lowercase().replace(['\'', '’'], " ");
    let marks = |c: char| c.is_whitespace() || matches!(c, '-' | '/' | '.' | ',' | '_' | '–');
    let mut tokens: Vec<String> = text.split(marks).filter(|token| !token.is_empty()).map(str::to_owned).collect();
    // `1q24`, `q124`: a quarter and a year written together.
    if let [only] = tokens.as_slice()
        && let Some((quarter, year)) = together(only)
    {
        tokens = vec![quarter, year];
    }
    tokens
}

fn together(token: &str) -> Option<(String, String)> {
    let at = token.find('q').filter(|_| token.is_ascii())?;
    let (before, after) = (&token[..at], &token[at + 1..]);
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    if before.len() == 1 && digits(before) && digits(after) {
        return Some((format!("q{before}"), after.to_owned()));
    }
    if before.is_empty() && digits(after) && matches!(after.len(), 3 | 5) {
        return Some((format!("q{}", &after[..1]), after[1..].to_owned()));
    }
    (before.len() == 4 && digits(before) && after.len() == 1).then(|| (before.to_owned(), format!("q{after}")))
}

/// `q1`, `1q`, `t1` (French, Italian, Spanish), `k1`.
fn quarter(token: &str) -> Option<u32> {
    let digit = ["q", "t", "k"].iter().find_map(|mark| token.strip_prefix(mark)).or_else(|| token.strip_suffix('q'))?;
    digit.parse().ok().filter(|quarter| (1..=4).contains(quarter) && digit.len() == 1)
}

fn half(token: &str) -> Option<u32> {
    token.strip_prefix('h')?.parse().ok().filter(|half| (1..=2).contains(half))
}

fn is_quarter_word(token: &str) -> bool {
    matches!(token, "quarter" | "qtr" | "quartal" | "trimestre" | "trim" | "kwartaal" | "q")
}

/// The number of a quarter: `1`, `1st`, `2nd`, `1er`, `2º`, `3e`.
fn ordinal(token: &str) -> Option<u32> {
    let digit = token.chars().next()?.to_digit(10).filter(|digit| (1..=4).contains(digit))?;
    let ends = ["", "st", "nd", "rd", "th", "er", "ère", "e", "ème", "º", "ª", "°", "o", "a", "ste", "de"];
    ends.contains(&&token[1..]).then_some(digit)
}

const WEEKDAYS: [&str; 14] = [
    "mon",
    "tue",
    "wed",
    "thu",
    "fri",
    "sat",
    "sun",
    "monday",
    "tuesday",
    "wednesday",
    "thursday",
    "friday",
    "saturday",
    "sunday",
];

/// Names of months in English, German, French, Spanish, Italian, Portuguese and Dutch; short forms are their beginnings.
const MONTHS: [&[&str]; 12] = [
    &["january", "januar", "jänner", "janvier", "enero", "gennaio", "janeiro", "januari"],
    &["february", "februar", "février", "fevrier", "febrero", "febbraio", "fevereiro", "februari"],
    &["march", "märz", "maerz", "mrz", "mars", "marzo", "março", "marco", "maart", "mrt"],
    &["april", "avril", "abril", "aprile"],
    &["may", "mai", "mayo", "maggio", "maio", "mei"],
    &["june", "juni", "juin", "junio", "giugno", "junho"],
    &["july", "juli", "juillet", "julio", "luglio", "julho"],
    &["august", "août", "aout", "agosto", "augustus"],
    &["september", "septembre", "septiembre", "settembre", "setembro", "sept"],
    &["october", "oktober", "octobre", "octubre", "ottobre", "outubro"],
    &["november", "novembre", "noviembre", "novembro"],
    &["december", "dezember", "décembre", "decembre", "diciembre", "dicembre", "dezembro"],
];

/// The month that a word names: whole, or by its first three letters or more where only one month begins so.
fn month_name(token: &str) -> Option<u32> {
    let letters = token.chars().count();
    if letters < 3 || !token.chars().all(char::is_alphabetic) {
        return None;
    }
    let fits = |names: &[&str]| names.iter().any(|name| name.starts_with(token));
    let mut months = (1..).zip(MONTHS).filter(|(_, names)| fits(names)).map(|(number, _)| number);
    let found = months.next()?;
    months.next().is_none().then_some(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str, order: Option<Order>) -> Option<String> {
        let as_of = NaiveDate::from_ymd_opt(2026, 11, 3);
        DateForms { given: Vec::new(), order, as_of }.read(text).map(|dated| dated.iso)
    }

    #[test]
    fn what_is_certain_is_read() {
        for (text, iso) in [
            ("3-Apr-2026", "2026-04-03"),
            ("8-Jul-25", "2025-07-08"),
            ("April 3, 2026", "2026-04-03"),
            ("Fri 3 Apr 2026", "2026-04-03"),
            ("3rd April 2026 14:30", "2026-04-03T14:30:00"),
            ("2026/4/3", "2026-04-03"),
            ("2026.04.03", "2026-04-03"),
            ("20260403", "2026-04-03"),
            ("2026-04-03 09:15", "2026-04-03T09:15:00"),
            ("23/05/2024", "2024-05-23"),
            ("5/23/2024 1:05 PM", "2024-05-23T13:05:00"),
            ("3. März 2024", "2024-03-03"),
            ("12 de octubre de 2023", "2023-10-12"),
            ("7 déc. 2023", "2023-12-07"),
        ] {
            assert_eq!(read(text, None).as_deref(), Some(iso), "{text}");
        }
    }

    #[test]
    fn a_period_is_its_middle_and_never_a_day_made_of_a_year() {
        for (text, iso) in [
            ("May 2023", "2023-05-16"),
            ("Jan 24", "2024-01-16"),
            ("2023-05", "2023-05-16"),
            ("05/2023", "2023-05-16"),
            ("Q1 2024", "2024-02-15"),
            ("2024-Q1", "2024-02-15"),
            ("1Q24", "2024-02-15"),
            ("2. Quartal 2024", "2024-05-16"),
            ("2nd Qtr 2024", "2024-05-16"),
            ("1er trimestre 2024", "2024-02-15"),
            ("K3 2024", "2024-08-16"),
            ("H2 2024", "2024-10-01"),
            ("2023", "2023-07-02"),
            // The quarter has begun and not ended: the test was made until the as-of date.
            ("Q4 2026", "2026-11-03"),
            ("Nov 2026", "2026-11-03"),
        ] {
            assert_eq!(read(text, None).as_deref(), Some(iso), "{text}");
        }
    }

    #[test]
    fn day_and_month_are_never_guessed() {
        assert_eq!(read("03/04/2024", None), None);
        assert_eq!(read("03/04/2024", Some(Order::DayFirst)).as_deref(), Some("2024-04-03"));
        assert_eq!(read("03/04/2024", Some(Order::MonthFirst)).as_deref(), Some("2024-03-04"));
        for text in [
            "24-Jan",
            "I/2024",
            "CW07/2024",
            "FY24 Q1",
            "32/05/2024",
            "2024-13",
            "Q5 2024",
            "soon",
            "31/11/2024",
            "ma 2024",
        ] {
            assert_eq!(read(text, None), None, "{text}");
        }
        assert!(
            is_part_of_year("Jan")
                && is_part_of_year("Q3")
                && is_part_of_year("12 Feb")
                && !is_part_of_year("T3")
                && !is_part_of_year("P-101")
        );
        assert_eq!(proved_order(["03/04/24", "23/05/24", "1/2/24"].into_iter()), Some((Order::DayFirst, "23/05/24")));
        assert_eq!(proved_order(["13/04/2024", "04/13/2024"].into_iter()), None);
        let named = DateForms { given: vec!["%m/%d/%Y".to_owned(), "%d.%m.%y".to_owned()], ..DateForms::default() };
        let iso = |text| named.read(text).map(|dated| dated.iso);
        assert_eq!(iso("03/04/2024").as_deref(), Some("2024-03-04"));
        assert_eq!(iso("03.04.24").as_deref(), Some("2024-04-03"));
        assert_eq!(iso("23/05/2024"), None);
    }
}
