//! All series of a works judged together: similar windings lend each other strength, phases are compared.
//!
//! First each group is taught by its members, or by some of them if there are many; then winding after winding is judged and
//! forgotten, so that a fleet of any size needs no more room than its readings. The work can be spread over threads through
//! [`InEach`]; whatever is summed up is summed in the order of the series, so the result does not depend on the threads.

use super::Judgement;
use super::case::{Case, Terms, latest_that_counts};
use super::copies;
use super::lessons::{self, Group, Lessons, Prepared};
use super::phases;
use super::verdict::{self, Beside};
use crate::nameplate::Nameplate;
use crate::record::TestRecord;
use crate::series::Series;
use crate::table::SeriesTable;
use crate::trend::Solved;
use std::collections::BTreeMap;
use std::ops::Range;

/// The list of windings with their nameplates.
pub type Register = BTreeMap<String, Nameplate>;

/// Does one thing in each of many, in any order, and gives the results in the order of the things.
pub trait InEach {
    /// Applies `f` to each.
    fn in_each<T: Send, R: Send>(&self, things: Vec<T>, f: impl Fn(T) -> R + Sync + Send) -> Vec<R>;
}

/// One after the other on the caller's thread.
#[derive(Clone, Copy, Debug, Default)]
pub struct InTurn;

impl InEach for InTurn {
    fn in_each<T: Send, R: Send>(&self, things: Vec<T>, f: impl Fn(T) -> R + Sync + Send) -> Vec<R> {
        things.into_iter().map(f).collect()
    }
}

/// Series in the order of their keys, given one at a time and as often as they are asked for.
pub trait SeriesSource: Sync {
    /// How many there are.
    fn count(&self) -> usize;

    /// The winding of one.
    fn winding(&self, i: usize) -> &str;

    /// One of them.
    fn series(&self, i: usize) -> Series;

    /// How many tests one has.
    fn tests(&self, i: usize) -> usize;

    /// The tests of one, latest first. Few of them are asked for.
    fn backwards(&self, i: usize) -> Box<dyn Iterator<Item = TestRecord> + '_> {
        Box::new(self.series(i).tests.into_iter().rev())
    }
}

/// Tests that are not in time order are put into it.
impl SeriesSource for [Series] {
    fn count(&self) -> usize {
        self.len()
    }

    fn winding(&self, i: usize) -> &str {
        &self[i].key.winding
    }

    fn series(&self, i: usize) -> Series {
        let mut series = self[i].clone();
        if !series.tests.is_sorted_by_key(|test| test.tested_on) {
            series.tests.sort_by_key(|test| (test.tested_on, test.origin));
        }
        series
    }

    fn tests(&self, i: usize) -> usize {
        self[i].tests.len()
    }
}

impl SeriesSource for Vec<Series> {
    fn count(&self) -> usize {
        self.len()
    }

    fn winding(&self, i: usize) -> &str {
        self.as_slice().winding(i)
    }

    fn series(&self, i: usize) -> Series {
        self.as_slice().series(i)
    }

    fn tests(&self, i: usize) -> usize {
        self.as_slice().tests(i)
    }
}

impl SeriesSource for SeriesTable {
    fn count(&self) -> usize {
        self.len()
    }

    fn winding(&self, i: usize) -> &str {
        self.winding(i)
    }

    fn series(&self, i: usize) -> Series {
        self.series(i)
    }

    fn tests(&self, i: usize) -> usize {
        self.tests_of(i)
    }

    fn backwards(&self, i: usize) -> Box<dyn Iterator<Item = TestRecord> + '_> {
        Box::new(self.backwards(i))
    }
}

impl<S: SeriesSource + ?Sized> SeriesSource for &S {
    fn count(&self) -> usize {
        (**self).count()
    }

    fn winding(&self, i: usize) -> &str {
        (**self).winding(i)
    }

    fn series(&self, i: usize) -> Series {
        (**self).series(i)
    }

    fn tests(&self, i: usize) -> usize {
        (**self).tests(i)
    }

    fn backwards(&self, i: usize) -> Box<dyn Iterator<Item = TestRecord> + '_> {
        (**self).backwards(i)
    }
}

/// Judges every series. `finish` is called with each judgement as soon as it is made and says what is kept of it.
///
/// The results are in the order of `series`, which must be in the order of their keys, as [`Series::collect`] and
/// [`TestTable::into_series`](crate::table::TestTable::into_series) give them.
///
/// # Validity
///
/// Any input: a series that cannot be judged gets an action and a finding that says why.
pub fn assess_fleet<R: Send>(
    series: impl SeriesSource,
    register: &Register,
    terms: &Terms,
    spread: &impl InEach,
    finish: impl Fn(Judgement) -> R + Sync + Send,
) -> Vec<R> {
    let all: Vec<usize> = (0..series.count()).collect();
    let prepare = |i: usize| Prepared::new(Case::prepare(series.series(i), register, terms), terms);
    let mut groups: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for &i in &all {
        let nameplate = register.get(series.winding(i));
        let name = nameplate.map_or_else(|| Nameplate::default().group_name(), Nameplate::group_name);
        groups.entry(name).or_default().push(i);
    }
    let groups = groups.into_iter().map(|(name, members)| Group::of(name, &members, |i| series.tests(i)));
    let lessons = lessons::teach(groups.collect(), prepare, terms, spread);
    let latest =
        spread.in_each(all, |i| copies::Value::of(i, &latest_that_counts(&mut series.backwards(i), terms.as_of)?));
    let copied = copies::copies(&series, latest.into_iter().flatten().collect(), terms.as_of);
    let untaught = Lessons::default();
    let judged = spread.in_each(windings(&series), |of_one: Range<usize>| {
        let solved: Vec<(&Lessons, Case, Option<Solved>)> = (of_one.clone())
            .map(|i| {
                let prepared = prepare(i);
                let lessons = lessons.get(&prepared.case.nameplate.group_name()).unwrap_or(&untaught);
                let (case, solved) = lessons.apply(prepared, terms);
                (lessons, case, solved)
            })
            .collect();
        let cases: Vec<&Case> = solved.iter().map(|(_, case, _)| case).collect();
        let phases = phases::standings(&cases, terms);
        let beside =
            phases.into_iter().zip(of_one).map(|(phases, i)| Beside { phases, copied: copied.get(&i).cloned() });
        let judge = |((lessons, case, solved), beside): ((&Lessons, Case, Option<Solved>), Beside)| {
            let fit = solved.map(|solved| solved.average(&lessons.weights));
            finish(verdict::judge(case, fit, &beside, lessons, terms))
        };
        let beside: Vec<Beside> = beside.collect();
        // Room of its own: that of the models, used again, would be kept as long as the results.
        let mut results = Vec::with_capacity(beside.len());
        results.extend(solved.into_iter().zip(beside).map(judge));
        results
    });
    judged.into_iter().flatten().collect()
}

/// The series of each winding, which stand beside each other.
fn windings(series: &impl SeriesSource) -> Vec<Range<usize>> {
    let mut found: Vec<Range<usize>> = Vec::new();
    for i in 0..series.count() {
        match found.last_mut() {
            Some(last) if series.winding(last.start) == series.winding(i) => last.end = i + 1,
            _ => found.push(i..i + 1),
        }
    }
    found
}
