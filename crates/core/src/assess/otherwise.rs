//! Tests that a series is judged without, or in another light, so that no row makes an answer milder: work that did not help, readings
//! lower than the latest, several rows of one day, rows whose temperature or reading is not known.

use super::finding::{Asks, Code, Finding};
use super::judgement::Judgement;
use super::result::{Action, CorrectedTest, LeftOut};
use super::rules::fall::BEFORE_FALL;
use super::rules::reading::doubts_a_good_reading;
use super::second_look::{more_urgent, urgency};
use crate::absorption::one_minute_resistance;
use crate::record::{Event, KeptOut, TestRecord};
use crate::resistance::Measured;
use crate::series::Series;
use crate::stats::median::median;
use crate::steps;
use crate::units::Voltage;
use crate::voltage::is_same_voltage;
use chrono::NaiveDate;
use std::collections::BTreeSet;

/// Work after which a winding is the one that it was.
const KEEPS_THE_WINDING: [Event; 5] = [Event::Cleaned, Event::Dried, Event::Repaired, Event::Flooded, Event::Drying];
/// Work has helped where the first reading after it is higher by this factor.
const BETTER_AFTER_WORK: f64 = 1.25;
/// However well it helped, a winding that reads less than before by this factor has fallen.
const LOWER_THAN_BEFORE_WORK: f64 = 2.5;
/// Tests so many days apart are of one round.
const OF_ONE_ROUND_DAYS: i64 = 3;
/// Earlier readings that are lower than the latest by this factor are no part of a decline to it.
const LOWER_THAN_THE_LATEST: f64 = 2.0;
/// A latest reading that is lower than usual by this factor may be a fall.
const MAY_BE_A_FALL: f64 = 1.5;
/// In few readings, one that is lower than the best by this factor has fallen, whatever was read before the best.
const FALLEN_FROM_BEST: f64 = 2.5;
const SHORT_HISTORY: usize = 6;
/// Tests that show what is usual, two years of quarters.
const USUAL: usize = 8;
/// So many rows of the latest day are tried, each alone.
const MOST_OF_A_DAY: usize = 8;

/// A series in another light, and what is said if the answer is more urgent then.
struct Otherwise {
    tests: Vec<TestRecord>,
    /// The beginning of the sentence, up to the answer.
    reason: String,
    /// What its finding is called; that of its cause where there is none.
    code: Option<Code>,
}

/// What the series in another light adds to the findings, where the answer is more urgent then. `judge` judges the case with another series.
pub(super) fn of_otherwise(
    series: &Series,
    standing: &Judgement,
    as_of: NaiveDate,
    judge: impl Fn(Series) -> Judgement,
) -> Option<Finding> {
    if standing.assessment.action == Action::Hold {
        return None;
    }
    let tests = Tests { records: &series.tests, tests: &standing.tests, as_of };
    let mut lights: Vec<Otherwise> = Vec::new();
    lights.extend(tests.without_work_that_did_not_help());
    lights.extend(tests.without_lower_readings());
    lights.extend(tests.of_one_a_day());
    lights.extend(tests.without_unknown_temperatures());
    lights.extend(tests.with_unread_readings());
    lights.extend(tests.without_earlier_bounds());
    lights.extend(tests.of_one_a_round());
    lights.extend(tests.without_lower_than_the_highest());
    lights.extend(tests.without_a_doubtful_latest(&standing.assessment.findings));
    let found = lights.into_iter().filter_map(|light| {
        let other = judge(Series { tests: light.tests, ..series.clone() });
        // Fewer tests are too few by themselves.
        let cause = more_urgent(&other, standing).filter(|cause| cause.asks < Asks::Readings)?;
        let message = format!("{} the answer is {}. {}", light.reason, other.assessment.action, cause.message);
        let mut finding = cause.clone();
        finding.message = message;
        finding.code = light.code.unwrap_or(finding.code);
        Some((urgency(&other), finding))
    });
    found.min_by(|one, other| one.0.cmp(&other.0)).map(|(_, finding)| finding)
}

/// The rows of a series beside what they are once they are corrected.
struct Tests<'s> {
    records: &'s [TestRecord],
    tests: &'s [CorrectedTest],
    as_of: NaiveDate,
}

impl Tests<'_> {
    /// Tests that were believed, with a reading; of those before the last stretch too.
    fn counts(&self, at: usize) -> bool {
        let test = &self.tests[at];
        matches!(test.left_out, None | Some(LeftOut::BeforeStretch | LeftOut::Drying)) && self.level(at).is_some()
    }

    fn value(&self, at: usize) -> Option<Measured> {
        self.tests[at].corrected
    }

    fn level(&self, at: usize) -> Option<f64> {
        Some(self.value(at)?.resistance()?.log10_megohms())
    }

    /// The latest test that counts.
    fn latest(&self) -> Option<usize> {
        self.tests.iter().rposition(|test| test.left_out.is_none()).filter(|at| self.level(*at).is_some())
    }

    /// Whether the latest reading lies clearly below what is usual of the tests before it.
    fn may_have_fallen(&self, latest: usize, counts: impl Fn(usize) -> bool) -> bool {
        let before = (0..latest).rev().filter(|at| self.counts(*at) && counts(*at)).take(USUAL);
        let usual = median(before.filter_map(|at| self.level(at)).collect());
        usual.zip(self.level(latest)).is_some_and(|(usual, now)| usual - now >= libm::log10(MAY_BE_A_FALL))
    }

    /// The rows but for some.
    fn without(&self, gone: &BTreeSet<usize>) -> Vec<TestRecord> {
        let rows = self.records.iter().enumerate().filter(|(at, _)| !gone.contains(at));
        rows.map(|(_, record)| record.clone()).collect()
    }

    /// Work that keeps the winding begins a new stretch. Where it read no better after the work, and reads less now, the earlier readings
    /// still say what it was.
    fn without_work_that_did_not_help(&self) -> Option<Otherwise> {
        let latest = self.latest()?;
        let now = self.value(latest).and_then(steps::most)?;
        let reads_less = |at: usize| {
            let before = (0..at).rev().filter(|before| self.counts(*before)).take(BEFORE_FALL);
            let usual = median(before.filter_map(|at| self.level(at)).collect());
            let first = (at..=latest).find(|since| self.counts(*since)).and_then(|since| self.level(since));
            usual.zip(first).is_some_and(|(usual, first)| {
                let far_lower = usual - now.log10_megohms() >= libm::log10(LOWER_THAN_BEFORE_WORK);
                let is_lower = usual - now.log10_megohms() >= libm::log10(MAY_BE_A_FALL);
                is_lower && (far_lower || first < usual + libm::log10(BETTER_AFTER_WORK))
            })
        };
        let did_not_help: Vec<usize> = (1..=latest)
            .filter(|at| self.tests[*at].event.is_some_and(|event| KEEPS_THE_WINDING.contains(&event)))
            .filter(|at| reads_less(*at))
            .collect();
        let last = *did_not_help.last()?;
        let mut tests = self.records.to_vec();
        for at in &did_not_help {
            tests[*at].event = None;
        }
        let what = match self.tests[last].event? {
            Event::Drying => "being dried",
            event => event.word(),
        };
        let reason = format!(
            "The winding was {what} on {}, and on {} it read less than before that, so the earlier readings still count; with them",
            self.tests[last].tested_on.date, self.tests[latest].tested_on.date
        );
        Some(Otherwise { tests, reason, code: None })
    }

    /// A reading that is far lower than the latest is no part of a decline to it, and hides none.
    fn without_lower_readings(&self) -> Option<Otherwise> {
        let latest = self.latest()?;
        let now = self.value(latest).and_then(steps::least)?;
        let is_lower = |at: &usize| {
            let most = self.value(*at).and_then(steps::most);
            self.counts(*at) && most.is_some_and(|most| LOWER_THAN_THE_LATEST * most.as_megohms() <= now.as_megohms())
        };
        let gone: BTreeSet<usize> = (0..latest).filter(is_lower).collect();
        let last = self.tests[*gone.last()?].tested_on.date;
        let reason = match gone.len() {
            1 => format!("The test of {last} read far less than the latest one; without it"),
            more => format!("{more} tests, the last of {last}, read far less than the latest one; without them"),
        };
        Some(Otherwise { tests: self.without(&gone), reason, code: None })
    }

    /// Of several tests of one day, made one way and without a time, any may be the one that is right: of earlier days the highest alone is
    /// taken, and of the latest day each alone.
    fn of_one_a_day(&self) -> Vec<Otherwise> {
        let Some(latest) = self.latest() else { return Vec::new() };
        let is_open = |at: &usize| {
            let record = &self.records[*at];
            record.tested_on.time.is_none() && self.tests[*at].left_out != Some(LeftOut::Drying) && self.counts(*at)
        };
        let same_volts = |one: Option<Voltage>, other: Option<Voltage>| match (one, other) {
            (Some(one), Some(other)) => is_same_voltage(one, other),
            (None, None) => true,
            _ => false,
        };
        let is_alike = |one: usize, other: usize| {
            let (one, other) = (&self.records[one], &self.records[other]);
            one.tested_on == other.tested_on && one.event == other.event && same_volts(one.test_volts, other.test_volts)
        };
        let open: Vec<usize> = (0..=latest).filter(is_open).collect();
        let groups: Vec<&[usize]> =
            open.chunk_by(|one, other| is_alike(*one, *other)).filter(|group| group.len() > 1).collect();
        let Some(last) = groups.last() else { return Vec::new() };
        let level = |at: &usize| self.level(*at).unwrap_or(f64::NEG_INFINITY);
        let mut gone: BTreeSet<usize> = BTreeSet::new();
        let is_latest = last.contains(&latest);
        for group in &groups[..groups.len() - usize::from(is_latest)] {
            let highest = group.iter().copied().max_by(|one, other| level(one).total_cmp(&level(other)));
            gone.extend(group.iter().copied().filter(|at| Some(*at) != highest));
        }
        let day = self.tests[last[0]].tested_on.date;
        let light = |gone: BTreeSet<usize>, reason: String| Otherwise {
            tests: self.without(&gone),
            reason,
            code: Some(Code::TestedTwice),
        };
        if !is_latest {
            let reason =
                format!("On {day} the winding was tested more than once; with the highest of its readings alone");
            return vec![light(gone, reason)];
        }
        let tried = last.iter().rev().take(MOST_OF_A_DAY);
        let alone = tried.map(|kept| {
            let others = last.iter().copied().filter(|at| at != kept);
            let reading = self.tests[*kept].as_read.map_or_else(String::new, |value| value.to_string());
            let reason = format!(
                "On {day} the winding was tested more than once, and the rows have no time; with {reading} alone"
            );
            light(gone.iter().copied().chain(others).collect(), reason)
        });
        alone.collect()
    }

    /// A test of unknown temperature, or a row that was rejected for it, hides no fall.
    fn without_unknown_temperatures(&self) -> Option<Otherwise> {
        let latest = self.latest()?;
        let is_known = |at: usize| self.tests[at].kt.is_some();
        let is_unknown = |at: &usize| {
            let is_rejected = self.tests[*at].left_out == Some(LeftOut::KeptOut(KeptOut::Rejected));
            !is_known(*at) && (is_rejected || self.counts(*at))
        };
        if !is_known(latest) || !self.may_have_fallen(latest, is_known) {
            return None;
        }
        let gone: BTreeSet<usize> = (0..latest).filter(is_unknown).collect();
        let last = self.tests[*gone.last()?].tested_on.date;
        let reason = match gone.len() {
            1 => format!("The temperature of the test of {last} is not known; without that test"),
            more => format!("The temperatures of {more} tests, the last of {last}, are not known; without those tests"),
        };
        Some(Otherwise { tests: self.without(&gone), reason, code: None })
    }

    /// A row whose reading cannot be read may have read what the test before it did, or the one after it.
    fn with_unread_readings(&self) -> Option<Otherwise> {
        let latest = self.latest()?;
        let is_unread = |at: &usize| {
            let record = &self.records[*at];
            let is_missing = match record.kept_out {
                Some(KeptOut::Unread) => true,
                Some(KeptOut::Rejected) => one_minute_resistance(&record.readings).is_none(),
                _ => false,
            };
            is_missing && record.tested_on.date <= self.as_of
        };
        let unread: Vec<usize> = (0..latest).filter(is_unread).collect();
        let last = self.tests[*unread.last()?].tested_on.date;
        let mut tests = self.records.to_vec();
        for at in unread.iter().copied() {
            let before = (0..at).rev().find(|other| self.counts(*other));
            let beside = before.or_else(|| (at..=latest).find(|other| self.counts(*other)))?;
            tests[at].readings = self.records[beside].readings.clone();
            tests[at].kept_out = None;
        }
        let reason = match unread.len() {
            1 => format!("The reading of {last} cannot be read; had it been that of the test beside it,"),
            more => format!(
                "{more} readings, the last of {last}, cannot be read; had they been those of the tests beside them,"
            ),
        };
        Some(Otherwise { tests, reason, code: Some(Code::RowKeptOut) })
    }

    /// Where the tester's scale ended earlier, or a reading was below it, the readings between them still show a fall.
    fn without_earlier_bounds(&self) -> Option<Otherwise> {
        let latest = self.latest()?;
        let is_exact = |at: usize| matches!(self.value(at), Some(Measured::Exact(_)));
        if !is_exact(latest) || !self.may_have_fallen(latest, is_exact) {
            return None;
        }
        let counts = |at: &usize| matches!(self.tests[*at].left_out, None | Some(LeftOut::BeforeStretch));
        let gone: BTreeSet<usize> =
            (0..latest).filter(counts).filter(|at| self.value(*at).is_some() && !is_exact(*at)).collect();
        let last = self.tests[*gone.last()?].tested_on.date;
        let reason = match gone.len() {
            1 => format!("The reading of {last} is a bound; without it"),
            more => format!("{more} earlier readings, the last of {last}, are bounds; without them"),
        };
        Some(Otherwise { tests: self.without(&gone), reason, code: None })
    }

    /// A test that is made again within days says nothing new of a trend: of each such round the last test alone is taken.
    fn of_one_a_round(&self) -> Option<Otherwise> {
        let latest = self.latest()?;
        let counts: Vec<usize> =
            (0..=latest).filter(|at| self.counts(*at) && self.tests[*at].left_out != Some(LeftOut::Drying)).collect();
        let is_one_round = |one: &usize, next: &usize| {
            let (one, next) = (&self.records[*one], &self.records[*next]);
            let days = next.tested_on.date.signed_duration_since(one.tested_on.date).num_days();
            let same_volts = one.test_volts.zip(next.test_volts).is_none_or(|(a, b)| is_same_voltage(a, b));
            days <= OF_ONE_ROUND_DAYS && next.event.is_none() && same_volts
        };
        let rounds: Vec<&[usize]> = counts.chunk_by(is_one_round).filter(|round| round.len() > 1).collect();
        let gone: BTreeSet<usize> = rounds.iter().flat_map(|round| &round[..round.len() - 1]).copied().collect();
        let last = self.tests[*rounds.last()?.last()?].tested_on.date;
        let reason = format!(
            "The winding was tested more than once in the days up to {last}; with the last of these tests alone"
        );
        Some(Otherwise { tests: self.without(&gone), reason, code: Some(Code::TestedTwice) })
    }

    /// A low reading before the highest one does not show that the fall since then is usual.
    fn without_lower_than_the_highest(&self) -> Option<Otherwise> {
        let latest = self.latest()?;
        let counts: Vec<usize> = (0..latest).rev().filter(|at| self.counts(*at)).take(USUAL).collect();
        let level = |at: &usize| self.level(*at).unwrap_or(f64::NEG_INFINITY);
        let highest = counts.iter().copied().max_by(|one, other| level(one).total_cmp(&level(other)))?;
        if counts.len() > SHORT_HISTORY || self.level(highest)? - self.level(latest)? < libm::log10(FALLEN_FROM_BEST) {
            return None;
        }
        let most = self.level(highest)? - libm::log10(LOWER_THAN_THE_LATEST);
        // Work explains that it has been lower.
        let from = (0..=highest).rev().find(|at| self.tests[*at].event.is_some()).unwrap_or(0);
        let gone: BTreeSet<usize> = (from..highest).filter(|at| self.counts(*at)).collect();
        // Where it has read as much before, it is scatter.
        if gone.iter().any(|at| level(at) > most) {
            return None;
        }
        let last = self.tests[*gone.last()?].tested_on.date;
        let reason = format!(
            "Since the test of {last} the winding read {} on {}, so it has been better; without what it read before that",
            self.tests[highest].as_read?, self.tests[highest].tested_on.date
        );
        Some(Otherwise { tests: self.without(&gone), reason, code: None })
    }

    /// A latest test that cannot be relied on takes back nothing that was found before it.
    fn without_a_doubtful_latest(&self, findings: &[Finding]) -> Option<Otherwise> {
        let latest = self.latest().filter(|at| self.tests[*at].event.is_none())?;
        let doubt = findings.iter().find(|finding| doubts_a_good_reading(finding))?;
        (0..latest).find(|at| self.counts(*at))?;
        let reason = format!(
            "The test of {} cannot be relied on ({}); without it",
            self.tests[latest].tested_on.date,
            doubt.code.word().replace('-', " ")
        );
        Some(Otherwise { tests: self.without(&BTreeSet::from([latest])), reason, code: None })
    }
}
