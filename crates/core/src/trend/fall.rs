//! A fall since the last test: the latest readings judged by what the earlier ones predicted.
//!
//! The predictive test of Chow (1960), with a share of noise that neighbours have in common. Where the earlier
//! readings are largely bounds, the normal predictive is too wide on the low side; there the gain in penalised
//! likelihood of letting the latest readings go free decides.

#![allow(clippy::needless_range_loop, reason = "indices as in the formulas")]

use super::bounds::{self, BoundRow, Bounds, STEPS};
use super::likelihood::{self, LikelihoodRow, highest_likelihood};
use super::prepared::{Prepared, mean_level, span};
use super::priors::{LEAST_EXACT, Priors};
use super::robust::{Robust, pooled_variance, robust, trace_of_product};
use super::shapes::Span;
use crate::stats::small_matrix::{Cholesky, NormalEquations, dot, gather};
use crate::stats::student::student_lower_tail;

/// Columns: level, slope, sin, cos, temperature.
const COLUMNS: usize = 5;
/// Largest probability that is called a fall.
pub(super) const LARGEST_P: f64 = 0.002;
/// Least drop, decades.
const LEAST_DROP: f64 = 0.15;
/// Readings needed for the test with one latest reading, and with two or three.
const LEAST_READINGS: usize = 5;
const LEAST_FOR_THREE: usize = 9;
/// From this many readings on a glance decides whether a closer look is needed: the mean of the latest must lie at
/// least so many decades under a first prediction, and so many of its standard errors.
const LEAST_FOR_GLANCE: usize = 10;
const GLANCE_DROP: f64 = 0.10;
const GLANCE_T: f64 = 1.5;
/// Earlier readings needed for the likelihood test.
const LEAST_EARLIER: usize = 4;
/// Share of the noise variance that neighbouring readings have in common.
const SHARED_NOISE: f64 = 0.25;
/// How much of the likelihood gained is put down to noise of its own; the rest is shared by neighbours.
const FREE_NOISE: f64 = 0.875;
/// Coefficients that the likelihood test spends.
const FREE_COLUMNS: f64 = 3.0;
/// Of fewer readings, the latest has fallen if it is this far below the lowest of the others; decades, a factor of 2.5.
const LEAST_DROP_OF_FEW: f64 = 0.4;
/// With fewer than four exact readings, one this far below the bound before it has fallen; decades.
const LEAST_DROP_UNDER_BOUND: f64 = 0.5;
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

/// Looks for a fall; `all` is the robust pass over all readings.
pub(super) fn find(readings: &[Prepared], all: &Robust, priors: &Priors) -> Option<Found> {
    let n = readings.len();
    let latest = readings.last()?;
    if latest.sign > 0.5 {
        return None;
    }
    if let Some(fall) = below_bounds(readings, priors) {
        return Some(Found { fall, earlier: before(readings, 1, priors) });
    }
    if n < LEAST_READINGS {
        let fall = below_few(readings, priors)?;
        return Some(Found { fall, earlier: before(readings, 1, priors) });
    }
    if n >= LEAST_FOR_GLANCE && !glance(readings, all, priors) {
        return None;
    }
    closer(readings, priors)
}

/// The tests themselves, each by a robust pass over the readings before.
fn closer(readings: &[Prepared], priors: &Priors) -> Option<Found> {
    let n = readings.len();
    let one = Earlier::new(readings, n - 1, priors);
    let three = (n >= LEAST_FOR_THREE).then(|| Earlier::new(readings, n - 3, priors));
    let fall = smallest(&one, three.as_ref(), Earlier::predictive)
        .or_else(|| smallest(&one, three.as_ref(), Earlier::likelihood))?;
    let earlier = match (fall.readings, three) {
        (1, _) => one.robust,
        (3, Some(three)) => three.robust,
        (m, _) => before(readings, m, priors),
    };
    Some(Found { fall, earlier })
}

/// Whether a closer look is worth a robust pass of its own: the weights of the pass over all readings serve for a
/// first prediction, and anything not well inside what it allows is looked at.
fn glance(readings: &[Prepared], all: &Robust, priors: &Priors) -> bool {
    let n = readings.len();
    let one = Earlier::with(readings, n - 1, all.first(n - 1), priors);
    if one.suspicious(1) {
        return true;
    }
    let three = Earlier::with(readings, n - 3, all.first(n - 3), priors);
    three.suspicious(2) || three.suspicious(3)
}

/// The robust pass over all but the last `m` readings.
fn before(readings: &[Prepared], m: usize, priors: &Priors) -> Robust {
    let earlier = &readings[..readings.len() - m];
    robust(earlier, &span(earlier), priors)
}

/// The most surprising of one, two and three latest readings, if it is surprising enough.
fn smallest<'a>(
    one: &Earlier<'a>,
    three: Option<&Earlier<'a>>,
    test: impl Fn(&Earlier<'a>, usize) -> Option<Fall>,
) -> Option<Fall> {
    let candidates = [test(one, 1), three.and_then(|e| test(e, 2)), three.and_then(|e| test(e, 3))];
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
    bounds: Bounds<COLUMNS>,
    factor: Cholesky<COLUMNS>,
}

impl<'a> Earlier<'a> {
    fn new(readings: &'a [Prepared], count: usize, priors: &'a Priors) -> Self {
        let earlier = &readings[..count];
        Self::with(readings, count, robust(earlier, &span(earlier), priors), priors)
    }

    fn with(readings: &'a [Prepared], count: usize, robust: Robust, priors: &'a Priors) -> Self {
        let earlier = &readings[..count];
        let span = span(earlier);
        let sig2 = robust.sig * robust.sig;
        let season = priors.season_sd.powi(-2);
        let slope = (span.years * priors.slope_sd()).powi(-2);
        let precision = [LEVEL_SD.powi(-2), slope, season, season, priors.temperature_sd().powi(-2)].map(|p| p * sig2);
        let mean = [mean_level(earlier), span.years * priors.slope_mean, 0.0, 0.0, 0.0];
        #[cfg(test)]
        super::work::note(earlier.len());
        let weighed = earlier.iter().zip(&robust.weight).filter(|(r, _)| r.exact());
        let exact = gather(weighed.map(|(r, w)| (row(r, &span), *w, r.y)));
        let mut bounds: Bounds<COLUMNS> = (earlier.iter().enumerate())
            .filter(|(_, r)| !r.exact())
            .map(|(index, r)| BoundRow { x: row(r, &span), y: r.y, sign: r.sign, extra: r.extra, index })
            .collect();
        let fixed = NormalEquations::from_prior(&precision, &mean).plus(&exact);
        let fit = bounds::fit(&fixed, &mut bounds, robust.sig, None, STEPS);
        Self {
            readings,
            count,
            span,
            robust,
            priors,
            beta: fit.beta,
            prior: (precision, mean),
            exact,
            bounds,
            factor: fit.factor,
        }
    }

    fn latest(&self, m: usize) -> &'a [Prepared] {
        &self.readings[self.readings.len() - m..]
    }

    /// Mean residual, highest residual and mean row of the last `m` readings.
    fn residuals(&self, m: usize) -> (f64, f64, [f64; COLUMNS]) {
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
        (mean, highest, mean_row)
    }

    /// Mean residual and mean row of the last `m` readings, if they lie low enough, each of them.
    fn low(&self, m: usize) -> Option<(f64, [f64; COLUMNS])> {
        let (mean, highest, mean_row) = self.residuals(m);
        (mean <= -LEAST_DROP && highest <= 0.5 * mean).then_some((mean, mean_row))
    }

    /// Whether the last `m` readings come anywhere near a fall.
    fn suspicious(&self, m: usize) -> bool {
        let (mean, _, x) = self.residuals(m);
        if mean > -GLANCE_DROP {
            return false;
        }
        let sig2 = self.robust.sig * self.robust.sig;
        !self.bounds.is_empty()
            || mean * mean > GLANCE_T * GLANCE_T * sig2 * (self.noise(m) + self.factor.quadratic(&x))
    }

    /// Variance of the mean of the last `m` readings around their level, in units of sig².
    fn noise(&self, m: usize) -> f64 {
        (1.0 - SHARED_NOISE) / m as f64 + SHARED_NOISE
    }

    /// Chow's predictive test.
    fn predictive(&self, m: usize) -> Option<Fall> {
        let (residual, x) = self.low(m)?;
        let factor = &self.factor;
        let spent = trace_of_product(&factor.inverse(), &self.exact.matrix);
        let (mut rss, mut ordinary) = (0.0, 0.0);
        for (r, p) in self.readings[..self.count].iter().zip(&self.robust.p_outlier) {
            if r.exact() {
                let sig2 = self.robust.sig * self.robust.sig;
                rss += (1.0 - p) * sig2 / (sig2 + r.extra) * (r.y - dot(&row(r, &self.span), &self.beta)).powi(2);
                ordinary += 1.0 - p;
            }
        }
        let dof = (ordinary - spent).max(0.0);
        let variance = pooled_variance(self.priors, rss, dof);
        let known = self.latest(m).iter().map(|r| r.extra).sum::<f64>() / (m * m) as f64;
        let sd = (variance * (self.noise(m) + factor.quadratic(&x)) + known).sqrt();
        let probability = student_lower_tail(residual / sd, self.priors.scatter_df + dof);
        Some(Fall { readings: m, probability, drop_log10: -residual })
    }

    /// Likelihood gained by letting the last `m` readings go free.
    fn likelihood(&self, m: usize) -> Option<Fall> {
        let latest = self.latest(m);
        let cannot = self.bounds.is_empty() || self.count < LEAST_EARLIER || latest.iter().any(|r| r.sign > 0.5);
        if cannot {
            return None;
        }
        let (residual, _) = self.low(m)?;
        let sig2 = self.robust.sig * self.robust.sig;
        let mut precision = [0.0; likelihood::COLUMNS];
        let mut mean = [0.0; likelihood::COLUMNS];
        precision[..COLUMNS].copy_from_slice(&self.prior.0);
        mean[..COLUMNS].copy_from_slice(&self.prior.1);
        precision[0] = sig2 / (LEVEL_SD_FREE * LEVEL_SD_FREE);
        precision[COLUMNS] = sig2 / (STEP_SD * STEP_SD);
        let rows = |readings: &[Prepared], weights: &[f64], stepped: f64| -> Vec<LikelihoodRow> {
            readings
                .iter()
                .enumerate()
                .map(|(k, r)| {
                    let mut x = [0.0; likelihood::COLUMNS];
                    x[..COLUMNS].copy_from_slice(&row(r, &self.span));
                    x[COLUMNS] = stepped;
                    let sure = sig2 / (sig2 + r.extra);
                    LikelihoodRow { x, y: r.y, sign: r.sign, weight: weights.get(k).copied().unwrap_or(sure), sure }
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
        let df = self.priors.scatter_df + (self.robust.ordinary(&self.readings[..self.count]) - FREE_COLUMNS).max(0.0);
        let probability = student_lower_tail(-surprise.sqrt(), df);
        Some(Fall { readings: m, probability, drop_log10: -residual })
    }
}

/// After bounds (almost) alone nothing predicts a value, but the truth was above the last bound.
fn below_bounds(readings: &[Prepared], priors: &Priors) -> Option<Fall> {
    let (last, earlier) = readings.split_last()?;
    let previous = earlier.last()?;
    let exact = earlier.iter().filter(|r| r.exact()).count();
    if last.sign > 0.5 || previous.sign <= 0.5 || exact >= LEAST_EXACT {
        return None;
    }
    let drop = previous.y - last.y;
    // Known only as a distance: ordinary scatter on both sides of it.
    let variance = 2.0 * priors.scatter * priors.scatter + last.extra + previous.extra;
    let probability = student_lower_tail(-drop / variance.sqrt(), priors.scatter_df);
    (drop >= LEAST_DROP_UNDER_BOUND).then_some(Fall { readings: 1, probability, drop_log10: drop })
}

/// A few exact readings predict no trend, but none of them was as low as the latest by far.
fn below_few(readings: &[Prepared], priors: &Priors) -> Option<Fall> {
    let (last, earlier) = readings.split_last()?;
    let lowest = earlier.iter().min_by(|a, b| a.y.total_cmp(&b.y)).filter(|_| earlier.iter().all(Prepared::exact))?;
    let drop = lowest.y - last.y;
    let variance = 2.0 * priors.scatter * priors.scatter + last.extra + lowest.extra;
    let probability = student_lower_tail(-drop / variance.sqrt(), priors.scatter_df);
    (drop >= LEAST_DROP_OF_FEW).then_some(Fall { readings: 1, probability, drop_log10: drop })
}

/// One row: level, slope, season, temperature.
fn row(r: &Prepared, span: &Span) -> [f64; COLUMNS] {
    [1.0, span.place(r.t) - 0.5, r.season[0], r.season[1], r.warmth]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A small linear congruential sequence in 0 to 1 (Knuth's constants), enough to vary the cases.
    fn uniform(state: &mut u64) -> f64 {
        *state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (*state >> 11) as f64 / (1_u64 << 53) as f64
    }

    #[test]
    fn a_glance_misses_nothing_that_a_closer_look_would_find() {
        let mut state = 20;
        let priors = Priors::default();
        let mut found = 0;
        for case in 0..400 {
            let n = 10 + case % 35;
            let slope = -0.3 * uniform(&mut state);
            let bend = 0.05 * uniform(&mut state) * f64::from(u8::from(case % 3 == 0));
            let drop = 0.7 * uniform(&mut state);
            let fallen = case % 4;
            let readings: Vec<Prepared> = (0..n)
                .map(|k| {
                    let t = -0.25 * (n - 1 - k) as f64;
                    let years = 0.25 * k as f64;
                    let noise: f64 = (0..6).map(|_| uniform(&mut state)).sum::<f64>() - 3.0;
                    let outliers = if uniform(&mut state) < 0.05 { 0.8 } else { 0.0 };
                    let low = if k + fallen >= n { drop } else { 0.0 };
                    Prepared {
                        t,
                        y: 3.0 + slope * years - bend * years * years + 0.12 * noise - outliers - low,
                        sign: if case % 5 == 0 && k < n / 3 { 1.0 } else { 0.0 },
                        season: super::super::prepared::season(t),
                        warmth: 3.0 * uniform(&mut state) - 2.0,
                        extra: 0.0,
                    }
                })
                .collect();
            let all = robust(&readings, &span(&readings), &priors);
            let closer = closer(&readings, &priors).map(|f| f.fall);
            assert_eq!(find(&readings, &all, &priors).map(|f| f.fall), closer, "case {case}");
            found += usize::from(closer.is_some());
        }
        assert!((40..300).contains(&found), "{found} falls found");
    }
}
