//! Where a fitted line reaches a level: the Fieller set.
//!
//! The abscissa `x0 = (L - a) / b` is a ratio of two uncertain numbers. Its usual "estimate plus or minus" is wrong when
//! the slope is weak; Fieller's set never is. It is an interval when the slope is clearly not zero, two half lines when
//! it is not, and the whole line when the level itself cannot be told from the line. The last two are not failures of
//! the method: they are what the data say.
//!
//! Reference: Fieller (1954), Some problems in interval estimation, J. R. Stat. Soc. B 16, 175-185.

use core::fmt;

/// A straight line with the covariance of its level and slope.
///
/// # Formula
///
/// `y(x) = level + slope (x - centre)`.
///
/// # Units
///
/// `centre` in units of x; `level` of y; `slope` of y per x.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LineEstimate {
    /// Abscissa at which `level` is the value of the line.
    pub centre: f64,
    /// Value of the line at the centre.
    pub level: f64,
    /// Slope.
    pub slope: f64,
    /// Variance of the level.
    pub level_variance: f64,
    /// Variance of the slope.
    pub slope_variance: f64,
    /// Covariance of level and slope.
    pub covariance: f64,
}

/// The set of abscissae at which the line may be at the level.
///
/// # Units
///
/// Units of x.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CrossingSet {
    /// From `low` to `high`.
    Interval {
        /// The lower end.
        low: f64,
        /// The upper end.
        high: f64,
    },
    /// Everything up to `until` and everything from `from` on; only the gap between is excluded.
    TwoHalfLines {
        /// End of the lower half line.
        until: f64,
        /// Beginning of the upper half line.
        from: f64,
    },
    /// Everything up to here: the slope is exactly at the edge of its significance.
    AtMost(f64),
    /// Everything from here on: the slope is exactly at the edge of its significance.
    AtLeast(f64),
    /// No abscissa can be excluded.
    WholeLine,
}

impl CrossingSet {
    /// Whether the abscissa belongs to the set, ends included.
    ///
    /// # Examples
    ///
    /// ```
    /// use groundwall::stats::inverse_prediction::CrossingSet;
    /// let all_but_a_gap = CrossingSet::TwoHalfLines { until: -1.0, from: 1.0 };
    /// assert!(all_but_a_gap.contains(1.0) && !all_but_a_gap.contains(0.0));
    /// ```
    #[must_use]
    pub fn contains(&self, x: f64) -> bool {
        match *self {
            Self::Interval { low, high } => low <= x && x <= high,
            Self::TwoHalfLines { until, from } => x <= until || x >= from,
            Self::AtMost(end) => x <= end,
            Self::AtLeast(end) => x >= end,
            Self::WholeLine => true,
        }
    }
}

/// Where the line reaches the level.
///
/// # Units
///
/// Units of x, `g` has none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crossing {
    /// The abscissa `x0` of the fitted line; `None` for a level line.
    pub estimate: Option<f64>,
    /// Standard error of `x0` to first order (delta method); `None` for a level line.
    pub delta_se: Option<f64>,
    /// Fieller's `g`, the squared quantile over the squared t ratio of the slope; below 1 the set is an interval.
    pub g: Option<f64>,
    /// Fieller's confidence set.
    pub set: CrossingSet,
}

/// Why no crossing can be computed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CrossingError {
    /// An argument is not a finite number, or a variance or the quantile is negative.
    Argument {
        /// Which argument.
        what: &'static str,
        /// Its value.
        found: f64,
    },
    /// A covariance larger than its variances allow.
    Covariance {
        /// The covariance of level and slope.
        found: f64,
    },
    /// The line is level without any uncertainty and lies elsewhere: it never reaches the level.
    NeverReached,
    /// The crossing is outside the range of floating-point numbers.
    OutOfRange,
}

impl fmt::Display for CrossingError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Argument { what, found } => {
                write!(f, "{what} is {found}; it must be finite, and not negative if it is a variance or a quantile")
            }
            Self::Covariance { found } => write!(
                f,
                "the covariance of level and slope is {found}; its square must not exceed the product of their variances"
            ),
            Self::NeverReached => {
                write!(f, "the slope is exactly 0 with no uncertainty; a level off the line is never reached")
            }
            Self::OutOfRange => {
                write!(f, "the crossing is outside the range of floating-point numbers; the data must be rescaled")
            }
        }
    }
}

impl core::error::Error for CrossingError {}

/// Finds where a line reaches a level, with Fieller's confidence set.
///
/// # Formula
///
/// All `x` with `(y(x) - L)^2 <= q^2 (v + var y(x))`. For the level of the line itself `v = 0`; for the mean of `m` new
/// readings of standard deviation `s`, `v = s^2 / m`. First-order standard error: `sqrt(v + var y(x0)) / |slope|`.
///
/// # Units
///
/// `level` as y, `extra_variance` (`v`) as y squared, `quantile` (`q`) in standard errors: Student's t for least
/// squares, normal for maximum likelihood.
///
/// # Validity
///
/// Exact for normal errors with known or chi-squared variance; large-sample otherwise.
///
/// # Errors
///
/// [`CrossingError`] for arguments that are not finite, negative variances, and a level line known without error.
///
/// # Examples
///
/// Level 1 at x = 0, slope -1, variance of the level 0.01, of the slope 0: y(x) = 0 at 1, give or take 2 × 0.1.
/// ```
/// use groundwall::stats::inverse_prediction::{CrossingSet, LineEstimate, crossing};
/// let line = LineEstimate {
///     centre: 0.0, level: 1.0, slope: -1.0, level_variance: 0.01, slope_variance: 0.0, covariance: 0.0,
/// };
/// let at = crossing(&line, 0.0, 0.0, 2.0)?;
/// assert_eq!(at.estimate, Some(1.0));
/// assert!(matches!(at.set, CrossingSet::Interval { low, high }
///     if (low - 0.8).abs() < 1e-12 && (high - 1.2).abs() < 1e-12));
/// # Ok::<(), groundwall::stats::inverse_prediction::CrossingError>(())
/// ```
///
/// # References
///
/// Fieller (1954), J. R. Stat. Soc. B 16, 175-185; Draper and Smith (1998), Applied Regression Analysis, 3rd ed.,
/// section 3.2.
pub fn crossing(
    line: &LineEstimate,
    level: f64,
    extra_variance: f64,
    quantile: f64,
) -> Result<Crossing, CrossingError> {
    check(line, level, extra_variance, quantile)?;
    let LineEstimate { centre, slope: b, slope_variance: vbb, covariance: vab, .. } = *line;
    let vaa = line.level_variance + extra_variance;
    let rise = line.level - level;
    let q2 = quantile * quantile;

    let mut estimate = None;
    let mut delta_se = None;
    let mut g = None;
    if b.abs() > 0.0 {
        let u = -rise / b;
        estimate = Some(centre + u);
        delta_se = Some((vaa + 2.0 * u * vab + u * u * vbb).max(0.0).sqrt() / b.abs());
        g = Some(q2 * (vbb / b) / b);
    }
    // a2 u^2 + 2 a1 u + a0 <= 0 about the centre. The discriminant is written out so that nothing large cancels.
    let a2 = b * b - q2 * vbb;
    let a1 = b * rise - q2 * vab;
    let a0 = rise * rise - q2 * vaa;
    let spread = b * b * vaa + rise * rise * vbb - 2.0 * b * rise * vab;
    let discriminant = q2 * (spread - q2 * (vbb * vaa - vab * vab));

    let set = if a2.abs() <= 1e-14 * (b * b) || (a2.abs() <= 0.0) {
        // The slope is at the very edge of significance: the quadratic has become a straight line.
        if a1.abs() <= 0.0 {
            if a0 <= 0.0 {
                CrossingSet::WholeLine
            } else {
                return Err(CrossingError::NeverReached);
            }
        } else if a1 > 0.0 {
            CrossingSet::AtMost(centre - a0 / (2.0 * a1))
        } else {
            CrossingSet::AtLeast(centre - a0 / (2.0 * a1))
        }
    } else if a2 < 0.0 && discriminant <= 0.0 {
        CrossingSet::WholeLine
    } else {
        let root = discriminant.max(0.0).sqrt();
        let far = if a1 >= 0.0 { -(a1 + root) } else { root - a1 };
        let (one, other) = (far / a2, if far.abs() > 0.0 { a0 / far } else { 0.0 });
        let (low, high) = (centre + one.min(other), centre + one.max(other));
        if a2 > 0.0 {
            CrossingSet::Interval { low, high }
        } else {
            CrossingSet::TwoHalfLines { until: low, from: high }
        }
    };
    let crossing = Crossing { estimate, delta_se, g, set };
    if is_finite(&crossing) { Ok(crossing) } else { Err(CrossingError::OutOfRange) }
}

fn check(line: &LineEstimate, level: f64, extra_variance: f64, quantile: f64) -> Result<(), CrossingError> {
    let any = [
        ("the centre", line.centre),
        ("the level of the line", line.level),
        ("the slope", line.slope),
        ("the covariance", line.covariance),
        ("the level to reach", level),
    ];
    let not_negative = [
        ("the variance of the level", line.level_variance),
        ("the variance of the slope", line.slope_variance),
        ("the extra variance", extra_variance),
        ("the quantile", quantile),
    ];
    let bad = any
        .into_iter()
        .find(|(_, v)| !v.is_finite())
        .or_else(|| not_negative.into_iter().find(|(_, v)| !v.is_finite() || *v < 0.0));
    if let Some((what, found)) = bad {
        return Err(CrossingError::Argument { what, found });
    }
    let limit = line.level_variance.sqrt() * line.slope_variance.sqrt();
    if line.covariance.abs() > limit * (1.0 + 1e-9) {
        return Err(CrossingError::Covariance { found: line.covariance });
    }
    Ok(())
}

fn is_finite(crossing: &Crossing) -> bool {
    let ends = match crossing.set {
        CrossingSet::Interval { low, high } => low.is_finite() && high.is_finite(),
        CrossingSet::TwoHalfLines { until, from } => until.is_finite() && from.is_finite(),
        CrossingSet::AtMost(end) | CrossingSet::AtLeast(end) => end.is_finite(),
        CrossingSet::WholeLine => true,
    };
    ends && [crossing.estimate, crossing.delta_se, crossing.g].into_iter().flatten().all(f64::is_finite)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
    use super::*;

    const LINE: LineEstimate = LineEstimate {
        centre: 2020.0,
        level: 2.0,
        slope: -0.5,
        level_variance: 0.04,
        slope_variance: 0.01,
        covariance: 0.005,
    };

    #[test]
    fn every_shape_of_set_holds_exactly_the_points_that_satisfy_the_inequality() {
        // Identity: the set is defined by the inequality, so probing it must agree away from the ends.
        for quantile in [0.5, 1.0, 2.0, 4.9, 5.1, 8.0, 40.0] {
            for level in [-3.0, 0.0, 1.9, 2.0, 2.1, 6.0] {
                let found = crossing(&LINE, level, 0.01, quantile).unwrap();
                for step in -4000..4000 {
                    let u = f64::from(step) * 0.0137;
                    let gap = LINE.level + LINE.slope * u - level;
                    let variance = 0.05 + 2.0 * u * 0.005 + u * u * 0.01;
                    let excess = gap * gap - quantile * quantile * variance;
                    if excess.abs() > 1e-6 {
                        assert_eq!(found.set.contains(2020.0 + u), excess < 0.0, "{quantile} {level} {u} {found:?}");
                    }
                }
            }
        }
    }

    #[test]
    fn at_the_edge_of_significance_the_set_is_a_half_line() {
        let edge = LineEstimate { covariance: 0.0, ..LINE };
        let down = crossing(&edge, 0.0, 0.0, 5.0).unwrap();
        assert!(matches!(down.set, CrossingSet::AtLeast(_)), "{down:?}");
        let up = crossing(&LineEstimate { slope: 0.5, ..edge }, 0.0, 0.0, 5.0).unwrap();
        assert!(matches!(up.set, CrossingSet::AtMost(_)), "{up:?}");
    }

    #[test]
    fn a_level_line_has_no_estimate_and_a_certain_one_never_arrives() {
        let level = LineEstimate { slope: 0.0, ..LINE };
        assert_eq!(crossing(&level, 0.0, 0.0, 2.0).unwrap().estimate, None);
        let certain = LineEstimate { slope: 0.0, slope_variance: 0.0, covariance: 0.0, ..LINE };
        assert_eq!(crossing(&certain, 0.0, 0.0, 2.0), Err(CrossingError::NeverReached));
        assert_eq!(crossing(&certain, 2.1, 0.0, 2.0).unwrap().set, CrossingSet::WholeLine);
        let refused = crossing(&LineEstimate { slope_variance: -1.0, ..LINE }, 0.0, 0.0, 2.0);
        assert_eq!(
            refused.map_err(|e| e.to_string()),
            Err("the variance of the slope is -1; it must be finite, and not negative if it is a variance or a quantile"
                .to_owned())
        );
    }
}
