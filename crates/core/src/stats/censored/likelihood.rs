//! The log-likelihood in `g = beta / sigma`, `t = 1 / sigma`, its gradient, and its information.

use super::super::design::Design;
use super::super::symmetric::SymmetricMatrix;
use super::super::tail::{HALF_LN_TWO_PI, Tail};
use super::{Counts, Observation};

/// Below this width (in sigma, times one plus the distance) an interval is expanded in its width.
const NARROW: f64 = 0.02;

/// A censored regression in standard units.
pub(super) struct Problem {
    pub(super) design: Design,
    pub(super) observations: Vec<Observation>,
    pub(super) counts: Counts,
}

/// Log-likelihood, gradient and information (minus the second derivatives, lower triangle and mirror).
pub(super) struct Derivatives {
    pub(super) value: f64,
    pub(super) gradient: Vec<f64>,
    pub(super) information: SymmetricMatrix,
}

impl Problem {
    pub(super) fn new(design: Design, observations: &[Observation], shift: f64, scale: f64) -> Self {
        let unit = |v: f64| (v - shift) / scale;
        let mut counts = Counts::default();
        let observations = observations
            .iter()
            .map(|o| match *o {
                Observation::Exact(v) => {
                    counts.exact += 1;
                    Observation::Exact(unit(v))
                }
                Observation::Above(v) => {
                    counts.above += 1;
                    Observation::Above(unit(v))
                }
                Observation::Below(v) => {
                    counts.below += 1;
                    Observation::Below(unit(v))
                }
                Observation::Between { low, high } => {
                    counts.between += 1;
                    // The width is scaled by itself: far from zero it would be lost in the two ends.
                    let half = (high - low) / scale / 2.0;
                    let middle = unit(low + (high - low) / 2.0);
                    Observation::Between { low: middle - half, high: middle + half }
                }
            })
            .collect();
        Self { design, observations, counts }
    }

    /// The log-likelihood alone, for the line search.
    pub(super) fn value(&self, theta: &[f64]) -> f64 {
        let t = theta[self.design.parameters];
        let mut sum = 0.0;
        for (i, observation) in self.observations.iter().enumerate() {
            let eta = dot(self.design.row(i), theta);
            sum += match *observation {
                Observation::Exact(y) => libm::log(t) - (t * y - eta).powi(2) / 2.0 - HALF_LN_TWO_PI,
                Observation::Above(y) => Tail::at(t * y - eta).ln_probability,
                Observation::Below(y) => Tail::at(eta - t * y).ln_probability,
                Observation::Between { low, high } => {
                    Strip::at(t * (low + high) / 2.0 - eta, t * (high - low)).ln_probability
                }
            };
        }
        sum
    }

    /// Everything that a Newton step needs.
    pub(super) fn derivatives(&self, theta: &[f64], into: &mut Derivatives) {
        let p = self.design.parameters;
        let t = theta[p];
        let mut a = vec![0.0; p + 1];
        let mut width_only = vec![0.0; p + 1];
        into.value = 0.0;
        into.gradient.fill(0.0);
        into.information.clear();
        for (i, observation) in self.observations.iter().enumerate() {
            let z = self.design.row(i);
            let eta = dot(z, theta);
            match *observation {
                Observation::Exact(y) => {
                    let r = t * y - eta;
                    set(&mut a, z, -1.0, y);
                    into.value += libm::log(t) - r * r / 2.0 - HALF_LN_TWO_PI;
                    add(&mut into.gradient, -r, &a);
                    into.gradient[p] += 1.0 / t;
                    into.information.add_outer_lower(1.0, &a);
                    into.information.add_lower(p, p, 1.0 / (t * t));
                }
                Observation::Above(y) | Observation::Below(y) => {
                    let sign = if matches!(observation, Observation::Above(_)) { 1.0 } else { -1.0 };
                    let tail = Tail::at(sign * (t * y - eta));
                    set(&mut a, z, -sign, sign * y);
                    into.value += tail.ln_probability;
                    add(&mut into.gradient, -tail.hazard, &a);
                    into.information.add_outer_lower(tail.hazard * tail.excess, &a);
                }
                Observation::Between { low, high } => {
                    let (middle, width) = ((low + high) / 2.0, high - low);
                    let strip = Strip::at(t * middle - eta, t * width);
                    set(&mut a, z, -1.0, middle);
                    width_only[p] = width;
                    into.value += strip.ln_probability;
                    add(&mut into.gradient, strip.d_middle, &a);
                    into.gradient[p] += strip.d_width * width;
                    into.information.add_outer_lower(-strip.d_middle_middle, &a);
                    into.information.add_outer_lower(-strip.d_width_width, &width_only);
                    for (j, aj) in a.iter().enumerate() {
                        let twice = if j == p { 2.0 } else { 1.0 };
                        into.information.add_lower(p, j, -twice * strip.d_middle_width * aj * width);
                    }
                }
            }
        }
        into.information.mirror();
    }
}

impl Derivatives {
    pub(super) fn zeros(size: usize) -> Self {
        Self { value: 0.0, gradient: vec![0.0; size], information: SymmetricMatrix::zeros(size) }
    }
}

fn dot(z: &[f64], theta: &[f64]) -> f64 {
    z.iter().zip(theta).map(|(a, b)| a * b).sum()
}

fn set(a: &mut [f64], z: &[f64], sign: f64, last: f64) {
    for (target, v) in a.iter_mut().zip(z) {
        *target = sign * v;
    }
    if let Some(end) = a.last_mut() {
        *end = last;
    }
}

fn add(target: &mut [f64], factor: f64, a: &[f64]) {
    for (t, v) in target.iter_mut().zip(a) {
        *t += factor * v;
    }
}

/// The probability between `middle - width/2` and `middle + width/2`, and how its logarithm changes with both.
struct Strip {
    ln_probability: f64,
    d_middle: f64,
    d_width: f64,
    d_middle_middle: f64,
    d_middle_width: f64,
    d_width_width: f64,
}

impl Strip {
    fn at(middle: f64, width: f64) -> Self {
        // By symmetry only the upper side is computed; the derivatives in the middle change sign.
        let (m, sign) = if middle < 0.0 { (-middle, -1.0) } else { (middle, 1.0) };
        let mut strip = if width * (1.0 + m) < NARROW { Self::narrow(m, width) } else { Self::wide(m, width) };
        strip.d_middle *= sign;
        strip.d_middle_width *= sign;
        strip
    }

    fn narrow(m: f64, w: f64) -> Self {
        // P = w phi(m) (1 + (m^2-1) w^2/24 + (m^4-6m^2+3) w^4/1920 + …); the logarithm of the bracket to w^4.
        let (m2, w2) = (m * m, w * w);
        let c2 = (m2 - 1.0) / 24.0;
        let c4 = (m2 * m2 - 6.0 * m2 + 3.0) / 1920.0 - c2 * c2 / 2.0;
        let c2_m = m / 12.0;
        let c4_m = (4.0 * m2 * m - 12.0 * m) / 1920.0 - c2 * c2_m;
        let c4_mm = (12.0 * m2 - 12.0) / 1920.0 - c2_m * c2_m - c2 / 12.0;
        Self {
            ln_probability: libm::log(w) - m2 / 2.0 - HALF_LN_TWO_PI + c2 * w2 + c4 * w2 * w2,
            d_middle: -m + c2_m * w2 + c4_m * w2 * w2,
            d_width: 1.0 / w + 2.0 * c2 * w + 4.0 * c4 * w2 * w,
            d_middle_middle: -1.0 + w2 / 12.0 + c4_mm * w2 * w2,
            d_middle_width: 2.0 * c2_m * w + 4.0 * c4_m * w2 * w,
            d_width_width: -1.0 / w2 + 2.0 * c2 + 12.0 * c4 * w2,
        }
    }

    fn wide(m: f64, w: f64) -> Self {
        let (zl, zu) = (m - w / 2.0, m + w / 2.0);
        let (near, far) = (Tail::at(zl), Tail::at(zu));
        let share = -libm::expm1(far.ln_probability - near.ln_probability);
        // Densities at both ends over the probability between them.
        let rl = near.hazard / share;
        let ru = rl * libm::exp(-w * m);
        let d_middle = ru - rl;
        let d_width = (ru + rl) / 2.0;
        let curve = zl * rl - zu * ru;
        Self {
            ln_probability: near.ln_probability + libm::log(share),
            d_middle,
            d_width,
            d_middle_middle: curve - d_middle * d_middle,
            d_middle_width: -(zu * ru + zl * rl) / 2.0 - d_middle * d_width,
            d_width_width: curve / 4.0 - d_width * d_width,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn narrow_and_wide_strips_meet() {
        for m in [0.0, 0.3, 1.0, 4.0, 9.0] {
            let w = NARROW / (1.0 + m);
            let (a, b) = (Strip::narrow(m, w), Strip::wide(m, w));
            let pairs = [
                (a.ln_probability, b.ln_probability, 1e-13),
                (a.d_middle, b.d_middle, 1e-10),
                (a.d_width, b.d_width, 1e-12),
                (a.d_middle_middle, b.d_middle_middle, 1e-7),
                (a.d_middle_width, b.d_middle_width, 1e-7),
                (a.d_width_width, b.d_width_width, 1e-9),
            ];
            for (k, (p, q, allowed)) in pairs.into_iter().enumerate() {
                assert!((p - q).abs() <= allowed * (1.0 + q.abs()), "{m} {k}: {p} {q}");
            }
        }
    }

    #[test]
    fn far_strips_stay_finite() {
        for m in [-1e8, -60.0, 0.0, 60.0, 1e8] {
            for w in [1e-12, 1e-3, 1.0, 50.0, 1e8] {
                let s = Strip::at(m, w);
                let all = [s.ln_probability, s.d_middle, s.d_width, s.d_middle_middle, s.d_width_width];
                assert!(all.iter().all(|v| v.is_finite()), "{m} {w}");
            }
        }
    }
}
