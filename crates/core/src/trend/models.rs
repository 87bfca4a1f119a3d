//! The models: twelve shapes, three kinds of noise, two scales of slope and two of temperature, each solved in closed
//! form by conjugate regression (normal-inverse-gamma; O'Hagan & Forster 2004).

#![allow(clippy::needless_range_loop, reason = "indices as in the formulas")]

use super::bounds::{self, BoundRow, Bounds, STEPS};
use super::elimination::SCALES;
use super::kept::{Evidence, Kept, Model};
use super::noise::{self, COLUMNS, DROP, ExactRow, Gram, HEAD, LEVEL, NoiseKind, SHAPE, STEP, State, TEMPERATURE};
use super::prepared::Prepared;
use super::priors::{LEVEL_ABOVE_BOUNDS, LEVEL_SD, LEVEL_SD_FEW, NoiseWeights, Priors, STEP_SD, TEMPERATURE_SDS};
use super::robust::Robust;
use super::shapes::{self, Shape, Span};
use super::weighing::{Context, LEAST_FALLING, LEAST_LAWFUL, Place, scales};
use crate::stats::normal::normal_lower_tail;
use crate::stats::small_matrix::{Cholesky, NormalEquations};
use crate::stats::student::StudentTable;

/// Prior weight of the opinion that the latest low readings are a decline that sped up, not a step.
const SPED_UP: f64 = 0.4;
/// Prior precision times sig² of a step that is not there.
const NO_STEP: f64 = 1e9;

/// The models of one stretch that can matter.
#[derive(Clone, Debug)]
pub(super) struct Models {
    /// Those with at least [`LEAST_SHARE`](super::kept::LEAST_SHARE) of the largest weight of their kind of noise.
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
    /// What the normal equations of every kind and shape are made of, for later predictions.
    systems: Systems,
    /// Prior precision of the columns that come in one scale, times sig².
    head_precision: [f64; COLUMNS],
    priors: Priors,
    pub(super) autocorrelated: State,
}

/// Normal equations without prior, by kind of noise and by shape.
#[derive(Clone, Debug)]
struct Systems {
    /// Of the exact readings, in the order of the kinds; without the wandering kind where the level does not sink.
    grams: Vec<Gram>,
    /// Of the bounds, in the order of the shapes; none without bounds.
    from_bounds: Vec<NormalEquations<COLUMNS>>,
}

impl Systems {
    /// Those of one kind and shape.
    fn equations(&self, kind: NoiseKind, shape: Shape) -> NormalEquations<COLUMNS> {
        let exact =
            self.grams.get(kind as usize).map_or(NormalEquations::ZERO, |gram| gram.equations(shape as usize).0);
        self.from_bounds.get(shape as usize).map_or(exact, |from_bounds| exact.plus(from_bounds))
    }
}

/// What happened to the level between two readings.
#[derive(Clone, Copy, Debug)]
pub(super) enum Step {
    None,
    /// So many latest readings are low; or the decline sped up.
    Fall {
        readings: usize,
    },
    /// So many readings are after a shift.
    Shift {
        readings: usize,
    },
}

impl Step {
    /// How many readings are after it.
    pub(super) fn readings(self) -> usize {
        match self {
            Step::None => 0,
            Step::Fall { readings } | Step::Shift { readings } => readings,
        }
    }
}

/// Solves all models.
///
/// `law_errors`: what the temperature law can have got wrong, decades per 10 °C.
pub(super) fn solve(
    readings: &[Prepared],
    span: Span,
    robust: &Robust,
    step: Step,
    law_errors: (f64, f64),
    priors: &Priors,
) -> Models {
    let n = readings.len();
    let after = step.readings();
    let fell = matches!(step, Step::Fall { .. });
    let sig = robust.sig;
    #[cfg(test)]
    super::work::note(n);
    let sig2 = sig * sig;
    let (centre, level_sd) = level_prior(readings);

    let mut exact = Vec::with_capacity(n);
    let mut bound_readings = Vec::new();
    for (k, r) in readings.iter().enumerate() {
        let stepped = if k + after >= n { 1.0 } else { 0.0 };
        let shapes = span.values(r.t);
        if r.exact() {
            exact.push(ExactRow {
                columns: noise::wide([1.0, r.season[0], r.season[1], stepped, r.warmth], r.y - centre, &shapes),
                t: r.t,
                variance: 1.0 / robust.weight[k],
            });
        } else {
            bound_readings.push((k, [1.0, r.season[0], r.season[1], stepped, r.warmth, 0.0], shapes));
        }
    }

    let season = sig2 / (priors.season_sd * priors.season_sd);
    let precision = [sig2 / (level_sd * level_sd), season, season, sig2 / (STEP_SD * STEP_SD), 0.0, 0.0];
    let df = priors.scatter_df + robust.ordinary(readings);
    let table = StudentTable::new(df);
    let head: f64 = precision.iter().take(HEAD).map(|p| libm::log(*p)).sum();
    let ln_prior = std::array::from_fn(|scale| {
        let (t, s) = scales(scale);
        let lam = (sig2 / (TEMPERATURE_SDS[t] * priors.slope_sds[s])).powi(2);
        let weight = priors.temperature_weights()[t] * priors.slope_weights[s];
        0.5 * (head + libm::log(lam)) + libm::log(weight.max(1e-300))
    });
    let falling = priors.slope_sds.map(|sd| libm::log(normal_lower_tail(-priors.slope_mean / sd).max(LEAST_FALLING)));
    let ln_falling = std::array::from_fn(|scale| falling[scales(scale).1]);
    let wide = |error: f64| normal_lower_tail(error / TEMPERATURE_SDS[1]);
    let ln_lawful = libm::log((wide(law_errors.1) - wide(law_errors.0)).max(LEAST_LAWFUL));
    let lam = [
        std::array::from_fn(|scale| (sig / TEMPERATURE_SDS[scales(scale).0]).powi(2)),
        std::array::from_fn(|scale| (sig / priors.slope_sds[scales(scale).1]).powi(2)),
    ];
    let mut context = Context {
        lam,
        ln_prior,
        ln_falling,
        law_errors,
        ln_lawful,
        ln_step: 0.0,
        priors,
        sig,
        has_step: after > 0,
        stepped: true,
        precision,
        shape_parameter: 0.5 * df,
        prior_squares: 0.5 * priors.scatter_df * priors.scatter * priors.scatter,
        table: &table,
        bounds: None,
    };

    let mut grams = Vec::with_capacity(noise::COUNT);
    grams.push(Gram::independent(&exact));
    // The bounds do not know the kind of noise: linearise them once per shape.
    let mut bounds_of: Vec<Bounds<COLUMNS>> = Vec::new();
    let mut from_bounds: Vec<NormalEquations<COLUMNS>> = Vec::new();
    if !bound_readings.is_empty() {
        bounds_of.reserve_exact(shapes::COUNT);
        from_bounds.reserve_exact(shapes::COUNT);
        let mut start = None;
        for shape in 0..shapes::COUNT {
            let mut bounds: Bounds<COLUMNS> = bound_readings
                .iter()
                .map(|(k, x, shapes)| {
                    let mut x = *x;
                    x[SHAPE] = shapes[shape];
                    let r = &readings[*k];
                    BoundRow { x, y: r.y - centre, sign: r.sign, extra: r.extra, index: *k }
                })
                .collect();
            let (equations, _) = grams[0].equations(shape);
            let fixed = context.prior(1, 1).plus(&equations);
            let fit = bounds::fit(&fixed, &mut bounds, sig, start, STEPS);
            start = Some(fit.beta);
            bounds_of.push(bounds);
            from_bounds.push(fit.from_bounds);
        }
    }

    let opinions = if fell { 2 } else { 1 };
    let mut kept = Kept::with_capacity(noise::COUNT * shapes::COUNT * SCALES * opinions);
    let mut run = |kind: NoiseKind, gram: &Gram, rho: f64, kept: &mut Kept| {
        let first = kept.models.len();
        kept.evidence = Evidence::default();
        let mut mean_slope = 0.0;
        for shape in Shape::ALL {
            let (equations, squares) = gram.equations(shape as usize);
            let from_bounds = from_bounds.get(shape as usize).unwrap_or(&NormalEquations::ZERO);
            let place = Place { kind, shape, ln_det_noise: gram.ln_det, rho };
            context.bounds = bounds_of.get(shape as usize);
            context.stepped = true;
            context.precision = precision;
            context.ln_step = 0.0;
            let slope = context.solve(&place, &equations, from_bounds, squares, kept);
            if shape == Shape::Straight {
                mean_slope = slope;
            }
            if fell {
                context.stepped = false;
                context.precision[STEP] = NO_STEP;
                context.ln_step = 0.5 * libm::log(NO_STEP / precision[STEP]) + libm::log(SPED_UP / (1.0 - SPED_UP));
                context.solve(&place, &equations, from_bounds, squares, kept);
            }
        }
        kept.drop_light(first);
        (kept.evidence.ln(), mean_slope)
    };
    let (independent_evidence, mean_slope) = run(NoiseKind::Independent, &grams[0], 0.0, &mut kept);
    grams.push(Gram::autocorrelated(&exact));
    let (autocorrelated_evidence, _) = run(NoiseKind::Autocorrelated, &grams[1], 0.0, &mut kept);
    let autocorrelated = grams[1].state;
    let rho = DROP * (-mean_slope).max(0.0) / sig2;
    // A level that does not sink does not wander: the two kinds are one.
    let mut wandering_evidence = independent_evidence;
    if rho > 0.0 {
        grams.push(Gram::wandering(&exact, rho));
        (wandering_evidence, _) = run(NoiseKind::Wandering, &grams[2], rho, &mut kept);
    }
    let mut models = Models {
        models: kept.models,
        centre,
        span,
        table,
        sig,
        has_step: after > 0,
        mean_slope,
        rho,
        ln_evidence: [independent_evidence, autocorrelated_evidence, wandering_evidence],
        systems: Systems { grams, from_bounds },
        head_precision: precision,
        priors: *priors,
        autocorrelated,
    };
    models.hold_lawful(law_errors);
    models
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

/// Mean of a normal variable that is known to lie between two limits.
fn mean_between(mean: f64, sd: f64, (least, greatest): (f64, f64)) -> f64 {
    let (low, high) = ((least - mean) / sd, (greatest - mean) / sd);
    let between = normal_lower_tail(high) - normal_lower_tail(low);
    if between < LEAST_LAWFUL {
        return mean.clamp(least, greatest);
    }
    let density = |z: f64| libm::exp(-0.5 * z * z) / std::f64::consts::TAU.sqrt();
    (mean + sd * (density(low) - density(high)) / between).clamp(least, greatest)
}

impl Models {
    /// The prior of the law's error ends at its limits, and so its mean lies between them; the other coefficients follow as they are
    /// correlated with it (normal conditional expectation). The narrow scale does not come near the limits.
    fn hold_lawful(&mut self, law_errors: (f64, f64)) {
        let mut models = std::mem::take(&mut self.models);
        let mut error = [0.0; COLUMNS];
        error[TEMPERATURE] = 1.0;
        for model in models.iter_mut().filter(|model| model.temperature_scale == 1) {
            let column = self.factor(model).solve(&error);
            let mean = model.beta[TEMPERATURE];
            let moved = mean_between(mean, (column[TEMPERATURE] * model.scale).sqrt(), law_errors) - mean;
            let moved = column.map(|c| moved * c / column[TEMPERATURE]);
            for i in 0..COLUMNS {
                model.beta[i] += moved[i];
            }
            model.level += moved[LEVEL] + if self.has_step { moved[STEP] } else { 0.0 };
        }
        self.models = models;
    }

    /// x′ Λ⁻¹ x of one model, in units of 1/sig².
    pub(super) fn quadratic(&self, model: &Model, x: &[f64; COLUMNS]) -> f64 {
        self.factor(model).quadratic(x)
    }

    /// The factor of Λ of one model.
    fn factor(&self, model: &Model) -> Cholesky<COLUMNS> {
        let mut matrix = self.systems.equations(model.kind, model.shape).matrix;
        let mut precision = self.head_precision;
        if !model.stepped {
            precision[STEP] = NO_STEP;
        }
        precision[TEMPERATURE] = (self.sig / TEMPERATURE_SDS[usize::from(model.temperature_scale)]).powi(2);
        precision[SHAPE] = (self.sig / self.priors.slope_sds[usize::from(model.slope_scale)]).powi(2);
        for i in 0..COLUMNS {
            matrix[i][i] += precision[i];
        }
        Cholesky::factor(&matrix)
    }

    /// ln of the given weights of the noise kinds; a level that does not sink does not wander, and there the first
    /// kind stands for the last as well.
    pub(super) fn ln_kind_weights(&self, weights: &NoiseWeights) -> [f64; noise::COUNT] {
        let mut w = weights.0;
        if self.rho <= 0.0 {
            w[NoiseKind::Independent as usize] += w[NoiseKind::Wandering as usize];
        }
        w.map(|w| libm::log(w.max(1e-300)))
    }
}
