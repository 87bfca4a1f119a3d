//! Several tests on one day: steps of the voltage, a test made again, rows that were kept out.

use crate::assess::finding::{Asks, Code, Finding};
use crate::assess::result::{CorrectedTest, LeftOut};
use crate::assess::view::View;
use crate::record::{Event, KeptOut};
use crate::resistance::Measured;
use crate::steps::{self, Fall, Step, least, most};
use crate::units::{Voltage, three_digits};
use crate::voltage::is_same_voltage;

/// A later test at the highest voltage answers a fall if it reads this share of the first step and more.
const ANSWERS: f64 = 0.75;
/// Two tests of one day that differ by this factor do not say the same.
const DIFFERS: f64 = 2.0;
/// Days for which a low row that was kept out, and that a good test followed, is said.
const REMEMBERED_DAYS: i64 = 365;

/// A test at rising voltages: sound insulation reads nearly the same at every step, cracked or dirty insulation less and less. It counts
/// until a later test at its highest voltage answers it.
pub(super) fn falls_with_voltage(view: &View<'_>) -> Option<Finding> {
    let case = view.case;
    let latest = case.latest()?;
    let mut first = latest;
    loop {
        let on = case.tests[first].tested_on.date;
        first = case.tests.iter().position(|test| test.tested_on.date == on)?;
        if let Some(fall) = StepsOfDay::at(view, first) {
            return fall.finding(view).filter(|_| !fall.is_answered(view));
        }
        first = (case.start..first).rev().find(|at| case.tests[*at].left_out.is_none())?;
    }
}

/// The steps of a day with two voltages and more.
struct StepsOfDay<'v> {
    steps: Vec<&'v CorrectedTest>,
    /// Whether its rows rise, or are too many for a test made again at a lower voltage.
    is_step_test: bool,
}

impl<'v> StepsOfDay<'v> {
    fn at(view: &View<'v>, first: usize) -> Option<Self> {
        let tests = &view.case.tests;
        let on = tests.get(first)?.tested_on.date;
        let rows = tests[first..].iter().take_while(|test| test.tested_on.date == on).count();
        let rising = (first..first + rows).map(|at| view.case.steps_from(at)).find(|steps| steps.len() > 1);
        let steps = rising.clone().map_or_else(|| by_voltage(&tests[first..]), |steps| tests[steps].iter().collect());
        let is_step_test = rising.is_some() || steps.len() > 2;
        (steps.len() > 1).then_some(Self { steps, is_step_test })
    }

    fn read(&self) -> Vec<Step> {
        let step = |test: &&CorrectedTest| Some(Step { volts: test.test_volts?, read: test.as_read? });
        self.steps.iter().filter_map(step).collect()
    }

    /// Whether a later test at the highest of its voltages read about as much as the first step.
    fn is_answered(&self, view: &View<'_>) -> bool {
        let (Some(first), Some(last)) = (self.steps.first(), self.steps.last()) else { return true };
        let enough = first.corrected.and_then(least).map_or(0.0, |r| ANSWERS * r.as_megohms());
        view.case.tests.iter().any(|test| {
            let is_later = test.tested_on.date > last.tested_on.date && test.tested_on.date <= view.terms.as_of;
            let at_top =
                test.test_volts.zip(last.test_volts).is_some_and(|(now, top)| now >= top || is_same_voltage(now, top));
            let counts = matches!(test.left_out, None | Some(LeftOut::OtherStep | LeftOut::BeforeStretch));
            is_later && at_top && counts && test.corrected.and_then(least).is_some_and(|r| r.as_megohms() >= enough)
        })
    }

    fn finding(&self, view: &View<'_>) -> Option<Finding> {
        let (low, high) = (*self.steps.first()?, *self.steps.last()?);
        let Fall { overall, worst_step: worst } = steps::fall(&self.read()).filter(Fall::is_more_than_common)?;
        // Two rows that do not rise may also be a test made again at a lower voltage.
        let by_half = overall < steps::LEAST_OF_ALL_STEPS && self.is_step_test;
        let so = if by_half {
            "it lost more than half on the way, as cracked or dirty insulation does: keep it out of service until it was looked at"
        } else {
            "from one step to the next a quarter is common: repeat it, clean and dry, before the winding is energised"
        };
        let is_latest = view.latest().is_some_and(|(latest, _)| latest.tested_on.date == low.tested_on.date);
        let since = if is_latest {
            String::new()
        } else {
            format!("; no test at {} has answered that since", high.test_volts?)
        };
        let message = format!(
            "On {} the resistance fell as the voltage rose: {} at {} and {} at {}, {} of it{since}; {so}.",
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
            .with("steps", self.steps.len() as f64);
        Some(finding.asking_before_use(if by_half { Asks::Hold } else { Asks::Repeat }))
    }
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

/// A reading at a lower voltage that is far below that of the same day at a higher one: insulation does not read more under more voltage.
fn rises_with_voltage(view: &View<'_>) -> Option<Finding> {
    let latest = view.latest()?.0;
    let (now, volts) = (latest.as_read?, latest.test_volts?);
    let is_lower = |test: &&CorrectedTest| {
        let at = test.test_volts.filter(|at| *at < volts && !is_same_voltage(*at, volts));
        let times = |low| Some(least(now)?.as_megohms() / most(low)?.as_megohms());
        test.tested_on.date == latest.tested_on.date
            && test.left_out == Some(LeftOut::OtherStep)
            && at.is_some()
            && test.as_read.and_then(times).is_some_and(|times| times >= DIFFERS)
    };
    let low = view.case.tests.iter().rev().find(is_lower)?;
    let message = format!(
        "On {} it read {} at {} and {now} at {volts}; resistance does not double when the voltage rises, so one of them is wrong: do \
         not start it until the test is repeated.",
        latest.tested_on.date, low.as_read?, low.test_volts?
    );
    let finding = Finding::new(Code::TestedTwice, message, "common practice: step-voltage test");
    Some(finding.asking_before_use(Asks::Repeat))
}

/// A test made again on the same day: the later one is judged, the earlier one is reported.
pub(super) fn tested_twice(view: &View<'_>) -> Option<Finding> {
    if let Some(rises) = rises_with_voltage(view) {
        return Some(rises);
    }
    let at = view.case.latest()?;
    let latest = &view.case.tests[at];
    let now = latest.as_read?;
    let ratio = |low: Measured, high: Measured| Some(least(high)?.as_megohms() / most(low)?.as_megohms());
    // Of several earlier tests of the day the one that differs most, and of those the last.
    let of_day = view.case.tests[..at].iter().filter(|test| {
        test.tested_on.date == latest.tested_on.date && matches!(test.left_out, None | Some(LeftOut::BeforeStretch))
    });
    let differing = of_day.filter_map(|test| {
        let before = test.as_read?;
        let factor = ratio(before, now).unwrap_or(0.0).max(ratio(now, before).unwrap_or(0.0));
        Some((test, before, factor))
    });
    let (earlier, before, factor) = differing.max_by(|one, other| one.2.total_cmp(&other.2))?;
    if factor < DIFFERS || latest.event.is_some() {
        return None;
    }
    let source = "of tests without a time the lowest is used as the last";
    // Without the time of both, which came last is not known, and the lower one may be the later one.
    let timed = [earlier, latest].map(|test| test.tested_on.time.is_some());
    if timed != [true; 2] && ratio(before, now).is_some_and(|times| times >= DIFFERS) {
        let (which, write) = if timed == [false; 2] {
            ("the rows have no time", "the times, or what was done between them")
        } else {
            ("only one of the rows has a time", "the time of the other")
        };
        let message = format!(
            "On {} the winding was tested more than once, {before} and {now}, and {which}, so which came last is not known: write {write}, and \
             until then do not start it.",
            latest.tested_on.date
        );
        let is_low = view.case.judged(earlier).is_some_and(|(value, limit)| value.at_or_below(limit));
        let asks = if is_low && timed != [false; 2] { Asks::Hold } else { Asks::Repeat };
        return Some(Finding::new(Code::TestedTwice, message, source).with("factor", factor).asking_before_use(asks));
    }
    if timed == [false; 2] {
        let mut message = format!(
            "On {} the winding was tested more than once, {before} and {now}, and the rows have no time, so the lower one is judged. Write the \
             times, or what was done between them.",
            latest.tested_on.date
        );
        // At another voltage the higher one may say that the lower one was no sound test.
        let one_voltage = earlier.test_volts.is_none() == latest.test_volts.is_none();
        if !one_voltage {
            message.push_str(
                " Only one of the rows has a voltage: write that of the other, and until then do not start it.",
            );
        }
        let finding = Finding::new(Code::TestedTwice, message, source).with("factor", factor);
        return Some(if one_voltage { finding } else { finding.asking_before_use(Asks::Repeat) });
    }
    let message = format!(
        "On {} the winding was tested more than once: {before}, then {now}; the later test is judged. Write down what was done between them.",
        latest.tested_on.date
    );
    Some(Finding::new(Code::TestedTwice, message, source).with("factor", factor))
}

/// Rows that are not used never make an answer less urgent: what the lowest of them says, or may say, counts against the winding.
pub(super) fn row_kept_out(view: &View<'_>) -> Option<Finding> {
    let rows: Vec<(&CorrectedTest, KeptOut)> = (view.case.tests.iter())
        .filter_map(|test| match test.left_out {
            Some(LeftOut::KeptOut(why)) => Some((test, why)),
            _ => None,
        })
        .collect();
    let latest_day = |undated: bool| {
        let is_read = |test: &CorrectedTest, why: KeptOut| why != KeptOut::Unread || test.as_read.is_some();
        let of_kind = rows.iter().filter(|(test, why)| is_read(test, *why) && why.is_undated() == undated);
        of_kind.map(|(test, _)| test.tested_on.date).max()
    };
    let lowest = |undated: bool| {
        let day = latest_day(undated)?;
        let of_day = rows.iter().filter(|(test, why)| test.tested_on.date == day && why.is_undated() == undated);
        lowest_kept_out(view, of_day.copied())
    };
    let unread = rows.iter().rev().find(|(_, why)| *why == KeptOut::Unread);
    let is_wet = |at: &usize| matches!(view.case.record(*at).event, Some(Event::Flooded | Event::Drying));
    let wet = (0..view.case.tests.len()).rev().filter(is_wet).find_map(|at| match view.case.tests[at].left_out {
        Some(LeftOut::KeptOut(why)) => wet_row(view, at, why),
        _ => None,
    });
    let found = [lowest(false), lowest(true), unread.and_then(|(test, _)| unread_row(view, test)), wet];
    found.into_iter().flatten().min_by_key(|finding| finding.asks)
}

/// Whether a test that counts was made after a row.
fn is_followed(view: &View<'_>, row: &CorrectedTest, why: KeptOut) -> bool {
    let latest = view.latest().map(|(latest, _)| latest.tested_on.date);
    !why.is_undated() && latest.is_some_and(|latest| latest > row.tested_on.date)
}

/// A row that says that the winding was under water or is being dried out, and that cannot be read whole.
fn wet_row(view: &View<'_>, at: usize, why: KeptOut) -> Option<Finding> {
    let row = &view.case.tests[at];
    if is_followed(view, row, why) {
        return None;
    }
    let of =
        if why.is_undated() { "whose date cannot be read".to_owned() } else { format!("of {}", row.tested_on.date) };
    let message = format!(
        "A row {of} was rejected, and it says {} of the winding: hold it until the row is corrected and the winding tested cold.",
        view.case.record(at).event?.word()
    );
    let finding = Finding::new(Code::RowKeptOut, message, "an unreliable row never makes the answer less urgent");
    Some(finding.asking_before_use(Asks::Hold))
}

/// What a reading is compared with: corrected where its temperature is known.
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
        "The latest row was rejected and its reading is unknown, so it could be anything (its date is {day} or cannot \
         be read): correct it from the test sheet, or repeat the test before the winding is energised."
    );
    Some(
        Finding::new(Code::RowKeptOut, message, "an unreliable row never makes the answer less urgent")
            .asking_before_use(Asks::Repeat),
    )
}

/// The lowest of some rows that are not used, all of one day or all without a date.
fn lowest_kept_out<'t>(view: &View<'_>, rows: impl Iterator<Item = (&'t CorrectedTest, KeptOut)>) -> Option<Finding> {
    let case = view.case;
    let latest = view.latest().map(|(latest, _)| latest);
    let rows: Vec<(&CorrectedTest, KeptOut)> = rows.collect();
    let count = rows.len();
    let (lowest, why) = rows.into_iter().filter(|(test, _)| value(test).and_then(most).is_some()).min_by(|a, b| {
        let mohm = |test: &CorrectedTest| value(test).and_then(most).map_or(f64::INFINITY, |r| r.as_megohms());
        mohm(a.0).total_cmp(&mohm(b.0))
    })?;
    let day = lowest.tested_on.date;
    let low = value(lowest)?;
    let (held, minimum) = case.judged(lowest)?;
    let is_low = held.at_or_below(minimum);
    let before = latest.and_then(value).and_then(least);
    let fell = before.zip(most(low)).is_some_and(|(before, low)| before.as_megohms() > DIFFERS * low.as_megohms());
    let is_followed = is_followed(view, lowest, why);
    let is_old = view.terms.as_of.signed_duration_since(day).num_days() > REMEMBERED_DAYS;
    let comes_to = match (is_low, fell) {
        (true, _) => format!("at or below the minimum of {minimum}"),
        (false, true) => "far below what the test that counts shows".to_owned(),
        (false, false) if why != KeptOut::Contradicted && !is_followed => {
            "but the rest of the row cannot be relied on".to_owned()
        }
        (false, false) => "nothing that would change the answer".to_owned(),
    };
    let (asks, todo) = match (is_followed, is_low, fell) {
        (true, true, _) if !is_old => (Asks::SoonerTest, "a later test was good; find out which row is right"),
        (true, _, _) => return None,
        (false, true, _) => (Asks::Hold, "hold it until the row is corrected or the test repeated"),
        (false, _, true) => (Asks::Repeat, "repeat the test before the winding is energised"),
        // What else the latest row says is not known: its index, its checks, its damp.
        (false, false, false) if why != KeptOut::Contradicted => {
            (Asks::Repeat, "correct the row from the test sheet, or repeat the test before the winding is energised")
        }
        _ => (Asks::Nothing, "correct the row"),
    };
    let (subject, reason) = match why {
        KeptOut::Contradicted => (format!("Rows of {day}"), "contradict each other and are not used"),
        KeptOut::Rejected | KeptOut::Unread if count == 1 => {
            (format!("A row of {day}"), "was rejected in part or in full and is not used")
        }
        KeptOut::Rejected | KeptOut::Unread => {
            (format!("Rows of {day}"), "were rejected in part or in full and are not used")
        }
        KeptOut::Misdated => ("Rows dated after today".to_owned(), "are not used, and may be the latest"),
        KeptOut::Undated => ("Rows whose date cannot be read".to_owned(), "are not used, and may be the latest"),
    };
    let message = format!("{subject} {reason}; the lowest reads {}, {comes_to}: {todo}.", lowest.as_read?);
    let mohm = most(low).map_or(0.0, |r| r.as_megohms());
    let mut finding = Finding::new(Code::RowKeptOut, message, "an unreliable row never makes the answer less urgent");
    if !why.is_undated() {
        finding = finding.with("tested_on", day.to_string());
    }
    let finding = finding.with("lowest_mohm", mohm);
    Some(match asks {
        Asks::Hold | Asks::Repeat => finding.asking_before_use(asks),
        _ => finding.asking(asks),
    })
}
