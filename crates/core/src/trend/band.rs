//! Intervals of a mixture of t distributions: of a level, a slope, or one more reading.

use super::mixture::Moments;
use crate::stats::student::StudentTable;

/// Steps of the search for a quantile of a level.
const STEPS: usize = 80;
/// The search ends at this many decades.
const CLOSE_DECADES: f64 = 1e-7;

/// A value with the interval that holds it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    /// Lower end.
    pub low: f64,
    /// Median.
    pub median: f64,
    /// Upper end.
    pub high: f64,
}

/// What one more reading would show.
#[derive(Clone, Debug)]
pub struct ReadingForecast {
    moments: Vec<Moments>,
    table: StudentTable,
}

impl ReadingForecast {
    pub(super) fn new(moments: Vec<Moments>, table: StudentTable) -> Self {
        Self { moments, table }
    }

    /// Probability that the reading is at or below `log10_mohm`.
    pub fn p_at_most(&self, log10_mohm: f64) -> f64 {
        cumulative(&self.moments, &self.table, log10_mohm)
    }

    /// The interval at `confidence`.
    pub fn band(&self, confidence: f64) -> Band {
        band(&self.moments, &self.table, confidence)
    }
}

/// Lower tail of a mixture of t distributions.
fn cumulative(moments: &[Moments], table: &StudentTable, value: f64) -> f64 {
    moments
        .iter()
        .map(|m| m.weight * (table.lower_tail_of(value - m.mean, m.variance) / m.falling).min(1.0))
        .sum::<f64>()
        .clamp(0.0, 1.0)
}

/// The interval at `confidence` of a mixture of t distributions.
pub(super) fn band(moments: &[Moments], table: &StudentTable, confidence: f64) -> Band {
    let tail = tail(confidence);
    let [low, median, high] = [tail, 0.5, 1.0 - tail].map(|p| quantile(moments, table, p));
    Band { low, median, high }
}

/// Quantile of a mixture of t distributions, by bisection between values that surely lie outside.
fn quantile(moments: &[Moments], table: &StudentTable, p: f64) -> f64 {
    let centre = moments.iter().map(|m| m.weight * m.mean).sum::<f64>();
    let width = moments.iter().fold(1e-6_f64, |w, m| {
        w.max((m.mean - centre).abs() + 3.0 * m.variance.sqrt())
    });
    let (mut low, mut high) = (centre - width, centre + width);
    let mut reach = width;
    for _ in 0..STEPS {
        reach *= 2.0;
        if cumulative(moments, table, low) >= p {
            low = centre - reach;
        } else if cumulative(moments, table, high) < p {
            high = centre + reach;
        } else {
            break;
        }
    }
    for _ in 0..STEPS {
        let middle = 0.5 * (low + high);
        if high - low < CLOSE_DECADES {
            break;
        }
        if cumulative(moments, table, middle) >= p {
            high = middle;
        } else {
            low = middle;
        }
    }
    0.5 * (low + high)
}

/// Half of what the interval leaves out.
pub(super) fn tail(confidence: f64) -> f64 {
    if confidence.is_finite() {
        0.5 * (1.0 - confidence.clamp(1e-6, 1.0 - 1e-6))
    } else {
        0.05
    }
}
