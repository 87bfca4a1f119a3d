//! The robust pass: which readings are wild, and how large ordinary scatter is.
//!
//! A normal contaminated by a wide normal (Tukey 1960; Box & Tiao 1968): clean readings keep weight 1, wild ones
//! lose theirs. Reweighted least squares for least absolute deviations finds a start that wild readings cannot
//! drag; expectation-maximisation then shares out the probabilities. The latest reading takes part like any other
//! while the scatter is estimated, but is never called wild afterwards: a low latest reading must not be smoothed
//! away.

#![allow(clippy::needless_range_loop, reason = "indices as in the formulas")]

use super::bounds::{self, BoundRow};
use super::prepared::{Prepared, mean_level};
use super::priors::{LEAST_READINGS, OUTLIER_SD, OUTLIER_SHARE, Priors};
use super::shapes::Span;
use crate::stats::small_matrix::{NormalEquations, dot};

/// Columns: level, slope, bend, sin, cos, temperature.
pub(super) const COLUMNS: usize = 6;
const START_ROUNDS: usize = 12;
const ROUNDS: usize = 10;
const STEPS: usize = 3;
/// The start has settled when no coefficient moves more than this, decades; the rounds after it go on anyway.
const SETTLED_START: f64 = 2e-3;
/// Blocks that are enough for the start of a long record; they are taken at equal steps.
const START_BLOCKS: usize = 1024;
/// The rounds have settled when sigma moves less than this share of itself, and no coefficient more, in decades.
const SETTLED_SIG: f64 = 1e-5;
/// Residuals below this many sigma all weigh the same at the start.
const SMALL_RESIDUAL: f64 = 0.3;
/// Weight of a bound that holds, at the start.
const HELD_BOUND: f64 = 1e-3;

/// Prior standard deviations of level, slope · span, bend and the law's error.
const LEVEL_SD: f64 = 2.0;
const SLOPE_SD: f64 = 1.0;
const BEND_SD: f64 = 0.7;
const LAW_SD: f64 = 0.15;

/// What the robust pass found.
#[derive(Clone, Debug)]
pub(super) struct Robust {
    /// Scatter of one ordinary reading, decades.
    pub(super) sig: f64,
    /// Probability that the reading is wild; 0 for bounds.
    pub(super) wild: Vec<f64>,
    /// Weight of the reading in units of 1/sig²; for bounds only the known extra variance counts.
    pub(super) weight: Vec<f64>,
    /// Ordinary exact readings less effective coefficients.
    pub(super) dof: f64,
    /// Sum of squares of the ordinary exact readings, decades².
    pub(super) rss: f64,
    /// Coefficients.
    pub(super) beta: [f64; COLUMNS],
    /// Their posterior variances, decades².
    pub(super) variance: [f64; COLUMNS],
    /// Prior precision of each, 1/decades².
    pub(super) precision: [f64; COLUMNS],
}

impl Robust {
    /// Takes reading `index` at face value, whatever the pass thought of it.
    pub(super) fn trust(&mut self, index: usize, reading: &Prepared) {
        if let (Some(p), Some(w)) = (self.wild.get_mut(index), self.weight.get_mut(index)) {
            *p = 0.0;
            *w = self.sig * self.sig / (self.sig * self.sig + reading.extra);
        }
    }

    /// Adds a reading that the pass has not seen, at face value.
    pub(super) fn append(&mut self, reading: &Prepared) {
        self.wild.push(0.0);
        self.weight.push(self.sig * self.sig / (self.sig * self.sig + reading.extra));
    }

    /// The same pass, reduced to the first `count` readings.
    pub(super) fn first(&self, count: usize) -> Self {
        let mut first = self.clone();
        first.wild.truncate(count);
        first.weight.truncate(count);
        first
    }

    /// Sum of 1 - p over exact readings.
    pub(super) fn ordinary(&self, readings: &[Prepared]) -> f64 {
        readings.iter().zip(&self.wild).filter(|(r, _)| r.exact()).map(|(_, p)| 1.0 - p).sum()
    }
}

/// One row: level, slope, bend, season, temperature.
pub(super) fn row(r: &Prepared, span: &Span) -> [f64; COLUMNS] {
    let v = span.place(r.t) - 0.5;
    [1.0, v, v * v, r.season[0], r.season[1], r.warmth]
}

/// Sum over exact readings of (1 - p) r² relative to known extra variance, the effective number of coefficients they
/// determine, and the estimate of sig² that follows.
pub(super) fn pooled_variance(priors: &Priors, rss: f64, dof: f64) -> f64 {
    (priors.scatter_df * priors.scatter * priors.scatter + rss) / (priors.scatter_df + dof)
}

/// Runs the pass.
pub(super) fn robust(readings: &[Prepared], span: &Span, priors: &Priors) -> Robust {
    let n = readings.len();
    let season = priors.season_sd.powi(-2);
    let precision = [LEVEL_SD.powi(-2), SLOPE_SD.powi(-2), BEND_SD.powi(-2), season, season, LAW_SD.powi(-2)];
    let mut sig = priors.scatter;
    let mut wild = vec![0.0; n];
    let mut weight: Vec<f64> = readings.iter().map(|r| sig * sig / (sig * sig + r.extra)).collect();
    if n < LEAST_READINGS {
        return Robust {
            sig,
            wild,
            weight,
            dof: 0.0,
            rss: 0.0,
            beta: [0.0; COLUMNS],
            variance: precision.map(f64::recip),
            precision,
        };
    }
    let blocks: Vec<Block> = readings.chunks(LANES).map(|chunk| Block::new(chunk, span)).collect();
    let bound_rows: Vec<BoundRow<COLUMNS>> = readings
        .iter()
        .enumerate()
        .filter(|(_, r)| !r.exact())
        .map(|(index, r)| BoundRow { x: row(r, span), y: r.y, sign: r.sign, extra: r.extra, index })
        .collect();
    let mut mean = [0.0; COLUMNS];
    mean[0] = mean_level(readings);
    let mut beta = least_absolute(readings, &blocks, &precision, &mean, sig);

    let mut linear = Vec::with_capacity(bound_rows.len());
    let (mut dof, mut rss) = (0.0, 0.0);
    let mut variance = [0.0; COLUMNS];
    for _ in 0..ROUNDS {
        let sig2 = sig * sig;
        let usual = Odds::new(sig2, 0.0);
        #[cfg(test)]
        super::work::note(readings.len());
        let mut sums = Sums::ZERO;
        let mut ordinary_readings = 0.0;
        let parts = wild.chunks_mut(LANES).zip(weight.chunks_mut(LANES));
        for ((block, part), (wild, weight)) in blocks.iter().zip(readings.chunks(LANES)).zip(parts) {
            let residual = block.residuals(&beta);
            let mut exact = [0.0; LANES];
            for (k, r) in part.iter().enumerate() {
                let odds = if r.extra > 0.0 { Odds::new(sig2, r.extra) } else { usual };
                let p = if r.exact() { odds.wild(residual[k]) } else { 0.0 };
                wild[k] = p;
                weight[k] = odds.weight(p);
                if r.exact() {
                    exact[k] = weight[k];
                    ordinary_readings += 1.0 - p;
                }
            }
            sums.add(block, &exact);
        }
        let exact = sums.equations();
        let prior = precision.map(|p| p * sig2);
        let fixed = NormalEquations::from_prior(&prior, &mean).plus(&exact);
        let fit = bounds::fit(&fixed, &bound_rows, sig, Some(beta), STEPS, &mut linear);
        let moved = (0..COLUMNS).fold(0.0_f64, |m, i| m.max((fit.beta[i] - beta[i]).abs()));
        beta = fit.beta;
        let factor = fit.equations.factor();
        let inverse = factor.inverse_diagonal();
        // All coefficients, less what the prior and the bounds determine.
        let mut spent = COLUMNS as f64 - dot(&inverse, &prior);
        if !bound_rows.is_empty() {
            spent -= trace_of_product(&factor.inverse(), &fit.from_bounds.matrix);
        }
        rss = 0.0;
        for ((block, part), wild) in blocks.iter().zip(readings.chunks(LANES)).zip(wild.chunks(LANES)) {
            let residual = block.residuals(&beta);
            for (k, r) in part.iter().enumerate() {
                if r.exact() {
                    rss += (1.0 - wild[k]) * share(sig2, r.extra) * residual[k] * residual[k];
                }
            }
        }
        dof = (ordinary_readings - spent).max(0.0);
        variance = inverse.map(|v| v * sig2);
        let before = sig;
        sig = pooled_variance(priors, rss, dof).sqrt();
        if (sig - before).abs() < SETTLED_SIG * sig && moved < SETTLED_SIG {
            break;
        }
    }
    Robust { sig, wild, weight, dof, rss, beta, variance, precision }
}

/// Share of a reading's variance that is ordinary scatter.
#[inline]
fn share(sig2: f64, extra: f64) -> f64 {
    if extra > 0.0 { sig2 / (sig2 + extra) } else { 1.0 }
}

/// Readings that are worked on side by side.
const LANES: usize = 2;
type Lanes = [f64; LANES];

/// Rows of neighbouring readings, column by column; what is missing in the last block is 0.
struct Block {
    place: Lanes,
    season: [Lanes; 2],
    warmth: Lanes,
    y: Lanes,
}

impl Block {
    fn new(readings: &[Prepared], span: &Span) -> Self {
        let nothing = [0.0; LANES];
        let mut block = Self { place: nothing, season: [nothing; 2], warmth: nothing, y: nothing };
        for (k, r) in readings.iter().enumerate().take(LANES) {
            block.place[k] = span.place(r.t) - 0.5;
            block.season[0][k] = r.season[0];
            block.season[1][k] = r.season[1];
            block.warmth[k] = r.warmth;
            block.y[k] = r.y;
        }
        block
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
struct Sums([Lanes; PRODUCTS]);

impl Sums {
    const ZERO: Self = Self([[0.0; LANES]; PRODUCTS]);

    #[inline]
    fn add(&mut self, block: &Block, w: &Lanes) {
        let times = |a: &Lanes, b: &Lanes| -> Lanes { std::array::from_fn(|k| a[k] * b[k]) };
        let Block { place: v, season: [s, c], warmth: t, y } = block;
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
    fn equations(&self) -> NormalEquations<COLUMNS> {
        let q = self.0.map(|lanes| lanes[0] + lanes[1]);
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

/// Reweighted least squares towards least absolute deviations: a start that wild readings cannot drag.
///
/// A long record starts from a part of itself: the rounds that follow look at every reading.
fn least_absolute(
    readings: &[Prepared],
    blocks: &[Block],
    precision: &[f64; COLUMNS],
    mean: &[f64; COLUMNS],
    sig: f64,
) -> [f64; COLUMNS] {
    let prior = NormalEquations::from_prior(&precision.map(|p| p * sig * sig), mean);
    let step = blocks.len().div_ceil(START_BLOCKS).max(1);
    let per_sig = 1.0 / sig;
    let mut beta = [0.0; COLUMNS];
    beta[0] = median(readings);
    for _ in 0..START_ROUNDS {
        let mut sums = Sums::ZERO;
        #[cfg(test)]
        super::work::note(readings.len() / step);
        for (block, part) in blocks.iter().zip(readings.chunks(LANES)).step_by(step) {
            let residual = block.residuals(&beta);
            let mut weight = [0.0; LANES];
            for (k, r) in part.iter().enumerate() {
                let held = !r.exact() && r.sign * residual[k] <= 0.0;
                let w = if held { HELD_BOUND } else { 1.0 / (residual[k].abs() * per_sig).max(SMALL_RESIDUAL) };
                weight[k] = w * share(sig * sig, r.extra);
            }
            sums.add(block, &weight);
        }
        let next = prior.plus(&sums.equations()).solve();
        let moved = (0..COLUMNS).fold(0.0_f64, |m, i| m.max((next[i] - beta[i]).abs()));
        beta = next;
        if moved < SETTLED_START {
            break;
        }
    }
    beta
}

/// The odds of the wide normal for readings of one known extra variance.
#[derive(Clone, Copy)]
struct Odds {
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
    fn new(sig2: f64, extra: f64) -> Self {
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

/// Trace of A B, A full, B by its lower triangle.
pub(super) fn trace_of_product<const N: usize>(a: &[[f64; N]; N], lower: &[[f64; N]; N]) -> f64 {
    let mut trace = 0.0;
    for i in 0..N {
        for j in 0..i {
            trace += 2.0 * a[i][j] * lower[i][j];
        }
        trace += a[i][i] * lower[i][i];
    }
    trace
}

fn median(readings: &[Prepared]) -> f64 {
    let mut values: Vec<f64> = readings.iter().map(|r| r.y).collect();
    let n = values.len();
    if n == 0 {
        return 0.0;
    }
    let (below, middle, _) = values.select_nth_unstable_by(n / 2, f64::total_cmp);
    let middle = *middle;
    let before = if n % 2 == 1 { middle } else { below.iter().copied().fold(f64::NEG_INFINITY, f64::max) };
    0.5 * (before + middle)
}
