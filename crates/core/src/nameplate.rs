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
    /// Field winding with insulated conductors.
    Field,
    /// Field winding of bare conductors, with air or slot liners alone to earth.
    BareField,
    /// Rotor winding that is led out over slip rings.
    WoundRotor,
    /// Stator of preformed coils cooled by water in its conductors, with water in the hoses or not known to be without.
    WaterCooled,
    /// The same, drained and blown dry before every test.
    WaterCooledDrained,
    /// A cable, tested without a machine.
    Cable,
    /// A circuit of an installation: conductors with their switches and sockets.
    Circuit,
}

impl Construction {
    /// All constructions with their words.
    pub const WORDS: [(Construction, &'static str); 10] = [
        (Construction::FormWound, "form-wound"),
        (Construction::RandomWound, "random-wound"),
        (Construction::DcArmature, "dc-armature"),
        (Construction::Field, "field"),
        (Construction::BareField, "bare-field"),
        (Construction::WoundRotor, "wound-rotor"),
        (Construction::WaterCooled, "water-cooled"),
        (Construction::WaterCooledDrained, "water-cooled-drained"),
        (Construction::Cable, "cable"),
        (Construction::Circuit, "circuit"),
    ];

    /// Reads the word of a construction.
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        let word = text.trim().replace(['_', ' '], "-");
        Self::WORDS.iter().find(|(_, w)| w.eq_ignore_ascii_case(&word)).map(|(construction, _)| *construction)
    }

    /// Whether it is the winding of a stator.
    #[must_use]
    pub const fn is_stator(self) -> bool {
        matches!(self, Self::FormWound | Self::RandomWound | Self::WaterCooled | Self::WaterCooledDrained)
    }
}

impl fmt::Display for Construction {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(Self::WORDS.iter().find(|(construction, _)| construction == self).map_or("", |(_, word)| word))
    }
}

/// What a site's own limit is compared with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize), serde(rename_all = "kebab-case"))]
pub enum LimitBasis {
    /// The reading as it was taken, at whatever temperature.
    AsRead,
    /// The reading corrected to the reference temperature.
    Reference,
}

impl LimitBasis {
    /// Both with their words.
    pub const WORDS: [(LimitBasis, &'static str); 2] =
        [(LimitBasis::AsRead, "as-read"), (LimitBasis::Reference, "reference")];

    /// Reads the word of a basis.
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        let word = text.trim().replace(['_', ' '], "-");
        Self::WORDS.iter().find(|(_, w)| w.eq_ignore_ascii_case(&word)).map(|(basis, _)| *basis)
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
    /// Not known: the stricter of both laws is used and their distance is part of the uncertainty.
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

    /// From this temperature on, °C, only thermosetting binders last: class F and above (from memory).
    const THERMOSETTING_FROM: Self = Self(155);

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

impl fmt::Display for ThermalClass {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match Self::LETTERS.iter().find(|(_, degrees)| *degrees == self.0) {
            Some((letter, _)) => f.write_str(letter),
            None => write!(f, "{}", self.0),
        }
    }
}

/// Year of make or rewind from which a winding is bonded with a thermosetting resin, whatever its construction: asphalt and shellac went out
/// of use in the nineteen-seventies, and the years after are left for stocks and habits (from memory).
const THERMOSETTING_FROM_YEAR: i32 = 1990;

/// The family of a winding's insulation, with what it was inferred from where the register does not say it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct InsulationFamily {
    /// The family; unknown where nothing allows an inference that is safe.
    pub family: Insulation,
    /// What the family was inferred from, or why the register is not followed; none where it is.
    pub because: Option<String>,
    /// Whether the policy assumes it.
    pub by_policy: bool,
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
    /// Whether a frequency converter feeds it.
    pub drive_fed: Option<bool>,
    /// Family of the insulation.
    pub insulation: Insulation,
    /// Thermal class.
    pub thermal_class: Option<ThermalClass>,
    /// Year of make of the machine.
    pub year_made: Option<i32>,
    /// Year of its latest rewind.
    pub year_rewound: Option<i32>,
    /// Usual interval between tests, days.
    pub interval_days: Option<u32>,
    /// The site's own minimum, which goes before any rule.
    pub minimum: Option<Resistance>,
    /// What that minimum is compared with.
    pub minimum_basis: Option<LimitBasis>,
    /// Group of similar windings.
    pub group: Option<String>,
    /// How much hangs on the machine, in the site's own words.
    pub criticality: Option<String>,
    /// The work order that is open for the machine.
    pub work_order: Option<String>,
    /// Who made the machine.
    pub maker: Option<String>,
    /// Cells of the register about the winding that could not be read, such as `rated_volts 4OO`. They are unknown.
    pub unread: Vec<String>,
}

impl Nameplate {
    /// The year from which the winding itself dates: of its rewind, else of the machine.
    ///
    /// # Examples
    ///
    /// ```
    /// use groundwall::nameplate::Nameplate;
    /// let nameplate = Nameplate { year_made: Some(1966), year_rewound: Some(2019), ..Nameplate::default() };
    /// assert_eq!(nameplate.year_of_winding(), Some(2019));
    /// ```
    #[must_use]
    pub fn year_of_winding(&self) -> Option<i32> {
        self.year_made.max(self.year_rewound)
    }

    /// The insulation family as the register says it, else inferred where that is safe.
    ///
    /// Thermal class F and above, and a winding made or rewound since 1990, are thermosetting. A winding since 1990 that is said to be
    /// thermoplastic contradicts itself: its family is unknown. Nothing is ever taken as thermoplastic unless the register says it.
    ///
    /// # Examples
    ///
    /// ```
    /// use groundwall::nameplate::{Insulation, Nameplate, ThermalClass};
    /// let nameplate = Nameplate { thermal_class: ThermalClass::read("F"), ..Nameplate::default() };
    /// let found = nameplate.insulation_family();
    /// assert_eq!((found.family, found.because.as_deref()), (Insulation::Thermosetting, Some("thermal class F")));
    /// assert_eq!(Nameplate::default().insulation_family().family, Insulation::Unknown);
    /// ```
    ///
    /// # References
    ///
    /// From memory; no standard says it.
    #[must_use]
    pub fn insulation_family(&self) -> InsulationFamily {
        let recent = self.year_of_winding().filter(|year| *year >= THERMOSETTING_FROM_YEAR);
        let high_class = self.thermal_class.filter(|class| *class >= ThermalClass::THERMOSETTING_FROM);
        let (family, because) = match (self.insulation, high_class, recent) {
            (Insulation::Thermoplastic, Some(class), _) => {
                (Insulation::Unknown, Some(format!("the register says thermoplastic and thermal class {class}")))
            }
            (Insulation::Thermoplastic, None, Some(year)) => {
                (Insulation::Unknown, Some(format!("the register says thermoplastic and the winding is of {year}")))
            }
            (Insulation::Unknown, Some(class), _) => {
                (Insulation::Thermosetting, Some(format!("thermal class {class}")))
            }
            (Insulation::Unknown, None, Some(year)) => (Insulation::Thermosetting, Some(format!("the year {year}"))),
            (said, _, _) => (said, None),
        };
        InsulationFamily { family, because, by_policy: false }
    }

    /// The group of similar windings: the register's, else construction and voltage band.
    ///
    /// # Examples
    ///
    /// ```
    /// use groundwall::nameplate::{Construction, Nameplate};
    /// use groundwall::units::Voltage;
    /// let nameplate = Nameplate {
    ///     construction: Some(Construction::FormWound),
    ///     rated_voltage: Some(Voltage::from_volts(6600.0).unwrap()),
    ///     ..Nameplate::default()
    /// };
    /// assert_eq!(nameplate.group_name(), "form-wound, 5 to 12 kV");
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
        for (basis, word) in LimitBasis::WORDS {
            assert_eq!(LimitBasis::read(&word.to_uppercase().replace('-', " ")), Some(basis));
        }
    }

    #[test]
    fn a_thermal_class_is_a_letter_or_degrees() {
        assert_eq!(ThermalClass::read("f").map(ThermalClass::degrees_celsius), Some(155));
        assert_eq!(ThermalClass::read("105").map(ThermalClass::degrees_celsius), Some(105));
        assert_eq!(ThermalClass::read("40"), None);
        assert_eq!(ThermalClass::read("Q"), None);
        for written in ["F", "H", "165"] {
            assert_eq!(ThermalClass::read(written).map(|class| class.to_string()).as_deref(), Some(written));
        }
    }

    /// From memory: class F and above, and windings since 1990, are thermosetting.
    #[test]
    fn the_insulation_is_inferred_only_where_that_is_safe() {
        let family = |insulation, class: &str, made, rewound| {
            let found = Nameplate {
                insulation,
                thermal_class: ThermalClass::read(class),
                year_made: made,
                year_rewound: rewound,
                ..Nameplate::default()
            }
            .insulation_family();
            (found.family, found.because.unwrap_or_default())
        };
        use Insulation::{Thermoplastic, Thermosetting, Unknown};
        let is = |family, because: &str| (family, because.to_owned());
        assert_eq!(family(Unknown, "F", Some(2008), None), is(Thermosetting, "thermal class F"));
        assert_eq!(family(Unknown, "180", None, None), is(Thermosetting, "thermal class H"));
        assert_eq!(family(Unknown, "B", Some(1990), None), is(Thermosetting, "the year 1990"));
        assert_eq!(family(Unknown, "", Some(1962), Some(2011)), is(Thermosetting, "the year 2011"));
        for (class, year) in [("B", Some(1989)), ("A", None), ("", Some(1975)), ("", None)] {
            assert_eq!(family(Unknown, class, year, None), is(Unknown, ""));
        }
        assert_eq!(family(Thermoplastic, "B", Some(1961), None), is(Thermoplastic, ""));
        assert_eq!(family(Thermosetting, "", Some(1961), None), is(Thermosetting, ""));
        assert_eq!(
            family(Thermoplastic, "B", Some(1961), Some(2019)),
            is(Unknown, "the register says thermoplastic and the winding is of 2019")
        );
        assert_eq!(
            family(Thermoplastic, "F", Some(1961), None),
            is(Unknown, "the register says thermoplastic and thermal class F")
        );
    }
}
