//! The page of the whole plant: how many series need what, and the list of them to sort and to filter.

use super::{Entry, LEAST_URGENT};
use crate::compare::{Change, Comparison, words};
use crate::error::Failure;
use crate::output::{Assessment, of_the_register, table, test_by};
use crate::page::{Pages, Template};
use crate::summary::span_in_words;
use crate::summary::{asked, hot_while_drying, latest_in_words, reasons};
use groundwall::assess::SeriesAssessment;
use serde::Serialize;
use serde_json::json;
use std::collections::BTreeSet;

/// The template.
pub const TEMPLATE: Template = Template {
    name: "plant.html",
    source: include_str!("plant.html"),
    script: Some(include_str!("plant.js")),
    fonts: false,
};

/// The list, which the page of the plant and the page that holds everything share.
pub const LIST: Template =
    Template { name: "list.html", source: include_str!("list.html"), script: None, fonts: false };

/// More series than this are too many for one page: then only those that need something done are listed.
const MOST_LISTED: usize = 5000;

/// What stands on it.
#[derive(Debug, Serialize)]
pub struct Content<'a> {
    as_of: String,
    judged: String,
    by_motor: bool,
    urgent: usize,
    overdue: Option<String>,
    overdue_count: usize,
    counts: Vec<Count>,
    reference: String,
    rows: Vec<Row>,
    /// Whether the register mentions any machine where it is.
    placed: bool,
    left_out: usize,
    filters: Vec<Filter>,
    inputs: Vec<Input<'a>>,
    files: Vec<File>,
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

/// The same result as a file.
#[derive(Debug, Serialize)]
pub struct File {
    /// What it is called.
    pub name: &'static str,
    /// Where it is: a name beside the page, or the bytes themselves.
    pub source: String,
    /// Whether it is inside the page.
    pub download: bool,
}

#[derive(Debug, Serialize)]
struct Row {
    /// Whether it stands below a more urgent series of the same motor.
    under: bool,
    action: &'static str,
    /// What it asks for, in two or three plain words, of which none is broken.
    asked: Vec<String>,
    rank: usize,
    /// Winding, connection and scope, for programs that use the page.
    key: String,
    name: String,
    page: Option<String>,
    site: String,
    area: String,
    criticality: String,
    maker: String,
    /// Whether a work order is open.
    order: &'static str,
    /// Criticality, work order and maker, in words.
    register: String,
    overdue: Option<String>,
    place: String,
    latest: String,
    /// Its day, where a later test is void.
    latest_on: Option<String>,
    latest_mohm: Option<f64>,
    minimum: String,
    /// That it is assumed, and by what.
    minimum_assumed: Option<String>,
    minimum_mohm: Option<f64>,
    reaches: String,
    earliest: Option<String>,
    test_by: String,
    test_day: String,
    found: String,
    /// The same in the words of the result file, to search for.
    codes: String,
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
    /// `link` says where the page of a series is.
    #[must_use]
    pub fn of(
        assessment: &Assessment<'a>,
        entries: &'a [Entry],
        changes: Option<&Comparison>,
        files: Vec<File>,
        link: &dyn Fn(&Entry) -> Option<String>,
    ) -> Self {
        let counts = assessment.counts();
        let needed = counts.iter().filter(|(action, _)| *action <= LEAST_URGENT).map(|(_, count)| count).sum();
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
            Filter { name: "maker", label: "Maker", values: values(&listed, |series| series.maker.as_deref()) },
            Filter { name: "order", label: "Work order", values: values(&listed, |series| Some(order(series))) },
        ];
        Self {
            as_of: assessment.as_of.to_string(),
            judged: assessment.judged(),
            by_motor: assessment.motors().is_some(),
            urgent: needed,
            overdue: assessment.overdue_in_words(),
            overdue_count: entries.iter().filter(|entry| entry.series.overdue_days.is_some()).count(),
            counts: counts
                .map(|(action, count)| Count {
                    action: action.word(),
                    count,
                    meaning: action.meaning(),
                    short: action.in_short(),
                })
                .into(),
            reference: assessment.policy.reference_temp.to_string(),
            placed: listed.iter().any(|entry| !entry.place.is_empty()),
            left_out: entries.len() - listed.len(),
            rows: {
                let under = assessment.under(listed.iter().map(|entry| &entry.series));
                let listed = listed.into_iter().zip(under).enumerate();
                let row = |(rank, (entry, under)): (usize, (&Entry, bool))| Row {
                    under,
                    page: link(entry),
                    ..row(rank, entry, assessment, several_sites)
                };
                listed.map(row).collect()
            },
            files,
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
            changes: changes.map(|changes| changes_view(changes, entries, link)),
            confidence: assessment.confidence.in_words(),
        }
    }
}

/// The list as a page of its own, without pages of single series.
///
/// # Errors
///
/// A [`Failure`] when the page cannot be made.
pub fn list(assessment: &Assessment<'_>) -> Result<String, Failure> {
    let entries: Vec<Entry> = assessment.series.iter().cloned().map(Entry::without_page).collect();
    let content = Content::of(assessment, &entries, None, Vec::new(), &|_| None);
    Pages::new(&[LIST, TEMPLATE])?.render(&TEMPLATE, &content)
}

/// What changed, with links to the pages that there are.
fn changes_view(comparison: &Comparison, entries: &[Entry], link: &dyn Fn(&Entry) -> Option<String>) -> Changes {
    let page = |change: &Change| {
        let is_of = |series: &SeriesAssessment| {
            (&series.winding, &series.connection, &series.scope) == (&change.winding, &change.connection, &change.scope)
        };
        entries.iter().find(|entry| is_of(&entry.series)).and_then(link)
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
        asked: asked(series).map_or_else(Vec::new, |words| words.split(' ').map(str::to_owned).collect()),
        under: false,
        rank,
        key: key(series),
        name: series.name(),
        page: None,
        site: series.site.clone().unwrap_or_default(),
        area: series.area.clone().unwrap_or_default(),
        criticality: series.criticality.clone().unwrap_or_default(),
        maker: series.maker.clone().unwrap_or_default(),
        order: order(series),
        register: of_the_register(series).join(" · "),
        overdue: series.overdue_days.map(span_in_words),
        place: entry.place[skipped..].join(", "),
        latest: latest_in_words(series),
        latest_on: series.latest.as_ref().filter(|_| series.void_tested_on.is_some()).map(|l| l.tested_on.to_string()),
        latest_mohm: (series.latest.as_ref().filter(|_| hot_while_drying(series).is_none()))
            .and_then(|latest| latest.r60_ref_mohm.or(latest.r60_mohm)),
        minimum: minimum.map_or_else(|| "–".to_owned(), |minimum| minimum.value_in_words()),
        minimum_assumed: minimum.and_then(|minimum| {
            let whole = minimum.to_string();
            let remark = whole.strip_prefix(&minimum.value_in_words())?.trim();
            (!remark.is_empty()).then(|| remark.to_owned())
        }),
        minimum_mohm: minimum.map(|minimum| minimum.resistance.as_megohms()),
        reaches: table::reaches(series, assessment.as_of),
        earliest: series.forecast.reaches_minimum.map(|dates| dates.earliest.to_string()),
        test_by: test_by(series, assessment.as_of),
        test_day: series.next_test.by.to_string(),
        found: reasons(series, usize::MAX),
        codes: series.noticed().map(|finding| finding.code.word()).collect::<Vec<_>>().join(" "),
    }
}

/// What names a series, as a JSON array without any character that could change the order of writing.
fn key(series: &SeriesAssessment) -> String {
    let text = json!([series.winding, series.connection, series.scope]).to_string();
    let mut escaped = String::with_capacity(text.len());
    for c in text.chars() {
        if c.is_ascii() {
            escaped.push(c);
        } else {
            escaped.extend(c.encode_utf16(&mut [0; 2]).iter().map(|unit| format!("\\u{unit:04x}")));
        }
    }
    escaped
}

/// Whether a work order is open, as a word to filter by.
const fn order(series: &SeriesAssessment) -> &'static str {
    if series.work_order.is_some() { "open" } else { "none" }
}

/// The different values of a column, in order.
fn values(listed: &[&Entry], column: impl Fn(&SeriesAssessment) -> Option<&str>) -> Vec<String> {
    let values: BTreeSet<&str> = listed.iter().filter_map(|entry| column(&entry.series)).collect();
    values.into_iter().map(str::to_owned).collect()
}
