//! The page of the whole works: how many series need what, and the list of them to sort and to filter.

use super::Entry;
use crate::output::{Assessment, table};
use crate::page::Template;
use crate::summary::latest_in_words;
use groundwall::assess::{Action, SeriesAssessment};
use serde::Serialize;

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
    counts: Vec<Count>,
    reference: String,
    rows: Vec<Row>,
    /// Whether the register tells of any machine where it is.
    placed: bool,
    left_out: usize,
    sites: Vec<&'a str>,
    inputs: Vec<Input<'a>>,
    confidence: String,
}

#[derive(Debug, Serialize)]
struct Count {
    action: &'static str,
    count: usize,
    meaning: &'static str,
}

#[derive(Debug, Serialize)]
struct Row {
    action: &'static str,
    rank: usize,
    name: String,
    page: Option<String>,
    site: String,
    place: String,
    latest: String,
    latest_mohm: Option<f64>,
    minimum: String,
    minimum_mohm: Option<f64>,
    reaches: String,
    earliest: Option<String>,
    test_by: String,
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
    /// The content for a result and the pages of its series, in the order of the result.
    #[must_use]
    pub fn of(assessment: &Assessment<'a>, entries: &'a [Entry]) -> Self {
        let needed = entries.iter().filter(|entry| entry.page.is_some()).count();
        let listed: Vec<&Entry> = if entries.len() > MOST_LISTED {
            entries.iter().filter(|entry| entry.page.is_some()).collect()
        } else {
            entries.iter().collect()
        };
        let mut sites: Vec<&str> = listed.iter().filter_map(|entry| entry.series.site.as_deref()).collect();
        sites.sort_unstable();
        sites.dedup();
        Self {
            as_of: assessment.as_of.to_string(),
            series: entries.len(),
            urgent: needed,
            counts: Action::ALL
                .map(|action| Count {
                    action: action.word(),
                    count: entries.iter().filter(|entry| entry.series.action == action).count(),
                    meaning: action.meaning(),
                })
                .into(),
            reference: assessment.policy.reference_temp.to_string(),
            placed: listed.iter().any(|entry| !entry.place.is_empty()),
            left_out: entries.len() - listed.len(),
            rows: listed
                .into_iter()
                .enumerate()
                .map(|(rank, entry)| row(rank, entry, assessment, sites.len() > 1))
                .collect(),
            sites,
            inputs: (assessment.inputs.iter())
                .map(|ledger| Input {
                    file: &ledger.file,
                    rows: ledger.rows,
                    accepted: ledger.accepted,
                    repeated: ledger.repeated,
                    rejected: ledger.rejected,
                })
                .collect(),
            confidence: format!("{:.0} %", 100.0 * assessment.confidence.as_fraction()),
        }
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
        place: entry.place[skipped..].join(", "),
        latest: latest_in_words(series),
        latest_mohm: series.latest.as_ref().and_then(|latest| latest.r60_ref_mohm.or(latest.r60_mohm)),
        minimum: minimum.map_or_else(|| "–".to_owned(), ToString::to_string),
        minimum_mohm: minimum.map(|minimum| minimum.resistance.as_megohms()),
        reaches: table::reaches(series, assessment.as_of),
        earliest: series.forecast.reaches_minimum.map(|dates| dates.earliest.to_string()),
        test_by: series.next_test.by.to_string(),
        found: found(series),
    }
}

fn found(series: &SeriesAssessment) -> String {
    series.findings.iter().map(|finding| finding.code.word()).collect::<Vec<_>>().join(", ")
}
