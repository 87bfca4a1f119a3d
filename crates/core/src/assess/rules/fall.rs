//! What the readings say of a fall since the last tests: by the trend, by themselves, after work, beside the whole.

use crate::assess::case::LEAST_COLDER_K;
use crate::assess::finding::{Asks, Code, Finding};
use crate::assess::result::{CorrectedTest, LeftOut, SinceReason};
use crate::assess::view::View;
use crate::nameplate::Construction;
use crate::record::{Event, KeptOut};
use crate::resistance::Measured;
use crate::stats::median::median;
use crate::units::three_digits;

/// How far a fall of some probability by chance is beyond the scatter, in words; the probability itself is in the evidence.
const fn how_far(probability: f64) -> &'static str {
    match probability {
        p if p < 1e-5 => "far beyond",
        p if p < 1e-3 => "well beyond",
        _ => "beyond",
    }
}

/// A fall by this factor that later tests agree with is sudden, not slow: something happened.
const SUDDEN_FACTOR: f64 = 3.0;
/// A factor that is said as "3" is at least 2.995; decades.
const ROUNDING: f64 = 0.0008;
/// So many times the minimum an agreed fall has to leave.
const LEFT_AFTER_FALL: f64 = 2.0;
/// With fewer readings before them it is not known what is usual.
pub(super) const LEAST_BEFORE: usize = 3;

/// What to look for after a sudden fall, of a machine and of a circuit.
const CAUSES: &str = "water, a heater that failed, a leaking cooler, dirt, or the terminal box";
const CAUSES_IN_A_CIRCUIT: &str = "water in a box or pipe, damaged insulation, or a load that was left connected";

/// What an agreed fall asks for, and how that is said.
pub(super) fn after_agreed_fall(view: &View<'_>, factor: f64) -> (Asks, String) {
    let minimum = view.case.minimum.resistance.as_megohms();
    let left = view.latest().and_then(|(test, _)| test.corrected.filter(|_| test.kt.is_some()).or(test.as_read));
    let left = left.and_then(Measured::resistance).map(|r| r.as_megohms() / minimum);
    if libm::log10(factor) >= libm::log10(SUDDEN_FACTOR) - ROUNDING || left.is_some_and(|left| left < LEFT_AFTER_FALL) {
        let causes = match view.case.nameplate.construction {
            Some(Construction::Cable | Construction::Circuit) => CAUSES_IN_A_CIRCUIT,
            _ => CAUSES,
        };
        (Asks::Work, format!("; before it is started again, look for the cause: {causes}"))
    } else {
        (Asks::SoonerTest, String::new())
    }
}

/// Readings before a fall that it is compared with, a year of quarters.
pub(in crate::assess) const BEFORE_FALL: usize = 4;
/// Share of a fall that lies between the lowest reading before it and the highest after it; of a steady decline it is half at most.
const LEAST_CLEAR: f64 = 0.6;
/// Below a single reading, the first after work, which is the best there will be.
const SETTLED_FACTOR: f64 = 5.0;
/// Close to the minimum an agreed fall by this factor is one.
const CLOSE_FACTOR: f64 = 1.5;

/// A fall by less than [`SUDDEN_FACTOR`] is one for so many readings; over more, a decline looks alike.
const MOST_FALLEN: usize = 3;
/// A single reading that is below the lowest before it by this factor is far below, however much those before it differ.
const FAR_FACTOR: f64 = 1.75;
/// Held against two readings, it is lower by this factor.
const OF_FEW_FACTOR: f64 = 2.5;
/// With more readings than this a fall of a colder winding is looked for by the trend.
const SHORT_HISTORY: usize = 10;

/// How far the latest readings lie below those before them, decades.
pub(super) struct Drop {
    /// Between the medians of both.
    pub(super) size: f64,
    /// Between the lowest of those before and the highest of the latest.
    clear: f64,
    /// Between the lowest and the highest of those before.
    spread_before: f64,
    /// Readings before.
    before: usize,
    /// Whether one of them is a bound, so that it may be more.
    is_bound: bool,
}

impl Drop {
    /// Beyond the scale a reading before is at least what the scale shows, and below it a latest one at most. None where a bound leaves it
    /// open.
    pub(super) fn between(before: &[Measured], latest: &[Measured]) -> Option<Self> {
        let is_open = before.iter().any(|value| matches!(value, Measured::Below(_) | Measured::OffScale))
            || latest.iter().any(|value| matches!(value, Measured::Above(_) | Measured::OffScale));
        if is_open {
            return None;
        }
        let log10 = |values: &[Measured]| -> Vec<f64> {
            values.iter().filter_map(|value| Some(value.resistance()?.log10_megohms())).collect()
        };
        let (earlier, later) = (log10(before), log10(latest));
        let lowest = earlier.iter().copied().min_by(f64::total_cmp)?;
        let highest = earlier.iter().copied().max_by(f64::total_cmp)?;
        Some(Self {
            clear: lowest - later.iter().copied().max_by(f64::total_cmp)?,
            spread_before: highest - lowest,
            before: earlier.len(),
            is_bound: before.iter().chain(latest).any(|value| !matches!(value, Measured::Exact(_))),
            size: median(earlier)? - median(later)?,
        })
    }

    fn is_at_least(&self, factor: f64) -> bool {
        // Beyond a sudden fall no more is asked: a lower reading must not make it none.
        let clear = LEAST_CLEAR * self.size.min(libm::log10(SUDDEN_FACTOR));
        self.size >= libm::log10(factor) - ROUNDING && self.clear >= clear
    }

    /// Whether it is more than those before differ among themselves; fewer than three do not show how much they differ.
    fn is_unusual(&self) -> bool {
        self.before >= LEAST_BEFORE && self.clear >= self.spread_before
    }

    /// "by a factor of 4.2", "by a factor of 6.45 or more".
    fn in_words(&self) -> String {
        let or_more = if self.is_bound { " or more" } else { "" };
        format!("by a factor of {}{or_more}", three_digits(libm::exp10(self.size)))
    }
}

/// The readings that a fall is looked for in, with their tests: those that count, and before the latest of them what can be read of rejected
/// rows, as if the faulty cell were blank. A row that is not believed hides no fall.
fn readings_for_falls(view: &View<'_>) -> impl Iterator<Item = (usize, Measured)> {
    let case = view.case;
    let latest = case.latest().unwrap_or(0);
    (case.start..=latest).filter_map(move |at| {
        let test = case.tests.get(at)?;
        let rejected = at < latest && test.left_out == Some(LeftOut::KeptOut(KeptOut::Rejected));
        let value = test.corrected.or(test.as_read.filter(|_| rejected))?;
        let counts = test.left_out.is_none() && value.resistance().is_some();
        (counts || rejected).then_some((at, value))
    })
}

/// The latest two to four readings all lie far below those before them. With few readings the trend may take such a fall for a decline
/// that speeds up, or for noise; the winding has fallen all the same. Common practice.
fn agreed_fall(view: &View<'_>) -> Option<Finding> {
    let counted: Vec<Measured> = readings_for_falls(view).map(|(_, value)| value).collect();
    let falls = (2..=4).filter_map(|fallen| {
        let (before, latest) = counted.split_at(counted.len().checked_sub(fallen)?);
        let drop = Drop::between(&before[before.len().saturating_sub(BEFORE_FALL)..], latest)?;
        let (asks, so) = after_agreed_fall(view, libm::exp10(drop.size));
        // One reading before may be the best there is after work; and scatter as wide as the fall is none.
        let (asks, so, is_fall) = match (drop.before, asks) {
            (1, _) if view.case.since == SinceReason::FirstTest => {
                let asks = if drop.is_at_least(SUDDEN_FACTOR) { asks } else { Asks::SoonerTest };
                (asks, if asks == Asks::Work { so } else { String::new() }, drop.is_at_least(OF_FEW_FACTOR))
            }
            (1, _) => (Asks::SoonerTest, String::new(), drop.is_at_least(SETTLED_FACTOR)),
            (_, Asks::Work) if drop.is_at_least(SUDDEN_FACTOR) => (asks, so, true),
            _ if fallen > MOST_FALLEN => return None,
            (_, Asks::Work) => (asks, so, drop.is_at_least(CLOSE_FACTOR)),
            _ => {
                let is_usual = drop.is_unusual() && drop.is_at_least(2.0);
                (asks, so, is_usual || drop.is_at_least(OF_FEW_FACTOR))
            }
        };
        is_fall.then_some((fallen, drop, asks, so))
    });
    let (fallen, drop, asks, so) = falls.min_by_key(|(_, _, asks, _)| *asks)?;
    let message = format!(
        "The latest {fallen} readings are lower {} than usual before them; as they agree, the fall is real{so}.",
        drop.in_words()
    );
    let finding = Finding::new(Code::FallSinceLast, message, "common practice")
        .with("readings", fallen as f64)
        .with("drop_log10", drop.size);
    Some(if asks == Asks::Work { finding.asking_before_use(asks) } else { finding.asking(asks) })
}

/// Colder insulation reads more: a latest reading of half or less of what the winding read when it was warmer is a fall by every
/// temperature law. In a long history the trend looks for that (`Case::cold_fall`).
fn lower_though_colder(view: &View<'_>) -> Option<Finding> {
    let case = view.case;
    let at = case.latest()?;
    let latest = &case.tests[at];
    let (cold, as_read) = (latest.winding_temp?, latest.as_read?);
    if case.counted().count() > SHORT_HISTORY {
        return None;
    }
    let is_warmer =
        |test: &&&CorrectedTest| test.winding_temp.is_some_and(|t| (t - cold).as_kelvins() >= LEAST_COLDER_K);
    let before: Vec<&CorrectedTest> =
        case.counted().rev().filter(|other| *other < at).take(BEFORE_FALL).map(|other| &case.tests[other]).collect();
    let warmer: Vec<Measured> = before.iter().filter(is_warmer).filter_map(|test| test.as_read).collect();
    let halved = |before: &[Measured]| Drop::between(before, &[as_read]).filter(|drop| drop.is_at_least(2.0));
    // A decline that the test before showed already needs no repeat.
    halved(&[before.first()?.as_read?])?;
    let drop = halved(&warmer).filter(|drop| drop.before > 1)?;
    let message = format!(
        "The latest reading, {as_read} at {cold} on {}, is lower {} than usual although the winding was colder; colder insulation reads more, \
         so this is a fall by any temperature law: do not start it until the test is repeated.",
        latest.tested_on.date,
        drop.in_words()
    );
    let finding = Finding::new(Code::FallSinceLast, message, "common practice").with("drop_log10", drop.size);
    Some(finding.asking_before_use(Asks::Repeat))
}

/// The latest reading is half or less of what the winding usually read, and lies far below all of those before it or below them by more
/// than they differ among themselves. It may be the beginning of a fall, so it is repeated. Common practice.
fn halved_once(view: &View<'_>) -> Option<Finding> {
    let case = view.case;
    let counted: Vec<(usize, Measured)> = readings_for_falls(view).collect();
    let ((latest, now), before) = counted.split_last()?;
    let before: Vec<Measured> =
        before[before.len().saturating_sub(BEFORE_FALL)..].iter().map(|(_, value)| *value).collect();
    let drop = Drop::between(&before, &[*now])?;
    let least = if drop.before >= LEAST_BEFORE { 2.0 } else { OF_FEW_FACTOR };
    let is_far = drop.before > 1 && drop.size >= libm::log10(least) - ROUNDING && drop.clear >= libm::log10(FAR_FACTOR);
    let is_half = drop.is_unusual() && drop.is_at_least(2.0);
    if !(is_far || is_half) {
        return None;
    }
    let test = &case.tests[*latest];
    let message = format!(
        "The latest reading, {} on {}, is lower {}{} than usual before it, and clearly below the lowest of the {} before: do not start it until the \
         test is repeated.",
        test.as_read?,
        test.tested_on.date,
        drop.in_words(),
        at_one_temperature(test),
        drop.before
    );
    let finding = Finding::new(Code::FallSinceLast, message, "common practice").with("drop_log10", drop.size);
    Some(finding.asking_before_use(Asks::Repeat))
}

/// Work that does not lower the resistance of a winding: it stays the winding that it was.
const KEEPS_THE_WINDING: [Event; 3] = [Event::Cleaned, Event::Dried, Event::Repaired];
/// After such work a reading that is lower by this factor is a fall.
const LOWER_AFTER_WORK: f64 = 2.5;

/// The readings since cleaning, drying or a repair are far below those before it: the work did not help, or something happened. Common
/// practice.
fn lower_after_work(view: &View<'_>) -> Option<Finding> {
    let case = view.case;
    // A test that ends a process of drying which began with it found a winding that was not known to be wet.
    let was_wet = case.drying.as_ref().is_some_and(|drying| drying.rows.contains(&case.start));
    let is_dry_again = case.drying.as_ref().is_some_and(|drying| drying.ended_by_a_test && drying.rows.len() == 1);
    let keeps = |event: &Event| KEEPS_THE_WINDING.contains(event) || (*event == Event::Drying && is_dry_again);
    let work = case.tests.get(case.start)?.event.filter(keeps)?;
    let since: Vec<Measured> = case.counted().filter_map(|at| case.tests[at].corrected).collect();
    let latest = view.latest()?.0;
    let exact = |test: &&CorrectedTest| test.left_out == Some(LeftOut::BeforeStretch) && test.as_read.is_some();
    let before = case.tests[..case.start]
        .iter()
        .rev()
        .take_while(|test| test.event.is_none_or(|event| KEEPS_THE_WINDING.contains(&event)));
    let before: Vec<Measured> = before.filter(exact).take(BEFORE_FALL).filter_map(|test| test.corrected).collect();
    // After a flood the minimum decides, and the tests a week and a month later.
    if since.is_empty() || since.len() > MOST_FALLEN || (was_wet && !is_dry_again) {
        return None;
    }
    let drop = Drop::between(&before, &since).filter(|drop| drop.is_at_least(LOWER_AFTER_WORK))?;
    let (asks, so) = match since.len() {
        1 => (Asks::Repeat, "; do not start it until the test is repeated".to_owned()),
        _ => after_agreed_fall(view, libm::exp10(drop.size)),
    };
    let message = format!(
        "Since the winding was {} on {}, it reads lower {} than before that, {} on {}; such work does not lower a sound winding{so}.",
        if work == Event::Drying { Event::Dried.word() } else { work.word() },
        case.tests[case.start].tested_on.date,
        drop.in_words(),
        latest.as_read?,
        latest.tested_on.date
    );
    let finding = Finding::new(Code::FallSinceLast, message, "common practice")
        .with("readings", since.len() as f64)
        .with("drop_log10", drop.size);
    Some(if asks == Asks::SoonerTest { finding.asking(asks) } else { finding.asking_before_use(asks) })
}

/// A part cannot read less than the whole: where it does, the winding has fallen since, or one of the two tests is wrong.
fn less_than_the_whole(view: &View<'_>) -> Option<Finding> {
    let whole = view.whole?;
    let (latest, _) = view.latest()?;
    let (read, rule) = if whole.of_parts {
        (
            format!("up to {} {} come to {} in parallel", whole.on, whole.name, whole.read),
            "a whole reads what its parts read in parallel",
        )
    } else {
        (format!("{} read {} on {}", whole.name, whole.read, whole.on), "a part cannot read less than the whole")
    };
    let message = format!(
        "On {} it read {}, and {read}, {} times as much at one temperature; {rule}: do not start it until the test is repeated.",
        latest.tested_on.date,
        latest.as_read?,
        three_digits(whole.times)
    );
    let finding = Finding::new(Code::FallSinceLast, message, "parts of a circuit are in parallel");
    Some(finding.with("times", whole.times).asking_before_use(Asks::Repeat))
}

/// The most urgent of what the trend and the readings themselves say of a fall.
pub(super) fn fall_since_last(view: &View<'_>) -> Option<Finding> {
    let falls = [
        fall_by_trend(view),
        agreed_fall(view),
        lower_though_colder(view),
        halved_once(view),
        lower_after_work(view),
        less_than_the_whole(view),
    ];
    falls.into_iter().flatten().min_by_key(|finding| finding.asks)
}

fn fall_by_trend(view: &View<'_>) -> Option<Finding> {
    let fall = view.outlook?.fall?;
    let factor = libm::exp10(fall.drop_log10.abs());
    let (which, so, asks) = if fall.readings == 1 {
        ("The latest reading is".to_owned(), "; do not start it until the test is repeated".to_owned(), Asks::Repeat)
    } else {
        let (asks, so) = after_agreed_fall(view, factor);
        (format!("The latest {} readings are", fall.readings), format!("; as they agree, the fall is real{so}"), asks)
    };
    let message = format!(
        "{which} lower by a factor of {} than the earlier ones led to expect, {} the scatter of single tests{so}.",
        three_digits(factor),
        how_far(fall.probability)
    );
    let finding = Finding::new(Code::FallSinceLast, message, "predictive test of the latest readings (Chow 1960)")
        .with("readings", fall.readings as f64)
        .with("drop_log10", fall.drop_log10)
        .with("p", fall.probability);
    Some(match asks {
        Asks::SoonerTest => finding.asking(asks),
        _ => finding.asking_before_use(asks),
    })
}

/// What is added to a factor between readings that were brought to one temperature and are shown as read.
pub(super) const fn at_one_temperature(test: &CorrectedTest) -> &'static str {
    if test.kt.is_some() { " at one temperature" } else { "" }
}
