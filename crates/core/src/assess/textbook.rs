//! A second opinion: the straight line that textbooks fit to readings of which some are bounds, and the date it gives.
//!
//! It knows no outliers, seasons, temperature errors or faster decline, and its interval is too narrow where they matter; but
//! anyone can check it with a general-purpose statistics library. `explain` shows it beside the forecast.
//!
//! # References
//!
//! Tobin 1958, doi:10.2307/1907382: regression with bounds by maximum likelihood. Fieller 1954: the interval of the date.
//! Student 1908: few readings; the variance has the divisor n − 2, as in least squares.

use super::judgement::Judgement;
use super::outlook::DAYS_PER_YEAR;
use crate::resistance::Bound;
use crate::stats::censored::{self, Observation};
use crate::stats::interval::student_two_sided;
use crate::stats::inverse_prediction::{self, CrossingSet, LineEstimate};
use crate::units::Confidence;
use chrono::{Days, NaiveDate};
use std::error::Error;
use std::fmt;

/// The textbook line of a stretch.
#[derive(Clone, Debug, PartialEq)]
pub struct TextbookLine {
    /// Slope, decades per year.
    pub slope: f64,
    /// Its standard error.
    pub slope_se: f64,
    /// Scatter of single readings, decades, with the divisor of exact readings less two.
    pub scatter: f64,
    /// When it reaches the minimum.
    pub reaches: TextbookCrossing,
}

/// When a textbook line reaches the minimum, at the confidence of the judgement.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TextbookCrossing {
    /// Between two days.
    Between(NaiveDate, NaiveDate),
    /// Not before a day; never is not excluded.
    NotBefore(NaiveDate),
    /// The line does not fall, or nothing can be excluded.
    CannotSay,
}

/// Why a least-squares line cannot be fitted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotFitted {
    /// There are too few exact readings for a line and its scatter.
    TooFewExact {
        /// How many there are.
        exact: usize,
    },
    /// All readings are of one time.
    OneTime,
    /// The fit does not exist, in the words of the statistics.
    NoFit(String),
}

impl fmt::Display for NotFitted {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooFewExact { exact } => {
                write!(f, "there are {exact} exact readings; a line and its scatter need {LEAST_EXACT}")
            }
            Self::OneTime => f.write_str("a line needs readings at different times"),
            Self::NoFit(why) => f.write_str(why),
        }
    }
}

impl Error for NotFitted {}

impl Judgement {
    /// Fits the textbook line to the stretch that the forecast rests on.
    ///
    /// # Formula
    ///
    /// log10 R = a + b·t with normal errors; bounds by their tail probability. With n exact readings the maximum-likelihood variances are
    /// multiplied by n/(n − 2), which gives those of least squares where there is no bound; Fieller's set with Student's t on n − 2
    /// degrees of freedom.
    ///
    /// # Validity
    ///
    /// Without bounds the interval holds the date as often as it says. Bounds add certainty that the factor n/(n − 2) leaves out, so with
    /// them it is a little too wide.
    ///
    /// # Errors
    ///
    /// [`NotFitted`] for fewer than three exact readings, readings at one time, or exact readings on one line.
    pub fn textbook_line(&self) -> Result<TextbookLine, NotFitted> {
        let (mut years, mut levels) = (Vec::new(), Vec::new());
        for test in self.tests.iter().filter(|test| test.left_out.is_none()) {
            let Some((bound, value)) = test.corrected.and_then(|value| Some((value.bound(), value.resistance()?)))
            else {
                continue;
            };
            years.push(test.tested_on.years_since(self.as_of));
            levels.push(match bound {
                Bound::Exact => Observation::Exact(value.log10_megohms()),
                Bound::Above => Observation::Above(value.log10_megohms()),
                Bound::Below => Observation::Below(value.log10_megohms()),
            });
        }
        let fitted = straight_line(&years, &levels, self.confidence)?;
        let minimum = self.assessment.minimum.as_ref().map(|minimum| minimum.resistance.log10_megohms());
        Ok(TextbookLine {
            slope: fitted.line.slope,
            slope_se: fitted.line.slope_variance.max(0.0).sqrt(),
            scatter: fitted.scatter,
            reaches: minimum
                .map_or(TextbookCrossing::CannotSay, |minimum| self.reaches(&fitted.line, minimum, fitted.quantile)),
        })
    }

    fn reaches(&self, line: &LineEstimate, minimum: f64, quantile: f64) -> TextbookCrossing {
        let day = |years: f64| day_from(self.as_of, years);
        match inverse_prediction::crossing(line, minimum, 0.0, quantile).map(|crossing| crossing.set) {
            Ok(CrossingSet::Interval { low, high }) if line.slope < 0.0 => {
                TextbookCrossing::Between(day(low), day(high))
            }
            Ok(CrossingSet::TwoHalfLines { from, .. } | CrossingSet::AtLeast(from))
                if line.slope < 0.0 && from > 0.0 =>
            {
                TextbookCrossing::NotBefore(day(from))
            }
            _ => TextbookCrossing::CannotSay,
        }
    }
}

/// The day that many years after another, or before it, held inside the calendar: a line through the readings has a past too.
fn day_from(as_of: NaiveDate, years: f64) -> NaiveDate {
    let days = Days::new((years.abs() * DAYS_PER_YEAR).floor() as u64);
    let day = if years < 0.0 { as_of.checked_sub_days(days) } else { as_of.checked_add_days(days) };
    day.unwrap_or(if years < 0.0 { NaiveDate::MIN } else { NaiveDate::MAX })
}

/// A line with variances that are right for few readings.
struct Fitted {
    line: LineEstimate,
    scatter: f64,
    /// Half width of an interval in standard errors.
    quantile: f64,
}

fn straight_line(years: &[f64], levels: &[Observation], confidence: Confidence) -> Result<Fitted, NotFitted> {
    let exact = levels.iter().filter(|level| matches!(level, Observation::Exact(_))).count();
    if exact < LEAST_EXACT {
        return Err(NotFitted::TooFewExact { exact });
    }
    let fit = censored::fit(&[years], levels).map_err(|error| NotFitted::NoFit(error.to_string()))?;
    let line = fit.line().ok_or(NotFitted::OneTime)?;
    let freedom = exact - 2;
    let quantile =
        student_two_sided(confidence.as_fraction(), freedom).map_err(|error| NotFitted::NoFit(error.to_string()))?;
    let few = exact as f64 / freedom as f64;
    Ok(Fitted {
        line: LineEstimate {
            level_variance: line.level_variance * few,
            slope_variance: line.slope_variance * few,
            covariance: line.covariance * few,
            ..line
        },
        scatter: fit.sigma * few.sqrt(),
        quantile,
    })
}

/// Exact readings without which the scatter about a line cannot be estimated.
const LEAST_EXACT: usize = 3;

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]
mod tests {
    use super::*;
    use chacha20::ChaCha8Rng;
    use chacha20::rand_core::{Rng, SeedableRng};

    /// Exact readings fall by 0.1 decades a year from 1 with a scatter of 0.1. An interval of 90 % holds the day on which they would
    /// reach 0, ten years after the first, in 90 % of 4000 histories; four standard errors of that share are 1.9 %.
    #[test]
    fn with_few_exact_readings_the_interval_holds_the_date_as_often_as_it_says() {
        let mut rng = ChaCha8Rng::seed_from_u64(20_261_128);
        let mut uniform = || (rng.next_u64() >> 11) as f64 / (1_u64 << 53) as f64;
        // Box and Muller 1958.
        let mut normal = || (-2.0 * (1.0 - uniform()).ln()).sqrt() * (std::f64::consts::TAU * uniform()).cos();
        let confidence = Confidence::from_fraction(0.9).unwrap();
        for n in [3_usize, 4, 5, 8, 30] {
            let years: Vec<f64> = (0..n).map(|i| i as f64 / 2.0).collect();
            let held = (0..4000).filter(|_| {
                let levels: Vec<Observation> =
                    years.iter().map(|t| Observation::Exact(1.0 - 0.1 * t + 0.1 * normal())).collect();
                let fitted = straight_line(&years, &levels, confidence).unwrap();
                let crossing = inverse_prediction::crossing(&fitted.line, 0.0, 0.0, fitted.quantile).unwrap();
                crossing.set.contains(10.0)
            });
            let share = held.count() as f64 / 4000.0;
            assert!((share - 0.9).abs() < 0.019, "{n} readings: {share}");
        }
    }

    /// Three readings 1, 2, 2 at 0, 1, 2 by hand: slope 1/2, residuals −1/6, 1/3, −1/6, so s² = 1/6 with one degree of freedom and
    /// the slope's variance is s²/2.
    #[test]
    fn variances_are_those_of_least_squares() {
        let levels = [1.0, 2.0, 2.0].map(Observation::Exact);
        let fitted = straight_line(&[0.0, 1.0, 2.0], &levels, Confidence::from_fraction(0.9).unwrap()).unwrap();
        assert!((fitted.line.slope - 0.5).abs() < 1e-12);
        assert!((fitted.line.slope_variance - 1.0 / 12.0).abs() < 1e-9);
        assert!((fitted.scatter - (1.0_f64 / 6.0).sqrt()).abs() < 1e-9);
    }

    #[test]
    fn what_cannot_be_fitted_says_why() {
        let why = |levels: &[Observation]| {
            let years: Vec<f64> = (0..levels.len()).map(|i| i as f64).collect();
            straight_line(&years, levels, Confidence::from_fraction(0.9).unwrap())
                .err()
                .map_or_else(String::new, |error| error.to_string())
        };
        assert_eq!(
            why(&[Observation::Above(3.0), Observation::Exact(2.9), Observation::Exact(2.8)]),
            "there are 2 exact readings; a line and its scatter need 3"
        );
        for off in [0.0, 1e-12, 1e-10, 1e-9, 1e-8] {
            let levels: Vec<Observation> =
                [2.0, 1.9, 1.8 + off, 1.7, 1.6 - off, 1.5].into_iter().map(Observation::Exact).collect();
            assert_eq!(
                why(&levels),
                "a line passes through all 6 exact values and contradicts no bound; their scatter cannot be estimated",
                "{off}"
            );
        }
        for off in [1e-7, 1e-6, 1e-5, 1e-4] {
            let levels: Vec<Observation> =
                [2.0, 1.9, 1.8 + off, 1.7, 1.6 - off, 1.5].into_iter().map(Observation::Exact).collect();
            assert_eq!(why(&levels), "", "{off}");
        }
    }
}
