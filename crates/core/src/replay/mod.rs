//! Goes back through the history and compares what the forecasts of the time said with what came.
//!
//! At each past cut the whole fleet is judged with only the tests made until then; nothing learnt later gets in, the priors
//! of the groups included. Then the next readings and the crossings of the minimum are looked up.
//!
//! # What is compared
//!
//! - **Next readings.** The first test after the cut that counts, if it falls before the next cut, so that no test is counted
//!   twice, and no work was done in between. It is compared with the interval for one more reading at its own day and
//!   temperature, corrected with the law of the judgement. Damp tests are left in: the planner met them too. A bound
//!   counts where it decides: above the upper end it lies outside; otherwise it is undecided.
//! - **Crossings.** The minimum counts as reached on the first of two tests in a row, or on a last test, whose corrected
//!   readings are at or below it. Work done, or the end of the record, before the horizon ends the watch undecided.
//! - **Skill.** The plain least-squares line through the exact readings of the same stretch, over-range dropped, forecasts
//!   the same readings.
//!
//! # References
//!
//! Gneiting and Raftery 2007, doi:10.1198/016214506000001437: interval score. Clopper and Pearson 1934: binomial interval.
//! Dawid 1984: the probability integral transform of forecasts made in sequence.

mod line;
mod tally;
#[cfg(test)]
mod tests;
mod watch;

pub use tally::{Calibration, Crossings, EDGES, NextReadings, ProbabilityBin, Share, Skill, Tally};

use crate::assess::{Judgement, Register, SeriesSource, Spread, Terms, assess_fleet};
use crate::series::{Series, SeriesKey};
use chrono::{Days, NaiveDate};
use std::collections::BTreeMap;
use tally::Met;

/// Cuts at most: longer histories are cut at the latest ones.
const MOST_CUTS: usize = 80;
/// Tests that a series must have had before a cut to be judged there.
const LEAST_TESTS: usize = 5;

/// What a replay found.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Replay {
    /// Days on which forecasts were made, earliest first.
    pub cuts: Vec<NaiveDate>,
    /// Confidence of the intervals.
    pub confidence: f64,
    /// Planning horizon, days.
    pub horizon_days: u32,
    /// Everything together.
    pub overall: Tally,
    /// The same by group of similar windings.
    pub groups: BTreeMap<String, Tally>,
    /// Windings that reached their minimum in the record, and what was said of them beforehand.
    pub reached: Vec<Reached>,
}

/// A series that reached its minimum, and what was said beforehand.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Reached {
    /// The series' name.
    pub series: String,
    /// First test at or below the minimum.
    pub on: NaiveDate,
    /// Cut at which `plan` or `hold` was first said and kept up until then; none where it came unannounced.
    pub flagged_on: Option<NaiveDate>,
    /// Tests from that cut to the crossing, the crossing one included.
    pub tests_ahead: usize,
    /// Cuts before the crossing at which an interval was given.
    pub intervals: usize,
    /// Of these, intervals that held the date.
    pub held: usize,
}

/// Replays a fleet, of which nothing but the readings and a few numbers a winding is kept.
///
/// `series` must be in the order of their keys, as [`Series::collect`] gives them; `every_days` is the time between cuts.
///
/// # Validity
///
/// Any input. With few cases the shares say little: each comes with its binomial interval.
#[must_use]
pub fn replay<S: SeriesSource + ?Sized>(
    series: &S,
    register: &Register,
    terms: &Terms,
    every_days: u32,
    spread: &impl Spread,
) -> Replay {
    let days: Vec<Vec<NaiveDate>> = (0..series.count()).map(|i| days(&series.series(i))).collect();
    let cuts = cuts(&days, terms.as_of, every_days.max(1));
    let records = assess_fleet(series, register, terms, spread, |judgement| watch::Record::of(&judgement, terms));
    let mut replay = Replay {
        cuts: cuts.clone(),
        confidence: terms.confidence.as_fraction(),
        horizon_days: terms.policy.horizon_days,
        overall: Tally::default(),
        groups: BTreeMap::new(),
        reached: Vec::new(),
    };
    let mut said: Vec<Vec<watch::PastForecast>> = vec![Vec::new(); records.len()];
    for (k, cut) in cuts.iter().enumerate() {
        let until = cuts.get(k + 1).copied().unwrap_or(terms.as_of);
        let then = Terms { as_of: *cut, ..terms.clone() };
        let known = Known::at(*cut, series, &days);
        let judged = assess_fleet(&known, register, &then, spread, |judgement| {
            let Some((i, whole)) = find(series, &judgement) else {
                return (Met::default(), None, judgement.assessment.group);
            };
            let met = Met {
                next: watch::next_reading(&judgement, &whole, until, terms),
                crossing: watch::crossing(&judgement, &records[i], terms),
            };
            // Only of those that reached their minimum is it asked later what was said.
            let said = records[i].reached_its_minimum().then(|| (i, watch::forecast_of(&judgement)));
            (met, said, judgement.assessment.group)
        });
        for (met, said_then, group) in judged {
            if let Some((i, said_then)) = said_then {
                said[i].push(said_then);
            }
            replay.groups.entry(group.unwrap_or_default()).or_default().count(&met);
            replay.overall.count(&met);
        }
    }
    replay.reached = records.iter().zip(&said).filter_map(|(record, said)| record.reached(said)).collect();
    replay.overall.finish(replay.confidence);
    for tally in replay.groups.values_mut() {
        tally.finish(replay.confidence);
    }
    replay
}

/// The days of the tests of a series, earliest first.
fn days(series: &Series) -> Vec<NaiveDate> {
    series.tests.iter().map(|test| test.tested_on.date).collect()
}

/// Cut days: every so many days back from the as-of date, as far as any series has enough tests.
fn cuts(days: &[Vec<NaiveDate>], as_of: NaiveDate, every_days: u32) -> Vec<NaiveDate> {
    let Some(first) = days.iter().filter_map(|days| days.get(LEAST_TESTS - 1)).min() else { return Vec::new() };
    let back = |k: usize| as_of.checked_sub_days(Days::new(u64::from(every_days) * k as u64));
    let mut cuts: Vec<NaiveDate> = (1..=MOST_CUTS).map_while(back).take_while(|cut| cut >= first).collect();
    cuts.reverse();
    cuts
}

/// The series as they were known at a cut; those with too few tests are left out.
struct Known<'a, S: ?Sized> {
    series: &'a S,
    /// Position of a series among all, and how many of its tests were known.
    places: Vec<(usize, usize)>,
}

impl<'a, S: SeriesSource + ?Sized> Known<'a, S> {
    fn at(cut: NaiveDate, series: &'a S, days: &[Vec<NaiveDate>]) -> Self {
        let known = days.iter().map(|days| days.partition_point(|day| *day <= cut));
        Self { series, places: known.enumerate().filter(|(_, tests)| *tests >= LEAST_TESTS).collect() }
    }
}

impl<S: SeriesSource + ?Sized> SeriesSource for Known<'_, S> {
    fn count(&self) -> usize {
        self.places.len()
    }

    fn winding(&self, i: usize) -> &str {
        self.series.winding(self.places[i].0)
    }

    fn key(&self, i: usize) -> SeriesKey {
        self.series.key(self.places[i].0)
    }

    fn series(&self, i: usize) -> Series {
        let (place, tests) = self.places[i];
        let mut series = self.series.series(place);
        series.tests.truncate(tests);
        series
    }

    fn tests(&self, i: usize) -> usize {
        self.places[i].1
    }
}

/// The series that a judgement is about, with all its tests, and its position.
fn find<S: SeriesSource + ?Sized>(series: &S, judgement: &Judgement) -> Option<(usize, Series)> {
    let result = &judgement.assessment;
    let (mut low, mut high) = (0, series.count());
    while low < high {
        let middle = low.midpoint(high);
        if series.winding(middle) < result.winding.as_str() {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    let same =
        |key: &SeriesKey| key.connection.to_string() == result.connection && key.scope.to_string() == result.scope;
    let of_winding = (low..series.count()).take_while(|i| series.winding(*i) == result.winding);
    of_winding.map(|i| (i, series.series(i))).find(|(_, series)| same(&series.key))
}
