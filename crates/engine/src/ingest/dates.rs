//! Dates as people write them: with the month in letters, with the year first, a month or a quarter alone, day and month in
//! an order that the other dates of the column prove.
//!
//! Day and month are never guessed. A date with a number above twelve is certain by itself; it also proves the order of the
//! other dates of its column, unless another one proves the opposite.

use super::ReadingRules;
use chrono::{Datelike, Days, NaiveDate};
use groundwall::record::validate::date_by_form;
use std::collections::BTreeMap;
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
    /// The last of three numbers of two digits is the year, as the column proves; else the first may be.
    pub year_is_last: bool,
    /// A number of two digits beside the name of a month is a year, as the column proves; else it may be a day.
    pub months_have_years: bool,
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

    /// A week that the year has.
    fn of_week(year: i32, week: u32) -> Option<Self> {
        NaiveDate::from_isoywd_opt(year, week, chrono::Weekday::Mon).map(|_| Self::Week(year, week))
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

/// Why a date is not read that only its column could settle.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Open {
    /// The rule that it breaks.
    pub rule: &'static str,
    /// What to do.
    pub hint: String,
}

impl Open {
    /// Of a date of three numbers of two digits with this mark between them.
    fn year(mark: char) -> Self {
        let form = |parts: [&str; 3]| parts.map(|part| format!("%{part}")).join(&mark.to_string());
        let (day, month, year) = (form(["d", "m", "y"]), form(["m", "d", "y"]), form(["y", "m", "d"]));
        Self {
            rule: "the year may be first or last, and the other dates do not settle it",
            hint: format!(
                "specify the date format: --date-format {day} if the day comes first, {month} if the month does, {year} if the year does"
            ),
        }
    }

    /// Of a month in letters with a number.
    fn day_or_year() -> Self {
        Self {
            rule: "the number beside the month may be a day or a year, and the other dates do not tell",
            hint: "write the year with four digits, such as May 2012; a day needs its year too, such as 12 May 2026"
                .to_owned(),
        }
    }

    /// Of a number that a spreadsheet counts days by.
    fn day_number() -> Self {
        Self {
            rule: "it looks like the number by which a spreadsheet counts days, and programs begin to count on different days",
            hint:
                "give the column the format of dates, such as 2026-04-03, in the spreadsheet, and save the file again"
                    .to_owned(),
        }
    }
}

impl DateForms {
    /// By the rules alone, before any date was seen.
    #[must_use]
    pub fn new(rules: &ReadingRules) -> Self {
        Self { given: rules.date_forms.clone(), as_of: rules.as_of, ..Self::default() }
    }

    /// Finds what the dates of a column prove; gives the order of day and month with the first text that proves it.
    pub fn prove<'a>(&mut self, texts: impl Iterator<Item = &'a str>) -> Option<(Order, String)> {
        let may_prove = |text: &&str| text.len() <= LONGEST_DATE && !self.is_later(text);
        let texts: Vec<&str> = texts.map(str::trim).filter(may_prove).collect();
        self.year_is_last = is_year_last(&texts, self.as_of);
        self.months_have_years = have_years(&texts, self.as_of);
        let open = |text: &&&str| self.year_is_last || three_numbers(text).is_none();
        let (order, proof) = proved_order(texts.iter().filter(open).copied())?;
        self.order = Some(order);
        Some((order, proof.to_owned()))
    }

    /// Whether a day is no later than the as-of date.
    #[must_use]
    pub fn is_until(&self, day: NaiveDate) -> bool {
        self.as_of.is_none_or(|as_of| day <= as_of)
    }

    /// Whether a text is certainly a day after the as-of date, whichever of its numbers is the day. Such rows decide nothing about
    /// the rows before.
    #[must_use]
    pub fn is_later(&self, text: &str) -> bool {
        let Some(as_of) = self.as_of else { return false };
        let days: Vec<NaiveDate> = match self.read(text) {
            Some(dated) => dated.iso.get(..10).and_then(|day| day.parse().ok()).into_iter().collect(),
            None if self.given.is_empty() => possible_days(text),
            None => Vec::new(),
        };
        !days.is_empty() && days.iter().all(|day| *day > as_of)
    }

    /// Why a text is not read that would be with a proof from its column.
    #[must_use]
    pub fn open(&self, text: &str) -> Option<Open> {
        let (date, _) = split_time(text.trim());
        if !self.given.is_empty() {
            return None;
        }
        if is_day_number(date) {
            return Some(Open::day_number());
        }
        if !self.year_is_last && three_numbers(date).is_some() {
            return Some(Open::year(date.chars().find(|c| !c.is_ascii_digit()).unwrap_or('/')));
        }
        (!self.months_have_years && month_and_number(text).is_some()).then(Open::day_or_year)
    }

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
        if self.open(text).is_some() {
            return None;
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

/// Whether a text may be a day as spreadsheets count them, from 1954 to 2100.
fn is_day_number(text: &str) -> bool {
    text.len() == 5 && text.parse().is_ok_and(|number: u32| (20_000..73_415).contains(&number))
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

/// A number that may be a day of a month.
#[must_use]
pub fn day_of_month(text: &str) -> Option<u32> {
    text.trim().parse().ok().filter(|day| (1..=31).contains(day))
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

/// Longer texts are not dates.
const LONGEST_DATE: usize = 40;

/// Longer texts are looked at no further, so that one of a mebibyte costs nothing.
const LONGEST_TEXT: usize = 120;

/// Three numbers of two digits of which the first may be the year: `26/10/13`, and not `23/05/2024`, `05/23/24`, `10/13/45`.
fn three_numbers(text: &str) -> Option<[u32; 3]> {
    let (first, month, _) = day_and_month(split_time(text).0)?;
    let last: u32 = split_time(text).0.trim_end_matches('.').rsplit(['/', '.', '-', ' ']).next()?.parse().ok()?;
    let is_day = NaiveDate::from_ymd_opt(two_digit_year(first)?, month, last).is_some();
    (last < 100 && is_day).then_some([first, month, last])
}

/// Every day that three numbers may be.
fn possible_days(text: &str) -> Vec<NaiveDate> {
    let Some((one, other, year)) = day_and_month(split_time(text.trim()).0) else { return Vec::new() };
    let year_first =
        three_numbers(text.trim()).and_then(|[year, month, day]| Some((two_digit_year(year)?, month, day)));
    let orders = [Some((year, other, one)), Some((year, one, other)), year_first];
    orders.into_iter().flatten().filter_map(|(year, month, day)| NaiveDate::from_ymd_opt(year, month, day)).collect()
}

fn two_digit_year(number: u32) -> Option<i32> {
    Period::year(&format!("{number:02}"))
}

/// Whether the dates of a column of three numbers of two digits have the year last: one of them cannot have it first, or the last
/// numbers vary less than the first, as years do beside days.
fn is_year_last(texts: &[&str], as_of: Option<NaiveDate>) -> bool {
    let (mut first, mut last) = (Vec::new(), Vec::new());
    for text in texts {
        let date = split_time(text).0;
        let Some((one, other, year)) = day_and_month(date) else { continue };
        match three_numbers(date) {
            Some(numbers) => {
                let year_first =
                    two_digit_year(numbers[0]).and_then(|year| NaiveDate::from_ymd_opt(year, numbers[1], numbers[2]));
                let year_last =
                    [(other, one), (one, other)].into_iter().find_map(|(m, d)| NaiveDate::from_ymd_opt(year, m, d));
                let is_past = |day: Option<NaiveDate>| day.is_some_and(|day| as_of.is_none_or(|as_of| day <= as_of));
                if !is_past(year_first) && is_past(year_last) {
                    return true;
                }
                first.push(numbers[0]);
                last.push(numbers[2]);
            }
            None => return true,
        }
    }
    let spread = |numbers: &[u32]| numbers.iter().max().zip(numbers.iter().min()).map_or(0, |(max, min)| max - min);
    spread(&last) < spread(&first)
}

/// A month in letters beside a number of two digits that may be a day or a year: `May 12`, and not `May 2012`, `May 45`, `May '12`.
fn month_and_number(text: &str) -> Option<(u32, u32)> {
    if text.contains(['\'', '’']) {
        return None;
    }
    let tokens = tokens(text);
    let [one, number] = tokens.as_slice() else { return None };
    let number: u32 = number.parse().ok().filter(|_| number.len() <= 2)?;
    Some((month_name(one)?, number)).filter(|_| (1..=31).contains(&number))
}

/// Whether numbers beside the names of months are years: as many others are written in full, the months come in order only so, or the
/// same recent year stands beside several months.
fn have_years(texts: &[&str], as_of: Option<NaiveDate>) -> bool {
    const RECENT: i32 = 9;
    let has = |text: &str, test: fn(char) -> bool| text.contains(test);
    let dates = texts.iter().filter(|text| has(text, char::is_alphabetic) && has(text, |c| c.is_ascii_digit()));
    let (mut found, mut with_year) = (Vec::new(), 0);
    for text in dates {
        match month_and_number(text) {
            Some(month_and_number) => found.push(month_and_number),
            None => with_year += usize::from(matches!(Period::read(text), Some(Period::Month(..)))),
        }
    }
    let this_year = as_of.map(|day| day.year());
    let years: Vec<i32> = found.iter().filter_map(|(_, number)| two_digit_year(*number)).collect();
    if years.iter().any(|year| this_year.is_some_and(|this| *year > this)) {
        return false;
    }
    // A title has a month and its year too.
    if with_year > 0 && with_year >= found.len() {
        return true;
    }
    let rises = |numbers: Vec<(u32, u32)>| numbers.windows(2).all(|pair| pair[0] <= pair[1]);
    let (by_day, by_year) = (found.clone(), found.iter().map(|(month, number)| (*number, *month)).collect());
    let mut first_month = BTreeMap::new();
    let several_months = found.iter().any(|(month, number)| first_month.entry(*number).or_insert(*month) != month);
    let are_recent = this_year.is_some_and(|this| years.iter().all(|year| this - year <= RECENT));
    (!found.is_empty() && rises(by_year) && !rises(by_day)) || (several_months && are_recent)
}

/// The two numbers before the year of `23/05/2024`, `23.5.24`, `05-23-2024`.
fn day_and_month(text: &str) -> Option<(u32, u32, i32)> {
    if text.len() > LONGEST_TEXT {
        return None;
    }
    let is_weekday = |word: &str| {
        let word = word.trim_end_matches([',', '.']).to_lowercase();
        WEEKDAYS.contains(&word.as_str()) || OTHER_WEEKDAYS.contains(&word.as_str())
    };
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

/// A text by a `strftime` pattern, in ISO form.
fn by_form(text: &str, form: &str) -> Option<String> {
    if text.len() > LONGEST_TEXT {
        return None;
    }
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

/// A date and its time of day, where one follows.
fn split_time(text: &str) -> (&str, Option<String>) {
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
fn tokens(text: &str) -> Vec<String> {
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
        let forms = DateForms { order, as_of, year_is_last: true, months_have_years: true, ..DateForms::default() };
        forms.read(text).map(|dated| dated.iso)
    }

    #[test]
    fn ordinals_of_other_languages_count_half_years() {
        for text in ["1.º semestre 2025", "1º semestre 2025", "1° semestre 2025", "H1 2025"] {
            assert_eq!(Period::read(text), Some(Period::Half(2025, 1)), "{text}");
        }
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
    fn a_calendar_week_is_its_thursday() {
        let middle = |text: &str| Period::read(text).and_then(|period| period.middle(None)).map(|day| day.to_string());
        for text in [
            "KW 11/2024",
            "KW11 2024",
            "W11 2024",
            "2024-W11",
            "wk 11 2024",
            "Week 11, 2024",
            "sem. 11 2024",
            "S11 2024",
            "KW 11/24",
            "2024 KW 11",
            "semaine 11 2024",
        ] {
            assert_eq!(middle(text).as_deref(), Some("2024-03-14"), "{text}");
        }
        assert_eq!(middle("2020-W53").as_deref(), Some("2020-12-31"));
        // A week that 2024 has not, a half of a year, a terminal, a power.
        for text in ["2024-W53", "S1 2024", "sem. 2 2024", "W1 2024", "KW 54/2024", "KW 0/2024", "w11"] {
            assert_eq!(middle(text), None, "{text}");
        }
        assert!(is_part_of_year("KW 11") && is_part_of_year("wk 11") && !is_part_of_year("kW 11"));
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
            ("2T 2024", "2024-05-16"),
            ("Año 2022", "2022-07-02"),
            ("FY 2022", "2022-07-02"),
            ("1° sem. 2024", "2024-04-01"),
            ("2. Halbjahr 2024", "2024-10-01"),
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
            "CW54/2024",
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

    /// How a column of dates is read as of 29 November 2026.
    fn column(texts: &[&str]) -> Vec<Option<String>> {
        let mut forms = DateForms { as_of: NaiveDate::from_ymd_opt(2026, 11, 29), ..DateForms::default() };
        forms.prove(texts.iter().copied());
        texts.iter().map(|text| forms.read(text).map(|dated| dated.iso)).collect()
    }

    #[test]
    fn the_day_of_the_week_is_passed_over() {
        for text in [
            "Mo 13.01.2026",
            "mar. 13/01/2026",
            "lunedì 13/01/2026",
            "Tue 13 Jan 2026",
            "1er octobre 2026",
            "Mar 13 2026",
        ] {
            assert!(DateForms::default().read(text).is_some_and(|dated| dated.period.is_none()), "{text}");
        }
    }

    #[test]
    fn numbers_of_days_are_asked_about() {
        let forms = DateForms::default();
        assert_eq!(forms.read("46032"), None);
        assert_eq!(
            forms.open("46032").map(|open| (open.rule, open.hint)),
            Some((
                "it looks like the number by which a spreadsheet counts days, and programs begin to count on different days",
                "give the column the format of dates, such as 2026-04-03, in the spreadsheet, and save the file again"
                    .to_owned()
            ))
        );
        assert_eq!((forms.open("20260"), forms.open("460321")), (Some(Open::day_number()), None));
    }

    #[test]
    fn the_year_of_three_short_numbers_is_proved_or_asked_for() {
        let read = |days: &[&str]| days.iter().map(|day| Some((*day).to_owned())).collect::<Vec<_>>();
        // The first numbers vary as years do.
        assert_eq!(column(&["25/07/26", "25/10/26", "26/01/25", "26/10/13"]), [None, None, None, None]);
        assert_eq!(column(&["23.05.24"]), [None]);
        assert_eq!(column(&["10/07/25", "14/10/25", "13/01/26"]), read(&["2025-07-10", "2025-10-14", "2026-01-13"]));
        // Neither a month nor a day to come is a proof against itself.
        assert_eq!(column(&["05/23/25", "05/06/26"]), read(&["2025-05-23", "2026-05-06"]));
        assert_eq!(column(&["30/01/26", "28/01/26"]), read(&["2026-01-30", "2026-01-28"]));
        let mut forms = DateForms::default();
        forms.prove(["26/10/13"].into_iter());
        assert_eq!(
            forms.open("26.10.13").map(|open| open.hint).as_deref(),
            Some(
                "specify the date format: --date-format %d.%m.%y if the day comes first, %m.%d.%y if the month does, %y.%m.%d if \
                 the year does"
            )
        );
        assert_eq!((forms.open("26/10/2013"), forms.open("05/23/25")), (None, None));
    }

    #[test]
    fn a_number_beside_a_month_is_a_year_where_the_column_proves_it() {
        assert_eq!(column(&["May 12", "Jun 30"]), [None, None]);
        assert_eq!(column(&["May 12"]), [None]);
        assert_eq!(column(&["Jan 10", "Apr 10", "Jul 10"]), [None, None, None]);
        assert_eq!(column(&["May 2026", "May 12", "Jun 13"])[1..], [None, None]);
        let months = |texts: &[&str]| column(texts).iter().all(Option::is_some);
        assert!(months(&["Jan 24", "Apr 24", "Jul 24"]) && months(&["Jan 24", "Jul 24", "Jan 25"]));
        assert!(months(&["Nov 21", "May 22", "Nov 22"]) && months(&["May '12"]) && months(&["May 2012", "Jun 12"]));
    }
}
