//! A second opinion: the straight line that textbooks fit to readings of which some are bounds, and the date it gives.
//!
//! It knows no strays, seasons, temperature errors or faster decline, and its interval is too narrow where they matter; but
//! anyone can check it with a general-purpose statistics library. `explain` shows it beside the forecast.
//!
//! # References
//!
//! Tobin 1958, doi:10.2307/1907382: regression with bounds by maximum likelihood. Fieller 1954: the interval of the date.

use super::judgement::Judgement;
use super::outlook::DAYS_PER_YEAR;
use crate::resistance::Bound;
use crate::stats::censored::{self, Observation};
use crate::stats::interval::{normal_two_sided, student_two_sided};
use crate::stats::inverse_prediction::{self, CrossingSet, LineEstimate};
use chrono::{Days, NaiveDate};

/// The textbook line of a stretch.
#[derive(Clone, Debug, PartialEq)]
pub struct TextbookLine {
    /// Slope, decades per year.
    pub slope: f64,
    /// Its standard error.
    pub slope_se: f64,
    /// Scatter of single readings, decades; the maximum-likelihood one.
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

impl Judgement {
    /// Fits the textbook line to the stretch that the forecast rests on.
    ///
    /// # Formula
    ///
    /// log10 R = a + b·t with normal errors; bounds by their tail probability; Fieller's set with Student's t on n − 2 degrees
    /// of freedom while there are fewer than 30 exact readings, else the normal quantile.
    ///
    /// # Errors
    ///
    /// A sentence, where the line cannot be fitted: too few readings, bounds alone, or exact readings on one line.
    pub fn textbook_line(&self) -> Result<TextbookLine, String> {
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
        let fit = censored::fit(&[&years], &levels).map_err(|error| error.to_string())?;
        let line = fit.line().ok_or_else(|| "a line needs readings at different times".to_owned())?;
        let exact = levels.iter().filter(|level| matches!(level, Observation::Exact(_))).count();
        let quantile = quantile(exact, self.confidence.as_fraction())?;
        let minimum = self.assessment.minimum.as_ref().map(|minimum| minimum.resistance.log10_megohms());
        Ok(TextbookLine {
            slope: line.slope,
            slope_se: line.slope_variance.max(0.0).sqrt(),
            scatter: fit.sigma,
            reaches: minimum.map_or(TextbookCrossing::CannotSay, |minimum| self.reaches(&line, minimum, quantile)),
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

/// Exact readings from which the normal quantile serves.
const MANY_READINGS: usize = 30;

fn quantile(exact: usize, confidence: f64) -> Result<f64, String> {
    let quantile = if exact < MANY_READINGS {
        student_two_sided(confidence, exact.saturating_sub(2).max(1))
    } else {
        normal_two_sided(confidence)
    };
    quantile.map_err(|error| error.to_string())
}
