//! From the texts of one row to a test, or to the list of everything that is wrong with it.
//!
//! Each cell is judged by one rule; a row with one bad cell is refused whole, with every fault named, so that it can be
//! mended in one go. Nothing is guessed: the order of day and month, the decimal mark, an unknown word for an event.

use super::columns::Column;
pub use super::fault::{Fault, Faults};
use super::plain::trimmed;
use super::row_buffer::{RowBuffer, two_columns};
pub use super::rules::{DayCount, TestRules, date_by_form};
use super::unread::UnreadCell;
pub use super::words::WINDING_MAX_CHARS;
use super::words::{event, identifier, lead_check};
use super::{KeptOut, Origin, Scope, TestRecord};
use crate::resistance::{Measured, TimedReading};
use crate::units::{Elapsed, RelativeHumidity, Voltage};
use chrono::NaiveDate;
use std::borrow::Borrow;

/// How cells write volts of direct current.
const VOLTS: &[&str] = &["v", "volt", "volts", "vdc", "v dc"];

impl TestRules {
    /// Reads one row. Cells may come in any order; an absent cell is an empty one.
    ///
    /// # Errors
    ///
    /// The [`Faults`] of the row.
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
    /// assert_eq!(
    ///     faults[0].to_string(),
    ///     "tested_on is 2026-02-30; this day is not in the calendar (hint: check the date against the test sheet)"
    /// );
    /// ```
    pub fn validate<'a>(
        &self,
        cells: impl IntoIterator<Item = (impl Borrow<Column>, &'a str)>,
        origin: Origin,
    ) -> Result<TestRecord, Faults> {
        let mut draft = RowBuffer::default();
        self.read(cells, origin, &mut draft)?;
        Ok(draft.into_test())
    }

    /// Reads one row into a draft whose buffers are reused for every row; it holds the test until the next row is read.
    ///
    /// # Errors
    ///
    /// The [`Faults`] of the row; the draft then holds no test.
    pub fn read<'d, 'a>(
        &self,
        cells: impl IntoIterator<Item = (impl Borrow<Column>, &'a str)>,
        origin: Origin,
        draft: &'d mut RowBuffer,
    ) -> Result<&'d TestRecord, Faults> {
        draft.start(origin);
        for (column, text) in cells {
            if !text.is_empty() {
                self.cell(draft, column.borrow(), text);
            }
        }
        if let Some(latest) = self.latest_day {
            draft.refuse_after(latest);
        }
        draft.finish(self.full_scale)
    }

    /// What can be read of a rejected row, without its faulty cells: it is not used, and must not make an answer less urgent by being
    /// away. `reading_unread` says that a resistance was written that cannot be read, `as_of` the latest day that the row can be of.
    /// Nothing where no winding is named, where neither a reading nor work is left and none was written, or where no day is known.
    pub fn remains<'a>(
        &self,
        cells: impl IntoIterator<Item = (impl Borrow<Column>, &'a str)>,
        origin: Origin,
        as_of: Option<NaiveDate>,
        reading_unread: bool,
    ) -> Option<(TestRecord, KeptOut)> {
        let mut draft = RowBuffer::default();
        draft.start(origin);
        for (column, text) in cells {
            self.cell(&mut draft, column.borrow(), text);
        }
        draft.remains(as_of, reading_unread, self.full_scale)
    }

    /// Reads a cell: those that hold what most cells of their column hold at once, any other by all the rules.
    fn cell(&self, row: &mut RowBuffer, column: &Column, text: &str) {
        let text = trimmed(text);
        if !text.is_empty() && !self.plain_cell(row, column, text) {
            self.any_cell(row, *column, text);
        }
    }

    #[inline(never)]
    pub(super) fn any_cell(&self, row: &mut RowBuffer, column: Column, text: &str) {
        let test = &mut row.test;
        let outcome = match column {
            Column::Winding => identifier(text).map(|()| row.winding(text)),
            Column::TestedOn => self.tested_on(text).map(|day| row.tested_on = Some(day)),
            Column::Scope => Scope::read(text).map(|scope| test.scope = scope).ok_or_else(|| {
                Fault::new(
                    column,
                    text,
                    "a scope is winding, winding+cable, cable or circuit",
                    "put anything else into the note",
                )
            }),
            Column::TestVolts => self.quantity(column, text, VOLTS, Voltage::from_volts).map(|v| test.test_volts = v),
            Column::OutputVolts => {
                self.quantity(column, text, VOLTS, Voltage::from_volts).map(|v| test.output_volts = v)
            }
            Column::Reading(elapsed, unit) => self.resistance(column, unit, text).and_then(|value| {
                let Some(value) = value else { return Ok(()) };
                let reading = TimedReading { elapsed, value };
                test.readings.insert(reading).map_err(|two| two_columns(column, text, two))
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
            Column::Procedure(item) => self.procedure_cell(&mut test.procedure, item, text),
            Column::Event => {
                let done = event(text);
                test.event = done.as_ref().ok().copied().flatten();
                // In doubt, or not understood in a row of which something is to be known all the same.
                if done.is_err() || test.event.is_some() && text.contains('?') {
                    test.procedure.get_or_insert_default().unread.push(UnreadCell::new(column, text));
                }
                done.map(|_| ())
            }
            Column::Note => {
                // A row may have several columns of notes.
                test.note = Some(match test.note.take() {
                    Some(note) if note != text => format!("{note}; {text}"),
                    _ => text.to_owned(),
                });
                Ok(())
            }
            // Any text will do there, and all were read.
            Column::Connection | Column::Instrument => Ok(()),
        };
        if let Err(fault) = outcome {
            row.faults.push(fault);
        }
    }
}

#[cfg(test)]
mod tests;
