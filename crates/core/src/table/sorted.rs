//! A table whose rows are grouped into series, each in time order.

use super::column::PackedColumn;
use super::packed;
use super::{OFF_SCALE, TestTable, day_code, times};
use crate::record::columns::Column;
use crate::record::{Connection, KeptOut, Origin, Scope, TestRecord};
use crate::series::{Series, SeriesKey, in_judged_order};
use std::collections::BTreeSet;

/// The tests of a table as series, in the order of their keys.
#[derive(Clone, Debug, Default)]
pub struct SeriesTable {
    table: TestTable,
    /// Rows of the table, series by series.
    order: Vec<u32>,
    /// Where each series begins in the order, and where the last one ends.
    starts: Vec<u32>,
    /// Of each row of the table why it is not used; empty where all count.
    kept_out: Vec<Option<KeptOut>>,
}

impl TestTable {
    /// Groups the tests into series, ordered by key, each in time order; tests of the same time stay in the order of their rows.
    ///
    /// # Examples
    ///
    /// ```
    /// use groundwall::record::{columns::Column, validate::TestRules, Origin};
    /// use groundwall::table::TestTable;
    /// let test = |winding, day| {
    ///     let cells = [("winding", winding), ("tested_on", day), ("r_60s", "412")];
    ///     let cells = cells.map(|(header, text)| (Column::read(header).unwrap(), text));
    ///     TestRules::default().validate(cells, Origin::default()).unwrap()
    /// };
    /// let table: TestTable = [("P-2", "2026-01-10"), ("P-1", "2026-04-02"), ("P-1", "2026-01-09")]
    ///     .into_iter()
    ///     .map(|(winding, day)| test(winding, day))
    ///     .collect();
    /// let series = table.into_series();
    /// assert_eq!(series.len(), 2);
    /// assert_eq!(series.winding(0), "P-1");
    /// assert_eq!(series.series(0).tests()[0].tested_on().to_string(), "2026-01-09");
    /// ```
    #[must_use]
    pub fn into_series(self) -> SeriesTable {
        let ranks = self.windings.ranks();
        let mut places = vec![0_u32; ranks.len() + 1];
        for winding in &self.winding {
            places[ranks[*winding as usize] as usize + 1] += 1;
        }
        for at in 1..places.len() {
            places[at] += places[at - 1];
        }
        let mut order = vec![0_u32; self.len()];
        let mut next = places.clone();
        for (row, winding) in (0_u32..).zip(&self.winding) {
            let place = &mut next[ranks[*winding as usize] as usize];
            order[*place as usize] = row;
            *place += 1;
        }
        let mut starts = Vec::with_capacity(ranks.len() + 1);
        for bounds in places.windows(2) {
            let rows = &mut order[bounds[0] as usize..bounds[1] as usize];
            let key = |row: &u32| {
                let row = *row as usize;
                (self.connection_of(row), self.scope_of(row), self.tested_on(row), self.origin(row))
            };
            // Most rows follow the one before in the same series at a later time, which their codes tell.
            let series_of = |row: u32| (self.connection.get(row as usize), self.scope_of(row as usize));
            let follows = |a: &u32, b: &u32| {
                let (day, next_day) = (self.day_of(*a as usize), self.day_of(*b as usize));
                let is_later =
                    || times::is_later(self.time.get(*a as usize), self.time.get(*b as usize)).unwrap_or(false);
                series_of(*a) == series_of(*b) && (day < next_day || (day == next_day && is_later()))
            };
            if !rows.is_sorted_by(|a, b| follows(a, b) || key(a) <= key(b)) {
                rows.sort_by(|a, b| key(a).cmp(&key(b)));
            }
            let kind = series_of;
            let mut before = None;
            for (at, row) in (bounds[0]..).zip(rows.iter()) {
                if before.replace(kind(*row)) != Some(kind(*row)) {
                    starts.push(at);
                }
            }
        }
        // As many rows as one table can hold are counted in this many bits.
        starts.push(u32::try_from(order.len()).unwrap_or(u32::MAX));
        SeriesTable { table: self, order, starts, kept_out: Vec::new() }
    }
}

impl SeriesTable {
    /// How many series there are.
    #[must_use]
    pub const fn len(&self) -> usize {
        self.starts.len().saturating_sub(1)
    }

    /// Whether there is no series.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.len() == 0
    }

    fn rows(&self, i: usize) -> &[u32] {
        match self.starts.get(i..).unwrap_or_default() {
            [from, to, ..] => &self.order[*from as usize..*to as usize],
            _ => &[],
        }
    }

    fn first_row(&self, i: usize) -> Option<usize> {
        self.rows(i).first().map(|row| *row as usize)
    }

    /// The winding of a series; empty for a series that is not there.
    #[must_use]
    pub fn winding(&self, i: usize) -> &str {
        self.first_row(i).map_or("", |row| self.table.windings.text(self.table.winding[row]))
    }

    /// What the tests of a series share.
    #[must_use]
    pub fn key(&self, i: usize) -> SeriesKey {
        let (connection, scope) = self.first_row(i).map_or((Connection::default(), Scope::default()), |row| {
            (self.table.connection_of(row).clone(), self.table.scope_of(row))
        });
        SeriesKey { winding: self.winding(i).to_owned(), connection, scope }
    }

    /// A series with all its tests; one without any for a series that is not there.
    #[must_use]
    pub fn series(&self, i: usize) -> Series {
        Series { key: self.key(i), tests: self.judged(self.rows(i)) }
    }

    /// How many tests a series has.
    #[must_use]
    pub fn tests_of(&self, i: usize) -> usize {
        self.rows(i).len()
    }

    /// The tests of a series, latest first.
    pub fn backwards(&self, i: usize) -> impl Iterator<Item = TestRecord> {
        let is_one_day = |a: &u32, b: &u32| self.table.day_of(*a as usize) == self.table.day_of(*b as usize);
        self.rows(i).chunk_by(is_one_day).rev().flat_map(|day| self.judged(day).into_iter().rev())
    }

    /// The tests of rows in the order in which they are judged.
    fn judged(&self, rows: &[u32]) -> Vec<TestRecord> {
        let mut tests: Vec<TestRecord> = rows.iter().map(|row| self.test(*row as usize)).collect();
        in_judged_order(&mut tests);
        tests
    }

    /// All series with all their tests.
    #[must_use]
    pub fn to_vec(&self) -> Vec<Series> {
        (0..self.len()).map(|i| self.series(i)).collect()
    }

    /// How many tests all series have together.
    #[must_use]
    pub const fn tests(&self) -> usize {
        self.order.len()
    }

    /// Rows of the table with the same time in the same series, for each time that several have; in the order of their
    /// places.
    #[must_use]
    pub fn at_the_same_time(&self) -> Vec<Vec<usize>> {
        self.runs(|kept_out| kept_out.is_none())
    }

    /// The same of rows that are not used, for a reason.
    #[must_use]
    pub fn kept_out_at_the_same_time(&self, why: KeptOut) -> Vec<Vec<usize>> {
        if self.kept_out.is_empty() { Vec::new() } else { self.runs(|kept_out| kept_out == Some(why)) }
    }

    fn runs(&self, counts: impl Fn(Option<KeptOut>) -> bool) -> Vec<Vec<usize>> {
        let mut found = Vec::new();
        for i in 0..self.len() {
            // Different days and times have different codes.
            let (day, time) =
                (|row: &u32| self.table.day_of(*row as usize), |row: &u32| self.table.time.get(*row as usize));
            let runs = self.rows(i).chunk_by(|a, b| day(a) == day(b) && time(a) == time(b));
            let counts = |row: &&u32| counts(self.kept_out(**row as usize));
            let runs = runs.filter(|run| run.len() > 1);
            let runs = runs.map(|run| run.iter().filter(counts).map(|row| *row as usize).collect());
            found.extend(runs.filter(|run: &Vec<usize>| run.len() > 1));
        }
        found
    }

    /// The test of a row of the table.
    #[must_use]
    pub fn test(&self, row: usize) -> TestRecord {
        TestRecord { kept_out: self.kept_out(row), ..self.table.test(row) }
    }

    /// Why a row of the table is not used.
    fn kept_out(&self, row: usize) -> Option<KeptOut> {
        self.kept_out.get(row).copied().flatten()
    }

    /// Keeps rows of the table as ones that are not used: they stay in their series, so that it is known what they say.
    pub fn keep_out(&mut self, rows: impl IntoIterator<Item = usize>, why: KeptOut) {
        for row in rows {
            self.kept_out.resize(self.table.len(), None);
            if let Some(place) = self.kept_out.get_mut(row) {
                *place = Some(why);
            }
        }
    }

    /// Rows that were kept out for want of a date or a reading, of windings of which no row counts until a day.
    #[must_use]
    pub fn kept_out_alone(&self, until: Option<chrono::NaiveDate>) -> Vec<usize> {
        let is_partial = |row: &usize| matches!(self.kept_out(*row), Some(KeptOut::Undated | KeptOut::Unread));
        let mut partial: Vec<usize> = (0..self.kept_out.len()).filter(is_partial).collect();
        if partial.is_empty() {
            return partial;
        }
        let until = until.map(day_code);
        let is_later = |row: usize| until.is_some_and(|until| self.table.day_of(row) > until);
        let counts = |row: &&u32| self.kept_out(**row as usize).is_none() && !is_later(**row as usize);
        let counted = self.order.iter().filter(counts).map(|row| self.table.winding[*row as usize]);
        let known: BTreeSet<_> = counted.collect();
        partial.retain(|row| !known.contains(&self.table.winding[*row]));
        partial
    }

    /// Takes out the series that have no test until a day, and gives how many they and their tests were: on that day nothing was known of
    /// them.
    pub fn remove_begun_after(&mut self, day: chrono::NaiveDate) -> (usize, usize) {
        let until = day_code(day);
        let is_later = |row: &u32| self.table.day_of(*row as usize) > until;
        let later: Vec<&[u32]> =
            (0..self.len()).map(|i| self.rows(i)).filter(|rows| rows.iter().all(is_later)).collect();
        let rows: Vec<usize> = later.iter().flat_map(|rows| rows.iter().map(|row| *row as usize)).collect();
        let (series, tests) = (later.len(), rows.len());
        self.remove(&rows);
        (series, tests)
    }

    /// Takes rows of the table out; series that lose all their tests are gone.
    pub fn remove(&mut self, rows: &[usize]) {
        if rows.is_empty() {
            return;
        }
        let mut is_gone = vec![false; self.table.len()];
        for row in rows {
            if let Some(gone) = is_gone.get_mut(*row) {
                *gone = true;
            }
        }
        let (mut order, mut starts) = (Vec::with_capacity(self.order.len()), Vec::with_capacity(self.starts.len()));
        for i in 0..self.len() {
            let start = order.len();
            order.extend(self.rows(i).iter().filter(|row| !is_gone[**row as usize]));
            if order.len() > start {
                starts.push(u32::try_from(start).unwrap_or(u32::MAX));
            }
        }
        starts.push(u32::try_from(order.len()).unwrap_or(u32::MAX));
        (self.order, self.starts) = (order, starts);
    }

    /// All tests that count in the order of their places.
    #[must_use]
    pub fn by_place(&self) -> Vec<TestRecord> {
        let mut rows = self.order.clone();
        rows.retain(|row| self.kept_out(*row as usize).is_none());
        rows.sort_by_key(|row| self.table.origin(*row as usize));
        rows.into_iter().map(|row| self.table.test(row as usize)).collect()
    }

    /// Where the tests stand that are over range with an unknown full scale, once for each such reading.
    #[must_use]
    pub fn off_scale(&self) -> Vec<Origin> {
        let is_off_scale = |code: u32| packed::mark(code) == OFF_SCALE;
        let columns = self.table.readings.iter().map(|(_, column)| column);
        let columns: Vec<&PackedColumn> = columns.filter(|column| column.may_have(is_off_scale)).collect();
        if columns.is_empty() {
            return Vec::new();
        }
        let rows = self.order.iter().map(|row| *row as usize);
        let readings = rows.flat_map(|row| columns.iter().filter_map(move |column| Some((row, column.get(row)?))));
        readings.filter(|(_, code)| is_off_scale(*code)).map(|(row, _)| self.table.origin(row)).collect()
    }

    /// Notes of tests without an event, those that are wanted, in the order of their places. Equal notes are asked about once.
    pub fn notes_without_event(&self, mut wanted: impl FnMut(&str) -> bool) -> Vec<(Origin, &str)> {
        let notes = &self.table.notes;
        let wanted: Vec<bool> = notes.texts().map(&mut wanted).collect();
        if !wanted.contains(&true) {
            return Vec::new();
        }
        let says_no_work = |row: usize| {
            let test = self.table.test(row);
            test.event().is_none() && test.unread(Column::Event).is_none()
        };
        let rows = self.order.iter().map(|row| *row as usize);
        let noted = rows.filter_map(|row| Some((row, self.table.note.get(row)?)));
        let noted = noted.filter(|(row, note)| wanted.get(*note as usize) == Some(&true) && says_no_work(*row));
        let mut found: Vec<(Origin, &str)> =
            noted.map(|(row, note)| (self.table.origin(row), notes.text(note))).collect();
        found.sort_unstable();
        found
    }

    /// Where each test stands and the day on which it was made; rows whose day or reading could not be read are left out.
    pub fn days(&self) -> impl Iterator<Item = (Origin, chrono::NaiveDate)> {
        let is_whole =
            |row: &usize| !matches!(self.kept_out(*row), Some(KeptOut::Undated | KeptOut::Misdated | KeptOut::Unread));
        let rows = self.order.iter().map(|row| *row as usize).filter(is_whole);
        rows.map(|row| (self.table.origin(row), self.table.tested_on(row).date))
    }

    /// Tests made after a day.
    #[must_use]
    pub fn made_after(&self, day: chrono::NaiveDate) -> usize {
        let day = day_code(day);
        self.order.iter().filter(|row| self.table.day_of(**row as usize) > day).count()
    }

    /// The windings, each once, in alphabetical order.
    pub fn windings(&self) -> impl Iterator<Item = &str> {
        (0..self.len()).filter(|i| *i == 0 || self.winding(*i) != self.winding(i - 1)).map(|i| self.winding(i))
    }
}
