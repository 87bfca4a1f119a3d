//! From the texts of one row to a test, or to the list of everything that is wrong with it.
//!
//! Each cell is judged by one rule; a row with one bad cell is refused whole, with every fault named, so that it can be
//! mended in one go. Nothing is guessed: the order of day and month, the decimal mark, an unknown word for an event.

use super::columns::{Column, TemperatureScale};
use super::words::{event, identifier, in_years, is_missing, iso_date, lead_check};
use super::{Connection, Origin, Scope, TestRecord, TestedOn};
use crate::resistance::{CellFault, CellRules, Measured, ResistanceUnit, TimedReading, read_decimal};
use crate::units::{Elapsed, OutOfRange, RelativeHumidity, Resistance, Temperature, Voltage};
use chrono::{Days, NaiveDate, NaiveDateTime};

/// Longest identifier of a winding, in characters.
pub const WINDING_MAX_CHARS: usize = 120;

/// One thing wrong with one cell.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// The column, under the name that is understood.
    pub column: String,
    /// The text found.
    pub value: String,
    /// The rule it breaks.
    pub rule: String,
    /// What to do.
    pub hint: String,
}

impl Fault {
    pub(super) fn new(column: impl ToString, value: &str, rule: impl Into<String>, hint: impl Into<String>) -> Self {
        Self { column: column.to_string(), value: value.to_owned(), rule: rule.into(), hint: hint.into() }
    }
}

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
    /// The day of a serial number from 1954 to 2173; `None` for any other text, which is no plausible date.
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
            full_scale: None,
        }
    }
}

impl TestRules {
    /// Reads one row. Cells may come in any order; an absent cell is an empty one.
    ///
    /// # Errors
    ///
    /// Every [`Fault`] of the row, in the order of its cells.
    ///
    /// # Examples
    ///
    /// ```
    /// use groundwall::record::{columns::Column, validate::TestRules, Origin};
    /// let cells = [("winding", "P-101"), ("tested_on", "2026-02-30"), ("r_60s", "-3.1")];
    /// let cells = cells.map(|(header, text)| (Column::read(header).unwrap(), text));
    /// let faults = TestRules::default().validate(cells, Origin::default()).unwrap_err();
    /// assert_eq!(faults.len(), 2);
    /// assert_eq!(faults[1].rule, "a resistance must be greater than 0 MΩ");
    /// ```
    pub fn validate<'a>(
        &self,
        cells: impl IntoIterator<Item = (Column, &'a str)>,
        origin: Origin,
    ) -> Result<TestRecord, Vec<Fault>> {
        let mut row = Row::new(origin);
        for (column, text) in cells {
            self.cell(&mut row, column, text.trim());
        }
        row.finish(self.full_scale)
    }

    fn cell(&self, row: &mut Row, column: Column, text: &str) {
        if text.is_empty() {
            return;
        }
        let test = &mut row.test;
        let outcome = match column {
            Column::Winding => identifier(text).map(|name| test.winding = name),
            Column::TestedOn => self.tested_on(text).map(|day| row.tested_on = Some(day)),
            Column::Connection => {
                test.connection = Connection::read(text);
                Ok(())
            }
            Column::Scope => Scope::read(text).map(|scope| test.scope = scope).ok_or_else(|| {
                Fault::new(column, text, "a scope is winding or winding+cable", "put anything else into the note")
            }),
            Column::TestVolts => self
                .quantity(column, text, &["v", "volt", "volts", "vdc"], Voltage::from_volts)
                .map(|v| test.test_volts = v),
            Column::OutputVolts => self
                .quantity(column, text, &["v", "volt", "volts", "vdc"], Voltage::from_volts)
                .map(|v| test.output_volts = v),
            Column::Reading(elapsed, unit) => self.resistance(column, unit, text).and_then(|value| {
                let Some(value) = value else { return Ok(()) };
                match test.readings.iter().find(|reading| reading.elapsed == elapsed) {
                    Some(earlier) if earlier.value != value => Err(Fault::new(
                        column,
                        text,
                        format!("two columns give different readings at {elapsed}"),
                        "keep one of the two columns",
                    )),
                    Some(_) => Ok(()),
                    None => {
                        test.readings.push(TimedReading { elapsed, value });
                        Ok(())
                    }
                }
            }),
            Column::Elapsed(unit) => self
                .quantity(column, text, &["s", "sec", "min"], |number| {
                    Elapsed::from_seconds(number * unit.in_seconds())
                })
                .map(|at| row.elapsed = at),
            Column::Resistance(unit) => {
                self.resistance(column, unit, text).map(|value| row.timed = value.map(|value| (column, value)))
            }
            Column::WindingTemp(scale) => self.temperature(column, scale, text).map(|t| test.winding_temp = t),
            Column::AirTemp(scale) => self.temperature(column, scale, text).map(|t| test.air_temp = t),
            Column::Humidity => self
                .quantity(column, text, &["%", "% rh", "%rh"], RelativeHumidity::from_percent)
                .map(|h| test.humidity = h),
            Column::Instrument => {
                test.instrument = Some(text.to_owned());
                Ok(())
            }
            Column::FullScale(unit) => self.resistance(column, unit, text).and_then(|value| match value {
                Some(Measured::Exact(limit)) => {
                    test.full_scale = Some(limit);
                    Ok(())
                }
                None => Ok(()),
                Some(_) => Err(Fault::new(
                    column,
                    text,
                    "a full scale is a plain resistance",
                    "write the largest value the tester can show",
                )),
            }),
            Column::LeadCheck => lead_check(text).map(|seen| test.lead_check = seen),
            Column::Event => event(text).map(|done| test.event = done),
            Column::Note => {
                test.note = Some(text.to_owned());
                Ok(())
            }
        };
        if let Err(fault) = outcome {
            row.faults.push(fault);
        }
    }

    fn resistance(&self, column: Column, unit: ResistanceUnit, text: &str) -> Result<Option<Measured>, Fault> {
        CellRules { unit, decimal_comma: self.decimal_comma, zero_means_below: self.zero_means_below }
            .read(text)
            .map_err(|fault| Fault::new(column, text, fault.rule(), fault.hint()))
    }

    fn quantity<Q>(
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

    fn temperature(&self, column: Column, scale: TemperatureScale, text: &str) -> Result<Option<Temperature>, Fault> {
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
        match scale {
            TemperatureScale::Celsius => self.quantity(column, text, &["°c", "c"], Temperature::from_celsius),
            TemperatureScale::Fahrenheit => self.quantity(column, text, &["°f", "f"], Temperature::from_fahrenheit),
        }
    }

    fn tested_on(&self, text: &str) -> Result<TestedOn, Fault> {
        if let Some(count) = self.workbook {
            let day = count.day(text).map(TestedOn::day);
            if let Some(written) = day.or_else(|| iso_date(text).ok()) {
                return in_years(text, written);
            }
        }
        let parsed = match &self.date_format {
            Some(format) => NaiveDateTime::parse_from_str(text, format)
                .map(|at| TestedOn { date: at.date(), time: Some(at.time()) })
                .or_else(|_| NaiveDate::parse_from_str(text, format).map(TestedOn::day))
                .map_err(|_| {
                    Fault::new(
                        Column::TestedOn,
                        text,
                        format!("a date here has the form `{format}` given by --date-format"),
                        "mend the date, or put rows with another form of date into a file of their own",
                    )
                }),
            None => iso_date(text),
        }?;
        in_years(text, parsed)
    }
}

/// The row as far as it has been read.
struct Row {
    test: TestRecord,
    tested_on: Option<TestedOn>,
    elapsed: Option<Elapsed>,
    timed: Option<(Column, Measured)>,
    faults: Vec<Fault>,
}

impl Row {
    fn new(origin: Origin) -> Self {
        let test = TestRecord {
            winding: String::new(),
            connection: Connection::AllEarth,
            scope: Scope::Winding,
            tested_on: TestedOn::day(NaiveDate::default()),
            readings: Vec::new(),
            test_volts: None,
            output_volts: None,
            winding_temp: None,
            air_temp: None,
            humidity: None,
            instrument: None,
            full_scale: None,
            lead_check: None,
            event: None,
            note: None,
            origin,
        };
        Self { test, tested_on: None, elapsed: None, timed: None, faults: Vec::new() }
    }

    fn finish(mut self, full_scale: Option<Resistance>) -> Result<TestRecord, Vec<Fault>> {
        let named = |column: Column, faults: &[Fault]| faults.iter().any(|fault| fault.column == column.to_string());
        if self.test.winding.is_empty() && !named(Column::Winding, &self.faults) {
            self.faults.push(Fault::new(
                Column::Winding,
                "",
                "every test names its winding",
                "write the winding's identifier",
            ));
        }
        match self.tested_on {
            Some(day) => self.test.tested_on = day,
            None if named(Column::TestedOn, &self.faults) => {}
            None => self.faults.push(Fault::new(
                Column::TestedOn,
                "",
                "every test has a date",
                "write the day of the test, such as 2026-04-03",
            )),
        }
        self.take_timed();
        if self.test.readings.is_empty() && self.test.event.is_none() && self.faults.is_empty() {
            self.faults.push(Fault::new(
                "r_60s",
                "",
                "a row has at least one resistance or an event",
                "write what the tester showed, OL included, or delete the row",
            ));
        }
        if !self.faults.is_empty() {
            return Err(self.faults);
        }
        let full_scale = self.test.full_scale.or(full_scale);
        for reading in &mut self.test.readings {
            reading.value = reading.value.with_full_scale(full_scale);
        }
        self.test.readings.sort_by(|a, b| a.elapsed.as_seconds().total_cmp(&b.elapsed.as_seconds()));
        Ok(self.test)
    }
}

impl Row {
    /// A row of one timed reading: the resistance goes to its elapsed time.
    fn take_timed(&mut self) {
        let Some((column, value)) = self.timed else { return };
        let already = |at| self.test.readings.iter().find(|reading| reading.elapsed == at);
        match self.elapsed {
            None if self.faults.iter().any(|fault| fault.column.starts_with("elapsed")) => {}
            None => self.faults.push(Fault::new(
                "elapsed_s",
                "",
                "a timed reading has the time at which it was taken",
                "write the seconds since the voltage was applied",
            )),
            Some(elapsed) => match already(elapsed) {
                Some(earlier) if earlier.value != value => self.faults.push(Fault::new(
                    column,
                    &value.to_string(),
                    format!("two columns give different readings at {elapsed}"),
                    "keep one of the two columns",
                )),
                Some(_) => {}
                None => self.test.readings.push(TimedReading { elapsed, value }),
            },
        }
    }
}

#[cfg(test)]
mod tests;
