//! The robust pass: which readings are outliers, and how large ordinary scatter is.
//!
//! A normal contaminated by a wide normal (Tukey 1960; Box & Tiao 1968): clean readings keep weight 1, outliers
//! lose theirs. Reweighted least squares for least absolute deviations finds a start that outliers cannot
//! drag; expectation-maximisation then shares out the probabilities. The latest reading takes part like any other
//! while the scatter is estimated, but is never called an outlier afterwards: a low latest reading must not be smoothed
//! away.

#![allow(clippy::needless_range_loop, reason = "indices as in the formulas")]

use super::blocks::{Block, COLUMNS, LANES, Odds, Sums};
use super::bounds::{self, BoundRow, Bounds};
use super::prepared::{Prepared, mean_level};
use super::priors::{LEAST_READINGS, Priors};
use super::shapes::Span;
use crate::stats::small_matrix::{NormalEquations, dot};
use fearless_simd::{Level, Simd, dispatch};

const START_ROUNDS: usize = 12;
const ROUNDS: usize = 10;
const STEPS: usize = 3;
/// The start has settled when no coefficient moves more than this, decades; the rounds after it go on anyway.
const SETTLED_START: f64 = 2e-3;
/// Blocks that are enough for the start of a long record; they are taken at equal steps.
const START_BLOCKS: usize = 1024;
/// The rounds have settled when sigma moves less than this share of itself, and no coefficient more, in decades.
const SETTLED_SIG: f64 = 1e-5;

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
    /// Probability that the reading is an outlier; 0 for bounds.
    pub(super) p_outlier: Vec<f64>,
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
        if let (Some(p), Some(w)) = (self.p_outlier.get_mut(index), self.weight.get_mut(index)) {
            *p = 0.0;
            *w = self.sig * self.sig / (self.sig * self.sig + reading.extra);
        }
    }

    /// Adds a reading that the pass has not seen, at face value.
    pub(super) fn append(&mut self, reading: &Prepared) {
        self.p_outlier.push(0.0);
        self.weight.push(self.sig * self.sig / (self.sig * self.sig + reading.extra));
    }

    /// The same pass, reduced to the first `count` readings.
    pub(super) fn first(&self, count: usize) -> Self {
        let mut first = self.clone();
        first.p_outlier.truncate(count);
        first.weight.truncate(count);
        first
    }

    /// Sum of 1 - p over exact readings.
    pub(super) fn ordinary(&self, readings: &[Prepared]) -> f64 {
        readings.iter().zip(&self.p_outlier).filter(|(r, _)| r.exact()).map(|(_, p)| 1.0 - p).sum()
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
    dispatch!(Level::new(), simd => pass(simd, readings, span, priors))
}

#[inline(always)]
fn pass<S: Simd>(simd: S, readings: &[Prepared], span: &Span, priors: &Priors) -> Robust {
    let n = readings.len();
    let season = priors.season_sd.powi(-2);
    let precision = [LEVEL_SD.powi(-2), SLOPE_SD.powi(-2), BEND_SD.powi(-2), season, season, LAW_SD.powi(-2)];
    let mut sig = priors.scatter;
    let mut p_outlier = vec![0.0; n];
    let mut weight: Vec<f64> = readings.iter().map(|r| sig * sig / (sig * sig + r.extra)).collect();
    if n < LEAST_READINGS {
        return Robust {
            sig,
            p_outlier,
            weight,
            dof: 0.0,
            rss: 0.0,
            beta: [0.0; COLUMNS],
            variance: precision.map(f64::recip),
            precision,
        };
    }
    let mut blocks: Vec<Block> = readings.chunks(LANES).map(|chunk| Block::new(chunk, span)).collect();
    let mut bounds: Bounds<COLUMNS> = readings
        .iter()
        .enumerate()
        .filter(|(_, r)| !r.exact())
        .map(|(index, r)| BoundRow { x: row(r, span), y: r.y, sign: r.sign, extra: r.extra, index })
        .collect();
    let mut mean = [0.0; COLUMNS];
    mean[0] = mean_level(readings);
    let mut beta = least_absolute(simd, readings, &blocks, &precision, &mean, sig);
    let exact_readings = (n - bounds.len()) as f64;

    let (mut dof, mut rss) = (0.0, 0.0);
    let mut variance = [0.0; COLUMNS];
    for _ in 0..ROUNDS {
        let sig2 = sig * sig;
        let usual = Odds::new(sig2, 0.0);
        #[cfg(test)]
        super::work::note(readings.len());
        let mut sums = Sums::new(simd);
        let mut wild_readings = 0.0;
        for block in &mut blocks {
            wild_readings += block.weigh(simd, &beta, sig2, &usual);
            sums.add(block, block.weight_of_exact(simd));
        }
        let exact = sums.equations();
        let prior = precision.map(|p| p * sig2);
        let fixed = NormalEquations::from_prior(&prior, &mean).plus(&exact);
        let fit = bounds::fit(&fixed, &mut bounds, sig, Some(beta), STEPS);
        let moved = (0..COLUMNS).fold(0.0_f64, |m, i| m.max((fit.beta[i] - beta[i]).abs()));
        beta = fit.beta;
        let inverse = fit.factor.inverse_diagonal();
        // All coefficients, less what the prior and the bounds determine.
        let mut spent = COLUMNS as f64 - dot(&inverse, &prior);
        if !bounds.is_empty() {
            spent -= trace_of_product(&fit.factor.inverse(), &fit.from_bounds.matrix);
        }
        rss = 0.0;
        for block in &blocks {
            rss += block.squares(simd, &beta, sig2);
        }
        dof = (exact_readings - wild_readings - spent).max(0.0);
        variance = inverse.map(|v| v * sig2);
        let before = sig;
        sig = pooled_variance(priors, rss, dof).sqrt();
        if (sig - before).abs() < SETTLED_SIG * sig && moved < SETTLED_SIG {
            break;
        }
    }
    for (block, (p_outlier, weight)) in blocks.iter().zip(p_outlier.chunks_mut(LANES).zip(weight.chunks_mut(LANES))) {
        p_outlier.copy_from_slice(&block.p_outlier[..p_outlier.len()]);
        weight.copy_from_slice(&block.weight[..weight.len()]);
    }
    Robust { sig, p_outlier, weight, dof, rss, beta, variance, precision }
}

/// Reweighted least squares towards least absolute deviations: a start that outliers cannot drag.
///
/// A long record starts from a part of itself: the rounds that follow look at every reading.
#[inline(always)]
fn least_absolute<S: Simd>(
    simd: S,
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
        let mut sums = Sums::new(simd);
        #[cfg(test)]
        super::work::note(readings.len() / step);
        for block in blocks.iter().step_by(step) {
            sums.add(block, block.weights_at_start(simd, &beta, sig, per_sig));
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
