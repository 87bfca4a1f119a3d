//! Group priors by empirical Bayes, in one deterministic pass over a group.
//!
//! Each series is summed up on its own (in any order, on any thread); the sums over series are plain and in the
//! order given, so the same group gives the same bits. Twenty pseudo-series hold every value to its default (Efron
//! & Morris 1975), and from fewer than five series nothing is learnt.

#![allow(clippy::needless_range_loop, reason = "indices as in the formulas")]

use super::fit::{Estimate, Screened, Solved, StretchFit, screen, solve};
use super::noise;
use super::priors::{LEAST_EXACT, LEAST_READINGS, LEAST_SERIES, NoiseWeights, PSEUDO_SERIES, Priors, TEMPERATURE_SDS};
use super::robust::Robust;
use super::shapes::Span;
use super::stretch::{Stretch, exact_count};
use crate::stats::polygamma::{digamma, inverse_trigamma, trigamma};

/// Fewer degrees of freedom than this say nothing about the scatter.
const LEAST_DOF: f64 = 3.0;
/// Logarithms of scatter are clipped to these quantiles.
const CLIP: (f64, f64) = (0.05, 0.95);
/// Least variance of ln sig² among windings.
const LEAST_SPREAD: f64 = 0.02;
/// Most degrees of freedom that a group adds.
const MOST_DF: f64 = 40.0;
const SEASON_ROUNDS: usize = 30;
const LAW_ROUNDS: usize = 20;
const SLOPE_ROUNDS: usize = 50;
const KIND_ROUNDS: usize = 40;
/// Standard deviation of slopes that the pseudo-series stand for, decades per year.
const DEFAULT_SLOPE_SD: f64 = 0.2;
/// Pseudo-series that hold the spread of slopes: fewer, because a group shows soon that its windings decline alike.
const PSEUDO_SERIES_OF_SPREAD: f64 = 5.0;
/// Deviations beyond this many standard deviations lose weight (Huber 1964).
const HUBER: f64 = 2.5;
/// The wide part of the slope prior, and the weights of the two parts.
const WIDE: f64 = 3.0;
const SLOPE_WEIGHTS: [f64; 2] = [0.75, 0.25];
/// Least variance left after a prior is taken out of an estimate, as a precision.
const LEAST_PRECISION: f64 = 1e-6;

/// An estimate without any prior in it.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Plain {
    value: f64,
    variance: f64,
}

/// What a group is learnt from: one series, summed up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Summary {
    /// Variance of ordinary readings around the robust fit and its degrees of freedom.
    scatter: Option<(f64, f64)>,
    season: [Plain; 2],
    law: Plain,
    slope: Plain,
}

impl Summary {
    /// Sums up a stretch under the default priors; `None` if it has too few readings to learn from.
    pub fn of(stretch: &Stretch) -> Option<Self> {
        screen(stretch, &Priors::default()).summary()
    }

    /// Sums up what a robust pass found.
    pub(super) fn new(pass: &Robust, span: &Span) -> Self {
        let plain = |i: usize, scale: f64| {
            let precision = (1.0 / pass.variance[i].max(f64::MIN_POSITIVE) - pass.precision[i]).max(LEAST_PRECISION);
            let variance = 1.0 / precision;
            Plain {
                value: pass.beta[i] * variance / pass.variance[i].max(f64::MIN_POSITIVE) / scale,
                variance: variance / (scale * scale),
            }
        };
        Self {
            scatter: (pass.dof >= LEAST_DOF).then(|| ((pass.rss / pass.dof).max(1e-12), pass.dof)),
            season: [plain(3, 1.0), plain(4, 1.0)],
            law: plain(5, 1.0),
            slope: plain(1, span.years),
        }
    }

    /// What the temperature law got wrong by this series alone, no prior in it, decades per 10 °C.
    pub fn law_error(&self) -> Estimate {
        Estimate { mean: self.law.value, sd: self.law.variance.sqrt() }
    }
}

impl Priors {
    /// Learns the priors of a group from its series, in the order given.
    ///
    /// # Validity
    /// Fewer than five series that can teach leave the defaults. The season is only ever widened: learning it
    /// downwards costs the few strongly seasonal windings.
    ///
    /// # References
    /// Smyth 2004 (scatter); Efron & Morris 1975 (shrinkage); Huber 1964 (slopes).
    pub fn learn(group: &[Summary]) -> Self {
        let mut priors = Self::default();
        if group.len() < LEAST_SERIES {
            return priors;
        }
        priors.learnt_from = group.len();
        learn_scatter(&mut priors, group);
        learn_season(&mut priors, group);
        learn_law(&mut priors, group);
        learn_slope(&mut priors, group);
        priors
    }
}

fn learn_scatter(priors: &mut Priors, group: &[Summary]) {
    let scatter: Vec<(f64, f64)> = group.iter().filter_map(|s| s.scatter).collect();
    let n = scatter.len();
    if n < LEAST_SERIES {
        return;
    }
    let mut logs: Vec<f64> =
        scatter.iter().map(|(s2, df)| libm::log(*s2) - digamma(0.5 * df) + libm::log(0.5 * df)).collect();
    let mut sorted = logs.clone();
    sorted.sort_unstable_by(f64::total_cmp);
    let (low, high) = (sorted_quantile(&sorted, CLIP.0), sorted_quantile(&sorted, CLIP.1));
    for e in &mut logs {
        *e = e.clamp(low, high);
    }
    let count = n as f64;
    let mean = logs.iter().sum::<f64>() / count;
    let variance = logs.iter().map(|e| (e - mean).powi(2)).sum::<f64>() / (count - 1.0);
    let noise = scatter.iter().map(|(_, df)| trigamma(0.5 * df)).sum::<f64>() / count;
    let spread = (variance - noise).max(LEAST_SPREAD);
    let df = (2.0 * inverse_trigamma(spread)).min(MOST_DF);
    let ln_s2 = mean + digamma(0.5 * df) - libm::log(0.5 * df);
    let share = count / (count + PSEUDO_SERIES);
    let mix = |default: f64, learnt: f64| default + share * (learnt - default);
    priors.scatter = libm::exp(0.5 * mix(2.0 * libm::log(priors.scatter), ln_s2));
    priors.scatter_df = libm::exp(mix(libm::log(priors.scatter_df), libm::log(df)));
}

fn learn_season(priors: &mut Priors, group: &[Summary]) {
    let default = priors.season_sd.powi(2);
    let mut variance = default;
    let count = 2.0 * group.len() as f64 + 2.0 * PSEUDO_SERIES;
    for _ in 0..SEASON_ROUNDS {
        let mut sum = 2.0 * PSEUDO_SERIES * default;
        for plain in group.iter().flat_map(|s| &s.season) {
            let share = variance / (variance + plain.variance);
            sum += (share * plain.value).powi(2) + variance * (1.0 - share);
        }
        variance = sum / count;
    }
    priors.season_sd = variance.sqrt().max(priors.season_sd);
}

fn learn_law(priors: &mut Priors, group: &[Summary]) {
    let default = priors.law_wrong_weight;
    let mut wrong = default;
    for _ in 0..LAW_ROUNDS {
        let mut sum = PSEUDO_SERIES * default;
        for Summary { law, .. } in group {
            let [right, wide] = TEMPERATURE_SDS.map(|sd| {
                let variance = sd * sd + law.variance;
                -0.5 * (law.value * law.value / variance + libm::log(variance))
            });
            let odds = libm::exp((wide - right).clamp(-600.0, 600.0)) * wrong / (1.0 - wrong);
            sum += odds / (1.0 + odds);
        }
        wrong = (sum / (group.len() as f64 + PSEUDO_SERIES)).clamp(1e-6, 1.0 - 1e-6);
    }
    priors.law_wrong_weight = wrong;
}

fn learn_slope(priors: &mut Priors, group: &[Summary]) {
    let default = priors.slope_mean;
    let default_variance = DEFAULT_SLOPE_SD * DEFAULT_SLOPE_SD;
    let (mut mean, mut variance) = (default, default_variance);
    for _ in 0..SLOPE_ROUNDS {
        let sd = variance.sqrt();
        let mut weights = 0.0;
        let mut values = PSEUDO_SERIES * default;
        let mut squares = PSEUDO_SERIES_OF_SPREAD * default_variance;
        for Summary { slope, .. } in group {
            let share = variance / (variance + slope.variance);
            let shrunk = share * (slope.value - mean);
            let w = (HUBER * sd / shrunk.abs().max(1e-12)).min(1.0);
            weights += w;
            values += w * (mean + shrunk);
            squares += w * (shrunk * shrunk + variance * (1.0 - share));
        }
        mean = values / (weights + PSEUDO_SERIES);
        variance = squares / (weights + PSEUDO_SERIES_OF_SPREAD);
    }
    priors.slope_mean = mean;
    priors.slope_sds = [variance.sqrt(), WIDE * variance.sqrt()];
    priors.slope_weights = SLOPE_WEIGHTS;
}

impl NoiseWeights {
    /// Learns the weights of the noise kinds from each series' evidence, in the order given.
    pub fn learn(evidence: &[[f64; 3]]) -> Self {
        let default = Self::default();
        let mut weights = default.0;
        if evidence.len() < LEAST_SERIES {
            return default;
        }
        for _ in 0..KIND_ROUNDS {
            let mut sums = default.0.map(|a| PSEUDO_SERIES * a);
            for ln in evidence {
                let highest = ln.iter().copied().fold(f64::NEG_INFINITY, f64::max);
                let shares: [f64; 3] = std::array::from_fn(|i| weights[i] * libm::exp(ln[i] - highest));
                let total: f64 = shares.iter().sum();
                if total > 0.0 {
                    for i in 0..3 {
                        sums[i] += shares[i] / total;
                    }
                }
            }
            let count: f64 = sums.iter().sum();
            weights = sums.map(|s| s / count);
        }
        Self(weights)
    }
}

/// Quantile of sorted values, linear between order statistics.
fn sorted_quantile(sorted: &[f64], p: f64) -> f64 {
    let place = p * (sorted.len() - 1) as f64;
    let below = place.floor() as usize;
    let above = (below + 1).min(sorted.len() - 1);
    sorted[below] + (place - below as f64) * (sorted[above] - sorted[below])
}

impl Screened<'_> {
    /// The summary from which its group is learnt; `None` if it has too few readings.
    pub fn summary(&self) -> Option<Summary> {
        let enough = self.used.len() >= LEAST_READINGS && exact_count(self.used) >= LEAST_EXACT;
        enough.then(|| Summary::new(&self.pass, &self.span))
    }
}

/// Fits the stretches of one group of similar windings, partially pooled: learns the priors, solves,
/// learns the weights of the noise kinds, and averages. A caller with threads does the same four steps itself.
pub fn fit_group(stretches: &[&Stretch]) -> (Priors, NoiseWeights, Vec<StretchFit>) {
    let summaries: Vec<Summary> = stretches.iter().filter_map(|s| Summary::of(s)).collect();
    let priors = Priors::learn(&summaries);
    let solved: Vec<Solved> = stretches.iter().map(|s| solve(s, &priors)).collect();
    let evidence: Vec<[f64; noise::COUNT]> = solved.iter().filter_map(Solved::noise_evidence).collect();
    let weights = NoiseWeights::learn(&evidence);
    let fits = solved.into_iter().map(|s| s.average(&weights)).collect();
    (priors, weights, fits)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plain(value: f64, variance: f64) -> Plain {
        Plain { value, variance }
    }

    fn summary(slope: f64) -> Summary {
        Summary {
            scatter: Some((0.0025, 20.0)),
            season: [plain(0.3, 1e-4); 2],
            law: plain(0.0, 1e-6),
            slope: plain(slope, 1e-6),
        }
    }

    #[test]
    fn four_series_teach_nothing() {
        assert_eq!(Priors::learn(&[summary(-0.3); 4]), Priors::default());
        assert_eq!(NoiseWeights::learn(&[[0.0, 50.0, 0.0]; 4]), NoiseWeights::default());
    }

    #[test]
    fn many_series_pull_towards_themselves() {
        let learnt = Priors::learn(&vec![summary(-0.3); 2000]);
        assert!((learnt.slope_mean + 0.3).abs() < 0.01);
        assert!(learnt.slope_sds[0] < 0.05);
        assert!((learnt.season_sd - 0.3).abs() < 0.01);
        assert!(learnt.law_wrong_weight < 0.05);
        assert!((learnt.scatter - 0.05).abs() < 0.002);
        assert!(learnt.scatter_df > 30.0 && learnt.scatter_df <= MOST_DF);
        let weights = NoiseWeights::learn(&vec![[0.0, 50.0, 0.0]; 2000]);
        assert!(weights.0[1] > 0.98 && (weights.0.iter().sum::<f64>() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn the_season_is_never_narrowed() {
        let calm = Summary { season: [plain(0.0, 1e-4); 2], ..summary(-0.1) };
        assert!(Priors::learn(&[calm; 500]).season_sd >= Priors::default().season_sd);
    }
}
