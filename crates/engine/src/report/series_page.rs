//! The page of one series, to be attached to the work order.

use super::steps::steps;
use crate::output::table;
use crate::page::Template;
use crate::summary::latest_in_words;
use groundwall::assess::{CorrectedTest, Judgement, LeftOut};
use groundwall::record::TestRecord;
use groundwall::resistance::Measured;
use groundwall::units::Resistance;
use serde::Serialize;

/// The template.
pub const TEMPLATE: Template = Template { name: "series.html", source: include_str!("series.html"), script: None };

/// Probability from which a reading is marked as one that the trend does not believe.
const STRAY: f64 = 0.5;

/// What stands on it.
#[derive(Debug, Serialize)]
pub struct Content {
    name: String,
    place: Vec<String>,
    as_of: String,
    action: &'static str,
    meaning: &'static str,
    lead: Option<String>,
    steps: Vec<String>,
    facts: Vec<Fact>,
    image: String,
    description: String,
    findings: Vec<Found>,
    tests: Vec<Row>,
    reference: String,
    law: String,
    method: Option<String>,
}

#[derive(Debug, Serialize)]
struct Fact {
    name: String,
    value: String,
    more: Option<String>,
}

#[derive(Debug, Serialize)]
struct Found {
    code: &'static str,
    message: String,
    source: String,
}

#[derive(Debug, Serialize)]
struct Row {
    on: String,
    as_read: String,
    celsius: String,
    corrected: String,
    volts: String,
    remark: String,
    quiet: bool,
}

impl Content {
    /// The content for a judged series, made from these rows, whose chart is in a file beside the page.
    #[must_use]
    pub fn of(judgement: &Judgement, rows: &[TestRecord], image: &str, description: String, place: &[String]) -> Self {
        let series = &judgement.assessment;
        Self {
            name: series.name(),
            place: place.to_vec(),
            as_of: judgement.as_of.to_string(),
            action: series.action.word(),
            meaning: series.action.meaning(),
            lead: series.findings.first().map(|finding| finding.message.clone()),
            steps: steps(series),
            facts: facts(judgement),
            image: image.to_owned(),
            description,
            findings: (series.findings.iter())
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
            method: series.trend.as_ref().map(|trend| trend.method.clone()),
        }
    }
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
            format!("Latest at {}", judgement.reference),
            value,
            Some(format!("{}: {read} as read, {at}", latest.tested_on)),
        );
    }
    if let Some(minimum) = &series.minimum {
        fact("Minimum".to_owned(), minimum.to_string(), Some(minimum.rule.clone()));
    }
    let reached = match (&series.forecast.reaches_minimum, &series.forecast.cannot_say) {
        (Some(_), _) => (table::reaches(series, judgement.as_of), Some(series.forecast.in_words(judgement.as_of))),
        (None, why) => ("cannot say".to_owned(), why.clone()),
    };
    let confidence = 100.0 * judgement.confidence.as_fraction();
    fact(format!("Reaches the minimum ({confidence:.0} % interval)"), reached.0, reached.1);
    if let Some(p) = series.forecast.p_below_in_horizon {
        fact("Below it inside the planning horizon".to_owned(), percent(p), Some("probability".to_owned()));
    }
    if let Some(years) = series.trend.as_ref().and_then(|trend| trend.halving_years) {
        let since = series.trend.as_ref().map(|trend| format!("{} tests since {}", trend.tests, trend.since));
        fact("The level halves in".to_owned(), format!("{years:.1} years"), since);
    }
    fact("Test again by".to_owned(), series.next_test.by.to_string(), Some(series.next_test.why.clone()));
    facts
}

/// A probability as a person would say it: never 0 or 100 %.
fn percent(p: f64) -> String {
    match 100.0 * p {
        p if p < 0.5 => "under 1 %".to_owned(),
        p if p > 99.5 => "over 99 %".to_owned(),
        p => format!("{p:.0} %"),
    }
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_probability_is_certain() {
        assert_eq!(percent(0.0), "under 1 %");
        assert_eq!(percent(0.34), "34 %");
        assert_eq!(percent(1.0), "over 99 %");
    }
}
