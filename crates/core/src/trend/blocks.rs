//! Readings side by side: the robust pass looks at every one of them some fifteen times, so their columns lie together and
//! sums run over several at once.

#![allow(clippy::needless_range_loop, reason = "indices as in the formulas")]

use super::prepared::Prepared;
use super::priors::{OUTLIER_SD, OUTLIER_SHARE};
use super::shapes::Span;
use crate::stats::small_matrix::NormalEquations;
use fearless_simd::{Simd, SimdFrom, f64x4};

/// Columns: level, slope, bend, sin, cos, temperature.
pub(super) const COLUMNS: usize = 6;
/// Residuals below this many sigma all weigh the same at the start.
const SMALL_RESIDUAL: f64 = 0.3;
/// Weight of a bound that holds, at the start.
const HELD_BOUND: f64 = 1e-3;

/// Share of a reading's variance that is ordinary scatter.
#[inline]
pub(super) fn share(sig2: f64, extra: f64) -> f64 {
    if extra > 0.0 { sig2 / (sig2 + extra) } else { 1.0 }
}

/// Readings that are worked on side by side.
pub(super) const LANES: usize = 4;
type Lanes = [f64; LANES];

/// Rows of neighbouring readings, column by column, and what the pass thinks of them; what is missing in the last block is 0.
pub(super) struct Block {
    place: Lanes,
    season: [Lanes; 2],
    warmth: Lanes,
    y: Lanes,
    /// 1 for exact readings, 0 for bounds and for what is missing.
    exact: Lanes,
    /// Of bounds: +1 where the truth is above, -1 where it is below.
    sign: Lanes,
    extra: Lanes,
    /// Whether any has known extra variance.
    has_extra: bool,
    pub(super) p_outlier: Lanes,
    pub(super) weight: Lanes,
}

impl Block {
    pub(super) fn new(readings: &[Prepared], span: &Span) -> Self {
        let nothing = [0.0; LANES];
        let mut block = Self {
            place: nothing,
            season: [nothing; 2],
            warmth: nothing,
            y: nothing,
            exact: nothing,
            sign: nothing,
            extra: nothing,
            has_extra: readings.iter().any(|r| r.extra > 0.0),
            p_outlier: nothing,
            weight: nothing,
        };
        for (k, r) in readings.iter().enumerate().take(LANES) {
            block.place[k] = span.place(r.t) - 0.5;
            block.season[0][k] = r.season[0];
            block.season[1][k] = r.season[1];
            block.warmth[k] = r.warmth;
            block.y[k] = r.y;
            block.exact[k] = if r.exact() { 1.0 } else { 0.0 };
            block.sign[k] = r.sign;
            block.extra[k] = r.extra;
        }
        block
    }

    /// Shares out the probability of being an outlier, and gives its sum over exact readings.
    #[inline(always)]
    pub(super) fn weigh<S: Simd>(&mut self, simd: S, beta: &[f64; COLUMNS], sig2: f64, usual: &Odds) -> f64 {
        let residual = self.residuals(simd, beta);
        for k in 0..LANES {
            let own = if self.has_extra { Odds::new(sig2, self.extra[k]) } else { *usual };
            self.p_outlier[k] = self.exact[k] * own.p_outlier(residual[k]);
            self.weight[k] = own.weight(self.p_outlier[k]);
        }
        self.p_outlier.iter().sum()
    }

    #[inline(always)]
    pub(super) fn weight_of_exact<S: Simd>(&self, simd: S) -> f64x4<S> {
        f64x4::simd_from(simd, self.exact) * f64x4::simd_from(simd, self.weight)
    }

    /// Sum of squares of the ordinary exact readings.
    #[inline(always)]
    pub(super) fn squares<S: Simd>(&self, simd: S, beta: &[f64; COLUMNS], sig2: f64) -> f64 {
        let residual = self.residuals(simd, beta);
        let ordinary = f64x4::simd_from(simd, self.exact) - f64x4::simd_from(simd, self.p_outlier);
        let mut squares = *(ordinary * residual * residual);
        if self.has_extra {
            for k in 0..LANES {
                squares[k] *= share(sig2, self.extra[k]);
            }
        }
        squares.iter().sum()
    }

    /// Weights towards least absolute deviations.
    #[inline(always)]
    pub(super) fn weights_at_start<S: Simd>(&self, simd: S, beta: &[f64; COLUMNS], sig: f64, per_sig: f64) -> f64x4<S> {
        let residual = self.residuals(simd, beta);
        let mut weight: Lanes = std::array::from_fn(|k| 1.0 / (residual[k].abs() * per_sig).max(SMALL_RESIDUAL));
        for k in 0..LANES {
            if self.exact[k] < 0.5 && self.sign[k] * residual[k] <= 0.0 {
                weight[k] = if self.sign[k].abs() > 0.5 { HELD_BOUND } else { 0.0 };
            }
        }
        if self.has_extra {
            for k in 0..LANES {
                weight[k] *= share(sig * sig, self.extra[k]);
            }
        }
        f64x4::simd_from(simd, weight)
    }

    #[inline(always)]
    fn residuals<S: Simd>(&self, simd: S, beta: &[f64; COLUMNS]) -> f64x4<S> {
        let lanes = |lanes: Lanes| f64x4::simd_from(simd, lanes);
        let [sin, cos] = self.season.map(lanes);
        let v = lanes(self.place);
        let curve = v * (v * beta[2] + beta[1]) + beta[0];
        lanes(self.y) - (curve + sin * beta[3] + cos * beta[4] + lanes(self.warmth) * beta[5])
    }
}

/// Different products of two columns, or of a column and the reading.
const PRODUCTS: usize = 26;

/// Weighted sums of products, lane by lane.
pub(super) struct Sums<S: Simd>(S, [f64x4<S>; PRODUCTS]);

impl<S: Simd> Sums<S> {
    #[inline(always)]
    pub(super) fn new(simd: S) -> Self {
        Self(simd, [f64x4::simd_from(simd, 0.0); PRODUCTS])
    }

    #[inline(always)]
    pub(super) fn add(&mut self, block: &Block, w: f64x4<S>) {
        let Self(simd, sums) = self;
        let lanes = |lanes: Lanes| f64x4::simd_from(*simd, lanes);
        let [s, c] = block.season.map(lanes);
        let (v, t, y) = (lanes(block.place), lanes(block.warmth), lanes(block.y));
        let first = w * v;
        let second = first * v;
        let third = second * v;
        let (ws, wc, wt) = (w * s, w * c, w * t);
        sums[0] += w;
        sums[1] += first;
        sums[2] += second;
        sums[3] += third;
        sums[4] += third * v;
        sums[5] += ws;
        sums[6] += first * s;
        sums[7] += second * s;
        sums[8] += wc;
        sums[9] += first * c;
        sums[10] += second * c;
        sums[11] += wt;
        sums[12] += first * t;
        sums[13] += second * t;
        sums[14] += w * y;
        sums[15] += first * y;
        sums[16] += second * y;
        sums[17] += ws * s;
        sums[18] += ws * c;
        sums[19] += wc * c;
        sums[20] += ws * t;
        sums[21] += wc * t;
        sums[22] += wt * t;
        sums[23] += ws * y;
        sums[24] += wc * y;
        sums[25] += wt * y;
    }

    /// The sums as normal equations.
    #[inline(always)]
    pub(super) fn equations(&self) -> NormalEquations<COLUMNS> {
        let mut q = [0.0; PRODUCTS];
        for (sum, lanes) in q.iter_mut().zip(&self.1) {
            *sum = lanes.iter().sum();
        }
        NormalEquations {
            matrix: [
                [q[0], 0.0, 0.0, 0.0, 0.0, 0.0],
                [q[1], q[2], 0.0, 0.0, 0.0, 0.0],
                [q[2], q[3], q[4], 0.0, 0.0, 0.0],
                [q[5], q[6], q[7], q[17], 0.0, 0.0],
                [q[8], q[9], q[10], q[18], q[19], 0.0],
                [q[11], q[12], q[13], q[20], q[21], q[22]],
            ],
            right: [q[14], q[15], q[16], q[23], q[24], q[25]],
        }
    }
}

/// The odds of the wide normal for readings of one known extra variance.
#[derive(Clone, Copy)]
pub(super) struct Odds {
    /// At a residual of nothing.
    at_zero: f64,
    /// Factor of the squared residual in their logarithm.
    growth: f64,
    /// Ordinary variance relative to the wide one.
    ratio: f64,
    /// Share of the variance that is ordinary scatter.
    share: f64,
}

impl Odds {
    pub(super) fn new(sig2: f64, extra: f64) -> Self {
        let ordinary = sig2 + extra;
        let wide = ordinary + OUTLIER_SD * OUTLIER_SD;
        let ratio = ordinary / wide;
        Self {
            at_zero: OUTLIER_SHARE / (1.0 - OUTLIER_SHARE) * ratio.sqrt(),
            growth: 0.5 * (1.0 / ordinary - 1.0 / wide),
            ratio,
            share: share(sig2, extra),
        }
    }

    /// Posterior probability that a residual comes from the wide normal.
    #[inline(always)]
    fn p_outlier(&self, residual: f64) -> f64 {
        let odds = self.at_zero * libm::exp((self.growth * residual * residual).min(600.0));
        odds / (1.0 + odds)
    }

    /// Weight of a reading that is an outlier with probability `p`, in units of 1/sig².
    #[inline(always)]
    fn weight(&self, p: f64) -> f64 {
        (1.0 - p + p * self.ratio) * self.share
    }
}
