//! Weighted linear least squares by Householder reflections.
//!
//! The model is `y = b0 + b1 x1 + … + e` (or the same without `b0`), with `e` normal of variance `s^2 / weight`. The
//! normal equations are never formed: they would square the condition number, and the polynomial and Longley problems
//! of the NIST reference sets would lose most of their digits. Columns are centred and scaled inside, so calendar years
//! may be given as they are.
//!
//! References: Golub (1965), Numerical methods for solving linear least squares problems, Numer. Math. 7, 206-216,
//! doi:10.1007/BF01436075; Draper and Smith (1998), Applied Regression Analysis, 3rd ed., ch. 1 and 5.

use super::design::{Design, Frame, covariance_back, mean, power_of_two_below};
use super::householder::householder;
use super::input::{InputError, LARGEST, check_length, check_positive, check_values};
use super::interval::{Interval, student_two_sided};
use super::inverse_prediction::LineEstimate;
use super::symmetric::SymmetricMatrix;

/// Whether the model has a constant term of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Intercept {
    /// A constant term is fitted and comes first among the coefficients.
    Fitted,
    /// The model passes through the origin.
    Absent,
}

/// A fitted linear model.
///
/// # Units
///
/// Coefficients in units of `y` per unit of their column; covariances in products of those.
#[derive(Debug, Clone, PartialEq)]
pub struct LinearFit {
    /// Coefficients: the intercept first where there is one, then one for each column.
    pub coef: Vec<f64>,
    /// Covariance of the coefficients, `s^2 (X'WX)^-1`.
    pub covariance: SymmetricMatrix,
    /// Standard deviation `s` of a reading of weight 1.
    pub residual_sd: f64,
    /// Weighted sum of squared residuals.
    pub residual_sum_of_squares: f64,
    /// Rows less coefficients.
    pub degrees_of_freedom: usize,
    /// Share of the variation explained: about the mean with an intercept, about zero without; `None` if `y` has none.
    pub r_squared: Option<f64>,
    frame: Frame,
    standardised: Vec<f64>,
    standardised_covariance: SymmetricMatrix,
    shift: f64,
}

/// What the fitted model says about one place.
///
/// # Units
///
/// All in units of `y`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prediction {
    /// Value of the model.
    pub mean: f64,
    /// Standard error of that value.
    pub se: f64,
    /// Confidence interval for the value of the model.
    pub mean_interval: Interval,
    /// Prediction interval for one new reading.
    pub reading_interval: Interval,
}

/// Fits a linear model by weighted least squares.
///
/// # Formula
///
/// `b` minimises `sum w (y - Xb)^2`; `s^2 = sum w r^2 / (n - p)`; `cov b = s^2 (X'WX)^-1`.
///
/// # Units
///
/// Any. Only the ratios of the weights matter for `coef` and `covariance`; `residual_sd` belongs to weight 1.
///
/// # Validity
///
/// More rows than coefficients; weights are known up to a common factor; errors independent.
///
/// # Errors
///
/// [`InputError`] for slices of different length, values that are not numbers or beyond 1e40, weights that are not
/// positive, too few rows, and columns that are combinations of others.
///
/// # Examples
///
/// The points (0, 0), (1, 2), (2, 1) have the line `1/2 + x/2` with residuals -1/2, 1, -1/2.
/// ```
/// use groundwall::stats::least_squares::{Intercept, fit};
/// let line = fit(&[&[0.0, 1.0, 2.0]], &[0.0, 2.0, 1.0], None, Intercept::Fitted)?;
/// assert!((line.coef[0] - 0.5).abs() < 1e-15 && (line.coef[1] - 0.5).abs() < 1e-15);
/// assert!((line.residual_sum_of_squares - 1.5).abs() < 1e-15);
/// # Ok::<(), groundwall::stats::input::InputError>(())
/// ```
///
/// # References
///
/// Golub (1965), Numer. Math. 7, 206-216.
pub fn fit(
    columns: &[&[f64]],
    y: &[f64],
    weights: Option<&[f64]>,
    intercept: Intercept,
) -> Result<LinearFit, InputError> {
    let n = y.len();
    let has_intercept = intercept == Intercept::Fitted;
    let p = columns.len() + usize::from(has_intercept);
    check_values("y", y)?;
    if let Some(w) = weights {
        check_length("weights", w, n)?;
        check_positive("weights", w)?;
    }
    if p == 0 || n <= p {
        return Err(InputError::TooFew { found: n, needed: p + 1 });
    }
    let design = Design::new(columns, n, has_intercept, weights)?;
    let heaviest = weights.map_or(1.0, |w| w.iter().fold(0.0_f64, |m, &v| m.max(v)));
    let roots: Vec<f64> = (0..n).map(|i| weights.map_or(1.0, |w| (w[i] / heaviest).sqrt())).collect();

    let shift = if has_intercept { mean(y, weights) } else { 0.0 };
    let size = y.iter().fold(0.0_f64, |m, v| m.max((v - shift).abs()));
    let y_scale = if size > 1.0 / LARGEST { power_of_two_below(size) } else { 1.0 };
    let target: Vec<f64> = y.iter().map(|v| (v - shift) / y_scale).collect();

    let solution = householder(&design, &roots, &target, has_intercept)?;
    let mut rss = 0.0;
    let mut total = 0.0;
    for i in 0..n {
        let fitted: f64 = design.row(i).iter().zip(&solution.coef).map(|(z, g)| z * g).sum();
        rss += (roots[i] * (target[i] - fitted)).powi(2);
        total += (roots[i] * target[i]).powi(2);
    }
    #[allow(clippy::cast_precision_loss, reason = "row counts are far below 2^53")]
    let variance = rss / (n - p) as f64;
    let standardised: Vec<f64> = solution.coef.iter().map(|g| g * y_scale).collect();
    let mut standardised_covariance = solution.inverse_cross_product;
    for i in 0..p {
        for j in 0..=i {
            let entry = standardised_covariance.at(i, j) * variance * y_scale * y_scale;
            standardised_covariance.set(i, j, entry);
        }
    }
    let fit = LinearFit {
        coef: design.frame.coefficients(&standardised, shift),
        covariance: covariance_back(&design.frame, &standardised_covariance),
        residual_sd: (variance * heaviest).sqrt() * y_scale,
        residual_sum_of_squares: rss * heaviest * y_scale * y_scale,
        degrees_of_freedom: n - p,
        r_squared: (total > 0.0).then(|| (1.0 - rss / total).max(0.0)),
        frame: design.frame,
        standardised,
        standardised_covariance,
        shift,
    };
    let finite = fit.coef.iter().all(|b| b.is_finite())
        && fit.covariance.is_finite()
        && fit.residual_sd.is_finite()
        && fit.residual_sum_of_squares.is_finite();
    if finite { Ok(fit) } else { Err(InputError::OutOfRange) }
}

impl LinearFit {
    /// Confidence interval of coefficient `index`, from 0; `None` outside the coefficients.
    ///
    /// # Formula
    ///
    /// `b -+ t se(b)` with Student's t on the degrees of freedom of the fit.
    ///
    /// # Errors
    ///
    /// [`InputError::Confidence`] for a level outside (0, 1).
    ///
    /// # Examples
    ///
    /// The line of [`fit`]'s example has `s^2 = 3/2` and a slope of variance `s^2 / 2`; t with one degree of freedom is 1 at a
    /// confidence of 1/2.
    /// ```
    /// use groundwall::stats::least_squares::{Intercept, fit};
    /// let line = fit(&[&[0.0, 1.0, 2.0]], &[0.0, 2.0, 1.0], None, Intercept::Fitted)?;
    /// let slope = line.coef_interval(1, 0.5)?.unwrap();
    /// assert!((slope.high - (0.5 + 0.75_f64.sqrt())).abs() < 1e-9);
    /// # Ok::<(), groundwall::stats::input::InputError>(())
    /// ```
    pub fn coef_interval(&self, index: usize, confidence: f64) -> Result<Option<Interval>, InputError> {
        let t = student_two_sided(confidence, self.degrees_of_freedom)?;
        let pair = self.coef.get(index).zip(self.covariance.standard_error(index));
        Ok(pair.map(|(b, se)| Interval::about(*b, t * se)))
    }

    /// Value of the model at a row, with intervals for it and for one new reading.
    ///
    /// # Formula
    ///
    /// `m = x'b`, `se^2 = x' cov x`; intervals `m -+ t se` and `m -+ t sqrt(se^2 + s^2 / weight)`.
    ///
    /// # Units
    ///
    /// `row` as the columns of the fit, without the one of the intercept; `weight` that of the new reading.
    ///
    /// # Errors
    ///
    /// [`InputError`] for a row of the wrong length or beyond 1e40, a weight that is not positive, or a level outside
    /// (0, 1).
    ///
    /// # Examples
    ///
    /// The same line in the middle of its points: 1, of variance `s^2 / 3 = 1/2`; a new reading has `s^2` more, 2 together.
    /// ```
    /// use groundwall::stats::least_squares::{Intercept, fit};
    /// let line = fit(&[&[0.0, 1.0, 2.0]], &[0.0, 2.0, 1.0], None, Intercept::Fitted)?;
    /// let there = line.predict(&[1.0], 1.0, 0.5)?;
    /// assert!((there.mean - 1.0).abs() < 1e-14 && (there.se - 0.5_f64.sqrt()).abs() < 1e-14);
    /// assert!((there.reading_interval.high - (1.0 + 2.0_f64.sqrt())).abs() < 1e-9);
    /// # Ok::<(), groundwall::stats::input::InputError>(())
    /// ```
    pub fn predict(&self, row: &[f64], weight: f64, confidence: f64) -> Result<Prediction, InputError> {
        check_positive("the weight of the new reading", &[weight])?;
        let z = self.frame.standardise(row)?;
        let t = student_two_sided(confidence, self.degrees_of_freedom)?;
        let mean = self.shift + z.iter().zip(&self.standardised).map(|(a, b)| a * b).sum::<f64>();
        let variance = self.standardised_covariance.quadratic(&z).max(0.0);
        let reading = (variance + self.residual_sd.powi(2) / weight).sqrt();
        let se = variance.sqrt();
        let prediction = Prediction {
            mean,
            se,
            mean_interval: Interval::about(mean, t * se),
            reading_interval: Interval::about(mean, t * reading),
        };
        if mean.is_finite() && (t * reading).is_finite() { Ok(prediction) } else { Err(InputError::OutOfRange) }
    }

    /// The straight line in the form that inverse prediction takes; `None` unless there is an intercept and one column.
    ///
    /// The line is given about the weighted mean of the abscissa, where level and slope are uncorrelated, so that no
    /// digit is lost on calendar years.
    ///
    /// # Examples
    ///
    /// ```
    /// use groundwall::stats::least_squares::{Intercept, fit};
    /// let line = fit(&[&[0.0, 1.0, 2.0]], &[0.0, 2.0, 1.0], None, Intercept::Fitted)?.line().unwrap();
    /// assert!((line.centre - 1.0).abs() < 1e-15 && (line.level - 1.0).abs() < 1e-15);
    /// assert!((line.slope - 0.5).abs() < 1e-15 && line.covariance.abs() < 1e-15);
    /// # Ok::<(), groundwall::stats::input::InputError>(())
    /// ```
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

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
    use super::*;

    #[test]
    fn shuffled_rows_and_scaled_weights_give_the_same_line() {
        let x = [2001.0, 2002.5, 2003.0, 2007.25, 2009.0];
        let y = [3.0, 2.5, 2.75, 2.0, 1.5];
        let w = [1.0, 2.0, 0.5, 1.0, 3.0];
        let order = [3, 0, 4, 2, 1];
        let pick = |v: &[f64], f: f64| order.iter().map(|&i| v[i] * f).collect::<Vec<_>>();
        let a = fit(&[&x], &y, Some(&w), Intercept::Fitted).unwrap();
        let b = fit(&[&pick(&x, 1.0)], &pick(&y, 1.0), Some(&pick(&w, 1e6)), Intercept::Fitted).unwrap();
        for (p, q) in a.coef.iter().zip(&b.coef) {
            assert!((p - q).abs() <= 1e-12 * p.abs());
        }
        assert!((a.covariance.at(0, 0) / b.covariance.at(0, 0) - 1.0).abs() < 1e-11);
        assert!((a.residual_sd * 1e3 / b.residual_sd - 1.0).abs() < 1e-12);
    }

    #[test]
    fn what_cannot_be_fitted_is_named() {
        let x = [1.0, 2.0, 3.0, 4.0];
        let y = [1.0, 2.0, 1.0, 3.0];
        let twice: Vec<f64> = x.iter().map(|v| 2.0 * v + 1.0).collect();
        let collinear = |column| Err(InputError::Collinear { column });
        assert_eq!(fit(&[&x, &twice], &y, None, Intercept::Fitted), collinear(2));
        assert_eq!(fit(&[&[5.0; 4]], &y, None, Intercept::Fitted), collinear(1));
        assert_eq!(fit(&[&[0.0; 4]], &y, None, Intercept::Absent), collinear(1));
        assert_eq!(fit(&[&x[..2]], &y[..2], None, Intercept::Fitted), Err(InputError::TooFew { found: 2, needed: 3 }));
        assert!(fit(&[&x[..3]], &y, None, Intercept::Fitted).is_err());
        assert!(fit(&[&x], &[1.0, f64::INFINITY, 1.0, 1.0], None, Intercept::Fitted).is_err());
        assert!(fit(&[&x], &y, Some(&[1.0, 0.0, 1.0, 1.0]), Intercept::Fitted).is_err());
        assert!(fit(&[], &[], None, Intercept::Absent).is_err());
    }

    #[test]
    fn numbers_at_the_limit_stay_finite_or_are_refused() {
        let big = [-LARGEST, LARGEST, 0.0, LARGEST];
        let small = [0.0, 1e-39, 2e-39, 4e-39];
        let w = [LARGEST, 1.0 / LARGEST, 1.0, LARGEST];
        for x in [&big, &small] {
            for y in [&big, &small] {
                if let Ok(line) = fit(&[x], y, Some(&w), Intercept::Fitted) {
                    assert!(line.covariance.is_finite());
                }
            }
        }
        let flat = fit(&[&big], &[7.0; 4], None, Intercept::Fitted).unwrap();
        assert_eq!(flat.r_squared, None);
    }
}
