//! The least acceptable one-minute resistance, and the rule it comes from.
//!
//! What is not known never makes it lower: an unknown construction owes what the strictest of its voltage owes, an unknown year
//! counts as modern, and a winding that was rewound owes what its rewind owes.
//!
//! # References
//!
//! IEEE Std 43 cl. 12.3 (values quoted in an Electrical Insulation Conference paper of 2011, Table I); IEC 60034-27-4:2018, the same
//! minima from memory; RD 34.45-51.300-97 Table 5.3; GB machine rules for the hot minimum; IEC 60364-6 Table 6.1 for circuits;
//! ANSI/NETA MTS-2019 Table 100.1 for cables, with the factors of its Table 100.14 from memory. One-phase reduction: IEEE Std 43
//! cl. 12.3 note, from memory.

use crate::nameplate::{Construction, LimitBasis, Nameplate};
use crate::policy::{MinimumChoice, Policy};
use crate::record::{Connection, OtherPhases};
use crate::temperature::TemperatureLaw;
use crate::units::{Power, Resistance, Temperature, Voltage, three_digits};
use std::fmt;

/// Below this rated voltage a winding is of low voltage, V.
const LOW_VOLTAGE_V: f64 = 1000.0;
/// Minima of modern windings by IEEE Std 43 cl. 12.3, MΩ: form-wound of 1 kV and above; random-wound, of low voltage, and armatures.
const FORM_WOUND_MOHM: f64 = 100.0;
const LOW_VOLTAGE_MOHM: f64 = 5.0;
/// A winding of unknown rating that was tested with more than this is not taken to be of low voltage, V: 1000 V is in use for windings of low voltage too (common practice).
const HIGH_TEST_VOLTAGE_V: f64 = 1000.0 * 1.25;

/// The least acceptable resistance and the rule it came from.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Minimum {
    /// One-minute resistance at the reference temperature, MΩ. Of a limit that is meant as read: what it comes to at the temperature at
    /// which the series is usually tested.
    #[cfg_attr(feature = "serde", serde(rename = "mohm"))]
    pub resistance: Resistance,
    /// The limit as given, MΩ, where readings are compared with it as read.
    #[cfg_attr(feature = "serde", serde(rename = "as_read_mohm"))]
    pub as_read: Option<Resistance>,
    /// Whether it is not stated that the limit is meant as read.
    #[cfg_attr(feature = "serde", serde(skip))]
    pub basis_assumed: bool,
    /// The rule, with its source.
    pub rule: String,
    /// Whether the rule was chosen without a rating or a construction, on the strict side. The rule says so.
    #[cfg_attr(feature = "serde", serde(skip))]
    pub assumed: bool,
    /// Whether that was chosen by what the policy assumes of the site's windings.
    #[cfg_attr(feature = "serde", serde(skip))]
    pub by_policy: bool,
}

impl Minimum {
    /// The value that readings are compared with: "5 MΩ", "100 MΩ as read".
    #[must_use]
    pub fn value_in_words(&self) -> String {
        self.as_read.map_or_else(|| self.resistance.to_string(), |limit| format!("{limit} as read"))
    }
}

impl fmt::Display for Minimum {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let assumed = match (self.by_policy, self.assumed) {
            (true, _) => " assumed by policy",
            (false, true) => " assumed",
            (false, false) => "",
        };
        write!(f, "{}{assumed}", self.value_in_words())
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
    Resistance::from_megohms_clamped(rated.as_volts() / 1000.0 + 1.0)
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
    Resistance::from_megohms_clamped(rated.as_volts() / (1000.0 + power.as_kilowatts() / 100.0))
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
        return Some(Resistance::from_megohms_clamped(row[printed]));
    }
    let after = TABLE_TEMPERATURES_C.iter().position(|printed| t < *printed).filter(|after| *after > 0)?;
    let (t0, t1) = (TABLE_TEMPERATURES_C[after - 1], TABLE_TEMPERATURES_C[after]);
    let share = (t - t0) / (t1 - t0);
    let log10 = libm::log10(row[after - 1]) * (1.0 - share) + libm::log10(row[after]) * share;
    Some(Resistance::from_log10_megohms(log10))
}

/// Rated voltage up to which a row of the table for circuits holds, V, and its minimum, MΩ.
const CIRCUIT_TABLE: [(f64, f64); 3] = [(50.0, 0.5), (500.0, 1.0), (f64::INFINITY, 1.0)];

/// Minimum of a circuit of an installation, as read: conductors joined or apart, against earth.
///
/// # Units
///
/// Nominal voltage of the circuit in, MΩ out. No temperature belongs to it.
///
/// # Validity
///
/// Installations up to 1 kV. The row up to 50 V is for extra-low voltage that is separated from earth.
///
/// # Examples
///
/// ```
/// use groundwall::{minimum::of_circuit, units::Voltage};
/// assert_eq!(of_circuit(Voltage::from_volts(400.0)?).as_megohms(), 1.0);
/// # Ok::<(), groundwall::units::OutOfRange>(())
/// ```
///
/// # References
///
/// IEC 60364-6 Table 6.1, as printed in a railway's technical rules.
#[must_use]
pub fn of_circuit(nominal: Voltage) -> Resistance {
    by_voltage(&CIRCUIT_TABLE, nominal)
}

/// Rated voltage up to which a row of the table for cables holds, V, and its minimum at 20 °C, MΩ.
const CABLE_TABLE: [(f64, f64); 9] = [
    (250.0, 25.0),
    (600.0, 100.0),
    (1000.0, 100.0),
    (2500.0, 500.0),
    (5000.0, 1500.0),
    (8000.0, 2500.0),
    (15_000.0, 5000.0),
    (25_000.0, 10_000.0),
    (f64::INFINITY, 100_000.0),
];
/// The temperature of that table, °C.
const CABLE_TABLE_C: f64 = 20.0;

/// Minimum of a cable at 20 °C.
///
/// # Units
///
/// Rated voltage in, MΩ out.
///
/// # Validity
///
/// A voltage between the printed ones takes the next higher row.
///
/// # Examples
///
/// ```
/// use groundwall::{minimum::of_cable, units::Voltage};
/// assert_eq!(of_cable(Voltage::from_volts(6600.0)?).as_megohms(), 2500.0);
/// # Ok::<(), groundwall::units::OutOfRange>(())
/// ```
///
/// # References
///
/// ANSI/NETA MTS-2019 Table 100.1.
#[must_use]
pub fn of_cable(rated: Voltage) -> Resistance {
    by_voltage(&CABLE_TABLE, rated)
}

fn by_voltage(table: &[(f64, f64)], volts: Voltage) -> Resistance {
    let row = table.iter().find(|(up_to, _)| volts.as_volts() <= *up_to).or(table.last());
    Resistance::from_megohms_clamped(row.map_or(f64::INFINITY, |(_, megohms)| *megohms))
}

/// The minimum of a series: the site's own where the register has one, else by the rule of the policy. `tested_with` is the highest
/// voltage of its tests, which tells on which side of 1 kV a winding of unknown rating is.
///
/// A rule is for the whole winding. For a phase tested alone against earth its value is doubled, because the phase
/// reads about twice the whole winding with the other two earthed, and tripled where they were guarded; where it is not stated what
/// `other_phases` were, they are taken as earthed. Where they were joined, the lead reads the whole winding. The rule says so. The
/// site's own limit is taken as it is, and limits of circuits and cables are for each conductor.
///
/// Voltage and construction that the policy assumes are used where the register has none. They never lower a minimum: the higher of the two,
/// with them and without, stands.
///
/// # Units
///
/// MΩ after one minute at the reference temperature; a limit that is meant as read is given as it is.
///
/// # Examples
///
/// ```
/// use groundwall::minimum::minimum_of;
/// use groundwall::nameplate::{Construction, Nameplate};
/// use groundwall::policy::Policy;
/// use groundwall::record::Connection;
/// use groundwall::units::Voltage;
/// let nameplate = Nameplate {
///     construction: Some(Construction::FormWound),
///     rated_voltage: Some(Voltage::from_volts(6600.0)?),
///     year_made: Some(1998),
///     ..Nameplate::default()
/// };
/// let whole = minimum_of(&nameplate, &Connection::AllEarth, None, None, &Policy::default());
/// assert_eq!(whole.resistance.to_string(), "100 MΩ");
/// assert_eq!(whole.rule, "form-wound stator made since 1970, IEEE Std 43 cl. 12.3");
/// let phase = minimum_of(&nameplate, &Connection::read("U-earth"), None, None, &Policy::default());
/// assert_eq!(phase.resistance.to_string(), "200 MΩ");
/// # Ok::<(), groundwall::units::OutOfRange>(())
/// ```
///
/// # References
///
/// IEEE Std 43 cl. 12.3; RD 34.45-51.300-97 Table 5.3; IEC 60364-6 Table 6.1; ANSI/NETA MTS-2019 Table 100.1; each rule names its own.
#[must_use]
pub fn minimum_of(
    nameplate: &Nameplate,
    connection: &Connection,
    other_phases: Option<OtherPhases>,
    tested_with: Option<Voltage>,
    policy: &Policy,
) -> Minimum {
    if let Some(own) = own_limit(nameplate, policy) {
        return own;
    }
    let known = required(nameplate, connection, other_phases, tested_with, policy);
    let Some((filled, words)) = policy.assumed.fill(nameplate) else { return known };
    let by_policy = required(&filled, connection, other_phases, tested_with, policy);
    if by_policy.resistance > known.resistance || (by_policy.resistance == known.resistance && known.assumed) {
        let rule = format!("assumed by policy ({words}): {}", by_policy.rule);
        return Minimum { assumed: true, by_policy: true, rule, ..by_policy };
    }
    if by_policy.resistance == known.resistance {
        return known;
    }
    let rule = format!(
        "{}; by what the policy assumes ({words}) it would be {}, which is not followed because it is lower",
        known.rule,
        by_policy.value_in_words()
    );
    Minimum { rule, ..known }
}

/// What a rule asks of a series by what is known of its winding.
fn required(
    nameplate: &Nameplate,
    connection: &Connection,
    other_phases: Option<OtherPhases>,
    tested_with: Option<Voltage>,
    policy: &Policy,
) -> Minimum {
    match nameplate.construction {
        Some(Construction::Circuit) => return circuit(nameplate.rated_voltage),
        Some(Construction::Cable) => return cable(nameplate.rated_voltage, tested_with, policy),
        _ => {}
    }
    let whole = by_rule(nameplate, tested_with, policy);
    if !connection.may_be_phase_to_earth() {
        return whole;
    }
    let (times, how) = match other_phases {
        Some(OtherPhases::Joined) => {
            let rule = format!("{}; the phases were joined, so that a lead reads the whole winding", whole.rule);
            return Minimum { rule, ..whole };
        }
        Some(OtherPhases::Guarded) => ("three times", "guarded"),
        Some(OtherPhases::Open) => ("twice", "open, taken as earthed"),
        Some(OtherPhases::Earthed) | None => ("twice", "earthed"),
    };
    Minimum {
        resistance: whole.resistance.scaled(other_phases.unwrap_or(OtherPhases::Earthed).divisor()),
        rule: format!(
            "{times} {} for one phase with the other two {how}; {}; IEEE Std 43 cl. 12.3 note, from memory",
            whole.resistance, whole.rule
        ),
        ..whole
    }
}

/// What a winding of unknown rating and construction might owe beyond the minimum that was assumed; none where the minimum is certain. A
/// test at 500 V does not show that it is of low voltage: wet windings of any rating are tested so.
pub(crate) fn stricter_possible_minimum(nameplate: &Nameplate, minimum: &Minimum) -> Option<Resistance> {
    let strictest = Resistance::from_megohms_clamped(FORM_WOUND_MOHM);
    let open = minimum.assumed && nameplate.rated_voltage.is_none() && nameplate.construction.is_none();
    Some(strictest).filter(|strictest| open && *strictest > minimum.resistance)
}

/// A minimum at the reference temperature that a rule gives.
fn given(resistance: Resistance, rule: String) -> Minimum {
    Minimum { resistance, as_read: None, basis_assumed: false, rule, assumed: false, by_policy: false }
}

fn own_limit(nameplate: &Nameplate, policy: &Policy) -> Option<Minimum> {
    let of_winding = nameplate.minimum.map(|own| (own, "the site's own limit for this winding"));
    let of_site = || {
        let fixed = policy.fixed_minimum.filter(|_| policy.minimum == MinimumChoice::Fixed)?;
        Some((fixed, "the site's own limit, policy minimum.fixed_mohm"))
    };
    let (own, rule) = of_winding.or_else(of_site)?;
    let basis = nameplate.minimum_basis.or(policy.minimum_basis);
    let rule = match basis {
        Some(LimitBasis::Reference) => return Some(given(own, format!("{rule}, at the reference temperature"))),
        Some(LimitBasis::AsRead) => format!("{rule}, as read"),
        None => format!("{rule}, taken as read because no basis is given"),
    };
    Some(Minimum { as_read: Some(own), basis_assumed: basis.is_none(), ..given(own, rule) })
}

fn circuit(nominal: Option<Voltage>) -> Minimum {
    let (resistance, what) = match nominal {
        Some(nominal) => (of_circuit(nominal), format!("circuit of {nominal}")),
        None => (Resistance::from_megohms_clamped(1.0), "assumed for want of a voltage: circuit above 50 V".to_owned()),
    };
    let rule = format!("{what}, as read, IEC 60364-6 Table 6.1");
    Minimum { as_read: Some(resistance), assumed: nominal.is_none(), ..given(resistance, rule) }
}

fn cable(rated: Option<Voltage>, tested_with: Option<Voltage>, policy: &Policy) -> Minimum {
    let at_20 = rated.map_or_else(
        || {
            let high = tested_with.is_some_and(|volts| volts.as_volts() > HIGH_TEST_VOLTAGE_V);
            Resistance::from_megohms_clamped(if high { 5000.0 } else { 100.0 })
        },
        of_cable,
    );
    let from = Temperature::from_celsius(CABLE_TABLE_C).unwrap_or(policy.reference_temp);
    let factor = TemperatureLaw::Cable.correction(from, policy.reference_temp).factor();
    let what = rated.map_or_else(
        || format!("assumed for want of a rated voltage: {at_20} at 20 °C"),
        |rated| format!("cable rated {rated}, {at_20} at 20 °C"),
    );
    let rule = format!("{what}, ANSI/NETA MTS-2019 Table 100.1 and Table 100.14 (from memory)");
    Minimum { assumed: rated.is_none(), ..given(at_20.scaled(factor), rule) }
}

/// The rule's minimum of the whole winding.
fn by_rule(nameplate: &Nameplate, tested_with: Option<Voltage>, policy: &Policy) -> Minimum {
    let chosen = match policy.minimum {
        MinimumChoice::ByTemperatureTable => stator_table(nameplate, policy),
        MinimumChoice::ByConstruction | MinimumChoice::Iec60034 => by_construction(nameplate, policy),
        MinimumChoice::KilovoltsPlusOne | MinimumChoice::Fixed => None,
    };
    let in_kilovolts = || {
        let rated = nameplate.rated_voltage?;
        let kilovolts = three_digits(rated.as_volts() / 1000.0);
        let rule = format!("rated kV + 1 = {kilovolts} + 1 MΩ, {}", clause(policy));
        Some(given(kilovolts_plus_one(rated), rule))
    };
    chosen
        .or_else(in_kilovolts)
        .or_else(|| by_construction(nameplate, policy))
        .unwrap_or_else(|| unrated(nameplate, tested_with, policy))
}

/// The document whose minima by construction the policy has chosen.
fn clause(policy: &Policy) -> &'static str {
    if policy.minimum == MinimumChoice::Iec60034 { "IEC 60034-27-4:2018 (from memory)" } else { "IEEE Std 43 cl. 12.3" }
}

fn stator_table(nameplate: &Nameplate, policy: &Policy) -> Option<Minimum> {
    if nameplate.construction.is_some_and(|construction| !construction.is_stator()) {
        return None;
    }
    let resistance = by_temperature_table(nameplate.rated_voltage?, policy.reference_temp)?;
    let rule = format!("RD 34.45-51.300-97 Table 5.3, stator at {}", policy.reference_temp);
    Some(given(resistance, rule))
}

/// 100 or 5 MΩ; none where rated kV + 1 applies or the rated voltage is needed and not known.
fn by_construction(nameplate: &Nameplate, policy: &Policy) -> Option<Minimum> {
    let rated = nameplate.rated_voltage.map(Voltage::as_volts);
    let year = nameplate.year_of_winding();
    let old = year.is_some_and(|year| year < policy.modern_from_year);
    // Without a rating the age says nothing of kV + 1, so it makes nothing milder.
    if rated.is_some() && old {
        return None;
    }
    let low_voltage = rated.map(|volts| volts < LOW_VOLTAGE_V);
    let form_wound = |what: &str| {
        let since = match (nameplate.year_rewound, year) {
            (Some(rewound), Some(year)) if rewound == year => format!("rewound in {rewound}"),
            (_, Some(year)) if year < policy.modern_from_year => {
                format!("of {year}, taken as modern because its rated voltage is not known")
            }
            (_, Some(_)) => format!("made since {}", policy.modern_from_year),
            (_, None) => format!("made since {}, year not known and taken as modern", policy.modern_from_year),
        };
        (FORM_WOUND_MOHM, format!("{what} {since}"))
    };
    let (megohms, machines) = match (nameplate.construction, low_voltage) {
        (Some(Construction::DcArmature), _) => (LOW_VOLTAGE_MOHM, "direct-current armature (2013 edition)".to_owned()),
        (Some(Construction::RandomWound), _) => (LOW_VOLTAGE_MOHM, "random-wound stator".to_owned()),
        (Some(Construction::FormWound), Some(true)) => (LOW_VOLTAGE_MOHM, "form-wound stator below 1 kV".to_owned()),
        (Some(Construction::FormWound), _) => form_wound("form-wound stator"),
        (Some(Construction::WaterCooled | Construction::WaterCooledDrained), _) => form_wound("water-cooled stator"),
        (Some(Construction::WoundRotor), Some(true)) => (LOW_VOLTAGE_MOHM, "wound rotor below 1 kV".to_owned()),
        (Some(Construction::WoundRotor), _) => form_wound("wound rotor"),
        (None, Some(true)) => (LOW_VOLTAGE_MOHM, "assumed for want of a construction: winding below 1 kV".to_owned()),
        (None, Some(false)) => form_wound("assumed for want of a construction: form-wound stator"),
        (Some(Construction::Field | Construction::BareField | Construction::Cable | Construction::Circuit), _)
        | (None, None) => return None,
    };
    let rule = format!("{machines}, {}", clause(policy));
    let assumed = nameplate.construction.is_none() || old;
    Some(Minimum { assumed, ..given(Resistance::from_megohms_clamped(megohms), rule) })
}

/// The minimum where neither a rated voltage nor a construction that does without one is known: fields, and by the voltage of the tests.
fn unrated(nameplate: &Nameplate, tested_with: Option<Voltage>, policy: &Policy) -> Minimum {
    let high = tested_with.filter(|volts| volts.as_volts() > HIGH_TEST_VOLTAGE_V);
    let (megohms, what) = match (nameplate.construction, high) {
        (Some(_), _) => (2.0, "a rated voltage: field winding of up to 1 kV".to_owned()),
        (None, None) => (LOW_VOLTAGE_MOHM, "a rated voltage and a construction: winding below 1 kV".to_owned()),
        (None, Some(volts)) => (
            FORM_WOUND_MOHM,
            format!("a rated voltage and a construction: form-wound stator, because it was tested at {volts}"),
        ),
    };
    let rule = format!("assumed for want of {what}, {}", clause(policy));
    Minimum { assumed: true, ..given(Resistance::from_megohms_clamped(megohms), rule) }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]
mod tests {
    use super::*;
    use crate::policy::SiteDefaults;

    fn nameplate(construction: Construction, volts: f64, year: i32) -> Nameplate {
        Nameplate {
            construction: Some(construction),
            rated_voltage: Some(Voltage::from_volts(volts).unwrap()),
            year_made: Some(year),
            ..Nameplate::default()
        }
    }

    fn megohms(nameplate: &Nameplate, connection: &Connection) -> String {
        three_digits(minimum_of(nameplate, connection, None, None, &Policy::default()).resistance.as_megohms())
    }

    #[test]
    fn construction_year_and_voltage_choose_the_group() {
        let whole = &Connection::AllEarth;
        assert_eq!(megohms(&nameplate(Construction::FormWound, 6600.0, 1995), whole), "100");
        assert_eq!(megohms(&nameplate(Construction::FormWound, 6600.0, 1962), whole), "7.6");
        assert_eq!(megohms(&nameplate(Construction::FormWound, 690.0, 1995), whole), "5");
        assert_eq!(megohms(&nameplate(Construction::RandomWound, 480.0, 1995), whole), "5");
        assert_eq!(megohms(&nameplate(Construction::RandomWound, 480.0, 1960), whole), "1.48");
        assert_eq!(megohms(&nameplate(Construction::DcArmature, 440.0, 1960), whole), "1.44");
        assert_eq!(megohms(&nameplate(Construction::DcArmature, 440.0, 1984), whole), "5");
        assert_eq!(megohms(&nameplate(Construction::Field, 250.0, 1995), whole), "1.25");
        assert_eq!(megohms(&Nameplate::default(), whole), "5");
    }

    #[test]
    fn one_phase_has_twice_the_minimum_and_the_rule_says_so() {
        let phase = Connection::read("U-earth");
        let found =
            minimum_of(&nameplate(Construction::RandomWound, 480.0, 1995), &phase, None, None, &Policy::default());
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
        let of = |nameplate: &Nameplate, connection: &str| {
            minimum_of(nameplate, &Connection::read(connection), None, None, &Policy::default())
        };
        let nothing = of(&Nameplate::default(), "all-earth");
        assert_eq!(nothing.to_string(), "5 MΩ assumed");
        assert_eq!(
            nothing.rule,
            "assumed for want of a rated voltage and a construction: winding below 1 kV, IEEE Std 43 cl. 12.3"
        );
        assert_eq!(of(&Nameplate::default(), "U-earth").to_string(), "10 MΩ assumed");
        let old = Nameplate { rated_voltage: None, ..nameplate(Construction::FormWound, 1.0, 1962) };
        assert_eq!(of(&old, "all-earth").to_string(), "100 MΩ assumed");
        assert_eq!(
            of(&old, "all-earth").rule,
            "form-wound stator of 1962, taken as modern because its rated voltage is not known, IEEE Std 43 cl. 12.3"
        );
        assert_eq!(of(&nameplate(Construction::FormWound, 6600.0, 1995), "all-earth").to_string(), "100 MΩ");
        let own = Nameplate { minimum: Some(Resistance::from_megohms(100.0).unwrap()), ..Nameplate::default() };
        assert_eq!(of(&own, "U-earth").to_string(), "100 MΩ as read");
    }

    /// The higher of the two minima stands, and the rule says which and why.
    #[test]
    fn what_the_policy_assumes_raises_a_minimum_and_never_lowers_it() {
        let of =
            |volts: Option<f64>, construction, nameplate: &Nameplate, connection: &str, tested_with: Option<f64>| {
                let rated_voltage = volts.map(|volts| Voltage::from_volts(volts).unwrap());
                let assumed = SiteDefaults { rated_voltage, construction, ..SiteDefaults::default() };
                let policy = Policy { assumed, ..Policy::default() };
                let tested_with = tested_with.map(|volts| Voltage::from_volts(volts).unwrap());
                let minimum = minimum_of(nameplate, &Connection::read(connection), None, tested_with, &policy);
                (minimum.to_string(), minimum.rule)
            };
        let is = |value: &str, rule: &str| (value.to_owned(), rule.to_owned());
        let nothing = Nameplate::default();
        let form = Some(Construction::FormWound);
        let random = Some(Construction::RandomWound);
        assert_eq!(
            of(Some(6600.0), form, &nothing, "all-earth", None),
            is(
                "100 MΩ assumed by policy",
                "assumed by policy (6600 V, form-wound): form-wound stator made since 1970, year not known and taken as modern, IEEE Std 43 cl. 12.3"
            )
        );
        assert_eq!(
            of(Some(400.0), random, &nothing, "U-earth", None),
            is(
                "10 MΩ assumed by policy",
                "assumed by policy (400 V, random-wound): twice 5 MΩ for one phase with the other two earthed; random-wound stator, IEEE Std 43 cl. 12.3; IEEE Std 43 cl. 12.3 note, from memory"
            )
        );
        assert_eq!(
            of(Some(400.0), random, &nothing, "all-earth", Some(2500.0)),
            is(
                "100 MΩ assumed",
                "assumed for want of a rated voltage and a construction: form-wound stator, because it was tested at 2500 V, IEEE Std 43 cl. 12.3; by what the policy assumes (400 V, random-wound) it would be 5 MΩ, which is not followed because it is lower"
            )
        );
        let registered = nameplate(Construction::RandomWound, 480.0, 1995);
        assert_eq!(
            of(Some(6600.0), form, &registered, "all-earth", None),
            is("5 MΩ", "random-wound stator, IEEE Std 43 cl. 12.3")
        );
        let blank_construction = Nameplate { construction: None, ..nameplate(Construction::FormWound, 6600.0, 1995) };
        assert_eq!(
            of(Some(400.0), random, &blank_construction, "all-earth", None),
            is(
                "100 MΩ assumed",
                "assumed for want of a construction: form-wound stator made since 1970, IEEE Std 43 cl. 12.3; by what the policy assumes (random-wound) it would be 5 MΩ, which is not followed because it is lower"
            )
        );
        let field = Nameplate { construction: Some(Construction::Field), ..Nameplate::default() };
        assert_eq!(
            of(Some(3300.0), random, &field, "all-earth", None),
            is(
                "4.3 MΩ assumed by policy",
                "assumed by policy (3300 V): rated kV + 1 = 3.3 + 1 MΩ, IEEE Std 43 cl. 12.3"
            )
        );
        let own = Nameplate { minimum: Some(Resistance::from_megohms(2.0).unwrap()), ..Nameplate::default() };
        assert_eq!(of(Some(6600.0), form, &own, "all-earth", None).0, "2 MΩ as read");
        for construction in Construction::WORDS.map(|(construction, _)| construction) {
            for volts in [24.0, 400.0, 1000.0, 6600.0] {
                for year in [None, Some(1955), Some(1995)] {
                    for known in [
                        Nameplate { year_made: year, ..Nameplate::default() },
                        Nameplate { year_made: year, construction: Some(construction), ..Nameplate::default() },
                        Nameplate {
                            construction: None,
                            ..nameplate(Construction::FormWound, volts, year.unwrap_or(1995))
                        },
                    ] {
                        let without = minimum_of(&known, &Connection::AllEarth, None, None, &Policy::default());
                        for assumed_volts in [24.0, 400.0, 13_800.0] {
                            let assumed = SiteDefaults {
                                rated_voltage: Voltage::from_volts(assumed_volts).ok(),
                                construction: Some(construction),
                                ..SiteDefaults::default()
                            };
                            let policy = Policy { assumed, ..Policy::default() };
                            let with = minimum_of(&known, &Connection::AllEarth, None, None, &policy);
                            assert!(with.resistance >= without.resistance, "{with:?} {without:?}");
                        }
                    }
                }
            }
        }
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
        let found = |construction| {
            minimum_of(&nameplate(construction, 3000.0, 1995), &Connection::AllEarth, None, None, &policy)
        };
        assert_eq!(found(Construction::FormWound).rule, "RD 34.45-51.300-97 Table 5.3, stator at 40 °C");
        for other in [Construction::DcArmature, Construction::Field] {
            assert_eq!(found(other).rule, "rated kV + 1 = 3 + 1 MΩ, IEEE Std 43 cl. 12.3");
        }
    }

    /// The first year that counts as modern is 1970 itself, and 1000 V is no longer low voltage.
    #[test]
    fn the_edges_of_age_and_voltage_belong_to_the_higher_minimum() {
        let found = |volts, year| megohms(&nameplate(Construction::FormWound, volts, year), &Connection::AllEarth);
        assert_eq!([found(6600.0, 1969), found(6600.0, 1970)], ["7.6", "100"]);
        assert_eq!([found(999.0, 1970), found(1000.0, 1970)], ["5", "100"]);
    }

    #[test]
    fn a_limit_for_the_whole_site_is_used_only_where_the_policy_says_so() {
        let limit = Resistance::from_megohms(50.0).unwrap();
        let whole = &Connection::AllEarth;
        let nameplate = nameplate(Construction::RandomWound, 480.0, 1995);
        let fixed = Policy { minimum: MinimumChoice::Fixed, fixed_minimum: Some(limit), ..Policy::default() };
        let found = minimum_of(&nameplate, whole, None, None, &fixed);
        assert_eq!(
            (found.resistance, found.rule.as_str()),
            (limit, "the site's own limit, policy minimum.fixed_mohm, taken as read because no basis is given")
        );
        let unused = Policy { fixed_minimum: Some(limit), ..Policy::default() };
        assert_eq!(
            minimum_of(&nameplate, whole, None, None, &unused).rule,
            "random-wound stator, IEEE Std 43 cl. 12.3"
        );
    }

    #[test]
    fn a_form_wound_stator_of_unknown_year_is_taken_as_modern_and_that_is_said() {
        let unknown = Nameplate { year_made: None, ..nameplate(Construction::FormWound, 6600.0, 1995) };
        assert_eq!(
            minimum_of(&unknown, &Connection::AllEarth, None, None, &Policy::default()).rule,
            "form-wound stator made since 1970, year not known and taken as modern, IEEE Std 43 cl. 12.3"
        );
    }

    /// IEEE Std 43 cl. 12.3: what a rewind owes is by its own year. 4160 V of 1966 owes 4.16 + 1 MΩ, rewound in 2019 100 MΩ.
    #[test]
    fn a_rewound_winding_owes_what_its_rewind_owes() {
        for (construction, volts, made, rewound, before, after) in [
            (Construction::FormWound, 4160.0, 1966, 2019, "5.16", "100"),
            (Construction::FormWound, 13_800.0, 1958, 1994, "14.8", "100"),
            (Construction::RandomWound, 480.0, 1961, 2003, "1.48", "5"),
            (Construction::DcArmature, 600.0, 1964, 1988, "1.6", "5"),
            (Construction::FormWound, 6600.0, 1951, 1965, "7.6", "7.6"),
        ] {
            let old = nameplate(construction, volts, made);
            let new = Nameplate { year_rewound: Some(rewound), ..old.clone() };
            let both = [megohms(&old, &Connection::AllEarth), megohms(&new, &Connection::AllEarth)];
            assert_eq!(both, [before, after], "{construction} of {made}, rewound in {rewound}");
        }
        let new = Nameplate { year_rewound: Some(2019), ..nameplate(Construction::FormWound, 4160.0, 1966) };
        assert_eq!(
            minimum_of(&new, &Connection::AllEarth, None, None, &Policy::default()).rule,
            "form-wound stator rewound in 2019, IEEE Std 43 cl. 12.3"
        );
    }

    #[test]
    fn an_unknown_construction_owes_what_the_strictest_of_its_voltage_owes() {
        let of = |volts: Option<f64>, year: Option<i32>, tested_with: Option<f64>| {
            let nameplate = Nameplate {
                rated_voltage: volts.map(|volts| Voltage::from_volts(volts).unwrap()),
                year_made: year,
                ..Nameplate::default()
            };
            let tested_with = tested_with.map(|volts| Voltage::from_volts(volts).unwrap());
            let minimum = minimum_of(&nameplate, &Connection::AllEarth, None, tested_with, &Policy::default());
            let more = stricter_possible_minimum(&nameplate, &minimum).map(|more| more.to_string());
            (minimum.to_string(), minimum.rule, more.unwrap_or_default())
        };
        let is = |value: &str, rule: &str, more: &str| {
            (value.to_owned(), format!("{rule}, IEEE Std 43 cl. 12.3"), more.to_owned())
        };
        assert_eq!(
            of(Some(6600.0), Some(2010), None),
            is("100 MΩ assumed", "assumed for want of a construction: form-wound stator made since 1970", "")
        );
        assert_eq!(
            of(Some(1000.0), None, Some(1000.0)),
            is(
                "100 MΩ assumed",
                "assumed for want of a construction: form-wound stator made since 1970, year not known and taken as modern",
                ""
            )
        );
        assert_eq!(
            of(Some(690.0), None, None),
            is("5 MΩ assumed", "assumed for want of a construction: winding below 1 kV", "")
        );
        assert_eq!(of(Some(6600.0), Some(1962), None), is("7.6 MΩ", "rated kV + 1 = 6.6 + 1 MΩ", ""));
        let unrated = "assumed for want of a rated voltage and a construction: winding below 1 kV";
        assert_eq!(of(None, Some(1962), None), is("5 MΩ assumed", unrated, "100 MΩ"));
        assert_eq!(of(None, None, Some(1000.0)), is("5 MΩ assumed", unrated, "100 MΩ"));
        assert_eq!(of(None, None, Some(534.0)), is("5 MΩ assumed", unrated, "100 MΩ"));
        assert_eq!(
            of(None, None, Some(2500.0)),
            is(
                "100 MΩ assumed",
                "assumed for want of a rated voltage and a construction: form-wound stator, because it was tested at 2500 V",
                ""
            )
        );
    }

    /// IEEE Std 43 cl. 12.3: fields owe kV + 1; slip-ring rotors are windings of alternating current as stators are (common practice).
    #[test]
    fn rotors_fields_and_water_cooled_stators_have_their_own_minima() {
        let whole = &Connection::AllEarth;
        assert_eq!(megohms(&nameplate(Construction::WoundRotor, 690.0, 1995), whole), "5");
        assert_eq!(megohms(&nameplate(Construction::WoundRotor, 1400.0, 1995), whole), "100");
        assert_eq!(megohms(&nameplate(Construction::WoundRotor, 690.0, 1955), whole), "1.69");
        assert_eq!(megohms(&nameplate(Construction::BareField, 500.0, 1995), whole), "1.5");
        assert_eq!(megohms(&nameplate(Construction::WaterCooled, 20_000.0, 1990), whole), "100");
        assert_eq!(megohms(&nameplate(Construction::WaterCooledDrained, 20_000.0, 1990), whole), "100");
        let unrated = Nameplate { rated_voltage: None, ..nameplate(Construction::Field, 1.0, 1990) };
        let found = minimum_of(&unrated, whole, None, None, &Policy::default());
        assert_eq!(found.to_string(), "2 MΩ assumed");
        assert_eq!(
            found.rule,
            "assumed for want of a rated voltage: field winding of up to 1 kV, IEEE Std 43 cl. 12.3"
        );
    }

    /// IEC 60034-27-4:2018, from memory: the minima of IEEE Std 43.
    #[test]
    fn the_policy_may_choose_the_international_standard() {
        let policy = Policy { minimum: MinimumChoice::Iec60034, ..Policy::default() };
        let rule = |construction, volts, year| {
            minimum_of(&nameplate(construction, volts, year), &Connection::AllEarth, None, None, &policy).rule
        };
        assert_eq!(
            rule(Construction::FormWound, 6600.0, 1995),
            "form-wound stator made since 1970, IEC 60034-27-4:2018 (from memory)"
        );
        assert_eq!(
            rule(Construction::Field, 250.0, 1995),
            "rated kV + 1 = 0.25 + 1 MΩ, IEC 60034-27-4:2018 (from memory)"
        );
    }

    #[test]
    fn a_limit_of_the_site_says_what_it_is_held_against() {
        let limit = Resistance::from_megohms(100.0).unwrap();
        let found = |basis, of_site| {
            let own = Nameplate { minimum: Some(limit), minimum_basis: basis, ..Nameplate::default() };
            let policy = Policy { minimum_basis: of_site, ..Policy::default() };
            let minimum = minimum_of(&own, &Connection::AllEarth, None, None, &policy);
            (minimum.as_read, minimum.basis_assumed, minimum.rule)
        };
        let rule = |end: &str| format!("the site's own limit for this winding, {end}");
        let (as_read, reference) = (Some(LimitBasis::AsRead), Some(LimitBasis::Reference));
        assert_eq!(found(None, None), (Some(limit), true, rule("taken as read because no basis is given")));
        assert_eq!(found(as_read, reference), (Some(limit), false, rule("as read")));
        assert_eq!(found(None, as_read), (Some(limit), false, rule("as read")));
        assert_eq!(found(reference, as_read), (None, false, rule("at the reference temperature")));
    }

    /// ANSI/NETA MTS-2019 Table 100.1 at 20 °C; to 40 °C by 2^(−20/15) = 0.396850, which Table 100.14 rounds to 0.4 (from memory).
    /// IEC 60364-6 Table 6.1 as read.
    #[test]
    fn cables_and_circuits_have_tables_of_their_own() {
        let found = |construction, volts: f64, connection: &str| {
            let nameplate = nameplate(construction, volts, 2015);
            minimum_of(&nameplate, &Connection::read(connection), None, None, &Policy::default())
        };
        let cable = found(Construction::Cable, 6600.0, "U-earth");
        assert!((cable.resistance.as_megohms() / (2500.0 * 0.396_850) - 1.0).abs() < 1e-5, "{cable}");
        assert_eq!(
            cable.rule,
            "cable rated 6600 V, 2.5 GΩ at 20 °C, ANSI/NETA MTS-2019 Table 100.1 and Table 100.14 (from memory)"
        );
        for (volts, limit) in [(24.0, "0.5"), (50.0, "0.5"), (230.0, "1"), (500.0, "1"), (690.0, "1")] {
            let circuit = found(Construction::Circuit, volts, "U-earth");
            assert_eq!(three_digits(circuit.as_read.unwrap().as_megohms()), limit, "{volts} V");
        }
        assert_eq!(
            found(Construction::Circuit, 400.0, "L1-PE").rule,
            "circuit of 400 V, as read, IEC 60364-6 Table 6.1"
        );
    }
}
