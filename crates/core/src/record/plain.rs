//! Cells that hold what most cells of their column hold, read at once. What is read here is read as all the rules would read it;
//! any other cell is left to them.
use super::columns::Column;
use super::dates::plain_date;
use super::row_buffer::RowBuffer;
use super::rules::TestRules;
use crate::resistance::{Measured, ResistanceUnit, TimedReading, plain_decimal};
use crate::units::{Elapsed, OutOfRange, RelativeHumidity, Resistance, Voltage};

impl TestRules {
    /// Reads a cell that is a plain number within its limits, a date as it should be, the winding of the row before, or a text
    /// that breaks no rule. False, and nothing read, for any other.
    #[inline]
    pub(super) fn plain_cell(&self, row: &mut RowBuffer, column: &Column, text: &str) -> bool {
        match column {
            Column::Winding => return row.winding_again(text),
            Column::TestedOn => {
                // Dates in another form may be asked for, except of date cells.
                let date = if self.date_format.is_none() || self.workbook.is_some() { plain_date(text) } else { None };
                row.tested_on = date.or(row.tested_on);
                return date.is_some();
            }
            Column::Connection => {
                row.connection(text);
                return true;
            }
            Column::Instrument => {
                row.instrument(text);
                return true;
            }
            Column::Scope | Column::LeadCheck | Column::Procedure(_) | Column::Event | Column::Note => return false,
            _ => {}
        }
        let test = &mut row.test;
        let Some(number) = plain_decimal(text, self.decimal_comma) else { return false };
        let resistance = |unit: ResistanceUnit| Resistance::from_megohms(unit.to_megohms(number));
        match *column {
            Column::Reading(elapsed, unit) => {
                let Ok(resistance) = resistance(unit) else { return false };
                test.readings.insert(TimedReading { elapsed, value: Measured::Exact(resistance) }).is_ok()
            }
            Column::Elapsed(unit) => took(&mut row.elapsed, Elapsed::from_seconds(number * unit.in_seconds())),
            Column::Resistance(unit) => {
                let reading = resistance(unit).map(|resistance| (*column, Measured::Exact(resistance)));
                took(&mut row.timed, reading)
            }
            Column::FullScale(unit) => took(&mut test.full_scale, resistance(unit)),
            Column::TestVolts => took(&mut test.test_volts, Voltage::from_volts(number)),
            Column::OutputVolts => took(&mut test.output_volts, Voltage::from_volts(number)),
            Column::WindingTemp(scale) => took(&mut test.winding_temp, scale.temperature(number)),
            Column::AirTemp(scale) => took(&mut test.air_temp, scale.temperature(number)),
            Column::Humidity => took(&mut test.humidity, RelativeHumidity::from_percent(number)),
            _ => false,
        }
    }
}

/// A cell without the blanks around it. Most have none, as their first and last byte tell.
pub(super) fn trimmed(text: &str) -> &str {
    let visible = |byte: Option<&u8>| byte.is_some_and(u8::is_ascii_graphic);
    let bytes = text.as_bytes();
    if visible(bytes.first()) && visible(bytes.last()) { text } else { text.trim() }
}

/// Puts a quantity into its place if it lies within its limits.
fn took<Q>(place: &mut Option<Q>, quantity: Result<Q, OutOfRange>) -> bool {
    let quantity = quantity.ok();
    let is_there = quantity.is_some();
    if is_there {
        *place = quantity;
    }
    is_there
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::columns::{ElapsedUnit, TemperatureScale};
    use crate::record::dates::{in_years, iso_date};
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig { cases: 4000, ..ProptestConfig::default() })]

        #[test]
        fn a_cell_read_at_once_is_read_as_by_all_the_rules(
            text in "-?[0-9]{1,4}([.,][0-9]{0,3})?|[0-9]{17}|-?[0-9]{1,2}[.,][0-9]{1,16}|[>-]|n/a|0|-0|1e3|5 V",
            place in 0usize..9,
            comma: bool,
        ) {
            let minute = Elapsed::from_seconds(60.0).expect("it is a time");
            let column = [
                Column::Reading(minute, ResistanceUnit::Megohm),
                Column::Reading(minute, ResistanceUnit::Gigohm),
                Column::TestVolts,
                Column::WindingTemp(TemperatureScale::Celsius),
                Column::AirTemp(TemperatureScale::Fahrenheit),
                Column::Humidity,
                Column::FullScale(ResistanceUnit::Kilohm),
                Column::Elapsed(ElapsedUnit::Minute),
                Column::Resistance(ResistanceUnit::Ohm),
            ][place];
            let rules = TestRules { decimal_comma: comma, ..TestRules::default() };
            let (mut at_once, mut by_rules) = (RowBuffer::default(), RowBuffer::default());
            if rules.plain_cell(&mut at_once, &column, &text) {
                rules.any_cell(&mut by_rules, column, &text);
                prop_assert_eq!(format!("{at_once:?}"), format!("{by_rules:?}"));
            } else {
                prop_assert_eq!(format!("{at_once:?}"), format!("{by_rules:?}"));
            }
        }

        #[test]
        fn a_date_read_at_once_is_read_as_by_all_the_rules(
            text in "(1[89]|20|22)[0-9]{2}-[01][0-9]-[0-3][0-9]([T ][0-2][0-9]:[0-6][0-9](:[0-6][0-9])?)?|[0-9-]{10}",
        ) {
            if let Some(date) = plain_date(&text) {
                prop_assert_eq!(iso_date(&text).and_then(|date| in_years(&text, date)), Ok(date));
            }
        }
    }

    #[test]
    fn usual_dates_are_read_at_once_and_others_are_not() {
        for text in ["2026-04-03", "1950-01-01T00:00", "2199-12-31 23:59:59", "2024-02-29"] {
            assert_eq!(plain_date(text), iso_date(text).ok(), "{text}");
            assert!(plain_date(text).is_some(), "{text}");
        }
        for text in
            ["1899-12-31", "2200-01-01", "2026-02-29", "2026-04-03T24:00", "2026-04-03T09:30:60", "2026-4-3", ""]
        {
            assert_eq!(plain_date(text), None, "{text}");
        }
    }
}
