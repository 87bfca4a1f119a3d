//! One system of normal equations solved under several prior scales for the price of one.
//!
//! Only the priors of the law's error and of the slope come in two scales each. The other columns are eliminated
//! once by a Cholesky factor; what is left per pair of scales is a 2 × 2 system.

#![allow(clippy::needless_range_loop, reason = "indices as in the formulas")]

use super::noise::{COLUMNS, HEAD, LEVEL, SHAPE, STEP, TEMPERATURE};
use crate::stats::small_matrix::{NormalEquations, dot};
use fearless_simd::{Simd, SimdBase, SimdFrom, f64x4};

/// Cholesky factor of the columns with one prior scale, and what is left of the other two.
pub(super) struct Head {
    lower: [[f64; HEAD]; COLUMNS],
    reciprocal: [f64; HEAD],
    /// L⁻¹ of the right side.
    right: [f64; HEAD],
    /// L⁻¹ of the combination that gives the level (with the step).
    level: [f64; HEAD],
    /// Schur complement: temperature, cross, shape.
    rest: [f64; 3],
    rest_right: [f64; 2],
    /// Level combination carried to the remaining two.
    rest_level: [f64; 2],
    /// ln of the determinant of the head.
    pub(super) ln_det: f64,
}

/// Pairs of prior scales, side by side: both scales of the slope with the first of temperature, then with the second.
pub(super) const SCALES: usize = 4;
type Lanes = [f64; SCALES];

/// The last two coefficients for each pair of prior scales: enough to weigh the models by.
pub(super) struct Rest {
    /// Normal equations of law's error and slope: both precisions, and the cross term that all have in common.
    precision: [Lanes; 2],
    cross: f64,
    /// Determinant of the 2 × 2 rest.
    pub(super) det: Lanes,
    pub(super) temperature: Lanes,
    pub(super) slope: Lanes,
    /// By how much the sum of squares falls from the head's own solution.
    explained: Lanes,
    /// Variances of law's error and slope, in units of 1/sig².
    pub(super) temperature_variance: Lanes,
    pub(super) slope_variance: Lanes,
}

/// Solution for one pair of prior scales.
#[derive(Clone, Copy)]
pub(super) struct Small {
    pub(super) beta: [f64; COLUMNS],
    /// Variance of the level and its covariance with the slope, in units of 1/sig².
    pub(super) level_variance: f64,
    pub(super) covariance: f64,
}

impl Head {
    /// Eliminates the head columns from the equations of exact readings and bounds.
    #[inline(always)]
    pub(super) fn eliminate(
        exact: &NormalEquations<COLUMNS>,
        from_bounds: &NormalEquations<COLUMNS>,
        precision: &[f64; COLUMNS],
        has_step: bool,
    ) -> Self {
        let all = exact.plus(from_bounds);
        let mut head = Head {
            lower: [[0.0; HEAD]; COLUMNS],
            reciprocal: [0.0; HEAD],
            right: [0.0; HEAD],
            level: [0.0; HEAD],
            rest: [0.0; 3],
            rest_right: [0.0; 2],
            rest_level: [0.0; 2],
            ln_det: 0.0,
        };
        let mut det = 1.0;
        for i in 0..COLUMNS {
            for j in 0..i.min(HEAD) {
                let mut sum = all.matrix[i][j];
                for k in 0..j {
                    sum -= head.lower[i][k] * head.lower[j][k];
                }
                head.lower[i][j] = sum * head.reciprocal[j];
            }
            if i < HEAD {
                let diagonal = all.matrix[i][i] + precision[i];
                let mut pivot = diagonal;
                for k in 0..i {
                    pivot -= head.lower[i][k] * head.lower[i][k];
                }
                // The prior alone keeps the pivot at its precision; anything less is rounding.
                let pivot = pivot.max(precision[i]).max(f64::MIN_POSITIVE);
                det *= pivot;
                head.lower[i][i] = pivot.sqrt();
                head.reciprocal[i] = 1.0 / head.lower[i][i];
                let mut right = all.right[i];
                let mut level = if i == LEVEL || (i == STEP && has_step) { 1.0 } else { 0.0 };
                for k in 0..i {
                    right -= head.lower[i][k] * head.right[k];
                    level -= head.lower[i][k] * head.level[k];
                }
                head.right[i] = right * head.reciprocal[i];
                head.level[i] = level * head.reciprocal[i];
            }
        }
        head.ln_det = libm::log(det);
        let (t, g) = (&head.lower[TEMPERATURE], &head.lower[SHAPE]);
        head.rest = [
            (all.matrix[TEMPERATURE][TEMPERATURE] - dot(t, t)).max(0.0),
            all.matrix[SHAPE][TEMPERATURE] - dot(t, g),
            (all.matrix[SHAPE][SHAPE] - dot(g, g)).max(0.0),
        ];
        head.rest_right = [all.right[TEMPERATURE] - dot(t, &head.right), all.right[SHAPE] - dot(g, &head.right)];
        head.rest_level = [-dot(t, &head.level), -dot(g, &head.level)];
        head
    }

    /// Solves the rest for all pairs of prior precisions (law's error, slope) and one prior mean of the slope.
    #[inline(always)]
    pub(super) fn rest<S: Simd>(&self, simd: S, lam: &[Lanes; 2], slope_mean: f64) -> Rest {
        let all = |value: f64| f64x4::simd_from(simd, value);
        let [lam_temperature, lam_slope] = lam.map(|lam| f64x4::simd_from(simd, lam));
        let (a, b, c) = (lam_temperature + self.rest[0], all(self.rest[1]), lam_slope + self.rest[2]);
        let det = (a * c - b * b).max(lam_temperature * lam_slope).max(all(f64::MIN_POSITIVE));
        let (r0, r1) = (all(self.rest_right[0]), lam_slope * slope_mean + self.rest_right[1]);
        let temperature = (c * r0 - b * r1) / det;
        let slope = (a * r1 - b * r0) / det;
        let explained = r0 * temperature + r1 * slope - lam_slope * slope_mean * slope_mean;
        Rest {
            precision: [*a, *c],
            cross: self.rest[1],
            det: *det,
            temperature: *temperature,
            slope: *slope,
            explained: *explained,
            temperature_variance: *(c / det),
            slope_variance: *(a / det),
        }
    }

    /// Residual and prior sums of squares at the solutions, where every reading is exact.
    #[inline(always)]
    pub(super) fn squares_left(&self, squares: f64, rest: &Rest) -> Lanes {
        let left = squares - dot(&self.right, &self.right);
        rest.explained.map(|explained| (left - explained).max(0.0))
    }

    /// The other coefficients of one pair of scales, and how certain the level is.
    #[inline(always)]
    pub(super) fn small(&self, rest: &Rest, scale: usize) -> Small {
        let ([a, c], b, det) = (rest.precision.map(|precision| precision[scale]), rest.cross, rest.det[scale]);
        let (temperature, slope) = (rest.temperature[scale], rest.slope[scale]);
        let mut beta = [0.0; COLUMNS];
        beta[TEMPERATURE] = temperature;
        beta[SHAPE] = slope;
        for i in (0..HEAD).rev() {
            let mut sum = self.right[i] - self.lower[TEMPERATURE][i] * temperature - self.lower[SHAPE][i] * slope;
            for k in i + 1..HEAD {
                sum -= self.lower[k][i] * beta[k];
            }
            beta[i] = sum * self.reciprocal[i];
        }
        let (l0, l1) = (self.rest_level[0], self.rest_level[1]);
        Small {
            beta,
            level_variance: dot(&self.level, &self.level) + (c * l0 * l0 - 2.0 * b * l0 * l1 + a * l1 * l1) / det,
            covariance: (a * l1 - b * l0) / det,
        }
    }
}
