//! The least acceptable one-minute resistance at reference temperature, and the rule it comes from.
//!
//! # References
//!
//! IEEE Std 43 cl. 12.3 (values quoted in an Electrical Insulation Conference paper of 2011, Table I);
//! RD 34.45-51.300-97 Table 5.3; GB machine rules for the hot minimum. One-phase reduction: IEEE Std 43 cl. 12.3 note,
//! from memory.

use crate::nameplate::{Construction, Nameplate};
use crate::policy::{MinimumChoice, Policy};
use crate::record::Connection;
use crate::units::{Power, Resistance, Temperature, Voltage, three_digits};
use std::fmt;

/// Below this rated voltage a form-wound stator has the minimum of a random-wound one, V.
const FORM_WOUND_LOW_VOLTAGE_V: f64 = 1000.0;
/// Least value that rated kV + 1 can take: what is used when nothing is known.
const LEAST_OF_ALL_RULES_MOHM: f64 = 1.0;

/// The least acceptable resistance and the rule it came from.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Minimum {
    /// One-minute resistance at the reference temperature, whole winding, MΩ.
    #[cfg_attr(feature = "serde", serde(rename = "mohm"))]
    pub resistance: Resistance,
    /// The rule, with its source.
    pub rule: String,
    /// Whether no rule could be chosen for want of a rating, so that this is the least of all of them. The rule says so.
    #[cfg_attr(feature = "serde", serde(skip))]
    pub assumed: bool,
}

impl fmt::Display for Minimum {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let assumed = if self.assumed { " assumed" } else { "" };
        write!(f, "{}{assumed}", self.resistance)
    }
}

/// How a phase was tested apart from the other two.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OtherPhases {
    /// Connected to the frame: the phase reads about twice the whole winding.
    Earthed,
    /// Connected to the guard: about three times.
    Guarded,
}

impl OtherPhases {
    /// What a phase's reading is divided by to compare it with a whole winding.
    #[must_use]
    pub const fn divisor(self) -> f64 {
        match self {
            Self::Earthed => 2.0,
            Self::Guarded => 3.0,
        }
    }

    /// Whole-winding value of one phase's reading.
    ///
    /// # Formula
    ///
    /// R(whole) = R(phase)/2 with the other phases earthed, /3 with them guarded.
    ///
    /// # Examples
    ///
    /// ```
    /// use groundwall::{minimum::OtherPhases, units::Resistance};
    /// let phase = Resistance::from_megohms(300.0)?;
    /// assert_eq!(OtherPhases::Earthed.whole_winding(phase).as_megohms(), 150.0);
    /// # Ok::<(), groundwall::units::OutOfRange>(())
    /// ```
    ///
    /// # References
    ///
    /// IEEE Std 43 cl. 12.3 note, from memory.
    #[must_use]
    pub fn whole_winding(self, one_phase: Resistance) -> Resistance {
        one_phase.scaled(1.0 / self.divisor())
    }
}

/// R = kV + 1, MΩ at 40 °C, whole winding.
///
/// # Units
///
/// Rated voltage line to line (rated direct voltage for direct-current machines and fields) in; resistance out.
///
/// # Examples
///
/// ```
/// use groundwall::{minimum::kilovolts_plus_one, units::Voltage};
/// assert!((kilovolts_plus_one(Voltage::from_volts(6600.0)?).as_megohms() - 7.6).abs() < 1e-12);
/// # Ok::<(), groundwall::units::OutOfRange>(())
/// ```
///
/// # References
///
/// IEEE Std 43-1974 onwards, cl. 12.3.
#[must_use]
pub fn kilovolts_plus_one(rated: Voltage) -> Resistance {
    Resistance::from_megohms_held(rated.as_volts() / 1000.0 + 1.0)
}

/// Least resistance at hot running temperature.
///
/// # Formula
///
/// R = U/(1000 + P/100), MΩ, U in V and P in kW.
///
/// # Validity
///
/// At running temperature, not at 40 °C: a reading must be corrected to that temperature first.
///
/// # Examples
///
/// ```
/// use groundwall::{minimum::hot_running, units::{Power, Voltage}};
/// let least = hot_running(Voltage::from_volts(6000.0)?, Power::from_kilowatts(1000.0)?);
/// assert!((least.as_megohms() - 6000.0 / 1010.0).abs() < 1e-12);
/// # Ok::<(), groundwall::units::OutOfRange>(())
/// ```
///
/// # References
///
/// GB machine rules as quoted on a public page.
#[must_use]
pub fn hot_running(rated: Voltage, power: Power) -> Resistance {
    Resistance::from_megohms_held(rated.as_volts() / (1000.0 + power.as_kilowatts() / 100.0))
}

const TABLE_TEMPERATURES_C: [f64; 7] = [10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 75.0];
/// Voltage bands, V, and the minima at the table's temperatures, MΩ.
const TABLE: [(f64, f64, [f64; 7]); 3] = [
    (3000.0, 3150.0, [30.0, 20.0, 15.0, 10.0, 7.0, 5.0, 3.0]),
    (6000.0, 6300.0, [60.0, 40.0, 30.0, 20.0, 15.0, 10.0, 6.0]),
    (10_000.0, 10_500.0, [100.0, 70.0, 50.0, 35.0, 25.0, 17.0, 10.0]),
];

/// Minimum of a motor stator by rated voltage and winding temperature.
///
/// # Validity
///
/// 10 to 75 °C; between the printed temperatures log R is interpolated. Rated 3 to 10.5 kV: a voltage between the printed bands takes the
/// next higher one. `None` outside.
///
/// # Examples
///
/// ```
/// use groundwall::{minimum::by_temperature_table, units::{Temperature, Voltage}};
/// let least = by_temperature_table(Voltage::from_volts(6000.0)?, Temperature::from_celsius(30.0)?);
/// assert_eq!(least.map(|r| r.as_megohms()), Some(30.0));
/// # Ok::<(), groundwall::units::OutOfRange>(())
/// ```
///
/// # References
///
/// RD 34.45-51.300-97 Table 5.3.
#[must_use]
pub fn by_temperature_table(rated: Voltage, at: Temperature) -> Option<Resistance> {
    let volts = rated.as_volts();
    let t = at.as_celsius();
    if volts < TABLE[0].0 {
        return None;
    }
    let (_, _, row) = TABLE.iter().find(|(_, to, _)| volts <= *to)?;
    if let Some(printed) = TABLE_TEMPERATURES_C.iter().position(|printed| (t - printed).abs() < 1e-9) {
        return Some(Resistance::from_megohms_held(row[printed]));
    }
    let after = TABLE_TEMPERATURES_C.iter().position(|printed| t < *printed).filter(|after| *after > 0)?;
    let (t0, t1) = (TABLE_TEMPERATURES_C[after - 1], TABLE_TEMPERATURES_C[after]);
    let share = (t - t0) / (t1 - t0);
    let log10 = row[after - 1].log10() * (1.0 - share) + row[after].log10() * share;
    Some(Resistance::from_log10_megohms(log10))
}

/// The minimum of a series: the site's own where the register has one, else by the rule of the policy.
///
/// A rule speaks of the whole winding. For a phase tested alone against earth its value is doubled, because the phase
/// reads about twice the whole winding with the other two earthed; the rule says so. The site's own limit is taken as
/// it stands.
///
/// # Units
///
/// MΩ after one minute at the reference temperature.
///
/// # Examples
///
/// ```
/// use groundwall::minimum::minimum_of;
/// use groundwall::nameplate::{Construction, Nameplate};
/// use groundwall::policy::Policy;
/// use groundwall::record::Connection;
/// use groundwall::units::Voltage;
/// let plate = Nameplate {
///     construction: Some(Construction::FormWound),
///     rated_voltage: Some(Voltage::from_volts(6600.0)?),
///     year_made: Some(1998),
///     ..Nameplate::default()
/// };
/// let whole = minimum_of(&plate, &Connection::AllEarth, &Policy::default());
/// assert_eq!(whole.resistance.to_string(), "100 MΩ");
/// assert_eq!(whole.rule, "form-wound stator made since 1970, IEEE Std 43 cl. 12.3");
/// let phase = minimum_of(&plate, &Connection::read("U-earth"), &Policy::default());
/// assert_eq!(phase.resistance.to_string(), "200 MΩ");
/// # Ok::<(), groundwall::units::OutOfRange>(())
/// ```
///
/// # References
///
/// IEEE Std 43 cl. 12.3; RD 34.45-51.300-97 Table 5.3; each rule names its own.
#[must_use]
pub fn minimum_of(nameplate: &Nameplate, connection: &Connection, policy: &Policy) -> Minimum {
    if let Some(own) = own_limit(nameplate, policy) {
        return own;
    }
    let whole = by_rule(nameplate, policy).unwrap_or_else(|| Minimum {
        resistance: Resistance::from_megohms_held(LEAST_OF_ALL_RULES_MOHM),
        rule:
            "assumed for want of a rated voltage or a limit, the least that rated kV + 1 can be, IEEE Std 43 cl. 12.3"
                .to_owned(),
        assumed: true,
    });
    if connection.phase_to_earth().is_none() {
        return whole;
    }
    Minimum {
        resistance: whole.resistance.scaled(OtherPhases::Earthed.divisor()),
        rule: format!(
            "twice {} for one phase with the other two earthed; {}; IEEE Std 43 cl. 12.3 note, from memory",
            whole.resistance, whole.rule
        ),
        assumed: whole.assumed,
    }
}

/// A minimum that a rule or the site gives.
fn given(resistance: Resistance, rule: String) -> Minimum {
    Minimum { resistance, rule, assumed: false }
}

fn own_limit(nameplate: &Nameplate, policy: &Policy) -> Option<Minimum> {
    if let Some(own) = nameplate.minimum {
        return Some(given(own, "the site's own limit for this winding".to_owned()));
    }
    let fixed = policy.fixed_minimum.filter(|_| policy.minimum == MinimumChoice::Fixed)?;
    Some(given(fixed, "the site's own limit, policy minimum.fixed_mohm".to_owned()))
}

/// The rule's minimum of the whole winding; none where too little is known for any rule.
fn by_rule(nameplate: &Nameplate, policy: &Policy) -> Option<Minimum> {
    let chosen = match policy.minimum {
        MinimumChoice::ByTemperatureTable => stator_table(nameplate, policy),
        MinimumChoice::ByConstruction => by_construction(nameplate, policy),
        MinimumChoice::KilovoltsPlusOne | MinimumChoice::Fixed => None,
    };
    chosen.or_else(|| {
        let rated = nameplate.rated_voltage?;
        let kilovolts = three_digits(rated.as_volts() / 1000.0);
        let rule = format!("rated kV + 1 = {kilovolts} + 1 MΩ, IEEE Std 43 cl. 12.3");
        Some(given(kilovolts_plus_one(rated), rule))
    })
}

fn stator_table(nameplate: &Nameplate, policy: &Policy) -> Option<Minimum> {
    if matches!(nameplate.construction, Some(Construction::DcArmature | Construction::Field)) {
        return None;
    }
    let resistance = by_temperature_table(nameplate.rated_voltage?, policy.reference_temp)?;
    let rule = format!("RD 34.45-51.300-97 Table 5.3, stator at {}", policy.reference_temp);
    Some(given(resistance, rule))
}

/// 100 or 5 MΩ; none where rated kV + 1 applies.
fn by_construction(nameplate: &Nameplate, policy: &Policy) -> Option<Minimum> {
    let old = nameplate.year_made.is_some_and(|year| year < policy.modern_from_year);
    let low_voltage = nameplate.rated_voltage.is_some_and(|rated| rated.as_volts() < FORM_WOUND_LOW_VOLTAGE_V);
    let (megohms, machines) = match nameplate.construction? {
        Construction::DcArmature => (5.0, "direct-current armature (2013 edition)".to_owned()),
        Construction::RandomWound if !old => (5.0, "random-wound stator".to_owned()),
        Construction::FormWound if !old && low_voltage => (5.0, "form-wound stator below 1 kV".to_owned()),
        Construction::FormWound if !old => {
            let year = if nameplate.year_made.is_none() { ", year not known and taken as modern" } else { "" };
            (100.0, format!("form-wound stator made since {}{year}", policy.modern_from_year))
        }
        Construction::RandomWound | Construction::FormWound | Construction::Field => return None,
    };
    let rule = format!("{machines}, IEEE Std 43 cl. 12.3");
    Some(given(Resistance::from_megohms_held(megohms), rule))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]
mod tests {
    use super::*;

    fn plate(construction: Construction, volts: f64, year: i32) -> Nameplate {
        Nameplate {
            construction: Some(construction),
            rated_voltage: Some(Voltage::from_volts(volts).unwrap()),
            year_made: Some(year),
            ..Nameplate::default()
        }
    }

    fn megohms(nameplate: &Nameplate, connection: &Connection) -> String {
        three_digits(minimum_of(nameplate, connection, &Policy::default()).resistance.as_megohms())
    }

    #[test]
    fn construction_year_and_voltage_choose_the_group() {
        let whole = &Connection::AllEarth;
        assert_eq!(megohms(&plate(Construction::FormWound, 6600.0, 1995), whole), "100");
        assert_eq!(megohms(&plate(Construction::FormWound, 6600.0, 1962), whole), "7.6");
        assert_eq!(megohms(&plate(Construction::FormWound, 690.0, 1995), whole), "5");
        assert_eq!(megohms(&plate(Construction::RandomWound, 480.0, 1995), whole), "5");
        assert_eq!(megohms(&plate(Construction::RandomWound, 480.0, 1960), whole), "1.48");
        assert_eq!(megohms(&plate(Construction::DcArmature, 440.0, 1960), whole), "5");
        assert_eq!(megohms(&plate(Construction::Field, 250.0, 1995), whole), "1.25");
        assert_eq!(megohms(&Nameplate::default(), whole), "1");
    }

    #[test]
    fn one_phase_has_twice_the_minimum_and_the_rule_says_so() {
        let phase = Connection::read("U-earth");
        let found = minimum_of(&plate(Construction::RandomWound, 480.0, 1995), &phase, &Policy::default());
        assert_eq!(found.resistance.to_string(), "10 MΩ");
        assert!(found.rule.starts_with("twice 5 MΩ for one phase with the other two earthed"), "{}", found.rule);
    }

    #[test]
    fn the_sites_own_limit_goes_before_any_rule() {
        let own = Nameplate { minimum: Some(Resistance::from_megohms(100.0).unwrap()), ..Nameplate::default() };
        assert_eq!(megohms(&own, &Connection::read("U-earth")), "100");
    }

    #[test]
    fn what_is_assumed_says_so_in_value_and_rule() {
        let of =
            |plate: &Nameplate, connection: &str| minimum_of(plate, &Connection::read(connection), &Policy::default());
        let nothing = of(&Nameplate::default(), "all-earth");
        assert_eq!(nothing.to_string(), "1 MΩ assumed");
        assert_eq!(
            nothing.rule,
            "assumed for want of a rated voltage or a limit, the least that rated kV + 1 can be, IEEE Std 43 cl. 12.3"
        );
        assert_eq!(of(&Nameplate::default(), "U-earth").to_string(), "2 MΩ assumed");
        let old = Nameplate { rated_voltage: None, ..plate(Construction::FormWound, 1.0, 1962) };
        assert!(of(&old, "all-earth").assumed);
        assert_eq!(of(&plate(Construction::FormWound, 6600.0, 1995), "all-earth").to_string(), "100 MΩ");
        let own = Nameplate { minimum: Some(Resistance::from_megohms(100.0).unwrap()), ..Nameplate::default() };
        assert_eq!(of(&own, "U-earth").to_string(), "100 MΩ");
    }

    #[test]
    fn outside_the_table_there_is_no_value() {
        let at = |t: f64| Temperature::from_celsius(t).unwrap();
        let volts = |v: f64| Voltage::from_volts(v).unwrap();
        assert_eq!(by_temperature_table(volts(6300.0), at(9.0)), None);
        assert_eq!(by_temperature_table(volts(6300.0), at(76.0)), None);
        assert_eq!(by_temperature_table(volts(400.0), at(20.0)), None);
        assert_eq!(by_temperature_table(volts(11_000.0), at(20.0)), None);
        assert!(by_temperature_table(volts(6600.0), at(20.0)).is_some_and(|r| r.to_string() == "70 MΩ"));
    }

    /// RD 34.45-51.300-97 Table 5.3: the first band begins at 3 kV. Between 10 and 20 °C the middle of log R is the
    /// geometric mean: √(30·20) = 24.4949 MΩ.
    #[test]
    fn the_table_begins_at_three_kilovolts_and_is_read_between_its_temperatures() {
        let at = |v: f64, t: f64| {
            by_temperature_table(Voltage::from_volts(v).unwrap(), Temperature::from_celsius(t).unwrap())
        };
        assert_eq!(at(2999.0, 10.0), None);
        assert_eq!(at(3000.0, 10.0).unwrap().to_string(), "30 MΩ");
        assert!((at(3000.0, 15.0).unwrap().as_megohms() - 600f64.sqrt()).abs() < 1e-9);
        // A fifth of the way from 60 to 75 °C: 10^(0.8·log10 5 + 0.2·log10 3) = 4.5144 MΩ.
        assert!((at(3150.0, 63.0).unwrap().as_megohms() - 4.514_4).abs() < 5e-5);
        assert_eq!(at(3150.0, 9.99), None);
        assert_eq!(at(3150.0, 75.01), None);
    }

    #[test]
    fn the_table_is_for_stators_and_falls_back_on_rated_kilovolts() {
        let policy = Policy { minimum: MinimumChoice::ByTemperatureTable, ..Policy::default() };
        let found = |construction| minimum_of(&plate(construction, 3000.0, 1995), &Connection::AllEarth, &policy);
        assert_eq!(found(Construction::FormWound).rule, "RD 34.45-51.300-97 Table 5.3, stator at 40 °C");
        for other in [Construction::DcArmature, Construction::Field] {
            assert_eq!(found(other).rule, "rated kV + 1 = 3 + 1 MΩ, IEEE Std 43 cl. 12.3");
        }
    }

    /// The first year that counts as modern is 1970 itself, and 1000 V is no longer low voltage.
    #[test]
    fn the_edges_of_age_and_voltage_belong_to_the_higher_minimum() {
        let found = |volts, year| megohms(&plate(Construction::FormWound, volts, year), &Connection::AllEarth);
        assert_eq!([found(6600.0, 1969), found(6600.0, 1970)], ["7.6", "100"]);
        assert_eq!([found(999.0, 1970), found(1000.0, 1970)], ["5", "100"]);
    }

    #[test]
    fn a_limit_for_the_whole_site_is_used_only_where_the_policy_says_so() {
        let limit = Resistance::from_megohms(50.0).unwrap();
        let whole = &Connection::AllEarth;
        let plate = plate(Construction::RandomWound, 480.0, 1995);
        let fixed = Policy { minimum: MinimumChoice::Fixed, fixed_minimum: Some(limit), ..Policy::default() };
        let found = minimum_of(&plate, whole, &fixed);
        assert_eq!((found.resistance, found.rule.as_str()), (limit, "the site's own limit, policy minimum.fixed_mohm"));
        let unused = Policy { fixed_minimum: Some(limit), ..Policy::default() };
        assert_eq!(minimum_of(&plate, whole, &unused).rule, "random-wound stator, IEEE Std 43 cl. 12.3");
    }

    #[test]
    fn a_form_wound_stator_of_unknown_year_is_taken_as_modern_and_that_is_said() {
        let unknown = Nameplate { year_made: None, ..plate(Construction::FormWound, 6600.0, 1995) };
        assert_eq!(
            minimum_of(&unknown, &Connection::AllEarth, &Policy::default()).rule,
            "form-wound stator made since 1970, year not known and taken as modern, IEEE Std 43 cl. 12.3"
        );
    }
}
