//! From corrected tests to findings and one action per series.

pub mod finding;
pub mod result;

pub use finding::{Code, Evidence, Finding};
pub use result::{
    Action, CorrectedTest, CrossingDates, Forecast, Latest, LeftOut, Level, Minimum, NextTest, SeriesAssessment,
    SinceReason, TrendSummary,
};

use crate::units::{Confidence, Temperature};
use chrono::NaiveDate;

/// A judged series with all that pictures and step-by-step accounts need.
#[derive(Clone, Debug)]
pub struct Judgement {
    /// The judgement itself.
    pub assessment: SeriesAssessment,
    /// Every test of the series, in time order, as the trend sees it.
    pub tests: Vec<CorrectedTest>,
    /// Name and source of the temperature law used.
    pub law: String,
    /// Temperature to which the tests were corrected.
    pub reference: Temperature,
    /// Confidence of the intervals.
    pub confidence: Confidence,
    /// The day on which the judgement stands.
    pub as_of: NaiveDate,
}

impl Judgement {
    /// The underlying level at a day of the stretch or after it; none without a trend.
    #[must_use]
    pub fn level_at(&self, _day: NaiveDate) -> Option<Level> {
        None
    }
}
