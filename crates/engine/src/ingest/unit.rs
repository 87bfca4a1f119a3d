//! Units of measure as sheets write them.

use groundwall::record::columns::TemperatureScale;
use groundwall::resistance::ResistanceUnit;

/// A unit of measure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// Of a resistance.
    Ohms(ResistanceUnit),
    /// Of a temperature.
    Degrees(TemperatureScale),
    /// Of a voltage.
    Volts,
    /// Of relative humidity.
    Percent,
    /// Of something that is not a part of a test.
    Other,
}

/// Units of quantities that are no part of a test.
const OTHERS: [&str; 37] = [
    "µa", "ua", "kv", "a", "amp", "amps", "ma", "hz", "rpm", "mm/s", "in/s", "ips", "um", "µm", "mil", "mils", "bar",
    "psi", "kpa", "kw", "kwh", "kva", "h", "hr", "hrs", "hours", "nf", "uf", "µf", "pf", "db", "l/min", "m3/h", "pc",
    "ppm", "km", "miles",
];

impl Unit {
    /// Reads a unit; `None` where it is not understood. A small `m` before ohm could be milli or mega and is not.
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        let text = text.trim().trim_matches(['(', ')', '[', ']']).trim_end_matches('.');
        let lower = text.to_lowercase().replace(['°', 'º'], "deg").replace([' ', '.', '-'], "");
        if let Some(unit) = ResistanceUnit::read(&text.replace(['-', '.'], "")) {
            return Some(Self::Ohms(unit));
        }
        Some(match lower.as_str() {
            "degc" | "c" | "celsius" | "degcelsius" | "gradc" | "grc" | "grdc" => {
                Self::Degrees(TemperatureScale::Celsius)
            }
            "degf" | "f" | "fahrenheit" | "degfahrenheit" => Self::Degrees(TemperatureScale::Fahrenheit),
            "v" | "vdc" | "volt" | "volts" => Self::Volts,
            "%" | "%rh" | "rh" | "percent" | "pct" => Self::Percent,
            other if OTHERS.contains(&other) => Self::Other,
            _ => return None,
        })
    }
}
