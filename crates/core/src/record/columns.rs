//! The columns of a history that are understood, found by their header in any order.

use super::item::Item;
use crate::resistance::ResistanceUnit;
use crate::units::{Elapsed, OutOfRange, Temperature};
use std::fmt;

/// Scale of a temperature column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TemperatureScale {
    /// °C
    Celsius,
    /// °F
    Fahrenheit,
}

impl TemperatureScale {
    /// The temperature of a number on this scale.
    pub(super) fn temperature(self, number: f64) -> Result<Temperature, OutOfRange> {
        match self {
            Self::Celsius => Temperature::from_celsius(number),
            Self::Fahrenheit => Temperature::from_fahrenheit(number),
        }
    }
}

/// Unit of a column of elapsed times.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ElapsedUnit {
    /// Seconds.
    Second,
    /// Minutes.
    Minute,
}

impl ElapsedUnit {
    /// How many seconds one of this unit is.
    #[must_use]
    pub const fn in_seconds(self) -> f64 {
        match self {
            Self::Second => 1.0,
            Self::Minute => 60.0,
        }
    }
}

/// What a column of a history holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Column {
    /// `winding`
    Winding,
    /// `tested_on`
    TestedOn,
    /// `connection`
    Connection,
    /// `scope`
    Scope,
    /// `test_volts`
    TestVolts,
    /// `output_volts`
    OutputVolts,
    /// `r_60s`, `r_10min`, `r_60s_gohm` and the like.
    Reading(Elapsed, ResistanceUnit),
    /// `elapsed_s`, `elapsed_min`: when a timed reading was taken, in rows of one reading each.
    Elapsed(ElapsedUnit),
    /// `resistance`, `resistance_gohm`: what was read then.
    Resistance(ResistanceUnit),
    /// `winding_temp_c`, `winding_temp_f`
    WindingTemp(TemperatureScale),
    /// `air_temp_c`, `air_temp_f`
    AirTemp(TemperatureScale),
    /// `rh_percent`
    Humidity,
    /// `instrument`
    Instrument,
    /// `full_scale`, `full_scale_gohm`
    FullScale(ResistanceUnit),
    /// `lead_check`
    LeadCheck,
    /// `other_phases`, `battery` and the like: the record of the test.
    Procedure(Item),
    /// `event`
    Event,
    /// `note`
    Note,
}

const PLAIN: [(&str, Column); 17] = [
    ("winding", Column::Winding),
    ("tested_on", Column::TestedOn),
    ("connection", Column::Connection),
    ("scope", Column::Scope),
    ("test_volts", Column::TestVolts),
    ("output_volts", Column::OutputVolts),
    ("elapsed_s", Column::Elapsed(ElapsedUnit::Second)),
    ("elapsed_min", Column::Elapsed(ElapsedUnit::Minute)),
    ("winding_temp_c", Column::WindingTemp(TemperatureScale::Celsius)),
    ("winding_temp_f", Column::WindingTemp(TemperatureScale::Fahrenheit)),
    ("air_temp_c", Column::AirTemp(TemperatureScale::Celsius)),
    ("air_temp_f", Column::AirTemp(TemperatureScale::Fahrenheit)),
    ("rh_percent", Column::Humidity),
    ("instrument", Column::Instrument),
    ("lead_check", Column::LeadCheck),
    ("event", Column::Event),
    ("note", Column::Note),
];

impl Column {
    /// Finds the column a header names; `None` for a column of somebody else's.
    ///
    /// Case and outer blanks do not matter; blanks and hyphens inside count as underscores.
    ///
    /// # Examples
    ///
    /// ```
    /// use groundwall::record::columns::Column;
    /// assert_eq!(Column::read("R_10min").unwrap().to_string(), "r_600s");
    /// assert_eq!(Column::read("r_60s_gohm").unwrap().to_string(), "r_60s_gohm");
    /// assert!(Column::read("trolley").is_none());
    /// ```
    #[must_use]
    pub fn read(header: &str) -> Option<Self> {
        let name = header.trim().trim_start_matches('\u{feff}').to_lowercase().replace([' ', '-'], "_");
        if let Some((_, column)) = PLAIN.iter().find(|(word, _)| *word == name) {
            return Some(*column);
        }
        if let Some((item, _)) = Item::WORDS.iter().find(|(_, word)| *word == name) {
            return Some(Self::Procedure(*item));
        }
        if let Some(rest) = name.strip_prefix("full_scale") {
            return unit_suffix(rest).map(Self::FullScale);
        }
        if let Some(rest) = name.strip_prefix("resistance") {
            return unit_suffix(rest).map(Self::Resistance);
        }
        let rest = name.strip_prefix("r_")?;
        let digits = rest.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(rest.len());
        let number: f64 = rest[..digits].parse().ok()?;
        let (seconds, suffix) = if let Some(suffix) = rest[digits..].strip_prefix("min") {
            (number * 60.0, suffix)
        } else {
            (number, rest[digits..].strip_prefix('s')?)
        };
        Some(Self::Reading(Elapsed::from_seconds(seconds).ok()?, unit_suffix(suffix)?))
    }

    /// Names of all columns that are understood, for messages about a missing or misspelt one.
    #[must_use]
    pub fn names() -> Vec<&'static str> {
        let mut names: Vec<&str> = PLAIN.iter().map(|(name, _)| *name).collect();
        names.extend(Item::WORDS.iter().map(|(_, name)| *name));
        names.extend(["r_15s", "r_30s", "r_60s", "r_1min", "r_600s", "r_10min", "full_scale", "resistance"]);
        names
    }
}

fn unit_suffix(rest: &str) -> Option<ResistanceUnit> {
    match rest {
        "" | "_mohm" => Some(ResistanceUnit::Megohm),
        "_ohm" => Some(ResistanceUnit::Ohm),
        "_kohm" => Some(ResistanceUnit::Kilohm),
        "_gohm" => Some(ResistanceUnit::Gigohm),
        "_tohm" => Some(ResistanceUnit::Teraohm),
        _ => None,
    }
}

fn unit_name(unit: ResistanceUnit) -> &'static str {
    match unit {
        ResistanceUnit::Megohm => "",
        ResistanceUnit::Ohm => "_ohm",
        ResistanceUnit::Kilohm => "_kohm",
        ResistanceUnit::Gigohm => "_gohm",
        ResistanceUnit::Teraohm => "_tohm",
    }
}

impl fmt::Display for Column {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Reading(elapsed, unit) => write!(f, "r_{}s{}", elapsed.as_seconds(), unit_name(*unit)),
            Self::Resistance(unit) => write!(f, "resistance{}", unit_name(*unit)),
            Self::FullScale(unit) => write!(f, "full_scale{}", unit_name(*unit)),
            Self::Procedure(item) => f.write_str(item.name()),
            other => f.write_str(PLAIN.iter().find(|(_, column)| column == other).map_or("", |(name, _)| name)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::fault::Fault;
    use super::*;

    #[test]
    fn every_name_given_out_is_read() {
        for name in Column::names() {
            assert!(Column::read(name).is_some(), "{name}");
        }
    }

    #[test]
    fn what_is_printed_can_be_read() {
        for header in [
            "r_15s",
            "r_10min",
            "r_60s_gohm",
            "r_2.5min",
            "full_scale_tohm",
            "resistance_gohm",
            "Elapsed min",
            "Winding Temp C",
            "note",
        ] {
            let column = Column::read(header);
            assert!(column.is_some(), "{header}");
            assert_eq!(column.and_then(|c| Column::read(&c.to_string())), column);
        }
    }

    /// A fault holds the name of its column, and what follows from it is decided by the column.
    #[test]
    fn every_column_is_found_again_by_the_name_in_a_fault() {
        use ResistanceUnit::{Gigohm, Kilohm, Megohm, Ohm, Teraohm};
        let plain = PLAIN.iter().map(|(_, column)| *column);
        let items = Item::WORDS.iter().map(|(item, _)| Column::Procedure(*item));
        let of_units = [Ohm, Kilohm, Megohm, Gigohm, Teraohm].into_iter().flat_map(|unit| {
            let times = [15.0, 60.0, 90.5, 600.0, 1.0 / 0.3, 7200.0].map(|s| Elapsed::from_seconds(s).expect("a time"));
            let readings = times.map(|time| Column::Reading(time, unit));
            readings.into_iter().chain([Column::Resistance(unit), Column::FullScale(unit)])
        });
        for column in plain.chain(items).chain(of_units) {
            assert_eq!(Fault::new(column, "", "", "").known_column(), Some(column), "{column}");
        }
    }

    #[test]
    fn times_and_units_out_of_reason_are_somebody_elses() {
        for header in ["r_0s", "r_99999s", "r_60", "r_60s_furlong", "r_min", "full_scale_of", "rated_volts", ""] {
            assert_eq!(Column::read(header), None, "{header}");
        }
    }
}
