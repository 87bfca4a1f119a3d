//! One shape under one kind of noise, solved under all prior scales at once, and how well it explains the readings.

#![allow(clippy::needless_range_loop, reason = "indices as in the formulas")]

use super::bounds::Bounds;
use super::elimination::{Head, Rest, SCALES, Small};
use super::kept::{Evidence, Kept, Model};
use super::noise::{COLUMNS, HEAD, LEVEL, NoiseKind, SHAPE, STEP, TEMPERATURE};
use super::priors::{Priors, TEMPERATURE_SDS};
use super::shapes::Shape;
use crate::stats::small_matrix::NormalEquations;
use crate::stats::student::StudentTable;
use fearless_simd::{Level, Simd, SimdFrom, dispatch, f64x4};

/// Least probability of falling that a falling-only shape is credited with.
pub(super) const LEAST_FALLING: f64 = 1e-12;
/// Least probability that the law's error is one that insulation can have.
pub(super) const LEAST_LAWFUL: f64 = 1e-12;
/// How much the rate of a level that falls in steps may change in a year, as a share of itself: the rate walks too, so the
/// level's variance grows with the cube of time (Whitmore & Schenkelberg 1997).
const RATE_CHANGE: f64 = 0.13;

/// Which scales of temperature and of slope a pair has.
pub(super) fn scales(pair: usize) -> (usize, usize) {
    (pair / 2, pair % 2)
}

/// What all solves of one stretch share.
pub(super) struct Context<'a> {
    pub(super) priors: &'a Priors,
    pub(super) sig: f64,
    pub(super) has_step: bool,
    pub(super) stepped: bool,
    /// Prior precision times sig²; slope and temperature are filled in by scale.
    pub(super) precision: [f64; COLUMNS],
    /// Half of degrees of freedom, and the prior sum of squares.
    pub(super) shape_parameter: f64,
    pub(super) prior_squares: f64,
    /// By pair of scales: prior precision times sig² of temperature and of slope.
    pub(super) lam: [[f64; SCALES]; 2],
    /// By pair of scales: ln of the prior's determinant and weight.
    pub(super) ln_prior: [f64; SCALES],
    /// By pair of scales: ln of the prior probability of falling.
    pub(super) ln_falling: [f64; SCALES],
    /// What the law can have got wrong, decades per 10 °C, and ln of the prior probability of that under the wide scale.
    pub(super) law_errors: (f64, f64),
    pub(super) ln_lawful: f64,
    pub(super) ln_step: f64,
    pub(super) table: &'a StudentTable,
    pub(super) bounds: Option<&'a Bounds<COLUMNS>>,
}

/// A kind of noise and a shape, with what the kind brings along.
pub(super) struct Place {
    pub(super) kind: NoiseKind,
    pub(super) shape: Shape,
    pub(super) ln_det_noise: f64,
    pub(super) rho: f64,
}

impl Context<'_> {
    /// Prior equations with the given scales of slope and temperature.
    pub(super) fn prior(&self, slope: usize, temperature: usize) -> NormalEquations<COLUMNS> {
        let mut precision = self.precision;
        precision[TEMPERATURE] = (self.sig / TEMPERATURE_SDS[temperature]).powi(2);
        precision[SHAPE] = (self.sig / self.priors.slope_sds[slope]).powi(2);
        let mut mean = [0.0; COLUMNS];
        mean[SHAPE] = self.priors.slope_mean;
        NormalEquations::from_prior(&precision, &mean)
    }

    /// Solves the four prior scales of one shape and kind of noise, and keeps what can matter; gives the mean slope.
    ///
    /// The columns whose prior has one scale are eliminated once; what is left per scale is a 2 × 2 system in the
    /// law's error and the slope, which is enough to weigh the model. The rest is worked out for models that are kept.
    pub(super) fn solve(
        &self,
        place: &Place,
        exact: &NormalEquations<COLUMNS>,
        from_bounds: &NormalEquations<COLUMNS>,
        squares: f64,
        kept: &mut Kept,
    ) -> f64 {
        dispatch!(Level::new(), simd => self.solve_wide(simd, place, exact, from_bounds, squares, kept))
    }

    #[inline(always)]
    fn solve_wide<S: Simd>(
        &self,
        simd: S,
        place: &Place,
        exact: &NormalEquations<COLUMNS>,
        from_bounds: &NormalEquations<COLUMNS>,
        squares: f64,
        kept: &mut Kept,
    ) -> f64 {
        let Place { kind, shape, ln_det_noise, rho } = *place;
        let head = Head::eliminate(exact, from_bounds, &self.precision, self.has_step);
        let ln_all = self.ln_step - 0.5 * (head.ln_det + ln_det_noise);
        let rest = head.rest(simd, &self.lam, self.priors.slope_mean);
        let small: Option<[Small; SCALES]> = self.bounds.map(|_| std::array::from_fn(|scale| head.small(&rest, scale)));
        let squares = match &small {
            None => head.squares_left(squares, &rest),
            Some(small) => std::array::from_fn(|scale| {
                self.squares_left(exact, squares, self.lam.map(|lam| lam[scale]), &small[scale].beta)
            }),
        };
        let squares_left = f64x4::simd_from(simd, squares) * 0.5 + self.prior_squares;
        let scales_of = squares_left / self.shape_parameter;
        let slope_variances = f64x4::simd_from(simd, rest.slope_variance) * scales_of;
        let falls_only = shape.falls_only();
        let falls = if falls_only {
            *self.table.lower_tails_of(simd, -f64x4::simd_from(simd, rest.slope), slope_variances)
        } else {
            [1.0; SCALES]
        };
        let lawful = self.lawful(simd, &rest, *scales_of);
        let mut slopes = [(f64::NEG_INFINITY, 0.0); SCALES];
        for (pair, slope_of) in slopes.iter_mut().enumerate() {
            let (temperature, slope) = scales(pair);
            let (scale, slope_variance) = (scales_of[pair], slope_variances[pair]);
            let mut falling = 1.0;
            let mut ln_weight = ln_all + self.ln_prior[pair] - self.shape_parameter * libm::log(squares_left[pair]);
            if falls_only {
                falling = falls[pair].max(LEAST_FALLING);
                ln_weight -= self.ln_falling[pair];
            }
            ln_weight += libm::log(shape.prior_weight() * falling / rest.det[pair].sqrt());
            if temperature == 1 {
                ln_weight += libm::log(lawful[slope]) - self.ln_lawful;
            }
            if let (Some(small), Some(bounds)) = (&small, self.bounds) {
                // The bounds can only lower it.
                if kept.evidence.is_negligible(ln_weight) {
                    continue;
                }
                ln_weight += bounds.ln_probability(&small[pair].beta);
            }
            *slope_of = (ln_weight, rest.slope[pair]);
            kept.evidence.take(ln_weight);
            if ln_weight < kept.least() {
                continue;
            }
            let Small { beta, level_variance, covariance } = match &small {
                Some(small) => small[pair],
                None => head.small(&rest, pair),
            };
            kept.models.push(Model {
                kind,
                shape,
                stepped: self.stepped,
                slope_scale: slope as u8,
                temperature_scale: temperature as u8,
                ln_weight,
                weight: 0.0,
                beta,
                level: beta[LEVEL] + if self.has_step { beta[STEP] } else { 0.0 },
                level_variance: level_variance * scale,
                covariance: covariance * scale,
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
        if shape != Shape::Straight {
            return 0.0;
        }
        let mut straight = Evidence::default();
        for (ln, _) in slopes {
            straight.take(ln);
        }
        let ln_total = straight.ln();
        slopes.iter().map(|(ln, slope)| libm::exp(ln - ln_total) * slope).sum()
    }

    /// Probability that the law's error is one that insulation can have, under the wide scale of temperature and both of the slope:
    /// the prior ends at those limits. The narrow scale does not come near them.
    #[inline(always)]
    fn lawful<S: Simd>(&self, simd: S, rest: &Rest, scales_of: [f64; SCALES]) -> [f64; 2] {
        let (least, greatest) = self.law_errors;
        let error = &rest.temperature;
        let variance = [2, 3].map(|pair: usize| rest.temperature_variance[pair] * scales_of[pair]);
        let deviations = [greatest - error[2], greatest - error[3], least - error[2], least - error[3]];
        let variances = [variance[0], variance[1], variance[0], variance[1]];
        let below =
            self.table.lower_tails_of(simd, f64x4::simd_from(simd, deviations), f64x4::simd_from(simd, variances));
        [below[0] - below[2], below[1] - below[3]].map(|p| p.max(LEAST_LAWFUL))
    }

    /// Residual sum of squares of the exact readings and the prior's, at any coefficients.
    fn squares_left(
        &self,
        exact: &NormalEquations<COLUMNS>,
        squares: f64,
        lam: [f64; 2],
        beta: &[f64; COLUMNS],
    ) -> f64 {
        let mut fitted = 0.0;
        for i in 0..COLUMNS {
            let mut row = 0.5 * exact.matrix[i][i] * beta[i] - exact.right[i];
            for j in 0..i {
                row += exact.matrix[i][j] * beta[j];
            }
            fitted += 2.0 * beta[i] * row;
        }
        let slope_mean = self.priors.slope_mean;
        let mut shrunk = lam[0] * beta[TEMPERATURE].powi(2) + lam[1] * (beta[SHAPE] - slope_mean).powi(2);
        for i in 0..HEAD {
            shrunk += self.precision[i] * beta[i] * beta[i];
        }
        (squares + fitted).max(0.0) + shrunk
    }
}
