//! The law that halves the resistance with every so many kelvins.
//!
//! # References
//!
//! IEEE Std 43-2000 cl. 6.3: 10 K for thermoplastic insulation. MIL-M-17413A: 15 K for direct-current machines.

use crate::units::{Temperature, TemperatureDifference};
use std::f64::consts::LOG10_2;

const REFERENCE_C: f64 = 40.0;

/// log10 of the factor that brings a reading at `at` to 40 °C.
///
/// # Formula
///
/// log10 K = (T − 40)·log10(2)/interval; 0 for an interval of 0.
///
/// # Examples
///
/// Ten kelvins below 40 °C a reading is twice that at 40 °C, so it is halved.
///
/// ```
/// use groundwall::temperature::halving::log10_factor_to_40;
/// use groundwall::units::{Temperature, TemperatureDifference};
/// let log10 = log10_factor_to_40(Temperature::from_celsius(30.0)?, TemperatureDifference::from_kelvins(10.0)?);
/// assert!((10f64.powf(log10) - 0.5).abs() < 1e-12);
/// # Ok::<(), groundwall::units::OutOfRange>(())
/// ```
#[must_use]
pub fn log10_factor_to_40(at: Temperature, interval: TemperatureDifference) -> f64 {
    let per = interval.as_kelvins();
    if per == 0.0 { 0.0 } else { (at.as_celsius() - REFERENCE_C) * LOG10_2 / per }
}
