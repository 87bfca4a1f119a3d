//! All tests of a run, by columns: some twenty bytes a test, where a [`TestRecord`] takes twenty times that.
//!
//! A table is filled row by row, tables filled in parallel are appended to each other, and in the end the rows are
//! [sorted into series](TestTable::into_series). Every test comes back as it went in, bit for bit.

mod column;
mod dictionary;
mod lines;
mod marks;
mod packed;
mod procedures;
mod sorted;
mod strings;
#[cfg(test)]
mod tests;
mod times;

use crate::record::{Connection, Origin, Scope, TestRecord, TestedOn};
use crate::resistance::{Measured, TimedReading, TimedReadings};
use crate::units::{Elapsed, RelativeHumidity, Resistance, Temperature, Voltage};
use chrono::{Datelike, NaiveDate, NaiveTime};
use column::PackedColumn;
use lines::Lines;
use marks::{marks, unmark};
use packed::Packing;
use procedures::Procedures;
pub use sorted::SeriesTable;
use std::collections::HashMap;
use std::fmt;
use strings::Strings;

/// A table cannot hold more: 2³² − 1 rows, lines up to that number, and 2²⁷ numbers of more than eight digits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TableFull;

impl fmt::Display for TableFull {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("there are more tests than one table can hold")
    }
}

impl std::error::Error for TableFull {}

/// Marks of a packed resistance.
const EXACT: u32 = 0;
const ABOVE: u32 = 1;
const BELOW: u32 = 2;
const OFF_SCALE: u32 = 3;

/// Numbers of a test beside its timed readings.
const NUMBERS: usize = 6;

/// More timed readings than most tests have.
const MOST_READINGS: usize = 4;

/// Tests by columns.
#[derive(Clone, Debug, Default)]
pub struct TestTable {
    windings: Strings,
    instruments: Strings,
    notes: Strings,
    connections: Vec<Connection>,
    connection_places: HashMap<Connection, u32>,
    /// Times of day of no whole second.
    times: Vec<NaiveTime>,
    time_places: HashMap<NaiveTime, u32>,
    packing: Packing,
    /// Per row: winding and marks.
    winding: Vec<u32>,
    marks: Vec<u8>,
    line: Lines,
    day: PackedColumn,
    input: PackedColumn,
    connection: PackedColumn,
    time: PackedColumn,
    readings: Vec<(Elapsed, PackedColumn)>,
    test_volts: PackedColumn,
    output_volts: PackedColumn,
    winding_temp: PackedColumn,
    air_temp: PackedColumn,
    humidity: PackedColumn,
    full_scale: PackedColumn,
    instrument: PackedColumn,
    note: PackedColumn,
    procedures: Procedures,
}

impl TestTable {
    /// An empty table.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Rows in it.
    #[must_use]
    pub const fn len(&self) -> usize {
        self.marks.len()
    }

    /// Whether it has no rows.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.marks.is_empty()
    }

    /// The windings, each once, in the order in which they first come.
    pub fn windings(&self) -> impl ExactSizeIterator<Item = &str> {
        self.windings.texts()
    }

    /// Appends a test.
    ///
    /// # Errors
    ///
    /// [`TableFull`]; the table is then as it was, but for texts.
    ///
    /// # Examples
    ///
    /// ```
    /// use groundwall::record::{columns::Column, validate::TestRules, Origin};
    /// use groundwall::table::TestTable;
    /// let cells = [("winding", "P-1"), ("tested_on", "2026-04-02"), ("r_60s", ">2000")];
    /// let cells = cells.map(|(header, text)| (Column::read(header).unwrap(), text));
    /// let test = TestRules::default().validate(cells, Origin::default()).unwrap();
    /// let mut table = TestTable::new();
    /// table.push(&test)?;
    /// assert_eq!(table.test(0), test);
    /// # Ok::<(), groundwall::table::TableFull>(())
    /// ```
    pub fn push(&mut self, test: &TestRecord) -> Result<(), TableFull> {
        let row = self.len();
        let line = u32::try_from(test.origin.line).map_err(|_| TableFull)?;
        let place = u32::try_from(row).ok().filter(|place| *place < u32::MAX).ok_or(TableFull)?;
        // Room for all of it, or nothing is put anywhere.
        if !self.packing.has_room_for(test.readings.len() + NUMBERS + procedures::NUMBERS) {
            return Err(TableFull);
        }
        let mut next = 0;
        for reading in &test.readings {
            let (mark, megohms) = match reading.value {
                Measured::Exact(r) => (EXACT, r.as_megohms()),
                Measured::Above(r) => (ABOVE, r.as_megohms()),
                Measured::Below(r) => (BELOW, r.as_megohms()),
                Measured::OffScale => (OFF_SCALE, 0.0),
            };
            let code = self.packing.pack(megohms, mark).ok_or(TableFull)?;
            // Readings and columns are in order of time, and most tests have the same ones.
            let column = match self.readings.get(next) {
                Some((at, _)) if *at == reading.elapsed => next,
                _ => self.reading_column(reading.elapsed),
            };
            self.readings[column].1.put(row, code);
            next = column + 1;
        }
        let numbers: [_; NUMBERS] = [
            (&mut self.test_volts, test.test_volts.map(Voltage::as_volts)),
            (&mut self.output_volts, test.output_volts.map(Voltage::as_volts)),
            (&mut self.winding_temp, test.winding_temp.map(Temperature::as_celsius)),
            (&mut self.air_temp, test.air_temp.map(Temperature::as_celsius)),
            (&mut self.humidity, test.humidity.map(RelativeHumidity::as_percent)),
            (&mut self.full_scale, test.full_scale.map(Resistance::as_megohms)),
        ];
        for (column, number) in numbers {
            if let Some(number) = number {
                let sign = u32::from(number.is_sign_negative());
                column.put(row, self.packing.pack(number.abs(), sign).ok_or(TableFull)?);
            }
        }
        if let Some(procedure) = &test.procedure {
            self.procedures.put(row, procedure, &mut self.packing)?;
        }
        if let Some(instrument) = &test.instrument {
            self.instrument.put(row, self.instruments.number(instrument));
        }
        if let Some(note) = &test.note {
            self.note.put(row, self.notes.number(note));
        }
        if test.connection != Connection::default() {
            let place = number_of(&test.connection, &mut self.connections, &mut self.connection_places);
            self.connection.put(row, place);
        }
        if let Some(time) = test.tested_on.time {
            let code = times::code(time).unwrap_or_else(|| {
                times::CODES.saturating_add(number_of(&time, &mut self.times, &mut self.time_places))
            });
            self.time.put(row, code);
        }
        if test.origin.input > 0 {
            self.input.put(row, test.origin.input);
        }
        self.winding.push(self.windings.number(&test.winding));
        self.day.put(row, day_code(test.tested_on.date));
        self.line.put(place, line);
        self.marks.push(marks(test));
        Ok(())
    }

    /// The place of the column of readings at this time, new if need be.
    fn reading_column(&mut self, elapsed: Elapsed) -> usize {
        let place = self.readings.iter().position(|(at, _)| *at == elapsed);
        place.unwrap_or_else(|| {
            // In order of time, so that a test's readings come back in order of time.
            let place = self.readings.partition_point(|(at, _)| at.as_seconds() < elapsed.as_seconds());
            self.readings.insert(place, (elapsed, PackedColumn::default()));
            place
        })
    }

    /// Appends the rows of another table.
    ///
    /// # Errors
    ///
    /// [`TableFull`] when there are too many together.
    pub fn append(&mut self, other: Self) -> Result<(), TableFull> {
        let rows = self.len();
        let place = u32::try_from(rows).map_err(|_| TableFull)?;
        if rows + other.len() > u32::MAX as usize {
            return Err(TableFull);
        }
        let by = self.packing.append(&other.packing).ok_or(TableFull)?;
        let windings = self.windings.merge(&other.windings);
        let instruments = self.instruments.merge(&other.instruments);
        let notes = self.notes.merge(&other.notes);
        let turned = |codes: &[u32], code: u32| codes.get(code as usize).copied().unwrap_or(code);
        let connections: Vec<u32> = (other.connections.iter())
            .map(|one| number_of(one, &mut self.connections, &mut self.connection_places))
            .collect();
        let times: Vec<u32> =
            other.times.iter().map(|one| number_of(one, &mut self.times, &mut self.time_places)).collect();
        for (elapsed, column) in &other.readings {
            let place = self.reading_column(*elapsed);
            self.readings[place].1.append(rows, column, |code| packed::moved(code, by));
        }
        for (column, others) in [
            (&mut self.test_volts, &other.test_volts),
            (&mut self.output_volts, &other.output_volts),
            (&mut self.winding_temp, &other.winding_temp),
            (&mut self.air_temp, &other.air_temp),
            (&mut self.humidity, &other.humidity),
            (&mut self.full_scale, &other.full_scale),
        ] {
            column.append(rows, others, |code| packed::moved(code, by));
        }
        self.procedures.append(rows, &other.procedures, by);
        self.instrument.append(rows, &other.instrument, |code| turned(&instruments, code));
        self.note.append(rows, &other.note, |code| turned(&notes, code));
        self.connection.append(rows, &other.connection, |code| turned(&connections, code));
        self.time.append(rows, &other.time, |code| match code.checked_sub(times::CODES) {
            Some(place) => times::CODES.saturating_add(turned(&times, place)),
            None => code,
        });
        self.input.append(rows, &other.input, |code| code);
        self.winding.extend(other.winding.iter().map(|code| turned(&windings, *code)));
        self.day.append(rows, &other.day, |code| code);
        self.line.append(place, &other.line);
        self.marks.extend_from_slice(&other.marks);
        Ok(())
    }

    /// Gives windings another name; those that then have one name are one. `name` gives none where a name stays.
    ///
    /// # Examples
    ///
    /// ```
    /// use groundwall::record::{Origin, columns::Column, validate::TestRules};
    /// use groundwall::table::TestTable;
    /// let mut table = TestTable::new();
    /// for (line, winding) in [(2, "P-1"), (3, "P1"), (4, "P-2")] {
    ///     let one_minute = Column::read("r_60s").unwrap();
    ///     let cells = [(Column::Winding, winding), (Column::TestedOn, "2026-04-02"), (one_minute, "200")];
    ///     table.push(&TestRules::default().validate(cells, Origin { input: 0, line }).unwrap())?;
    /// }
    /// table.rename(&mut |name| (name == "P1").then(|| "P-1".to_owned()));
    /// assert_eq!(table.windings().collect::<Vec<_>>(), ["P-1", "P-2"]);
    /// assert_eq!(table.test(1).winding(), "P-1");
    /// # Ok::<(), groundwall::table::TableFull>(())
    /// ```
    pub fn rename(&mut self, name: &mut impl FnMut(&str) -> Option<String>) {
        let mut renamed = Strings::default();
        let number = |text: &str| match name(text) {
            Some(other) => renamed.number(&other),
            None => renamed.number(text),
        };
        let codes: Vec<u32> = self.windings.texts().map(number).collect();
        for code in &mut self.winding {
            *code = codes.get(*code as usize).copied().unwrap_or(*code);
        }
        self.windings = renamed;
    }

    /// Frees unused capacity.
    pub fn shrink(&mut self) {
        self.winding.shrink_to_fit();
        self.marks.shrink_to_fit();
        self.line.shrink();
        self.procedures.shrink();
        let columns = [
            &mut self.day,
            &mut self.input,
            &mut self.connection,
            &mut self.time,
            &mut self.test_volts,
            &mut self.output_volts,
            &mut self.winding_temp,
            &mut self.air_temp,
            &mut self.humidity,
            &mut self.full_scale,
            &mut self.instrument,
            &mut self.note,
        ];
        columns.into_iter().chain(self.readings.iter_mut().map(|(_, column)| column)).for_each(PackedColumn::shrink);
    }

    /// The test of a row.
    ///
    /// # Panics
    ///
    /// Never for rows below [`TestTable::len`].
    #[must_use]
    pub fn test(&self, row: usize) -> TestRecord {
        let number = |column: &PackedColumn| {
            column.get(row).map(|code| match packed::mark(code) {
                0 => self.packing.value(code),
                _ => -self.packing.value(code),
            })
        };
        let text = |column: &PackedColumn, names: &Strings| column.get(row).map(|code| names.text(code).to_owned());
        // Capacity for as many as most tests have; growing step by step would allocate more.
        let mut readings = TimedReadings::with_capacity(self.readings.len().min(MOST_READINGS));
        for (elapsed, column) in &self.readings {
            let Some(code) = column.get(row) else { continue };
            let resistance = Resistance::from_megohms(self.packing.value(code));
            let value = match (packed::mark(code), resistance) {
                (EXACT, Ok(resistance)) => Measured::Exact(resistance),
                (ABOVE, Ok(resistance)) => Measured::Above(resistance),
                (BELOW, Ok(resistance)) => Measured::Below(resistance),
                (OFF_SCALE, _) => Measured::OffScale,
                _ => continue,
            };
            readings.push_later(TimedReading { elapsed: *elapsed, value });
        }
        let (scope, lead_check, event) = unmark(self.marks[row]);
        TestRecord {
            winding: self.windings.text(self.winding[row]).to_owned(),
            connection: self.connection_of(row).clone(),
            scope,
            tested_on: self.tested_on(row),
            readings,
            test_volts: number(&self.test_volts).and_then(|volts| Voltage::from_volts(volts).ok()),
            output_volts: number(&self.output_volts).and_then(|volts| Voltage::from_volts(volts).ok()),
            winding_temp: number(&self.winding_temp).and_then(|celsius| Temperature::from_celsius(celsius).ok()),
            air_temp: number(&self.air_temp).and_then(|celsius| Temperature::from_celsius(celsius).ok()),
            humidity: number(&self.humidity).and_then(|percent| RelativeHumidity::from_percent(percent).ok()),
            instrument: text(&self.instrument, &self.instruments),
            full_scale: number(&self.full_scale).and_then(|megohms| Resistance::from_megohms(megohms).ok()),
            lead_check,
            procedure: self.procedures.get(row, &self.packing),
            event,
            note: text(&self.note, &self.notes),
            origin: self.origin(row),
            kept_out: None,
        }
    }

    /// All tests in the order of the rows.
    pub fn tests(&self) -> impl ExactSizeIterator<Item = TestRecord> {
        (0..self.len()).map(|row| self.test(row))
    }

    /// Tests made after a day.
    #[must_use]
    pub fn made_after(&self, day: NaiveDate) -> usize {
        let day = day_code(day);
        (0..self.len()).filter(|row| self.day_of(*row) > day).count()
    }

    fn origin(&self, row: usize) -> Origin {
        Origin { input: self.input.get(row).unwrap_or(0), line: self.line.get(row as u32).into() }
    }

    fn tested_on(&self, row: usize) -> TestedOn {
        let time = self.time.get(row).and_then(|code| match code.checked_sub(times::CODES) {
            Some(place) => self.times.get(place as usize).copied(),
            None => times::time(code),
        });
        TestedOn { date: self.date(row), time }
    }

    fn date(&self, row: usize) -> NaiveDate {
        day_of_code(self.day_of(row))
    }

    /// The day of a test as a code; later days have greater codes.
    fn day_of(&self, row: usize) -> u32 {
        self.day.get(row).unwrap_or(DAY_ZERO)
    }

    fn connection_of(&self, row: usize) -> &Connection {
        const ALL_EARTH: &Connection = &Connection::AllEarth;
        self.connection.get(row).and_then(|place| self.connections.get(place as usize)).unwrap_or(ALL_EARTH)
    }

    fn scope_of(&self, row: usize) -> Scope {
        unmark(self.marks[row]).0
    }
}

impl FromIterator<TestRecord> for TestTable {
    /// The tests, as many as one table can hold.
    fn from_iter<I: IntoIterator<Item = TestRecord>>(tests: I) -> Self {
        let mut table = Self::new();
        for test in tests {
            if table.push(&test).is_err() {
                break;
            }
        }
        table
    }
}

/// The code of 31 December of the year 0, from which days are counted: in the middle, so that days before it have codes too.
const DAY_ZERO: u32 = 1 << 30;

fn day_code(day: NaiveDate) -> u32 {
    DAY_ZERO.wrapping_add_signed(day.num_days_from_ce())
}

fn day_of_code(code: u32) -> NaiveDate {
    NaiveDate::from_num_days_from_ce_opt(code.wrapping_sub(DAY_ZERO).cast_signed()).unwrap_or_default()
}

/// The number of a thing, new if need be.
fn number_of<T: Clone + Eq + std::hash::Hash>(thing: &T, things: &mut Vec<T>, places: &mut HashMap<T, u32>) -> u32 {
    if let Some(place) = places.get(thing) {
        return *place;
    }
    let place = u32::try_from(things.len()).unwrap_or(u32::MAX);
    things.push(thing.clone());
    places.insert(thing.clone(), place);
    place
}
