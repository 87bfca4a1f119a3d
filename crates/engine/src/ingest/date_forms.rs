//! How the dates of an input are read: in the forms that the user named, and in an order of day and month that the other dates of
//! their column prove.
//!
//! Day and month are never guessed. A date with a number above twelve is certain by itself; it also proves the order of the
//! other dates of its column, unless another one proves the opposite.

use super::dates::{
    Dated, LONGEST_TEXT, Period, YEARS, certain_day, day_and_month, iso_day, month_name, split_time, tokens,
};
use super::reading_rules::ReadingRules;
use crate::error::{Failure, shown};
use chrono::{Datelike, NaiveDate};
use groundwall::record::validate::date_by_form;
use std::collections::BTreeMap;
use std::fmt::Write as _;

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

    /// Whether the dates proved the order of day and month.
    #[must_use]
    pub const fn is_proved(&self) -> bool {
        self.order.is_some()
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
        if !self.given.is_empty() || iso_day(date).is_some() {
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
            if let Some(month) = month_by_form(text, form) {
                return month.dated(self.as_of);
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

/// The question about a column of dates of which a spreadsheet of another country seems to have exchanged day and month: it left those that
/// it could not read as texts, all with a day above twelve, and took the day of all others, twelve at most, for the month.
pub fn question_of_exchanged<'a>(place: &str, header: &str, texts: impl Iterator<Item = &'a str>) -> Option<Failure> {
    /// Fewer dates may look so by chance.
    const LEAST: usize = 4;
    let (mut written, mut taken) = (Vec::new(), Vec::new());
    for text in texts.map(str::trim).filter(|text| !text.is_empty() && text.len() <= LONGEST_DATE) {
        let date = split_time(text).0;
        if let Some(day) = iso_day(date) {
            if day.day() > 12 {
                return None;
            }
            taken.push(text);
        } else if let Some((one, other, _)) = day_and_month(date) {
            proves(one, other)?;
            written.push(text);
        }
    }
    let (first, other) = (written.first()?, taken.first()?);
    (written.len() > 1 && written.len() + taken.len() >= LEAST).then(|| {
        let whose = match header.trim() {
            "" => "the header".to_owned(),
            header => format!("column {}", shown(header)),
        };
        Failure::usage(format!(
            "{place}: {whose} has dates as texts, all with a day above 12, such as {}, and all others, such as {}, with a day of 12 at most: a \
             spreadsheet may have exchanged day and month of these",
            shown(first),
            shown(other)
        ))
        .hint("compare them with the test sheets, and write them all as year-month-day")
    })
}

/// Longer texts are not dates.
const LONGEST_DATE: usize = 40;

/// Every day that three numbers may be.
fn possible_days(text: &str) -> Vec<NaiveDate> {
    let Some((one, other, year)) = day_and_month(split_time(text.trim()).0) else { return Vec::new() };
    let year_first =
        three_numbers(text.trim()).and_then(|[year, month, day]| Some((two_digit_year(year)?, month, day)));
    let orders = [Some((year, other, one)), Some((year, one, other)), year_first];
    orders.into_iter().flatten().filter_map(|(year, month, day)| NaiveDate::from_ymd_opt(year, month, day)).collect()
}

/// Whether the dates of a column of three numbers of two digits have the year last: one of them cannot have it first, or the last numbers
/// are recent years and the first ones can hardly be years. A single date in the future proves nothing: it may be a typing error, or a test after
/// the as-of date.
fn is_year_last(texts: &[&str], as_of: Option<NaiveDate>) -> bool {
    /// The last test of a history is rarely older than this, in years.
    const RECENT: i32 = 5;
    /// Days of a month spread over a wider range than years, by this factor.
    const MORE: i32 = 3;
    /// The days of tests made throughout a year spread at least this far.
    const SPREAD: i32 = 12;
    /// One date, or a tenth of them, may be a typing error or a future test.
    const MOST_SLIPS: usize = 1;
    const SHARE_OF_SLIPS: usize = 10;
    /// Histories are shorter than this, in years.
    const LONG: i32 = 20;
    let (mut first, mut last): (Vec<i32>, Vec<i32>) = (Vec::new(), Vec::new());
    let (mut days_first, mut days_last): (Vec<NaiveDate>, Vec<NaiveDate>) = (Vec::new(), Vec::new());
    let mut to_come = 0;
    for text in texts {
        let date = split_time(text).0;
        let Some((one, other, year)) = day_and_month(date) else { continue };
        let day = [(other, one), (one, other)].into_iter().find_map(|(m, d)| NaiveDate::from_ymd_opt(year, m, d));
        let is_past = day.is_some_and(|day| as_of.is_none_or(|as_of| day <= as_of));
        match three_numbers(date).and_then(|[year, ..]| two_digit_year(year)) {
            None if is_past => return true,
            None => {}
            Some(_) if !is_past => to_come += 1,
            Some(number) => {
                first.push(number);
                last.push(year);
                days_last.extend(day);
                days_first.extend(
                    three_numbers(date).and_then(|[_, month, day]| NaiveDate::from_ymd_opt(number, month, day)),
                );
            }
        }
    }
    let (Some(as_of), Some(newest), Some(newest_first)) = (as_of, last.iter().max(), first.iter().max()) else {
        return false;
    };
    let spread = |years: &[i32]| years.iter().max().zip(years.iter().min()).map_or(0, |(max, min)| max - min);
    let is_recent = |year: i32| as_of.year() - year <= RECENT;
    // Tests that are always made on one day of the month are in order only if the first number is the year.
    let rise = |days: &[NaiveDate]| days.windows(2).all(|two| two[0] <= two[1]);
    if days_first.len() > 2 && rise(&days_first) && !rise(&days_last) {
        return false;
    }
    let are_ahead = first.len() > 1 && first.iter().all(|year| *year > as_of.year() + 1);
    let differ_more = spread(&first) >= (MORE * spread(&last)).max(1);
    let are_days = (differ_more && (spread(&first) >= SPREAD || !is_recent(*newest_first)))
        || (spread(&first) >= LONG && 2 * spread(&first) >= MORE * spread(&last));
    is_recent(*newest) && to_come <= MOST_SLIPS.max(first.len() / SHARE_OF_SLIPS) && (are_ahead || are_days)
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

/// Whether a `strftime` pattern names a month and its year, and no day: `%Y%m`.
#[must_use]
pub fn is_month_form(form: &str) -> bool {
    let written = |month, day| {
        let mut text = String::new();
        let date = NaiveDate::from_ymd_opt(2026, month, day)?;
        // Writing fails where the form has a mark that is unknown.
        write!(text, "{}", date.format(form)).ok().map(|()| text)
    };
    let (Some(first), Some(last)) = (written(11, 1), written(11, 23)) else { return false };
    first == last && month_in(&first, form) == Some(Period::Month(2026, 11))
}

/// The month that a text of such a pattern names.
fn month_by_form(text: &str, form: &str) -> Option<Period> {
    (text.len() <= LONGEST_TEXT && is_month_form(form)).then(|| month_in(text, form))?
}

fn month_in(text: &str, form: &str) -> Option<Period> {
    let date = NaiveDate::parse_from_str(&format!("{text} 01"), &format!("{form} %d")).ok()?;
    YEARS.contains(&date.year()).then(|| Period::Month(date.year(), date.month()))
}

/// Three numbers of two digits of which the first may be the year: `26/10/13`, and not `23/05/2024`, `05/23/24`, `10/13/45`.
fn three_numbers(text: &str) -> Option<[u32; 3]> {
    let (first, month, _) = day_and_month(split_time(text).0)?;
    let last: u32 = split_time(text).0.trim_end_matches('.').rsplit(['/', '.', '-', ' ']).next()?.parse().ok()?;
    let is_day = NaiveDate::from_ymd_opt(two_digit_year(first)?, month, last).is_some();
    (last < 100 && is_day).then_some([first, month, last])
}

fn two_digit_year(number: u32) -> Option<i32> {
    Period::year(&format!("{number:02}"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ingest::dates::is_part_of_year;

    fn read(text: &str, order: Option<Order>) -> Option<String> {
        let as_of = NaiveDate::from_ymd_opt(2026, 11, 3);
        let forms = DateForms { order, as_of, year_is_last: true, months_have_years: true, ..DateForms::default() };
        forms.read(text).map(|dated| dated.iso)
    }

    #[test]
    fn a_form_of_months_reads_months() {
        let given = vec!["%Y%m".to_owned()];
        let forms = DateForms { given, as_of: NaiveDate::from_ymd_opt(2026, 11, 3), ..DateForms::default() };
        let found = forms.read("202603").and_then(|dated| dated.period);
        assert_eq!(found, Some(Period::Month(2026, 3)));
        assert_eq!(forms.read("202613"), None);
        assert!(is_month_form("%m/%Y") && !is_month_form("%d/%m/%Y") && !is_month_form("%m") && !is_month_form("%Q"));
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
        // A date to come, or a slip, is no proof that the first numbers are days.
        let years = ["24-01-20", "24-07-10", "25-04-11", "26-10-02"];
        let unread = vec![None; 4];
        assert_eq!(column(&years), unread);
        for to_come in ["26-12-05", "27-03-04", "28-03-04", "24-02-30"] {
            assert_eq!(column(&[&years[..], &[to_come]].concat())[..4], unread, "{to_come}");
        }
        assert_eq!(column(&["28-03-04"]), [None]);
        let always_on_the_25th = ["10-12-25", "12-03-25", "14-04-25", "18-03-25", "22-03-25", "26-03-25"];
        assert_eq!(column(&always_on_the_25th), vec![None; 6]);
        // Twelve years of days.
        let long = ["05/03/14", "28/04/16", "11/06/18", "30/09/20", "17/02/22", "31/05/24", "08/07/26"];
        assert!(column(&long).iter().all(Option::is_some));
        let always_on_the_first = ["24-01-01", "24-07-01", "25-01-01", "26-01-01"];
        assert_eq!(column(&always_on_the_first), unread);
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
