//! A solved model, and the models that can matter: what has turned out too light is dropped before anything is worked out from it.

use super::noise::{COLUMNS, NoiseKind};
use super::shapes::Shape;

/// Models with less than this share of the largest weight are dropped (Hoeting et al. 1999).
pub(super) const LEAST_SHARE: f64 = 1e-3;
/// A difference of logarithms beyond which a sum stays what it is.
const NOTHING: f64 = -30.0;

/// One solved model.
#[derive(Clone, Copy, Debug)]
pub(super) struct Model {
    pub(super) kind: NoiseKind,
    pub(super) shape: Shape,
    /// Whether the latest readings of a fall stand on a step of their own; the other opinion is that the decline sped up.
    pub(super) stepped: bool,
    /// Which prior scale of slope and of temperature.
    pub(super) slope_scale: u8,
    pub(super) temperature_scale: u8,
    /// ln of marginal likelihood and prior weight, without the weight of the noise kind.
    pub(super) ln_weight: f64,
    /// Its weight in the average; 0 until there is one.
    pub(super) weight: f64,
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

/// ln Σ exp, taken in one at a time.
pub(super) struct Evidence {
    highest: f64,
    /// Sum relative to the highest.
    sum: f64,
}

impl Default for Evidence {
    fn default() -> Self {
        Self { highest: f64::NEG_INFINITY, sum: 0.0 }
    }
}

impl Evidence {
    pub(super) fn take(&mut self, ln: f64) {
        let above = ln - self.highest;
        if above > 0.0 {
            self.sum = 1.0 + if -above > NOTHING { self.sum * libm::exp(-above) } else { 0.0 };
            self.highest = ln;
        } else if above > NOTHING {
            self.sum += libm::exp(above);
        }
    }

    /// Whether it would stay what it is.
    pub(super) fn is_negligible(&self, ln: f64) -> bool {
        ln < self.highest + NOTHING
    }

    pub(super) fn ln(&self) -> f64 {
        self.highest + libm::log(self.sum.max(1.0))
    }
}

/// The models kept so far, and the evidence of the kind of noise at hand.
pub(super) struct Kept {
    pub(super) models: Vec<Model>,
    pub(super) evidence: Evidence,
}

impl Kept {
    /// Room for so many at once.
    pub(super) fn with_capacity(models: usize) -> Self {
        Self { models: Vec::with_capacity(models), evidence: Evidence::default() }
    }

    /// Least ln weight that can matter, whatever the weights of the kinds turn out to be.
    pub(super) fn least(&self) -> f64 {
        self.evidence.highest + libm::log(LEAST_SHARE)
    }

    /// Drops what has turned out too light among the models from `first` on.
    pub(super) fn drop_light(&mut self, first: usize) {
        let least = self.least();
        let mut place = 0;
        self.models.retain(|m| {
            place += 1;
            place <= first || m.ln_weight >= least
        });
    }
}
