//! A decaying current: a power law of time, with or without a constant leakage.
//!
//! Insulating dielectrics under a direct voltage draw a current `A t^-n` while they polarise, on top of whatever leaks
//! steadily. Given currents (or currents per volt, the reciprocals of resistances) at several times, this module finds
//! `A`, `n` and the leakage by nonlinear least squares, with errors that are either all of one size or all of one
//! proportion. It starts from a sweep over the exponent, where the other two are a linear problem, and finishes with
//! damped Gauss-Newton steps.
//!
//! References: Golub and Pereyra (1973), SIAM J. Numer. Anal. 10, 413-432, doi:10.1137/0710036, for the separation;
//! Marquardt (1963), J. Soc. Ind. Appl. Math. 11, 431-441, doi:10.1137/0111030, for the damping.

mod descent;

use super::input::{InputError, check_length, check_positive, check_values};
use super::symmetric::{Cholesky, SymmetricMatrix};
use core::fmt;
use descent::Curve;

/// An exponent beyond this is not a power law of anything.
const LARGEST_EXPONENT: f64 = 10.0;

/// Whether a constant leakage is part of the model.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Leakage {
    /// `A t^-n + G`.
    Fitted,
    /// `A t^-n`.
    Absent,
}

/// How the errors grow with the value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ErrorScale {
    /// All errors have one standard deviation: squares of `i - f(t)`.
    Additive,
    /// All errors are one proportion of the value: squares of `ln i - ln f(t)`. Without leakage this is the straight line
    /// of ln i against ln t.
    Relative,
}

/// A fitted decay.
///
/// # Units
///
/// `leakage` as the currents; `amplitude` as the current at time 1; `exponent` has none.
#[derive(Debug, Clone, PartialEq)]
pub struct Decay {
    /// `A`, the decaying current at time 1.
    pub amplitude: f64,
    /// `n`, the exponent of the decay.
    pub exponent: f64,
    /// `G`, the steady current; `None` if it was not part of the model.
    pub leakage: Option<f64>,
    /// Covariance of amplitude, exponent and, where fitted, leakage.
    pub covariance: SymmetricMatrix,
    /// Sum of squared residuals, on the scale of the errors.
    pub residual_sum_of_squares: f64,
    /// Residual standard deviation, on the scale of the errors.
    pub residual_sd: f64,
    /// Readings less parameters.
    pub degrees_of_freedom: usize,
}

/// Why no decay can be fitted.
#[derive(Debug, Clone, PartialEq)]
pub enum CurveError {
    /// The numbers themselves cannot be used.
    Input(InputError),
    /// Best fit beyond every sensible exponent.
    ExponentRunsAway {
        /// The exponent reached.
        exponent: f64,
    },
    /// The readings do not tell the parameters apart.
    Undetermined,
    /// The sum of squares was still falling at the last step.
    NotConverged {
        /// Steps taken.
        iterations: usize,
    },
}

impl fmt::Display for CurveError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Input(error) => error.fmt(f),
            Self::ExponentRunsAway { exponent } => write!(
                f,
                "the exponent has reached {exponent:.3}; a power law must have one between -{LARGEST_EXPONENT} and {LARGEST_EXPONENT}"
            ),
            Self::Undetermined => write!(
                f,
                "the readings do not distinguish amplitude, exponent and leakage; more or longer times are needed"
            ),
            Self::NotConverged { iterations } => {
                write!(
                    f,
                    "the sum of squares was still falling after {iterations} steps; the readings fit no power law"
                )
            }
        }
    }
}

impl core::error::Error for CurveError {}

impl From<InputError> for CurveError {
    fn from(error: InputError) -> Self {
        Self::Input(error)
    }
}

impl Decay {
    /// Current of the fitted curve at a time.
    ///
    /// # Formula
    ///
    /// `A t^-n + G`.
    ///
    /// # Units
    ///
    /// `time` as in the fit.
    ///
    /// # Errors
    ///
    /// [`InputError`] for a time that is not positive, or a current beyond the range of floating-point numbers.
    ///
    /// # Examples
    ///
    /// `12/t` exactly, at a time between the readings:
    /// ```
    /// use groundwall::stats::curve::{ErrorScale, Leakage, fit_decay};
    /// let decay = fit_decay(&[1.0, 2.0, 6.0], &[12.0, 6.0, 2.0], Leakage::Absent, ErrorScale::Relative)?;
    /// assert!((decay.current_at(4.0)? - 3.0).abs() < 1e-9);
    /// # Ok::<(), groundwall::stats::curve::CurveError>(())
    /// ```
    pub fn current_at(&self, time: f64) -> Result<f64, InputError> {
        check_positive("the time", &[time])?;
        let current = self.amplitude * libm::pow(time, -self.exponent) + self.leakage.unwrap_or(0.0);
        if current.is_finite() { Ok(current) } else { Err(InputError::OutOfRange) }
    }
}

/// Fits a power law, with or without leakage, to currents at several times.
///
/// # Formula
///
/// `f(t) = A t^-n + G`; the parameters minimise `sum (i - f)^2` or `sum (ln i - ln f)^2`;
/// `cov = s^2 (J'J)^-1` with `s^2 = RSS / (readings - parameters)`.
///
/// # Units
///
/// Any times and currents; a current per volt is as good as a current.
///
/// # Validity
///
/// More readings than parameters. Standard errors are first-order; leakage and amplitude are distinguished only by times
/// that span a decade or more.
///
/// # Errors
///
/// [`CurveError`]: unusable numbers (times and, for relative errors, currents must be positive), an exponent that runs
/// away, parameters that cannot be distinguished, no convergence.
///
/// # Examples
///
/// `100/t + 2` exactly:
/// ```
/// use groundwall::stats::curve::{ErrorScale, Leakage, fit_decay};
/// let decay = fit_decay(
///     &[1.0, 2.0, 5.0, 10.0, 50.0],
///     &[102.0, 52.0, 22.0, 12.0, 4.0],
///     Leakage::Fitted,
///     ErrorScale::Relative,
/// )?;
/// assert!((decay.exponent - 1.0).abs() < 1e-9);
/// assert!((decay.leakage.unwrap_or(0.0) - 2.0).abs() < 1e-8);
/// # Ok::<(), groundwall::stats::curve::CurveError>(())
/// ```
///
/// # References
///
/// Golub and Pereyra (1973), SIAM J. Numer. Anal. 10, 413-432; Marquardt (1963), J. Soc. Ind. Appl. Math. 11, 431-441.
pub fn fit_decay(times: &[f64], currents: &[f64], leakage: Leakage, errors: ErrorScale) -> Result<Decay, CurveError> {
    check_length("currents", currents, times.len())?;
    check_positive("times", times)?;
    match errors {
        ErrorScale::Relative => check_positive("currents", currents)?,
        ErrorScale::Additive => check_values("currents", currents)?,
    }
    let p = if leakage == Leakage::Fitted { 3 } else { 2 };
    let n = times.len();
    if n <= p {
        return Err(InputError::TooFew { found: n, needed: p + 1 }.into());
    }
    let problem = Curve::new(times, currents, leakage, errors)?;
    let (theta, rss) = problem.descend(problem.sweep().ok_or(CurveError::Undetermined)?)?;
    let (cross, _) = problem.normal(&theta);
    let inverse = Cholesky::new(&cross, 0.0).ok_or(CurveError::Undetermined)?.inverse();
    problem.report(&theta, rss, &inverse, n - p)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
    use super::*;

    const TIMES: [f64; 6] = [15.0, 30.0, 60.0, 120.0, 300.0, 600.0];

    #[test]
    fn units_of_time_and_current_carry_through() {
        // Identity: minutes for seconds multiply A by 60^-n; microamperes for amperes multiply A and G by 1e6.
        let currents = [3.9, 2.1, 1.15, 0.73, 0.44, 0.30];
        for errors in [ErrorScale::Additive, ErrorScale::Relative] {
            let a = fit_decay(&TIMES, &currents, Leakage::Fitted, errors).unwrap();
            let minutes = TIMES.map(|t| t / 60.0);
            let b = fit_decay(&minutes, &currents.map(|i| i * 1e-6), Leakage::Fitted, errors).unwrap();
            let near = |p: f64, q: f64| assert!((p / q - 1.0).abs() < 1e-7, "{p} {q}");
            near(a.exponent, b.exponent);
            near(a.amplitude * 60.0_f64.powf(-a.exponent) * 1e-6, b.amplitude);
            near(a.leakage.unwrap() * 1e-6, b.leakage.unwrap());
            near(a.covariance.at(1, 1), b.covariance.at(1, 1));
            near(a.current_at(60.0).unwrap() * 1e-6, b.current_at(1.0).unwrap());
        }
    }

    #[test]
    fn readings_that_determine_nothing_are_refused() {
        let both = [ErrorScale::Additive, ErrorScale::Relative];
        for errors in both {
            let flat = fit_decay(&TIMES, &[2.0; 6], Leakage::Fitted, errors);
            assert!(flat.is_err(), "{flat:?}");
            let steady = fit_decay(&TIMES, &[2.0; 6], Leakage::Absent, errors).unwrap();
            assert!(steady.exponent.abs() < 1e-12 && (steady.amplitude - 2.0).abs() < 1e-10);
            assert_eq!(fit_decay(&[60.0; 6], &[2.0; 6], Leakage::Absent, errors), Err(CurveError::Undetermined));
            assert!(fit_decay(&TIMES[..3], &[3.0, 2.0, 1.0], Leakage::Fitted, errors).is_err());
            assert!(fit_decay(&[0.0, 1.0, 2.0], &[3.0, 2.0, 1.0], Leakage::Absent, errors).is_err());
            // A logarithm of time is the limit of exponent zero and infinite amplitude.
            let log = TIMES.map(|t| 10.0 - t.ln());
            if let Ok(decay) = fit_decay(&TIMES, &log, Leakage::Fitted, errors) {
                assert!(decay.covariance.is_finite());
            }
        }
        assert_eq!(fit_decay(&TIMES, &[0.0; 6], Leakage::Absent, ErrorScale::Additive), Err(CurveError::Undetermined));
    }
}
