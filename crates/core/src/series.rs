//! All tests of one winding, connection and scope in time order, and where its last stretch begins.

use crate::record::{Connection, Scope, TestRecord};
use std::collections::BTreeMap;

/// What makes tests comparable: same winding, same connection, same scope.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SeriesKey {
    /// The winding.
    pub winding: String,
    /// What the voltage was applied between.
    pub connection: Connection,
    /// What was in the circuit.
    pub scope: Scope,
}

impl SeriesKey {
    /// The series as people name it: winding, then connection and scope where they are not the usual ones.
    ///
    /// # Examples
    ///
    /// ```
    /// use groundwall::{record::{Connection, Phase, Scope}, series::SeriesKey};
    /// let connection = Connection::PhaseEarth(Phase::U);
    /// let key = SeriesKey { winding: "R-203".to_owned(), connection, scope: Scope::WindingAndCable };
    /// assert_eq!(key.name(), "R-203 U-earth with cable");
    /// ```
    #[must_use]
    pub fn name(&self) -> String {
        display_name(&self.winding, &self.connection.to_string(), &self.scope.to_string())
    }
}

/// A series as people name it, from the names of its connection and scope.
#[must_use]
pub fn display_name(winding: &str, connection: &str, scope: &str) -> String {
    let mut name = winding.to_owned();
    // The lines of a circuit have letters of their own.
    let of_circuit = match connection {
        "U-earth" => "L1-PE",
        "V-earth" => "L2-PE",
        "W-earth" => "L3-PE",
        "U-V" => "L1-L2",
        "V-W" => "L2-L3",
        "W-U" => "L3-L1",
        other => other,
    };
    if connection != "all-earth" {
        name.push(' ');
        name.push_str(if scope == "circuit" { of_circuit } else { connection });
    }
    match scope {
        "winding" | "circuit" => {}
        "cable" if winding.to_lowercase().contains("cable") => {}
        "cable" => name.push_str(" cable alone"),
        _ => name.push_str(" with cable"),
    }
    name
}

/// The tests of one key in time order.
#[derive(Clone, Debug, PartialEq)]
pub struct Series {
    pub(crate) key: SeriesKey,
    pub(crate) tests: Vec<TestRecord>,
}

impl Series {
    /// What the tests share.
    #[must_use]
    pub const fn key(&self) -> &SeriesKey {
        &self.key
    }

    /// The tests, earliest first; tests of the same time stay in the order of their rows.
    #[must_use]
    pub fn tests(&self) -> &[TestRecord] {
        &self.tests
    }

    /// The tests alone.
    #[must_use]
    pub fn into_tests(self) -> Vec<TestRecord> {
        self.tests
    }

    /// Groups tests into series, ordered by key, each in time order. The order of the rows does not matter.
    ///
    /// # Examples
    ///
    /// ```
    /// use groundwall::record::{columns::Column, validate::TestRules, Origin};
    /// use groundwall::series::Series;
    /// let test = |winding, day| {
    ///     let cells = [("winding", winding), ("tested_on", day), ("r_60s", "412")];
    ///     let cells = cells.map(|(header, text)| (Column::read(header).unwrap(), text));
    ///     TestRules::default().validate(cells, Origin::default()).unwrap()
    /// };
    /// let series = Series::collect([test("P-2", "2026-01-10"), test("P-1", "2026-04-02"), test("P-1", "2026-01-09")]);
    /// assert_eq!(series.len(), 2);
    /// assert_eq!(series[0].key().winding, "P-1");
    /// assert_eq!(series[0].tests()[0].tested_on().to_string(), "2026-01-09");
    /// ```
    #[must_use]
    pub fn collect(tests: impl IntoIterator<Item = TestRecord>) -> Vec<Self> {
        let mut by_key: BTreeMap<SeriesKey, Vec<TestRecord>> = BTreeMap::new();
        for test in tests {
            let key =
                SeriesKey { winding: test.winding.clone(), connection: test.connection.clone(), scope: test.scope };
            by_key.entry(key).or_default().push(test);
        }
        by_key
            .into_iter()
            .map(|(key, mut tests)| {
                tests.sort_by_key(|test| (test.tested_on, test.origin));
                Self { key, tests }
            })
            .collect()
    }
}
