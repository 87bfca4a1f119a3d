//! The page of one series, to be attached to the work order.

use super::lines::Lines;
use super::steps::steps;
use crate::output::{of_the_register, table, test_by};
use crate::page::Template;
use crate::summary::span_in_words;
use crate::summary::{as_read_in_words, hot_while_drying, latest_in_words, meaning};
use groundwall::absorption::{absorption_ratio, polarization_index};
use groundwall::assess::{CorrectedTest, Judgement, LeftOut, SeriesAssessment, SinceCommissioning};
use groundwall::record::{Connection, Item, KeptOut, LeadCheck, SourceCheck, TestRecord};
use groundwall::resistance::Measured;
use groundwall::units::{Resistance, three_digits};
use serde::Serialize;

/// The template.
pub const TEMPLATE: Template =
    Template { name: "series.html", source: include_str!("series.html"), script: None, fonts: false };

/// Probability from which a reading is marked as one that the trend does not believe.
const OUTLIER: f64 = 0.5;

/// Most tests that are printed: so many fit on the second page of a work order, and so many where each takes two lines because it has
/// more than two of the columns that only some histories have.
const PRINTED_TESTS: usize = 36;
const PRINTED_LONG_TESTS: usize = 15;

/// A page of its own.
#[derive(Debug, Serialize)]
pub struct Alone<'a> {
    /// What stands on it.
    pub page: &'a Content,
}

/// What stands on a page about a series.
#[derive(Debug, Serialize)]
pub struct Content {
    /// What marks the series on a page with others.
    pub id: String,
    pub(super) name: String,
    pub(super) place: Vec<String>,
    pub(super) as_of: String,
    pub(super) action: &'static str,
    pub(super) meaning: String,
    pub(super) decisions: Vec<&'static str>,
    pub(super) lead: Option<String>,
    pub(super) steps: Vec<String>,
    pub(super) facts: Vec<Fact>,
    /// The other series of the same circuit, cable or winding beside it, where there are some.
    pub(super) lines: Option<Lines>,
    pub(super) charts: Vec<Charted>,
    pub(super) paper: Option<Image>,
    pub(super) findings: Vec<Found>,
    pub(super) tests: Vec<Row>,
    /// Headings of the columns that only some histories have.
    pub(super) more: Vec<&'static str>,
    pub(super) reference: String,
    pub(super) law: String,
    /// How many of the tests are printed.
    pub(super) printed: usize,
    /// That older tests are not printed; none where all are.
    pub(super) older: Option<String>,
}

/// A picture: where it is found, and its size in pixels.
#[derive(Debug, Serialize)]
pub struct Image {
    /// Its name beside the page.
    pub source: String,
    /// The picture itself, where it is a part of the page.
    pub drawn: Option<String>,
    /// Width.
    pub width: u32,
    /// Height.
    pub height: u32,
}

/// A chart in two sizes.
#[derive(Debug, Serialize)]
pub struct Charted {
    /// For wide screens.
    pub wide: Image,
    /// For a telephone.
    pub narrow: Image,
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
    /// The cells of those columns.
    pub(super) more: Vec<String>,
    pub(super) quiet: bool,
}

/// Where a series belongs.
#[derive(Debug)]
pub struct Around<'a> {
    /// Where the machine is and what it is, as far as the register tells.
    pub place: &'a [String],
    /// All series of the same winding and scope.
    pub lines: Option<Lines>,
}

impl Content {
    /// The content for a judged series, made from these rows, with its charts and the one that is printed; `number` tells the
    /// series from all others.
    #[must_use]
    pub fn of(
        judgement: &Judgement,
        rows: &[TestRecord],
        charts: Vec<Charted>,
        paper: Option<Image>,
        Around { place, lines }: Around<'_>,
        number: usize,
    ) -> Self {
        let series = &judgement.assessment;
        let more: Vec<More> = MORE.into_iter().filter(|(_, cell)| rows.iter().any(|row| cell(row).is_some())).collect();
        let printed = if more.len() > 2 { PRINTED_LONG_TESTS } else { PRINTED_TESTS };
        let not_printed = judgement.tests.len().saturating_sub(printed);
        Self {
            id: format!("series-{number}"),
            name: series.name(),
            place: place.iter().cloned().chain(of_the_register(series)).collect(),
            as_of: judgement.as_of.to_string(),
            action: series.action.word(),
            meaning: meaning(series),
            decisions: decisions(series),
            lead: series.noticed().next().map(|finding| finding.message.clone()),
            steps: steps(series, judgement.as_of),
            facts: facts(judgement),
            lines,
            charts,
            paper,
            findings: series
                .noticed()
                .map(|finding| Found {
                    code: finding.code.word(),
                    message: finding.message.clone(),
                    source: finding.source.clone(),
                })
                .collect(),
            // A judgement has its tests in the order of the rows.
            tests: (judgement.tests.iter().enumerate().rev()).map(|(i, test)| row(test, rows.get(i), &more)).collect(),
            more: more.iter().map(|(heading, _)| *heading).collect(),
            reference: judgement.reference.to_string(),
            law: judgement.law.clone(),
            printed,
            older: older(not_printed),
        }
    }

    /// The images of the page.
    pub(super) fn images_mut(&mut self) -> impl Iterator<Item = &mut Image> {
        self.charts.iter_mut().flat_map(|chart| [&mut chart.wide, &mut chart.narrow]).chain(&mut self.paper)
    }
}

/// That so many older tests are not printed; none where all are.
pub(super) fn older(not_printed: usize) -> Option<String> {
    match not_printed {
        0 => None,
        1 => Some("1 older test is not printed; the page on a screen shows it.".to_owned()),
        more => Some(format!("{more} older tests are not printed; the page on a screen shows them.")),
    }
}

/// What a qualified person may tick. Nothing is released on a page that asks for something to be done first.
fn decisions(series: &SeriesAssessment) -> Vec<&'static str> {
    let release = (!series.must_not_be_energised()).then_some("may be energised");
    release.into_iter().chain(["stays out of service", "test again first", "work raised, order no."]).collect()
}

/// Exact readings without which no rate of fall is shown.
const LEAST_EXACT: usize = 3;

fn facts(judgement: &Judgement) -> Vec<Fact> {
    let series = &judgement.assessment;
    let mut facts = Vec::new();
    let mut fact = |name: String, value: String, more: Option<String>| facts.push(Fact { name, value, more });
    if let Some(latest) = &series.latest {
        let read = as_read_in_words(latest).unwrap_or_else(|| "over range".to_owned());
        let at = latest.winding_temp_c.map_or_else(|| "no temperature".to_owned(), |t| t.to_string());
        let value = latest_in_words(series);
        let (name, more) = if hot_while_drying(series).is_some() {
            let more =
                format!("{}: not brought to {}; a hot reading passes nothing", latest.tested_on, judgement.reference);
            ("Latest test while drying out".to_owned(), more)
        } else {
            let void = series.void_tested_on.map_or_else(String::new, |on| format!("; the test of {on} is void"));
            let name = if void.is_empty() { "Latest test" } else { "Latest test that counts" };
            let more = format!("{}: {read} as read, {at}{void}", latest.tested_on);
            (format!("{name}, at {}", judgement.reference), more)
        };
        fact(name, value, Some(more));
    }
    if let Some(minimum) = &series.minimum {
        fact("Minimum".to_owned(), minimum.to_string(), Some(minimum.rule.clone()));
    }
    let reached = match (&series.forecast.reaches_minimum, &series.forecast.cannot_say) {
        (Some(_), _) => (table::reaches(series, judgement.as_of), Some(series.forecast.in_words(judgement.as_of))),
        (None, why) => ("cannot say".to_owned(), why.clone()),
    };
    fact(format!("May reach the minimum (right {} times)", judgement.confidence.in_words()), reached.0, reached.1);
    if let Some(by) = series.work_by {
        fact("Work".to_owned(), by.in_short(), None);
    }
    let why = series.next_test.why.trim_start_matches("now: ").trim_start_matches("now, ");
    let late = series.overdue_days.map(|days| format!("overdue by {}; {why}", span_in_words(days)));
    let why = late.unwrap_or_else(|| why.to_owned());
    fact("Test again by".to_owned(), test_by(series, judgement.as_of), Some(why));
    if let Some(since) = SinceCommissioning::of(&judgement.tests) {
        let value = format!("{} %", three_digits(100.0 * since.share));
        let more = format!("{} when it was {} on {}", since.first, since.event.word(), since.on);
        fact("Left of the first reading in service".to_owned(), value, Some(more));
    }
    // What hangs on a hot reading is not a level.
    let level = series.trend.as_ref().filter(|_| hot_while_drying(series).is_none()).and_then(|trend| trend.level_mohm);
    if let Some(level) = level.and_then(|mohm| Resistance::from_megohms(mohm).ok()) {
        let what = "mean over a year by the trend, without the scatter of single tests";
        fact("Fitted level today".to_owned(), level.to_string(), Some(what.to_owned()));
    }
    let trend = series.trend.as_ref().filter(|trend| trend.exact >= LEAST_EXACT);
    if let Some(years) = trend.and_then(|trend| trend.halving_years) {
        let since = trend.map(|trend| format!("{} tests since {}", trend.tests, trend.since));
        fact("The level halves in".to_owned(), format!("{years:.1} years"), since);
    }
    facts
}

/// A column that only some histories have: its heading, and its cell of a row.
type More = (&'static str, fn(&TestRecord) -> Option<String>);

/// The columns that only some histories have, in the order in which they are shown.
const MORE: [More; 18] = [
    ("Connection", |row| (*row.connection() != Connection::AllEarth).then(|| row.connection().to_string())),
    ("Others", |row| row.procedure().other_phases.map(|other| other.to_string())),
    ("PI", |row| polarization_index(row.readings()).map(|ratio| ratio.to_string())),
    ("DAR", |row| absorption_ratio(row.readings()).map(|ratio| ratio.to_string())),
    ("DD", |row| row.procedure().dielectric_discharge.map(|found| three_digits(found.as_ratio()))),
    ("Air", |row| row.air_temp().map(|t| t.to_string())),
    ("Humidity", |row| row.humidity().map(|h| h.to_string())),
    ("Tester", |row| row.procedure().serial.as_deref().or(row.instrument()).map(str::to_owned)),
    ("Calibration due", |row| row.procedure().calibration_due.map(|day| day.to_string())),
    ("Battery", |row| row.procedure().battery.map(|battery| battery.to_string())),
    ("Leads", leads),
    ("Output check", |row| {
        row.procedure().source_check.map(|found| match found {
            SourceCheck::Checked(check) => check.to_string(),
            SourceCheck::Measured(volts) => volts.to_string(),
        })
    }),
    ("Proved dead", |row| row.procedure().get(Item::ProvedDead).map(|value| value.to_string())),
    ("Discharged", |row| row.procedure().discharged.map(|time| format!("{} min", three_digits(time.as_minutes())))),
    ("State", |row| row.procedure().equipment_state.map(|state| state.to_string())),
    ("Stood", |row| row.procedure().standing.map(|stood| format!("{} h", three_digits(stood.as_hours())))),
    ("Tested by", |row| row.procedure().tested_by.clone()),
    ("Work order", |row| row.procedure().work_order.clone()),
];

/// The checks of the leads before the test: failed where one of them did.
fn leads(row: &TestRecord) -> Option<String> {
    let procedure = row.procedure();
    let checks = [procedure.zero_check, procedure.open_check];
    let failed = row.lead_check() == Some(LeadCheck::Failed) || procedure.scale_check_failed();
    let made = row.lead_check().is_some() || checks.iter().any(Option::is_some);
    made.then(|| if failed { "failed" } else { "ok" }.to_owned())
}

fn row(test: &CorrectedTest, record: Option<&TestRecord>, more: &[More]) -> Row {
    let note = record.and_then(TestRecord::note);
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
            LeftOut::Drying => "while it was drying out",
            LeftOut::KeptOut(KeptOut::Contradicted) => "contradicted by another row",
            LeftOut::KeptOut(KeptOut::Rejected) => "row rejected",
            LeftOut::KeptOut(KeptOut::Undated) => "row rejected, without a date",
            LeftOut::KeptOut(KeptOut::Misdated) => "row rejected, dated after today",
            LeftOut::KeptOut(KeptOut::Unread) => "row rejected, reading not known",
        }
        .to_owned()
    }));
    if test.p_outlier > OUTLIER {
        remarks.push("an outlier, by the trend".to_owned());
    }
    remarks.extend(note.map(|note| format!("“{note}”")));
    Row {
        on: match test.left_out {
            Some(LeftOut::KeptOut(why)) if why.is_undated() => "–".to_owned(),
            _ => test.tested_on.to_string(),
        },
        as_read: text(test.as_read),
        celsius: test.winding_temp.map_or_else(|| "–".to_owned(), |t| t.to_string()),
        corrected,
        volts: test.test_volts.map_or_else(|| "–".to_owned(), |v| v.to_string()),
        remark: remarks.join("; "),
        more: more.iter().map(|(_, cell)| record.and_then(cell).unwrap_or_else(|| "–".to_owned())).collect(),
        quiet: test.left_out.is_some(),
    }
}
