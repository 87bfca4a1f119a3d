//! Readings side by side: the robust pass looks at every one of them some fifteen times, so their columns lie together and
//! sums run over several at once.

#![allow(clippy::needless_range_loop, reason = "indices as in the formulas")]

use super::prepared::Prepared;
use super::priors::{OUTLIER_SD, OUTLIER_SHARE};
use super::robust::COLUMNS;
use super::shapes::Span;
use crate::stats::small_matrix::NormalEquations;

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
    pub(super) wild: Lanes,
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
            wild: nothing,
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

    /// Shares out the probability of being wild, and gives its sum over exact readings.
    #[inline]
    pub(super) fn weigh(&mut self, beta: &[f64; COLUMNS], sig2: f64, usual: &Odds) -> f64 {
        let residual = self.residuals(beta);
        for k in 0..LANES {
            let own = if self.has_extra { Odds::new(sig2, self.extra[k]) } else { *usual };
            self.wild[k] = self.exact[k] * own.wild(residual[k]);
            self.weight[k] = own.weight(self.wild[k]);
        }
        self.wild.iter().sum()
    }

    pub(super) fn weight_of_exact(&self) -> Lanes {
        std::array::from_fn(|k| self.exact[k] * self.weight[k])
    }

    /// Sum of squares of the ordinary exact readings.
    #[inline]
    pub(super) fn squares(&self, beta: &[f64; COLUMNS], sig2: f64) -> f64 {
        let residual = self.residuals(beta);
        let mut squares: Lanes = std::array::from_fn(|k| (self.exact[k] - self.wild[k]) * residual[k] * residual[k]);
        if self.has_extra {
            for k in 0..LANES {
                squares[k] *= share(sig2, self.extra[k]);
            }
        }
        squares.iter().sum()
    }

    /// Weights towards least absolute deviations.
    #[inline]
    pub(super) fn weights_at_start(&self, beta: &[f64; COLUMNS], sig: f64, per_sig: f64) -> Lanes {
        let residual = self.residuals(beta);
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
        weight
    }

    #[inline]
    fn residuals(&self, beta: &[f64; COLUMNS]) -> Lanes {
        let [sin, cos] = &self.season;
        std::array::from_fn(|k| {
            let v = self.place[k];
            let curve = beta[0] + v * (beta[1] + v * beta[2]);
            self.y[k] - (curve + sin[k] * beta[3] + cos[k] * beta[4] + self.warmth[k] * beta[5])
        })
    }
}

/// Different products of two columns, or of a column and the reading.
const PRODUCTS: usize = 26;

/// Weighted sums of products, lane by lane.
pub(super) struct Sums([Lanes; PRODUCTS]);

impl Sums {
    pub(super) const ZERO: Self = Self([[0.0; LANES]; PRODUCTS]);

    #[inline]
    pub(super) fn add(&mut self, block: &Block, w: &Lanes) {
        let times = |a: &Lanes, b: &Lanes| -> Lanes { std::array::from_fn(|k| a[k] * b[k]) };
        let Block { place: v, season: [s, c], warmth: t, y, .. } = block;
        let first = times(w, v);
        let second = times(&first, v);
        let third = times(&second, v);
        let (ws, wc, wt) = (times(w, s), times(w, c), times(w, t));
        let one = [1.0; LANES];
        let mut add = |place: usize, a: &Lanes, b: &Lanes| {
            for k in 0..LANES {
                self.0[place][k] += a[k] * b[k];
            }
        };
        add(0, &one, w);
        add(1, w, v);
        add(2, &first, v);
        add(3, &second, v);
        add(4, &third, v);
        add(5, w, s);
        add(6, &first, s);
        add(7, &second, s);
        add(8, w, c);
        add(9, &first, c);
        add(10, &second, c);
        add(11, w, t);
        add(12, &first, t);
        add(13, &second, t);
        add(14, w, y);
        add(15, &first, y);
        add(16, &second, y);
        add(17, &ws, s);
        add(18, &ws, c);
        add(19, &wc, c);
        add(20, &ws, t);
        add(21, &wc, t);
        add(22, &wt, t);
        add(23, &ws, y);
        add(24, &wc, y);
        add(25, &wt, y);
    }

    /// The sums as normal equations.
    pub(super) fn equations(&self) -> NormalEquations<COLUMNS> {
        let q = self.0.map(|lanes| lanes.iter().sum::<f64>());
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
    fn wild(&self, residual: f64) -> f64 {
        let odds = self.at_zero * (self.growth * residual * residual).min(600.0).exp();
        odds / (1.0 + odds)
    }

    /// Weight of a reading that is wild with probability `p`, in units of 1/sig².
    fn weight(&self, p: f64) -> f64 {
        (1.0 - p + p * self.ratio) * self.share
    }
}
