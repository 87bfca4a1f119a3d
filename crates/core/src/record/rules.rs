//! How the cells of a history are to be read: numbers, temperatures, dates by a given form.

use super::TestedOn;
use super::columns::{Column, TemperatureScale};
use super::dates::{in_years, is_possible_year, iso_date};
use super::fault::Fault;
use super::words::is_missing;
use crate::resistance::{CellFault, CellRules, Measured, ResistanceUnit, read_decimal};
use crate::units::{OutOfRange, Resistance, Temperature};
use chrono::{Datelike, Days, NaiveDate, NaiveDateTime};

/// How the cells of a history are to be read.
#[derive(Clone, Debug, PartialEq)]
pub struct TestRules {
    /// Whether `,` is the decimal mark.
    pub decimal_comma: bool,
    /// A `strftime` pattern for dates that are not ISO.
    pub date_format: Option<String>,
    /// Whether the rows come from a workbook. Its date cells arrive as ISO dates, which are then read beside `date_format`,
    /// and a date that lost its format arrives as a count of days, which is read by the workbook's own rule.
    pub workbook: Option<DayCount>,
    /// What a reading of zero means: less than this.
    pub zero_means_below: Resistance,
    /// Full scale of testers whose rows do not say it.
    pub full_scale: Option<Resistance>,
    /// The last day that a test can have been made on: today. A later date is a slip, and the row may be the latest; none asks for nothing.
    pub latest_day: Option<NaiveDate>,
}

/// The day from which a workbook counts its dates.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DayCount {
    /// Day 1 is 1 January 1900, with a 29 February 1900 that never was: the usual one.
    From1900,
    /// Day 0 is 1 January 1904.
    From1904,
}

impl DayCount {
    /// The day of a serial number from 1954 to 2173; `None` for any other text, which is not a plausible date.
    #[must_use]
    pub fn day(self, text: &str) -> Option<NaiveDate> {
        let days = text.parse::<u64>().ok().filter(|days| (20_000..100_000).contains(days))?;
        let start = match self {
            Self::From1900 => NaiveDate::from_ymd_opt(1899, 12, 30),
            Self::From1904 => NaiveDate::from_ymd_opt(1904, 1, 1),
        };
        start?.checked_add_days(Days::new(days))
    }
}

impl Default for TestRules {
    fn default() -> Self {
        let cell = CellRules::default();
        Self {
            decimal_comma: false,
            date_format: None,
            workbook: None,
            zero_means_below: cell.zero_means_below,
            latest_day: None,
            full_scale: None,
        }
    }
}

impl TestRules {
    pub(super) fn resistance(
        &self,
        column: Column,
        unit: ResistanceUnit,
        text: &str,
    ) -> Result<Option<Measured>, Fault> {
        CellRules { unit, decimal_comma: self.decimal_comma, zero_means_below: self.zero_means_below }
            .read(text)
            .map_err(|fault| Fault::new(column, text, fault.rule(), fault.hint()))
    }

    pub(super) fn quantity<Q>(
        &self,
        column: Column,
        text: &str,
        units: &[&str],
        from: impl Fn(f64) -> Result<Q, OutOfRange>,
    ) -> Result<Option<Q>, Fault> {
        if is_missing(text) {
            return Ok(None);
        }
        let lower = text.to_lowercase();
        let bare =
            units.iter().filter_map(|unit| lower.strip_suffix(unit)).map(str::trim_end).min_by_key(|rest| rest.len());
        let number =
            read_decimal(bare.unwrap_or(&lower).replace('−', "-").trim(), self.decimal_comma).map_err(|fault| {
                let hint = if fault == CellFault::CommaWithoutOption {
                    fault.hint()
                } else {
                    "write a number in the unit that the header names"
                };
                let rule = if fault == CellFault::NotANumber { "this column holds numbers" } else { fault.rule() };
                Fault::new(column, text, rule, hint)
            })?;
        from(number).map(Some).map_err(|error| {
            Fault::new(
                column,
                text,
                format!("{} lies between {}", error.quantity, error.rule().replacen(" to ", " and ", 1)),
                "check the digits and the unit against the test sheet",
            )
        })
    }

    pub(super) fn temperature(
        &self,
        column: Column,
        scale: TemperatureScale,
        text: &str,
    ) -> Result<Option<Temperature>, Fault> {
        let (other, name) = match scale {
            TemperatureScale::Celsius => ('f', "°F"),
            TemperatureScale::Fahrenheit => ('c', "°C"),
        };
        let lower = text.to_lowercase();
        if lower.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '-' | '−')) && lower.ends_with(other) {
            let renamed = match column {
                Column::AirTemp(_) => format!("air_temp_{other}"),
                _ => format!("winding_temp_{other}"),
            };
            return Err(Fault::new(
                column,
                text,
                format!("the cell says {name} and its column holds the other scale"),
                format!(
                    "if the whole column is in {name}, name it {renamed}, or give its header that name under [columns] \
                     in the policy file; if only this cell is, convert it"
                ),
            ));
        }
        let units: &[&str] = match scale {
            TemperatureScale::Celsius => &["°c", "c"],
            TemperatureScale::Fahrenheit => &["°f", "f"],
        };
        self.quantity(column, text, units, |number| scale.temperature(number))
    }

    /// The given form of date with day and month exchanged, if a text has that form and not the given one.
    #[must_use]
    pub fn exchanged_form(&self, text: &str) -> Option<String> {
        let given = self.date_format.as_ref()?;
        let exchanged = given.replace("%d", "\0").replace("%m", "%d").replace('\0', "%m");
        let has = |form: &str| {
            NaiveDateTime::parse_from_str(text, form).is_ok() || NaiveDate::parse_from_str(text, form).is_ok()
        };
        (has(&exchanged) && !has(given)).then_some(exchanged)
    }

    fn other_form_hint(&self, text: &str) -> String {
        match self.exchanged_form(text) {
            Some(form) => format!(
                "it has the form `{form}`; if the file has that form throughout, its other dates were read with day and \
                 month exchanged: give --date-format {form}"
            ),
            None if iso_date(text).is_ok() => {
                "it is written year-month-day, which needs no form: leave out --date-format, or \
                put rows with another form of date into a file of their own"
                    .to_owned()
            }
            None => match self.other_year_or_month(text) {
                Some(form) => format!("it has the form `{form}`: give --date-format {}", as_argument(&form)),
                None => "correct the date, or put rows with another form of date into a file of their own".to_owned(),
            },
        }
    }

    /// The given form of date with the other kind of year or month, if a text has that form.
    fn other_year_or_month(&self, text: &str) -> Option<String> {
        let given = self.date_format.as_ref()?;
        let year = if given.contains("%Y") { given.replace("%Y", "%y") } else { given.replace("%y", "%Y") };
        let months =
            |form: &str| [("%m", "%b"), ("%m", "%B"), ("%b", "%m"), ("%b", "%B")].map(|(a, b)| form.replace(a, b));
        let forms = [year.clone()].into_iter().chain(months(given)).chain(months(&year));
        forms.filter(|form| form != given).find(|form| {
            let at = NaiveDateTime::parse_from_str(text, form).map(|at| at.date());
            at.or_else(|_| NaiveDate::parse_from_str(text, form)).is_ok_and(|day| is_possible_year(day.year()))
        })
    }

    /// Reads the day of another column than that of the test, by the same rules.
    pub(super) fn day(&self, column: Column, text: &str) -> Result<NaiveDate, Fault> {
        let day = self.tested_on(text).map(|on| on.date);
        day.map_err(|fault| Fault { column: column.to_string(), ..fault })
    }

    pub(super) fn tested_on(&self, text: &str) -> Result<TestedOn, Fault> {
        if let Some(count) = self.workbook {
            let day = count.day(text).map(TestedOn::day);
            if let Some(written) = day.or_else(|| iso_date(text).ok()) {
                return in_years(text, written);
            }
        }
        let parsed = match &self.date_format {
            Some(format) => date_by_form(text, format).ok_or_else(|| {
                Fault::new(
                    Column::TestedOn,
                    text,
                    format!("a date here has the form `{format}` given by --date-format"),
                    self.other_form_hint(text),
                )
            }),
            None => iso_date(text),
        }?;
        in_years(text, parsed).map_err(|fault| match self.other_year_or_month(text) {
            Some(form) => Fault {
                hint: format!("a year of two digits is %y: give --date-format {}", as_argument(&form)),
                ..fault
            },
            None => fault,
        })
    }
}

/// A date in the form of a `strftime` pattern; `None` where the text has another form.
///
/// `May 2023` does not have the form `%b %d %y`: a day is never made of the digits of a year.
#[must_use]
pub fn date_by_form(text: &str, form: &str) -> Option<TestedOn> {
    let at = NaiveDateTime::parse_from_str(text, form).map(|at| TestedOn { date: at.date(), time: Some(at.time()) });
    let parsed = at.or_else(|_| NaiveDate::parse_from_str(text, form).map(TestedOn::day)).ok()?;
    let has_letters = text.contains(char::is_alphabetic);
    let groups = |text: &str| text.split(|c: char| !c.is_ascii_digit()).filter(|group| !group.is_empty()).count();
    let again = || parsed.date.and_time(parsed.time.unwrap_or_default()).format(form).to_string();
    (!has_letters || groups(text) == groups(&again())).then_some(parsed)
}

/// A form of date as it is typed at a prompt.
fn as_argument(form: &str) -> String {
    if form.contains(' ') { format!("\"{form}\"") } else { form.to_owned() }
}
