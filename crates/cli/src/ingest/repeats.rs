//! Rows that describe the same test twice: same winding, connection, scope and moment.
//!
//! Where they say the same, one is kept and the rest are counted. Where they differ, nobody can know which is right: all are
//! kept out, each with the place of the other.

use groundwall::record::TestRecord;
use groundwall::record::validate::Fault;
use hashbrown::HashTable;
use std::collections::BTreeMap;
use std::hash::{BuildHasher, BuildHasherDefault, DefaultHasher};

/// Rows that differ about one test are compared with so many others. Beyond that a row counts as differing: it is kept out
/// either way, and a file in which every row claims the same test must not cost the square of its length.
const DIFFERING_COMPARED: usize = 16;

/// What a test is, next to those read before.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Not seen before.
    New,
    /// Says the same as one seen before.
    Repeat,
    /// Says something else about a test seen before.
    Conflict,
}

/// The tests read so far, by what identifies them. Holds four bytes a test; the tests themselves stay with the caller.
#[derive(Default)]
pub struct Repeats {
    first_rows: HashTable<u32>,
    /// First row of a test that has differing rows, and those.
    differing: BTreeMap<u32, Vec<u32>>,
    hasher: BuildHasherDefault<DefaultHasher>,
}

impl Repeats {
    /// Judges a test. Unless it is a repeat, the caller puts it at the end of `tests`.
    pub fn judge(&mut self, tests: &[TestRecord], candidate: &TestRecord) -> Verdict {
        let hasher = &self.hasher;
        let hash = |test: &TestRecord| hasher.hash_one((&test.winding, test.tested_on, &test.connection, test.scope));
        let own = u32::try_from(tests.len()).unwrap_or(u32::MAX);
        let first = self.first_rows.find(hash(candidate), |i| tests[*i as usize].same_test(candidate)).copied();
        let Some(first) = first else {
            self.first_rows.insert_unique(hash(candidate), own, |i| hash(&tests[*i as usize]));
            return Verdict::New;
        };
        let rows = self.differing.get(&first);
        let seen = std::iter::once(&first).chain(rows.into_iter().flatten().take(DIFFERING_COMPARED));
        if seen.into_iter().any(|i| tests[*i as usize].same_content(candidate)) {
            return Verdict::Repeat;
        }
        self.differing.entry(first).or_default().push(own);
        Verdict::Conflict
    }

    /// Every test that must be kept out, and a test that contradicts it; in order of place.
    #[must_use]
    pub fn contradictions(&self) -> BTreeMap<usize, usize> {
        let mut pairs = BTreeMap::new();
        for (first, others) in &self.differing {
            pairs.insert(*first as usize, others[0] as usize);
            pairs.extend(others.iter().map(|other| (*other as usize, *first as usize)));
        }
        pairs
    }
}

/// The fault of a test that another row contradicts.
#[must_use]
pub fn contradiction(here: &TestRecord, there: &TestRecord, place_there: &str) -> Fault {
    Fault {
        column: "tested_on".to_owned(),
        value: here.tested_on.to_string(),
        rule: format!(
            "{place_there} says something else about the same test of {}, {} ({}), so neither is used",
            crate::error::shown(&here.winding),
            here.connection,
            difference(here, there)
        ),
        hint: "keep the right row and delete the other; if there were two tests, write the time of day too".to_owned(),
    }
}

/// The first thing in which two rows of one test differ.
pub(crate) fn difference(here: &TestRecord, there: &TestRecord) -> String {
    let pair = |name: &str, a: Option<String>, b: Option<String>| {
        let word = |text: Option<String>| text.map_or_else(|| "missing".to_owned(), |t| crate::error::shown(&t));
        (a != b).then(|| format!("{name} is {} here and {} there", word(a), word(b)))
    };
    if let Some(text) = pair("tested_on", Some(here.tested_on.to_string()), Some(there.tested_on.to_string())) {
        return text;
    }
    for reading in here.readings.iter().chain(&there.readings) {
        let value = |test: &TestRecord| test.reading_at(reading.elapsed).map(|value| value.to_string());
        let name = format!("r_{}s", reading.elapsed.as_seconds());
        if let Some(text) = pair(&name, value(here), value(there)) {
            return text;
        }
    }
    let text = |value: &Option<String>| value.clone();
    pair("winding temperature", here.winding_temp.map(|t| t.to_string()), there.winding_temp.map(|t| t.to_string()))
        .or_else(|| pair("test_volts", here.test_volts.map(|v| v.to_string()), there.test_volts.map(|v| v.to_string())))
        .or_else(|| pair("event", here.event.map(|e| e.word().to_owned()), there.event.map(|e| e.word().to_owned())))
        .or_else(|| pair("instrument", text(&here.instrument), text(&there.instrument)))
        .or_else(|| pair("note", text(&here.note), text(&there.note)))
        .unwrap_or_else(|| "the other columns differ".to_owned())
}
