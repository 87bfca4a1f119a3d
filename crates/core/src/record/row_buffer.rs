//! A row on its way to a test: what its cells have said so far, and everything that is wrong with it.

use super::columns::Column;
use super::fault::{Fault, Faults, NONE_AFTER};
use super::trouble::tells_of_trouble;
use super::{Connection, KeptOut, LeadCheck, Origin, Scope, TestRecord, TestedOn, UnreadCell};
use crate::resistance::{Measured, TimedReading, TwoReadings};
use crate::units::{Elapsed, Resistance};
use chrono::NaiveDate;

/// A record reused for row after row, so that its memory is allocated once.
#[derive(Clone, Debug)]
pub struct RowBuffer {
    pub(super) test: TestRecord,
    pub(super) tested_on: Option<TestedOn>,
    pub(super) elapsed: Option<Elapsed>,
    pub(super) timed: Option<(Column, Measured)>,
    pub(super) faults: Vec<Fault>,
    /// Whether this row has named its winding and its connection; the test may still hold those of the row before.
    has_winding: bool,
    has_connection: bool,
    /// The connection of the test as it was written, where it was.
    connection_as_written: Option<String>,
    /// The string of an earlier row's instrument, for reuse.
    spare: String,
}

impl Default for RowBuffer {
    fn default() -> Self {
        let test = TestRecord::empty(String::new(), TestedOn::day(NaiveDate::default()));
        Self {
            test,
            tested_on: None,
            elapsed: None,
            timed: None,
            faults: Vec::new(),
            has_winding: false,
            has_connection: false,
            connection_as_written: None,
            spare: String::new(),
        }
    }
}

impl RowBuffer {
    /// Forgets the row before.
    pub(super) fn start(&mut self, origin: Origin) {
        let test = &mut self.test;
        test.readings.clear();
        if let Some(instrument) = test.instrument.take() {
            self.spare = instrument;
        }
        test.scope = Scope::Winding;
        (test.test_volts, test.output_volts) = (None, None);
        (test.winding_temp, test.air_temp, test.humidity) = (None, None, None);
        (test.full_scale, test.lead_check, test.procedure) = (None, None, None);
        (test.event, test.note) = (None, None);
        test.origin = origin;
        (self.tested_on, self.elapsed, self.timed) = (None, None, None);
        (self.has_winding, self.has_connection) = (false, false);
        self.faults.clear();
    }

    /// Names the winding.
    pub(super) fn winding(&mut self, text: &str) {
        self.test.winding.clear();
        self.test.winding.push_str(text);
        self.has_winding = true;
    }

    /// Names the winding if it is that of the row before, which was found to be in order then.
    pub(super) fn winding_again(&mut self, text: &str) -> bool {
        let again = self.test.winding == text;
        self.has_winding |= again;
        again
    }

    pub(super) fn instrument(&mut self, text: &str) {
        let mut reused = self.test.instrument.take().unwrap_or_else(|| std::mem::take(&mut self.spare));
        reused.clear();
        reused.push_str(text);
        self.test.instrument = Some(reused);
    }

    pub(super) fn connection(&mut self, text: &str) {
        if self.connection_as_written.as_deref() != Some(text) {
            self.test.connection = Connection::read(text);
            self.connection_as_written = Some(text.to_owned());
        }
        self.has_connection = true;
    }

    /// The test, once it has been read without a fault.
    pub(super) fn into_test(self) -> TestRecord {
        self.test
    }

    /// Checks the row as a whole.
    pub(super) fn finish(&mut self, full_scale: Option<Resistance>) -> Result<&TestRecord, Faults> {
        let named = |column: Column, faults: &[Fault]| faults.iter().any(|fault| fault.column == column.to_string());
        if !self.has_connection && self.test.connection != Connection::AllEarth {
            (self.test.connection, self.connection_as_written) = (Connection::AllEarth, None);
        }
        if !self.has_winding && !named(Column::Winding, &self.faults) {
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
            return Err(std::mem::take(&mut self.faults).into());
        }
        let full_scale = self.test.full_scale.or(full_scale);
        self.test.readings.set_full_scale(full_scale);
        Ok(&self.test)
    }

    /// Takes a date after the last day that a test can have been made on for a fault.
    pub(super) fn refuse_after(&mut self, latest: NaiveDate) {
        if let Some(day) = self.tested_on.filter(|day| day.date > latest) {
            self.faults.push(Fault::new(
                Column::TestedOn,
                &day.date.to_string(),
                format!("{NONE_AFTER} {latest}"),
                "correct the date from the test sheet",
            ));
        }
    }

    /// What is left of a rejected row without its faulty cells; nothing without a winding. `as_of` is the latest day that it can be of.
    pub(super) fn remains(
        &mut self,
        as_of: Option<NaiveDate>,
        reading_unread: bool,
        full_scale: Option<Resistance>,
    ) -> Option<(TestRecord, KeptOut)> {
        if !self.has_winding {
            return None;
        }
        if !self.has_connection {
            self.test.connection = Connection::AllEarth;
        }
        self.take_timed();
        let day = self.tested_on;
        self.test.tested_on = day.or_else(|| as_of.map(TestedOn::day))?;
        let full_scale = self.test.full_scale.or(full_scale);
        self.test.readings.set_full_scale(full_scale);
        let at_one_minute = self.test.readings.iter().any(|reading| (reading.elapsed.as_seconds() - 60.0).abs() < 0.5);
        let may_say_work = self.test.procedure().unread.iter().any(UnreadCell::may_be_an_event);
        let why_not = self.test.note.as_deref().is_some_and(tells_of_trouble)
            || self.test.procedure().unread.iter().any(|cell| tells_of_trouble(&cell.text))
            || self.test.lead_check == Some(LeadCheck::Failed);
        let says_something = !self.test.readings.is_empty() || self.test.event.is_some() || may_say_work;
        let why = match day {
            // A test that was begun and gave no reading: its note or its checks say why.
            _ if !says_something && why_not => KeptOut::Unread,
            _ if reading_unread && !at_one_minute => KeptOut::Unread,
            None if at_one_minute || self.test.event.is_some() => KeptOut::Undated,
            Some(_) if says_something => KeptOut::Rejected,
            // Somebody was there, and what was read is not known.
            Some(_) => KeptOut::Unread,
            None => return None,
        };
        Some((self.test.clone(), why))
    }

    /// A row of one timed reading: the resistance goes to its elapsed time.
    fn take_timed(&mut self) {
        let Some((column, value)) = self.timed else { return };
        match self.elapsed {
            None if self.faults.iter().any(|fault| matches!(fault.known_column(), Some(Column::Elapsed(_)))) => {}
            None => self.faults.push(Fault::new(
                "elapsed_s",
                "",
                "a timed reading has the time at which it was taken",
                "write the seconds since the voltage was applied",
            )),
            Some(elapsed) => {
                if let Err(two) = self.test.readings.insert(TimedReading { elapsed, value }) {
                    self.faults.push(two_columns(column, &value.to_string(), two));
                }
            }
        }
    }

    /// The test of the row that was read last, with cells that could not be read.
    pub fn with_unread<'a>(&mut self, cells: impl Iterator<Item = (Column, &'a str)>) -> &TestRecord {
        for (column, text) in cells {
            self.test.procedure.get_or_insert_default().unread.push(UnreadCell::new(column, text));
        }
        &self.test
    }
}

/// The fault of a cell whose reading contradicts that of another column.
pub(super) fn two_columns(column: Column, text: &str, two: TwoReadings) -> Fault {
    let rule = format!("two columns give different readings at {}", two.elapsed);
    Fault::new(
        column,
        text,
        rule,
        "say what each column is: two motors or connections need rows or names of their own, such as a column connection; of one reading \
         that is written twice keep one column",
    )
}
