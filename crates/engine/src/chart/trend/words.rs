//! The words around the picture: title, axis, legend, footer.

use super::super::font::Face;
use super::super::legend::{Entry, Sample};
use super::super::marks::{BoundMark, Emphasis};
use super::super::readings::Reading;
use super::super::words::{self, NAME_WIDTH, isolate, sentence, tests};
use super::super::{ChartContext, theme};
use super::TrendPicture;
use crate::legible::clean;
use crate::summary::span_in_words;
use crate::summary::{latest_in_words, meaning, reason};
use chrono::NaiveDate;
use groundwall::assess::{Action, Code, CrossingDates, Judgement, LeftOut, WorkBy};
use groundwall::units::three_digits;

/// The series' name and where it is.
pub(super) fn heading(judgement: &Judgement, context: &ChartContext) -> String {
    words::heading(&judgement.assessment.name(), judgement, context)
}

/// The action in words.
pub(super) fn title(judgement: &Judgement) -> String {
    let assessment = &judgement.assessment;
    let name = isolate(&Face::strong(theme::TITLE).fit(&clean(&assessment.name()), NAME_WIDTH));
    let now = at_the_latest_test(judgement);
    let and_now = now.as_ref().map_or_else(String::new, |now| format!(": {now}"));
    let minimum = assessment.minimum.as_ref();
    let against = minimum.map_or_else(String::new, |minimum| format!(", minimum {minimum}"));
    match assessment.action {
        Action::Hold => match (&now, minimum) {
            (Some(now), Some(minimum)) => format!("Hold {name}: {now} against a minimum of {minimum}"),
            _ => format!("Hold {name} until a qualified person has decided"),
        },
        Action::Plan => match (assessment.forecast.reaches_minimum, minimum) {
            // A date made from the trend would read as if there were time until then.
            _ if assessment.work_by == Some(WorkBy::BeforeUse) => {
                let cause = assessment.findings.first().map(|finding| format!(", {}", reason(finding.code)));
                format!("Plan work on {name} before use{}{and_now}{against}", cause.unwrap_or_default())
            }
            (Some(dates), Some(minimum)) => {
                format!("Plan work on {name}{and_now}, may reach its {minimum} minimum {}", when(dates))
            }
            _ => format!("Plan work on {name}{and_now}{against}"),
        },
        Action::Recheck => format!("Repeat the test of {name} before deciding anything else{and_now}{against}"),
        Action::Shorten => match assessment.findings.first().map(|finding| finding.code) {
            None | Some(Code::Falling | Code::ReachesMinimum) => {
                let halves = assessment.trend.as_ref().and_then(|trend| trend.halving_years);
                let halves = halves.filter(|years| *years <= LONGEST_HALVING);
                let halves =
                    halves.map_or_else(|| " and falling".to_owned(), |years| format!(", halving in {}", span(years)));
                format!("Test {name} sooner{and_now}{halves}{against}")
            }
            Some(cause) => format!("Test {name} sooner, {}{and_now}{against}", reason(cause)),
        },
        Action::Keep => match assessment.overdue_days {
            Some(days) => format!("Test {name} now, overdue by {}{and_now}{against}", span_in_words(days)),
            None => format!("Keep {name} on its usual interval{and_now}{against}"),
        },
        Action::Gather => match assessment.overdue_days {
            Some(days) => format!("Test {name} again now, overdue by {}{and_now}{against}", span_in_words(days)),
            None => format!("Gather more readings of {name}{and_now}{against}"),
        },
    }
}

/// A level that takes longer to halve, years, is said to fall and no more.
const LONGEST_HALVING: f64 = 15.0;

/// The weightiest finding, or what the action means. That there are tests after the as-of date takes the place of neither.
pub(super) fn subtitle(judgement: &Judgement) -> String {
    let assessment = &judgement.assessment;
    let mut noticed = assessment.noticed().filter(|finding| finding.code != Code::FutureTest);
    let first = noticed.next().map(|finding| clean(&finding.message));
    let text = first.filter(|text| !text.is_empty()).unwrap_or_else(|| {
        let meaning = meaning(assessment);
        let mut letters = meaning.chars();
        letters.next().map_or_else(String::new, |c| format!("{}{}.", c.to_uppercase(), letters.as_str()))
    });
    match &assessment.forecast.cannot_say {
        Some(why) if !text.contains(why.as_str()) => format!("{text} No date: {}.", sentence(&clean(why))),
        _ => text,
    }
}

/// What the resistance axis shows.
pub(super) fn axis(judgement: &Judgement) -> String {
    format!("One-minute insulation resistance, corrected to {}", judgement.reference)
}

/// The latest reading; where the last test made does not count, that it does not and what was read before. A fitted level is
/// never given here: it was not read.
fn at_the_latest_test(judgement: &Judgement) -> Option<String> {
    let assessment = &judgement.assessment;
    let latest = assessment.latest.as_ref()?;
    let unknown_end = latest.r60_mohm.is_none() && assessment.latest_at_reference().is_none();
    let value = Some(latest_in_words(assessment)).filter(|_| !unknown_end)?;
    let on = |date: NaiveDate| date.format("%-d %b %Y").to_string();
    let last = judgement.tests.iter().rfind(|test| test.left_out != Some(LeftOut::AfterAsOf));
    Some(match last.map(|test| (test.tested_on.date, test.left_out)) {
        Some((date, Some(LeftOut::LeadCheckFailed))) => {
            format!("leads not proved on {}, {value} on {}", on(date), on(latest.tested_on))
        }
        Some((date, Some(LeftOut::NoOneMinuteReading))) => {
            format!("no reading on {}, {value} on {}", on(date), on(latest.tested_on))
        }
        Some((date, Some(LeftOut::KeptOut(_)))) => {
            format!("the row of {} is excluded, {value} on {}", on(date), on(latest.tested_on))
        }
        _ => format!("{value} at the latest test"),
    })
}

/// The interval of the crossing in words.
fn when(dates: CrossingDates) -> String {
    let month = |date: NaiveDate| date.format("%b %Y").to_string();
    match dates.latest {
        Some(latest) if month(latest) == month(dates.earliest) => format!("in {}", month(latest)),
        Some(latest) => format!("between {} and {}", month(dates.earliest), month(latest)),
        None => match dates.median {
            Some(median) => format!("from {} on, likely {}", month(dates.earliest), month(median)),
            None => format!("from {} on", month(dates.earliest)),
        },
    }
}

fn span(years: f64) -> String {
    match years {
        y if y < 0.125 => format!("{} days", (y * 365.25).round().max(1.0)),
        y if y < 1.75 => format!("{} months", (y * 12.0).round()),
        y => format!("{} years", three_digits((y * 10.0).round() / 10.0)),
    }
}

/// How the figures were made.
pub(super) fn footer(judgement: &Judgement, context: &ChartContext) -> Vec<String> {
    let assessment = &judgement.assessment;
    let mut correction = words::correction(judgement);
    if let Some(minimum) = &assessment.minimum {
        correction.push_str(&format!(" Minimum {}: {}.", minimum.resistance, sentence(&minimum.rule)));
    }
    let mut method = match &assessment.trend {
        Some(trend) => format!(
            "Trend of {} since {}. Bands and ranges should contain the true value {} times.",
            tests(trend.tests),
            trend.since.format("%-d %b %Y"),
            judgement.confidence.in_words()
        ),
        None => format!(
            "No trend was fitted; ranges should contain the true value {} times.",
            judgement.confidence.in_words()
        ),
    };
    method.push_str(&format!(" As of {}.", judgement.as_of.format("%-d %b %Y")));
    [clean(&correction), clean(&method)].into_iter().chain(words::sources(context)).collect()
}

/// The legend: only what is in the picture.
pub(super) fn legend(picture: &TrendPicture, judgement: &Judgement) -> Vec<Entry> {
    let mut entries = Vec::new();
    let mut add = |sample: Sample, words: String| entries.push(Entry { sample, words });
    let mut kinds: Vec<(Emphasis, BoundMark)> = picture.readings.iter().map(|reading| legend_form(*reading)).collect();
    kinds.sort_unstable();
    kinds.dedup();
    for (standing, says) in kinds {
        let words = mark_words(standing, says, judgement);
        let uncounted = says == BoundMark::OffScale && standing == Emphasis::Counts;
        let count = picture.readings.iter().filter(|reading| legend_form(**reading) == (standing, says)).count();
        add(Sample::Mark(standing, says), if uncounted { format!("{count} {words}") } else { words });
    }
    if !picture.level.is_empty() {
        add(Sample::Level, "fitted level and its band".to_owned());
    }
    if !picture.forecast.is_empty() {
        add(Sample::Forecast, "forecast".to_owned());
    }
    match picture.crossing {
        Some(crossing) if crossing.earliest > picture.days.1 => {
            add(Sample::Later, "may reach the minimum later than drawn".to_owned());
        }
        Some(crossing) if crossing.latest == Some(crossing.earliest) && crossing.earliest <= picture.as_of => {
            add(Sample::Reached, "from this test on no reading is above the minimum".to_owned());
        }
        Some(_) => add(Sample::Crossing, "range in which it may reach the minimum".to_owned()),
        None => {}
    }
    let silent = judgement.tests.iter().filter(|test| test.left_out == Some(LeftOut::NoOneMinuteReading)).count();
    if silent > 0 {
        add(Sample::None, format!("{} without a one-minute reading not drawn", tests(silent)));
    }
    entries
}

/// Arrows of readings left out share the sample of their reason; where there is no value, no temperature is wanted for it.
fn legend_form(Reading { standing, says, .. }: Reading) -> (Emphasis, BoundMark) {
    match (standing, says) {
        (Emphasis::Counts | Emphasis::Uncorrected, BoundMark::OffScale) => (Emphasis::Counts, says),
        (Emphasis::Counts | Emphasis::Uncorrected | Emphasis::Doubtful, _) => (standing, says),
        _ => (standing, BoundMark::Exact),
    }
}

fn mark_words(standing: Emphasis, says: BoundMark, judgement: &Judgement) -> String {
    match (standing, says) {
        (Emphasis::Counts, BoundMark::Exact) => format!("reading at {}", judgement.reference),
        (Emphasis::Counts, BoundMark::Above) => "more than this: the scale ended".to_owned(),
        (Emphasis::Counts, BoundMark::Below) => "less than this".to_owned(),
        (Emphasis::Counts, BoundMark::OffScale) => "over range, not counted: end of scale not known".to_owned(),
        (Emphasis::Uncorrected, BoundMark::Above) => "more than this, at an assumed temperature".to_owned(),
        (Emphasis::Uncorrected, BoundMark::Below) => "less than this, at an assumed temperature".to_owned(),
        (Emphasis::Uncorrected, _) => "no temperature: an assumed one".to_owned(),
        (Emphasis::Doubtful, says) => {
            let what = match says {
                BoundMark::Exact => "doubtful",
                BoundMark::Above => "more than this, doubtful",
                BoundMark::Below => "less than this, doubtful",
                BoundMark::OffScale => "over range, end of scale not known",
            };
            format!("{what}, to be repeated; the line is that of the readings before")
        }
        (Emphasis::Outlier, _) => "outlier, hardly counts".to_owned(),
        (Emphasis::LeadsNotProved, _) => "lead check failed, left out".to_owned(),
        (Emphasis::Void, _) => "void, leads not proved: to be repeated".to_owned(),
        (Emphasis::Before, _) => "before the stretch, left out".to_owned(),
        (Emphasis::AsRead, _) => "as read".to_owned(),
    }
}
