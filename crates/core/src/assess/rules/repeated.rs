//! Several tests on one day: steps of the voltage, a test made again, rows that were kept out.

use crate::assess::finding::{Asks, Code, Finding};
use crate::assess::result::{CorrectedTest, LeftOut};
use crate::assess::view::View;
use crate::record::KeptOut;
use crate::resistance::Measured;
use crate::steps::{self, Fall, Step, least, most};
use crate::units::{Voltage, three_digits};
use crate::voltage::is_same_voltage;

/// Two tests of one day that differ by this factor do not say the same.
const DIFFERS: f64 = 2.0;
/// Days for which a low row that was kept out, and that a good test followed, is said.
const REMEMBERED_DAYS: i64 = 365;

/// A test at rising voltages: sound insulation reads nearly the same at every step, cracked or dirty insulation less and less.
pub(super) fn falls_with_voltage(view: &View<'_>) -> Option<Finding> {
    let (latest, _) = view.latest()?;
    let tests = &view.case.tests;
    let first = tests.iter().position(|test| test.tested_on.date == latest.tested_on.date)?;
    let rising = (first..tests.len()).map(|at| view.case.steps_from(at)).find(|steps| steps.len() > 1);
    let of_day = rising.clone().map_or_else(|| by_voltage(&tests[first..]), |steps| tests[steps].iter().collect());
    let (low, high) = (*of_day.first()?, *of_day.last()?);
    let read: Vec<Step> =
        of_day.iter().filter_map(|test| Some(Step { volts: test.test_volts?, read: test.as_read? })).collect();
    let Fall { overall, worst_step: worst } = steps::fall(&read).filter(Fall::is_more_than_common)?;
    // Two rows that do not rise may also be a test made again at a lower voltage.
    let is_step_test = rising.is_some() || of_day.len() > 2;
    let by_half = overall < steps::LEAST_OF_ALL_STEPS && is_step_test;
    let so = if by_half {
        "it lost more than half on the way, as cracked or dirty insulation does: keep it out of service until it was looked at"
    } else {
        "from one step to the next a quarter is common: repeat it, clean and dry, before the winding is energised"
    };
    let message = format!(
        "On {} the resistance fell as the voltage rose: {} at {} and {} at {}, {} of it; {so}.",
        low.tested_on.date,
        low.as_read?,
        low.test_volts?,
        high.as_read?,
        high.test_volts?,
        three_digits(overall)
    );
    let finding = Finding::new(Code::FallsWithVoltage, message, "common practice: step-voltage test")
        .with("kept", overall)
        .with("kept_at_worst_step", worst)
        .with("steps", of_day.len() as f64);
    Some(finding.asking_before_use(if by_half { Asks::Hold } else { Asks::Repeat }))
}

/// Tests of one day at different voltages by their voltage, where no time of day says in which order they were made: that of the rows
/// proves nothing. Empty where two were made at one voltage.
fn by_voltage(of_day: &[CorrectedTest]) -> Vec<&CorrectedTest> {
    let on = of_day.first().map(|test| test.tested_on.date);
    let counts = |test: &&CorrectedTest| {
        Some(test.tested_on.date) == on
            && test.tested_on.time.is_none()
            && test.test_volts.is_some()
            && test.left_out.is_none()
    };
    let mut steps: Vec<&CorrectedTest> = of_day.iter().filter(counts).collect();
    let volts = |test: &CorrectedTest| test.test_volts.map_or(0.0, Voltage::as_volts);
    steps.sort_by(|a, b| volts(a).total_cmp(&volts(b)));
    let same = |pair: &[&CorrectedTest]| {
        pair[0].test_volts.zip(pair[1].test_volts).is_none_or(|(low, high)| is_same_voltage(low, high))
    };
    if steps.windows(2).any(same) { Vec::new() } else { steps }
}

/// A test made again on the same day: the later one is judged, the earlier one is reported.
pub(super) fn tested_twice(view: &View<'_>) -> Option<Finding> {
    let at = view.case.latest()?;
    let latest = &view.case.tests[at];
    let earlier = view.case.tests[..at].iter().rev().find(|test| {
        test.tested_on.date == latest.tested_on.date && matches!(test.left_out, None | Some(LeftOut::BeforeStretch))
    })?;
    let ratio = |low: Measured, high: Measured| Some(least(high)?.as_megohms() / most(low)?.as_megohms());
    let (before, now) = (earlier.as_read?, latest.as_read?);
    let factor = ratio(before, now).unwrap_or(0.0).max(ratio(now, before).unwrap_or(0.0));
    if factor < DIFFERS || latest.event.is_some() {
        return None;
    }
    let message = format!(
        "On {} the winding was tested more than once: {before}, then {now}; the later test is judged. Write down what was done between them.",
        latest.tested_on.date
    );
    Some(
        Finding::new(Code::TestedTwice, message, "tests without a time follow each other as their rows do")
            .with("factor", factor),
    )
}

/// Rows that count for nothing make no answer milder: what the lowest of them says, or may say, counts against the winding.
pub(super) fn row_kept_out(view: &View<'_>) -> Option<Finding> {
    let rows: Vec<(&CorrectedTest, KeptOut)> = (view.case.tests.iter())
        .filter_map(|test| match test.left_out {
            Some(LeftOut::KeptOut(why)) => Some((test, why)),
            _ => None,
        })
        .collect();
    let latest_day = |undated: bool| {
        let of_kind = rows.iter().filter(|(_, why)| *why != KeptOut::Unread && (*why == KeptOut::Undated) == undated);
        of_kind.map(|(test, _)| test.tested_on.date).max()
    };
    let lowest = |undated: bool| {
        let day = latest_day(undated)?;
        let of_day =
            rows.iter().filter(|(test, why)| test.tested_on.date == day && (*why == KeptOut::Undated) == undated);
        lowest_kept_out(view, of_day.copied())
    };
    let unread = rows.iter().rev().find(|(_, why)| *why == KeptOut::Unread);
    let found = [lowest(false), lowest(true), unread.and_then(|(test, _)| unread_row(view, test))];
    found.into_iter().flatten().min_by_key(|finding| finding.asks)
}

/// What a reading is held against: corrected where its temperature is known.
fn value(test: &CorrectedTest) -> Option<Measured> {
    test.corrected.filter(|_| test.kt.is_some()).or(test.as_read)
}

/// A row whose reading cannot be read may say anything; a later test answers it.
fn unread_row(view: &View<'_>, row: &CorrectedTest) -> Option<Finding> {
    let latest = view.latest().map(|(latest, _)| latest.tested_on.date);
    let day = row.tested_on.date;
    if latest.is_some_and(|latest| latest > day) {
        return None;
    }
    let message = format!(
        "The latest row of this winding was rejected, and what it reads cannot be told, so it may be anything (its date is {day} or cannot \
         be read): correct it from the test sheet, or repeat the test before the winding is energised."
    );
    Some(
        Finding::new(Code::RowKeptOut, message, "a row that is not believed makes no answer milder")
            .asking_before_use(Asks::Repeat),
    )
}

/// The lowest of some rows that count for nothing, all of one day or all without a date.
fn lowest_kept_out<'t>(view: &View<'_>, rows: impl Iterator<Item = (&'t CorrectedTest, KeptOut)>) -> Option<Finding> {
    let case = view.case;
    let minimum = case.minimum.resistance;
    let latest = view.latest().map(|(latest, _)| latest);
    let (lowest, why) = rows.filter(|(test, _)| value(test).and_then(most).is_some()).min_by(|a, b| {
        let mohm = |test: &CorrectedTest| value(test).and_then(most).map_or(f64::INFINITY, |r| r.as_megohms());
        mohm(a.0).total_cmp(&mohm(b.0))
    })?;
    let day = lowest.tested_on.date;
    let low = value(lowest)?;
    let is_low = low.at_or_below(minimum);
    let before = latest.and_then(value).and_then(least);
    let fell = before.zip(most(low)).is_some_and(|(before, low)| before.as_megohms() > DIFFERS * low.as_megohms());
    let is_followed = why != KeptOut::Undated && latest.is_some_and(|latest| latest.tested_on.date > day);
    let is_old = view.terms.as_of.signed_duration_since(day).num_days() > REMEMBERED_DAYS;
    let comes_to = match (is_low, fell) {
        (true, _) => format!("at or below the minimum of {minimum}"),
        (false, true) => "far below what the test that counts shows".to_owned(),
        (false, false) => "nothing that would change the answer".to_owned(),
    };
    let (asks, todo) = match (is_followed, is_low, fell) {
        (true, true, _) if !is_old => (Asks::SoonerTest, "a later test was good; find out which row is right"),
        (true, _, _) => return None,
        (false, true, _) if why != KeptOut::Contradicted => {
            (Asks::Hold, "hold it until the row is corrected or the test repeated")
        }
        (false, true, _) | (false, _, true) => (Asks::Repeat, "repeat the test before the winding is energised"),
        (false, false, false) => (Asks::Nothing, "correct the row"),
    };
    let (subject, reason) = match why {
        KeptOut::Contradicted => (format!("Rows of {day}"), "contradict each other and count for nothing"),
        KeptOut::Rejected | KeptOut::Unread => {
            (format!("Rows of {day}"), "were rejected in part or whole and count for nothing")
        }
        KeptOut::Undated => ("Rows whose date cannot be read".to_owned(), "count for nothing, and may be the latest"),
    };
    let message = format!("{subject} {reason}; the lowest reads {}, {comes_to}: {todo}.", lowest.as_read?);
    let mohm = most(low).map_or(0.0, |r| r.as_megohms());
    let mut finding = Finding::new(Code::RowKeptOut, message, "a row that is not believed makes no answer milder");
    if why != KeptOut::Undated {
        finding = finding.with("tested_on", day.to_string());
    }
    let finding = finding.with("lowest_mohm", mohm);
    Some(match asks {
        Asks::Hold | Asks::Repeat => finding.asking_before_use(asks),
        _ => finding.asking(asks),
    })
}
