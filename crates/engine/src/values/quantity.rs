//! Quantities: a number, and a unit if it is not the usual one.

use groundwall::resistance::{CellFault, CellRules, Measured, TimedReading, read_decimal};
use groundwall::steps::Step;
use groundwall::units::{
    ActivationTemperature, Confidence, Elapsed, OutOfRange, RelativeHumidity, Resistance, Temperature,
    TemperatureDifference, Voltage,
};

/// Least and greatest halving interval, kelvins.
const HALVING_K: (f64, f64) = (4.0, 100.0);

/// A number followed by one of the units, or bare.
fn number<'u>(text: &str, units: &[&'u str]) -> Result<(f64, Option<&'u str>), String> {
    let lower = text.trim().replace('−', "-").to_lowercase();
    let unit = units.iter().filter(|unit| lower.ends_with(**unit)).max_by_key(|unit| unit.len()).copied();
    let bare = unit.map_or(lower.as_str(), |unit| lower[..lower.len() - unit.len()].trim_end());
    match read_decimal(bare, false) {
        Ok(number) => Ok((number, unit)),
        Err(CellFault::CommaWithoutOption) => Err("the decimal mark here is the point".to_owned()),
        Err(_) if units.is_empty() => Err("this is not a number".to_owned()),
        Err(_) => Err(format!("this is not a number in {}", units[0].to_uppercase())),
    }
}

fn quantity<Q>(text: &str, units: &[&str], from: impl Fn(f64) -> Result<Q, OutOfRange>) -> Result<Q, String> {
    from(number(text, units)?.0).map_err(|error| error.to_string())
}

/// A resistance by the grammar of a cell: `412`, `1.2 GΩ`, `850k`, `>1000`, `<0.1`, `0`, `OL`.
///
/// # Errors
///
/// The rule that the text breaks.
pub fn resistance(text: &str) -> Result<Measured, String> {
    match CellRules::default().read(&text.replace('−', "-")) {
        Ok(Some(value)) => Ok(value),
        Ok(None) => Err("there is no resistance; write megohms, such as 412 or >1000 or OL".to_owned()),
        Err(CellFault::CommaWithoutOption) => Err("the decimal mark here is the point, such as 0.85".to_owned()),
        Err(fault) => Err(format!("{}; {}", fault.rule(), fault.hint())),
    }
}

/// A resistance that is not a bound, such as a limit or a full scale.
///
/// # Errors
///
/// The rule that the text breaks.
pub fn plain_resistance(text: &str) -> Result<Resistance, String> {
    match resistance(text)? {
        Measured::Exact(value) => Ok(value),
        _ => Err("this must be a plain resistance greater than 0, such as 2000 or 2 GΩ".to_owned()),
    }
}

/// A temperature: `28`, `28 °C` or `82 °F`.
///
/// # Errors
///
/// The rule that the text breaks.
pub fn temperature(text: &str) -> Result<Temperature, String> {
    let (value, unit) = number(text, &["°c", "c", "°f", "f"])?;
    let taken = match unit {
        Some("°f" | "f") => Temperature::from_fahrenheit(value),
        _ => Temperature::from_celsius(value),
    };
    taken.map_err(|error| error.to_string())
}

/// A voltage: `500` or `500 V` or `6.6 kV`.
///
/// # Errors
///
/// The rule that the text breaks.
pub fn voltage(text: &str) -> Result<Voltage, String> {
    let (value, unit) = number(text, &["v", "kv"])?;
    Voltage::from_volts(if unit == Some("kv") { value * 1000.0 } else { value }).map_err(|error| error.to_string())
}

/// A relative humidity in percent.
///
/// # Errors
///
/// The rule that the text breaks.
pub fn humidity(text: &str) -> Result<RelativeHumidity, String> {
    quantity(text, &["%"], RelativeHumidity::from_percent)
}

/// A confidence as a fraction.
///
/// # Errors
///
/// The rule that the text breaks.
pub fn confidence(text: &str) -> Result<Confidence, String> {
    quantity(text, &[], Confidence::from_fraction)
}

/// A halving interval in kelvins.
///
/// # Errors
///
/// The rule that the text breaks.
pub fn halving(text: &str) -> Result<TemperatureDifference, String> {
    let (value, _) = number(text, &["k"])?;
    let (least, greatest) = HALVING_K;
    let outside = || format!("{value} K is outside what a halving interval can be: {least} to {greatest} K");
    if !(least..=greatest).contains(&value) {
        return Err(outside());
    }
    TemperatureDifference::from_kelvins(value).map_err(|_| outside())
}

/// An activation temperature in kelvins.
///
/// # Errors
///
/// The rule that the text breaks.
pub fn activation(text: &str) -> Result<ActivationTemperature, String> {
    quantity(text, &["k"], ActivationTemperature::from_kelvins)
}

/// An elapsed test time with its unit: `30s`, `10min`.
///
/// # Errors
///
/// The rule that the text breaks.
fn elapsed(text: &str) -> Result<Elapsed, String> {
    let rule = "a time is seconds or minutes with the unit, such as 30s or 10min";
    match number(text, &["s", "min"]) {
        Ok((value, Some("min"))) => Elapsed::from_seconds(value * 60.0).map_err(|error| error.to_string()),
        Ok((value, Some(_))) => Elapsed::from_seconds(value).map_err(|error| error.to_string()),
        _ => Err(rule.to_owned()),
    }
}

/// A timed reading: `30s=310`, `10min=>2 GΩ`.
///
/// # Errors
///
/// The rule that the text breaks.
fn timed_reading(text: &str) -> Result<TimedReading, String> {
    let Some((time, value)) = text.split_once('=') else {
        return Err("a timed reading is time=resistance, such as 60s=420 or 10min=980".to_owned());
    };
    Ok(TimedReading { elapsed: elapsed(time)?, value: resistance(value)? })
}

/// What `ratios` takes: a timed reading, or one step of a test at several voltages.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Reading {
    /// After a time.
    Timed(TimedReading),
    /// At a voltage.
    Step(Step),
}

/// A timed reading such as `60s=420`, or a step such as `500V=900`.
///
/// # Errors
///
/// The rule that the text breaks.
pub fn reading(text: &str) -> Result<Reading, String> {
    let step = text.split_once('=').and_then(|(at, value)| {
        let at = at.trim();
        let (digits, times) = match at.strip_suffix("kV") {
            Some(digits) => (digits, 1000.0),
            None => (at.strip_suffix(['V', 'v'])?, 1.0),
        };
        Some((digits.trim().parse::<f64>().ok()? * times, value))
    });
    match step {
        Some((volts, value)) => {
            let volts = Voltage::from_volts(volts).map_err(|error| error.to_string())?;
            Ok(Reading::Step(Step { volts, read: resistance(value)? }))
        }
        None => timed_reading(text).map(Reading::Timed),
    }
}

/// A number greater than nought.
///
/// # Errors
///
/// The rule that the text breaks.
pub fn positive(text: &str) -> Result<f64, String> {
    let number = text.trim().parse::<f64>().ok().filter(|number| number.is_finite() && *number > 0.0);
    number.ok_or_else(|| "this is a number greater than 0".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_timed_reading_is_a_time_and_a_cell() {
        let read = |text| timed_reading(text).map(|r| format!("{} {}", r.elapsed, r.value));
        for (text, expected) in [
            ("30s=310", "30 s 310 MΩ"),
            ("10min=1.2 GΩ", "600 s 1.2 GΩ"),
            ("1 min = >2G", "60 s > 2 GΩ"),
            ("60s=OL", "60 s over range"),
        ] {
            assert_eq!(read(text), Ok(expected.to_owned()), "{text}");
        }
        for (text, message) in [
            ("310", "a timed reading is time=resistance, such as 60s=420 or 10min=980"),
            ("60=310", "a time is seconds or minutes with the unit, such as 30s or 10min"),
            ("3h=310", "a time is seconds or minutes with the unit, such as 30s or 10min"),
            ("0s=310", "0 s is outside what an elapsed test time can be: 1 to 7200 s"),
            ("60s=3,1", "the decimal mark here is the point, such as 0.85"),
            ("60s=", "there is no resistance; write megohms, such as 412 or >1000 or OL"),
            (
                "60s=-4",
                "a resistance must be greater than 0 MΩ; \
                 if the tester showed over-range, write `>` before the largest value it can show",
            ),
        ] {
            assert_eq!(read(text), Err(message.to_owned()), "{text}");
        }
    }

    #[test]
    fn a_temperature_names_its_scale_or_is_celsius() {
        let read = |text| temperature(text).map(|t| t.to_string());
        for (text, expected) in [("28", "28 °C"), ("−5 °C", "−5 °C"), ("-5C", "−5 °C"), ("82.4 °F", "28 °C")]
        {
            assert_eq!(read(text), Ok(expected.to_owned()), "{text}");
        }
        assert_eq!(read("700"), Err("700 °C is outside what a temperature can be: −60 to 250 °C".to_owned()));
        assert_eq!(read("warm"), Err("this is not a number in °C".to_owned()));
        assert_eq!(read("NaN"), Err("this is not a number in °C".to_owned()));
    }

    #[test]
    fn other_quantities_say_their_range() {
        assert_eq!(voltage("6.6 kV").map(|v| v.to_string()), Ok("6600 V".to_owned()));
        assert_eq!(voltage("0"), Err("0 V is outside what a voltage can be: 1 to 100000 V".to_owned()));
        assert_eq!(humidity("140"), Err("140 % is outside what a relative humidity can be: 0 to 100 %".to_owned()));
        assert_eq!(confidence("90"), Err("90 is outside what a confidence can be: 0.5 to 0.999".to_owned()));
        assert_eq!(halving("0"), Err("0 K is outside what a halving interval can be: 4 to 100 K".to_owned()));
        assert_eq!(
            activation("10"),
            Err("10 K is outside what an activation temperature can be: 500 to 20000 K".to_owned())
        );
        assert!(plain_resistance("OL").is_err() && plain_resistance("2 GΩ").is_ok());
    }
}
