//! The whole plant on a page: every series once, most urgent on top; its level against its minimum, and when the two are
//! likely to meet.
//!
//! A page names as many series as it can legibly, the most urgent first. Those that follow are counted below its lines and named on the
//! next pages.

mod build;
mod draw;
#[cfg(test)]
mod tests;

use super::marks::BoundMark;
use super::page::Drawn;
use super::surround::Surround;
use super::{Chart, ChartContext, ChartError, Size};
use chrono::NaiveDate;
use groundwall::assess::{Action, Judgement};
use groundwall::units::{Confidence, Temperature};
use plotters::coord::Shift;
use plotters::drawing::DrawingArea;
use plotters_backend::DrawingBackend;

/// One series of the list.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// What to do.
    pub action: Action,
    /// The series' name.
    pub name: String,
    /// The latest reading, in words.
    pub latest: String,
    /// The minimum, in words.
    pub minimum: String,
    /// When the level reaches the minimum, in words.
    pub when: String,
    /// The latest reading over the minimum.
    pub reading: Option<Share>,
    /// Lower end, middle and upper end of today's level over the minimum, log10.
    pub level: Option<[f64; 3]>,
    /// For how many days its test is overdue.
    pub overdue_days: Option<u32>,
    /// When the level reaches the minimum: earliest, median, latest, days.
    pub crossing: Option<(f64, Option<f64>, Option<f64>)>,
}

/// A reading as a share of the minimum.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Share {
    /// log10; none for over-range without a limit.
    pub value: Option<f64>,
    /// What it says about the resistance.
    pub says: BoundMark,
    /// Whether it could be brought to the reference temperature.
    pub corrected: bool,
}

/// What holds for all series of a plant.
#[derive(Clone, Debug, PartialEq)]
pub struct Terms {
    /// The as-of date.
    pub as_of: NaiveDate,
    /// Confidence of the intervals.
    pub confidence: Confidence,
    /// The reference temperature.
    pub reference: Temperature,
}

/// One page, as plain data.
#[derive(Clone, Debug, PartialEq)]
pub struct FleetPicture {
    /// Which part of the list this is, how many series have which action, the most urgent ones, and all else around the list.
    pub words: Surround,
    /// The series, most urgent first.
    pub rows: Vec<Row>,
    /// How many series follow on the next pages, by action; empty on the last one.
    pub rest: String,
    /// The latest reading's column: "at 40 °C".
    pub reference: String,
    /// The as-of date.
    pub as_of: f64,
    /// First and last day of the date axis.
    pub days: (f64, f64),
    /// Ends of the axis of levels over minimum, log10.
    pub span: (f64, f64),
}

impl Row {
    /// The line of a judgement.
    #[must_use]
    pub fn of(judgement: &Judgement) -> Self {
        build::row(judgement)
    }
}

impl FleetPicture {
    /// The pages of a plant whose series are in order of urgency, for pictures of some size; at least one.
    ///
    /// # Errors
    ///
    /// [`ChartError`] when the size or the resolution is outside its limits.
    pub fn pages(
        rows: &[Row],
        terms: &Terms,
        context: &ChartContext,
        size: Size,
        dpi: u32,
    ) -> Result<Vec<Self>, ChartError> {
        build::pages(rows, terms, context, size, dpi)
    }
}

impl Chart for FleetPicture {
    fn draw<DB: DrawingBackend>(&self, area: &DrawingArea<DB, Shift>) -> Drawn<DB> {
        draw::draw(area, self)
    }

    fn description(&self) -> String {
        self.words.description()
    }
}

/// How many series have which action, of some actions.
fn counts(rows: &[Row], of: &[Action]) -> String {
    let count = |action: Action| rows.iter().filter(|row| row.action == action).count();
    let counted = of.iter().map(|action| (count(*action), action)).filter(|(count, _)| *count > 0);
    counted.map(|(count, action)| format!("{count} {action}")).collect::<Vec<String>>().join(", ")
}
