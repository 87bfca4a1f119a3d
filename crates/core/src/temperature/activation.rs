//! The law of an activation energy: log R is a line in the inverse of the absolute temperature.
//!
//! Thermosetting insulation has two branches that meet at 40 °C, where the slope jumps by 4230/1245 = 3.4.
//!
//! # References
//!
//! IEEE Std 43-2013 cl. 6.3: coefficients, ranges and the rounded 273 and 313 K, all from memory.

use crate::units::{ActivationTemperature, Temperature};
use std::f64::consts::LN_10;

const ZERO_CELSIUS_K: f64 = 273.0;
const REFERENCE_K: f64 = 313.0;
const REFERENCE_C: f64 = 40.0;
/// Activation temperature from 40 to 85 °C, K.
const UPPER_BRANCH_K: f64 = 4230.0;
/// Activation temperature from 10 to 40 °C, K.
const LOWER_BRANCH_K: f64 = 1245.0;
const RANGE_FROM_C: f64 = 10.0;
const RANGE_TO_C: f64 = 85.0;

/// log10 of the factor that brings a reading at `at` to 40 °C, for one activation temperature.
///
/// # Formula
///
/// K = exp[−B·(1/(T + 273) − 1/313)]
///
/// # Units
///
/// Decades.
///
/// # Examples
///
/// ```
/// use groundwall::{temperature::activation::log10_factor_to_40, units::{ActivationTemperature, Temperature}};
/// let activation = ActivationTemperature::from_kelvins(4230.0)?;
/// let factor = 10f64.powf(log10_factor_to_40(Temperature::from_celsius(60.0)?, activation));
/// assert!((factor - 2.252).abs() < 1e-3); // exp(−4230·(1/333 − 1/313))
/// # Ok::<(), groundwall::units::OutOfRange>(())
/// ```
#[must_use]
pub fn log10_factor_to_40(at: Temperature, activation: ActivationTemperature) -> f64 {
    log10_by_kelvins(at, activation.as_kelvins())
}

fn log10_by_kelvins(at: Temperature, kelvins: f64) -> f64 {
    -kelvins * (1.0 / (at.as_celsius() + ZERO_CELSIUS_K) - 1.0 / REFERENCE_K) / LN_10
}

/// The same for the two branches of thermosetting insulation: 1245 K below 40 °C, 4230 K from there.
///
/// # Validity
///
/// 10 to 85 °C; beyond, the nearer branch is carried on.
///
/// # Examples
///
/// ```
/// use groundwall::{temperature::activation::log10_thermosetting_to_40, units::Temperature};
/// let factor = |celsius| Ok(10f64.powf(log10_thermosetting_to_40(Temperature::from_celsius(celsius)?)));
/// assert!((factor(10.0)? - 0.656).abs() < 1e-3); // exp(−1245·(1/283 − 1/313))
/// assert!((factor(60.0)? - 2.252).abs() < 1e-3); // exp(−4230·(1/333 − 1/313))
/// # Ok::<(), groundwall::units::OutOfRange>(())
/// ```
///
/// # References
///
/// IEEE Std 43-2013 cl. 6.3, from memory.
#[must_use]
pub fn log10_thermosetting_to_40(at: Temperature) -> f64 {
    let branch = if at.as_celsius() < REFERENCE_C { LOWER_BRANCH_K } else { UPPER_BRANCH_K };
    log10_by_kelvins(at, branch)
}

/// The range of the two branches: 10 to 85 °C.
#[must_use]
pub(super) fn range() -> (Temperature, Temperature) {
    let at = |celsius| Temperature::from_celsius(celsius).unwrap_or(Temperature::LEAST);
    (at(RANGE_FROM_C), at(RANGE_TO_C))
}
