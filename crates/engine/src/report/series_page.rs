//! The page of one series, to be attached to the work order.

use super::steps::steps;
use crate::output::{table, test_by};
use crate::page::Template;
use crate::summary::latest_in_words;
use groundwall::assess::{CorrectedTest, Judgement, LeftOut, SeriesAssessment, SinceCommissioning};
use groundwall::record::{KeptOut, TestRecord};
use groundwall::resistance::Measured;
use groundwall::units::{Resistance, chance, three_digits};
use serde::Serialize;

/// The template.
pub const TEMPLATE: Template = Template { name: "series.html", source: include_str!("series.html"), script: None };

/// Probability from which a reading is marked as one that the trend does not believe.
const STRAY: f64 = 0.5;

/// What stands on it.
#[derive(Debug, Serialize)]
pub struct Content {
    pub(super) name: String,
    pub(super) place: Vec<String>,
    pub(super) as_of: String,
    pub(super) action: &'static str,
    pub(super) meaning: &'static str,
    pub(super) decisions: Vec<&'static str>,
    pub(super) lead: Option<String>,
    pub(super) steps: Vec<String>,
    pub(super) facts: Vec<Fact>,
    pub(super) charts: Vec<Picture>,
    pub(super) findings: Vec<Found>,
    pub(super) tests: Vec<Row>,
    pub(super) reference: String,
    pub(super) law: String,
}

/// A chart beside the page, in two sizes.
#[derive(Debug, Serialize)]
pub struct Picture {
    /// The file for paper and wide screens.
    pub image: String,
    /// The file for a telephone.
    pub narrow: String,
    /// What it shows, in words.
    pub description: String,
}

#[derive(Debug, Serialize)]
pub(super) struct Fact {
    pub(super) name: String,
    pub(super) value: String,
    pub(super) more: Option<String>,
}

#[derive(Debug, Serialize)]
pub(super) struct Found {
    pub(super) code: &'static str,
    pub(super) message: String,
    pub(super) source: String,
}

#[derive(Debug, Serialize)]
pub(super) struct Row {
    pub(super) on: String,
    pub(super) as_read: String,
    pub(super) celsius: String,
    pub(super) corrected: String,
    pub(super) volts: String,
    pub(super) remark: String,
    pub(super) quiet: bool,
}

impl Content {
    /// The content for a judged series, made from these rows, whose charts are in files beside the page.
    #[must_use]
    pub fn of(judgement: &Judgement, rows: &[TestRecord], charts: Vec<Picture>, place: &[String]) -> Self {
        let series = &judgement.assessment;
        Self {
            name: series.name(),
            place: place.to_vec(),
            as_of: judgement.as_of.to_string(),
            action: series.action.word(),
            meaning: series.action.meaning(),
            decisions: decisions(series),
            lead: series.noticed().next().map(|finding| finding.message.clone()),
            steps: steps(series),
            facts: facts(judgement),
            charts,
            findings: series
                .noticed()
                .map(|finding| Found {
                    code: finding.code.word(),
                    message: finding.message.clone(),
                    source: finding.source.clone(),
                })
                .collect(),
            // A judgement has its tests in the order of the rows.
            tests: (judgement.tests.iter().enumerate().rev())
                .map(|(i, test)| row(test, rows.get(i).and_then(|row| row.note())))
                .collect(),
            reference: judgement.reference.to_string(),
            law: judgement.law.clone(),
        }
    }
}

/// What a qualified person may tick. Nothing is released on a page that asks for something to be done first.
fn decisions(series: &SeriesAssessment) -> Vec<&'static str> {
    let release = (!series.must_not_be_energised()).then_some("may be energised");
    release.into_iter().chain(["stays out of service", "test again first", "work raised, order no."]).collect()
}

fn facts(judgement: &Judgement) -> Vec<Fact> {
    let series = &judgement.assessment;
    let mut facts = Vec::new();
    let mut fact = |name: String, value: String, more: Option<String>| facts.push(Fact { name, value, more });
    if let Some(latest) = &series.latest {
        let read = latest.r60_mohm.and_then(|mohm| Resistance::from_megohms(mohm).ok());
        let read = read.map_or_else(|| "over range".to_owned(), |r| r.to_string());
        let at = latest.winding_temp_c.map_or_else(|| "no temperature".to_owned(), |t| t.to_string());
        let value = latest_in_words(series);
        fact(
            format!("Latest test at {}", judgement.reference),
            value,
            Some(format!("{}: {read} as read, {at}", latest.tested_on)),
        );
    }
    if let Some(minimum) = &series.minimum {
        fact("Minimum".to_owned(), minimum.to_string(), Some(minimum.rule.clone()));
    }
    if let Some(since) = SinceCommissioning::of(&judgement.tests) {
        let value = format!("{} %", three_digits(100.0 * since.share));
        let more = format!("{} when it was {} on {}", since.first, since.event.word(), since.on);
        fact("Left of the first reading in service".to_owned(), value, Some(more));
    }
    let reached = match (&series.forecast.reaches_minimum, &series.forecast.cannot_say) {
        (Some(_), _) => (table::reaches(series, judgement.as_of), Some(series.forecast.in_words(judgement.as_of))),
        (None, why) => ("cannot say".to_owned(), why.clone()),
    };
    let confidence = 100.0 * judgement.confidence.as_fraction();
    fact(format!("May reach the minimum ({confidence:.0} % interval)"), reached.0, reached.1);
    if let Some(p) = series.forecast.p_below_in_horizon {
        fact("Chance of getting below it inside the planning horizon".to_owned(), chance(p), None);
    }
    let level = series.trend.as_ref().and_then(|trend| trend.level_mohm);
    if let Some(level) = level.and_then(|mohm| Resistance::from_megohms(mohm).ok()) {
        let what = "mean over a year by the trend, without the scatter of single tests";
        fact("Fitted level today".to_owned(), level.to_string(), Some(what.to_owned()));
    }
    if let Some(years) = series.trend.as_ref().and_then(|trend| trend.halving_years) {
        let since = series.trend.as_ref().map(|trend| format!("{} tests since {}", trend.tests, trend.since));
        fact("The level halves in".to_owned(), format!("{years:.1} years"), since);
    }
    fact("Test again by".to_owned(), test_by(series, judgement.as_of), Some(series.next_test.why.clone()));
    facts
}

fn row(test: &CorrectedTest, note: Option<&str>) -> Row {
    let text = |value: Option<Measured>| value.map_or_else(|| "–".to_owned(), |value| value.to_string());
    let corrected = if test.kt.is_some() { text(test.corrected) } else { "–".to_owned() };
    let mut remarks: Vec<String> = test.event.iter().map(|event| event.word().to_owned()).collect();
    remarks.extend(test.left_out.map(|why| {
        match why {
            LeftOut::LeadCheckFailed => "leads not proved",
            LeftOut::NoOneMinuteReading => "no one-minute reading",
            LeftOut::AfterAsOf => "after the as-of date",
            LeftOut::BeforeStretch => "before the stretch",
            LeftOut::OtherStep => "another step of the voltage",
            LeftOut::KeptOut(KeptOut::Contradicted) => "contradicted by another row",
            LeftOut::KeptOut(KeptOut::Rejected) => "row rejected",
        }
        .to_owned()
    }));
    if test.p_stray > STRAY {
        remarks.push("a stray, by the trend".to_owned());
    }
    remarks.extend(note.map(|note| format!("“{note}”")));
    Row {
        on: test.tested_on.to_string(),
        as_read: text(test.as_read),
        celsius: test.winding_temp.map_or_else(|| "–".to_owned(), |t| t.to_string()),
        corrected,
        volts: test.test_volts.map_or_else(|| "–".to_owned(), |v| v.to_string()),
        remark: remarks.join("; "),
        quiet: test.left_out.is_some(),
    }
}
