//! What is believed before the readings are seen: defaults for a lone winding, learnt values in a fleet.

/// Prior standard deviation of the level around the mean of the exact readings, decades.
pub(super) const LEVEL_SD: f64 = 3.0;
/// The same when at most one reading is exact.
pub(super) const LEVEL_SD_FEW: f64 = 1.0;
/// With no exact reading the level is put this far above the highest bound, decades.
pub(super) const LEVEL_ABOVE_BOUNDS: f64 = 0.5;
/// Prior standard deviations of what the temperature law got wrong, decades per 10 °C: law right, or wrong by what is common
/// among windings of one kind of insulation (spike and slab, George & McCulloch 1993). Wider, it explains falls away.
pub(super) const TEMPERATURE_SDS: [f64; 2] = [0.03, 0.1];
/// Prior standard deviation of the step of a recent fall, decades.
pub(super) const STEP_SD: f64 = 1.0;
/// Share of outliers.
pub(super) const OUTLIER_SHARE: f64 = 0.05;
/// Extra standard deviation of an outlier, decades.
pub(super) const OUTLIER_SD: f64 = 0.5;
/// Least span in years over which a mean slope is defined.
pub(super) const LEAST_SPAN_YEARS: f64 = 0.5;
/// Pseudo-series that hold every learnt value to its default (Efron & Morris 1975).
pub(super) const PSEUDO_SERIES: f64 = 20.0;
/// Fewer series than this teach nothing.
pub(super) const LEAST_SERIES: usize = 5;
/// Series with fewer readings are excluded from training: outliers cannot be identified.
pub(super) const LEAST_READINGS: usize = 5;
/// Series with fewer exact readings are excluded from training.
pub(super) const LEAST_EXACT: usize = 4;

/// Priors of one group of similar windings.
///
/// # Units
/// Decades of resistance (log10), years, and 10 °C.
///
/// # References
/// Efron & Morris 1975; Smyth 2004; George & McCulloch 1993.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Priors {
    /// Usual scatter of repeated tests, decades.
    pub scatter: f64,
    /// How firmly the usual scatter is believed, as degrees of freedom.
    pub scatter_df: f64,
    /// Standard deviation of either seasonal coefficient, decades.
    pub season_sd: f64,
    /// Prior weight of "the temperature law is wrong"; the other weight is "it is right".
    pub law_wrong_weight: f64,
    /// Mean slope, decades per year.
    pub slope_mean: f64,
    /// Standard deviations of the slope, narrow and wide, decades per year.
    pub slope_sds: [f64; 2],
    /// Weights of the two; they add up to 1.
    pub slope_weights: [f64; 2],
    /// Number of series these values were learnt from; 0 for the defaults.
    pub learnt_from: usize,
}

impl Default for Priors {
    fn default() -> Self {
        Self {
            scatter: 0.09,
            scatter_df: 4.0,
            season_sd: 0.12,
            law_wrong_weight: 0.5,
            slope_mean: -0.12,
            slope_sds: [0.08, 0.35],
            slope_weights: [0.5, 0.5],
            learnt_from: 0,
        }
    }
}

impl Priors {
    /// Standard deviation of the slope over both scales, decades per year.
    pub(super) fn slope_sd(&self) -> f64 {
        (self.slope_weights[0] * self.slope_sds[0].powi(2) + self.slope_weights[1] * self.slope_sds[1].powi(2)).sqrt()
    }

    /// Weights of the two temperature scales.
    pub(super) fn temperature_weights(&self) -> [f64; 2] {
        [1.0 - self.law_wrong_weight, self.law_wrong_weight]
    }

    /// Standard deviation of the law's error over both scales, decades per 10 °C.
    pub(super) fn temperature_sd(&self) -> f64 {
        let w = self.temperature_weights();
        (w[0] * TEMPERATURE_SDS[0].powi(2) + w[1] * TEMPERATURE_SDS[1].powi(2)).sqrt()
    }
}

/// Weights of the three kinds of noise; they add up to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NoiseWeights(pub [f64; 3]);

impl Default for NoiseWeights {
    fn default() -> Self {
        Self([0.44, 0.11, 0.45])
    }
}
