//! A fall since the last test: the latest readings judged by what the earlier ones predicted.
//!
//! The predictive test of Chow (1960), with a share of noise that neighbours have in common. Where the earlier
//! readings are largely bounds, the normal predictive is too wide on the low side; there the gain in penalised
//! likelihood of letting the latest readings go free decides.

#![allow(clippy::needless_range_loop, reason = "indices as in the formulas")]

use super::bounds::{self, BoundRow, STEPS};
use super::prepared::{Prepared, mean_level, span};
use super::priors::Priors;
use super::robust::{Robust, pooled_variance, robust, trace_of_product};
use super::shapes::Span;
use crate::stats::normal::{inverse_mills, ln_normal_lower_tail};
use crate::stats::small_matrix::{NormalEquations, dot};
use crate::stats::student::student_lower_tail;

/// Columns: level, slope, sin, cos, temperature.
const COLUMNS: usize = 5;
/// The same and a step.
const STEP_COLUMNS: usize = 6;
/// Largest probability that is called a fall.
pub(super) const LARGEST_P: f64 = 0.0015;
/// Least drop, decades.
const LEAST_DROP: f64 = 0.15;
/// Readings needed for the test with one latest reading, and with two or three.
const LEAST_READINGS: usize = 5;
const LEAST_FOR_THREE: usize = 9;
/// Earlier readings needed for the likelihood test.
const LEAST_EARLIER: usize = 4;
/// Share of the noise variance that neighbouring readings have in common.
const SHARED_NOISE: f64 = 0.25;
/// How much of the likelihood gained is put down to noise of its own; the rest is shared by neighbours.
const FREE_NOISE: f64 = 0.875;
/// Coefficients that the likelihood test spends.
const FREE_COLUMNS: f64 = 3.0;
/// After bounds alone, a reading this far below the last bound has fallen; decades.
const LEAST_DROP_UNDER_BOUND: f64 = 0.5;
const NEWTON_STEPS: usize = 40;
const HALVINGS: usize = 30;
const CLOSE_LIKELIHOOD: f64 = 1e-9;
/// Prior standard deviation of the level in the predictive test and in the likelihood test, of the free step.
const LEVEL_SD: f64 = 2.0;
const LEVEL_SD_FREE: f64 = 3.0;
const STEP_SD: f64 = 3.0;

/// A fall of the latest readings below what the earlier ones predicted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fall {
    /// How many of the latest readings lie low: 1, 2 or 3.
    pub readings: usize,
    /// Probability of readings this low had nothing happened.
    pub probability: f64,
    /// How far below the prediction they lie on average, decades (positive).
    pub drop_log10: f64,
}

/// A fall, with the robust pass over all readings before it.
#[derive(Clone, Debug)]
pub(super) struct Found {
    pub(super) fall: Fall,
    pub(super) earlier: Robust,
}

/// Looks for a fall.
pub(super) fn find(readings: &[Prepared], priors: &Priors) -> Option<Found> {
    let n = readings.len();
    let latest = readings.last()?;
    if latest.sign > 0.5 {
        return None;
    }
    let pass = |m: usize| robust(&readings[..n - m], &span(&readings[..n - m]), priors);
    if let Some(fall) = below_bounds(readings, priors) {
        return Some(Found {
            fall,
            earlier: pass(1),
        });
    }
    if n < LEAST_READINGS {
        return None;
    }
    let one = Earlier::new(readings, n - 1, priors);
    let three = (n >= LEAST_FOR_THREE).then(|| Earlier::new(readings, n - 3, priors));
    let fall = smallest(&one, three.as_ref(), Earlier::predictive)
        .or_else(|| smallest(&one, three.as_ref(), Earlier::likelihood))?;
    let earlier = match (fall.readings, three) {
        (1, _) => one.robust,
        (3, Some(three)) => three.robust,
        (m, _) => pass(m),
    };
    Some(Found { fall, earlier })
}

/// The most surprising of one, two and three latest readings, if it is surprising enough.
fn smallest<'a>(
    one: &Earlier<'a>,
    three: Option<&Earlier<'a>>,
    test: impl Fn(&Earlier<'a>, usize) -> Option<Fall>,
) -> Option<Fall> {
    let candidates = [
        test(one, 1),
        three.and_then(|e| test(e, 2)),
        three.and_then(|e| test(e, 3)),
    ];
    candidates
        .into_iter()
        .flatten()
        .filter(|fall| fall.probability < LARGEST_P)
        .min_by(|a, b| a.probability.total_cmp(&b.probability))
}

/// The earlier readings, fitted; everything else is judged by them.
struct Earlier<'a> {
    readings: &'a [Prepared],
    /// How many of them are earlier.
    count: usize,
    span: Span,
    robust: Robust,
    priors: &'a Priors,
    beta: [f64; COLUMNS],
    /// Prior precision times sig², and the mean.
    prior: ([f64; COLUMNS], [f64; COLUMNS]),
    /// Weighted exact readings and the bounds among the earlier ones.
    exact: NormalEquations<COLUMNS>,
    bounds: Vec<BoundRow<COLUMNS>>,
    all: NormalEquations<COLUMNS>,
}

impl<'a> Earlier<'a> {
    fn new(readings: &'a [Prepared], count: usize, priors: &'a Priors) -> Self {
        let earlier = &readings[..count];
        let span = span(earlier);
        let robust = robust(earlier, &span, priors);
        let sig2 = robust.sig * robust.sig;
        let season = priors.season_sd.powi(-2);
        let slope = (span.years * priors.slope_sd()).powi(-2);
        let precision = [
            LEVEL_SD.powi(-2),
            slope,
            season,
            season,
            priors.temperature_sd().powi(-2),
        ]
        .map(|p| p * sig2);
        let mean = [
            mean_level(earlier),
            span.years * priors.slope_mean,
            0.0,
            0.0,
            0.0,
        ];
        let mut exact = NormalEquations::ZERO;
        let mut rows = Vec::new();
        for (index, (r, w)) in earlier.iter().zip(&robust.weight).enumerate() {
            let x = row(r, &span);
            if r.exact() {
                exact.add(&x, *w, r.y);
            } else {
                rows.push(BoundRow {
                    x,
                    y: r.y,
                    sign: r.sign,
                    extra: r.extra,
                    index,
                });
            }
        }
        let fixed = NormalEquations::from_prior(&precision, &mean).plus(&exact);
        let fit = bounds::fit(&fixed, &rows, robust.sig, None, STEPS, &mut Vec::new());
        Self {
            readings,
            count,
            span,
            robust,
            priors,
            beta: fit.beta,
            prior: (precision, mean),
            exact,
            bounds: rows,
            all: fit.equations,
        }
    }

    fn latest(&self, m: usize) -> &'a [Prepared] {
        &self.readings[self.readings.len() - m..]
    }

    /// Mean residual and mean row of the last `m` readings, if they lie low enough, each of them.
    fn low(&self, m: usize) -> Option<(f64, [f64; COLUMNS])> {
        let mut mean = 0.0;
        let mut mean_row = [0.0; COLUMNS];
        let mut highest = f64::NEG_INFINITY;
        for r in self.latest(m) {
            let x = row(r, &self.span);
            let mut residual = r.y - dot(&x, &self.beta);
            if r.sign > 0.5 {
                residual = residual.max(0.0);
            }
            highest = highest.max(residual);
            mean += residual / m as f64;
            for i in 0..COLUMNS {
                mean_row[i] += x[i] / m as f64;
            }
        }
        (mean <= -LEAST_DROP && highest <= 0.5 * mean).then_some((mean, mean_row))
    }

    /// Chow's predictive test.
    fn predictive(&self, m: usize) -> Option<Fall> {
        let (residual, x) = self.low(m)?;
        let factor = self.all.factor();
        let spent = trace_of_product(&factor.inverse(), &self.exact.matrix);
        let (mut rss, mut ordinary) = (0.0, 0.0);
        for (r, p) in self.readings[..self.count].iter().zip(&self.robust.wild) {
            if r.exact() {
                let sig2 = self.robust.sig * self.robust.sig;
                rss += (1.0 - p) * sig2 / (sig2 + r.extra)
                    * (r.y - dot(&row(r, &self.span), &self.beta)).powi(2);
                ordinary += 1.0 - p;
            }
        }
        let dof = (ordinary - spent).max(0.0);
        let variance = pooled_variance(self.priors, rss, dof);
        let known = self.latest(m).iter().map(|r| r.extra).sum::<f64>() / (m * m) as f64;
        let noise = (1.0 - SHARED_NOISE) / m as f64 + SHARED_NOISE;
        let sd = (variance * (noise + factor.quadratic(&x)) + known).sqrt();
        let probability = student_lower_tail(residual / sd, self.priors.scatter_df + dof);
        Some(Fall {
            readings: m,
            probability,
            drop_log10: -residual,
        })
    }

    /// Likelihood gained by letting the last `m` readings go free.
    fn likelihood(&self, m: usize) -> Option<Fall> {
        let latest = self.latest(m);
        let cannot = self.bounds.is_empty()
            || self.count < LEAST_EARLIER
            || latest.iter().any(|r| r.sign > 0.5);
        if cannot {
            return None;
        }
        let (residual, _) = self.low(m)?;
        let sig2 = self.robust.sig * self.robust.sig;
        let mut precision = [0.0; STEP_COLUMNS];
        let mut mean = [0.0; STEP_COLUMNS];
        precision[..COLUMNS].copy_from_slice(&self.prior.0);
        mean[..COLUMNS].copy_from_slice(&self.prior.1);
        precision[0] = sig2 / (LEVEL_SD_FREE * LEVEL_SD_FREE);
        precision[COLUMNS] = sig2 / (STEP_SD * STEP_SD);
        let rows = |readings: &[Prepared], weights: &[f64], stepped: f64| -> Vec<LikelihoodRow> {
            readings
                .iter()
                .enumerate()
                .map(|(k, r)| {
                    let mut x = [0.0; STEP_COLUMNS];
                    x[..COLUMNS].copy_from_slice(&row(r, &self.span));
                    x[COLUMNS] = stepped;
                    let sure = sig2 / (sig2 + r.extra);
                    LikelihoodRow {
                        x,
                        y: r.y,
                        sign: r.sign,
                        weight: weights.get(k).copied().unwrap_or(sure),
                        sure,
                    }
                })
                .collect()
        };
        let earlier = rows(&self.readings[..self.count], &self.robust.weight, 0.0);
        let mut held = earlier.clone();
        held.extend(rows(latest, &[], 0.0));
        let mut free = earlier;
        if m > 1 {
            free.extend(rows(latest, &[], 1.0));
        }
        let highest = |rows: &[LikelihoodRow]| highest_likelihood(rows, &precision, &mean, sig2);
        let gain = (2.0 * (highest(&free) - highest(&held))).max(0.0);
        let surprise = gain / (FREE_NOISE + (1.0 - FREE_NOISE) * m as f64);
        let df = self.priors.scatter_df
            + (self.robust.ordinary(&self.readings[..self.count]) - FREE_COLUMNS).max(0.0);
        let probability = student_lower_tail(-surprise.sqrt(), df);
        Some(Fall {
            readings: m,
            probability,
            drop_log10: -residual,
        })
    }
}

/// After bounds alone nothing predicts a value, but the truth was above the last bound.
fn below_bounds(readings: &[Prepared], priors: &Priors) -> Option<Fall> {
    let (last, earlier) = readings.split_last()?;
    let previous = earlier.last()?;
    if last.sign > 0.5 || earlier.iter().any(|r| r.sign <= 0.5) {
        return None;
    }
    let drop = previous.y - last.y;
    // Known only as a distance: ordinary scatter on both sides of it.
    let variance = 2.0 * priors.scatter * priors.scatter + last.extra + previous.extra;
    let probability = student_lower_tail(-drop / variance.sqrt(), priors.scatter_df);
    (drop >= LEAST_DROP_UNDER_BOUND).then_some(Fall {
        readings: 1,
        probability,
        drop_log10: drop,
    })
}

/// One reading of a likelihood.
#[derive(Clone, Debug)]
struct LikelihoodRow {
    x: [f64; STEP_COLUMNS],
    y: f64,
    sign: f64,
    weight: f64,
    /// Share of its variance that is ordinary scatter.
    sure: f64,
}

/// The largest penalised ln likelihood, by Newton with halved steps; `precision` is in units of 1/sig².
fn highest_likelihood(
    rows: &[LikelihoodRow],
    precision: &[f64; STEP_COLUMNS],
    mean: &[f64; STEP_COLUMNS],
    sig2: f64,
) -> f64 {
    let value = |beta: &[f64; STEP_COLUMNS]| {
        let mut sum = 0.0;
        for i in 0..STEP_COLUMNS {
            sum -= 0.5 * precision[i] * (beta[i] - mean[i]).powi(2) / sig2;
        }
        for row in rows {
            let fitted = dot(&row.x, beta);
            sum += if row.sign.abs() > 0.5 {
                ln_normal_lower_tail(row.sign * (fitted - row.y) * (row.sure / sig2).sqrt())
            } else {
                -0.5 * row.weight * (row.y - fitted).powi(2) / sig2
            };
        }
        sum
    };
    let mut beta = *mean;
    let mut best = value(&beta);
    for _ in 0..NEWTON_STEPS {
        // Equations for the step, in units of 1/sig².
        let mut equations = NormalEquations::ZERO;
        for i in 0..STEP_COLUMNS {
            equations.matrix[i][i] = precision[i];
            equations.right[i] = precision[i] * (mean[i] - beta[i]);
        }
        for row in rows {
            let fitted = dot(&row.x, &beta);
            if row.sign.abs() > 0.5 {
                let scale = (row.sure / sig2).sqrt();
                let q = row.sign * (fitted - row.y) * scale;
                let lam = inverse_mills(q);
                let w = (lam * (lam + q)).clamp(1e-12, 1.0) * row.sure;
                equations.add(&row.x, w, row.sign * lam * scale * sig2 / w);
            } else {
                equations.add(&row.x, row.weight, row.y - fitted);
            }
        }
        let direction = equations.solve();
        let mut share = 1.0;
        let before = best;
        for _ in 0..HALVINGS {
            let mut tried = beta;
            for i in 0..STEP_COLUMNS {
                tried[i] += share * direction[i];
            }
            let reached = value(&tried);
            if reached > best {
                best = reached;
                beta = tried;
                break;
            }
            share *= 0.5;
        }
        if best - before < CLOSE_LIKELIHOOD {
            break;
        }
    }
    best
}

/// One row: level, slope, season, temperature.
fn row(r: &Prepared, span: &Span) -> [f64; COLUMNS] {
    [
        1.0,
        span.place(r.t) - 0.5,
        r.season[0],
        r.season[1],
        r.warmth,
    ]
}
