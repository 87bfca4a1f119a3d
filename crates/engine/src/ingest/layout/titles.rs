//! What the title of a block or the name of a sheet says of the values below it, where their headers say no quantity.

use super::label_reader::LabelReader;
use crate::ingest::aliases;
use groundwall::record::columns::{Column, TemperatureScale};

/// Words of titles, which name no motor.
pub(super) const TITLE_WORDS: [&str; 26] = [
    "insulation",
    "resistance",
    "test",
    "tests",
    "testing",
    "record",
    "records",
    "log",
    "sheet",
    "report",
    "results",
    "readings",
    "history",
    "quarterly",
    "annual",
    "site",
    "plant",
    "department",
    "page",
    "rev",
    "revision",
    "isolationsmessung",
    "prüfung",
    "essais",
    "date",
    "values",
];

/// What values are that no header names.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Values {
    /// Resistances as they were read.
    Resistances,
    /// Temperatures of the windings or of the air.
    Temperatures(Column),
    /// Resistances brought to another temperature.
    Corrected,
    /// Something that is no part of a test.
    Other,
}

const CORRECTED: [&str; 35] = [
    "converted",
    "recalculated",
    "temperaturkorrigiert",
    "ramené",
    "ramenés",
    "ramenée",
    "ramenées",
    "corrigés",
    "corregidos",
    "corregidas",
    "corregida",
    "convertidos",
    "convertidas",
    "referidos",
    "corretti",
    "corrette",
    "riportati",
    "riportate",
    "convertiti",
    "corrigidos",
    "corrigidas",
    "omgerekend",
    "gecorrigeerd",
    "corrected",
    "normalised",
    "normalized",
    "korrigiert",
    "korrigierte",
    "umgerechnet",
    "corrigé",
    "corrigée",
    "corrigées",
    "corregido",
    "corretto",
    "corrigido",
];
const TEMPERATURES: [&str; 11] = [
    "temp",
    "temps",
    "temperature",
    "temperatures",
    "temperatur",
    "température",
    "températures",
    "temperatura",
    "temperaturas",
    "temperaturen",
    "temperatuur",
];
const OTHERS: [&str; 26] = [
    "vibration",
    "vibrations",
    "schwingung",
    "schwingungen",
    "vibración",
    "vibrazioni",
    "capacitance",
    "tan",
    "hipot",
    "surge",
    "amps",
    "mm/s",
    "in/s",
    "ips",
    "µm",
    "um",
    "mils",
    "nf",
    "uf",
    "µf",
    "pf",
    "l/min",
    "m3/h",
    "ppm",
    "rpm",
    "hours",
];
const RATIOS: [&str; 12] = [
    "pi",
    "dar",
    "polarization",
    "polarisation",
    "absorption",
    "index",
    "ratio",
    "ratios",
    "value",
    "values",
    "reading",
    "readings",
];

/// What a title says of the values below it; `None` where it says nothing of them.
pub(super) fn values_of(title: &str, reader: &LabelReader<'_>) -> Option<Values> {
    let lower = title.to_lowercase();
    let is_gap = |c: char| c.is_whitespace() || matches!(c, ',' | ';' | ':' | '(' | ')' | '[' | ']' | '–');
    let words: Vec<&str> =
        lower.split(is_gap).map(|word| word.trim_matches('.')).filter(|word| !word.is_empty()).collect();
    let has = |list: &[&str]| words.iter().any(|word| list.contains(word));
    if has(&CORRECTED) {
        return Some(Values::Corrected);
    }
    if aliases::says_insulation(title) {
        return Some(Values::Resistances);
    }
    let is_degrees = lower.contains("°c") || lower.contains("°f") || has(&["degc", "degf"]);
    if has(&TEMPERATURES) || is_degrees {
        let alone =
            words.iter().all(|word| TEMPERATURES.contains(word) || matches!(*word, "°c" | "°f" | "degc" | "degf"));
        let scale = if lower.contains("°f") { TemperatureScale::Fahrenheit } else { TemperatureScale::Celsius };
        return match reader.read(title).column() {
            _ if alone => Some(Values::Temperatures(Column::WindingTemp(scale))),
            Some(column @ (Column::WindingTemp(_) | Column::AirTemp(_))) => Some(Values::Temperatures(column)),
            // `Readings at 20 °C` says nothing of what they are.
            _ if !has(&TEMPERATURES) => None,
            _ => Some(Values::Other),
        };
    }
    let is_ratio =
        has(&["pi", "dar", "polarization", "polarisation"]) && words.iter().all(|word| RATIOS.contains(word));
    let is_current = has(&["current"]) && lower.contains("(a)");
    (is_ratio || is_current || has(&OTHERS)).then_some(Values::Other)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ingest::mapping::Mapping;

    #[test]
    fn titles_say_what_the_values_below_them_are() {
        let mapping = Mapping::default();
        let reader = LabelReader::new(&mapping, 1 << 20);
        let said = |title: &str| values_of(title, &reader);
        for title in ["Insulation resistance MΩ", "IR", "Insulation resistance and temperatures", "All values in MOhm"]
        {
            assert_eq!(said(title), Some(Values::Resistances), "{title}");
        }
        for title in ["Vibration mm/s", "PI", "Polarization index", "Load current (A)", "Bearing temperatures °C"] {
            assert_eq!(said(title), Some(Values::Other), "{title}");
        }
        let celsius = TemperatureScale::Celsius;
        assert_eq!(said("Winding temperature °C"), Some(Values::Temperatures(Column::WindingTemp(celsius))));
        assert_eq!(said("Temp (°C)"), Some(Values::Temperatures(Column::WindingTemp(celsius))));
        assert_eq!(said("Ambient temperature"), Some(Values::Temperatures(Column::AirTemp(celsius))));
        assert_eq!(said("Insulation resistance corrected to 40 °C"), Some(Values::Corrected));
        for title in ["Pump house", "2025", "Motors up to 75 kW", "Readings at 20 °C", "Site PI-4"] {
            assert_eq!(said(title), None, "{title}");
        }
    }
}
