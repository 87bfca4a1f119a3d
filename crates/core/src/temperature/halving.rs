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

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]
mod tests {
    use super::*;

    /// IEEE Std 43-2000 cl. 6.3: K = 0.5^((40 − T)/10), so 2 at 50 °C, 1 at 40 °C and 1/4 at 20 °C.
    #[test]
    fn the_factor_to_forty_degrees_doubles_every_interval() {
        let ten = TemperatureDifference::from_kelvins(10.0).unwrap();
        for (celsius, factor) in [(50.0, 2.0), (40.0, 1.0), (20.0, 0.25)] {
            let found = 10f64.powf(log10_factor_to_40(Temperature::from_celsius(celsius).unwrap(), ten));
            assert!((found - factor).abs() < 1e-12, "{celsius} °C: {found}");
        }
    }
}
