//! Two-stage pooling: many estimates of the same kind, each with a known variance, drawn towards their common mean.
//!
//! Estimate `b_i` has its own variance `v_i`; the true values scatter about a mean with variance `tau^2`. The Paule-Mandel
//! rule chooses `tau^2` so that the weighted scatter is what its degrees of freedom promise. An estimate with a large
//! variance is drawn far towards the mean, a precise one hardly.

use super::input::{InputError, check_length, check_positive, check_values};

/// The common mean, the scatter about it, and each estimate drawn towards it.
#[derive(Debug, Clone, PartialEq)]
pub struct Pooled {
    /// Weighted mean of the estimates.
    pub mean: f64,
    /// Standard error of the mean, `tau^2` taken as known.
    pub mean_se: f64,
    /// Variance `tau^2` of the true values about their mean; 0 if the estimates scatter no more than their variances say.
    pub between_variance: f64,
    /// Cochran's `Q`: the weighted scatter with `tau^2 = 0`, to be compared with `k - 1`.
    pub heterogeneity: f64,
    /// One for each estimate, in the same order.
    pub shrunken: Vec<Shrunken>,
    mean_variance: f64,
}

impl Pooled {
    /// Draws one more estimate of known variance towards the mean, which it has not helped to find.
    ///
    /// # Validity
    ///
    /// As for [`pool`]. One of the pooled estimates gives what it has in `shrunken`.
    ///
    /// # Examples
    ///
    /// The group of [`pool`]'s example, with mean 2 of variance 4 and `tau^2 = 6`: of 10, give or take 2 in variance, three
    /// quarters of the way from the mean are kept.
    /// ```
    /// let pooled = groundwall::stats::pooling::pool(&[0.0, 4.0], &[2.0, 2.0])?;
    /// let drawn = pooled.draw(10.0, 2.0);
    /// assert!((drawn.estimate - 8.0).abs() < 1e-12);
    /// assert!((drawn.variance - (0.75 * 2.0 + 0.25 * 0.25 * 4.0)).abs() < 1e-12);
    /// # Ok::<(), groundwall::stats::input::InputError>(())
    /// ```
    #[must_use]
    pub fn draw(&self, estimate: f64, variance: f64) -> Shrunken {
        self.common().draw(estimate, variance)
    }

    /// What the estimates have in common.
    #[must_use]
    pub const fn common(&self) -> Common {
        Common { mean: self.mean, mean_variance: self.mean_variance, between_variance: self.between_variance }
    }
}

/// What pooled estimates have in common: all that is needed to draw one more towards their mean.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Common {
    /// Weighted mean of the estimates.
    pub mean: f64,
    /// Variance of the mean, `tau^2` taken as known.
    pub mean_variance: f64,
    /// Variance `tau^2` of the true values about their mean.
    pub between_variance: f64,
}

impl Common {
    /// Draws one more estimate of known variance towards the mean, as [`Pooled::draw`].
    #[must_use]
    pub fn draw(&self, estimate: f64, variance: f64) -> Shrunken {
        shrink(estimate, variance, self.mean, self.mean_variance, self.between_variance)
    }
}

fn shrink(estimate: f64, variance: f64, mean: f64, mean_variance: f64, tau2: f64) -> Shrunken {
    let own = tau2 / (tau2 + variance);
    Shrunken {
        estimate: mean + own * (estimate - mean),
        variance: own * variance + (1.0 - own).powi(2) * mean_variance,
        borrowed: 1.0 - own,
    }
}

/// One estimate drawn towards the mean of its group.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shrunken {
    /// The estimate after shrinking.
    pub estimate: f64,
    /// Its error variance: its own share and that of the uncertain mean.
    pub variance: f64,
    /// Share of the group's mean in it: 0 keeps the estimate, 1 replaces it.
    pub borrowed: f64,
}

/// Pools estimates with known variances.
///
/// # Formula
///
/// `w_i = 1 / (v_i + tau^2)`, `m = sum w b / sum w`, and `tau^2 >= 0` with `sum w (b - m)^2 = k - 1`, or 0 where the left
/// side is smaller already at 0. Shrunken: `m + B (b_i - m)` with `B = tau^2 / (tau^2 + v_i)` and error variance
/// `B v_i + (1 - B)^2 / sum w`.
///
/// # Units
///
/// Estimates in any unit, variances in its square.
///
/// # Validity
///
/// The `v_i` are taken as exact and `tau^2` as known once found, so the variances are somewhat too small for groups of
/// fewer than about ten.
///
/// # Errors
///
/// [`InputError`] for fewer than two estimates, slices of different length, values beyond 1e40 or variances that are not
/// positive.
///
/// # Examples
///
/// Two estimates, 0 and 4, each of variance 2: `Q = 4` against 1, `tau^2 = 6`, and each is drawn a quarter of the way.
/// ```
/// let pooled = groundwall::stats::pooling::pool(&[0.0, 4.0], &[2.0, 2.0])?;
/// assert!((pooled.between_variance - 6.0).abs() < 1e-12);
/// assert!((pooled.shrunken[0].estimate - 0.5).abs() < 1e-12);
/// # Ok::<(), groundwall::stats::input::InputError>(())
/// ```
///
/// # References
///
/// Paule and Mandel (1982), Consensus values and weighting factors, J. Res. Natl. Bur. Stand. 87, 377-385,
/// doi:10.6028/jres.087.022.
pub fn pool(estimates: &[f64], variances: &[f64]) -> Result<Pooled, InputError> {
    check_length("variances", variances, estimates.len())?;
    check_values("estimates", estimates)?;
    check_positive("variances", variances)?;
    let k = estimates.len();
    if k < 2 {
        return Err(InputError::TooFew { found: k, needed: 2 });
    }
    #[allow(clippy::cast_precision_loss, reason = "group sizes are far below 2^53")]
    let freedom = (k - 1) as f64;
    let heterogeneity = scatter(estimates, variances, 0.0).q;
    // The excess is convex and falling in tau^2, so Newton from zero approaches the root from below and cannot overshoot.
    let mut tau2 = 0.0;
    for _ in 0..500 {
        let now = scatter(estimates, variances, tau2);
        let step = (now.q - freedom) / now.fall;
        if step.is_nan() || tau2 + step <= tau2 {
            break;
        }
        tau2 += step;
    }
    let at = scatter(estimates, variances, tau2);
    let mean_variance = 1.0 / at.weight;
    let shrunken = estimates.iter().zip(variances).map(|(b, v)| shrink(*b, *v, at.mean, mean_variance, tau2)).collect();
    Ok(Pooled {
        mean: at.mean,
        mean_se: mean_variance.sqrt(),
        between_variance: tau2,
        heterogeneity,
        shrunken,
        mean_variance,
    })
}

struct Scatter {
    mean: f64,
    weight: f64,
    q: f64,
    /// Minus the derivative of `q` with respect to `tau^2`.
    fall: f64,
}

fn scatter(estimates: &[f64], variances: &[f64], tau2: f64) -> Scatter {
    let weight: f64 = variances.iter().map(|v| 1.0 / (v + tau2)).sum();
    let mean = estimates.iter().zip(variances).map(|(b, v)| b / (v + tau2) / weight).sum::<f64>();
    let mut q = 0.0;
    let mut fall = 0.0;
    for (b, v) in estimates.iter().zip(variances) {
        let w = 1.0 / (v + tau2);
        let term = w * (b - mean) * (b - mean);
        q += term;
        fall += w * term;
    }
    Scatter { mean, weight, q, fall }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
    use super::*;

    #[test]
    fn estimates_that_agree_are_replaced_by_their_mean() {
        let pooled = pool(&[1.0, 1.1, 0.9], &[1.0, 1.0, 1.0]).unwrap();
        assert!(pooled.between_variance <= 0.0);
        for s in pooled.shrunken {
            assert!((s.estimate - 1.0).abs() < 1e-15 && (s.variance - 1.0 / 3.0).abs() < 1e-15 && s.borrowed >= 1.0);
        }
    }

    #[test]
    fn one_more_estimate_is_drawn_as_the_pooled_ones_are() {
        let (b, v) = ([0.3, -1.0, 2.5, 0.9], [0.2, 0.5, 0.1, 1.0]);
        let pooled = pool(&b, &v).unwrap();
        for ((b, v), shrunken) in b.iter().zip(v).zip(&pooled.shrunken) {
            assert_eq!(pooled.draw(*b, v), *shrunken);
        }
        assert!(pooled.draw(2.5, 1e9).borrowed > 0.999_999 && pooled.draw(2.5, 1e-9).borrowed < 1e-6);
    }

    #[test]
    fn error_variance_is_that_of_the_linear_combination() {
        // Identity: with tau^2 known, shrunken - truth = sum_j c_j b_j - theta_i has the variance computed term by term.
        let b = [0.3, -1.0, 2.5, 0.9];
        let v = [0.2, 0.5, 0.1, 1.0];
        let pooled = pool(&b, &v).unwrap();
        let tau2 = pooled.between_variance;
        assert!(tau2 > 0.0);
        let total: f64 = v.iter().map(|v| 1.0 / (v + tau2)).sum();
        for i in 0..4 {
            let own = tau2 / (tau2 + v[i]);
            let mut variance = 0.0;
            for (j, vj) in v.iter().enumerate() {
                let c = (1.0 - own) / (vj + tau2) / total + if i == j { own } else { 0.0 };
                let of_truth = c - if i == j { 1.0 } else { 0.0 };
                variance += c * c * vj + of_truth * of_truth * tau2;
            }
            assert!((pooled.shrunken[i].variance / variance - 1.0).abs() < 1e-12);
        }
    }

    #[test]
    fn extreme_but_legal_numbers_stay_finite() {
        let pooled = pool(&[1e40, -1e40, 0.0], &[1e-40, 1e40, 1.0]).unwrap();
        assert!(pooled.mean.is_finite() && pooled.between_variance.is_finite());
        assert!(pooled.shrunken.iter().all(|s| s.estimate.is_finite() && s.variance.is_finite()));
        assert_eq!(pool(&[1.0], &[1.0]), Err(InputError::TooFew { found: 1, needed: 2 }));
        assert!(pool(&[1.0, 2.0], &[1.0, 0.0]).is_err());
    }
}
