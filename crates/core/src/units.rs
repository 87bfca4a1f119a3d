//! Quantities with their unit, their limits and their name in messages.
//!
//! Each quantity is one line of the table at the end of this file: type, name, unit, least and greatest value.
//! What a message says and what the code enforces therefore cannot drift apart. A value inside a quantity is always
//! finite and inside its limits. Units are named at both doors, as in `Duration::from_secs` and `as_secs_f64`; nothing
//! converts to a bare number silently.
//!
//! # Examples
//!
//! A [`Temperature`] is a point on a scale and a [`TemperatureDifference`] a distance between two such points:
//!
//! ```
//! use groundwall::units::{Temperature, TemperatureDifference};
//! let (cool, warm) = (Temperature::from_celsius(20.0)?, Temperature::from_fahrenheit(104.0)?);
//! let rise: TemperatureDifference = warm - cool;
//! assert_eq!(rise.as_kelvins(), 20.0);
//! # Ok::<(), groundwall::units::OutOfRange>(())
//! ```
//!
//! Quantities do not mix, which the compiler sees to. Two points on a scale cannot be added:
//!
//! ```compile_fail,E0369
//! # use groundwall::units::Temperature;
//! let (a, b) = (Temperature::from_celsius(20.0).unwrap(), Temperature::from_celsius(40.0).unwrap());
//! let sum = a + b;
//! ```
//!
//! A distance is not a point, so a halving interval is never taken from a thermometer:
//!
//! ```compile_fail,E0308
//! # use groundwall::{temperature::TemperatureLaw, units::Temperature};
//! let law = TemperatureLaw::Halving(Temperature::from_celsius(10.0).unwrap());
//! ```
//!
//! A voltage is not a resistance, neither where one is wanted nor beside one:
//!
//! ```compile_fail,E0308
//! # use groundwall::{minimum::kilovolts_plus_one, units::Resistance};
//! let minimum = kilovolts_plus_one(Resistance::from_megohms(500.0).unwrap());
//! ```
//!
//! ```compile_fail,E0308
//! # use groundwall::units::{Resistance, Voltage};
//! let above = Resistance::from_megohms(500.0).unwrap() > Voltage::from_volts(500.0).unwrap();
//! ```
//!
//! A bare number is nothing yet:
//!
//! ```compile_fail,E0308
//! # use groundwall::resistance::Measured;
//! let read = Measured::Exact(412.0);
//! ```

use std::fmt;

/// A number that lies outside what its quantity allows.
///
/// # Examples
///
/// ```
/// use groundwall::units::Temperature;
/// let error = Temperature::from_celsius(700.0).unwrap_err();
/// assert_eq!(error.to_string(), "700 °C is outside what a temperature can be: −60 to 250 °C");
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OutOfRange {
    /// The quantity's name, with article: "a temperature".
    pub quantity: &'static str,
    /// Unit in which `value`, `least` and `greatest` are given.
    pub unit: &'static str,
    /// The value refused.
    pub value: f64,
    /// Least value allowed.
    pub least: f64,
    /// Greatest value allowed.
    pub greatest: f64,
}

impl fmt::Display for OutOfRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.value.is_nan() {
            return write!(f, "{} must be a number: {}", self.quantity, self.rule());
        }
        let gap = if self.unit.is_empty() { "" } else { " " };
        write!(f, "{}{gap}{} is outside what {} can be: {}", number(self.value), self.unit, self.quantity, self.rule())
    }
}

impl std::error::Error for OutOfRange {}

impl OutOfRange {
    /// The rule alone: "−60 to 250 °C".
    #[must_use]
    pub fn rule(&self) -> String {
        let gap = if self.unit.is_empty() { "" } else { " " };
        format!("{} to {}{gap}{}", number(self.least), number(self.greatest), self.unit)
    }
}

/// Writes a number as people read it: a true minus sign, no trailing zeros, text for what is not a number.
fn number(value: f64) -> String {
    if value.is_nan() {
        return "not a number".to_owned();
    }
    if value.is_infinite() {
        return if value > 0.0 { "infinity" } else { "minus infinity" }.to_owned();
    }
    let text = if value != 0.0 && (value.abs() >= 1e12 || value.abs() < 1e-6) {
        format!("{value:e}")
    } else {
        format!("{value}")
    };
    text.replace('-', "−")
}

macro_rules! quantities {
    ($($(#[$doc:meta])* $name:ident: $words:literal, $unit:literal, $from:ident, $as:ident, $least:expr, $greatest:expr;)*) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
        #[cfg_attr(feature = "serde", derive(serde::Serialize))]
        #[cfg_attr(feature = "serde", serde(transparent))]
        pub struct $name(f64);

        impl $name {
            /// Least value allowed.
            pub const LEAST: $name = $name($least);
            /// Greatest value allowed.
            pub const GREATEST: $name = $name($greatest);

            #[doc = concat!("Takes a value in ", $unit, ".")]
            ///
            /// # Errors
            ///
            /// [`OutOfRange`] when the value is not a number or outside [`Self::LEAST`] to [`Self::GREATEST`].
            pub fn $from(value: f64) -> Result<Self, OutOfRange> {
                if ($least..=$greatest).contains(&value) {
                    Ok(Self(value))
                } else {
                    Err(OutOfRange { quantity: $words, unit: $unit, value, least: $least, greatest: $greatest })
                }
            }

            #[doc = concat!("The value in ", $unit, ".")]
            #[must_use]
            pub const fn $as(self) -> f64 {
                self.0
            }
        }
    )*};
}

quantities! {
    /// An insulation resistance, in megohms; always greater than zero.
    ///
    /// Whether it is exact or a bound is said by [`Measured`](crate::resistance::Measured), never by a special number.
    Resistance: "a resistance", "MΩ", from_megohms, as_megohms, 1e-6, 1e8;
    /// A temperature: a point on the Celsius scale.
    Temperature: "a temperature", "°C", from_celsius, as_celsius, -60.0, 250.0;
    /// A distance between two temperatures, in kelvins.
    TemperatureDifference: "a temperature difference", "K", from_kelvins, as_kelvins, -310.0, 310.0;
    /// The activation energy of a conduction over Boltzmann's constant, in kelvins: how steeply a resistance falls with temperature.
    ActivationTemperature: "an activation temperature", "K", from_kelvins, as_kelvins, 500.0, 20_000.0;
    /// A direct voltage, or the rated voltage of a winding.
    Voltage: "a voltage", "V", from_volts, as_volts, 1.0, 100_000.0;
    /// Rated power of a machine.
    Power: "a rated power", "kW", from_kilowatts, as_kilowatts, 0.001, 2_000_000.0;
    /// Time since the voltage was applied.
    Elapsed: "an elapsed test time", "s", from_seconds, as_seconds, 1.0, 7200.0;
    /// How long a winding was discharged to earth after a test.
    DischargeTime: "a discharge time", "min", from_minutes, as_minutes, 0.0, 100_000.0;
    /// How long a machine had stood still before a test.
    StandingTime: "a standing time", "h", from_hours, as_hours, 0.0, 1_000_000.0;
    /// The charge that insulation gives back one minute after a long test, by voltage and capacitance: mA/(V·F).
    DielectricDischarge: "a dielectric discharge", "", from_ratio, as_ratio, 0.0, 10_000.0;
    /// Relative humidity of the air at the test.
    RelativeHumidity: "a relative humidity", "%", from_percent, as_percent, 0.0, 100.0;
    /// Confidence of an interval: 0.9 means that nine of ten such intervals hold the truth.
    Confidence: "a confidence", "", from_fraction, as_fraction, 0.5, 0.999;
    /// A probability.
    Probability: "a probability", "", from_fraction, as_fraction, 0.0, 1.0;
    /// Time from the as-of date in years of 365.25 days; the past is negative. Forecasts end 30 years ahead.
    Years: "a time from the as-of date", "years", from_years, as_years, -200.0, 30.0;
    /// A difference between two values of log10 resistance: one decade is a factor of ten.
    Decades: "a number of decades", "decades", from_decades, as_decades, -30.0, 30.0;
    /// Change of log10 resistance per year; negative is a decline.
    Slope: "a slope", "decades/year", from_decades_per_year, as_decades_per_year, -1000.0, 1000.0;
}

macro_rules! clamped {
    ($($name:ident)*) => {$(
        impl $name {
            /// The nearest value inside the limits; the least where the value is not a number. For computed values.
            pub(crate) const fn clamped(value: f64) -> Self {
                if value.is_nan() { Self::LEAST } else { Self(value.clamp(Self::LEAST.0, Self::GREATEST.0)) }
            }
        }
    )*};
}

clamped! { Years Decades Slope }

impl Probability {
    /// The probability of something bad, as computed. What cannot be worked out counts as certain: nothing unknown makes an
    /// answer milder.
    pub(crate) const fn of_harm(value: f64) -> Self {
        if value.is_nan() { Self::GREATEST } else { Self(value.clamp(0.0, 1.0)) }
    }

    /// The probability in words with a scale, for people who do not count in per cent.
    ///
    /// # Examples
    ///
    /// ```
    /// use groundwall::units::Probability;
    /// assert_eq!(Probability::from_fraction(0.711)?.describe(), "likely, about 7 in 10");
    /// assert_eq!(Probability::from_fraction(0.0)?.describe(), "very unlikely, under 1 in 100");
    /// assert_eq!(Probability::from_fraction(1.0)?.describe(), "almost certain, over 99 in 100");
    /// # Ok::<(), groundwall::units::OutOfRange>(())
    /// ```
    #[must_use]
    pub fn describe(self) -> String {
        let tenths = (10.0 * self.0).round();
        match self.0 {
            p if p < 0.01 => "very unlikely, under 1 in 100".to_owned(),
            p if p < 0.05 => "unlikely, under 1 in 20".to_owned(),
            p if p < 0.15 => "unlikely, about 1 in 10".to_owned(),
            p if p < 0.45 => format!("possible, about {tenths} in 10"),
            p if p < 0.55 => "as likely as not, about 5 in 10".to_owned(),
            p if p < 0.85 => format!("likely, about {tenths} in 10"),
            p if p < 0.95 => "very likely, about 9 in 10".to_owned(),
            p if p < 0.99 => "almost certain, over 19 in 20".to_owned(),
            _ => "almost certain, over 99 in 100".to_owned(),
        }
    }
}

impl Resistance {
    /// log10 of the resistance in megohms: the scale on which trends are fitted.
    #[must_use]
    pub fn log10_megohms(self) -> f64 {
        libm::log10(self.0)
    }

    /// The resistance of so many megohms, clamped to the limits of the quantity; for constants and computed limits.
    #[must_use]
    pub fn from_megohms_clamped(megohms: f64) -> Self {
        Self(if megohms.is_nan() { Self::LEAST.0 } else { megohms.clamp(Self::LEAST.0, Self::GREATEST.0) })
    }

    /// The resistance whose log10 in megohms is given, clamped to the limits of the quantity.
    #[must_use]
    pub fn from_log10_megohms(log10: f64) -> Self {
        let value = if log10.is_nan() { 0.0 } else { libm::exp10(log10) };
        Self(value.clamp(Self::LEAST.0, Self::GREATEST.0))
    }

    /// The resistance times a positive factor, clamped to the limits of the quantity.
    #[must_use]
    pub fn scaled(self, factor: f64) -> Self {
        let value = self.0 * factor;
        Self(if value.is_nan() { self.0 } else { value.clamp(Self::LEAST.0, Self::GREATEST.0) })
    }
}

impl Temperature {
    /// Takes a temperature on the Fahrenheit scale.
    ///
    /// # Formula
    ///
    /// t(°C) = (t(°F) − 32) · 5/9
    ///
    /// # Errors
    ///
    /// [`OutOfRange`], in °C, as for [`Temperature::from_celsius`].
    ///
    /// # Examples
    ///
    /// ```
    /// use groundwall::units::Temperature;
    /// assert_eq!(Temperature::from_fahrenheit(104.0)?, Temperature::from_celsius(40.0)?);
    /// # Ok::<(), groundwall::units::OutOfRange>(())
    /// ```
    pub fn from_fahrenheit(value: f64) -> Result<Self, OutOfRange> {
        Self::from_celsius((value - 32.0) * 5.0 / 9.0)
    }
}

impl std::ops::Sub for Temperature {
    type Output = TemperatureDifference;

    fn sub(self, other: Self) -> TemperatureDifference {
        TemperatureDifference(self.0 - other.0)
    }
}

impl fmt::Display for Resistance {
    /// Three significant digits with the prefix an engineer would choose: `850 kΩ`, `171 MΩ`, `2.4 GΩ`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (value, unit) = match self.0 {
            m if m >= 999_500.0 => (m / 1e6, "TΩ"),
            m if m >= 999.5 => (m / 1e3, "GΩ"),
            m if m >= 0.0999_5 => (m, "MΩ"),
            m if m >= 0.000_999_5 => (m * 1e3, "kΩ"),
            m => (m * 1e6, "Ω"),
        };
        write!(f, "{} {unit}", three_digits(value))
    }
}

impl Confidence {
    /// How often a range with this confidence holds, without per cent: "9 in 10".
    ///
    /// # Examples
    ///
    /// ```
    /// use groundwall::units::Confidence;
    /// let words = |fraction| Confidence::from_fraction(fraction).map(Confidence::in_words);
    /// assert_eq!(words(0.9)?, "9 in 10");
    /// assert_eq!(words(0.95)?, "19 in 20");
    /// assert_eq!(words(0.975)?, "975 in 1000");
    /// # Ok::<(), groundwall::units::OutOfRange>(())
    /// ```
    #[must_use]
    pub fn in_words(self) -> String {
        let share = |of: f64| (self.0 * of, of);
        let whole = |(count, _): &(f64, f64)| (count - count.round()).abs() < 1e-6;
        let (count, of) = [10.0, 20.0, 100.0].map(share).into_iter().find(whole).unwrap_or_else(|| share(1000.0));
        format!("{} in {of}", count.round())
    }
}

/// A number rounded to three significant digits, without trailing zeros after the point.
///
/// # Examples
///
/// ```
/// use groundwall::units::three_digits;
/// assert_eq!([0.012345, 2.5, 1234.4].map(three_digits), ["0.0123", "2.5", "1234"]);
/// ```
#[must_use]
pub fn three_digits(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return number(value);
    }
    let before_point = libm::log10(value.abs()).floor() as i32 + 1;
    let decimals = (3 - before_point).max(0) as usize;
    let text = format!("{value:.decimals$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    text.replace('-', "−")
}

macro_rules! display_plain {
    ($($name:ident $unit:literal;)*) => {$(
        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                let rounded = (self.0 * 10.0).round() / 10.0;
                write!(f, "{}{}", number(rounded + 0.0), $unit)
            }
        }
    )*};
}

display_plain! {
    Temperature " °C";
    TemperatureDifference " K";
    ActivationTemperature " K";
    Voltage " V";
    Power " kW";
    Elapsed " s";
    RelativeHumidity " %";
    Years " years";
}

impl fmt::Display for Confidence {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} %", number((self.0 * 1000.0).round() / 10.0))
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]
mod tests {
    use super::*;

    #[test]
    fn limits_are_inclusive_and_not_a_number_is_refused() {
        assert!(Temperature::from_celsius(-60.0).is_ok());
        assert!(Temperature::from_celsius(250.1).is_err());
        assert_eq!(
            Resistance::from_megohms(f64::NAN).unwrap_err().to_string(),
            "a resistance must be a number: 0.000001 to 100000000 MΩ"
        );
    }

    #[test]
    fn resistance_is_printed_with_three_digits_and_a_fitting_prefix() {
        for (megohms, text) in [
            (0.000_5, "500 Ω"),
            (0.05, "50 kΩ"),
            (0.5, "0.5 MΩ"),
            (4.996, "5 MΩ"),
            (171.7, "172 MΩ"),
            (999.6, "1 GΩ"),
            (2400.0, "2.4 GΩ"),
            (150_000.0, "150 GΩ"),
        ] {
            assert_eq!(Resistance::from_megohms(megohms).unwrap().to_string(), text);
        }
    }

    #[test]
    fn differences_of_temperatures_are_differences() {
        let a = Temperature::from_celsius(40.0).unwrap();
        let b = Temperature::from_fahrenheit(50.0).unwrap();
        assert_eq!((a - b).to_string(), "30 K");
    }
}
