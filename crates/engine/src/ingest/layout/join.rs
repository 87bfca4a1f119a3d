//! Cells put together into tests.

use super::context::Context;
use super::draft::{Cells, Key, Test};
use super::entry::{Entry, Of};
use super::label::Stage;
use super::sheet::{Known, Sheet};
use super::texts::TextId;
use crate::ingest::cell_place::CellPlace;
use crate::ingest::kinds::{is_reading, same_kind};
use groundwall::record::Item;
use groundwall::record::columns::Column;
use groundwall::record::validate::Fault;
use std::collections::{BTreeMap, HashMap, HashSet};

impl<'a> Sheet<'a> {
    /// Puts entries together into tests. Measuring points of one day and work order are one test, and where one order alone is written on
    /// a day it is that of all.
    pub(super) fn join(&mut self, entries: Vec<Entry<'a>>, by_day: bool, dates_across: bool, context: &Context) {
        let entries = self.without_conflicts(entries, dates_across);
        let orders = self.orders(&entries);
        let keys = self.keys(&entries, &orders, by_day);
        let mut tests = Tests { is_looked_into: !entries.iter().all(is_reading_of), ..Tests::default() };
        for (entry, key) in entries.iter().zip(&keys).filter(|(entry, _)| is_reading_of(entry)) {
            let open = tests.last_of(key).filter(|at| tests.list[*at].cells.get(entry.column).is_none());
            let at = open.unwrap_or_else(|| tests.push(entry, *key, true));
            tests.list[at].cells.add(entry.column, entry.text);
        }
        let is_after = |stage: Option<Stage>| stage.is_some_and(|stage| stage.after);
        let has_work = entries.iter().any(|entry| is_reading_of(entry) && is_after(entry.stage));
        for (entry, key) in entries.iter().zip(&keys).filter(|(entry, _)| !is_reading_of(entry)) {
            // Work between two tests of a row was done before the later one.
            let is_work = has_work && entry.column == Column::Event && key.stage == 0;
            let fits = |test: &Test<'_>| {
                let own = &test.key;
                if is_work {
                    return test.place.line == entry.place.line && is_after(test.stage);
                }
                (own.winding == key.winding || entry.of == Of::Round)
                    && (own.date == key.date || (entry.of == Of::Row && test.place.line == entry.place.line))
                    && (own.order == key.order || entry.of == Of::Round)
                    && (key.connection.is_empty() || own.connection == key.connection)
                    && (key.stage == 0 || own.stage == key.stage)
            };
            let of_line = tests.of(By::Line(entry.place.line)).iter().copied();
            let mut fitting: Vec<usize> = of_line.filter(|at| fits(&tests.list[*at])).collect();
            if fitting.is_empty() {
                let by = if entry.of == Of::Round { By::Date(key.date) } else { By::Winding(key.winding, key.date) };
                let near = tests.of(by);
                if !self.may_hold(|left| &mut left.shared, near.len()) {
                    break;
                }
                fitting = near.iter().copied().filter(|at| fits(&tests.list[*at])).collect();
            }
            let of_all = matches!(
                entry.column,
                Column::TestVolts
                    | Column::Instrument
                    | Column::FullScale(_)
                    | Column::Scope
                    | Column::Connection
                    | Column::Note
            ) || (!dates_across && matches!(entry.column, Column::Procedure(_)));
            if (entry.of == Of::Row && fitting.len() > 1 && !of_all && !is_work) || (is_work && fitting.is_empty()) {
                // It belongs to one of several dates, and nobody knows which; or to a test after the work that was not made.
                let name = entry.column.to_string();
                if !self.ignored.contains(&name) {
                    self.ignored.push(name);
                }
                continue;
            }
            if fitting.is_empty() {
                if entry.of != Of::Test || matches!(entry.column, Column::Scope | Column::Procedure(_)) {
                    continue;
                }
                let at = tests.last_of(key).unwrap_or_else(|| tests.push(entry, *key, false));
                fitting.push(at);
            }
            for at in fitting {
                tests.list[at].cells.put(entry.column, entry.text);
            }
        }
        for test in &mut tests.list {
            for (column, text) in &context.columns {
                let is_shared = matches!(
                    column,
                    Column::TestVolts
                        | Column::WindingTemp(_)
                        | Column::AirTemp(_)
                        | Column::Humidity
                        | Column::Instrument
                ) || (!dates_across && is_of_round(column));
                if is_shared && !test.cells.columns().any(|own| same_kind(&own, column)) {
                    test.cells.add(*column, text.clone());
                }
            }
        }
        self.tests.append(&mut tests.list);
    }

    /// What tells the test of each entry from others.
    fn keys(&mut self, entries: &[Entry<'_>], orders: &Orders, by_day: bool) -> Vec<Key> {
        let mut keys = Vec::with_capacity(entries.len());
        for entry in entries {
            let day = if by_day || !orders.is_empty() { self.day_of(entry.date) } else { entry.date };
            let of_day = || orders.get(&(entry.winding, day)).copied().flatten().unwrap_or_default();
            keys.push(Key {
                winding: entry.winding,
                date: if by_day { day } else { entry.date },
                order: if entry.order.is_empty() { of_day() } else { entry.order },
                connection: entry.connection,
                stage: entry.stage.map_or(0, |stage| 1 + u8::from(stage.after)),
            });
        }
        if by_day {
            // Points that were read twice on one day belong together by their time.
            let of_test = |key: &Key| (key.winding, key.date, key.order);
            let mut first: HashMap<(Key, TextId), TextId> = HashMap::new();
            let mut twice = HashSet::new();
            for (entry, key) in entries.iter().zip(&keys) {
                let column = self.texts.id(&entry.column.to_string());
                let date = *first.entry((*key, column)).or_insert(entry.date);
                if date != entry.date && is_reading_of(entry) {
                    twice.insert(of_test(key));
                }
            }
            for (entry, key) in entries.iter().zip(&mut keys).filter(|(_, key)| twice.contains(&of_test(key))) {
                key.date = entry.date;
            }
        }
        keys
    }

    /// The work order of each winding and day; none where several are written there.
    fn orders(&mut self, entries: &[Entry<'_>]) -> Orders {
        let mut found = Orders::new();
        for entry in entries.iter().filter(|entry| !entry.order.is_empty()) {
            let only = found.entry((entry.winding, self.day_of(entry.date))).or_insert(Some(entry.order));
            if *only != Some(entry.order) {
                *only = None;
            }
        }
        found
    }

    /// The day of a date as written, or the text where it is none.
    fn day_of(&mut self, date: TextId) -> TextId {
        if let Some(day) = self.days.get(&date) {
            return *day;
        }
        let text = self.texts.get(date);
        let iso = self.forms.read(text).map_or_else(|| text.to_owned(), |dated| dated.iso);
        let day = self.texts.id(iso.split('T').next().unwrap_or_default());
        self.days.insert(date, day);
        day
    }
}

/// Work orders by winding and day.
type Orders = HashMap<(TextId, TextId), Option<TextId>>;

const fn is_reading_of(entry: &Entry<'_>) -> bool {
    is_reading(entry.column)
}

/// Whether what a title says of a test's record is said of all tests below it; a serial number there may be the machine's.
const fn is_of_round(column: &Column) -> bool {
    matches!(column, Column::Procedure(item) if !matches!(item, Item::Serial | Item::OtherPhases))
}

/// What tests are looked for by.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
enum By {
    Line(u64),
    /// Winding and date.
    Winding(TextId, TextId),
    Date(TextId),
}

/// Tests being put together, and where they are.
#[derive(Default)]
struct Tests<'a> {
    list: Vec<Test<'a>>,
    /// The last test of each key.
    last: HashMap<Key, usize>,
    /// Whether tests are looked for by anything else than their key.
    is_looked_into: bool,
    places: HashMap<By, Vec<usize>>,
}

impl<'a> Tests<'a> {
    /// Begins a test.
    fn push(&mut self, entry: &Entry<'a>, key: Key, has_reading: bool) -> usize {
        let at = self.list.len();
        if self.is_looked_into {
            for by in [By::Line(entry.place.line), By::Winding(key.winding, key.date), By::Date(key.date)] {
                self.places.entry(by).or_default().push(at);
            }
        }
        self.last.insert(key, at);
        let (date, stage, place) = (entry.date, entry.stage, entry.place);
        self.list.push(Test { key, date, stage, cells: Cells::default(), place, has_reading });
        at
    }

    fn last_of(&self, key: &Key) -> Option<usize> {
        self.last.get(key).copied()
    }

    fn of(&self, by: By) -> &[usize] {
        self.places.get(&by).map_or(&[], Vec::as_slice)
    }
}

impl<'a> Sheet<'a> {
    /// Temperatures of a block of their own go to the tests of the same winding and day.
    pub(super) fn join_deferred(&mut self) {
        let deferred = std::mem::take(&mut self.deferred);
        if deferred.is_empty() {
            return;
        }
        let mut of_day: HashMap<(TextId, TextId), Vec<usize>> = HashMap::new();
        for at in 0..self.tests.len() {
            let key = self.tests[at].key;
            of_day.entry((key.winding, self.day_of(key.date))).or_default().push(at);
        }
        for (entry, title) in deferred {
            let near = of_day.get(&(entry.winding, self.day_of(entry.date))).map_or(&[][..], Vec::as_slice);
            if !self.may_hold(|left| &mut left.shared, near.len()) {
                return;
            }
            let fits = |at: &&usize| entry.connection.is_empty() || self.tests[**at].key.connection == entry.connection;
            let fitting: Vec<usize> = near.iter().filter(fits).copied().collect();
            if fitting.is_empty() {
                *self.other_points.entry(title).or_default() += 1;
            }
            for at in fitting {
                self.tests[at].cells.put(entry.column, entry.text);
            }
        }
    }

    /// Two cells of one row that say different things of one reading are both rejected: which is meant cannot be told. Below
    /// dates, so are those of several rows: one of them may measure something else.
    fn without_conflicts(&mut self, entries: Vec<Entry<'a>>, dates_across: bool) -> Vec<Entry<'a>> {
        let mut first: HashMap<_, usize> = HashMap::new();
        let mut conflicts: BTreeMap<usize, CellPlace> = BTreeMap::new();
        for (i, entry) in entries.iter().enumerate().filter(|(_, entry)| is_reading_of(entry)) {
            let stage = entry.stage.map_or(0, |stage| 1 + u8::from(stage.after));
            let keys = [entry.winding, entry.date, entry.order, entry.connection];
            let column = self.texts.id(&entry.column.to_string());
            let name = (if dates_across { 0 } else { entry.place.line }, keys, stage, column);
            let other = *first.entry(name).or_insert(i);
            if entries[other].text != entry.text {
                conflicts.insert(i, entries[other].place);
                conflicts.entry(other).or_insert(entry.place);
            }
        }
        drop(first);
        if conflicts.is_empty() {
            return entries;
        }
        let mut kept = Vec::with_capacity(entries.len());
        for (i, entry) in entries.into_iter().enumerate() {
            let Some(other) = conflicts.get(&i) else {
                kept.push(entry);
                continue;
            };
            let fault = Fault {
                column: entry.column.to_string(),
                value: entry.text.to_owned(),
                rule: format!(
                    "the cell {} holds the same reading of this test and says something else",
                    self.cell(*other).name()
                ),
                hint: "say under [columns] in the policy file what each of the columns holds, or - to leave one out"
                    .to_owned(),
            };
            let Entry { winding, date, connection, column, .. } = entry;
            let known = Known { winding, date, connection, column: Some(column) };
            self.unplaced.push((entry.place, entry.text.to_owned(), fault, Some(known)));
        }
        kept
    }
}
