//! A part of a circuit beside the whole that it belongs to: a phase beside all phases, a winding beside winding and cable.
//!
//! Insulation of the parts is in parallel, so that at the same time no part can read less than the whole.

use super::case::Case;
use super::result::CorrectedTest;
use crate::record::{Connection, Event, Scope, TestRecord};
use crate::resistance::Measured;
use crate::series::SeriesKey;
use crate::steps;
use crate::units::Resistance;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// By so much a part has to read less than the whole did: two testers, two temperatures, two days.
const DIFFERS: f64 = 2.0;
/// A test of the whole that is older than this says nothing of the part now, nor one that came so much later; days.
const HOLDS_DAYS: i64 = 730;
const LATER_DAYS: i64 = 91;

/// What contradicts a reading: a whole that read far more than this part of it, or parts that read far more than this whole.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct LargerWhole {
    /// What it is.
    pub(super) name: &'static str,
    /// Whether it is made up of parts, and what they are in parallel is `read`.
    pub(super) of_parts: bool,
    /// What it read, and when.
    pub(super) read: Measured,
    pub(super) on: NaiveDate,
    /// How many times what the part reads.
    pub(super) times: f64,
}

/// Tests under a connection that is not understood, which may be of another series of its winding.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Unnamed {
    /// The connection as written.
    pub(super) connection: Connection,
    pub(super) tests: Vec<TestRecord>,
}

/// A connection with no more tests than these may be a slip beside one that has so many times as many.
const FEW: usize = 2;
const MANY_MORE: usize = 3;

/// For every series of one winding the tests under connections that are not understood and that are not older than its own latest.
pub(super) fn unnamed(cases: &[&Case]) -> Vec<Vec<Unnamed>> {
    // A word that is no usual one, tried once or twice beside a longer series, may be a slip too.
    let is_odd = |case: &Case| {
        let key = &case.series.key;
        let is_longer = |other: &&&Case| {
            other.series.key.scope == key.scope && other.counted().count() >= MANY_MORE * case.counted().count()
        };
        case.counted().count() <= FEW && key.connection.is_unusual() && cases.iter().any(|other| is_longer(&other))
    };
    let is_unnamed = |case: &&&Case| case.series.key.connection.may_be_misspelt() || is_odd(case);
    let found: Vec<&Case> = cases.iter().filter(is_unnamed).copied().collect();
    let of = |case: &&Case| {
        if is_unnamed(&case) {
            return Vec::new();
        }
        let since = case.latest().map(|at| case.tests[at].tested_on.date);
        let newer = |other: &&Case| {
            let tests = other.counted().map(|at| other.record(at)).filter(|test| Some(test.tested_on.date) >= since);
            let tests: Vec<TestRecord> = tests.cloned().collect();
            (!tests.is_empty()).then(|| Unnamed { connection: other.series.key.connection.clone(), tests })
        };
        found.iter().filter_map(newer).collect()
    };
    cases.iter().map(of).collect()
}

/// For every series of one winding the whole that contradicts it, if one does.
pub(super) fn larger_wholes(cases: &[&Case]) -> Vec<Option<LargerWhole>> {
    let mut by_connection: BTreeMap<&Connection, Vec<&Case>> = BTreeMap::new();
    for case in cases {
        by_connection.entry(&case.series.key.connection).or_default().push(case);
    }
    let connected = |connection: &Connection| by_connection.get(connection).map_or(&[][..], Vec::as_slice);
    // A whole has the connection of its part, or all phases.
    let of_wholes = |part: &Case| {
        let own = &part.series.key.connection;
        let all_phases = connected(&Connection::AllEarth).iter().filter(|_| *own != Connection::AllEarth);
        all_phases.chain(connected(own)).filter_map(|whole| contradiction(part, whole)).max_by(by_times)
    };
    let of_parts = |case: &Case| match &case.series.key.connection {
        Connection::AllEarth => of_parts(case, cases),
        own => of_parts(case, connected(own)),
    };
    cases.iter().map(|case| of_wholes(case).or_else(|| of_parts(case))).collect()
}

fn by_times(one: &LargerWhole, other: &LargerWhole) -> std::cmp::Ordering {
    one.times.total_cmp(&other.times)
}

fn contradiction(part: &Case, whole: &Case) -> Option<LargerWhole> {
    let name = contains(&whole.series.key, &part.series.key)?;
    let latest = |case: &Case| -> Option<CorrectedTest> { Some(case.tests[case.latest()?].clone()) };
    let (now, then) = (latest(part)?, latest(whole)?);
    let days = now.tested_on.date.signed_duration_since(then.tested_on.date).num_days();
    let is_new = |test: &CorrectedTest| {
        let another = matches!(test.event, Some(Event::Rewound | Event::Replaced | Event::Commissioned));
        another && test.tested_on.date >= then.tested_on.date
    };
    if !(-LATER_DAYS..=HOLDS_DAYS).contains(&days) || part.tests.iter().any(is_new) {
        return None;
    }
    let times = steps::least(then.corrected?)?.as_megohms() / steps::most(now.corrected?)?.as_megohms();
    let read = then.as_read?;
    (times >= DIFFERS).then_some(LargerWhole { name, of_parts: false, read, on: then.tested_on.date, times })
}

/// All the parts of a whole, where in parallel they read far more than it does: three leads to earth, or a winding and its cable.
fn of_parts(whole: &Case, cases: &[&Case]) -> Option<LargerWhole> {
    let now = &whole.tests[whole.latest()?];
    let recent = |part: &&&Case| {
        let test = part.latest().map(|at| &part.tests[at]);
        let days = test.map(|test| now.tested_on.date.signed_duration_since(test.tested_on.date).num_days());
        days.is_some_and(|days| (-LATER_DAYS..=HOLDS_DAYS).contains(&days))
    };
    let (key, scope) = (&whole.series.key, whole.series.key.scope);
    let parts = |is_part: &dyn Fn(&SeriesKey) -> bool| -> Vec<&CorrectedTest> {
        let of_it = cases.iter().filter(|part| is_part(&part.series.key)).filter(recent);
        of_it.filter_map(|part| Some(&part.tests[part.latest()?])).collect()
    };
    let leads = || parts(&|part| part.scope == scope && part.connection.phase_to_earth().is_some());
    let with_cable =
        || parts(&|part| matches!(part.scope, Scope::Winding | Scope::Cable) && part.connection == key.connection);
    let (name, of_it) = match scope {
        Scope::WindingAndCable if with_cable().len() == 2 => ("winding and cable", with_cable()),
        _ if key.connection == Connection::AllEarth && leads().len() == 3 => ("the three phases", leads()),
        _ => return None,
    };
    let conductance = |value: fn(&CorrectedTest) -> Option<Measured>| -> Option<f64> {
        of_it.iter().map(|test| Some(1.0 / steps::least(value(test)?)?.as_megohms())).sum()
    };
    let times = 1.0 / conductance(|test| test.corrected)? / steps::most(now.corrected?)?.as_megohms();
    let read = Resistance::from_megohms(1.0 / conductance(|test| test.as_read)?).ok().map(Measured::Exact)?;
    let on = of_it.iter().map(|test| test.tested_on.date).max()?;
    (times >= DIFFERS).then_some(LargerWhole { name, of_parts: true, read, on, times })
}

/// What the whole is called, where one series is of a whole and the other of a part of it.
fn contains(whole: &SeriesKey, part: &SeriesKey) -> Option<&'static str> {
    let all_phases = whole.connection == Connection::AllEarth && part.connection.phase_to_earth().is_some();
    let with_cable = whole.scope == Scope::WindingAndCable && matches!(part.scope, Scope::Winding | Scope::Cable);
    match (all_phases, with_cable) {
        (_, true) if all_phases || whole.connection == part.connection => Some("winding and cable together"),
        (true, false) if whole.scope == part.scope => Some("all phases together"),
        _ => None,
    }
}
