//! What a fitted censored regression says: predictions, covariances, and its straight line.

use super::super::input::InputError;
use super::super::interval::{Interval, normal_two_sided};
use super::super::inverse_prediction::LineEstimate;
use super::super::least_squares::Prediction;
use super::super::symmetric::SymmetricMatrix;
use super::CensoredFit;

impl CensoredFit {
    /// Covariance of the coefficients and `sigma` itself, which comes last.
    ///
    /// # Formula
    ///
    /// The row and column of `ln sigma` multiplied by `sigma`; exact at the maximum.
    ///
    /// # Examples
    ///
    /// Of n exact values without a slope, `sigma` has the variance `sigma^2 / 2n`: 1/9 for 1, 2, 3.
    /// ```
    /// use groundwall::stats::censored::{Observation::Exact, fit};
    /// let fit = fit(&[], &[Exact(1.0), Exact(2.0), Exact(3.0)])?;
    /// assert!((fit.covariance_with_sigma().get(1, 1).unwrap() - 1.0 / 9.0).abs() < 1e-12);
    /// # Ok::<(), groundwall::stats::censored::CensoredError>(())
    /// ```
    #[must_use]
    pub fn covariance_with_sigma(&self) -> SymmetricMatrix {
        let last = self.coef.len();
        let mut out = self.covariance.clone();
        for i in 0..last {
            out.set(last, i, self.covariance.at(last, i) * self.sigma);
        }
        out.set(last, last, self.covariance.at(last, last) * self.sigma * self.sigma);
        out
    }

    /// Value of the model at a row, with intervals for it and for one new value.
    ///
    /// # Formula
    ///
    /// `m -+ z se` and `m -+ z sqrt(se^2 + sigma^2)` with the normal quantile `z`.
    ///
    /// # Units
    ///
    /// `row` as the columns of the fit, without the one of the intercept.
    ///
    /// # Errors
    ///
    /// [`InputError`] for a row of the wrong length or beyond 1e40, or a level outside (0, 1).
    ///
    /// # Examples
    ///
    /// The mean of 1, 2, 3 has the variance `sigma^2 / 3 = 2/9`; 1.96 standard errors hold 95 %.
    /// ```
    /// use groundwall::stats::censored::{Observation::Exact, fit};
    /// let mean = fit(&[], &[Exact(1.0), Exact(2.0), Exact(3.0)])?.predict(&[], 0.95)?;
    /// assert!((mean.se - (2.0_f64 / 9.0).sqrt()).abs() < 1e-12);
    /// assert!((mean.mean_interval.high - (2.0 + 1.959964 * mean.se)).abs() < 1e-6);
    /// # Ok::<(), groundwall::stats::censored::CensoredError>(())
    /// ```
    pub fn predict(&self, row: &[f64], confidence: f64) -> Result<Prediction, InputError> {
        let mut z = self.frame.standardise(row)?;
        let quantile = normal_two_sided(confidence)?;
        let mean = self.shift + z.iter().zip(&self.standardised).map(|(a, b)| a * b).sum::<f64>();
        z.push(0.0);
        let variance = self.standardised_covariance.quadratic(&z).max(0.0);
        let reading = (variance + self.sigma * self.sigma).sqrt();
        let se = variance.sqrt();
        if !mean.is_finite() || !(quantile * reading).is_finite() {
            return Err(InputError::OutOfRange);
        }
        Ok(Prediction {
            mean,
            se,
            mean_interval: Interval::about(mean, quantile * se),
            reading_interval: Interval::about(mean, quantile * reading),
        })
    }

    /// The straight line in the form that inverse prediction takes; `None` unless there is exactly one column.
    #[must_use]
    pub fn line(&self) -> Option<LineEstimate> {
        let frame = self.frame.line()?;
        Some(LineEstimate {
            centre: frame.centre,
            level: self.shift + self.standardised[0],
            slope: self.standardised[1] / frame.scale,
            level_variance: self.standardised_covariance.at(0, 0),
            slope_variance: self.standardised_covariance.at(1, 1) / (frame.scale * frame.scale),
            covariance: self.standardised_covariance.at(0, 1) / frame.scale,
        })
    }
}
