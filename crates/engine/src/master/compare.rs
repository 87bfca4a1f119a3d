//! Tests of the sheets next to those of the master: which are new, which are there already, which say something else.

use crate::ingest::repeats::at_two_voltages;
use groundwall::record::{Connection, Scope, TestRecord, TestedOn};
use std::collections::HashMap;

/// What the tests of the sheets are to the master.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Compared {
    /// Tests that the master does not have, in the order of the sheets.
    pub new: Vec<TestRecord>,
    /// How many it has already, word for word and number for number.
    pub there: usize,
    /// Tests about which the master says something else, each with the master's.
    pub conflicts: Vec<(TestRecord, TestRecord)>,
}

/// What identifies a test.
type Key<'a> = (&'a str, TestedOn, &'a Connection, Scope);

fn key(test: &TestRecord) -> Key<'_> {
    (test.winding(), test.tested_on(), test.connection(), test.scope())
}

/// Compares the tests of the sheets, among which none stands twice, with those of the master.
#[must_use]
pub fn compare(master: &[TestRecord], sheets: Vec<TestRecord>) -> Compared {
    let mut there: HashMap<Key<'_>, Vec<&TestRecord>> = HashMap::new();
    for test in master {
        there.entry(key(test)).or_default().push(test);
    }
    let mut compared = Compared::default();
    for test in sheets {
        let others = there.get(&key(&test)).cloned().unwrap_or_default();
        let is_there = others.iter().any(|other| other.same_content(&test));
        match others.iter().find(|other| !at_two_voltages(&test, other)) {
            _ if is_there => compared.there += 1,
            Some(other) => compared.conflicts.push((test, (*other).clone())),
            None => compared.new.push(test),
        }
    }
    compared
}
