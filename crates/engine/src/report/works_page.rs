//! The page of the whole works: how many series need what, and the list of them to sort and to filter.

use super::{Entry, LEAST_URGENT};
use crate::compare::{Change, Comparison, words};
use crate::output::{Assessment, overdue_in_words, span_in_words, table, test_by};
use crate::page::Template;
use crate::summary::latest_in_words;
use groundwall::assess::{Action, SeriesAssessment};
use serde::Serialize;
use std::collections::BTreeSet;

/// The template.
pub const TEMPLATE: Template =
    Template { name: "works.html", source: include_str!("works.html"), script: Some(include_str!("works.js")) };

/// More series than this are too many for one page: then only those that need something done are listed.
const MOST_LISTED: usize = 5000;

/// What stands on it.
#[derive(Debug, Serialize)]
pub struct Content<'a> {
    as_of: String,
    series: usize,
    urgent: usize,
    overdue: Option<String>,
    overdue_count: usize,
    counts: Vec<Count>,
    reference: String,
    rows: Vec<Row>,
    /// Whether the register tells of any machine where it is.
    placed: bool,
    left_out: usize,
    filters: Vec<Filter>,
    inputs: Vec<Input<'a>>,
    changes: Option<Changes>,
    confidence: String,
}

#[derive(Debug, Serialize)]
struct Count {
    action: &'static str,
    count: usize,
    meaning: &'static str,
    short: &'static str,
}

/// What changed since the report before.
#[derive(Debug, Serialize)]
struct Changes {
    since: String,
    summary: String,
    courses: Vec<Course>,
}

#[derive(Debug, Serialize)]
struct Course {
    heading: &'static str,
    series: Vec<Changed>,
}

#[derive(Debug, Serialize)]
struct Changed {
    name: String,
    page: Option<String>,
    step: String,
    why: String,
}

/// A column of the register by which the list can be narrowed.
#[derive(Debug, Serialize)]
struct Filter {
    name: &'static str,
    label: &'static str,
    values: Vec<String>,
}

#[derive(Debug, Serialize)]
struct Row {
    action: &'static str,
    rank: usize,
    name: String,
    page: Option<String>,
    site: String,
    area: String,
    criticality: String,
    overdue: Option<String>,
    place: String,
    latest: String,
    latest_mohm: Option<f64>,
    minimum: String,
    minimum_mohm: Option<f64>,
    reaches: String,
    earliest: Option<String>,
    test_by: String,
    test_day: String,
    found: String,
}

#[derive(Debug, Serialize)]
struct Input<'a> {
    file: &'a str,
    rows: u64,
    accepted: u64,
    repeated: u64,
    rejected: u64,
}

impl<'a> Content<'a> {
    /// The content for a result and the pages of its series, in the order of the result, with what changed since the report before.
    #[must_use]
    pub fn of(assessment: &Assessment<'a>, entries: &'a [Entry], changes: Option<&Comparison>) -> Self {
        let needed = entries.iter().filter(|entry| entry.series.action <= LEAST_URGENT).count();
        let listed: Vec<&Entry> = if entries.len() > MOST_LISTED {
            entries.iter().filter(|entry| entry.series.action <= LEAST_URGENT).collect()
        } else {
            entries.iter().collect()
        };
        let sites = values(&listed, |series| series.site.as_deref());
        let several_sites = sites.len() > 1;
        let filters = [
            Filter { name: "site", label: "Site", values: sites },
            Filter { name: "area", label: "Area", values: values(&listed, |series| series.area.as_deref()) },
            Filter {
                name: "criticality",
                label: "Criticality",
                values: values(&listed, |series| series.criticality.as_deref()),
            },
        ];
        Self {
            as_of: assessment.as_of.to_string(),
            series: entries.len(),
            urgent: needed,
            overdue: overdue_in_words(assessment.overdue(), entries.len()),
            overdue_count: assessment.overdue().count(),
            counts: Action::ALL
                .map(|action| Count {
                    action: action.word(),
                    count: entries.iter().filter(|entry| entry.series.action == action).count(),
                    meaning: action.meaning(),
                    short: action.in_short(),
                })
                .into(),
            reference: assessment.policy.reference_temp.to_string(),
            placed: listed.iter().any(|entry| !entry.place.is_empty()),
            left_out: entries.len() - listed.len(),
            rows: listed
                .into_iter()
                .enumerate()
                .map(|(rank, entry)| row(rank, entry, assessment, several_sites))
                .collect(),
            filters: filters.into_iter().filter(|filter| filter.values.len() > 1).collect(),
            inputs: (assessment.inputs.iter())
                .map(|ledger| Input {
                    file: &ledger.file,
                    rows: ledger.rows,
                    accepted: ledger.accepted,
                    repeated: ledger.repeated,
                    rejected: ledger.rejected,
                })
                .collect(),
            changes: changes.map(|changes| told(changes, entries)),
            confidence: format!("{:.0} %", 100.0 * assessment.confidence.as_fraction()),
        }
    }
}

/// What changed, with links to the pages that there are.
fn told(comparison: &Comparison, entries: &[Entry]) -> Changes {
    let page = |change: &Change| {
        let is_of = |series: &SeriesAssessment| {
            (&series.winding, &series.connection, &series.scope) == (&change.winding, &change.connection, &change.scope)
        };
        entries.iter().find(|entry| is_of(&entry.series)).and_then(|entry| entry.page.clone())
    };
    let changed = |change: &Change| Changed {
        name: change.name(),
        page: page(change),
        step: words::step(change),
        why: change.why(),
    };
    let courses = words::HEADINGS.map(|(course, heading)| Course {
        heading,
        series: comparison.changes.iter().filter(|change| change.course == course).map(changed).collect(),
    });
    Changes {
        since: comparison.before.to_string(),
        summary: words::summary(comparison),
        courses: courses.into_iter().filter(|course| !course.series.is_empty()).collect(),
    }
}

/// The row of a series; its site is told only where there are several.
fn row(rank: usize, entry: &Entry, assessment: &Assessment<'_>, with_site: bool) -> Row {
    let series = &entry.series;
    let skipped = usize::from(series.site.is_some() && !with_site && entry.place.len() > 1);
    let minimum = series.minimum.as_ref();
    Row {
        action: series.action.word(),
        rank,
        name: series.name(),
        page: entry.page.clone(),
        site: series.site.clone().unwrap_or_default(),
        area: series.area.clone().unwrap_or_default(),
        criticality: series.criticality.clone().unwrap_or_default(),
        overdue: series.overdue_days.map(span_in_words),
        place: entry.place[skipped..].join(", "),
        latest: latest_in_words(series),
        latest_mohm: series.latest.as_ref().and_then(|latest| latest.r60_ref_mohm.or(latest.r60_mohm)),
        minimum: minimum.map_or_else(|| "–".to_owned(), ToString::to_string),
        minimum_mohm: minimum.map(|minimum| minimum.resistance.as_megohms()),
        reaches: table::reaches(series, assessment.as_of),
        earliest: series.forecast.reaches_minimum.map(|dates| dates.earliest.to_string()),
        test_by: test_by(series, assessment.as_of),
        test_day: series.next_test.by.to_string(),
        found: found(series),
    }
}

fn found(series: &SeriesAssessment) -> String {
    series.noticed().map(|finding| finding.code.word()).collect::<Vec<_>>().join(", ")
}

/// The different values of a column, in order.
fn values(listed: &[&Entry], column: impl Fn(&SeriesAssessment) -> Option<&str>) -> Vec<String> {
    let values: BTreeSet<&str> = listed.iter().filter_map(|entry| column(&entry.series)).collect();
    values.into_iter().map(str::to_owned).collect()
}
