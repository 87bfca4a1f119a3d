//! Newton's method with step halving on the concave log-likelihood.

use super::super::symmetric::{Cholesky, SymmetricMatrix};
use super::likelihood::{Derivatives, Problem};
use super::{CensoredError, NoFiniteMaximum, Observation};

const MOST_STEPS: usize = 200;
/// Twice the log-likelihood still to gain, as Newton sees it: below this the next step is taken and is the last.
const GAIN_LEFT: f64 = 1e-20;
/// Below this the predicted gain is smaller than the rounding of the log-likelihood: steps are taken unchecked.
const GAIN_UNSEEN: f64 = 1e-8;
/// Inverse sigma, in units of the spread of the data, below which sigma counts as running to infinity.
const SPREAD_UNBOUNDED: f64 = 1e-7;

/// The maximum in the concave parameters.
pub(super) struct Maximum {
    pub(super) theta: Vec<f64>,
    pub(super) value: f64,
    pub(super) covariance: SymmetricMatrix,
    pub(super) iterations: usize,
}

pub(super) fn maximise(problem: &Problem) -> Result<Maximum, CensoredError> {
    let p = problem.design.parameters;
    let mut theta = start(problem);
    let mut here = Derivatives::zeros(p + 1);
    let mut gain_before = f64::INFINITY;
    for iteration in 1..=MOST_STEPS {
        problem.derivatives(&theta, &mut here);
        let stuck = CensoredError::NotConverged { iterations: iteration };
        let Some(factor) = factor(&here.information) else {
            return Err(stuck);
        };
        let step = factor.solve(&here.gradient);
        let gain: f64 = step.iter().zip(&here.gradient).map(|(s, g)| s * g).sum();
        if !gain.is_finite() || !here.value.is_finite() {
            return Err(stuck);
        }
        let settled = gain <= GAIN_LEFT || (gain < GAIN_UNSEEN * GAIN_UNSEEN.sqrt() && gain >= gain_before);
        gain_before = gain;
        // Inverse sigma stays positive: a step may take at most 95 % of it away.
        let mut length = if step[p] < -0.95 * theta[p] { -0.95 * theta[p] / step[p] } else { 1.0 };
        let mut next = moved(&theta, &step, length);
        if gain > GAIN_UNSEEN {
            let mut halvings = 0;
            let enough = |next: &[f64], length: f64| problem.value(next) >= here.value + 1e-4 * length * gain;
            while !enough(&next, length) {
                halvings += 1;
                if halvings > 60 {
                    return Err(stuck);
                }
                length /= 2.0;
                next = moved(&theta, &step, length);
            }
        }
        theta = next;
        let only_one_sided = problem.counts.exact + problem.counts.between == 0;
        if only_one_sided && theta[p] < SPREAD_UNBOUNDED {
            return Err(CensoredError::NoFiniteMaximum(NoFiniteMaximum::SpreadUnbounded));
        }
        if settled {
            problem.derivatives(&theta, &mut here);
            let Some(last) = Cholesky::new(&here.information, 0.0) else {
                return Err(stuck);
            };
            return Ok(Maximum { theta, value: here.value, covariance: last.inverse(), iterations: iteration });
        }
    }
    Err(CensoredError::NotConverged { iterations: MOST_STEPS })
}

/// The factor of the information, with as little added to its diagonal as makes it positive definite.
fn factor(information: &SymmetricMatrix) -> Option<Cholesky> {
    [0.0, 1e-12, 1e-9, 1e-6, 1e-3, 1.0].into_iter().find_map(|ridge| Cholesky::new(information, ridge))
}

fn moved(theta: &[f64], step: &[f64], length: f64) -> Vec<f64> {
    theta.iter().zip(step).map(|(t, s)| t + length * s).collect()
}

/// Least squares with every bound read as a value: only a place to begin, concavity does the rest.
fn start(problem: &Problem) -> Vec<f64> {
    let p = problem.design.parameters;
    let point = |o: &Observation| match *o {
        Observation::Exact(v) | Observation::Above(v) | Observation::Below(v) => v,
        Observation::Between { low, high } => (low + high) / 2.0,
    };
    let mut cross = SymmetricMatrix::zeros(p);
    let mut right = vec![0.0; p];
    for (i, o) in problem.observations.iter().enumerate() {
        let z = problem.design.row(i);
        cross.add_outer_lower(1.0, z);
        for (r, v) in right.iter_mut().zip(z) {
            *r += v * point(o);
        }
    }
    let mut theta = Cholesky::new(&cross, 1e-12).map_or_else(|| vec![0.0; p], |c| c.solve(&right));
    let mut squares = 0.0;
    for (i, o) in problem.observations.iter().enumerate() {
        let fitted: f64 = problem.design.row(i).iter().zip(&theta).map(|(z, b)| z * b).sum();
        squares += (point(o) - fitted).powi(2);
    }
    #[allow(clippy::cast_precision_loss, reason = "row counts are far below 2^53")]
    let sigma = (squares / problem.observations.len().max(1) as f64).sqrt().max(1e-3);
    for b in &mut theta {
        *b /= sigma;
    }
    theta.push(1.0 / sigma);
    theta
}
