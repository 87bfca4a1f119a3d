//! From a judgement to the picture: what is shown, and how far the axes reach.

use super::super::axes::{date, day};
use super::super::flags::{self, Flag};
use super::super::marks::Emphasis;
use super::super::readings::Reading;
use super::super::surround::Surround;
use super::super::words::tag;
use super::super::{ChartContext, MinimumLine};
use super::{Crossing, LevelAt, TrendPicture, words};
use chrono::NaiveDate;
use groundwall::assess::{CorrectedTest, Judgement, Level};

const YEAR: f64 = 365.25;

/// The future is drawn for at least this long where there is a forecast, days.
const LEAST_AHEAD: f64 = YEAR;

/// And never for longer than this, nor longer than three times the past.
const MOST_AHEAD: f64 = 12.0 * YEAR;

/// A crossing later than this is told in words, days; the picture keeps to the past and what comes soon.
const FAR: f64 = 4.5 * YEAR;

/// Least and most that is drawn ahead of a far crossing, days.
const AHEAD_OF_FAR: (f64, f64) = (1.5 * YEAR, 6.0 * YEAR);

/// Least share of the past that is drawn ahead where there is a forecast: room for its dates.
const AHEAD_SHARE: f64 = 0.26;

/// Points along the level on either side of the as-of date.
const POINTS: u32 = 56;

/// Least span of the resistance axis, decades.
const LEAST_SPAN: f64 = 0.8;

/// How far the band may widen the resistance axis beyond readings, level and minimum, decades.
const BAND_ROOM: f64 = 0.35;

/// Difference between two resistances that can be seen, decades.
const SEEN: f64 = 0.006;

pub(super) fn picture(
    judgement: &Judgement,
    context: &ChartContext,
    level_at: &dyn Fn(NaiveDate) -> Option<Level>,
) -> TrendPicture {
    let assessment = &judgement.assessment;
    let as_of = day(judgement.as_of);
    let mut readings: Vec<Reading> = judgement.tests.iter().flat_map(readings_of).collect();
    if judgement.doubted.is_some()
        && let Some(latest) = readings.iter_mut().rfind(|reading| is_latest(judgement, reading))
    {
        latest.standing = Emphasis::Doubtful;
    }
    if let Some(void) = assessment.void_tested_on.map(day)
        && let Some(last) = readings.iter_mut().rfind(|reading| reading.standing == Emphasis::LeadsNotProved)
        && (last.day.floor() - void).abs() < 0.5
    {
        last.standing = Emphasis::Void;
    }
    let flags = flags::of(judgement);
    let days = days(judgement, as_of, &readings, &flags, level_at(judgement.as_of).is_some());
    readings.retain(|reading| reading.day <= days.1);
    let minimum = MinimumLine::of(assessment);
    let since = assessment.trend.as_ref().map_or(as_of, |trend| day(trend.since)).max(days.0);
    let level = sample(since, as_of, level_at);
    let forecast = if level_at(judgement.as_of).is_some() { sample(as_of, days.1, level_at) } else { Vec::new() };
    // A date that one doubtful reading makes is not drawn beside a line without it.
    let dates = assessment.forecast.reaches_minimum.filter(|_| minimum.is_some() && judgement.doubted.is_none());
    let reached = assessment.forecast.below_since.filter(|_| assessment.forecast.is_reached(judgement.as_of)).map(day);
    let crossing = dates.map(|dates| match reached {
        Some(by) => Crossing { earliest: by, median: None, latest: Some(by) },
        None => {
            Crossing { earliest: day(dates.earliest), median: dates.median.map(day), latest: dates.latest.map(day) }
        }
    });
    let crossing = crossing.filter(|crossing| crossing.earliest >= days.0);
    // Room below the minimum for its hatching, and for the dates of the crossing.
    let room = match crossing {
        Some(crossing) if crossing.earliest > days.1 => 0.15,
        Some(_) => 0.21,
        None => 0.08,
    };
    let span = span(&readings, &level, &forecast, minimum.as_ref(), room);
    let mut picture = TrendPicture {
        words: Surround {
            tag: tag(assessment.action),
            heading: words::heading(judgement, context),
            title: words::title(judgement),
            subtitle: words::subtitle(judgement),
            axis: words::axis(judgement),
            legend: Vec::new(),
            footer: words::footer(judgement, context),
        },
        readings,
        level,
        forecast,
        minimum,
        crossing,
        flags,
        as_of,
        days,
        span,
    };
    picture.words.legend = words::legend(&picture, judgement);
    picture
}

/// Whether a reading is the latest that counts.
fn is_latest(judgement: &Judgement, reading: &Reading) -> bool {
    let latest = judgement.assessment.latest.as_ref();
    latest.is_some_and(|latest| (day(latest.tested_on) - reading.day.floor()).abs() < 0.5)
        && matches!(reading.standing, Emphasis::Counts | Emphasis::Uncorrected)
}

/// What is drawn for one test: its reading, and the value as read where that can be distinguished.
fn readings_of(test: &CorrectedTest) -> impl Iterator<Item = Reading> + use<> {
    let main = Reading::of(test);
    let differs = |plain: &Reading| {
        let values = (plain.value, main.and_then(|main| main.value));
        matches!(values, (Some(a), Some(b)) if (a - b).abs() > SEEN)
    };
    Reading::as_read(test).filter(differs).into_iter().chain(main)
}

/// First and last day of the picture.
fn days(judgement: &Judgement, as_of: f64, readings: &[Reading], flags: &[Flag], forecast: bool) -> (f64, f64) {
    let past = readings.iter().map(|r| r.day).chain(flags.iter().map(|f| f.day)).filter(|day| *day <= as_of);
    let first = past.fold(f64::INFINITY, f64::min);
    let first = if first.is_finite() { first } else { as_of - YEAR };
    let past = (as_of - first).max(30.0);
    let cap = (3.0 * past).clamp(LEAST_AHEAD, MOST_AHEAD);
    let ahead = match judgement.assessment.forecast.reaches_minimum {
        Some(dates) if forecast => {
            let earliest = day(dates.earliest) - as_of;
            let far = dates.latest.map(day).or(dates.median.map(|median| day(median) + 2.0 * YEAR));
            let far = far.map_or(earliest + 2.0 * YEAR, |far| far - as_of);
            if earliest > FAR {
                (past / 2.0).clamp(AHEAD_OF_FAR.0, AHEAD_OF_FAR.1)
            } else if dates.latest.is_none() {
                // An end that may never come is not worth more room than the past has.
                (far * 1.06).min(past.max(earliest + 1.5 * YEAR)).clamp(LEAST_AHEAD, cap)
            } else {
                (far * 1.06).clamp(LEAST_AHEAD, cap)
            }
        }
        _ if forecast => (0.35 * past).clamp(LEAST_AHEAD, 4.0 * YEAR),
        _ => 0.08 * past,
    };
    let after = readings.iter().map(|r| r.day - as_of).fold(0.0, f64::max);
    let ahead = ahead.max((after * 1.04).min(cap));
    let ahead = if forecast { ahead.max((AHEAD_SHARE * past).min(cap)) } else { ahead };
    // A single reading stands away from the axis.
    let margin = if readings.len() > 3 { 0.025 } else { 0.09 } * (past + ahead);
    (first - margin, as_of + ahead.max(margin))
}

/// The level on days spread evenly between two.
fn sample(from: f64, to: f64, level_at: &dyn Fn(NaiveDate) -> Option<Level>) -> Vec<LevelAt> {
    let mut levels: Vec<LevelAt> = Vec::new();
    for step in 0..=POINTS {
        let when = date((from + (to - from) * f64::from(step) / f64::from(POINTS)).round());
        if to < from || levels.last().is_some_and(|last| last.day >= day(when)) {
            continue;
        }
        if let Some(level) = level_at(when) {
            levels.push(LevelAt {
                day: day(when),
                low: level.low.log10_megohms(),
                middle: level.median.log10_megohms(),
                high: level.high.log10_megohms(),
            });
        }
    }
    levels
}

/// Lower and upper end of the resistance axis.
fn span(
    readings: &[Reading],
    level: &[LevelAt],
    forecast: &[LevelAt],
    minimum: Option<&MinimumLine>,
    room: f64,
) -> (f64, f64) {
    let floor = minimum.map_or(f64::NEG_INFINITY, |minimum| minimum.value - 0.3);
    let fixed = readings.iter().filter_map(|r| r.value).chain(minimum.map(|m| m.value));
    let (mut low, mut high) = ends(fixed.chain(level.iter().map(|l| l.middle)));
    if !low.is_finite() {
        (low, high) = (0.0, 3.0);
    }
    let (ahead_low, ahead_high) = ends(forecast.iter().map(|l| l.middle.max(floor)));
    (low, high) = (low.min(ahead_low.max(low - 1.0)), high.max(ahead_high.min(high + 1.0)));
    let (band_low, band_high) = ends(level.iter().chain(forecast).flat_map(|l| [l.low.max(floor), l.high]));
    (low, high) = (low.min(band_low.max(low - BAND_ROOM)), high.max(band_high.min(high + BAND_ROOM)));
    let short = (LEAST_SPAN - (high - low)).max(0.0) / 2.0;
    (low, high) = (low - short, high + short);
    let pad = 0.07 * (high - low);
    (low, high) = (low - pad, high + pad);
    if let Some(minimum) = minimum {
        low = low.min((minimum.value - room * high) / (1.0 - room));
    }
    (low, high)
}

fn ends(values: impl Iterator<Item = f64>) -> (f64, f64) {
    values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(value), high.max(value)))
}
