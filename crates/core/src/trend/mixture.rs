//! The average of the models: probabilities of the level, and everything read off them.

#![allow(clippy::needless_range_loop, reason = "indices as in the formulas")]

use super::models::Model;
use super::models::Models;
use super::noise::{self, NoiseKind};
use super::priors::NoiseWeights;
use super::shapes;

/// Models with less than this share of the largest weight are dropped (Hoeting et al. 1999).
const LEAST_SHARE: f64 = 1e-4;

/// The kept models, their weights adding up to 1.
#[derive(Clone, Debug)]
pub(super) struct Mixture {
    pub(super) kept: Vec<(f64, Model)>,
    /// Shapes at the as-of date.
    now: [f64; shapes::COUNT],
}

/// Moments of the level at one time under one model.
#[derive(Clone, Copy, Debug)]
pub(super) struct Moments {
    pub(super) weight: f64,
    pub(super) mean: f64,
    pub(super) variance: f64,
    /// Probability that the tail is divided by.
    pub(super) falling: f64,
}

impl Mixture {
    pub(super) fn new(models: &Models, weights: &NoiseWeights) -> Self {
        let ln: Vec<f64> = models
            .models
            .iter()
            .map(|m| models.ln_weight(m, weights))
            .collect();
        let highest = ln.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let mut kept: Vec<(f64, Model)> = models
            .models
            .iter()
            .zip(&ln)
            .map(|(m, l)| ((l - highest).exp(), *m))
            .filter(|(w, _)| *w >= LEAST_SHARE)
            .collect();
        let total: f64 = kept.iter().map(|(w, _)| w).sum();
        for (w, _) in &mut kept {
            *w /= total;
        }
        Self {
            kept,
            now: models.span.values(0.0),
        }
    }

    /// F before the running maximum: probability that the level at `t` ≥ 0 is at or below `level`.
    pub(super) fn below(&self, models: &Models, t: f64, level: f64) -> f64 {
        let g = models.span.values(t);
        let target = level - models.centre;
        let mut sum = 0.0;
        for (w, m) in &self.kept {
            let (mean, variance) = self.level(m, &g);
            let tail = models.table.lower_tail_of(target - mean, variance);
            sum += w * (tail / m.falling).min(1.0);
        }
        sum
    }

    /// Mean and variance of the level of one model where its shapes have the values `g`.
    #[inline]
    fn level(&self, m: &Model, g: &[f64; shapes::COUNT]) -> (f64, f64) {
        let s = m.shape as usize;
        let x = g[s];
        let slope = m.beta[noise::SHAPE];
        let variance = m.level_variance
            + x * (2.0 * m.covariance + x * m.slope_variance)
            + m.walk * (x - self.now[s]).max(0.0);
        (m.level + slope * x, variance.max(f64::MIN_POSITIVE))
    }

    /// Moments of the level at any time; `below_step` says whether a recent step has happened by then.
    pub(super) fn moments(&self, models: &Models, t: f64, below_step: bool) -> Vec<Moments> {
        let g = models.span.values(t);
        self.kept
            .iter()
            .map(|(weight, m)| {
                let (mut mean, mut variance) = self.level(m, &g);
                if models.has_step && !below_step {
                    let mut x = [0.0; noise::COLUMNS];
                    x[super::models::LEVEL] = 1.0;
                    x[noise::SHAPE] = g[m.shape as usize];
                    mean -= m.beta[super::models::STEP];
                    variance = models.quadratic(m, &x) * m.scale;
                }
                let falling = if t > 0.0 { m.falling } else { 1.0 };
                Moments {
                    weight: *weight,
                    mean: mean + models.centre,
                    variance,
                    falling,
                }
            })
            .collect()
    }

    /// Moments of the next reading at `t`, with season, temperature and noise.
    pub(super) fn reading(
        &self,
        models: &Models,
        t: f64,
        row: &[f64; noise::SHARED],
    ) -> Vec<Moments> {
        let g = models.span.values(t);
        let state = &models.lingering;
        self.kept
            .iter()
            .map(|(weight, m)| {
                let s = m.shape as usize;
                let mut x = [0.0; noise::COLUMNS];
                x[..noise::SHARED].copy_from_slice(row);
                x[noise::SHAPE] = g[s];
                let mut mean = 0.0;
                let mut noise_variance = 1.0;
                if m.kind == NoiseKind::Lingering {
                    let (keep, fresh) = noise::fade(t - state.t);
                    for i in 0..noise::SHARED {
                        x[i] -= keep * state.shared[i];
                    }
                    x[noise::SHAPE] -= keep * state.shapes[s];
                    mean = keep * state.shared[noise::SHARED];
                    noise_variance = keep * keep * state.variance + fresh + noise::FLEETING_SHARE;
                }
                mean += crate::stats::small_matrix::dot(&x, &m.beta);
                let variance = m.scale * (models.quadratic(m, &x) + noise_variance)
                    + m.walk * (g[s] - self.now[s]).max(0.0);
                Moments {
                    weight: *weight,
                    mean: mean + models.centre,
                    variance,
                    falling: 1.0,
                }
            })
            .collect()
    }
}
