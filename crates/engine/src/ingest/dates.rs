//! Dates as people write them: with the month in letters, with the year first, a month or a quarter alone, a time of day.
use chrono::{Datelike, Days, NaiveDate};
use std::fmt;
use std::ops::RangeInclusive;

/// Years in which tests were made.
pub(super) const YEARS: RangeInclusive<i32> = 1950..=2199;
/// Years that a bare number of four digits is taken for.
const BARE_YEARS: RangeInclusive<i32> = 1950..=2100;

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
    /// A calendar week, 1 to 53, by ISO 8601.
    Week(i32, u32),
    /// A year.
    Year(i32),
}

impl Period {
    /// Reads `May 2023`, `Jan 24`, `2023-05`, `05/2023`, `Q1 2024`, `2024-Q1`, `1Q24`, `1st quarter 2024`, `H1 2024`, `KW 11/2024`,
    /// `2024-W11`, `2024`.
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        let tokens = tokens(text);
        let tokens: Vec<&str> = tokens.iter().map(String::as_str).collect();
        match tokens.as_slice() {
            [year] if year.len() == 4 => Self::year(year).map(Self::Year).filter(|_| is_bare_year(year)),
            [word, year] if year.len() == 4 && is_year_word(word) => Self::year(year).map(Self::Year),
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
                if let Some(week) = week(one).filter(|_| other.len() == 4) {
                    return Self::of_week(Self::year(other)?, week);
                }
                if let Some(week) = week(other).filter(|_| one.len() == 4) {
                    return Self::of_week(Self::year(one)?, week);
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
            [word, number, year] if is_week(word, number) => Self::of_week(Self::year(year)?, week_number(number)?),
            [year, word, number] if is_week(word, number) && year.len() == 4 => {
                Self::of_week(Self::year(year)?, week_number(number)?)
            }
            // `sem. 2` may be a week.
            [number, word, year] if is_half_word(word) && !(*word == "sem" && number.len() == 1) => {
                let half = ordinal(number).filter(|half| *half <= 2)?;
                Some(Self::Half(Self::year(year).filter(|_| year.len() == 4)?, half))
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
                let number = tokens
                    .iter()
                    .find_map(|token| quarter(token).or_else(|| roman(token)).or_else(|| token.parse().ok()))?;
                (1..=4).contains(&number).then_some(Self::Quarter(year, number))
            }
            None => Some(Self::Year(year)),
        }
    }

    /// The week of a cell of years and one of weeks: `2024` and `46`, `2024` and `KW 46`.
    #[must_use]
    pub fn of_week_column(year: &str, week: &str) -> Option<Self> {
        let number = week.trim().trim_start_matches(|c: char| !c.is_ascii_digit());
        Self::of_week(Self::year(year.trim())?, week_number(number)?)
    }

    /// A week that the year has.
    fn of_week(year: i32, week: u32) -> Option<Self> {
        NaiveDate::from_isoywd_opt(year, week, chrono::Weekday::Mon).map(|_| Self::Week(year, week))
    }

    pub(super) fn year(text: &str) -> Option<i32> {
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
        let of_months = |(year, month, months): (i32, u32, u32)| {
            let first = NaiveDate::from_ymd_opt(year, month, 1)?;
            Some((first, first.checked_add_months(chrono::Months::new(months))?))
        };
        let (first, next) = match self {
            Self::Week(year, week) => {
                let first = NaiveDate::from_isoywd_opt(year, week, chrono::Weekday::Mon)?;
                Some((first, first.checked_add_days(Days::new(7))?))
            }
            Self::Month(year, month) => of_months((year, month, 1)),
            Self::Quarter(year, quarter) => of_months((year, 3 * quarter - 2, 3)),
            Self::Half(year, half) => of_months((year, 6 * half - 5, 6)),
            Self::Year(year) => of_months((year, 1, 12)),
        }?;
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
            Self::Week(year, week) => write!(f, "{year}-W{week:02}"),
            Self::Year(year) => write!(f, "{year}"),
        }
    }
}

/// Whether a text is a day, be its order of day and month certain or not.
#[must_use]
pub fn is_date(text: &str) -> bool {
    let (date, _) = split_time(text.trim());
    certain_day(date).is_some() || day_and_month(date).is_some()
}

/// Whether a word of a text is the name of a month.
#[must_use]
pub fn names_month(text: &str) -> bool {
    tokens(text).iter().any(|token| month_name(token).is_some())
}

/// A number that may be a day of a month: `12`, `12th`, `Thu 12`.
#[must_use]
pub fn day_of_month(text: &str) -> Option<u32> {
    let text = text.trim().to_lowercase();
    let text = text.split_once(' ').filter(|(word, _)| is_weekday(word)).map_or(text.as_str(), |(_, day)| day.trim());
    let ended = ["st", "nd", "rd", "th", ".", "º", "er"].into_iter().find_map(|end| text.strip_suffix(end));
    ended.unwrap_or(text).parse().ok().filter(|day| (1..=31).contains(day))
}

/// A day and a month without a year, with a point after each: `12.3.`. The day comes first in all languages that write so.
#[must_use]
pub fn day_with_points(text: &str) -> Option<(u32, u32)> {
    let (day, month) = text.trim().strip_suffix('.')?.split_once('.')?;
    let number = |text: &str, most: u32| text.trim().parse().ok().filter(|number| (1..=most).contains(number));
    Some((number(day, 31)?, number(month, 12)?))
}

/// Whether a text is a day without its year or month, and no mere number: `12 Feb`, `12.3.`, `12th`.
#[must_use]
pub fn is_day_alone(text: &str) -> bool {
    let has_digit = text.contains(|c: char| c.is_ascii_digit());
    let is_number = text.bytes().all(|byte| byte.is_ascii_digit());
    has_digit
        && !is_number
        && (is_part_of_year(text) || day_of_month(text).is_some() || day_with_points(text).is_some())
}

/// Whether a text is a day, a month or a quarter without a year: `12 Feb`, `Jan`, `Q3`.
#[must_use]
pub fn is_part_of_year(text: &str) -> bool {
    let tokens = tokens(text);
    match tokens.iter().map(String::as_str).collect::<Vec<_>>().as_slice() {
        [only] => month_name(only).is_some() || (quarter(only).is_some() && only.starts_with('q')),
        [number, word] if is_quarter_word(word) && word.len() > 1 => ordinal(number).is_some(),
        [word, number] if is_quarter_word(word) && word.len() > 1 => ordinal(number).is_some(),
        // `kW 11` is a power.
        ["kw", number] => text.trim_start().starts_with("KW") && week_number(number).is_some(),
        [word, number] if is_week(word, number) => true,
        [day, month] => {
            month_name(month).is_some() && day.len() <= 2 && day.parse().is_ok_and(|day: u32| (1..=31).contains(&day))
        }
        _ => false,
    }
}

/// Longer texts are looked at no further, so that one of a mebibyte costs nothing.
pub(super) const LONGEST_TEXT: usize = 120;

fn is_weekday(word: &str) -> bool {
    let word = word.trim_end_matches([',', '.']).to_lowercase();
    WEEKDAYS.contains(&word.as_str()) || OTHER_WEEKDAYS.contains(&word.as_str())
}

/// The two numbers before the year of `23/05/2024`, `23.5.24`, `05-23-2024`.
pub(super) fn day_and_month(text: &str) -> Option<(u32, u32, i32)> {
    if text.len() > LONGEST_TEXT {
        return None;
    }
    let text = text.split_once(' ').filter(|(word, _)| is_weekday(word)).map_or(text, |(_, date)| date.trim());
    let mark = text.chars().find(|c| !c.is_ascii_digit())?;
    if !matches!(mark, '/' | '.' | '-' | ' ') {
        return None;
    }
    let parts: Vec<&str> = text.trim_end_matches('.').split(mark).map(str::trim).collect();
    let [one, other, year] = parts.as_slice() else { return None };
    let number = |part: &str| part.parse::<u32>().ok().filter(|n| part.len() <= 2 && (1..=31).contains(n));
    Some((number(one)?, number(other)?, Period::year(year)?))
}

/// A day as ISO 8601 writes it, `2026-01-13`, the commonest form; no other form needs to be tried.
pub(super) fn iso_day(text: &str) -> Option<NaiveDate> {
    let [y @ .., b'-', m1, m2, b'-', d1, d2] = text.as_bytes() else { return None };
    let number = |digits: &[u8]| {
        let is_number = digits.iter().all(u8::is_ascii_digit);
        is_number.then(|| digits.iter().fold(0, |number, digit| 10 * number + u32::from(digit - b'0')))
    };
    let year = number(y).filter(|_| y.len() == 4).and_then(|year| i32::try_from(year).ok())?;
    NaiveDate::from_ymd_opt(year, number(&[*m1, *m2])?, number(&[*d1, *d2])?).filter(|_| YEARS.contains(&year))
}

/// A day that leaves no doubt: the year first, or the month in letters.
pub(super) fn certain_day(text: &str) -> Option<NaiveDate> {
    if let Some(day) = iso_day(text) {
        return Some(day);
    }
    let tokens = tokens(text);
    let mut tokens: Vec<&str> = tokens.iter().map(String::as_str).collect();
    tokens.retain(|token| !WEEKDAYS.contains(token) && !matches!(*token, "de" | "of"));
    if tokens.len() == 4 && OTHER_WEEKDAYS.contains(&tokens[0]) {
        tokens.remove(0);
    }
    if let [one] = tokens.as_slice() {
        let is_compact = one.len() == 8 && one.bytes().all(|byte| byte.is_ascii_digit());
        return NaiveDate::parse_from_str(one, "%Y%m%d")
            .ok()
            .filter(|day| is_compact && BARE_YEARS.contains(&day.year()));
    }
    let [a, b, c] = tokens.as_slice() else { return None };
    if c.len() == 2 && ends_in_two_days(text) {
        return None;
    }
    let number = |part: &str| {
        let digits = ["st", "nd", "rd", "th", "er", "º"].iter().find_map(|end| part.strip_suffix(end)).unwrap_or(part);
        digits.parse::<u32>().ok().filter(|_| digits.len() <= 2)
    };
    let (year, month, day) = match (month_name(a), month_name(b)) {
        (Some(month), _) => (c, month, number(b)?),
        (None, Some(month)) if a.len() == 4 && a.bytes().all(|byte| byte.is_ascii_digit()) => (a, month, number(c)?),
        (None, Some(month)) => (c, month, number(a)?),
        (None, None) if a.len() == 4 => (a, number(b)?, number(c)?),
        (None, None) => return None,
    };
    NaiveDate::from_ymd_opt(Period::year(year)?, month, day)
}

/// Whether a text ends in the days of a range, and no year: `Nov 14-16`.
fn ends_in_two_days(text: &str) -> bool {
    let is_digit = |c: char| c.is_ascii_digit();
    let before = text.trim_end().trim_end_matches(is_digit).strip_suffix(['-', '–', '/']);
    before.is_some_and(|before| {
        let rest = before.trim_end_matches(is_digit);
        rest.len() < before.len() && rest.ends_with(char::is_whitespace)
    })
}

/// A date and its time of day, where one follows.
pub(super) fn split_time(text: &str) -> (&str, Option<String>) {
    let Some(at) = text.find(':').filter(|_| text.len() <= LONGEST_TEXT) else { return (text, None) };
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
pub(super) fn tokens(text: &str) -> Vec<String> {
    if text.len() > LONGEST_TEXT {
        return Vec::new();
    }
    let text = text.to_lowercase().replace(['\'', '’'], " ");
    let marks = |c: char| c.is_whitespace() || matches!(c, '-' | '/' | '.' | ',' | '_' | '–');
    // `1.º semestre`
    let is_word = |token: &&str| !token.is_empty() && !matches!(*token, "º" | "ª");
    let mut tokens: Vec<String> = text.split(marks).filter(is_word).map(str::to_owned).collect();
    // `1q24`, `q124`: a quarter and a year written together.
    if let [only] = tokens.as_slice()
        && let Some((quarter, year)) = together(only)
    {
        tokens = vec![quarter, year];
    }
    tokens
}

fn together(token: &str) -> Option<(String, String)> {
    // `1T26`: a quarter of Romance languages.
    if let [b'1'..=b'4', b't', year @ ..] = token.as_bytes()
        && matches!(year.len(), 2 | 4)
        && year.iter().all(u8::is_ascii_digit)
    {
        return Some((format!("q{}", &token[..1]), token[2..].to_owned()));
    }
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
    let digit =
        ["q", "t", "k"].iter().find_map(|mark| token.strip_prefix(mark)).or_else(|| token.strip_suffix(['q', 't']))?;
    digit.parse().ok().filter(|quarter| (1..=4).contains(quarter) && digit.len() == 1)
}

/// A quarter by a Roman numeral, beside a word for quarters only: alone, `III/2024` may be March.
fn roman(token: &str) -> Option<u32> {
    let place = ["i", "ii", "iii", "iv"].iter().position(|numeral| *numeral == token)?;
    u32::try_from(place + 1).ok()
}

fn half(token: &str) -> Option<u32> {
    token.strip_prefix('h')?.parse().ok().filter(|half| (1..=2).contains(half))
}

/// `kw11`, `w11`, `s11` (French, Spanish); `s2` may be a half of a year, and `w1` a terminal.
fn week(token: &str) -> Option<u32> {
    let number = ["kw", "wk", "week", "cw", "w", "s"].iter().find_map(|mark| token.strip_prefix(mark))?;
    let is_plain = token.starts_with('w') || token.starts_with('s');
    week_number(number)
        .filter(|_| !is_plain || number.len() == 2 || token.starts_with("week") || token.starts_with("wk"))
}

fn week_number(text: &str) -> Option<u32> {
    let is_number = matches!(text.len(), 1 | 2) && text.bytes().all(|byte| byte.is_ascii_digit());
    text.parse().ok().filter(|week| is_number && (1..=53).contains(week))
}

/// `KW 11`, `week 11`, `sem. 11`; `sem. 2` may be a half of a year.
fn is_week(word: &str, number: &str) -> bool {
    let is_word = matches!(
        word,
        "kw" | "wk" | "cw" | "week" | "woche" | "kalenderwoche" | "sem" | "semaine" | "semana" | "settimana" | "sett"
    );
    is_word && week_number(number).is_some() && !(word == "sem" && matches!(number, "1" | "2"))
}

fn is_year_word(token: &str) -> bool {
    matches!(token, "year" | "fy" | "jahr" | "année" | "annee" | "an" | "exercice" | "año" | "anno" | "ano" | "jaar")
}

fn is_half_word(token: &str) -> bool {
    matches!(token, "half" | "halbjahr" | "hj" | "semestre" | "sem" | "semester" | "halfjaar")
}

fn is_quarter_word(token: &str) -> bool {
    matches!(token, "quarter" | "qtr" | "quartal" | "trimestre" | "trim" | "kwartaal" | "q")
}

/// The number of a quarter: `1`, `1st`, `2nd`, `1er`, `2º`, `3e`.
fn ordinal(token: &str) -> Option<u32> {
    if let Some(quarter) = roman(token) {
        return Some(quarter);
    }
    let digit = token.chars().next()?.to_digit(10).filter(|digit| (1..=4).contains(digit))?;
    let ends = ["", "st", "nd", "rd", "th", "er", "ère", "e", "ème", "º", "ª", "°", "o", "a", "ste", "de"];
    ends.contains(&&token[1..]).then_some(digit)
}

/// Days of the week in other languages, some of which are also months: only before a whole date.
const OTHER_WEEKDAYS: &[&str] = &[
    "mo",
    "di",
    "mi",
    "do",
    "fr",
    "sa",
    "so",
    "montag",
    "dienstag",
    "mittwoch",
    "donnerstag",
    "freitag",
    "samstag",
    "sonntag",
    "lun",
    "mar",
    "mer",
    "jeu",
    "ven",
    "sam",
    "dim",
    "lundi",
    "mardi",
    "mercredi",
    "jeudi",
    "vendredi",
    "samedi",
    "dimanche",
    "mié",
    "jue",
    "vie",
    "sáb",
    "dom",
    "lunes",
    "martes",
    "miércoles",
    "jueves",
    "viernes",
    "sábado",
    "domingo",
    "gio",
    "sab",
    "lunedì",
    "martedì",
    "mercoledì",
    "giovedì",
    "venerdì",
    "sabato",
    "domenica",
    "ma",
    "wo",
    "vr",
    "za",
    "zo",
    "seg",
    "ter",
    "qua",
    "qui",
    "sex",
];
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
pub(super) fn month_name(token: &str) -> Option<u32> {
    let letters = token.chars().count();
    if letters < 3 || !token.chars().all(char::is_alphabetic) {
        return None;
    }
    let fits = |names: &[&str]| names.iter().any(|name| name.starts_with(token));
    let mut months = (1..).zip(MONTHS).filter(|(_, names)| fits(names)).map(|(number, _)| number);
    let found = months.next()?;
    months.next().is_none().then_some(found)
}
