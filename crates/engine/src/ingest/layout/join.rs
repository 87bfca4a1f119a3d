//! Cells put together into tests.

use super::CellPlace;
use super::cells::is_reading;
use super::context::Context;
use super::entries::{Entry, Of};
use super::label::Stage;
use super::table::Sheet;
use crate::ingest::columns::same_kind;
use crate::ingest::dates::DateForms;
use groundwall::record::Item;
use groundwall::record::columns::Column;
use groundwall::record::validate::Fault;
use std::collections::{BTreeMap, HashMap, HashSet};
use std::hash::{BuildHasher as _, RandomState};
use std::rc::Rc;

/// What tells one test of a sheet from another.
pub(super) type Key = (String, String, String, String, u8);

/// A test being put together.
#[derive(Clone, Debug)]
pub(super) struct Test {
    pub(super) key: Rc<Key>,
    pub(super) stage: Option<Stage>,
    pub(super) cells: Cells,
    pub(super) place: CellPlace,
    pub(super) line: u64,
    pub(super) has_reading: bool,
}

/// The cells of a test, a few: found by looking through them.
#[derive(Clone, Debug, Default)]
pub(super) struct Cells(Vec<(Column, String)>);

impl Cells {
    /// The columns.
    pub(super) fn columns(&self) -> impl Iterator<Item = Column> {
        self.0.iter().map(|(column, _)| *column)
    }

    pub(super) fn get(&self, column: Column) -> Option<&str> {
        self.0.iter().find(|(own, _)| *own == column).map(|(_, text)| text.as_str())
    }

    fn get_mut(&mut self, column: Column) -> Option<&mut String> {
        self.0.iter_mut().find(|(own, _)| *own == column).map(|(_, text)| text)
    }

    /// Adds a cell of a column that has none yet.
    fn add(&mut self, column: Column, text: &str) {
        self.0.push((column, text.to_owned()));
    }

    /// Puts a cell beside what is there: notes are joined, of two temperatures the lower is taken, which corrects to the lower
    /// resistance.
    fn put(&mut self, column: Column, text: &str) {
        let Some(earlier) = self.get_mut(column) else { return self.add(column, text) };
        let number = |text: &str| text.trim().replace(',', ".").parse::<f64>().ok();
        match column {
            Column::Note if earlier != text => *earlier = format!("{earlier}; {text}"),
            Column::WindingTemp(_) | Column::AirTemp(_) if number(text) < number(earlier) => text.clone_into(earlier),
            _ => {}
        }
    }
}

impl Test {
    /// A test that begins with an entry, of which only the date is filed so far.
    fn begun(entry: &Entry, key: Rc<Key>, has_reading: bool) -> Self {
        let mut cells = Cells::default();
        cells.add(Column::TestedOn, &entry.date);
        Self { key, stage: entry.stage, cells, place: entry.place, line: entry.line, has_reading }
    }
}

impl Sheet<'_> {
    /// Puts entries together into tests. Measuring points of one day and work order are one test, and where one order alone is written on
    /// a day it is that of all.
    pub(super) fn join(&mut self, entries: Vec<Entry>, by_day: bool, dates_across: bool, context: &Context) {
        let entries = self.without_conflicts(entries, dates_across);
        let forms = self.forms.clone();
        let orders = Orders::of(&entries, &forms);
        let key_of = |entry: &Entry, by_day: bool| -> Key {
            let date = if by_day { day_of(&forms, &entry.date) } else { entry.date.clone() };
            let stage = entry.stage.map_or(0, |stage| 1 + u8::from(stage.after));
            (entry.winding.clone(), date, orders.of_entry(entry, &forms).to_owned(), entry.connection.clone(), stage)
        };
        // Points that were read twice on one day belong together by their time.
        let mut first: HashMap<(Key, String), &str> = HashMap::new();
        let mut twice: HashSet<(String, String, String)> = HashSet::new();
        if by_day {
            for entry in &entries {
                let key = key_of(entry, true);
                let whole = (key.0.clone(), key.1.clone(), key.2.clone());
                let date = *first.entry((key, entry.column.to_string())).or_insert(&entry.date);
                if date != entry.date && is_reading(entry.column) {
                    twice.insert(whole);
                }
            }
        }
        drop(first);
        let key = |entry: &Entry| -> Key {
            let by_day_key = key_of(entry, true);
            let together =
                by_day && !twice.contains(&(by_day_key.0.clone(), by_day_key.1.clone(), by_day_key.2.clone()));
            if together { by_day_key } else { key_of(entry, false) }
        };
        let mut tests = Tests::default();
        for entry in entries.iter().filter(|entry| is_reading(entry.column)) {
            let key = key(entry);
            let open = tests.last_of(&key).filter(|at| tests.list[*at].cells.get(entry.column).is_none());
            let at = open.unwrap_or_else(|| tests.push(entry, key, true));
            tests.list[at].cells.add(entry.column, &entry.text);
        }
        for entry in entries.iter().filter(|entry| !is_reading(entry.column)) {
            let key = key(entry);
            let fits = |test: &Test| {
                let (own, other) = (&test.key, &key);
                (own.0 == other.0 || entry.of == Of::Round)
                    && (own.1 == other.1 || (entry.of == Of::Row && test.line == entry.line))
                    && (own.2 == other.2 || entry.of == Of::Round)
                    && (other.3.is_empty() || own.3 == other.3)
                    && (other.4 == 0 || own.4 == other.4)
            };
            let is_of_line = |at: &usize| tests.list[*at].line == entry.line && fits(&tests.list[*at]);
            let mut fitting: Vec<usize> = tests.of(By::Line(entry.line)).iter().copied().filter(is_of_line).collect();
            if fitting.is_empty() {
                let by = if entry.of == Of::Round { By::Date(&key.1) } else { By::Winding(&key.0, &key.1) };
                let near = tests.of(by);
                if !self.may_hold(|left| &mut left.shared, near.len()) {
                    break;
                }
                fitting = near.iter().copied().filter(|at| fits(&tests.list[*at])).collect();
            }
            let of_all = matches!(
                entry.column,
                Column::TestVolts | Column::Instrument | Column::FullScale(_) | Column::Scope | Column::Connection
            ) || (!dates_across && matches!(entry.column, Column::Procedure(_)));
            if entry.of == Of::Row && fitting.len() > 1 && !of_all {
                // It belongs to one of several dates, and nobody knows which.
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
                let at = tests.last_of(&key).unwrap_or_else(|| tests.push(entry, key, false));
                fitting.push(at);
            }
            for at in fitting {
                tests.list[at].cells.put(entry.column, &entry.text);
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
                    test.cells.add(*column, text);
                }
            }
        }
        self.tests.append(&mut tests.list);
    }
}

/// The work orders of a sheet by winding and day, where one alone is written there.
struct Orders(HashMap<(String, String), Option<String>>);

impl Orders {
    fn of(entries: &[Entry], forms: &DateForms) -> Self {
        let mut found: HashMap<(String, String), Option<String>> = HashMap::new();
        for entry in entries.iter().filter(|entry| !entry.order.is_empty()) {
            let key = (entry.winding.clone(), day_of(forms, &entry.date));
            let only = found.entry(key).or_insert_with(|| Some(entry.order.clone()));
            if only.as_ref().is_some_and(|only| *only != entry.order) {
                *only = None;
            }
        }
        Self(found)
    }

    /// The order of an entry: its own, or the only one of its winding and day.
    fn of_entry<'e>(&'e self, entry: &'e Entry, forms: &DateForms) -> &'e str {
        if !entry.order.is_empty() || self.0.is_empty() {
            return &entry.order;
        }
        let key = (entry.winding.clone(), day_of(forms, &entry.date));
        self.0.get(&key).and_then(Option::as_deref).unwrap_or_default()
    }
}

/// Whether what a title says of a test's record is said of all tests below it; a serial number there may be the machine's.
const fn is_of_round(column: &Column) -> bool {
    matches!(column, Column::Procedure(item) if !matches!(item, Item::Serial | Item::OtherPhases))
}

/// What tests are looked for by.
#[derive(Hash)]
enum By<'a> {
    Line(u64),
    /// Winding and date.
    Winding(&'a str, &'a str),
    Date(&'a str),
}

/// Tests being put together, and where they are.
#[derive(Default)]
struct Tests {
    list: Vec<Test>,
    /// The last test of each key.
    last: HashMap<Rc<Key>, usize>,
    /// Tests by the hash of what they are looked for by; a few others may be among them.
    places: HashMap<u64, Vec<usize>>,
    hasher: RandomState,
}

impl Tests {
    /// Begins a test.
    fn push(&mut self, entry: &Entry, key: Key, has_reading: bool) -> usize {
        let at = self.list.len();
        for by in [By::Line(entry.line), By::Winding(&key.0, &key.1), By::Date(&key.1)] {
            self.places.entry(self.hasher.hash_one(by)).or_default().push(at);
        }
        let key = Rc::new(key);
        self.last.insert(Rc::clone(&key), at);
        self.list.push(Test::begun(entry, key, has_reading));
        at
    }

    fn last_of(&self, key: &Key) -> Option<usize> {
        self.last.get(key).copied()
    }

    fn of(&self, by: By<'_>) -> &[usize] {
        self.places.get(&self.hasher.hash_one(by)).map_or(&[], Vec::as_slice)
    }
}

impl Sheet<'_> {
    /// Temperatures of a block of their own go to the tests of the same winding and day.
    pub(super) fn join_deferred(&mut self) {
        if self.deferred.is_empty() {
            return;
        }
        let mut of_day: HashMap<(String, String), Vec<usize>> = HashMap::new();
        for (at, test) in self.tests.iter().enumerate() {
            of_day.entry((test.key.0.clone(), day_of(&self.forms, &test.key.1))).or_default().push(at);
        }
        for (entry, title) in std::mem::take(&mut self.deferred) {
            let near = of_day.get(&(entry.winding, day_of(&self.forms, &entry.date))).map_or(&[][..], Vec::as_slice);
            if !self.may_hold(|left| &mut left.shared, near.len()) {
                return;
            }
            let fits = |at: &&usize| entry.connection.is_empty() || self.tests[**at].key.3 == entry.connection;
            let fitting: Vec<usize> = near.iter().filter(fits).copied().collect();
            if fitting.is_empty() {
                *self.other_points.entry(title).or_default() += 1;
            }
            for at in fitting {
                self.tests[at].cells.put(entry.column, &entry.text);
            }
        }
    }

    /// Two cells of one row that say different things of one reading are both rejected: which is meant cannot be told. Below
    /// dates, so are those of several rows: one of them may measure something else.
    fn without_conflicts(&mut self, entries: Vec<Entry>, dates_across: bool) -> Vec<Entry> {
        let mut first: HashMap<_, (usize, CellPlace)> = HashMap::new();
        let mut conflicts: BTreeMap<usize, CellPlace> = BTreeMap::new();
        for (i, entry) in entries.iter().enumerate().filter(|(_, entry)| is_reading(entry.column)) {
            let stage = entry.stage.map_or(0, |stage| 1 + u8::from(stage.after));
            let keys = [&entry.winding, &entry.date, &entry.order, &entry.connection].map(String::as_str);
            let name = (if dates_across { 0 } else { entry.line }, keys, stage, entry.column.to_string());
            let (other, place) = *first.entry(name).or_insert((i, entry.place));
            if entries[other].text != entry.text {
                conflicts.insert(i, place);
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
                value: entry.text.clone(),
                rule: format!("the cell {} holds the same reading of this test and says something else", other.name()),
                hint: "say under [columns] in the policy file what each of the columns holds, or - to leave one out"
                    .to_owned(),
            };
            self.unplaced.push((entry.place, entry.text, fault));
        }
        kept
    }
}

/// The day of a date as written, or the text where it is none.
fn day_of(forms: &DateForms, date: &str) -> String {
    let iso = forms.read(date).map_or_else(|| date.to_owned(), |dated| dated.iso);
    iso.split('T').next().unwrap_or_default().to_owned()
}
