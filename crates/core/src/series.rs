//! All tests of one winding, connection and scope in time order, and where its last stretch begins.

use crate::absorption::one_minute_resistance;
use crate::record::{Connection, Event, Scope, TestRecord};
use crate::steps;
use crate::units::{Resistance, Temperature, Voltage};
use std::cmp::Ordering;
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

    /// The tests, earliest first. Tests of the same time are in an order that follows from what they say and not from the order of their
    /// rows: rows without work before those with work, rising voltages, the lowest last.
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
                tests.sort_by_key(|test| test.origin);
                in_judged_order(&mut tests);
                Self { key, tests }
            })
            .collect()
    }
}

/// Puts tests into the order in which they are judged: by time, and tests at the same time, whose order is unknown, by content.
/// Rows that are not used follow those that count. `event` is work done since the test before, so rows with work follow those without;
/// water comes before drying, and both before other work. Voltages rise, and of one voltage the lowest is last.
pub(crate) fn in_judged_order(tests: &mut [TestRecord]) {
    tests.sort_by(|a, b| a.tested_on.cmp(&b.tested_on).then_with(|| of_one_time(a, b)));
}

fn of_one_time(a: &TestRecord, b: &TestRecord) -> Ordering {
    let kind = |test: &TestRecord| {
        let work = match test.event {
            None => 0,
            Some(Event::Flooded) => 1,
            Some(Event::Drying) => 2,
            Some(_) => 3,
        };
        (test.kept_out.is_some(), work)
    };
    let volts = |test: &TestRecord| test.test_volts.map_or(0.0, Voltage::as_volts);
    kind(a).cmp(&kind(b)).then_with(|| volts(a).total_cmp(&volts(b))).then_with(|| lowest_last(a, b, 0.0))
}

/// Orders two tests so that the lower one follows, and the colder one of two equal ones. Of a warmer winding each 10 K count for so many
/// decades.
pub(crate) fn lowest_last(a: &TestRecord, b: &TestRecord, decades_per_10_k: f64) -> Ordering {
    let celsius = |test: &TestRecord| test.winding_temp.map_or(0.0, Temperature::as_celsius);
    let height = |test: &TestRecord| {
        let most = one_minute_resistance(&test.readings).and_then(steps::most);
        most.map_or(f64::INFINITY, Resistance::log10_megohms) + decades_per_10_k * celsius(test) / 10.0
    };
    let lower = height(b).total_cmp(&height(a)).then_with(|| celsius(b).total_cmp(&celsius(a)));
    lower.then_with(|| a.content_digest().cmp(&b.content_digest()))
}
