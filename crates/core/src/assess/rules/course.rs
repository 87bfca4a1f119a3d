//! What the course of the stretch says: jumps, decline, the minimum ahead, too little to go by.

use super::fall::{LEAST_BEFORE, after_agreed_fall, at_one_temperature};
use super::reading::below_minimum;
use super::unit_slip::unit_that_fits;
use crate::assess::case::Overdue;
use crate::assess::finding::{Asks, Code, Finding};
use crate::assess::result::SinceReason;
use crate::assess::view::{View, beyond_the_scale_throughout, quoted};
use crate::record::Event;
use crate::stats::median::median;
use crate::steps;
use crate::units::{Probability, three_digits};

/// A latest reading that is so many times as high as usual, and so many times as high as any before it, asks for an explanation.
const RISE_FACTOR: f64 = 5.0;
const RISE_ABOVE_HIGHEST: f64 = 3.0;
/// So many times the minimum and less is close to it; the rule of thumb of `benches/plant`.
const CLOSE_TO_MINIMUM: f64 = 4.0;
/// A level within this much below the latest reading is the same; decades, a factor of 1.25.
const CAME_BACK: f64 = 0.1;
/// Readings before it that it is compared with, a year of quarters.
const RISEN_ABOVE: usize = 4;
/// log10 of two.
const HALVED: f64 = std::f64::consts::LOG10_2;
/// Days after which an unexplained drop of the level is no longer news.
const NEWS_DAYS: i64 = 365;

/// A latest reading that is far above all before it, and no work was written down. Open leads and a wrong range read high too, so it must
/// not hide a decline.
fn rise_since_last(view: &View<'_>) -> Option<Finding> {
    let case = view.case;
    let at = case.latest()?;
    let latest = &case.tests[at];
    if latest.event.is_some() || unit_that_fits(view, at).is_some() {
        return None;
    }
    let level = |at: usize| Some(case.tests[at].corrected?.resistance()?.log10_megohms());
    let before = case.counted().rev().filter(|other| *other < at).take(RISEN_ABOVE);
    let before: Vec<f64> = before.filter_map(level).collect();
    let highest = before.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let risen = steps::least(latest.corrected?)?.log10_megohms();
    let minimum = case.minimum.resistance.log10_megohms();
    let of_usual = || {
        let usual = median(before.clone()).filter(|_| before.len() >= LEAST_BEFORE)?;
        let is_far = risen - usual >= libm::log10(RISE_FACTOR) && risen - highest >= libm::log10(RISE_ABOVE_HIGHEST);
        let margin = before.first()? - minimum;
        let was_threatened = margin < libm::log10(view.terms.policy.doubt_margin) || before.first()? + HALVED < highest;
        is_far.then_some((risen - usual, "as usual before it", was_threatened))
    };
    // Two readings close to the minimum say that the winding is; one that is twice as high does not take that back.
    let of_two = || {
        let [last, one_before, ..] = before[..] else { return None };
        let two = last.max(one_before);
        // It read so before the two: they were low and it came back, which is another finding.
        let came_back = before.len() == RISEN_ABOVE && before[2..].iter().all(|level| risen - level <= CAME_BACK);
        let is_far = two - minimum < libm::log10(CLOSE_TO_MINIMUM) && risen - two >= HALVED && !came_back;
        is_far.then_some((risen - two, "as the two before it, close to the minimum", true))
    };
    let (step, what, was_threatened) = of_usual().or_else(of_two)?;
    let message = format!(
        "The latest reading, {} on {}, is {} times as high{} {what}, and no work was written down: open leads and a wrong range read high \
         too. Prove the leads, repeat the test{}, and write down what was done.",
        latest.as_read?,
        latest.tested_on.date,
        three_digits(libm::exp10(step)),
        at_one_temperature(latest),
        if was_threatened { " before it is started" } else { "" }
    );
    let finding = Finding::new(Code::LevelShift, message, "common practice").with("step_log10", step);
    Some(if was_threatened { finding.asking_before_use(Asks::Repeat) } else { finding.asking(Asks::SoonerTest) })
}

pub(super) fn level_shift(view: &View<'_>) -> Option<Finding> {
    if view.case.since != SinceReason::LevelShift {
        return rise_since_last(view);
    }
    let on = view.case.tests[view.case.start].tested_on.date;
    let shift = view.outlook?.shift?;
    let direction = if shift.step_log10 > 0.0 { "rose" } else { "fell" };
    let note = view.case.record(view.case.start).note.as_deref().map(quoted);
    let (noted, todo) = match note {
        Some(note) => (format!(" (its note: {note})"), "if the note tells why, write that under event in this row"),
        None => (String::new(), "find out what was done"),
    };
    let factor = libm::exp10(shift.step_log10.abs());
    // A drop that several tests agree on is a sudden fall, even though the trend starts afresh after it.
    let is_news = view.terms.as_of.signed_duration_since(on).num_days() <= NEWS_DAYS;
    let (asks, so) = if shift.step_log10 < 0.0 && is_news {
        after_agreed_fall(view, factor)
    } else {
        (Asks::Nothing, String::new())
    };
    let message = format!(
        "The level {direction} by a factor of {} at the test of {on} and no event was written down{noted}: the trend is taken from there; {todo}{so}.",
        three_digits(factor)
    );
    let finding = Finding::new(Code::LevelShift, message, "scan for one step beside a trend (Quandt 1960)")
        .with("step_log10", shift.step_log10)
        .with("t", shift.t_statistic);
    Some(match asks {
        Asks::Work => finding.asking_before_use(asks),
        _ => finding.asking(asks),
    })
}

/// Exact readings that say something of a slope; what one gives is what was believed before any.
const LEAST_EXACT: usize = 2;
/// Probability of falling from which the readings themselves, and not only what was believed before them, lead to the minimum.
const LEADS_DOWN: f64 = 0.9;

/// The minimum ahead. Work where it is likely inside the planning horizon, or very likely inside the horizons looked ahead for `shorten`
/// and not remote before; a sooner test where it is likely inside those. Two readings are no trend to judge: they ask for work only where
/// the minimum is more likely than not to come inside the horizon.
pub(super) fn reaches_minimum(view: &View<'_>) -> Option<Finding> {
    let outlook = view.outlook?;
    let policy = &view.terms.policy;
    let in_horizon = outlook.forecast.p_below_in_horizon?;
    // Below it by now: held, unless the temperature is unknown, or it may be the cable.
    if outlook.p_below_today > policy.hold_probability.as_fraction() && below_minimum(view).is_some() {
        return None;
    }
    let leads_down = outlook.summary.exact >= LEAST_EXACT
        && !view.case.on_one_day()
        && outlook.summary.p_falling.is_some_and(|p| p >= LEADS_DOWN);
    let later = outlook.p_below_in_shorten;
    let soon = if outlook.judges_a_trend(view.terms) {
        let very_likely = leads_down && later >= policy.plan_later_probability.as_fraction();
        in_horizon >= policy.plan_probability.as_fraction()
            || (very_likely && in_horizon > policy.next_test_probability.as_fraction())
    } else {
        leads_down && in_horizon > policy.hold_probability.as_fraction()
    };
    let asks = match (soon, leads_down && later >= policy.shorten_likely_probability.as_fraction()) {
        (true, _) => Asks::Work,
        (false, true) => Asks::SoonerTest,
        (false, false) => return None,
    };
    let (horizons, p, key) = if in_horizon >= policy.plan_probability.as_fraction() {
        ("the planning horizon".to_owned(), in_horizon, "plan_probability")
    } else {
        let horizons = format!("{} planning horizons", three_digits(policy.shorten_horizons));
        (horizons, later, if soon { "plan_later_probability" } else { "shorten_likely_probability" })
    };
    let when =
        outlook.forecast.reaches_minimum.as_ref().map_or_else(String::new, |dates| format!(": {}", dates.in_words()));
    let message = format!(
        "The level may reach the minimum of {} inside {horizons} of {} days ({}){when}.",
        view.case.minimum.resistance,
        policy.horizon_days,
        Probability::of_harm(p).describe()
    );
    let source = format!("policy decision.{key}; {}", view.case.minimum.rule);
    Some(
        Finding::new(Code::ReachesMinimum, message, source)
            .with("p_below_in_horizon", in_horizon)
            .with("p_below_in_shorten", later)
            .with("minimum_mohm", view.case.minimum.resistance.as_megohms())
            .asking(asks),
    )
}

/// "year", "1.13 years": what comes after "every".
fn years(count: f64) -> String {
    match three_digits(count).as_str() {
        "1" => "year".to_owned(),
        count => format!("{count} years"),
    }
}

pub(super) fn falling(view: &View<'_>) -> Option<Finding> {
    let outlook = view.outlook.filter(|outlook| outlook.judges_a_trend(view.terms))?;
    let p = outlook.summary.p_falling?;
    if p <= view.terms.policy.falling_probability.as_fraction() {
        return None;
    }
    let in_sight = outlook.p_below_in_shorten >= view.terms.policy.shorten_probability.as_fraction();
    let halving = outlook.summary.halving_years?;
    let (slope, low, high) =
        (outlook.summary.slope_log10_per_year?, outlook.summary.slope_low?, outlook.summary.slope_high?);
    let halves_in = |slope: f64| -std::f64::consts::LOG10_2 / slope;
    let range = if high < 0.0 {
        format!(
            "anything between {} and {} years fits the tests",
            three_digits(halves_in(low)),
            three_digits(halves_in(high))
        )
    } else {
        format!("in {} years at the fastest, and it may not fall at all", three_digits(halves_in(low)))
    };
    let message = format!(
        "The level falls by more than the scatter of single tests: it halves about every {}; {range}.",
        years(halving)
    );
    Some(
        Finding::new(Code::Falling, message, "policy decision.falling_probability")
            .with("p_falling", p)
            .with("halving_years", halving)
            .with("slope_log10_per_year", slope)
            .with("slope_low", low)
            .with("slope_high", high)
            .asking(if in_sight { Asks::SoonerTest } else { Asks::Nothing }),
    )
}

pub(super) fn after_event(view: &View<'_>) -> Option<Finding> {
    let (latest, record) = view.latest()?;
    let event = record.event.filter(|event| !matches!(event, Event::Flooded | Event::Drying))?;
    view.before_latest()?;
    let message = format!(
        "The winding was {} before the test of {}: earlier readings no longer apply.",
        event.word(),
        latest.tested_on.date
    );
    Some(Finding::new(Code::AfterEvent, message, "an event starts the stretch afresh").with("event", event.word()))
}

pub(super) fn few_readings(view: &View<'_>) -> Option<Finding> {
    let needed = view.terms.policy.trend_exact_readings as usize;
    view.case.latest()?;
    let (tests, exact) = view.outlook.map_or((0, 0), |outlook| (outlook.summary.tests, outlook.summary.exact));
    let days = view.outlook.map_or(0, |outlook| outlook.exact_days.min(exact));
    if exact >= needed && view.case.on_one_day() {
        let message = format!("All {tests} readings of the stretch were taken on one day, so no trend can be fitted.");
        let finding = Finding::new(Code::FewReadings, message, "a trend needs time").with("exact", exact as f64);
        return Some(finding.asking(Asks::Readings));
    }
    if days >= needed || beyond_the_scale_throughout(view) {
        return None;
    }
    if exact >= needed {
        let message = format!(
            "The {exact} exact readings of the stretch were taken on {days} days; a trend needs those of at least {needed} days."
        );
        let finding = Finding::new(Code::FewReadings, message, "policy decision.trend_exact_readings");
        return Some(finding.asking(Asks::Readings).with("exact", exact as f64).with("days", days as f64));
    }
    let bounds = tests - exact;
    let has = match (exact, bounds) {
        (0, 0) => "No reading of the stretch is exact".to_owned(),
        (0, 1) => "The only reading of the stretch is at the end of the tester's scale and is not exact".to_owned(),
        (0, _) => {
            format!("All {bounds} readings of the stretch are at the end of the tester's scale and none is exact")
        }
        (1, 0) => "The stretch has 1 exact reading".to_owned(),
        (_, 0) => format!("The stretch has {exact} exact readings"),
        _ => format!("Of the {tests} readings of the stretch {exact} {} exact", if exact == 1 { "is" } else { "are" }),
    };
    let message = format!("{has}; a trend needs at least {needed} exact ones.");
    Some(
        Finding::new(Code::FewReadings, message, "policy decision.trend_exact_readings")
            .asking(Asks::Readings)
            .with("exact", exact as f64)
            .with("bounds", bounds as f64),
    )
}

pub(super) fn beyond_scale(view: &View<'_>) -> Option<Finding> {
    if !beyond_the_scale_throughout(view) {
        return None;
    }
    let (summary, limit) = (&view.outlook?.summary, view.latest()?.0.corrected?.resistance()?);
    let times = limit.as_megohms() / view.case.minimum.resistance.as_megohms();
    let message = format!(
        "Beyond the scale throughout: all {} tests since {} were above the end of the tester's scale, the latest above {limit}, {} times the minimum.",
        summary.tests,
        summary.since,
        three_digits(times)
    );
    Some(
        Finding::new(Code::BeyondScale, message, "bounds are kept as bounds; policy temperature.doubt_margin")
            .with("tests", summary.tests as f64)
            .with("limit_ref_mohm", limit.as_megohms()),
    )
}

pub(super) fn overdue(view: &View<'_>) -> Option<Finding> {
    let Overdue { last, age_days: age, interval_days: interval } = view.case.overdue(view.terms)?;
    let message = format!("The last test, on {last}, is {age} days old; the usual interval is {interval} days.");
    Some(
        Finding::new(Code::Overdue, message, "register interval_days; policy decision.overdue_factor")
            .with("age_days", f64::from(age))
            .with("interval_days", f64::from(interval)),
    )
}
