//! What the register knows of a winding: construction, insulation, rating, age, and the site's own limits for it.

use crate::units::{Power, Resistance, Voltage};
use std::fmt;

/// How the winding is made.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize), serde(rename_all = "kebab-case"))]
pub enum Construction {
    /// Stator of preformed coils.
    FormWound,
    /// Stator of loose turns.
    RandomWound,
    /// Armature of a direct-current machine.
    DcArmature,
    /// Field winding.
    Field,
}

impl Construction {
    /// All constructions with their words.
    pub const WORDS: [(Construction, &'static str); 4] = [
        (Construction::FormWound, "form-wound"),
        (Construction::RandomWound, "random-wound"),
        (Construction::DcArmature, "dc-armature"),
        (Construction::Field, "field"),
    ];

    /// Reads the word of a construction.
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        let word = text.trim().replace(['_', ' '], "-");
        Self::WORDS.iter().find(|(_, w)| w.eq_ignore_ascii_case(&word)).map(|(construction, _)| *construction)
    }
}

impl fmt::Display for Construction {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(Self::WORDS.iter().find(|(construction, _)| construction == self).map_or("", |(_, word)| word))
    }
}

/// Family of the insulation, which decides the temperature law.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Default)]
#[cfg_attr(feature = "serde", derive(serde::Serialize), serde(rename_all = "kebab-case"))]
pub enum Insulation {
    /// Epoxy and polyester bonded.
    Thermosetting,
    /// Asphalt, shellac and other softening binders.
    Thermoplastic,
    /// Not known: both laws are used and their distance is part of the uncertainty.
    #[default]
    Unknown,
}

impl Insulation {
    /// All families with their words.
    pub const WORDS: [(Insulation, &'static str); 3] = [
        (Insulation::Thermosetting, "thermosetting"),
        (Insulation::Thermoplastic, "thermoplastic"),
        (Insulation::Unknown, "unknown"),
    ];

    /// Reads the word of an insulation family.
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        Self::WORDS.iter().find(|(_, w)| w.eq_ignore_ascii_case(text.trim())).map(|(insulation, _)| *insulation)
    }
}

impl fmt::Display for Insulation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(Self::WORDS.iter().find(|(insulation, _)| insulation == self).map_or("", |(_, word)| word))
    }
}

/// Thermal class as the temperature it stands for, in °C: 105 for A, 130 for B, 155 for F, 180 for H.
///
/// # References
///
/// IEC 60085 (letters A, E, B, F, H as summarised publicly; Y, N, R from memory).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct ThermalClass(u16);

impl ThermalClass {
    /// Letters and the temperatures they stand for, °C.
    pub const LETTERS: [(&'static str, u16); 8] =
        [("Y", 90), ("A", 105), ("E", 120), ("B", 130), ("F", 155), ("H", 180), ("N", 200), ("R", 220)];

    /// Reads a letter or degrees from 90 to 260.
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        let text = text.trim();
        let letter =
            Self::LETTERS.iter().find(|(letter, _)| letter.eq_ignore_ascii_case(text)).map(|(_, degrees)| *degrees);
        letter.or_else(|| text.parse().ok().filter(|degrees| (90..=260).contains(degrees))).map(Self)
    }

    /// The temperature, °C.
    #[must_use]
    pub const fn degrees_celsius(self) -> u16 {
        self.0
    }
}

/// What is known of a winding. Everything may be missing.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Nameplate {
    /// Where the machine stands: the site.
    pub site: Option<String>,
    /// Part of the site.
    pub area: Option<String>,
    /// What the machine is or drives.
    pub description: Option<String>,
    /// Rated voltage: line to line for three-phase machines, rated direct voltage for direct-current machines and fields.
    pub rated_voltage: Option<Voltage>,
    /// Rated power.
    pub rated_power: Option<Power>,
    /// How the winding is made.
    pub construction: Option<Construction>,
    /// Family of the insulation.
    pub insulation: Insulation,
    /// Thermal class.
    pub thermal_class: Option<ThermalClass>,
    /// Year of make of the winding.
    pub year_made: Option<i32>,
    /// Usual interval between tests, days.
    pub interval_days: Option<u32>,
    /// The site's own minimum, which goes before any rule.
    pub minimum: Option<Resistance>,
    /// Group of similar windings.
    pub group: Option<String>,
    /// How much hangs on the machine, in the site's own words.
    pub criticality: Option<String>,
    /// What the register says of the winding and nobody could read, such as `rated_volts 4OO`. It counts as not known.
    pub unread: Vec<String>,
}

impl Nameplate {
    /// The group of similar windings: the register's, else construction and voltage band.
    ///
    /// # Examples
    ///
    /// ```
    /// use groundwall::nameplate::{Construction, Nameplate};
    /// use groundwall::units::Voltage;
    /// let plate = Nameplate {
    ///     construction: Some(Construction::FormWound),
    ///     rated_voltage: Some(Voltage::from_volts(6600.0).unwrap()),
    ///     ..Nameplate::default()
    /// };
    /// assert_eq!(plate.group_name(), "form-wound, 5 to 12 kV");
    /// ```
    #[must_use]
    pub fn group_name(&self) -> String {
        if let Some(group) = &self.group {
            return group.clone();
        }
        let construction = self.construction.map_or_else(|| "construction unknown".to_owned(), |c| c.to_string());
        let band = match self.rated_voltage.map(Voltage::as_volts) {
            None => "voltage unknown",
            Some(volts) if volts < 1000.0 => "below 1 kV",
            Some(volts) if volts <= 2500.0 => "1 to 2.5 kV",
            Some(volts) if volts <= 5000.0 => "2.5 to 5 kV",
            Some(volts) if volts <= 12_000.0 => "5 to 12 kV",
            Some(_) => "above 12 kV",
        };
        format!("{construction}, {band}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_read_as_they_are_printed() {
        for (construction, word) in Construction::WORDS {
            assert_eq!(Construction::read(word), Some(construction));
            assert_eq!(construction.to_string(), word);
        }
        for (insulation, word) in Insulation::WORDS {
            assert_eq!(Insulation::read(&word.to_uppercase()), Some(insulation));
            assert_eq!(insulation.to_string(), word);
        }
    }

    #[test]
    fn a_thermal_class_is_a_letter_or_degrees() {
        assert_eq!(ThermalClass::read("f").map(ThermalClass::degrees_celsius), Some(155));
        assert_eq!(ThermalClass::read("105").map(ThermalClass::degrees_celsius), Some(105));
        assert_eq!(ThermalClass::read("40"), None);
        assert_eq!(ThermalClass::read("Q"), None);
    }
}
