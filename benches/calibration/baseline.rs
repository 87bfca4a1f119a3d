//! What a spreadsheet does: a straight line through log resistance, readings beyond the scale dropped, and Fieller's
//! interval for the date on which it reaches the minimum.

use groundwall::resistance::Bound;
use groundwall::stats::inverse_prediction::{CrossingSet, crossing};
use groundwall::stats::least_squares::{Intercept, fit};
use groundwall::trend::Stretch;
use statrs::distribution::{ContinuousCDF, StudentsT};

use crate::history::MINIMUM;
use crate::scoring::Interval;

/// The interval at 90 %; everything from today on where no line can be drawn.
pub(crate) fn interval(stretch: &Stretch) -> Interval {
    line(stretch).unwrap_or(Interval { earliest: 0.0, median: f64::INFINITY, latest: f64::INFINITY })
}

fn line(stretch: &Stretch) -> Option<Interval> {
    let exact = stretch.readings().iter().filter(|r| r.bound() == Bound::Exact);
    let (t, y): (Vec<f64>, Vec<f64>) = exact.map(|r| (r.when().as_years(), r.corrected().log10_megohms())).unzip();
    if t.len() < 3 {
        return None;
    }
    let fit = fit(&[&t], &y, None, Intercept::Fitted).ok()?;
    let line = fit.line()?;
    let quantile = StudentsT::new(0.0, 1.0, fit.degrees_of_freedom as f64).ok()?.inverse_cdf(0.95);
    let crossing = crossing(&line, MINIMUM, 0.0, quantile).ok()?;
    let never = f64::INFINITY;
    let (earliest, latest) = match crossing.set {
        // A line that rises was at the minimum in the past, and will not be again.
        CrossingSet::Interval { .. } if line.slope >= 0.0 => (never, never),
        CrossingSet::Interval { low, high } => (low.max(0.0), high.max(0.0)),
        CrossingSet::TwoHalfLines { until, from } => (if until >= 0.0 { 0.0 } else { from.max(0.0) }, never),
        CrossingSet::AtLeast(from) => (from.max(0.0), never),
        CrossingSet::AtMost(until) => (0.0, until.max(0.0)),
        CrossingSet::WholeLine => (0.0, never),
    };
    let median = if line.slope < 0.0 { crossing.estimate.unwrap_or(never).max(0.0) } else { never };
    Some(Interval { earliest, median, latest })
}
