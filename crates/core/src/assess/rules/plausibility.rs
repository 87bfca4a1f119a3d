//! Whether what was written down can have been read: temperatures that nothing bears out, readings that fall while the
//! winding charges, values and rows that were copied, scales that change.
//!
//! The rows are kept: a finding says what is odd. Where it is the latest test that is in doubt, the finding asks for a repeat.

use super::doubt::{Doubt, worst_margin};
use super::since_event::{LEAST_OTHERS, level, since_event};
use crate::assess::finding::{Asks, Code, Finding};
use crate::assess::view::View;
use crate::record::Event;
use crate::resistance::{Measured, TimedReading};
use crate::stats::median::median;
use crate::units::{Temperature, three_digits};

/// A winding colder than the air by more than this was not at rest in it, or a number is wrong, K.
const COLDER_THAN_AIR_K: f64 = 10.0;
/// A temperature this far outside those of all other tests is a jump, K.
const JUMP_K: f64 = 10.0;
/// A corrected reading so far from the others contradicts them, decades: a factor of 2.
const CONTRADICTS: f64 = 0.3;
/// A corrected reading so close to the others agrees with them, decades: a factor of 1.6, the scatter of good tests.
const AGREES: f64 = 0.2;
/// A later reading lower than an earlier one by more than this factor is not an absorption.
const FALL_FACTOR: f64 = 1.2;
/// Up to this time the readings of sound and of damp windings alike rise, s.
const RISES_UNTIL_S: f64 = 60.0;
/// So many equal readings in a row are no chance.
const EQUAL_READINGS: usize = 4;
/// Scales that differ by less than this share are the same.
const SAME_SCALE_SHARE: f64 = 0.01;

const SOURCE: &str = "common practice";

pub(super) fn temperature_implausible(view: &View<'_>) -> Option<Finding> {
    let rules = [air_too_hot, fahrenheit_as_celsius, colder_than_air, temperature_contradicted];
    rules.into_iter().find_map(|rule| rule(view))
}

/// The air about a motor is cooler than this, °C; common practice.
const HOTTEST_AIR_C: f64 = 55.0;

/// Air that is too hot to be air: probably in °F, and then the winding too.
fn air_too_hot(view: &View<'_>) -> Option<Finding> {
    let (latest, record) = view.latest()?;
    let air = record.air_temp.filter(|air| air.as_celsius() >= HOTTEST_AIR_C)?;
    let fahrenheit = Temperature::from_fahrenheit(air.as_celsius()).ok()?;
    let message = format!(
        "On {} air_temp is recorded as {air}, too hot for ambient air; in °F it would be {fahrenheit}, and the \
         temperature of the winding may be in °F too. Correct the headers or read the temperatures again, and do not start it on this answer.",
        latest.tested_on.date
    );
    let finding = Finding::new(Code::TemperatureImplausible, message, SOURCE).with("air_temp_c", air.as_celsius());
    Some(finding.asking_before_use(Asks::Repeat))
}

/// Rows with both temperatures without which nothing is said of the column, unless the latest reading would not pass in °F.
const LEAST_ROWS: usize = 3;
/// A standing winding is warmer than the air by less than this, K.
const WARMER_THAN_AIR_K: f64 = 30.0;
/// So close to 1.8 × air + 32 a temperature is one in °F, K.
const NEAR_FAHRENHEIT_K: f64 = 8.0;

/// Whether a winding temperature beside that of the air looks like one in °F that was taken for °C: far above the air, or near 1.8 × air
/// + 32, and read as °F about as warm as the air. Common practice, for machines that stand.
///
/// # Examples
///
/// ```
/// use groundwall::{assess::looks_like_fahrenheit, units::Temperature};
/// let air = Temperature::from_celsius(20.0)?;
/// assert!(looks_like_fahrenheit(Temperature::from_celsius(68.0)?, air));
/// assert!(!looks_like_fahrenheit(Temperature::from_celsius(24.0)?, air));
/// # Ok::<(), groundwall::units::OutOfRange>(())
/// ```
#[must_use]
pub fn looks_like_fahrenheit(winding: Temperature, air: Temperature) -> bool {
    let (winding, air) = (winding.as_celsius(), air.as_celsius());
    let far = winding - air >= WARMER_THAN_AIR_K || (winding - (1.8 * air + 32.0)).abs() <= NEAR_FAHRENHEIT_K;
    far && (winding - 32.0) / 1.8 >= air - COLDER_THAN_AIR_K
}

/// Rows, and kelvins between the coldest and the warmest air in them, without which nothing is said of a machine that is tested hot.
const LEAST_HOT_ROWS: usize = 6;
const LEAST_AIR_SPAN_K: f64 = 10.0;
/// Kelvins that a winding at rest, written in °F, warms by for each kelvin of the air are 1.8; with fewer than this it does not follow the
/// air.
const FOLLOWS_THE_AIR: f64 = 0.5;

/// Whether a note says that the winding was warm from service.
fn says_hot(note: &str) -> bool {
    let words: Vec<String> =
        note.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).map(str::to_lowercase).collect();
    let is_hot = |at: &usize| matches!(words[*at].as_str(), "hot" | "warm");
    let said = |at: Option<usize>, others: &[&str]| {
        at.and_then(|at| words.get(at)).is_some_and(|word| others.contains(&word.as_str()))
    };
    let of_something_else = ["day", "weather", "air", "room", "summer", "hall", "spell"];
    (0..words.len()).filter(is_hot).any(|at| {
        !said(at.checked_sub(1), &["not", "no", "never", "longer", "isn", "wasn", "t"])
            && !said(Some(at + 1), &of_something_else)
    })
}

/// Whether a winding is warm whatever the air is, as one tested hot from service is; temperatures in °F of a winding at rest rise by 1.8 a
/// kelvin of the air.
fn is_tested_hot(pairs: &[(Temperature, Temperature)]) -> bool {
    let count = pairs.len() as f64;
    let celsius = || pairs.iter().map(|(winding, air)| (winding.as_celsius(), air.as_celsius()));
    let (winding, air) =
        celsius().fold((0.0, 0.0), |sum, (winding, air)| (sum.0 + winding / count, sum.1 + air / count));
    let (square, product) =
        celsius().fold((0.0, 0.0), |sum, (w, a)| (sum.0 + (a - air).powi(2), sum.1 + (a - air) * (w - winding)));
    let (coldest, warmest) =
        celsius().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), (_, air)| (low.min(air), high.max(air)));
    pairs.len() >= LEAST_HOT_ROWS && warmest - coldest >= LEAST_AIR_SPAN_K && product < FOLLOWS_THE_AIR * square
}

/// A column of °F under a header of °C: in most rows the winding is far warmer than the air, or where the air would be in °F, and
/// read as °F it was about as warm as the air.
fn fahrenheit_as_celsius(view: &View<'_>) -> Option<Finding> {
    let (latest, record) = view.latest()?;
    let case = view.case;
    let until = case.latest()?;
    let pairs: Vec<(Temperature, Temperature)> = (0..=until)
        .filter_map(|at| {
            let record = case.record(at);
            let said_hot = record.note.as_deref().is_some_and(says_hot);
            // A winding that is being dried out is heated.
            let heated = matches!(record.event, Some(Event::Flooded | Event::Drying));
            Some((record.winding_temp.filter(|_| !heated)?, record.air_temp.filter(|_| !said_hot)?))
        })
        .collect();
    let count = pairs.iter().filter(|(winding, air)| looks_like_fahrenheit(*winding, *air)).count();
    let written = record.winding_temp?;
    let fahrenheit = Temperature::from_fahrenheit(written.as_celsius()).ok()?;
    let correction = case.law.correction(fahrenheit, view.terms.policy.reference_temp);
    let fails = worst_margin(view, correction.factor()).is_some_and(|margin| margin <= 1.0);
    let is_hot = record.note.as_deref().is_some_and(says_hot);
    let alone = fails && !is_hot && record.air_temp.is_some_and(|air| looks_like_fahrenheit(written, air));
    let is_usual = pairs.len() >= LEAST_ROWS && 2 * count > pairs.len();
    if !(alone || is_usual) || is_tested_hot(&pairs) {
        return None;
    }
    let message = format!(
        "In {count} of {} tests the winding is recorded as 30 K and more above the air, as if a °F column \
         had been labelled °C: {written} on {} would then be {fahrenheit}; correct the header or read the temperature again. If the machine was tested hot from service, write “hot” into \
         the note of each such test.",
        pairs.len(),
        latest.tested_on.date
    );
    let finding = Finding::new(Code::TemperatureImplausible, message, SOURCE)
        .with("rows", count as f64)
        .with("winding_temp_c", written.as_celsius());
    Some(if fails { finding.asking_before_use(Asks::Repeat) } else { finding.asking(Asks::Repeat) })
}

fn colder_than_air(view: &View<'_>) -> Option<Finding> {
    let (latest, record) = view.latest()?;
    let (winding, air) = (record.winding_temp?, record.air_temp?);
    let colder = (air - winding).as_kelvins();
    if colder <= COLDER_THAN_AIR_K {
        return None;
    }
    let margin = worst_margin(view, view.case.worst_likely_factor(view.terms.policy.reference_temp));
    let doubt = Doubt::of(margin, view.terms.policy.doubt_margin);
    let message = format!(
        "On {} the winding is said to have been at {winding}, {} K colder than the air at {air}: one of the two is wrong, or the machine had just come in from the cold; {}.",
        latest.tested_on.date,
        three_digits(colder),
        doubt.in_words
    );
    Some(doubt.put_into(Finding::new(Code::TemperatureImplausible, message, SOURCE).with("colder_than_air_k", colder)))
}

/// A temperature unlike all others, with which the reading contradicts the others and without which it agrees.
fn temperature_contradicted(view: &View<'_>) -> Option<Finding> {
    let case = view.case;
    let tests = since_event(case)?;
    let latest = case.latest()?;
    let mut known: Vec<(usize, f64)> = tests
        .iter()
        .filter(|at| level(case, **at).is_some())
        .filter_map(|at| Some((*at, case.tests[*at].winding_temp?.as_celsius())))
        .collect();
    // A row written twice bears nothing out.
    known.dedup_by_key(|(at, celsius)| (case.tests[*at].tested_on.date, celsius.to_bits()));
    let candidates = out_of_line(&known);
    let (at, other) =
        candidates.into_iter().flatten().find_map(|at| Some((at, likelier_temperature(view, &tests, at)?)))?;
    let test = &case.tests[at];
    let written = test.winding_temp?;
    let (last, day) = (&case.tests[latest], test.tested_on.date);
    let is_latest = last.tested_on.date == day && last.winding_temp == test.winding_temp;
    let what_to_do = if is_latest { "read the temperature again" } else { "look at the test sheet" };
    let message = format!(
        "On {} the winding is said to have been at {written}, unlike at any other test, and {} does not fit the others at that; {other}: {what_to_do}.",
        test.tested_on.date, test.as_read?
    );
    let finding =
        Finding::new(Code::TemperatureImplausible, message, SOURCE).with("winding_temp_c", written.as_celsius());
    Some(if is_latest { finding.asking_before_use(Asks::Repeat) } else { finding })
}

/// The tests whose temperature lies far outside those of all others, the later one first: the warmest and the coldest
/// are the only ones that can.
fn out_of_line(known: &[(usize, f64)]) -> [Option<usize>; 2] {
    let outermost = |side: f64| {
        let by_side = |a: &&(usize, f64), b: &&(usize, f64)| (side * a.1).total_cmp(&(side * b.1));
        let (at, celsius) = *known.iter().max_by(by_side)?;
        let others = known.iter().filter(|other| other.0 != at);
        let next = others.fold(f64::NEG_INFINITY, |next, other| next.max(side * other.1));
        (side * celsius > next + JUMP_K).then_some(at)
    };
    let mut found = [outermost(1.0), outermost(-1.0)];
    found.sort_unstable_by(|a, b| b.cmp(a));
    found
}

/// The temperature that the other tests bear out better than the one written down, which is out of line, in words.
fn likelier_temperature(view: &View<'_>, tests: &[usize], at: usize) -> Option<String> {
    let case = view.case;
    let written = case.tests[at].winding_temp?;
    let Measured::Exact(as_read) = case.tests[at].as_read? else { return None };
    let others: Vec<(f64, f64)> = tests
        .iter()
        .filter(|other| **other != at)
        .filter_map(|other| Some((case.tests[*other].winding_temp?.as_celsius(), level(case, *other)?)))
        .collect();
    if others.len() < LEAST_OTHERS {
        return None;
    }
    let celsius = written.as_celsius();
    let (coldest, warmest) =
        others.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), (t, _)| (low.min(*t), high.max(*t)));
    let middle = median(others.iter().map(|(_, level)| *level).collect())?;
    let off = |t: Temperature| {
        let correction = case.law.correction(t, view.terms.policy.reference_temp);
        (as_read.log10_megohms() + correction.log10_factor - middle).abs()
    };
    if off(written) < CONTRADICTS {
        return None;
    }
    let fits = |t: Temperature| off(t) <= AGREES.min(off(written) / 2.0);
    let usual = Temperature::from_celsius(median(others.iter().map(|(t, _)| *t).collect())?).ok()?;
    let fahrenheit = Temperature::from_fahrenheit(celsius)
        .ok()
        .filter(|t| (coldest - JUMP_K..=warmest + JUMP_K).contains(&t.as_celsius()) && fits(*t));
    if let Some(t) = fahrenheit {
        return Some(format!("{} °F, which is {t}, would fit", three_digits(celsius)));
    }
    fits(usual).then(|| format!("{usual}, as usual, would fit"))
}

pub(super) fn timed_readings_fall(view: &View<'_>) -> Option<Finding> {
    let (latest, record) = view.latest()?;
    let exact = |reading: &TimedReading| match reading.value {
        Measured::Exact(r) if reading.elapsed.as_seconds() <= RISES_UNTIL_S => Some((reading.elapsed, r)),
        _ => None,
    };
    let readings: Vec<_> = record.readings.iter().filter_map(exact).collect();
    let fall = readings.windows(2).find(|pair| pair[0].1.as_megohms() > FALL_FACTOR * pair[1].1.as_megohms())?;
    let ((early, high), (late, low)) = (fall[0], fall[1]);
    let message = format!(
        "On {} the reading after {late}, {low}, was lower than that after {early}, {high}: while a winding charges its resistance rises, so the two may be swapped or the test was disturbed.",
        latest.tested_on.date
    );
    Some(
        Finding::new(Code::TimedReadingsFall, message, "IEEE Std 43-2000 cl. 5.4: the current dies away with time")
            .with("ratio", low.as_megohms() / high.as_megohms())
            .asking_before_use(Asks::Repeat),
    )
}

pub(super) fn value_repeated(view: &View<'_>) -> Option<Finding> {
    let case = view.case;
    let tests = since_event(case)?;
    let latest = &case.tests[*tests.last()?];
    let value = latest.as_read.filter(|value| matches!(value, Measured::Exact(_)))?;
    let same = |at: &&usize| case.tests[**at].as_read == Some(value);
    let mut run: Vec<usize> = tests.iter().rev().take_while(same).copied().collect();
    run.dedup_by_key(|at| case.tests[*at].tested_on.date);
    if run.len() < EQUAL_READINGS {
        return None;
    }
    let first = &case.tests[*run.last()?];
    let same_temperature =
        latest.winding_temp.is_some() && run.iter().all(|at| case.tests[*at].winding_temp == latest.winding_temp);
    let (also, so) = match latest.winding_temp.filter(|_| same_temperature) {
        Some(t) => (format!(" at {t}"), "the rows look copied: test again"),
        None => (String::new(), "values that are measured differ a little; ask whether they were"),
    };
    let message =
        format!("The latest {} tests, since {}, all read {value}{also}: {so}.", run.len(), first.tested_on.date);
    let finding = Finding::new(Code::ValueRepeated, message, SOURCE).with("tests", run.len() as f64);
    Some(if same_temperature { finding.asking(Asks::Repeat) } else { finding })
}

pub(super) fn full_scale_changed(view: &View<'_>) -> Option<Finding> {
    let ((latest, now), (before, then)) = (view.latest()?, view.before_latest()?);
    let (new, old) = (now.full_scale?, then.full_scale?);
    let another = |(new, old): (&String, &String)| !new.trim().eq_ignore_ascii_case(old.trim());
    // Another tester is said by another finding, and has a scale of its own.
    if now.instrument.as_ref().zip(then.instrument.as_ref()).is_some_and(another)
        || (new.as_megohms() / old.as_megohms() - 1.0).abs() <= SAME_SCALE_SHARE
    {
        return None;
    }
    let message = format!(
        "The scale ended at {new} on {} and at {old} on {}: what is over range on one may be a number on the other.",
        latest.tested_on.date, before.tested_on.date
    );
    Some(
        Finding::new(Code::FullScaleChanged, message, SOURCE)
            .with("full_scale_mohm", new.as_megohms())
            .with("previous_full_scale_mohm", old.as_megohms()),
    )
}

pub(super) fn copied_rows(view: &View<'_>) -> Option<Finding> {
    let copied = view.copied?;
    let (latest, _) = view.latest()?;
    let earlier = match copied.days - 1 {
        0 => String::new(),
        1 => format!(", as on {}", copied.since),
        days => format!(", as on {days} earlier days since {}", copied.since),
    };
    let message = format!(
        "The test of {} has exactly the same readings and temperatures as {} on that day{earlier}: one of the two was probably copied.",
        latest.tested_on.date, copied.winding
    );
    Some(
        Finding::new(Code::CopiedRows, message, SOURCE)
            .with("other_winding", copied.winding.as_str())
            .with("days", copied.days as f64)
            .asking_before_use(Asks::Repeat),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn of_a_long_series_two_temperatures_at_most_are_looked_at() {
        let mut known: Vec<(usize, f64)> = (0..10_000).map(|at| (at, 20.0 + (at % 17) as f64)).collect();
        assert_eq!(out_of_line(&known), [None, None]);
        known[40].1 = 36.0 + JUMP_K + 1.0;
        assert_eq!(out_of_line(&known), [Some(40), None]);
        known[7000].1 = 20.0 - JUMP_K - 1.0;
        assert_eq!(out_of_line(&known), [Some(7000), Some(40)]);
        // Two alike are like each other.
        known[41].1 = known[40].1;
        assert_eq!(out_of_line(&known), [Some(7000), None]);
        assert_eq!(out_of_line(&[]), [None, None]);
    }
}
