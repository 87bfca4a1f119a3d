//! Dew point of the air and whether a winding was damp.
//!
//! # References
//!
//! WMO-No. 8, Annex 4.B: saturation vapour pressure over water, −45 to 60 °C (range from memory). The enhancement factor
//! for pressure cancels between vapour and saturation pressure and is left out.

use crate::units::{RelativeHumidity, Temperature, TemperatureDifference};

const A: f64 = 17.62;
const B_C: f64 = 243.12;
/// Least humidity used: at 0 % there is no dew point.
const DRIEST_PERCENT: f64 = 0.1;

/// Dew point of air.
///
/// # Formula
///
/// γ = ln(RH/100) + 17.62·t/(243.12 + t); t_d = 243.12·γ/(17.62 − γ)
///
/// # Units
///
/// °C and % in, °C out.
///
/// # Validity
///
/// −45 to 60 °C over water. Air drier than 0.1 % is taken as 0.1 %.
///
/// # Examples
///
/// ```
/// use groundwall::{moisture::dew_point, units::{RelativeHumidity, Temperature}};
/// let t = dew_point(Temperature::from_celsius(25.0)?, RelativeHumidity::from_percent(60.0)?);
/// assert!((t.as_celsius() - 16.69).abs() < 0.02);
/// # Ok::<(), groundwall::units::OutOfRange>(())
/// ```
#[must_use]
pub fn dew_point(air: Temperature, humidity: RelativeHumidity) -> Temperature {
    let t = air.as_celsius();
    let gamma = libm::log(humidity.as_percent().max(DRIEST_PERCENT) / 100.0) + A * t / (B_C + t);
    let dew = B_C * gamma / (A - gamma);
    Temperature::from_celsius(dew.clamp(Temperature::LEAST.as_celsius(), Temperature::GREATEST.as_celsius()))
        .unwrap_or(air)
}

/// How far a winding is above the dew point; damp when that is within the margin.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DampCheck {
    /// Dew point of the air.
    pub dew_point: Temperature,
    /// Winding less dew point; negative below it.
    pub above_dew_point: TemperatureDifference,
    /// Whether that is within the margin.
    pub damp: bool,
}

/// Compares a winding with the dew point of the air about it.
///
/// # Formula
///
/// damp where T(winding) − t_d ≤ margin, t_d by [`dew_point`].
///
/// # Validity
///
/// As [`dew_point`]; temperatures of winding and air taken at the same time and place.
///
/// # Examples
///
/// Air of 20 °C and 90 % has a dew point of 18.3 °C; a winding at 21 °C is 2.7 K above it.
///
/// ```
/// use groundwall::moisture::damp_check;
/// use groundwall::units::{RelativeHumidity, Temperature, TemperatureDifference};
/// let (winding, air) = (Temperature::from_celsius(21.0)?, Temperature::from_celsius(20.0)?);
/// let margin = TemperatureDifference::from_kelvins(3.0)?;
/// let check = damp_check(winding, air, RelativeHumidity::from_percent(90.0)?, margin);
/// assert!(check.damp);
/// assert_eq!(check.dew_point.to_string(), "18.3 °C");
/// # Ok::<(), groundwall::units::OutOfRange>(())
/// ```
///
/// # References
///
/// IEEE Std 43 cl. 6.2 (from memory): test above the dew point. The margin is common practice.
#[must_use]
pub fn damp_check(
    winding: Temperature,
    air: Temperature,
    humidity: RelativeHumidity,
    margin: TemperatureDifference,
) -> DampCheck {
    let dew_point = dew_point(air, humidity);
    let above_dew_point = winding - dew_point;
    DampCheck { dew_point, above_dew_point, damp: above_dew_point.as_kelvins() <= margin.as_kelvins() }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]
mod tests {
    use super::*;

    #[test]
    fn a_winding_at_the_margin_counts_as_damp() {
        let air = Temperature::from_celsius(20.0).unwrap();
        let humidity = RelativeHumidity::from_percent(100.0).unwrap();
        let margin = TemperatureDifference::from_kelvins(3.0).unwrap();
        let check = |winding: f64| damp_check(Temperature::from_celsius(winding).unwrap(), air, humidity, margin).damp;
        assert!(check(22.9));
        assert!(!check(23.1));
    }

    #[test]
    fn no_humidity_breaks_it() {
        for percent in [0.0, 0.05, 100.0] {
            let humidity = RelativeHumidity::from_percent(percent).unwrap();
            for t in [-60.0, 0.0, 250.0] {
                assert!(dew_point(Temperature::from_celsius(t).unwrap(), humidity).as_celsius().is_finite());
            }
        }
    }
}
