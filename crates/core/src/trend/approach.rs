//! Every answer about one minimum, from one set of looks at the forecast.

use super::band::tail;
use super::crossing::{CannotSay, Crossing, Curve};
use super::stretch::{Reading, exact_count};

/// Fewer readings than this give no date.
const LEAST_FOR_A_DATE: usize = 3;

/// Readings that lie within this show no course, years.
const ONE_DAY: f64 = 1.0 / 365.25;

/// How the level of a fit approaches one minimum. What the answers have in common is worked out once.
///
/// # Examples
/// ```
/// use groundwall::trend::{fit_lone, Reading, Stretch};
/// let readings = (0..13).map(|k| Reading::exact(-0.25 * f64::from(12 - k), 2.6 - 0.05 * f64::from(k)));
/// let fit = fit_lone(&Stretch::new(readings.collect()).unwrap());
/// let mut approach = fit.approach(0.7);
/// assert_eq!(approach.p_below(1.0), fit.p_below(1.0, 0.7));
/// assert_eq!(approach.crossing(0.9), fit.crossing(0.7, 0.9));
/// ```
pub struct Approach<'a> {
    used: &'a [Reading],
    curve: Curve<'a>,
}

impl<'a> Approach<'a> {
    pub(super) fn new(used: &'a [Reading], below: impl Fn(f64) -> f64 + 'a) -> Self {
        Self { used, curve: Curve::new(below) }
    }

    /// Probability that the level reaches the minimum within `years` of the as-of date (at most 30).
    pub fn p_below(&mut self, years: f64) -> f64 {
        self.curve.reached_by(years)
    }

    /// The interval at `confidence` (inside 0 to 1) for the date on which the level reaches the minimum.
    pub fn crossing(&mut self, confidence: f64) -> Crossing {
        let tail = tail(confidence);
        let ([earliest, median, latest], within_horizon) = self.curve.quantiles([tail, 0.5, 1.0 - tail]);
        let readings = self.used.len();
        let cannot_say = if readings > 1 && time_span(self.used) < ONE_DAY {
            Some(CannotSay::OneDay)
        } else if exact_count(self.used) == 0 {
            Some(CannotSay::NoExactReading { readings })
        } else if readings < LEAST_FOR_A_DATE {
            Some(CannotSay::FewReadings { readings })
        } else if earliest.is_none() {
            Some(CannotSay::NoDecline { within_horizon })
        } else {
            None
        };
        Crossing { earliest, median, latest, within_horizon, cannot_say }
    }

    /// Where the distribution of the crossing date reaches `probability`; `None` if not within 30 years.
    pub fn quantile(&mut self, probability: f64) -> Option<f64> {
        self.curve.quantiles([probability]).0[0]
    }
}

fn time_span(readings: &[Reading]) -> f64 {
    let years = readings.iter().map(|reading| reading.years_from_as_of);
    years.clone().fold(f64::NEG_INFINITY, f64::max) - years.fold(f64::INFINITY, f64::min)
}
