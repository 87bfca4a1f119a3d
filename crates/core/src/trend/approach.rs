//! Every answer about one minimum, from one set of looks at the forecast.

use super::band::tail;
use super::crossing::{CannotSay, Crossing, Curve};
use super::stretch::{Reading, exact_count};
use crate::units::{Confidence, Probability, Years};

/// Fewer readings than this give no date.
const LEAST_FOR_A_DATE: usize = 3;

/// Readings that lie within this show no course, years.
const ONE_DAY: f64 = 1.0 / 365.25;

/// How the level of a fit approaches one minimum. What the answers have in common is worked out once.
///
/// # Examples
/// ```
/// use groundwall::{resistance::Bound, trend::{fit_lone, Reading, Stretch}};
/// use groundwall::units::{Confidence, OutOfRange, Resistance, Years};
/// let readings = [400.0, 360.0, 310.0, 280.0, 250.0].into_iter().zip([-1.0, -0.75, -0.5, -0.25, 0.0]);
/// let readings = readings.map(|(mohm, years)| {
///     Ok::<_, OutOfRange>(Reading::new(Years::from_years(years)?, Bound::Exact, Resistance::from_megohms(mohm)?))
/// });
/// let fit = fit_lone(&Stretch::new(readings.collect::<Result<_, _>>()?)?);
/// let (minimum, year) = (Resistance::from_megohms(5.0)?, Years::from_years(1.0)?);
/// let mut approach = fit.approach(minimum);
/// assert_eq!(approach.p_below(year), fit.p_below(year, minimum));
/// let confidence = Confidence::from_fraction(0.9)?;
/// assert_eq!(approach.crossing(confidence), fit.crossing(minimum, confidence));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub struct Approach<'a> {
    used: &'a [Reading],
    curve: Curve<'a>,
}

impl<'a> Approach<'a> {
    pub(super) fn new(used: &'a [Reading], below: impl Fn(f64) -> f64 + 'a) -> Self {
        Self { used, curve: Curve::new(below) }
    }

    /// Probability that the level reaches the minimum by a day; what is past counts as the as-of date.
    pub fn p_below(&mut self, by: Years) -> Probability {
        Probability::of_harm(self.curve.reached_by(by.as_years()))
    }

    /// The interval at `confidence` for the date on which the level reaches the minimum.
    pub fn crossing(&mut self, confidence: Confidence) -> Crossing {
        let tail = tail(confidence);
        let ([earliest, median, latest], within_horizon) = self.curve.quantiles([tail, 0.5, 1.0 - tail]);
        let within_horizon = Probability::of_harm(within_horizon);
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
        let [earliest, median, latest] = [earliest, median, latest].map(|years| years.map(Years::clamped));
        Crossing { earliest, median, latest, within_horizon, cannot_say }
    }

    /// Where the distribution of the crossing date reaches `probability`; `None` if not within 30 years.
    pub fn quantile(&mut self, probability: Probability) -> Option<Years> {
        self.curve.quantiles([probability.as_fraction()]).0[0].map(Years::clamped)
    }
}

fn time_span(readings: &[Reading]) -> f64 {
    let years = readings.iter().map(|reading| reading.years_from_as_of);
    years.clone().fold(f64::NEG_INFINITY, f64::max) - years.fold(f64::INFINITY, f64::min)
}
