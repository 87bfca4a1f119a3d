//! Two-sided intervals and the quantiles that set their width.

use super::input::InputError;
use super::student::{student_density, student_lower_tail};
use super::tail::Tail;
use statrs::distribution::{ContinuousCDF, Normal, StudentsT};

/// A closed interval of the real line.
///
/// # Units
///
/// Those of the quantity it belongs to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// The lower end.
    pub low: f64,
    /// The upper end.
    pub high: f64,
}

impl Interval {
    /// The interval from `centre - half_width` to `centre + half_width`.
    #[must_use]
    pub fn about(centre: f64, half_width: f64) -> Self {
        Self { low: centre - half_width, high: centre + half_width }
    }

    /// Whether the value lies inside, ends included.
    #[must_use]
    pub fn contains(&self, value: f64) -> bool {
        self.low <= value && value <= self.high
    }
}

/// Degrees of freedom from which Student's quantile is worked out from the normal one.
const NEARLY_NORMAL: usize = 100_000;

/// Half width, in standard errors, of a two-sided Student-t interval.
///
/// # Formula
///
/// `t` with `P(|T| <= t) = confidence` for `T` with the given degrees of freedom. From 100,000 degrees of freedom on, the first terms of
/// its expansion about the normal quantile `z`: `z + (z^3 + z)/4f + (5z^5 + 16z^3 + 3z)/96f^2`.
///
/// # Validity
///
/// The expansion leaves out a term of the size `z^7/384f^3`, below 1e-11 for every confidence that a double can hold.
///
/// # Errors
///
/// [`InputError::Confidence`] outside (0, 1); [`InputError::TooFew`] without a degree of freedom.
///
/// # Examples
///
/// ```
/// let t = groundwall::stats::interval::student_two_sided(0.95, 4)?;
/// assert!((t - 2.776_445_105_197_794).abs() < 1e-12);
/// # Ok::<(), groundwall::stats::input::InputError>(())
/// ```
///
/// # References
///
/// Student (1908), The probable error of a mean, Biometrika 6, 1-25; Abramowitz and Stegun (1964), 26.7.5 for the expansion.
pub fn student_two_sided(confidence: f64, degrees_of_freedom: usize) -> Result<f64, InputError> {
    check_confidence(confidence)?;
    if degrees_of_freedom == 0 {
        return Err(InputError::TooFew { found: 0, needed: 1 });
    }
    #[allow(clippy::cast_precision_loss, reason = "row counts are far below 2^53")]
    let df = degrees_of_freedom as f64;
    if degrees_of_freedom >= NEARLY_NORMAL {
        let z = normal_two_sided(confidence)?;
        let second = z * (5.0 * z.powi(4) + 16.0 * z * z + 3.0) / 96.0;
        return Ok(z + z * (z * z + 1.0) / (4.0 * df) + second / (df * df));
    }
    let tail = (1.0 - confidence) / 2.0;
    let law = StudentsT::new(0.0, 1.0, df).map_err(|_| InputError::TooFew { found: 0, needed: 1 })?;
    let (upper_tail, density) = (|t: f64| student_lower_tail(-t, df), |t| student_density(t, df));
    Ok(polish(-law.inverse_cdf(tail), tail, upper_tail, density))
}

/// Half width, in standard errors, of a two-sided normal interval.
///
/// # Formula
///
/// `z` with `P(|Z| <= z) = confidence` for a standard normal `Z`.
///
/// # Errors
///
/// [`InputError::Confidence`] outside (0, 1).
///
/// # Examples
///
/// ```
/// let z = groundwall::stats::interval::normal_two_sided(0.95)?;
/// assert!((z - 1.959_963_984_540_054).abs() < 1e-14);
/// # Ok::<(), groundwall::stats::input::InputError>(())
/// ```
pub fn normal_two_sided(confidence: f64) -> Result<f64, InputError> {
    check_confidence(confidence)?;
    let tail = (1.0 - confidence) / 2.0;
    let start = -Normal::standard().inverse_cdf(tail);
    Ok(polish(start, tail, |z| Tail::at(z).probability(), |z| Tail::at(z).density()))
}

pub(crate) fn check_confidence(confidence: f64) -> Result<(), InputError> {
    if confidence > 0.0 && confidence < 1.0 { Ok(()) } else { Err(InputError::Confidence { found: confidence }) }
}

/// Newton steps on the upper tail, which keeps its relative precision far out; kept only while they make sense. The start is taken in
/// single precision, because its last digits are those of the system's elementary functions.
fn polish(start: f64, tail: f64, upper_tail: impl Fn(f64) -> f64, density: impl Fn(f64) -> f64) -> f64 {
    let mut x = f64::from(start as f32);
    for _ in 0..3 {
        let step = (upper_tail(x) - tail) / density(x);
        if !step.is_finite() || step.abs() > 0.1 * (1.0 + x.abs()) {
            break;
        }
        x += step;
    }
    x
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
    use super::*;

    #[test]
    fn levels_outside_zero_to_one_are_refused() {
        for level in [0.0, 1.0, -0.1, 1.5, f64::NAN, f64::INFINITY] {
            assert!(student_two_sided(level, 3).is_err());
            assert!(normal_two_sided(level).is_err());
        }
        assert!(student_two_sided(0.9, 0).is_err());
    }

    #[test]
    fn one_degree_of_freedom_is_the_cauchy_tangent() {
        // Identity: for one degree of freedom the quantile is tan(pi confidence / 2).
        for level in [0.001, 0.1, 0.5, 0.9, 0.99, 0.9999] {
            let exact = (std::f64::consts::FRAC_PI_2 * level).tan();
            let t = student_two_sided(level, 1).unwrap();
            assert!((t / exact - 1.0).abs() < 1e-11, "{level}: {t} against {exact}");
        }
    }

    /// Reference: the exact quantile one degree of freedom below the change to the expansion; between the two it falls by
    /// `(z^3 + z)/4f^2`, some 1e-10.
    #[test]
    fn many_degrees_of_freedom_go_over_into_the_normal_quantile() {
        for level in [0.5, 0.9, 0.99, 0.999_999] {
            let (exact, expanded) =
                (student_two_sided(level, 99_999).unwrap(), student_two_sided(level, 100_000).unwrap());
            assert!((exact / expanded - 1.0).abs() < 1e-9, "{level}: {exact} against {expanded}");
            let z = normal_two_sided(level).unwrap();
            for df in [30_000_000, usize::MAX] {
                let t = student_two_sided(level, df).unwrap();
                assert!((t / z - 1.0).abs() < 1e-6 && t >= z, "{level}, {df}: {t} against {z}");
            }
        }
    }

    #[test]
    fn extreme_levels_stay_finite() {
        for level in [f64::MIN_POSITIVE, f64::EPSILON, 1.0 - f64::EPSILON / 2.0] {
            for df in [1, 2, 30, 1_000_000] {
                assert!(student_two_sided(level, df).unwrap().is_finite());
            }
            assert!(normal_two_sided(level).unwrap().is_finite());
        }
    }
}
