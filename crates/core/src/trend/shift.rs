//! An unannounced shift of the level: work that was not recorded, another connection, another tester.
//!
//! Every possible place is tried with a step column (Quandt 1960), eliminated from one fit by suffix sums, so that
//! the scan costs as much as one more pass over the readings.

#![allow(clippy::needless_range_loop, reason = "indices as in the formulas")]

use super::blocks::COLUMNS;
use super::bounds::{self, BoundRow, Bounds, STEPS};
use super::prepared::{Prepared, mean_level};
use super::priors::Priors;
use super::robust::{self, Robust, trace_of_product};
use super::shapes::Span;
use crate::stats::small_matrix::{NormalEquations, dot, gather};

/// Readings needed.
const LEAST_READINGS: usize = 10;
/// Readings and exact readings needed on each side.
const LEAST_SIDE: usize = 4;
const LEAST_SIDE_EXACT: usize = 3;
/// Least |t| and step in decades that are called a shift.
const LEAST_T: f64 = 5.0;
const LEAST_STEP: f64 = 0.2;
/// Prior standard deviations of the level, bend and the law's error in this test; decades.
const LEVEL_SD: f64 = 2.0;
const BEND_SD: f64 = 0.3;
const LAW_SD: f64 = 0.1;
/// A reading with at least this probability is taken as an outlier.
const OUTLIER: f64 = 0.5;
/// The step never explains more than this share of the sum of squares.
const LEAST_LEFT: f64 = 0.1;

/// An unannounced shift of the level.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shift {
    /// The first reading after the shift, counted from 0 in the stretch that was given.
    pub index: usize,
    /// The shift divided by its standard error.
    pub t_statistic: f64,
    /// The shift, decades; negative is down.
    pub step_log10: f64,
}

/// Looks for a shift; `robust` is the pass over all readings.
pub(super) fn find(readings: &[Prepared], span: &Span, robust: &Robust, priors: &Priors) -> Option<Shift> {
    let n = readings.len();
    if n < LEAST_READINGS {
        return None;
    }
    let sig = robust.sig;
    let sig2 = sig * sig;
    let rows: Vec<[f64; COLUMNS]> = readings.iter().map(|r| robust::row(r, span)).collect();
    let residual: Vec<f64> = readings.iter().zip(&rows).map(|(r, x)| r.y - dot(x, &robust.beta)).collect();
    // Two neighbouring outliers on one side are not outliers: they may be the shift.
    let out = |k: usize| robust.p_outlier[k] > OUTLIER;
    let together = |i: usize, k: usize| out(i) && out(k) && residual[i] * residual[k] > 0.0;
    let mut weight = robust.weight.clone();
    let mut p_outlier = robust.p_outlier.clone();
    for k in 0..n {
        if (k > 0 && together(k, k - 1)) || (k + 1 < n && together(k, k + 1)) {
            p_outlier[k] = 0.0;
            weight[k] = sig2 / (sig2 + readings[k].extra);
        }
    }

    let season = priors.season_sd.powi(-2);
    let slope = (2.0 * span.years * priors.slope_sd()).powi(-2);
    let precision = [LEVEL_SD.powi(-2), slope, BEND_SD.powi(-2), season, season, LAW_SD.powi(-2)].map(|p| p * sig2);
    let mut mean = [0.0; COLUMNS];
    mean[0] = mean_level(readings);
    let all = || readings.iter().zip(&rows).enumerate();
    let exact = gather(all().filter(|(_, (r, _))| r.exact()).map(|(index, (r, x))| (*x, weight[index], r.y)));
    let mut bounds: Bounds<COLUMNS> = all()
        .filter(|(_, (r, _))| !r.exact())
        .map(|(index, (r, x))| BoundRow { x: *x, y: r.y, sign: r.sign, extra: r.extra, index })
        .collect();
    let fixed = NormalEquations::from_prior(&precision, &mean).plus(&exact);
    let fit = bounds::fit(&fixed, &mut bounds, sig, None, STEPS);
    let factor = fit.factor;
    let spent = trace_of_product(&factor.inverse(), &exact.matrix);

    // Weight and residual of every reading, bounds by their pseudo-readings.
    let mut left: Vec<f64> = readings.iter().zip(&rows).map(|(r, x)| r.y - dot(x, &fit.beta)).collect();
    for (bound, w, z) in bounds.pulled() {
        weight[bound.index] = w;
        left[bound.index] = z - dot(&bound.x, &fit.beta);
    }
    let (mut rss, mut ordinary) = (0.0, 0.0);
    let mut exact_before = 0;
    for (k, r) in readings.iter().enumerate() {
        if r.exact() {
            rss += (1.0 - p_outlier[k]) * sig2 / (sig2 + r.extra) * left[k] * left[k];
            ordinary += 1.0 - p_outlier[k];
            exact_before += 1;
        }
    }
    let df = priors.scatter_df + (ordinary - spent - 1.0).max(0.0);
    let prior_squares = priors.scatter_df * priors.scatter * priors.scatter;

    let mut best: Option<Shift> = None;
    #[cfg(test)]
    super::work::note(2 * n);
    let mut exact_after = 0;
    let (mut sum, mut product) = (0.0, 0.0);
    let mut column = [0.0; COLUMNS];
    for k in (1..n).rev() {
        sum += weight[k];
        product += weight[k] * left[k];
        for i in 0..COLUMNS {
            column[i] += weight[k] * rows[k][i];
        }
        if readings[k].exact() {
            exact_after += 1;
            exact_before -= 1;
        }
        let sides = k.min(n - k) >= LEAST_SIDE && exact_after.min(exact_before) >= LEAST_SIDE_EXACT;
        // A shift cannot happen between two readings of the same moment.
        if !sides || readings[k].t - readings[k - 1].t <= 0.0 {
            continue;
        }
        let room = (sum + sig2 - factor.quadratic(&column)).max(f64::MIN_POSITIVE);
        let step = product / room;
        let gain = product * product / room;
        let variance = (prior_squares + (rss - gain).max(LEAST_LEFT * rss)) / df;
        let t_statistic = product / (room * variance).sqrt();
        let better = best.is_none_or(|b| t_statistic.abs() > b.t_statistic.abs());
        if t_statistic.abs() > LEAST_T && step.abs() > LEAST_STEP && better {
            best = Some(Shift { index: k, t_statistic, step_log10: step });
        }
    }
    best
}
