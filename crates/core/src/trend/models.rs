//! The models: eleven shapes, three kinds of noise, two scales of slope and two of temperature, each solved in closed
//! form by conjugate regression (normal-inverse-gamma; O'Hagan & Forster 2004).

#![allow(clippy::needless_range_loop, reason = "indices as in the formulas")]

use super::bounds::{self, BoundRow, STEPS};
use super::elimination::Head;
use super::noise::{self, COLUMNS, ExactRow, Gram, LUMP, NoiseKind, SHAPE, State};
use super::prepared::Prepared;
use super::priors::{LEVEL_ABOVE_BOUNDS, LEVEL_SD, LEVEL_SD_FEW, NoiseWeights, Priors, STEP_SD, TEMPERATURE_SDS};
use super::robust::Robust;
use super::shapes::{self, Shape, Span};
use crate::stats::normal::normal_lower_tail;
use crate::stats::small_matrix::{Cholesky, NormalEquations, dot};
use crate::stats::student::StudentTable;

/// Column of the level.
pub(super) const LEVEL: usize = 0;
/// Column of the step of a recent fall.
pub(super) const STEP: usize = 3;
/// Column of the law's error.
pub(super) const TEMPERATURE: usize = 4;
/// Columns before the two whose prior comes in two scales.
pub(super) const HEAD: usize = 4;
/// Least probability of falling that a falling-only shape is credited with.
const LEAST_FALLING: f64 = 1e-12;

/// Prior weight of the opinion that the latest low readings are a decline that sped up, not a step.
const SPED_UP: f64 = 0.4;
/// How much the rate of a level that sinks in lumps may change in a year, as a share of itself: the rate walks too, so the
/// level's variance grows with the cube of time (Whitmore & Schenkelberg 1997).
const RATE_CHANGE: f64 = 0.13;
/// Prior precision times sig² of a step that is not there.
const NO_STEP: f64 = 1e9;

/// One solved model.
#[derive(Clone, Copy, Debug)]
pub(super) struct Model {
    pub(super) kind: NoiseKind,
    pub(super) shape: Shape,
    /// Whether the latest readings of a fall stand on a step of their own; the other opinion is that the decline sped up.
    pub(super) stepped: bool,
    /// Which prior scale of slope and of temperature.
    pub(super) slope_scale: usize,
    pub(super) temperature_scale: usize,
    /// ln of marginal likelihood and prior weight, without the weight of the noise kind.
    pub(super) ln_weight: f64,
    /// Coefficients; the level is relative to the centre.
    pub(super) beta: [f64; COLUMNS],
    /// Level at zero shape (with the step), slope, their variances and covariance.
    pub(super) level: f64,
    pub(super) level_variance: f64,
    pub(super) covariance: f64,
    pub(super) slope_variance: f64,
    /// Factor from 1/sig² units to decades².
    pub(super) scale: f64,
    /// Variance per year of the future walk, decades².
    pub(super) walk: f64,
    /// Variance per cubed year of the future change of rate, decades².
    pub(super) drift: f64,
    /// Probability that the slope is negative, for shapes that may only fall; otherwise 1.
    pub(super) falling: f64,
}

/// All models of one stretch.
#[derive(Clone, Debug)]
pub(super) struct Models {
    pub(super) models: Vec<Model>,
    /// Added to every level: the prior mean of the level.
    pub(super) centre: f64,
    pub(super) span: Span,
    pub(super) table: StudentTable,
    pub(super) sig: f64,
    pub(super) has_step: bool,
    /// Mean slope by the straight models with independent noise, decades per year.
    pub(super) mean_slope: f64,
    /// Variance of the walk per year in units of sig².
    pub(super) rho: f64,
    /// ln evidence of each kind of noise.
    pub(super) ln_evidence: [f64; noise::COUNT],
    /// Normal equations of each kind and shape without prior, for later predictions.
    systems: Vec<NormalEquations<COLUMNS>>,
    /// Prior precision of the columns that come in one scale, times sig².
    head_precision: [f64; COLUMNS],
    priors: Priors,
    pub(super) lingering: State,
}

/// What all solves of one stretch share.
struct Context<'a> {
    priors: &'a Priors,
    sig: f64,
    has_step: bool,
    stepped: bool,
    /// Prior precision times sig²; slope and temperature are filled in by scale.
    precision: [f64; COLUMNS],
    /// Half of degrees of freedom, and the prior sum of squares.
    shape_parameter: f64,
    prior_squares: f64,
    /// ln of the prior's determinant and weight, by scale of temperature and slope.
    ln_prior: [[f64; 2]; 2],
    /// Prior probability of falling, by scale of slope.
    falling: [f64; 2],
    ln_step: f64,
    table: &'a StudentTable,
    bounds: &'a [BoundRow<COLUMNS>],
}

/// Solves all models. `fallen` counts the latest readings that stand below a step; 0 for none.
pub(super) fn solve(readings: &[Prepared], span: Span, robust: &Robust, fallen: usize, priors: &Priors) -> Models {
    let n = readings.len();
    let sig = robust.sig;
    let sig2 = sig * sig;
    let (centre, level_sd) = level_prior(readings);

    let mut exact = Vec::with_capacity(n);
    let mut bound_readings = Vec::new();
    for (k, r) in readings.iter().enumerate() {
        let step = if k + fallen >= n { 1.0 } else { 0.0 };
        let shapes = span.values(r.t);
        if r.exact() {
            exact.push(ExactRow {
                shared: [1.0, r.season[0], r.season[1], step, r.warmth, r.y - centre],
                shapes,
                t: r.t,
                variance: 1.0 / robust.weight[k],
            });
        } else {
            bound_readings.push((k, [1.0, r.season[0], r.season[1], step, r.warmth, 0.0], shapes));
        }
    }

    let season = sig2 / (priors.season_sd * priors.season_sd);
    let precision = [sig2 / (level_sd * level_sd), season, season, sig2 / (STEP_SD * STEP_SD), 0.0, 0.0];
    let df = priors.scatter_df + robust.ordinary(readings);
    let table = StudentTable::new(df);
    let head: f64 = precision.iter().take(HEAD).map(|p| p.ln()).sum();
    let ln_prior = [0, 1].map(|t| {
        [0, 1].map(|s| {
            let lam = (sig2 / (TEMPERATURE_SDS[t] * priors.slope_sds[s])).powi(2);
            let weight = priors.temperature_weights()[t] * priors.slope_weights[s];
            0.5 * (head + lam.ln()) + weight.max(1e-300).ln()
        })
    });
    let falling = priors.slope_sds.map(|sd| normal_lower_tail(-priors.slope_mean / sd).max(LEAST_FALLING));
    let mut context = Context {
        ln_prior,
        falling,
        ln_step: 0.0,
        priors,
        sig,
        has_step: fallen > 0,
        stepped: true,
        precision,
        shape_parameter: 0.5 * df,
        prior_squares: 0.5 * priors.scatter_df * priors.scatter * priors.scatter,
        table: &table,
        bounds: &[],
    };

    let independent = Gram::independent(&exact);
    // The bounds do not know the kind of noise: linearise them once per shape.
    let mut per_shape: Vec<(Vec<BoundRow<COLUMNS>>, NormalEquations<COLUMNS>)> = Vec::new();
    if !bound_readings.is_empty() {
        let mut linear = Vec::with_capacity(bound_readings.len());
        let mut start = None;
        for shape in 0..shapes::COUNT {
            let rows: Vec<BoundRow<COLUMNS>> = bound_readings
                .iter()
                .map(|(k, x, shapes)| {
                    let mut x = *x;
                    x[SHAPE] = shapes[shape];
                    let r = &readings[*k];
                    BoundRow { x, y: r.y - centre, sign: r.sign, extra: r.extra, index: *k }
                })
                .collect();
            let (equations, _) = independent.equations(shape);
            let fixed = context.prior(1, 1).plus(&equations);
            let fit = bounds::fit(&fixed, &rows, sig, start, STEPS, &mut linear);
            start = Some(fit.beta);
            per_shape.push((rows, fit.from_bounds));
        }
    }

    let mut models = Vec::with_capacity(noise::COUNT * shapes::COUNT * 4);
    let mut systems = Vec::with_capacity(noise::COUNT * shapes::COUNT);
    let mut run = |kind: NoiseKind, gram: &Gram, rho: f64, models: &mut Vec<Model>| {
        for shape in Shape::ALL {
            let (equations, squares) = gram.equations(shape as usize);
            let none = NormalEquations::ZERO;
            let (rows, from_bounds) = match per_shape.get(shape as usize) {
                Some((rows, equations)) => (rows.as_slice(), equations),
                None => (&[][..], &none),
            };
            context.bounds = rows;
            context.stepped = true;
            context.precision = precision;
            context.ln_step = 0.0;
            context.solve(kind, shape, &equations, from_bounds, squares, gram.ln_det, rho, models);
            if fallen > 0 {
                context.stepped = false;
                context.precision[STEP] = NO_STEP;
                context.ln_step = 0.5 * (NO_STEP / precision[STEP]).ln() + (SPED_UP / (1.0 - SPED_UP)).ln();
                context.solve(kind, shape, &equations, from_bounds, squares, gram.ln_det, rho, models);
            }
            systems.push(equations.plus(from_bounds));
        }
    };
    run(NoiseKind::Independent, &independent, 0.0, &mut models);
    let mean_slope = straight_slope(&models);
    let lingering = Gram::lingering(&exact);
    run(NoiseKind::Lingering, &lingering, 0.0, &mut models);
    let rho = LUMP * (-mean_slope).max(0.0) / sig2;
    if rho > 0.0 {
        run(NoiseKind::Wandering, &Gram::wandering(&exact, rho), rho, &mut models);
    }
    let mut ln_evidence = [NoiseKind::Independent, NoiseKind::Lingering, NoiseKind::Wandering]
        .map(|kind| ln_sum_exp(models.iter().filter(|m| m.kind == kind).map(|m| m.ln_weight)));
    if rho <= 0.0 {
        // A level that does not sink does not wander: the two kinds are one.
        ln_evidence[NoiseKind::Wandering as usize] = ln_evidence[NoiseKind::Independent as usize];
    }
    Models {
        models,
        centre,
        span,
        table,
        sig,
        has_step: fallen > 0,
        mean_slope,
        rho,
        ln_evidence,
        systems,
        head_precision: precision,
        priors: *priors,
        lingering: lingering.state,
    }
}

/// Prior mean and standard deviation of the level.
fn level_prior(readings: &[Prepared]) -> (f64, f64) {
    let exact = readings.iter().filter(|r| r.exact());
    let count = exact.clone().count();
    if count == 0 {
        let highest = readings.iter().fold(f64::NEG_INFINITY, |m, r| m.max(r.y));
        return (if highest.is_finite() { highest } else { 0.0 } + LEVEL_ABOVE_BOUNDS, LEVEL_SD_FEW);
    }
    let mean = exact.map(|r| r.y).sum::<f64>() / count as f64;
    (mean, if count == 1 { LEVEL_SD_FEW } else { LEVEL_SD })
}

/// Mean slope of the straight models with independent noise.
fn straight_slope(models: &[Model]) -> f64 {
    let straight =
        || models.iter().filter(|m| m.kind == NoiseKind::Independent && m.shape == Shape::Straight && m.stepped);
    let highest = straight().fold(f64::NEG_INFINITY, |h, m| h.max(m.ln_weight));
    let (mut sum, mut total) = (0.0, 0.0);
    for model in straight() {
        let w = (model.ln_weight - highest).exp();
        sum += w * model.beta[SHAPE];
        total += w;
    }
    if total > 0.0 { sum / total } else { 0.0 }
}

/// ln Σ exp.
pub(super) fn ln_sum_exp(values: impl Iterator<Item = f64> + Clone) -> f64 {
    let highest = values.clone().fold(f64::NEG_INFINITY, f64::max);
    if highest.is_finite() { highest + values.map(|v| (v - highest).exp()).sum::<f64>().ln() } else { highest }
}

impl Context<'_> {
    /// Prior equations with the given scales of slope and temperature.
    fn prior(&self, slope: usize, temperature: usize) -> NormalEquations<COLUMNS> {
        let mut precision = self.precision;
        precision[TEMPERATURE] = (self.sig / TEMPERATURE_SDS[temperature]).powi(2);
        precision[SHAPE] = (self.sig / self.priors.slope_sds[slope]).powi(2);
        let mut mean = [0.0; COLUMNS];
        mean[SHAPE] = self.priors.slope_mean;
        NormalEquations::from_prior(&precision, &mean)
    }

    /// Solves the four prior scales of one shape and kind of noise.
    ///
    /// The columns whose prior has one scale are eliminated once; what is left per scale is a 2 × 2 system in the
    /// law's error and the slope.
    #[allow(clippy::too_many_arguments)]
    fn solve(
        &self,
        kind: NoiseKind,
        shape: Shape,
        exact: &NormalEquations<COLUMNS>,
        from_bounds: &NormalEquations<COLUMNS>,
        squares: f64,
        ln_det_noise: f64,
        rho: f64,
        models: &mut Vec<Model>,
    ) {
        let head = Head::eliminate(exact, from_bounds, &self.precision, self.has_step);
        let ln_all = self.ln_step + shape.prior_weight().ln() - 0.5 * (head.ln_det + ln_det_noise);
        for temperature in 0..2 {
            for slope in 0..2 {
                let lam = [
                    (self.sig / TEMPERATURE_SDS[temperature]).powi(2),
                    (self.sig / self.priors.slope_sds[slope]).powi(2),
                ];
                let slope_mean = self.priors.slope_mean;
                let small = head.small(lam, slope_mean);
                let beta = small.beta;
                // Residual and prior sums of squares of the exact readings.
                let mut fitted = 0.0;
                for i in 0..COLUMNS {
                    let mut row = 0.5 * exact.matrix[i][i] * beta[i] - exact.right[i];
                    for j in 0..i {
                        row += exact.matrix[i][j] * beta[j];
                    }
                    fitted += 2.0 * beta[i] * row;
                }
                let rss = (squares + fitted).max(0.0);
                let mut shrunk = lam[0] * beta[TEMPERATURE].powi(2) + lam[1] * (beta[SHAPE] - slope_mean).powi(2);
                for i in 0..HEAD {
                    shrunk += self.precision[i] * beta[i] * beta[i];
                }
                let squares_left = self.prior_squares + 0.5 * (rss + shrunk);
                let mut ln_weight = ln_all + self.ln_prior[temperature][slope]
                    - 0.5 * small.det.ln()
                    - self.shape_parameter * squares_left.ln();
                for bound in self.bounds {
                    ln_weight += bound.ln_probability(dot(&bound.x, &beta), self.sig);
                }
                let scale = squares_left / self.shape_parameter;
                let slope_variance = small.slope_variance * scale;
                let mut falling = 1.0;
                if shape.falls_only() {
                    falling = self.table.lower_tail_of(-beta[SHAPE], slope_variance).max(LEAST_FALLING);
                    ln_weight += (falling / self.falling[slope]).ln();
                }
                models.push(Model {
                    kind,
                    shape,
                    stepped: self.stepped,
                    slope_scale: slope,
                    temperature_scale: temperature,
                    ln_weight,
                    beta,
                    level: beta[LEVEL] + if self.has_step { beta[STEP] } else { 0.0 },
                    level_variance: small.level_variance * scale,
                    covariance: small.covariance * scale,
                    slope_variance,
                    scale,
                    walk: rho * scale,
                    drift: if kind == NoiseKind::Wandering {
                        (RATE_CHANGE * beta[SHAPE].min(0.0)).powi(2) / 3.0
                    } else {
                        0.0
                    },
                    falling,
                });
            }
        }
    }
}

impl Models {
    /// x′ Λ⁻¹ x of one model, in units of 1/sig².
    pub(super) fn quadratic(&self, model: &Model, x: &[f64; COLUMNS]) -> f64 {
        let kind = if self.rho > 0.0 { model.kind as usize } else { (model.kind as usize).min(1) };
        let Some(system) = self.systems.get(kind * shapes::COUNT + model.shape as usize) else {
            return 0.0;
        };
        let mut matrix = system.matrix;
        let mut precision = self.head_precision;
        if !model.stepped {
            precision[STEP] = NO_STEP;
        }
        precision[TEMPERATURE] = (self.sig / TEMPERATURE_SDS[model.temperature_scale]).powi(2);
        precision[SHAPE] = (self.sig / self.priors.slope_sds[model.slope_scale]).powi(2);
        for i in 0..COLUMNS {
            matrix[i][i] += precision[i];
        }
        Cholesky::factor(&matrix).quadratic(x)
    }

    /// ln of the given weights of the noise kinds; a level that does not sink does not wander, and there the first
    /// kind stands for the last as well.
    pub(super) fn ln_kind_weights(&self, weights: &NoiseWeights) -> [f64; noise::COUNT] {
        let mut w = weights.0;
        if self.rho <= 0.0 {
            w[NoiseKind::Independent as usize] += w[NoiseKind::Wandering as usize];
        }
        w.map(|w| w.max(1e-300).ln())
    }
}
