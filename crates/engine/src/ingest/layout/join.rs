//! Cells put together into tests.

use super::CellPlace;
use super::cells::is_reading;
use super::context::Context;
use super::entries::{Entry, Of};
use super::label::Stage;
use super::table::Sheet;
use crate::ingest::columns::same_kind;
use crate::ingest::dates::DateForms;
use groundwall::record::columns::Column;
use groundwall::record::validate::Fault;
use std::collections::{BTreeMap, BTreeSet};

/// What tells one test of a sheet from another.
pub(super) type Key = (String, String, String, String, u8);

/// A test being put together.
#[derive(Clone, Debug)]
pub(super) struct Test {
    pub(super) key: Key,
    pub(super) stage: Option<Stage>,
    pub(super) cells: BTreeMap<String, String>,
    pub(super) place: CellPlace,
    pub(super) line: u64,
    pub(super) has_reading: bool,
}

impl Test {
    /// A test that begins with an entry, of which only the date is filed so far.
    fn begun(entry: &Entry, key: Key, has_reading: bool) -> Self {
        let cells = BTreeMap::from([("tested_on".to_owned(), entry.date.clone())]);
        Self { key, stage: entry.stage, cells, place: entry.place, line: entry.line, has_reading }
    }
}

impl Sheet<'_> {
    /// Puts entries together into tests. Measuring points of one day and work order are one test.
    pub(super) fn join(&mut self, entries: Vec<Entry>, by_day: bool, dates_across: bool, context: &Context) {
        let entries = self.without_conflicts(entries, dates_across);
        let forms = self.forms.clone();
        let key_of = |entry: &Entry, by_day: bool| -> Key {
            let date = if by_day { day_of(&forms, &entry.date) } else { entry.date.clone() };
            let stage = entry.stage.map_or(0, |stage| 1 + u8::from(stage.after));
            (entry.winding.clone(), date, entry.order.clone(), entry.connection.clone(), stage)
        };
        // Points that were read twice on one day belong together by their time.
        let mut seen: BTreeMap<(Key, String), BTreeSet<String>> = BTreeMap::new();
        let mut twice: BTreeSet<(String, String, String)> = BTreeSet::new();
        if by_day {
            for entry in &entries {
                let key = key_of(entry, true);
                let whole = (key.0.clone(), key.1.clone(), key.2.clone());
                let texts = seen.entry((key, entry.column.to_string())).or_default();
                texts.insert(entry.date.clone());
                if texts.len() > 1 && is_reading(entry.column) {
                    twice.insert(whole);
                }
            }
        }
        let key = |entry: &Entry| -> Key {
            let by_day_key = key_of(entry, true);
            let together =
                by_day && !twice.contains(&(by_day_key.0.clone(), by_day_key.1.clone(), by_day_key.2.clone()));
            if together { by_day_key } else { key_of(entry, false) }
        };
        let mut tests: Vec<Test> = Vec::new();
        let mut places: BTreeMap<Key, Vec<usize>> = BTreeMap::new();
        for entry in entries.iter().filter(|entry| is_reading(entry.column)) {
            let key = key(entry);
            let name = entry.column.to_string();
            let open =
                places.get(&key).and_then(|all| all.last()).copied().filter(|at| !tests[*at].cells.contains_key(&name));
            let at = open.unwrap_or_else(|| {
                places.entry(key.clone()).or_default().push(tests.len());
                tests.push(Test::begun(entry, key.clone(), true));
                tests.len() - 1
            });
            tests[at].cells.insert(name, entry.text.clone());
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
            let mut fitting: Vec<usize> = (0..tests.len()).filter(|at| fits(&tests[*at])).collect();
            let same_line: Vec<usize> = fitting.iter().copied().filter(|at| tests[*at].line == entry.line).collect();
            if !same_line.is_empty() {
                fitting = same_line;
            }
            let of_all = matches!(
                entry.column,
                Column::TestVolts | Column::Instrument | Column::FullScale(_) | Column::Scope | Column::Connection
            );
            if entry.of == Of::Row && fitting.len() > 1 && !of_all {
                // It belongs to one of several dates, and nobody knows which.
                let name = entry.column.to_string();
                if !self.ignored.contains(&name) {
                    self.ignored.push(name);
                }
                continue;
            }
            if fitting.is_empty() {
                if entry.of != Of::Test || matches!(entry.column, Column::Scope) {
                    continue;
                }
                let place = places.get(&key).and_then(|all| all.last()).copied();
                let at = place.unwrap_or_else(|| {
                    places.entry(key.clone()).or_default().push(tests.len());
                    tests.push(Test::begun(entry, key.clone(), false));
                    tests.len() - 1
                });
                fitting.push(at);
            }
            for at in fitting {
                put(&mut tests[at].cells, entry.column, &entry.text);
            }
        }
        for test in &mut tests {
            for (column, text) in &context.columns {
                let is_shared = matches!(
                    column,
                    Column::TestVolts
                        | Column::WindingTemp(_)
                        | Column::AirTemp(_)
                        | Column::Humidity
                        | Column::Instrument
                );
                let same = |name: &String| Column::read(name).is_some_and(|own| same_kind(&own, column));
                if is_shared && !test.cells.keys().any(same) {
                    test.cells.insert(column.to_string(), text.clone());
                }
            }
        }
        self.tests.append(&mut tests);
    }
}

impl Sheet<'_> {
    /// Temperatures of a block of their own go to the tests of the same winding and day.
    pub(super) fn join_deferred(&mut self) {
        for (entry, title) in std::mem::take(&mut self.deferred) {
            let fits = |test: &Test| {
                test.key.0 == entry.winding
                    && day_of(&self.forms, &test.key.1) == day_of(&self.forms, &entry.date)
                    && (entry.connection.is_empty() || test.key.3 == entry.connection)
            };
            let fitting: Vec<usize> = (0..self.tests.len()).filter(|at| fits(&self.tests[*at])).collect();
            if fitting.is_empty() {
                *self.other_points.entry(title).or_default() += 1;
            }
            for at in fitting {
                put(&mut self.tests[at].cells, entry.column, &entry.text);
            }
        }
    }

    /// Two cells of one row that say different things of one reading are both rejected: which is meant cannot be told. Below
    /// dates, so are those of several rows: one of them may measure something else.
    fn without_conflicts(&mut self, entries: Vec<Entry>, dates_across: bool) -> Vec<Entry> {
        let name = |entry: &Entry| {
            let stage = entry.stage.map_or(0, |stage| 1 + u8::from(stage.after));
            let keys = [&entry.winding, &entry.date, &entry.order, &entry.connection].map(Clone::clone);
            (if dates_across { 0 } else { entry.line }, keys, stage, entry.column.to_string())
        };
        let mut first: BTreeMap<_, (usize, CellPlace)> = BTreeMap::new();
        let mut conflicts: BTreeMap<usize, CellPlace> = BTreeMap::new();
        for (i, entry) in entries.iter().enumerate().filter(|(_, entry)| is_reading(entry.column)) {
            let (other, place) = *first.entry(name(entry)).or_insert((i, entry.place));
            if entries[other].text != entry.text {
                conflicts.insert(i, place);
                conflicts.entry(other).or_insert(entry.place);
            }
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

/// Puts a cell into a test: notes are joined, of two temperatures the lower is taken, which corrects to the lower resistance.
fn put(cells: &mut BTreeMap<String, String>, column: Column, text: &str) {
    let name = column.to_string();
    let Some(earlier) = cells.get_mut(&name) else {
        cells.insert(name, text.to_owned());
        return;
    };
    let number = |text: &str| text.trim().replace(',', ".").parse::<f64>().ok();
    match column {
        Column::Note if earlier != text => *earlier = format!("{earlier}; {text}"),
        Column::WindingTemp(_) | Column::AirTemp(_) if number(text) < number(earlier) => text.clone_into(earlier),
        _ => {}
    }
}
