//! The largest penalised likelihood of readings and bounds: what two descriptions of the same readings are compared
//! by.

#![allow(clippy::needless_range_loop, reason = "indices as in the formulas")]

use crate::stats::normal_table::NormalTable;
use crate::stats::small_matrix::{Gathering, NormalEquations, dot};
use fearless_simd::{Level, Simd, dispatch};

/// Columns: level, slope, sin, cos, temperature, step.
pub(super) const COLUMNS: usize = 6;
const NEWTON_STEPS: usize = 40;
const HALVINGS: usize = 30;
const CLOSE_LIKELIHOOD: f64 = 1e-9;

/// One reading of a likelihood.
#[derive(Clone, Debug)]
pub(super) struct LikelihoodRow {
    pub(super) x: [f64; COLUMNS],
    pub(super) y: f64,
    pub(super) sign: f64,
    pub(super) weight: f64,
    /// Share of its variance that is ordinary scatter.
    pub(super) sure: f64,
}

/// The largest penalised ln likelihood, by Newton with halved steps; `precision` is in units of 1/sig².
pub(super) fn highest_likelihood(
    rows: &[LikelihoodRow],
    precision: &[f64; COLUMNS],
    mean: &[f64; COLUMNS],
    sig2: f64,
) -> f64 {
    dispatch!(Level::new(), simd => climb(simd, rows, precision, mean, sig2))
}

/// Penalised ln likelihood at some coefficients.
#[inline(always)]
fn ln_likelihood(
    rows: &[LikelihoodRow],
    precision: &[f64; COLUMNS],
    mean: &[f64; COLUMNS],
    sig2: f64,
    beta: &[f64; COLUMNS],
    table: NormalTable,
) -> f64 {
    #[cfg(test)]
    super::work::note(rows.len());
    let mut sum = 0.0;
    for i in 0..COLUMNS {
        sum -= 0.5 * precision[i] * (beta[i] - mean[i]).powi(2) / sig2;
    }
    for row in rows {
        let fitted = dot(&row.x, beta);
        sum += if row.sign.abs() > 0.5 {
            table.ln_lower_tail(row.sign * (fitted - row.y) * (row.sure / sig2).sqrt())
        } else {
            -0.5 * row.weight * (row.y - fitted).powi(2) / sig2
        };
    }
    sum
}

#[inline(always)]
fn climb<S: Simd>(
    simd: S,
    rows: &[LikelihoodRow],
    precision: &[f64; COLUMNS],
    mean: &[f64; COLUMNS],
    sig2: f64,
) -> f64 {
    let table = NormalTable::new();
    let value = |beta: &[f64; COLUMNS]| ln_likelihood(rows, precision, mean, sig2, beta, table);
    let mut beta = *mean;
    let mut best = value(&beta);
    for _ in 0..NEWTON_STEPS {
        // Equations for the step, in units of 1/sig².
        let apart: [f64; COLUMNS] = std::array::from_fn(|i| mean[i] - beta[i]);
        let mut equations = Gathering::from(simd, &NormalEquations::from_prior(precision, &apart));
        #[cfg(test)]
        super::work::note(rows.len());
        for row in rows {
            let fitted = dot(&row.x, &beta);
            if row.sign.abs() > 0.5 {
                let scale = (row.sure / sig2).sqrt();
                let q = row.sign * (fitted - row.y) * scale;
                let lam = table.inverse_mills(q);
                let w = (lam * (lam + q)).clamp(1e-12, 1.0) * row.sure;
                equations.add(&row.x, w, row.sign * lam * scale * sig2 / w);
            } else {
                equations.add(&row.x, row.weight, row.y - fitted);
            }
        }
        let direction = equations.equations().solve();
        let mut share = 1.0;
        let before = best;
        for _ in 0..HALVINGS {
            let mut tried = beta;
            for i in 0..COLUMNS {
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
