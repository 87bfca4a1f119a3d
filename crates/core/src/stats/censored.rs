//! Normal regression by maximum likelihood where some values are only known as bounds.
//!
//! A value may be exact, above a bound, below one, or between two. Bounds enter the likelihood as bounds; they are never
//! replaced by numbers. In the parameters `beta / sigma` and `1 / sigma` the log-likelihood is concave (Olsen 1978), so
//! Newton's method with step halving finds the maximum from anywhere, if there is one. There often is none: a series that
//! was off the scale for years and then gave one or two exact values is fitted perfectly by a line, and the likelihood
//! grows without limit as `sigma` shrinks. [`finite_maximum`] decides that beforehand, so that a fit never returns the
//! place where an iteration happened to stop.
//!
//! References: Tobin (1958), Econometrica 26, 24-36, doi:10.2307/1907382; Olsen (1978), Note on the uniqueness of the
//! maximum likelihood estimator for the Tobit model, Econometrica 46, 1211-1215, doi:10.2307/1911445; Silvapulle and
//! Burridge (1986), Existence of maximum likelihood estimates in regression models for grouped and ungrouped data,
//! J. R. Stat. Soc. B 48, 100-106.

mod existence;
mod fitted;
mod likelihood;
mod newton;
mod prepare;

use super::design::Frame;
use super::input::InputError;
use super::symmetric::SymmetricMatrix;
use core::fmt;
pub use existence::NoFiniteMaximum;
use prepare::{assemble, prepare};

/// What is known of one value.
///
/// # Units
///
/// Those of the modelled variable.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Observation {
    /// The value itself.
    Exact(f64),
    /// The value is above this bound (right-censored).
    Above(f64),
    /// The value is below this bound (left-censored).
    Below(f64),
    /// The value is between two bounds (interval-censored).
    Between {
        /// The lower bound.
        low: f64,
        /// The upper bound, greater than the lower.
        high: f64,
    },
}

/// How many observations there are of each kind.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Counts {
    /// Exact values.
    pub exact: usize,
    /// Values above a bound.
    pub above: usize,
    /// Values below a bound.
    pub below: usize,
    /// Values between two bounds.
    pub between: usize,
}

/// A normal regression fitted by maximum likelihood.
///
/// # Units
///
/// Coefficients in units of y per unit of their column; `sigma` in units of y.
#[derive(Debug, Clone, PartialEq)]
pub struct CensoredFit {
    /// Coefficients: the intercept, then one for each column.
    pub coef: Vec<f64>,
    /// Standard deviation of the errors: the maximum-likelihood one, whose divisor is n and not n - p.
    pub sigma: f64,
    /// Log-likelihood at the maximum, on the scale of the modelled variable.
    pub log_likelihood: f64,
    /// Inverse of the observed information in the coefficients and `ln sigma`, which comes last.
    pub covariance: SymmetricMatrix,
    /// Observations of each kind.
    pub counts: Counts,
    /// Newton steps taken.
    pub iterations: usize,
    frame: Frame,
    standardised: Vec<f64>,
    standardised_covariance: SymmetricMatrix,
    shift: f64,
}

/// Why there is no fit.
#[derive(Debug, Clone, PartialEq)]
pub enum CensoredError {
    /// The numbers themselves cannot be used.
    Input(InputError),
    /// The likelihood has no finite maximum.
    NoFiniteMaximum(NoFiniteMaximum),
    /// The maximum was not reached to working precision.
    NotConverged {
        /// Newton steps taken.
        iterations: usize,
    },
}

impl fmt::Display for CensoredError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Input(error) => error.fmt(f),
            Self::NoFiniteMaximum(reason) => reason.fmt(f),
            Self::NotConverged { iterations } => write!(
                f,
                "the likelihood was still changing after {iterations} Newton steps; the data determine the line too weakly"
            ),
        }
    }
}

impl core::error::Error for CensoredError {}

impl From<InputError> for CensoredError {
    fn from(error: InputError) -> Self {
        Self::Input(error)
    }
}

/// Fits `y = b0 + b1 x1 + … + sigma e`, `e` standard normal, to exact values and bounds.
///
/// # Formula
///
/// With `z = (y - x'b) / sigma` the log-likelihood is the sum over exact values of `-ln sigma - z^2/2 - ln(2 pi)/2`, above a
/// bound `ln Phi(-z)`, below one `ln Phi(z)`, between two `ln(Phi(z_high) - Phi(z_low))`. The covariance is the inverse of
/// the observed information, not of the expected one, which may differ by a tenth.
///
/// # Units
///
/// Any; the log-likelihood belongs to the variable as given (no Jacobian for a logarithm taken before).
///
/// # Validity
///
/// Independent normal errors of one size; bounds that do not depend on the error. Intervals use normal quantiles and are
/// too short for few exact values.
///
/// # Errors
///
/// [`CensoredError`]: unusable numbers, no finite maximum (decided before fitting), or no convergence.
///
/// # Examples
///
/// Exact values only: the mean, and the standard deviation with divisor n.
/// ```
/// use groundwall::stats::censored::{Observation::Exact, fit};
/// let fit = fit(&[], &[Exact(1.0), Exact(2.0), Exact(3.0)])?;
/// assert!((fit.coef[0] - 2.0).abs() < 1e-14);
/// assert!((fit.sigma - (2.0_f64 / 3.0).sqrt()).abs() < 1e-14);
/// # Ok::<(), groundwall::stats::censored::CensoredError>(())
/// ```
///
/// # References
///
/// Tobin (1958), Econometrica 26, 24-36; Olsen (1978), Econometrica 46, 1211-1215.
pub fn fit(columns: &[&[f64]], observations: &[Observation]) -> Result<CensoredFit, CensoredError> {
    let prepared = prepare(columns, observations)?;
    if let Some(reason) = existence::decide(&prepared.problem) {
        return Err(CensoredError::NoFiniteMaximum(reason));
    }
    let found = newton::maximise(&prepared.problem)?;
    assemble(prepared, found)
}

/// Decides whether the likelihood has a finite maximum, without looking for it; `None` means that it has.
///
/// # Formula
///
/// In `g = beta / sigma`, `t = 1 / sigma` the log-likelihood is concave. It has a maximum exactly if no direction `(dg, dt)`
/// keeps every exact value on the line and every bound respected while relaxing at least one: a small linear programme.
///
/// # Validity
///
/// Values that agree with a line to seven digits of their spread count as lying on it. One case is left to [`fit`]: go/no-go
/// data whose larger bounds are the more often exceeded, where `sigma` runs to infinity.
///
/// # Errors
///
/// [`CensoredError::Input`] for unusable numbers.
///
/// # Examples
///
/// ```
/// use groundwall::stats::censored::{NoFiniteMaximum, Observation::{Above, Exact}, finite_maximum};
/// let year = [2021.0, 2022.0, 2023.0, 2024.0];
/// let values = [Above(3.0), Above(3.0), Exact(2.9), Exact(2.4)];
/// assert_eq!(finite_maximum(&[&year], &values)?, Some(NoFiniteMaximum::PerfectLine { exact: 2 }));
/// # Ok::<(), groundwall::stats::censored::CensoredError>(())
/// ```
///
/// # References
///
/// Silvapulle and Burridge (1986), J. R. Stat. Soc. B 48, 100-106.
pub fn finite_maximum(
    columns: &[&[f64]],
    observations: &[Observation],
) -> Result<Option<NoFiniteMaximum>, CensoredError> {
    match prepare(columns, observations) {
        Ok(prepared) => Ok(existence::decide(&prepared.problem)),
        Err(CensoredError::NoFiniteMaximum(reason)) => Ok(Some(reason)),
        Err(other) => Err(other),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::panic, reason = "a test may stop at the first surprise")]
    use super::Observation::{Above, Below, Between, Exact};
    use super::*;

    const X: [f64; 6] = [0.0, 1.0, 2.0, 3.0, 4.0, 5.0];

    fn reason(x: &[f64], y: &[Observation]) -> NoFiniteMaximum {
        match fit(&[x], y) {
            Err(CensoredError::NoFiniteMaximum(reason)) => reason,
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn every_way_of_having_no_maximum_is_told_apart() {
        let exact = [2.0, 1.9, 1.8, 1.7, 1.6, 1.5].map(Exact);
        assert_eq!(reason(&X, &exact), NoFiniteMaximum::PerfectLine { exact: 6 });
        assert_eq!(reason(&X[..2], &exact[..2]), NoFiniteMaximum::TooFew { found: 2, needed: 3 });
        assert_eq!(reason(&X, &[Above(3.0); 6]), NoFiniteMaximum::OneSided { bounds: 6 });
        assert_eq!(reason(&X, &[Below(3.0); 6]), NoFiniteMaximum::OneSided { bounds: 6 });
        let apart = [Above(2.0), Above(2.0), Above(2.0), Below(2.0), Below(2.0), Below(2.0)];
        assert_eq!(reason(&X, &apart), NoFiniteMaximum::Separated);
        let mixed = [Above(2.0), Above(2.0), Below(2.0), Above(2.0), Below(2.0), Below(2.0)];
        assert_eq!(reason(&X, &mixed), NoFiniteMaximum::BoundsOnOneLine);
        // The higher bound is exceeded more often than the lower: sigma grows without limit.
        let odd = [Above(3.0), Below(2.0), Below(3.0), Above(2.0), Above(3.0), Below(2.0)];
        let y: Vec<Observation> = odd.iter().chain(&odd).chain(&[Below(3.0), Above(2.0)]).copied().collect();
        let x: Vec<f64> = (0..y.len()).map(|i| (i % 5) as f64).collect();
        assert_eq!(reason(&x, &y), NoFiniteMaximum::SpreadUnbounded);
    }

    #[test]
    fn shifting_and_scaling_carry_through() {
        // Identity: y -> 10 y + 7 and x -> x + 2000 change the results in the way the model says.
        let y = [Above(3.0), Exact(2.9), Exact(2.95), Between { low: 2.3, high: 2.6 }, Exact(2.2), Below(2.25)];
        let moved = y.map(|o| match o {
            Exact(v) => Exact(10.0 * v + 7.0),
            Above(v) => Above(10.0 * v + 7.0),
            Below(v) => Below(10.0 * v + 7.0),
            Between { low, high } => Between { low: 10.0 * low + 7.0, high: 10.0 * high + 7.0 },
        });
        let years = X.map(|x| x + 2000.0);
        let a = fit(&[&X], &y).unwrap();
        let b = fit(&[&years], &moved).unwrap();
        let near = |p: f64, q: f64| assert!((p - q).abs() <= 1e-10 * q.abs(), "{p} {q}");
        near(b.coef[1], 10.0 * a.coef[1]);
        near(b.sigma, 10.0 * a.sigma);
        near(b.log_likelihood, a.log_likelihood - 3.0 * 10.0_f64.ln());
        near(b.covariance.at(1, 1), 100.0 * a.covariance.at(1, 1));
        near(b.covariance.at(2, 2), a.covariance.at(2, 2));
        near(b.predict(&[2007.0], 0.9).unwrap().se, 10.0 * a.predict(&[7.0], 0.9).unwrap().se);
        assert_eq!(a.counts, Counts { exact: 3, above: 1, below: 1, between: 1 });
    }

    #[test]
    fn a_narrow_interval_is_an_exact_value() {
        // Identity: ln(Phi(b) - Phi(a)) tends to the density times the width.
        let values = [3.0, 2.7, 2.8, 2.3, 2.4, 2.0];
        let exact = fit(&[&X], &values.map(Exact)).unwrap();
        for width in [1e-9, 1e-6, 1e-4] {
            let narrow = fit(&[&X], &values.map(|v| Between { low: v - width / 2.0, high: v + width / 2.0 })).unwrap();
            let allowed = 1e-9 + width * width;
            assert!((narrow.sigma / exact.sigma - 1.0).abs() < 100.0 * allowed, "{width}");
            assert!((narrow.log_likelihood - exact.log_likelihood - 6.0 * width.ln()).abs() < 1000.0 * allowed);
        }
    }

    #[test]
    fn sentences_name_what_was_found() {
        let refused = |y: &[Observation]| fit(&[&X], y).map(|_| ()).map_err(|e| e.to_string());
        let mut y = [3.0, 2.7, 2.8, 2.3, 2.4, 2.0].map(Exact);
        y[4] = Between { low: 2.0, high: 2.0 };
        let sentence = "the upper bound of an interval, row 5, is 2; it must be greater than the lower bound";
        assert_eq!(refused(&y), Err(sentence.to_owned()));
        y[4] = Above(f64::INFINITY);
        let sentence = "the observations, row 5, is inf; it must be a number no larger than 1e40 in size";
        assert_eq!(refused(&y), Err(sentence.to_owned()));
        assert!(refused(&y[..5]).is_err());
    }

    proptest::proptest! {
        #[test]
        fn any_observations_give_finite_numbers_or_a_reason(
            rows in proptest::collection::vec((0_u8..5, -30_i32..30, -30_i32..30, -2_i32..3), 0..12)
        ) {
            // Whole numbers make ties, perfect lines and separation common; the power of ten makes sizes wild.
            let x: Vec<f64> = rows.iter().map(|r| f64::from(r.1) + 2015.0).collect();
            let y: Vec<Observation> = rows
                .iter()
                .map(|&(kind, _, v, power)| {
                    let v = f64::from(v) * 1e19_f64.powi(if kind == 4 { power } else { 0 });
                    match kind {
                        0 => Above(v),
                        1 => Below(v),
                        2 => Between { low: v, high: v + 2.0 },
                        _ => Exact(v),
                    }
                })
                .collect();
            if let Ok(found) = fit(&[&x], &y) {
                proptest::prop_assert!(found.sigma > 0.0 && found.covariance.is_finite());
                proptest::prop_assert!(found.covariance.standard_errors().iter().all(|se| *se > 0.0));
            }
        }
    }
}
