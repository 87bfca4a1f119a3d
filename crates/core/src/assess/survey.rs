//! What has to be known of every series of a fleet before one of them is judged: from it follows which series the groups are learnt
//! from, and which may be copies. A fleet that does not fit into one process is surveyed part by part.

use super::case::latest_that_counts;
use super::copies::{LatestValue, telling_value};
use super::inputs::{Register, SeriesSource};
use super::not_as_learnt::NotAsLearnt;
use super::spread::Spread;
use crate::nameplate::Nameplate;
use crate::record::{Scope, TestRecord};
use crate::series::SeriesKey;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// What a survey says of one series. Every combination of values is a valid one.
#[derive(Clone, Debug, PartialEq)]
pub struct Surveyed {
    /// Which series.
    pub key: SeriesKey,
    /// The group of similar windings that it belongs to.
    pub group: String,
    /// How many tests it has up to the as-of date.
    pub tests: usize,
    /// Its latest test that counts; none if it has nothing that distinguishes it from another winding's.
    pub latest: Option<LatestValue>,
}

/// A survey of a fleet, or of a part of it that has whole windings.
///
/// # Examples
///
/// Two parts, surveyed in two processes, are one fleet:
/// ```
/// use groundwall::absorption::one_minute;
/// use groundwall::assess::{InTurn, Register, Survey};
/// use groundwall::prelude::*;
///
/// let day = "2026-10-12".parse()?;
/// let series = |winding: &str, megohms: f64| -> Result<_, Box<dyn std::error::Error>> {
///     let test = TestRecord::builder(winding, TestedOn::day(day));
///     Ok(Series::collect([test.reading(one_minute(), Measured::Exact(Resistance::from_megohms(megohms)?)).build()?]))
/// };
/// let (one, other) = (series("P-7", 371.0)?, series("P-8", 412.0)?);
/// let parts = [one, other].map(|part| Survey::of(&part, &Register::new(), day, &InTurn));
/// let fleet = Survey::join(parts)?;
/// assert_eq!(fleet.series().len(), 2);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Survey {
    as_of: NaiveDate,
    /// In the order of their keys.
    series: Vec<Surveyed>,
}

impl Survey {
    /// Surveys series as of a day.
    #[must_use]
    pub fn of(series: &impl SeriesSource, register: &Register, as_of: NaiveDate, spread: &impl Spread) -> Self {
        let surveyed = spread.map((0..series.count()).collect(), |i| {
            let (tests, latest) = tests_and_latest(series, i, as_of);
            let key = series.key(i);
            let group = group_of(register.get(&key.winding), key.scope);
            Surveyed { key, group, tests, latest }
        });
        Self::in_order(surveyed, as_of)
    }

    /// The survey of one part from its series, as [`Survey::series`] gave them in another process.
    ///
    /// # Errors
    ///
    /// [`NotAsLearnt::InTwoParts`] where a series is there twice.
    pub fn from_series(series: Vec<Surveyed>, as_of: NaiveDate) -> Result<Self, NotAsLearnt> {
        let survey = Self::in_order(series, as_of);
        match survey.series.windows(2).find(|pair| pair[0].key == pair[1].key) {
            Some(pair) => Err(NotAsLearnt::InTwoParts { winding: pair[0].key.winding.clone() }),
            None => Ok(survey),
        }
    }

    fn in_order(mut series: Vec<Surveyed>, as_of: NaiveDate) -> Self {
        if !series.is_sorted_by(|a, b| a.key <= b.key) {
            series.sort_by(|a, b| a.key.cmp(&b.key));
        }
        Self { as_of, series }
    }

    /// Makes one survey of those of all parts, in whatever order they come.
    ///
    /// # Errors
    ///
    /// A [`NotAsLearnt`] where a winding is in two parts, because its series are judged together, where two parts were surveyed as of
    /// different days, and where there is no part at all.
    pub fn join(parts: impl IntoIterator<Item = Self>) -> Result<Self, NotAsLearnt> {
        let mut parts = parts.into_iter();
        let Self { as_of, mut series } = parts.next().ok_or(NotAsLearnt::Nothing)?;
        // What begins a part is marked, so that a winding that goes on in another part is seen once all are in order.
        let mut part_of: Vec<usize> = vec![0; series.len()];
        for (number, part) in (1..).zip(parts) {
            if part.as_of != as_of {
                return Err(NotAsLearnt::OtherDay { then: as_of, now: part.as_of });
            }
            part_of.resize(part_of.len() + part.series.len(), number);
            series.extend(part.series);
        }
        let mut all: Vec<(Surveyed, usize)> = series.into_iter().zip(part_of).collect();
        all.sort_by(|a, b| a.0.key.cmp(&b.0.key));
        let divided =
            all.windows(2).find(|pair| pair[0].0.key.winding == pair[1].0.key.winding && pair[0].1 != pair[1].1);
        if let Some(pair) = divided {
            return Err(NotAsLearnt::InTwoParts { winding: pair[0].0.key.winding.clone() });
        }
        Ok(Self { as_of, series: all.into_iter().map(|(series, _)| series).collect() })
    }

    /// What it says of each series, in the order of their keys.
    #[must_use]
    pub fn series(&self) -> &[Surveyed] {
        &self.series
    }

    /// The day as of which it was made.
    #[must_use]
    pub const fn as_of(&self) -> NaiveDate {
        self.as_of
    }

    /// How many tests each winding has.
    pub(super) fn windings(&self) -> BTreeMap<String, usize> {
        let mut windings = BTreeMap::new();
        for series in &self.series {
            *windings.entry(series.key.winding.clone()).or_default() += series.tests;
        }
        windings
    }
}

/// What the choice of series goes by: a survey without names, for those who have the series themselves.
#[derive(Default)]
pub(super) struct Scan {
    /// The series of each group that have a test, by their places in the order of the keys.
    pub(super) groups: BTreeMap<String, Vec<usize>>,
    /// How many tests each series has.
    pub(super) tests: Vec<usize>,
    /// The latest value of each.
    pub(super) latest: Vec<Option<LatestValue>>,
}

impl Scan {
    /// Looks at series; `order` says in which order their keys are.
    pub(super) fn of(
        series: &impl SeriesSource,
        order: &[usize],
        register: &Register,
        as_of: NaiveDate,
        spread: &impl Spread,
    ) -> Self {
        let seen = spread.map(order.to_vec(), |i| tests_and_latest(series, i, as_of));
        let mut scan = Self::default();
        for (i, (tests, latest)) in order.iter().zip(seen) {
            let key = series.key(*i);
            scan.add(group_of(register.get(&key.winding), key.scope), tests, latest);
        }
        scan
    }

    fn add(&mut self, group: String, tests: usize, latest: Option<LatestValue>) {
        if tests > 0 {
            self.groups.entry(group).or_default().push(self.tests.len());
        }
        self.tests.push(tests);
        self.latest.push(latest);
    }
}

impl From<&Survey> for Scan {
    fn from(survey: &Survey) -> Self {
        let mut scan = Self::default();
        for series in &survey.series {
            scan.add(series.group.clone(), series.tests, series.latest);
        }
        scan
    }
}

/// How many tests of a series there are until the as-of date, and the value of the latest that counts.
fn tests_and_latest(series: &impl SeriesSource, i: usize, as_of: NaiveDate) -> (usize, Option<LatestValue>) {
    let (tests, mut backwards) = until(series, i, as_of);
    let latest = latest_that_counts(&mut backwards, as_of);
    let value = |latest: TestRecord| Some(LatestValue { on: latest.tested_on.date, value: telling_value(&latest)? });
    (tests, latest.and_then(value))
}

/// How many tests of a series there are until the as-of date, and these tests, latest first. What was tested later is no evidence for anybody.
pub(super) fn until<S: SeriesSource + ?Sized>(
    series: &S,
    i: usize,
    as_of: NaiveDate,
) -> (usize, impl Iterator<Item = TestRecord> + '_) {
    let mut backwards = series.backwards(i).peekable();
    let mut later = 0;
    while backwards.next_if(|test| test.tested_on.date > as_of).is_some() {
        later += 1;
    }
    (series.tests(i).saturating_sub(later), backwards)
}

/// The group of a series: by the nameplate of its winding, and by the scope where that says what was tested.
pub(super) fn group_of(nameplate: Option<&Nameplate>, scope: Scope) -> String {
    match (nameplate, scope.construction()) {
        (Some(nameplate), None) => nameplate.group_name(),
        (nameplate, construction) => {
            let nameplate = nameplate.cloned().unwrap_or_default();
            Nameplate { construction: construction.or(nameplate.construction), ..nameplate }.group_name()
        }
    }
}
