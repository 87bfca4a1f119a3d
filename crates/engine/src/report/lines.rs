//! All lines of a circuit, cores of a cable or connections of a winding in one table, which stands on the page of each of them.

use crate::summary::{as_read_in_words, reasons};
use groundwall::assess::{Judgement, LeftOut, SeriesAssessment};
use groundwall::resistance::Measured;
use serde::Serialize;

/// Findings named in a row.
const MOST_NAMED: usize = 3;

/// The table.
#[derive(Clone, Debug, Serialize)]
pub struct Lines {
    /// What it shows: "All lines of LP-3 way 7".
    pub(super) title: String,
    /// What a row is: line, core, connection.
    pub(super) what: &'static str,
    /// The temperature to which readings are brought; none where no row has such a reading.
    pub(super) reference: Option<String>,
    pub(super) rows: Vec<Line>,
}

/// One row.
#[derive(Clone, Debug, Serialize)]
pub(super) struct Line {
    pub(super) connection: String,
    pub(super) action: &'static str,
    pub(super) on: String,
    pub(super) as_read: String,
    pub(super) corrected: String,
    pub(super) minimum: String,
    pub(super) before: String,
    pub(super) found: String,
    /// Whether the page is about this one.
    pub(super) is_here: bool,
}

impl Lines {
    /// The series of one winding and scope, in their order; none where there is one alone.
    pub(super) fn of(series: &[&Judgement]) -> Option<Self> {
        let first = series.first().filter(|_| series.len() > 1)?;
        let assessment = &first.assessment;
        let (what, plural) = match assessment.scope.as_str() {
            "circuit" => ("Line", "lines"),
            "cable" => ("Core", "cores"),
            _ => ("Connection", "connections"),
        };
        let brought = series.iter().any(|j| j.assessment.latest.as_ref().is_some_and(|latest| latest.kt.is_some()));
        Some(Self {
            title: format!("All {plural} of {}", assessment.winding),
            what,
            reference: brought.then(|| first.reference.to_string()),
            rows: series.iter().map(|judgement| Line::of(judgement)).collect(),
        })
    }

    /// The same on the page of one of them.
    pub(super) fn on_page_of(&self, series: &SeriesAssessment) -> Self {
        let mut lines = self.clone();
        let here = connection(series);
        for row in &mut lines.rows {
            row.is_here = row.connection == here;
        }
        lines
    }
}

impl Line {
    fn of(judgement: &Judgement) -> Self {
        let series = &judgement.assessment;
        let dash = || "–".to_owned();
        let latest = series.latest.as_ref();
        let counts = |left_out: Option<LeftOut>| matches!(left_out, None | Some(LeftOut::BeforeStretch));
        let earlier = judgement.tests.iter().rev().filter(|test| counts(test.left_out)).nth(1);
        let before = earlier.and_then(|test| Some(format!("{} on {}", test.as_read?, test.tested_on.date)));
        Self {
            connection: connection(series),
            action: series.action.word(),
            on: latest.map_or_else(dash, |latest| latest.tested_on.to_string()),
            as_read: latest
                .map_or_else(dash, |latest| as_read_in_words(latest).unwrap_or_else(|| Measured::OffScale.to_string())),
            corrected: latest
                .and_then(|latest| latest.kt)
                .and(series.latest_at_reference())
                .map_or_else(dash, |r| r.to_string()),
            minimum: series.minimum.as_ref().map_or_else(dash, ToString::to_string),
            before: before.unwrap_or_else(dash),
            found: reasons(series, MOST_NAMED),
            is_here: false,
        }
    }
}

/// What the voltage was applied between, in the letters that the series is named with.
fn connection(series: &SeriesAssessment) -> String {
    let name = series.name();
    let named = name.strip_prefix(&series.winding).map(str::trim).filter(|rest| !rest.is_empty());
    named.map_or_else(|| "all to earth".to_owned(), str::to_owned)
}
