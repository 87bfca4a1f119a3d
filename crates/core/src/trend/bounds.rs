//! Regression with bounds: the penalised censored normal likelihood (Tobin 1958), by Newton steps written as
//! weighted least squares (Amemiya 1984).
//!
//! A bound on the right side of the fit gets a weight near 0 by itself; one that contradicts the fit acts like a
//! reading.

#![allow(clippy::needless_range_loop, reason = "indices as in the formulas")]

use crate::stats::normal_table::NormalTable;
use crate::stats::small_matrix::{Cholesky, Gathering, NormalEquations, dot};
use fearless_simd::{Level, Simd, dispatch};

/// Argument of the tail is kept above this.
const LEAST_ARGUMENT: f64 = -30.0;
/// Weight of a bound before the first fit.
const START_WEIGHT: f64 = 0.25;
/// Least weight of a bound.
const LEAST_WEIGHT: f64 = 1e-9;
/// The fit has settled when no coefficient moves more than this.
const SETTLED: f64 = 1e-5;
/// A bound this many standard deviations away on its right side pulls on nothing.
const HELD: f64 = 7.0;
/// And its probability is 1 to ten digits from here on.
const CERTAIN: f64 = 6.5;
/// Newton steps at most.
pub(super) const STEPS: usize = 12;

/// One bound as a row of a regression.
#[derive(Clone, Copy, Debug)]
pub(super) struct BoundRow<const N: usize> {
    pub(super) x: [f64; N],
    pub(super) y: f64,
    /// +1: the truth is above y; -1: below.
    pub(super) sign: f64,
    /// Known extra variance, decades².
    pub(super) extra: f64,
    /// Place among the readings.
    pub(super) index: usize,
}

impl<const N: usize> BoundRow<N> {
    fn sd(&self, sig: f64) -> f64 {
        if self.extra > 0.0 { (sig * sig + self.extra).sqrt() } else { sig }
    }

    /// Weight (in units of 1/sig²) and pseudo-reading of the bound at a fitted value.
    #[inline(always)]
    fn linearise(&self, fitted: f64, sig: f64, table: NormalTable) -> (f64, f64) {
        let sd = self.sd(sig);
        let q = (self.sign * (fitted - self.y) / sd).max(LEAST_ARGUMENT);
        if q > HELD {
            return (0.0, fitted);
        }
        let lam = table.inverse_mills(q);
        let w = (lam * (lam + q)).clamp(LEAST_WEIGHT, 1.0);
        (w * (sig / sd) * (sig / sd), fitted + self.sign * sd * lam / w)
    }
}

/// ln P(all bounds hold) at some coefficients.
pub(super) fn ln_probability<const N: usize>(bounds: &[BoundRow<N>], beta: &[f64; N], sig: f64) -> f64 {
    #[cfg(test)]
    super::work::note(bounds.len());
    let table = NormalTable::new();
    let mut sum = 0.0;
    for bound in bounds {
        let q = bound.sign * (dot(&bound.x, beta) - bound.y) / bound.sd(sig);
        if q < CERTAIN {
            sum += table.ln_lower_tail(q);
        }
    }
    sum
}

/// A fit: coefficients, the factor of the equations that gave them, and the bounds' part in these.
#[derive(Clone, Debug)]
pub(super) struct CensoredFit<const N: usize> {
    pub(super) beta: [f64; N],
    /// Prior, exact readings and bounds.
    pub(super) factor: Cholesky<N>,
    /// The bounds alone.
    pub(super) from_bounds: NormalEquations<N>,
}

/// Fits `fixed` (prior and weighted exact readings) together with bounds, in at most `steps` steps from `start`.
///
/// Without a start every bound first counts as a light reading at its own value. `linear` receives each bound's
/// weight and pseudo-reading.
pub(super) fn fit<const N: usize>(
    fixed: &NormalEquations<N>,
    bounds: &[BoundRow<N>],
    sig: f64,
    start: Option<[f64; N]>,
    steps: usize,
    linear: &mut Vec<(f64, f64)>,
) -> CensoredFit<N> {
    linear.clear();
    if bounds.is_empty() {
        let factor = fixed.factor();
        return CensoredFit { beta: factor.solve(&fixed.right), factor, from_bounds: NormalEquations::ZERO };
    }
    linear.extend(bounds.iter().map(|b| (START_WEIGHT * sig * sig / (sig * sig + b.extra), b.y)));
    dispatch!(Level::new(), simd => newton(simd, fixed, bounds, sig, start, steps, linear))
}

#[inline(always)]
fn newton<S: Simd, const N: usize>(
    simd: S,
    fixed: &NormalEquations<N>,
    bounds: &[BoundRow<N>],
    sig: f64,
    start: Option<[f64; N]>,
    steps: usize,
    linear: &mut [(f64, f64)],
) -> CensoredFit<N> {
    let table = NormalTable::new();
    let mut beta = start.unwrap_or([0.0; N]);
    let mut step = 0;
    loop {
        #[cfg(test)]
        super::work::note(bounds.len());
        let mut from_bounds = Gathering::new(simd);
        for (bound, wz) in bounds.iter().zip(linear.iter_mut()) {
            if step > 0 || start.is_some() {
                *wz = bound.linearise(dot(&bound.x, &beta), sig, table);
            }
            if wz.0 > 0.0 {
                from_bounds.add(&bound.x, wz.0, wz.1);
            }
        }
        let from_bounds = from_bounds.equations();
        let equations = fixed.plus(&from_bounds);
        let factor = equations.factor();
        let next = factor.solve(&equations.right);
        let moved = (0..N).fold(0.0_f64, |m, i| m.max((next[i] - beta[i]).abs()));
        beta = next;
        step += 1;
        if moved < SETTLED || step >= steps {
            return CensoredFit { beta, factor, from_bounds };
        }
    }
}
