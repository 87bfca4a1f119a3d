//! A part of a circuit beside the whole that it belongs to: a phase beside all phases, a winding beside winding and cable.
//!
//! Insulation of the parts is in parallel, so that at the same time no part can read less than the whole.

use super::case::Case;
use super::result::CorrectedTest;
use crate::record::{Connection, Event, Scope};
use crate::resistance::Measured;
use crate::series::SeriesKey;
use crate::steps;
use chrono::NaiveDate;

/// By so much a part has to read less than the whole did: two testers, two temperatures, two days.
const DIFFERS: f64 = 2.0;
/// A test of the whole that is older than this says nothing of the part now, nor one that came so much later; days.
const HOLDS_DAYS: i64 = 730;
const LATER_DAYS: i64 = 91;

/// A whole that read far more than a part of it reads now.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct LargerWhole {
    /// What it is.
    pub(super) name: &'static str,
    /// What it read, and when.
    pub(super) read: Measured,
    pub(super) on: NaiveDate,
    /// How many times what the part reads.
    pub(super) times: f64,
}

/// For every series of one winding the whole that contradicts it, if one does.
pub(super) fn larger_wholes(cases: &[&Case]) -> Vec<Option<LargerWhole>> {
    cases.iter().map(|part| cases.iter().filter_map(|whole| contradiction(part, whole)).max_by(by_times)).collect()
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
    (times >= DIFFERS).then_some(LargerWhole { name, read, on: then.tested_on.date, times })
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
