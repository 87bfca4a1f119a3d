//! The least sum of squares of a decay: a sweep over the exponent, then damped Gauss-Newton steps.

use super::super::input::InputError;
use super::super::symmetric::{Cholesky, SymmetricMatrix};
use super::{CurveError, Decay, ErrorScale, LARGEST_EXPONENT, Leakage};

/// Exponents of the starting sweep reach from minus to plus this.
const SWEEP_TO: f64 = 5.0;
/// Step of the sweep; it avoids zero, where power law and leakage are the same thing.
const SWEEP_STEP: f64 = 0.25;
const MOST_STEPS: usize = 300;

/// The problem with times over their geometric mean and currents over their largest.
pub(super) struct Curve {
    log_times: Vec<f64>,
    currents: Vec<f64>,
    log_reference: f64,
    scale: f64,
    parameters: usize,
    errors: ErrorScale,
}

impl Curve {
    pub(super) fn new(
        times: &[f64],
        currents: &[f64],
        leakage: Leakage,
        errors: ErrorScale,
    ) -> Result<Self, CurveError> {
        #[allow(clippy::cast_precision_loss, reason = "reading counts are far below 2^53")]
        let log_reference = times.iter().map(|t| libm::log(*t)).sum::<f64>() / times.len() as f64;
        let log_times: Vec<f64> = times.iter().map(|t| libm::log(*t) - log_reference).collect();
        let scale = currents.iter().fold(0.0_f64, |m, i| m.max(i.abs()));
        let spread = log_times.iter().fold(0.0_f64, |m, t| m.max(t.abs()));
        if scale <= 0.0 || spread <= 1e-9 {
            return Err(CurveError::Undetermined);
        }
        let currents = currents.iter().map(|i| i / scale).collect();
        let parameters = if leakage == Leakage::Fitted { 3 } else { 2 };
        Ok(Self { log_times, currents, log_reference, scale, parameters, errors })
    }

    fn value(&self, theta: &[f64], log_time: f64) -> f64 {
        theta[0] * libm::exp(-theta[1] * log_time) + theta.get(2).copied().unwrap_or(0.0)
    }

    /// Residual of one reading; NaN where the curve is not positive and the errors are relative.
    fn residual(&self, theta: &[f64], i: usize) -> f64 {
        let f = self.value(theta, self.log_times[i]);
        match self.errors {
            ErrorScale::Additive => self.currents[i] - f,
            ErrorScale::Relative => libm::log(self.currents[i] / f),
        }
    }

    fn sum_of_squares(&self, theta: &[f64]) -> f64 {
        let rss: f64 = (0..self.currents.len()).map(|i| self.residual(theta, i).powi(2)).sum();
        if rss.is_finite() { rss } else { f64::INFINITY }
    }

    /// The best of the exponents tried, each with its linear parameters.
    pub(super) fn sweep(&self) -> Option<Vec<f64>> {
        let mut best: Option<(f64, Vec<f64>)> = None;
        let mut exponent = -SWEEP_TO + SWEEP_STEP / 2.0;
        while exponent < SWEEP_TO {
            for theta in self.linear_parameters(exponent) {
                let rss = self.sum_of_squares(&theta);
                if rss.is_finite() && best.as_ref().is_none_or(|(least, _)| rss < *least) {
                    best = Some((rss, theta));
                }
            }
            exponent += SWEEP_STEP;
        }
        best.map(|(_, theta)| theta)
    }

    /// Amplitude and leakage for a given exponent, and the amplitude alone with no leakage to fall back on.
    fn linear_parameters(&self, exponent: f64) -> Vec<Vec<f64>> {
        let (mut ss, mut s1, mut w1, mut sy, mut y1) = (0.0, 0.0, 0.0, 0.0, 0.0);
        for (t, i) in self.log_times.iter().zip(&self.currents) {
            let shape = libm::exp(-exponent * t);
            let w = if self.errors == ErrorScale::Relative { 1.0 / (i * i) } else { 1.0 };
            ss += w * shape * shape;
            s1 += w * shape;
            w1 += w;
            sy += w * shape * i;
            y1 += w * i;
        }
        let mut found = Vec::with_capacity(2);
        if self.parameters == 3 {
            let determinant = ss * w1 - s1 * s1;
            if determinant > 1e-14 * ss * w1 {
                found.push(vec![(w1 * sy - s1 * y1) / determinant, exponent, (ss * y1 - s1 * sy) / determinant]);
            }
            found.push(vec![sy / ss, exponent, 0.0]);
        } else {
            found.push(vec![sy / ss, exponent]);
        }
        found
    }

    /// `J'J` and `J'r`.
    pub(super) fn normal(&self, theta: &[f64]) -> (SymmetricMatrix, Vec<f64>) {
        let mut cross = SymmetricMatrix::zeros(self.parameters);
        let mut right = vec![0.0; self.parameters];
        for (i, t) in self.log_times.iter().enumerate() {
            let shape = libm::exp(-theta[1] * t);
            let f = self.value(theta, *t);
            let per = if self.errors == ErrorScale::Relative { 1.0 / f } else { 1.0 };
            let slopes = [shape * per, -theta[0] * t * shape * per, per];
            let slopes = &slopes[..self.parameters];
            cross.add_outer_lower(1.0, slopes);
            let r = self.residual(theta, i);
            right.iter_mut().zip(slopes).for_each(|(b, s)| *b += s * r);
        }
        cross.mirror();
        (cross, right)
    }

    /// Damped Gauss-Newton steps to the least sum of squares.
    pub(super) fn descend(&self, start: Vec<f64>) -> Result<(Vec<f64>, f64), CurveError> {
        let mut theta = start;
        let mut rss = self.sum_of_squares(&theta);
        let mut damping = 1e-3;
        for _ in 0..MOST_STEPS {
            let (cross, right) = self.normal(&theta);
            let mut moved = None;
            while damping < 1e12 {
                let Some(factor) = Cholesky::new(&cross, damping) else {
                    damping *= 10.0;
                    continue;
                };
                let step = factor.solve(&right);
                let next: Vec<f64> = theta.iter().zip(&step).map(|(a, b)| a + b).collect();
                let after = self.sum_of_squares(&next);
                // Equal to rounding counts as progress: the last digits come from steps the sum no longer shows.
                if after <= rss * (1.0 + 1e-14) {
                    moved = Some((next, after, step));
                    break;
                }
                damping *= 10.0;
            }
            let Some((next, after, step)) = moved else {
                return if damping < 1e12 || self.is_stationary(&cross, &right, rss) {
                    Ok((theta, rss))
                } else {
                    Err(CurveError::Undetermined)
                };
            };
            let small = step.iter().zip(&next).all(|(s, v)| s.abs() <= 1e-14 + 1e-13 * v.abs());
            theta = next;
            rss = after;
            if theta[1].abs() > LARGEST_EXPONENT {
                return Err(CurveError::ExponentRunsAway { exponent: theta[1] });
            }
            if small && damping < 1e-6 {
                return Ok((theta, rss));
            }
            damping = (damping / 10.0).max(1e-16);
        }
        let (cross, right) = self.normal(&theta);
        if self.is_stationary(&cross, &right, rss) {
            Ok((theta, rss))
        } else {
            Err(CurveError::NotConverged { iterations: MOST_STEPS })
        }
    }

    /// Whether an undamped step would change the sum of squares by less than a billionth.
    fn is_stationary(&self, cross: &SymmetricMatrix, right: &[f64], rss: f64) -> bool {
        Cholesky::new(cross, 0.0).is_some_and(|factor| {
            let gain: f64 = factor.solve(right).iter().zip(right).map(|(s, r)| s * r).sum();
            gain <= 1e-9 * rss + 1e-24
        })
    }

    /// Results in the units of the readings.
    pub(super) fn report(
        &self,
        theta: &[f64],
        rss: f64,
        inverse: &SymmetricMatrix,
        degrees_of_freedom: usize,
    ) -> Result<Decay, CurveError> {
        let unit = if self.errors == ErrorScale::Additive { self.scale } else { 1.0 };
        #[allow(clippy::cast_precision_loss, reason = "reading counts are far below 2^53")]
        let variance = rss / degrees_of_freedom as f64;
        let at_one = self.scale * libm::exp(theta[1] * self.log_reference);
        let mut jacobian = vec![vec![0.0; self.parameters]; self.parameters];
        jacobian[0][0] = at_one;
        jacobian[0][1] = at_one * theta[0] * self.log_reference;
        jacobian[1][1] = 1.0;
        if let Some(row) = jacobian.get_mut(2) {
            row[2] = self.scale;
        }
        let mut covariance = inverse.transformed(&jacobian);
        for i in 0..self.parameters {
            for j in 0..=i {
                covariance.set(i, j, covariance.at(i, j) * variance);
            }
        }
        let decay = Decay {
            amplitude: at_one * theta[0],
            exponent: theta[1],
            leakage: theta.get(2).map(|g| g * self.scale),
            covariance,
            residual_sum_of_squares: rss * unit * unit,
            residual_sd: variance.sqrt() * unit,
            degrees_of_freedom,
        };
        let finite = decay.amplitude.is_finite() && decay.covariance.is_finite() && decay.residual_sd.is_finite();
        if finite { Ok(decay) } else { Err(InputError::OutOfRange.into()) }
    }
}
