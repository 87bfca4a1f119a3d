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
/// log10 K = (T − 40)·log10(2)/interval
#[must_use]
pub fn log10_factor_to_40(at: Temperature, interval: TemperatureDifference) -> f64 {
    let per = interval.as_kelvins();
    if per == 0.0 { 0.0 } else { (at.as_celsius() - REFERENCE_C) * LOG10_2 / per }
}
