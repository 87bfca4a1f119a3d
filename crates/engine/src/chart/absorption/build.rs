//! From the rows of a series to the picture.

use super::super::ChartContext;
use super::super::font::Face;
use super::super::legend::{Entry, Sample};
use super::super::marks::{BoundMark, Emphasis};
use super::super::readings::bound_mark;
use super::super::surround::Surround;
use super::super::theme;
use super::super::words::{self, NAME_WIDTH, isolate, tag, tests};
use super::{AbsorptionPicture, Curve, Timed};
use crate::legible::clean;
use groundwall::absorption::{
    AbsorptionCurve, Ratio, absorption_curve, absorption_ratio, polarization_index, ten_minutes,
};
use groundwall::assess::{Code, CorrectedTest, Judgement, LeftOut};
use groundwall::record::TestRecord;
use groundwall::resistance::{Bound, TimedReading};
use groundwall::units::{Elapsed, three_digits};

/// Points along a fitted law.
const POINTS: u32 = 48;

/// Least span of the resistance axis, decades.
const LEAST_SPAN: f64 = 0.5;

/// A test with what the judgement made of it.
type Made<'a> = (&'a CorrectedTest, &'a TestRecord);

pub(super) fn picture(judgement: &Judgement, rows: &[TestRecord], context: &ChartContext) -> Option<AbsorptionPicture> {
    let long = |(_, row): &Made<'_>| row.readings().last().is_some_and(|last| last.elapsed >= ten_minutes());
    let left_out = |test: &CorrectedTest| {
        matches!(test.left_out, Some(LeftOut::LeadCheckFailed | LeftOut::AfterAsOf | LeftOut::KeptOut(_)))
    };
    let (out, drawn): (Vec<Made<'_>>, Vec<Made<'_>>) =
        judgement.tests.iter().zip(rows).filter(long).partition(|(test, _)| left_out(test));
    let latest = drawn.last()?;
    let curves: Vec<Curve> = drawn.iter().map(|(test, row)| curve(test, row)).collect();
    let times = ends(curves.iter().flat_map(|curve| curve.readings.iter().map(|reading| reading.time)))?;
    let law = absorption_curve(latest.1.readings());
    let uncorrected = drawn.iter().filter(|(test, _)| test.kt.is_none()).count();
    let mut picture = AbsorptionPicture {
        words: Surround {
            tag: tag(judgement.assessment.action),
            heading: words::heading(&judgement.assessment.name(), judgement, context),
            title: title(judgement, &drawn),
            subtitle: subtitle(judgement, law.as_ref()),
            axis: format!(
                "Insulation resistance, corrected to {}, against the time since the voltage was applied",
                judgement.reference
            ),
            legend: Vec::new(),
            footer: footer(judgement, context),
        },
        times,
        span: span(&curves),
        curves,
    };
    picture.words.legend = legend(&picture, out.len(), uncorrected);
    Some(picture)
}

fn curve(test: &CorrectedTest, row: &TestRecord) -> Curve {
    let factor = test.kt.unwrap_or(1.0);
    let timed = |reading: &TimedReading| {
        let (value, says) = bound_mark(reading.value.scaled(factor));
        Timed { time: reading.elapsed.as_seconds().log10(), value, says }
    };
    let readings: Vec<Timed> = row.readings().iter().map(timed).collect();
    let law = absorption_curve(row.readings()).map(|law| along(&law, &readings, factor)).unwrap_or_default();
    Curve {
        date: row.tested_on().date.format("%-d %b %Y").to_string(),
        pi: in_column(polarization_index(row.readings())),
        dar: in_column(absorption_ratio(row.readings())),
        readings,
        law,
    }
}

/// The law on times spread evenly between the first and the last exact reading; it is not drawn beyond them.
fn along(law: &AbsorptionCurve, readings: &[Timed], factor: f64) -> Vec<(f64, f64)> {
    let exact = readings.iter().filter(|reading| reading.says == BoundMark::Exact).map(|reading| reading.time);
    let Some((first, last)) = ends(exact) else { return Vec::new() };
    let point = |step: u32| {
        let time = first + (last - first) * f64::from(step) / f64::from(POINTS);
        let at = Elapsed::from_seconds(10f64.powf(time).clamp(1.0, 7200.0)).ok()?;
        Some((time, law.resistance_at(at).scaled(factor).log10_megohms()))
    };
    (0..=POINTS).filter_map(point).collect()
}

/// A ratio in words.
fn in_words(ratio: Option<Ratio>) -> String {
    signed(ratio, three_digits)
}

/// A ratio in a column of others: with the same number of decimals.
fn in_column(ratio: Option<Ratio>) -> String {
    signed(ratio, |value| if value < 10.0 { format!("{value:.2}") } else { three_digits(value) })
}

/// Bounds keep their sign.
fn signed(ratio: Option<Ratio>, number: impl Fn(f64) -> String) -> String {
    let Some(ratio) = ratio else { return "–".to_owned() };
    let value = number(ratio.value);
    match ratio.bound {
        Bound::Exact => value,
        Bound::Above => format!("> {value}"),
        Bound::Below => format!("< {value}"),
    }
}

/// The latest ratios and the first ones.
fn title(judgement: &Judgement, drawn: &[Made<'_>]) -> String {
    let name = isolate(&Face::strong(theme::TITLE).fit(&clean(&judgement.assessment.name()), NAME_WIDTH));
    let named = |what: &str, ratio: Option<Ratio>| ratio.map(|_| format!("{what} {}", in_words(ratio)));
    let (first, last) = match drawn {
        [] => return name,
        [only] => (None, only),
        [first, .., last] => (Some(first), last),
    };
    let ratios = [("PI", polarization_index(last.1.readings())), ("DAR", absorption_ratio(last.1.readings()))];
    let ratios: Vec<String> = ratios.into_iter().filter_map(|(what, ratio)| named(what, ratio)).collect();
    let on = last.1.tested_on().date.format("%-d %b %Y");
    let now = if ratios.is_empty() {
        format!("no ratio could be computed for the test on {on}")
    } else {
        format!("{} on {on}", ratios.join(" and "))
    };
    let before = first.and_then(|(_, row)| {
        let was = polarization_index(row.readings())?;
        Some(format!("; PI was {} in {}", in_words(Some(was)), row.tested_on().date.format("%b %Y")))
    });
    format!("{name}: {now}{}", before.unwrap_or_default())
}

/// What was found about the ratios, and the law of the latest test.
fn subtitle(judgement: &Judgement, law: Option<&AbsorptionCurve>) -> String {
    let about = |code: Code| {
        matches!(
            code,
            Code::IndexBelowOne
                | Code::LowAbsorption
                | Code::RatioFallen
                | Code::RatioNotMeaningful
                | Code::TimedReadingsFall
        )
    };
    let found = judgement.assessment.findings.iter().find(|finding| about(finding.code));
    let law = law.map(|law| match law.leakage {
        Some(leakage) => format!(
            "At the latest test a steady leakage of {} ({} to {}) as read holds the rise back.",
            leakage.resistance, leakage.low, leakage.high
        ),
        None => "No steady leakage could be estimated from the latest test.".to_owned(),
    });
    let none = || "No line could be fitted to the latest test: it needs three exact readings that rise.".to_owned();
    let law = law.unwrap_or_else(none);
    found.map_or(law.clone(), |finding| format!("{} {law}", clean(&finding.message)))
}

fn span(curves: &[Curve]) -> (f64, f64) {
    let readings = curves.iter().flat_map(|curve| curve.readings.iter().filter_map(|reading| reading.value));
    let laws = curves.iter().flat_map(|curve| curve.law.iter().map(|point| point.1));
    let (low, high) = ends(readings.chain(laws)).unwrap_or((0.0, 1.0));
    let short = (LEAST_SPAN - (high - low)).max(0.0) / 2.0;
    let pad = 0.08 * (high - low).max(LEAST_SPAN);
    (low - short - pad, high + short + pad)
}

fn ends(values: impl Iterator<Item = f64>) -> Option<(f64, f64)> {
    values.fold(None, |ends: Option<(f64, f64)>, value| {
        Some(ends.map_or((value, value), |(low, high)| (low.min(value), high.max(value))))
    })
}

fn footer(judgement: &Judgement, context: &ChartContext) -> Vec<String> {
    let correction = format!("{} It moves a curve as a whole; its ratios stay.", words::correction(judgement));
    let law = format!(
        "PI is R(10 min)/R(1 min), DAR is R(60 s)/R(30 s), \
         both as read. As of {}.",
        judgement.as_of.format("%-d %b %Y")
    );
    [clean(&correction), law].into_iter().chain(words::sources(context)).collect()
}

/// The legend: only what is in the picture.
fn legend(picture: &AbsorptionPicture, left_out: usize, uncorrected: usize) -> Vec<Entry> {
    let mut entries = Vec::new();
    let mut add = |sample: Sample, words: String| entries.push(Entry { sample, words });
    let Some((latest, older)) = picture.curves.split_last() else { return entries };
    let any = |says: BoundMark| picture.curves.iter().any(|curve| curve.readings.iter().any(|r| r.says == says));
    add(Sample::Mark(Emphasis::Counts, BoundMark::Exact), format!("latest, {}", latest.date));
    if !latest.law.is_empty() {
        add(Sample::Law, "line fitted to it".to_owned());
    }
    if !older.is_empty() {
        add(Sample::Older, format!("{} before it, older ones paler", tests(older.len())));
    }
    if picture.curves.iter().any(|curve| curve.law.is_empty()) {
        add(Sample::Joined, "readings joined, no line fitted".to_owned());
    }
    if any(BoundMark::Above) {
        add(Sample::Mark(Emphasis::Counts, BoundMark::Above), "more than this".to_owned());
    }
    if any(BoundMark::Below) {
        add(Sample::Mark(Emphasis::Counts, BoundMark::Below), "less than this".to_owned());
    }
    if any(BoundMark::OffScale) {
        add(Sample::Mark(Emphasis::Counts, BoundMark::OffScale), "over range, end of scale not known".to_owned());
    }
    if uncorrected > 0 {
        add(Sample::None, format!("{} without a temperature drawn as read", tests(uncorrected)));
    }
    if left_out > 0 {
        add(Sample::None, format!("{} not drawn: lead check failed, or after the as-of date", tests(left_out)));
    }
    entries
}
