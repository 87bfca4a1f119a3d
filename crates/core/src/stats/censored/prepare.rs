//! Into standard units before the maximum is sought, and back afterwards.

use super::super::design::{Design, mean, power_of_two_below};
use super::super::input::{InputError, LARGEST, check_values};
use super::likelihood::Problem;
use super::newton;
use super::{CensoredError, CensoredFit, NoFiniteMaximum, Observation};

/// The problem in standard units, and the way back.
pub(super) struct Prepared {
    pub(super) problem: Problem,
    shift: f64,
    scale: f64,
}

pub(super) fn prepare(columns: &[&[f64]], observations: &[Observation]) -> Result<Prepared, CensoredError> {
    let n = observations.len();
    let mut points = Vec::with_capacity(n);
    for (i, observation) in observations.iter().enumerate() {
        match *observation {
            Observation::Exact(v) | Observation::Above(v) | Observation::Below(v) => points.push(v),
            Observation::Between { low, high } => {
                check_values("an interval", &[low, high])?;
                if low >= high {
                    return Err(CensoredError::Input(InputError::Value {
                        what: "the upper bound of an interval",
                        row: i + 1,
                        found: high,
                        rule: "must be greater than the lower bound",
                    }));
                }
                points.push(low + (high - low) / 2.0);
            }
        }
    }
    check_values("the observations", &points)?;
    let needed = columns.len() + 2;
    if n < needed {
        return Err(CensoredError::NoFiniteMaximum(NoFiniteMaximum::TooFew { found: n, needed }));
    }
    let design = Design::new(columns, n, true, None)?;
    let shift = mean(&points, None);
    let size = points.iter().fold(0.0_f64, |m, v| m.max((v - shift).abs()));
    let widest = observations.iter().fold(size, |m, o| match *o {
        Observation::Between { low, high } => m.max(high - low),
        _ => m,
    });
    // Values equal to rounding have no spread of their own to measure by.
    let scale = if widest > 1.0 / LARGEST && widest > 8.0 * f64::EPSILON * shift.abs() {
        power_of_two_below(widest)
    } else {
        power_of_two_below(shift.abs().max(1.0 / LARGEST))
    };
    let problem = Problem::new(design, observations, shift, scale);
    Ok(Prepared { problem, shift, scale })
}

pub(super) fn assemble(prepared: Prepared, found: newton::Maximum) -> Result<CensoredFit, CensoredError> {
    let Prepared { problem, shift, scale } = prepared;
    let p = problem.design.parameters;
    let inverse_sigma = found.theta[p];
    let sigma = scale / inverse_sigma;
    let standardised: Vec<f64> = found.theta[..p].iter().map(|g| g * sigma).collect();
    // From (beta/sigma, 1/sigma) to (beta, ln sigma); at the maximum the gradient is zero and only first derivatives count.
    let mut jacobian = vec![vec![0.0; p + 1]; p + 1];
    for (j, row) in jacobian.iter_mut().enumerate().take(p) {
        row[j] = sigma;
        row[p] = -standardised[j] / inverse_sigma;
    }
    jacobian[p][p] = -1.0 / inverse_sigma;
    let standardised_covariance = found.covariance.transformed(&jacobian);
    let mut back = problem.design.frame.back();
    for row in &mut back {
        row.push(0.0);
    }
    let mut last = vec![0.0; p + 1];
    last[p] = 1.0;
    back.push(last);
    #[allow(clippy::cast_precision_loss, reason = "row counts are far below 2^53")]
    let exact = problem.counts.exact as f64;
    let fit = CensoredFit {
        coef: problem.design.frame.coefficients(&standardised, shift),
        sigma,
        log_likelihood: found.value - exact * libm::log(scale),
        covariance: standardised_covariance.transformed(&back),
        counts: problem.counts,
        iterations: found.iterations,
        frame: problem.design.frame,
        standardised,
        standardised_covariance,
        shift,
    };
    let finite = fit.coef.iter().all(|b| b.is_finite())
        && fit.sigma.is_finite()
        && fit.log_likelihood.is_finite()
        && fit.covariance.is_finite();
    if finite { Ok(fit) } else { Err(CensoredError::Input(InputError::OutOfRange)) }
}
