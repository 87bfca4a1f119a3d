//! The readings with everything that depends on the readings alone worked out once: season, temperature and
//! uncertainty columns.

use std::f64::consts::TAU;

use super::priors::Priors;
use super::shapes::Span;
use super::stretch::{REFERENCE_TEMP_C, Reading, sign};

/// One reading, ready for regression.
#[derive(Clone, Copy, Debug)]
pub(super) struct Prepared {
    /// Years from the as-of date.
    pub(super) t: f64,
    /// log10 MΩ.
    pub(super) y: f64,
    /// 0 exact, +1 the truth is above, -1 below.
    pub(super) sign: f64,
    /// sin 2πt and cos 2πt.
    pub(super) season: [f64; 2],
    /// (T - 40 °C)/10 °C.
    pub(super) warmth: f64,
    /// Known extra variance, decades².
    pub(super) extra: f64,
}

impl Prepared {
    pub(super) fn exact(&self) -> bool {
        self.sign.abs() < 0.5
    }
}

/// sin 2πt and cos 2πt.
pub(super) fn season(t: f64) -> [f64; 2] {
    let (sin, cos) = libm::sincos(TAU * (t - t.floor()));
    [sin, cos]
}

/// (T - 40 °C)/10 °C.
pub(super) fn warmth(temp_c: f64) -> f64 {
    (temp_c - REFERENCE_TEMP_C) / 10.0
}

/// Fewer temperatures than this say nothing about their spread; it is then taken as 10 °C.
const LEAST_TEMPERATURES: usize = 3;

/// Prepares the readings. A reading without temperature gets the mean of the others, and the variance that this
/// ignorance brings through the law's error.
pub(super) fn prepare(readings: &[Reading], priors: &Priors, out: &mut Vec<Prepared>) {
    let known = || readings.iter().filter_map(|r| r.winding_temp_c);
    let count = known().count();
    #[cfg(test)]
    super::work::note(readings.len());
    let mut mean = 0.0;
    let mut ignorance = 0.0;
    if count < readings.len() {
        let mut variance = 1.0;
        if count > 0 {
            mean = known().map(warmth).sum::<f64>() / count as f64;
        }
        if count >= LEAST_TEMPERATURES {
            variance = known().map(|t| (warmth(t) - mean).powi(2)).sum::<f64>() / (count - 1) as f64;
        }
        ignorance = priors.temperature_sd().powi(2) * variance;
    }
    out.clear();
    out.extend(readings.iter().map(|r| Prepared {
        t: r.years_from_as_of,
        y: r.log10_mohm,
        sign: sign(r.bound),
        season: season(r.years_from_as_of),
        warmth: r.winding_temp_c.map_or(mean, warmth),
        extra: r.extra_variance + if r.winding_temp_c.is_none() { ignorance } else { 0.0 },
    }));
}

/// The span of prepared readings.
pub(super) fn span(readings: &[Prepared]) -> Span {
    match (readings.first(), readings.last()) {
        (Some(first), Some(last)) => Span::new(first.t, last.t),
        _ => Span::new(0.0, 0.0),
    }
}

/// Mean of the values.
pub(super) fn mean_level(readings: &[Prepared]) -> f64 {
    readings.iter().map(|r| r.y).sum::<f64>() / readings.len().max(1) as f64
}
