//! Judged once more: what a lower reading or a rejected row must not make milder.
//!
//! The trend may take a latest reading for an outlier just because it is very low, and a row that was rejected counts for nothing. So the
//! series is judged once more with a higher latest reading, with what can be read of its rejected rows, and with rows of one day without a
//! time in another order. Where that answer is more urgent, it stands.

use super::finding::{Asks, Code, Finding};
use super::judgement::Judgement;
use super::result::{Action, CorrectedTest, LeftOut};
use super::rules::cells;
use super::rules::fall::BEFORE_FALL;
use super::view::quoted;
use super::whole::Unnamed;
use crate::absorption::one_minute_resistance;
use crate::record::{Event, KeptOut, TestRecord};
use crate::resistance::{Measured, TimedReading, TimedReadings};
use crate::series::{Series, in_judged_order, lowest_last};
use crate::stats::median::median;
use chrono::NaiveDate;
use std::cmp::Ordering;
use std::collections::BTreeSet;

/// A latest reading that is more likely than this an outlier is looked at again.
const MAY_BE_AN_OUTLIER: f64 = 0.1;
/// Levels that a higher reading is tried at lie so far apart, decades. They are the same for every latest reading, so that a lower one is
/// tried at all levels of a higher one.
const STEP: f64 = 0.05;
/// So much of a step below the usual level is the first of them: no drop that the rules compare with, such as 0.4 decades, is then met
/// exactly, where the rounding of a logarithm would decide.
const FIRST_BELOW: f64 = 0.01;
/// So many of them below the usual level.
const MOST_TRIED: usize = 20;
/// So many rows that contradict each other are tried.
const MOST_CONTRADICTED: usize = 8;
/// So many rows without a readable date are tried, each as the latest.
const MOST_UNDATED: usize = 8;

/// How urgent a judgement is, the most urgent first: its action, whether the winding may be energised before that is done, and whether the
/// readings are enough to say that nothing is to be done.
pub(super) fn urgency(judgement: &Judgement) -> (Action, bool, bool) {
    let action = judgement.assessment.action;
    let asked = judgement.assessment.findings.iter().filter(|finding| finding.asks <= Asks::Repeat);
    (action.min(Action::Keep), !asked.into_iter().any(|finding| finding.before_use), action == Action::Keep)
}

/// The finding that leads to a more urgent answer than the one that is given. That there are later tests is no reason for any.
pub(super) fn more_urgent<'j>(other: &'j Judgement, standing: &Judgement) -> Option<&'j Finding> {
    let mut reasons = other.assessment.findings.iter().filter(|finding| finding.code != Code::FutureTest);
    reasons.next().filter(|_| urgency(other) < urgency(standing))
}

/// What higher latest readings add to the findings, where one of them is answered more urgently. `judge` judges the case with another series.
pub(super) fn of_higher_readings(
    series: &Series,
    standing: &Judgement,
    judge: impl Fn(Series) -> Judgement,
) -> Option<Finding> {
    let at = standing.tests.iter().rposition(|test| test.left_out.is_none())?;
    let as_read = standing.tests[at].as_read?;
    let tried = higher_readings(standing, at).into_iter().filter_map(|factor| {
        let other = judge(with_latest_times(series, at, factor)?);
        no_milder(standing, as_read.scaled(factor), &other)
    });
    tried.min_by_key(|finding| finding.asks)
}

/// How many times as high the latest reading is tried, up to what was usual before it; nothing where it is no lower than the trend explains.
fn higher_readings(standing: &Judgement, at: usize) -> Vec<f64> {
    let (test, assessment) = (&standing.tests[at], &standing.assessment);
    // Winding and cable together below the minimum are tested apart, which is milder than the work that a decline asks for.
    let is_said = |code: Code| assessment.findings.iter().any(|finding| finding.code == code);
    let is_looked_at = is_said(Code::FallSinceLast)
        || is_said(Code::TestApart)
        || assessment.action == Action::Plan
        || test.p_outlier > MAY_BE_AN_OUTLIER;
    let is_number = matches!(test.corrected, Some(Measured::Exact(_) | Measured::Below(_)));
    if assessment.action == Action::Hold || !is_number || !is_looked_at {
        return Vec::new();
    }
    let level = |test: &CorrectedTest| Some(test.corrected?.resistance()?.log10_megohms());
    let counts = |test: &&CorrectedTest| matches!(test.left_out, None | Some(LeftOut::BeforeStretch));
    let before = standing.tests[..at].iter().rev().filter(counts).filter_map(level).take(BEFORE_FALL).collect();
    let Some((usual, now)) = median(before).zip(level(test)) else { return Vec::new() };
    // Counted from what was usual, so that they do not depend on the unit of the readings, nor on the latest of them.
    let levels = (0..MOST_TRIED).map(|down| usual - (down as f64 + FIRST_BELOW) * STEP);
    levels.filter(|level| *level > now).map(|level| libm::exp10(level - now)).collect()
}

/// The series with the readings of one test that many times as high.
fn with_latest_times(series: &Series, at: usize, factor: f64) -> Option<Series> {
    let mut series = series.clone();
    let test = series.tests.get_mut(at)?;
    let higher = |reading: &TimedReading| TimedReading { value: reading.value.scaled(factor), ..*reading };
    test.readings = TimedReadings::new(test.readings.iter().map(higher)).ok()?;
    Some(series)
}

/// What is said where a higher latest reading would have led to a more urgent answer.
fn no_milder(standing: &Judgement, higher: Measured, other: &Judgement) -> Option<Finding> {
    let cause = more_urgent(other, standing)?;
    let latest = standing.tests.iter().rfind(|test| test.left_out.is_none())?;
    let found = standing.assessment.findings.iter().find(|finding| finding.code == Code::FallSinceLast);
    let mut finding = found.cloned().unwrap_or_else(|| {
        let message = format!(
            "The latest reading, {} on {}, is lower than the earlier ones led to expect.",
            latest.as_read.map_or_else(String::new, |value| value.to_string()),
            latest.tested_on.date
        );
        Finding::new(
            Code::FallSinceLast,
            message,
            "a lower reading never makes the answer less urgent; common practice",
        )
    });
    finding.message.push_str(&format!(
        " Had it been {higher}, the answer would be {}. A lower reading cannot be better news, so that answer applies.",
        other.assessment.action
    ));
    let before_use = cause.before_use || finding.before_use;
    Some(Finding { asks: cause.asks, before_use, ..finding })
}

/// What another order of rows of one day without a time adds to the findings, where the answer is more urgent with it. `judge` judges the
/// case with another series.
pub(super) fn of_other_orders(
    series: &Series,
    standing: &Judgement,
    as_of: NaiveDate,
    judge: impl Fn(Series) -> Judgement,
) -> Option<Finding> {
    if standing.assessment.action == Action::Hold {
        return None;
    }
    let found = other_orders(series, as_of).into_iter().filter_map(|(tests, days)| {
        let other = judge(Series { tests, ..series.clone() });
        let cause = more_urgent(&other, standing)?;
        let rows = match days.iter().next_back()? {
            last if days.len() > 1 => format!("Rows of {} days, the last of them {last},", days.len()),
            only => format!("Rows of {only}"),
        };
        let message = format!(
            "{rows} have no time of day, so in which order they were made is not known; in one of the orders the answer is {}. {} Write the \
             times of the tests.",
            other.assessment.action, cause.message
        );
        // What is known of the rows without any order stays said, and asks for no less than before.
        let said = standing.assessment.findings.iter().find(|finding| finding.code == Code::TestedTwice);
        let mut finding = said.cloned().unwrap_or_else(|| {
            Finding::new(Code::TestedTwice, String::new(), "of the orders that may be, the most urgent answer counts")
        });
        finding.message = [finding.message, message].join(" ").trim_start().to_owned();
        finding.asks = finding.asks.min(cause.asks);
        finding.before_use |= cause.before_use;
        Some(finding)
    });
    found.min_by_key(|finding| finding.asks)
}

/// Decades by which a winding reads less for each 10 K that it is warmer, of common insulation.
const DECADES_PER_10_K: f64 = std::f64::consts::LOG10_2;

/// How two tests of one day may have followed each other.
type Order<'o> = &'o dyn Fn(&TestRecord, &TestRecord) -> Ordering;

/// The tests of a series in another order, with the days on which it differs.
type Reordered = (Vec<TestRecord>, BTreeSet<NaiveDate>);

/// The tests of a series in other orders that rows of one day without a time may have been made in, each with the days on which it
/// differs: the lowest last whatever its voltage and its work, as read and as if all had been as warm; work first; water last. Each is
/// tried on all days and on the latest.
fn other_orders(series: &Series, as_of: NaiveDate) -> Vec<Reordered> {
    let is_wet = |test: &TestRecord| matches!(test.event, Some(Event::Flooded | Event::Drying));
    let lowest = |a: &TestRecord, b: &TestRecord| lowest_last(a, b, 0.0);
    let lowest_if_as_warm = |a: &TestRecord, b: &TestRecord| lowest_last(a, b, DECADES_PER_10_K);
    let work_first = |a: &TestRecord, b: &TestRecord| a.event.is_none().cmp(&b.event.is_none());
    let water_last = |a: &TestRecord, b: &TestRecord| is_wet(a).cmp(&is_wet(b));
    let orders: [Order<'_>; 4] = [&lowest, &lowest_if_as_warm, &work_first, &water_last];
    let is_open =
        |test: &TestRecord| test.tested_on.time.is_none() && test.kept_out.is_none() && test.tested_on.date <= as_of;
    let is_one_day = |one: &TestRecord, next: &TestRecord| {
        one.tested_on.date == next.tested_on.date && is_open(one) && is_open(next)
    };
    let mut found: Vec<Reordered> = Vec::new();
    for order in orders {
        let mut tests = series.tests.clone();
        let mut latest = None;
        let (mut days, mut at) = (BTreeSet::new(), 0);
        for day in tests.chunk_by_mut(is_one_day) {
            let before = day.to_vec();
            day.sort_by(order);
            if *day != before[..] {
                days.insert(day[0].tested_on.date);
                latest = Some((at, day.to_vec()));
            }
            at += day.len();
        }
        if let Some((at, day)) = latest.filter(|_| days.len() > 1) {
            let on = BTreeSet::from([day[0].tested_on.date]);
            let mut alone = series.tests.clone();
            alone.splice(at..at + day.len(), day);
            found.push((alone, on));
        }
        if !days.is_empty() {
            found.push((tests, days));
        }
    }
    let mut tried: Vec<Reordered> = Vec::new();
    for order in found {
        if !tried.contains(&order) {
            tried.push(order);
        }
    }
    tried
}

/// What rows that count for nothing add to the findings, where the answer is more urgent with them: with what can be read of rejected rows,
/// as if their faulty cells were blank, and with one alone of the rows that contradict each other. `judge` judges the case with another series.
pub(super) fn of_rows_kept_out(
    series: &Series,
    standing: &Judgement,
    as_of: NaiveDate,
    judge: impl Fn(Series) -> Judgement,
) -> Option<Finding> {
    if standing.assessment.action == Action::Hold {
        return None;
    }
    let choices = rows_to_believe(series, as_of).into_iter();
    let found = choices.filter_map(|(rows, is_contradicted)| {
        let other = judge(believing(series, &rows, as_of));
        if is_contradicted {
            of_a_contradiction(standing, series, &rows, &other)
        } else {
            of_rejected(standing, series, &rows, &other)
        }
    });
    found.chain(too_many_undated(series, as_of)).min_by_key(|finding| finding.asks)
}

/// The series with some of its rows believed. Those without a date were made on any day up to the as-of date: they follow all others, in
/// the order in which they are given.
fn believing(series: &Series, rows: &[usize], as_of: NaiveDate) -> Series {
    let mut believed = series.clone();
    for at in rows {
        believed.tests[*at].kept_out = None;
    }
    let undated: Vec<usize> = rows.iter().copied().filter(|at| is_undated(&series.tests[*at])).collect();
    if undated.is_empty() {
        in_judged_order(&mut believed.tests);
        return believed;
    }
    let last: Vec<TestRecord> = undated.iter().map(|at| believed.tests[*at].clone()).collect();
    let mut at = 0..;
    believed.tests.retain(|_| at.next().is_some_and(|at| !undated.contains(&at)));
    in_judged_order(&mut believed.tests);
    let end = believed.tests.partition_point(|test| test.tested_on.date <= as_of);
    believed.tests.splice(end..end, last);
    believed
}

fn is_undated(test: &TestRecord) -> bool {
    test.kept_out.is_some_and(KeptOut::is_undated)
}

/// Rows up to the as-of date that are kept out for a reason.
fn kept_out(series: &Series, as_of: NaiveDate, why: impl Fn(KeptOut) -> bool) -> Vec<usize> {
    let rows = series.tests.iter().enumerate().filter(|(_, test)| test.tested_on.date <= as_of);
    rows.filter(|(_, test)| test.kept_out.is_some_and(&why)).map(|(at, _)| at).collect()
}

/// Rows without a readable date, each that differs once, the highest first: an order that does not depend on that of the rows.
fn undated_rows(series: &Series, as_of: NaiveDate) -> Vec<usize> {
    let level = |at: &usize| {
        let read = one_minute_resistance(&series.tests[*at].readings).and_then(Measured::resistance);
        read.map_or(f64::INFINITY, |read| read.as_megohms())
    };
    let mut rows = kept_out(series, as_of, KeptOut::is_undated);
    rows.sort_by_cached_key(|at| series.tests[*at].content_digest());
    rows.dedup_by_key(|at| series.tests[*at].content_digest());
    rows.sort_by(|a, b| level(b).total_cmp(&level(a)));
    rows
}

/// Which rows are believed together, in which order, and whether they contradict each other: all that were rejected, the latest of them
/// alone, each without a date as the latest, with all others and alone, and each alone of the latest that contradict each other.
fn rows_to_believe(series: &Series, as_of: NaiveDate) -> Vec<(Vec<usize>, bool)> {
    let rejected = kept_out(series, as_of, |why| matches!(why, KeptOut::Rejected | KeptOut::Unread));
    // Of a row without its reading the work still counts.
    let says_something = |at: &usize| {
        let test = &series.tests[*at];
        test.kept_out != Some(KeptOut::Unread)
            || test.event.is_some()
            || one_minute_resistance(&test.readings).is_some()
    };
    let rejected: Vec<usize> = rejected.into_iter().filter(says_something).collect();
    let contradicted = kept_out(series, as_of, |why| why == KeptOut::Contradicted);
    let undated = undated_rows(series, as_of);
    // Of too many the lowest; that some are left out has a finding of its own.
    let undated = &undated[undated.len().saturating_sub(MOST_UNDATED)..];
    let latest = rejected.last().filter(|_| rejected.len() > 1).map(|at| vec![*at]);
    let as_latest = |last: &usize| {
        let others = undated.iter().filter(|other| *other != last);
        rejected.iter().chain(others).chain([last]).copied().collect()
    };
    let with_others = undated.iter().filter(|_| rejected.len() + undated.len() > 1).map(as_latest);
    let alone = undated.iter().map(|at| vec![*at]);
    let all = Some(rejected.clone()).filter(|rows| !rows.is_empty());
    let rejected = all.into_iter().chain(latest).chain(with_others).chain(alone).map(|rows| (rows, false));
    let latest_day = contradicted.last().map(|at| series.tests[*at].tested_on.date);
    let of_latest_day = contradicted.iter().filter(|at| Some(series.tests[**at].tested_on.date) == latest_day);
    rejected.chain(of_latest_day.take(MOST_CONTRADICTED).map(|at| (vec![*at], true))).collect()
}

/// Of more rows without a date than are tried nobody knows what the latest says.
fn too_many_undated(series: &Series, as_of: NaiveDate) -> Option<Finding> {
    let count = undated_rows(series, as_of).len();
    (count > MOST_UNDATED).then(|| {
        let message = format!(
            "{count} different rows whose date cannot be read were rejected, and any of them may be the latest: correct them from the test \
             sheets, or repeat the test before the winding is energised."
        );
        let finding = Finding::new(Code::RowKeptOut, message, "an unreliable row never makes the answer less urgent");
        finding.asking_before_use(Asks::Repeat)
    })
}

/// What is said where rejected rows would have led to a more urgent answer.
fn of_rejected(standing: &Judgement, series: &Series, rows: &[usize], other: &Judgement) -> Option<Finding> {
    let cause = more_urgent(other, standing)?;
    let day = |at: &usize| match &series.tests[*at] {
        test if is_undated(test) => "a day that is not known".to_owned(),
        test => test.tested_on.date.to_string(),
    };
    let (last, before) = rows.split_last()?;
    let rows = match before {
        [one] if is_undated(&series.tests[*one]) => {
            "Two rows of days that are not known were rejected; with what can be read of them".to_owned()
        }
        [] => format!("A row of {} was rejected; with what can be read of it", day(last)),
        [one] => format!("Rows of {} and {} were rejected; with what can be read of them", day(one), day(last)),
        more => {
            format!("{} rows, the last of {}, were rejected; with what can be read of them", more.len() + 1, day(last))
        }
    };
    let message = format!(
        "{rows} the answer is {}. {} Correct what was rejected from the test sheet",
        other.assessment.action, cause.message
    );
    let finding = |rest: &str| {
        Finding::new(Code::RowKeptOut, message + rest, "an unreliable row never makes the answer less urgent")
    };
    Some(match cause.asks {
        Asks::Readings => finding(".").asking(cause.asks),
        // The row alone says that, so it is corrected, or the test repeated, before anything rests on it.
        asks => finding(", or repeat the test before the winding is energised.").asking_before_use(asks),
    })
}

/// What is said where one of the rows that contradict each other would have led to a more urgent answer: which is right is not known, so
/// the test is repeated at least, and what the worst of them asks for is done until then.
fn of_a_contradiction(standing: &Judgement, series: &Series, rows: &[usize], other: &Judgement) -> Option<Finding> {
    let cause = other.assessment.findings.first().filter(|_| {
        let (action, may_be_energised, _) = urgency(other);
        let asks_for_a_repeat = (Action::Recheck, action == Action::Recheck && may_be_energised, false);
        action <= Action::Recheck && asks_for_a_repeat.min(urgency(other)) < urgency(standing)
    })?;
    let message = format!(
        "Rows of {} contradict each other and are not used; by one of them the answer would be {}. {} Find out which is right, or repeat \
         the test before the winding is energised.",
        series.tests[*rows.first()?].tested_on.date,
        other.assessment.action,
        cause.message
    );
    let finding = Finding::new(Code::RowKeptOut, message, "an unreliable row never makes the answer less urgent");
    Some(finding.asking_before_use(cause.asks.min(Asks::Repeat)))
}

/// What tests under a connection that is not understood add to the findings, where the answer is more urgent with them. `judge` judges the
/// case with another series.
pub(super) fn of_unnamed(
    series: &Series,
    standing: &Judgement,
    unnamed: &[Unnamed],
    judge: impl Fn(Series) -> Judgement,
) -> Option<Finding> {
    let found = unnamed.iter().filter_map(|other| {
        let mut with_them = series.clone();
        with_them.tests.extend(other.tests.iter().cloned());
        in_judged_order(&mut with_them.tests);
        let judged = judge(with_them);
        let cause = more_urgent(&judged, standing)?;
        let (last, before) = other.tests.split_last()?;
        let tests = match before.len() {
            0 => format!("The test of {}", last.tested_on.date),
            more => format!("{} tests, the last of {},", more + 1, last.tested_on.date),
        };
        let message = format!(
            "{tests} under {}, a connection that is not understood, may be of this series; with that the answer is {}. {} Correct the \
             connection, or repeat the test before the winding is energised.",
            quoted(&other.connection.to_string()),
            judged.assessment.action,
            cause.message
        );
        Some(Finding::new(Code::CellUnread, message, cells::SOURCE).asking_before_use(cause.asks.min(Asks::Repeat)))
    });
    found.min_by_key(|finding| finding.asks)
}
