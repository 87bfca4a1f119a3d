//! Histories with one row per timed reading: rows of the same winding, connection, scope and moment become one test.
//!
//! Every row is still counted. A row that says again what another said is a repeat; where two rows of a test contradict each
//! other, it is unknown which is right, and the whole test is kept out, each row with the place of the contradiction.

use super::repeats;
use groundwall::record::validate::Fault;
use groundwall::record::{Connection, Origin, Scope, TestRecord, TestedOn};
use std::collections::HashMap;
use std::sync::Arc;

/// More rows than this belong to no test that was ever made: a reading every second for the longest test is fewer.
const ROWS_OF_ONE_TEST: usize = 8000;

/// One test and its rows.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// The test as far as it is known.
    pub test: TestRecord,
    /// Places of its rows, repeats left out.
    pub rows: Vec<Origin>,
    /// The first contradiction: the row found to differ, and the test as it was before.
    clash: Option<Box<(TestRecord, TestRecord)>>,
}

/// Tests being put together from their rows.
#[derive(Debug, Default)]
pub struct Timed {
    places: HashMap<(String, TestedOn, Connection, Scope), usize>,
    groups: Vec<Group>,
}

impl Timed {
    /// Takes a row; true when it only repeats what its test says already.
    pub fn add(&mut self, row: TestRecord) -> bool {
        let key = (row.winding().to_owned(), row.tested_on(), row.connection().clone(), row.scope());
        let next = self.groups.len();
        let place = *self.places.entry(key).or_insert(next);
        let Some(group) = self.groups.get_mut(place) else {
            self.groups.push(Group { rows: vec![row.origin()], test: row, clash: None });
            return false;
        };
        if group.clash.is_some() {
            group.rows.push(row.origin());
            return false;
        }
        let mut joined = group.test.clone();
        if group.rows.len() >= ROWS_OF_ONE_TEST || !joined.join(&row) {
            group.rows.push(row.origin());
            group.clash = Some(Box::new((row, group.test.clone())));
            return false;
        }
        if joined == group.test {
            return true;
        }
        group.rows.push(row.origin());
        group.test = joined;
        false
    }

    /// The tests, in the order in which they began.
    #[must_use]
    pub fn into_groups(self) -> Vec<Group> {
        self.groups
    }

    /// Whether no row was taken.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.groups.is_empty()
    }
}

impl Group {
    /// The fault of every row of a test whose rows contradict each other; `place` names a row.
    #[must_use]
    pub fn contradiction(&self, place: impl Fn(Origin) -> String) -> Option<Vec<(Origin, Arc<Fault>)>> {
        let (late, early) = self.clash.as_deref()?;
        let of_late = Arc::new(repeats::contradiction(late, early, &place(early.origin())));
        let of_others = Arc::new(repeats::contradiction(early, late, &place(late.origin())));
        let fault = |origin: &Origin| if *origin == late.origin() { &of_late } else { &of_others };
        Some(self.rows.iter().map(|origin| (*origin, Arc::clone(fault(origin)))).collect())
    }
}
