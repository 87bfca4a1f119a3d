//! Judged once more: what a lower reading or a rejected row must not make milder.
//!
//! The trend may take a latest reading for an outlier just because it is very low, and a row that was rejected counts for nothing. So the
//! series is judged once more with a higher latest reading, and with what can be read of its rejected rows. Where that answer is more
//! urgent, it stands.

use super::finding::{Asks, Code, Finding};
use super::judgement::Judgement;
use super::result::{Action, CorrectedTest, LeftOut};
use super::rules::course::BEFORE_FALL;
use super::rules::plausibility::median;
use crate::record::{KeptOut, TestRecord};
use crate::resistance::{Measured, TimedReading, TimedReadings};
use crate::series::Series;
use chrono::NaiveDate;

/// A latest reading that is more likely than this an outlier is looked at again.
const MAY_BE_AN_OUTLIER: f64 = 0.1;
/// Levels that a higher reading is tried at lie so far apart, decades. They are the same for every latest reading, so that a lower one is
/// tried at all levels of a higher one.
const STEP: f64 = 0.05;
/// So many of them below the usual level.
const MOST_TRIED: usize = 20;

/// The finding that leads to a more urgent answer than the one that stands.
fn more_urgent<'j>(other: &'j Judgement, standing: &Judgement) -> Option<&'j Finding> {
    let rank = |judgement: &Judgement| {
        let assessment = &judgement.assessment;
        let asked = assessment.findings.iter().filter(|finding| finding.asks <= Asks::Repeat);
        (assessment.action, asked.filter(|finding| finding.before_use).count() == 0)
    };
    other.assessment.findings.first().filter(|_| rank(other) < rank(standing))
}

/// What a second look adds to the findings, where it leads to a more urgent answer. `judge` judges the case with another series.
pub(super) fn findings(
    series: &Series,
    standing: &Judgement,
    as_of: NaiveDate,
    judge: impl Fn(Series) -> Judgement,
) -> Vec<Finding> {
    if standing.assessment.action == Action::Hold {
        return Vec::new();
    }
    let rejected = with_rejected_rows(series, as_of).into_iter().filter_map(|believed| {
        let other = judge(believed.clone());
        of_rejected_rows(standing, &believed, &other)
    });
    let most_urgent = |findings: &mut dyn Iterator<Item = Finding>| findings.min_by_key(|finding| finding.asks);
    let rejected = most_urgent(&mut rejected.into_iter());
    let latest = standing.tests.iter().rposition(|test| test.left_out.is_none());
    let higher = latest.and_then(|at| {
        let tried = higher_readings(standing, at).into_iter().filter_map(|factor| {
            let other = judge(with_latest_times(series, at, factor)?);
            no_milder(standing, standing.tests[at].as_read?.scaled(factor), &other)
        });
        most_urgent(&mut tried.into_iter())
    });
    rejected.into_iter().chain(higher).collect()
}

/// How many times as high the latest reading is tried, up to what was usual before it; nothing where it is no lower than the trend explains.
fn higher_readings(standing: &Judgement, at: usize) -> Vec<f64> {
    let test = &standing.tests[at];
    let fell = standing.assessment.findings.iter().any(|finding| finding.code == Code::FallSinceLast);
    // Winding and cable together below the minimum are tested apart, which is milder than the work that a decline asks for.
    let is_apart = standing.assessment.findings.iter().any(|finding| finding.code == Code::TestApart);
    let is_looked_at = fell || is_apart || test.p_outlier > MAY_BE_AN_OUTLIER;
    if !matches!(test.corrected, Some(Measured::Exact(_))) || !is_looked_at {
        return Vec::new();
    }
    let level = |test: &CorrectedTest| Some(test.corrected?.resistance()?.log10_megohms());
    let counts = |test: &&CorrectedTest| matches!(test.left_out, None | Some(LeftOut::BeforeStretch));
    let before = standing.tests[..at].iter().rev().filter(counts).filter_map(level).take(BEFORE_FALL).collect();
    let Some((usual, now)) = median(before).zip(level(test)) else { return Vec::new() };
    let levels = (0..MOST_TRIED).map(|down| ((usual / STEP).floor() - down as f64) * STEP);
    levels.filter(|level| *level > now).map(|level| 10f64.powf(level - now)).collect()
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
        Finding::new(Code::FallSinceLast, message, "a lower reading makes no answer milder; common practice")
    });
    finding.message.push_str(&format!(
        " Had it been {higher}, the answer would be {} ({}); a lower reading makes no answer milder, so that stands.",
        other.assessment.action, cause.code
    ));
    let before_use = cause.before_use || finding.before_use;
    Some(Finding { asks: cause.asks, before_use, ..finding })
}

/// Whether a row was rejected for some of its cells, up to a day.
fn is_rejected(test: &TestRecord, as_of: NaiveDate) -> bool {
    test.kept_out == Some(KeptOut::Rejected) && test.tested_on.date <= as_of
}

/// The series with what can be read of its rejected rows, as if their faulty cells were blank: of all of them, and of the latest alone where
/// there are several.
fn with_rejected_rows(series: &Series, as_of: NaiveDate) -> Vec<Series> {
    let rejected: Vec<usize> = (0..series.tests.len()).filter(|at| is_rejected(&series.tests[*at], as_of)).collect();
    let believed = |rows: &[usize]| {
        let mut series = series.clone();
        for at in rows {
            series.tests[*at].kept_out = None;
        }
        series
    };
    let latest = rejected.len().saturating_sub(1);
    let choices = if latest > 0 { vec![&rejected[..], &rejected[latest..]] } else { vec![&rejected[..]] };
    choices.into_iter().filter(|rows| !rows.is_empty()).map(believed).collect()
}

/// What is said where rejected rows would have led to a more urgent answer.
fn of_rejected_rows(standing: &Judgement, believed: &Series, other: &Judgement) -> Option<Finding> {
    let cause = more_urgent(other, standing)?;
    let rejected = standing
        .tests
        .iter()
        .zip(&believed.tests)
        .filter(|(test, row)| test.left_out == Some(LeftOut::KeptOut(KeptOut::Rejected)) && row.kept_out.is_none());
    let days: Vec<String> = rejected.map(|(test, _)| test.tested_on.date.to_string()).collect();
    let (last, before) = days.split_last()?;
    let rows = match before {
        [] => format!("A row of {last} was rejected; with what can be read of it"),
        [one] => format!("Rows of {one} and {last} were rejected; with what can be read of them"),
        more => format!("Rows of {} days up to {last} were rejected; with what can be read of them", more.len() + 1),
    };
    // The row alone says that, so it is corrected, or the test repeated, before anything rests on it.
    let message = format!(
        "{rows} the answer is {}. {} Correct what was rejected from the test sheet, or repeat the test before the winding is energised.",
        other.assessment.action, cause.message
    );
    let finding = Finding::new(Code::RowKeptOut, message, "a row that is not believed makes no answer milder");
    Some(finding.asking_before_use(cause.asks))
}
