//! The table of policy keys: section, name, kind and range, what it means, where the default comes from.

use super::{LawChoice, MinimumChoice, Policy};
use crate::nameplate::{Construction, Insulation, LimitBasis};
use crate::units::{
    ActivationTemperature, Power, Probability, Resistance, StandingTime, Temperature, TemperatureDifference, Voltage,
};
use std::error::Error;
use std::fmt;

/// What a key may hold.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Kind {
    /// A number from `least` to `greatest`.
    Number {
        /// Least value allowed.
        least: f64,
        /// Greatest value allowed.
        greatest: f64,
    },
    /// A number, or the word `none`.
    NumberOrNone {
        /// Least value allowed.
        least: f64,
        /// Greatest value allowed.
        greatest: f64,
    },
    /// A whole number from `least` to `greatest`.
    Whole {
        /// Least value allowed.
        least: f64,
        /// Greatest value allowed.
        greatest: f64,
    },
    /// One of these words.
    Word(&'static [&'static str]),
    /// The site's own words, separated by commas; they may be none.
    List,
}

impl Kind {
    /// The rule in words: "a number from 0 to 1".
    #[must_use]
    pub fn rule(self) -> String {
        match self {
            Self::Number { least, greatest } => format!("a number from {least} to {greatest}"),
            Self::NumberOrNone { least, greatest } => format!("a number from {least} to {greatest}, or \"none\""),
            Self::Whole { least, greatest } => format!("a whole number from {least} to {greatest}"),
            Self::Word(words) => {
                let quoted: Vec<String> = words.iter().map(|word| format!("\"{word}\"")).collect();
                format!("one of {}", quoted.join(", "))
            }
            Self::List => format!(
                "at most {LIST_MOST} characters: words separated by commas, without quotes, backslashes and line breaks"
            ),
        }
    }

    /// Whether a value obeys the rule.
    #[must_use]
    pub fn allows(self, value: &Value) -> bool {
        match (self, value) {
            (Self::Number { least, greatest } | Self::NumberOrNone { least, greatest }, Value::Number(number)) => {
                *number >= least && *number <= greatest
            }
            (Self::Whole { least, greatest }, Value::Number(number)) => {
                *number >= least && *number <= greatest && number.fract() == 0.0
            }
            (Self::NumberOrNone { .. }, Value::Word(word)) => word == "none",
            (Self::Word(words), Value::Word(word)) => words.contains(&word.as_str()),
            (Self::List, Value::Word(list)) => {
                list.chars().count() <= LIST_MOST && !list.contains(|c: char| matches!(c, '"' | '\\') || c.is_control())
            }
            _ => false,
        }
    }
}

/// Most characters of a list of words.
const LIST_MOST: usize = 400;

/// A value as a policy file holds it.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize), serde(untagged))]
pub enum Value {
    /// A number.
    Number(f64),
    /// A word.
    Word(String),
}

impl fmt::Display for Value {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Number(number) if number.is_nan() => f.write_str("not a number"),
            Self::Number(number) => write!(f, "{number}"),
            Self::Word(word) => write!(f, "\"{word}\""),
        }
    }
}

/// A value that a key may not hold.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Disallowed {
    /// What the key may hold, in words.
    pub rule: String,
}

impl fmt::Display for Disallowed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.rule)
    }
}

impl Error for Disallowed {}

/// One key of the policy.
pub struct Key {
    /// Section of the file.
    pub section: &'static str,
    /// Name inside the section, with its unit.
    pub name: &'static str,
    /// What it may hold.
    pub kind: Kind,
    /// What it means.
    pub meaning: &'static str,
    /// Where the default comes from.
    pub source: &'static str,
    read: fn(&Policy) -> Value,
    write: fn(&mut Policy, &Value),
}

impl Key {
    /// The key's value in a policy.
    #[must_use]
    pub fn get(&self, policy: &Policy) -> Value {
        (self.read)(policy)
    }

    /// Sets the key's value.
    ///
    /// # Errors
    ///
    /// [`Disallowed`] with the rule, when the value breaks it; the policy is then unchanged.
    ///
    /// # Examples
    ///
    /// ```
    /// use groundwall::policy::{Policy, keys::{Disallowed, Key, Value}};
    /// let mut policy = Policy::default();
    /// let key = Key::find("temperature", "reference_c").unwrap();
    /// key.set(&mut policy, &Value::Number(25.0))?;
    /// assert_eq!(policy.reference_temp.as_celsius(), 25.0);
    /// assert!(key.set(&mut policy, &Value::Number(4000.0)).is_err());
    /// # Ok::<(), Disallowed>(())
    /// ```
    pub fn set(&self, policy: &mut Policy, value: &Value) -> Result<(), Disallowed> {
        if !self.kind.allows(value) {
            return Err(Disallowed { rule: self.kind.rule() });
        }
        (self.write)(policy, value);
        Ok(())
    }

    /// Finds a key by section and name.
    #[must_use]
    pub fn find(section: &str, name: &str) -> Option<&'static Self> {
        KEYS.iter().find(|key| key.section == section && key.name == name)
    }
}

fn word(text: &str) -> Value {
    Value::Word(text.to_owned())
}

fn or_none(value: Option<f64>) -> Value {
    value.map_or_else(|| word("none"), Value::Number)
}

fn megohms(value: &Value) -> Option<Resistance> {
    match value {
        Value::Number(number) => Resistance::from_megohms(*number).ok(),
        Value::Word(_) => None,
    }
}

fn number(value: &Value, into: impl FnOnce(f64)) {
    if let Value::Number(number) = value {
        into(*number);
    }
}

macro_rules! keys {
    ($($section:literal $name:literal $kind:expr, $meaning:literal, $source:literal, $read:expr, $write:expr;)*) => {
        /// Every key, in the order of the template.
        pub static KEYS: &[Key] = &[$(Key {
            section: $section, name: $name, kind: $kind, meaning: $meaning, source: $source, read: $read, write: $write,
        }),*];
    };
}

/// A range of numbers, for the table.
const fn range(least: f64, greatest: f64) -> Kind {
    Kind::Number { least, greatest }
}

const fn whole(least: f64, greatest: f64) -> Kind {
    Kind::Whole { least, greatest }
}

const fn range_or_none(least: f64, greatest: f64) -> Kind {
    Kind::NumberOrNone { least, greatest }
}

const LAWS: [(&str, LawChoice); 3] = [
    ("by-insulation", LawChoice::ByInsulation),
    ("halving", LawChoice::Halving),
    ("activation", LawChoice::Activation),
];
const MINIMA: [(&str, MinimumChoice); 5] = [
    ("by-construction", MinimumChoice::ByConstruction),
    ("iec-60034-27-4", MinimumChoice::Iec60034),
    ("kv-plus-one", MinimumChoice::KilovoltsPlusOne),
    ("by-temperature-table", MinimumChoice::ByTemperatureTable),
    ("fixed", MinimumChoice::Fixed),
];

const BASES: [(&str, Option<LimitBasis>); 3] =
    [("none", None), ("as-read", Some(LimitBasis::AsRead)), ("reference", Some(LimitBasis::Reference))];

/// The constructions that may be assumed of a winding: cables and circuits have laws and minima of their own, which only the register gives.
const CONSTRUCTIONS: [(&str, Option<Construction>); 9] = [
    ("none", None),
    ("form-wound", Some(Construction::FormWound)),
    ("random-wound", Some(Construction::RandomWound)),
    ("dc-armature", Some(Construction::DcArmature)),
    ("field", Some(Construction::Field)),
    ("bare-field", Some(Construction::BareField)),
    ("wound-rotor", Some(Construction::WoundRotor)),
    ("water-cooled", Some(Construction::WaterCooled)),
    ("water-cooled-drained", Some(Construction::WaterCooledDrained)),
];
const INSULATIONS: [(&str, Insulation); 3] = [
    ("none", Insulation::Unknown),
    ("thermosetting", Insulation::Thermosetting),
    ("thermoplastic", Insulation::Thermoplastic),
];

fn set_word<C: Copy>(choices: &[(&str, C)], value: &Value, field: &mut C) {
    if let Value::Word(text) = value
        && let Some((_, choice)) = choices.iter().find(|(name, _)| name == text)
    {
        *field = *choice;
    }
}

fn word_of<C: PartialEq>(choices: &[(&str, C)], choice: &C) -> Value {
    word(choices.iter().find(|(_, c)| c == choice).map_or("", |(name, _)| name))
}

fn set_chance(field: &mut Probability, value: &Value) {
    number(value, |n| *field = Probability::from_fraction(n).unwrap_or(*field));
}

fn set_kelvins(field: &mut TemperatureDifference, value: &Value) {
    number(value, |n| *field = TemperatureDifference::from_kelvins(n).unwrap_or(*field));
}

keys! {
    "temperature" "reference_c" range(0.0, 100.0),
        "Temperature to which every reading is corrected, °C.", "IEEE Std 43 cl. 6.3: 40 °C",
        |p| Value::Number(p.reference_temp.as_celsius()),
        |p, v| number(v, |n| p.reference_temp = Temperature::from_celsius(n).unwrap_or(p.reference_temp));
    "temperature" "law" Kind::Word(&["by-insulation", "halving", "activation"]),
        "Which law corrects: the standard's for the insulation of the register, or one of the site's own.",
        "IEEE Std 43-2013 cl. 6.3",
        |p| word_of(&LAWS, &p.law), |p, v| set_word(&LAWS, v, &mut p.law);
    "temperature" "halving_k" range(4.0, 100.0),
        "Rise in kelvins that halves the resistance; used when law = \"halving\".",
        "IEEE Std 43 cl. 6.3, thermoplastic: 10 K; MIL-M-17413A: 15 K",
        |p| Value::Number(p.halving.as_kelvins()), |p, v| set_kelvins(&mut p.halving, v);
    "temperature" "activation_k" range(500.0, 20000.0),
        "Activation temperature in kelvins; used when law = \"activation\".",
        "IEEE Std 43-2013 cl. 6.3, thermosetting above 40 °C: 4230 K (from memory)",
        |p| Value::Number(p.activation.as_kelvins()),
        |p, v| number(v, |n| p.activation = ActivationTemperature::from_kelvins(n).unwrap_or(p.activation));
    "temperature" "learn" Kind::Word(&["yes", "no"]),
        "Whether readings at different temperatures may yield a halving interval of their own, used where the evidence beats the chosen law.",
        "IEEE Std 43 cl. 6.3 (from memory): own factor from tests at several temperatures",
        |p| word(if p.learn_law { "yes" } else { "no" }), |p, v| p.learn_law = *v == word("yes");
    "temperature" "doubt_margin" range(1.0, 1000.0),
        "A reading with no temperature, or one outside its law, is accepted only if it is at least this many times the minimum at the worst likely temperature.",
        "this project's own choice",
        |p| Value::Number(p.doubt_margin), |p, v| number(v, |n| p.doubt_margin = n);
    "temperature" "stood_hours" range_or_none(1.0, 10_000.0),
        "A machine that stood still for this long, or in store, has the temperature of the air where its own was not written down.",
        "common practice: a day; large machines need longer",
        |p| or_none(p.stood_hours.map(StandingTime::as_hours)),
        |p, v| p.stood_hours = match v { Value::Number(n) => StandingTime::from_hours(*n).ok(), Value::Word(_) => None };
    "readings" "zero_means_below_mohm" range(0.000_001, 10.0),
        "A reading of 0 means less than this, MΩ.", "common practice: least division of a megohm scale",
        |p| Value::Number(p.zero_means_below.as_megohms()),
        |p, v| if let Some(r) = megohms(v) { p.zero_means_below = r };
    "readings" "full_scale_mohm" range_or_none(1.0, 100_000_000.0),
        "Largest value the testers can show, MΩ, where a row does not say it; without it OL stays without a limit.",
        "the site's testers",
        |p| or_none(p.full_scale.map(Resistance::as_megohms)), |p, v| p.full_scale = megohms(v);
    "minimum" "rule" Kind::Word(&["by-construction", "iec-60034-27-4", "kv-plus-one", "by-temperature-table", "fixed"]),
        "Which rule gives the least acceptable one-minute resistance where the register has none.",
        "IEEE Std 43 cl. 12.3; IEC 60034-27-4:2018 (the same minima, from memory); RD 34.45-51.300-97 Table 5.3",
        |p| word_of(&MINIMA, &p.minimum), |p, v| set_word(&MINIMA, v, &mut p.minimum);
    "minimum" "fixed_mohm" range_or_none(0.001, 1_000_000.0),
        "The minimum of every winding, MΩ; needed when rule = \"fixed\".", "the site's own limit",
        |p| or_none(p.fixed_minimum.map(Resistance::as_megohms)), |p, v| p.fixed_minimum = megohms(v);
    "minimum" "basis" Kind::Word(&["none", "as-read", "reference"]),
        "What the site's own limits are compared with where the register has no minimum_basis: readings as read, or at the reference temperature. With none they are taken as read, and a reading that would fail at the reference temperature is doubted.",
        "this project's own choice",
        |p| word_of(&BASES, &p.minimum_basis), |p, v| set_word(&BASES, v, &mut p.minimum_basis);
    "minimum" "modern_from_year" whole(1900.0, 2100.0),
        "First year of make or rewind counted as modern insulation.", "IEEE Std 43 cl. 12.3: about 1970",
        |p| Value::Number(f64::from(p.modern_from_year)), |p, v| number(v, |n| p.modern_from_year = n as i32);
    "minimum" "commissioning_share" range_or_none(0.001, 1.0),
        "A reading below this share of the one with which the winding was commissioned, rewound or replaced is said.",
        "common practice: a tenth",
        |p| or_none(p.commissioning_share),
        |p, v| p.commissioning_share = match v { Value::Number(n) => Some(*n), Value::Word(_) => None };
    "assumed" "rated_volts" range_or_none(1.0, 100_000.0),
        "Rated voltage of the site's windings, V, where the register is silent. It can raise a minimum, never lower one.",
        "the site's windings",
        |p| or_none(p.assumed.rated_voltage.map(Voltage::as_volts)),
        |p, v| p.assumed.rated_voltage = match v { Value::Number(n) => Voltage::from_volts(*n).ok(), Value::Word(_) => None };
    "assumed" "construction" Kind::Word(&[
            "none", "form-wound", "random-wound", "dc-armature", "field", "bare-field", "wound-rotor", "water-cooled",
            "water-cooled-drained",
        ]),
        "Construction of the site's windings where the register is silent. It can raise a minimum, never lower one.",
        "the site's windings",
        |p| word_of(&CONSTRUCTIONS, &p.assumed.construction), |p, v| set_word(&CONSTRUCTIONS, v, &mut p.assumed.construction);
    "assumed" "insulation" Kind::Word(&["none", "thermosetting", "thermoplastic"]),
        "Insulation of the site's windings where the register is silent; it decides the temperature law. With none, the stricter of both laws is used.",
        "the site's windings",
        |p| word_of(&INSULATIONS, &p.assumed.insulation), |p, v| set_word(&INSULATIONS, v, &mut p.assumed.insulation);
    "decision" "horizon_days" whole(1.0, 3650.0),
        "Planning horizon, days: usually the time to the next outage.", "common practice: one year",
        |p| Value::Number(f64::from(p.horizon_days)), |p, v| number(v, |n| p.horizon_days = n as u32);
    "decision" "interval_days" whole(1.0, 3650.0),
        "Usual interval between tests where the register has none, days.", "common practice: quarterly",
        |p| Value::Number(f64::from(p.interval_days)), |p, v| number(v, |n| p.interval_days = n as u32);
    "decision" "store_interval_days" whole(1.0, 3650.0),
        "Usual interval between tests of a spare in store where the register has none, days.",
        "common practice: half a year",
        |p| Value::Number(f64::from(p.store_interval_days)), |p, v| number(v, |n| p.store_interval_days = n as u32);
    "decision" "dried_first_days" whole(1.0, 365.0),
        "Days after drying out until the first test.", "common practice: a week",
        |p| Value::Number(f64::from(p.dried_first_days)), |p, v| number(v, |n| p.dried_first_days = n as u32);
    "decision" "dried_second_days" whole(1.0, 365.0),
        "Days after drying out until the second test.", "common practice: a month",
        |p| Value::Number(f64::from(p.dried_second_days)), |p, v| number(v, |n| p.dried_second_days = n as u32);
    "decision" "overdue_factor" range(1.0, 10.0),
        "A winding is overdue once its last test is older than its interval times this.", "common practice",
        |p| Value::Number(p.overdue_factor), |p, v| number(v, |n| p.overdue_factor = n);
    "decision" "hold_probability" range(0.01, 0.99),
        "hold: the level is below the minimum today with more than this probability.", "this project's own choice",
        |p| Value::Number(p.hold_probability.as_fraction()), |p, v| set_chance(&mut p.hold_probability, v);
    "decision" "plan_probability" range(0.01, 0.99),
        "plan: the level gets below the minimum inside the horizon with at least this probability.",
        "this project's own choice",
        |p| Value::Number(p.plan_probability.as_fraction()), |p, v| set_chance(&mut p.plan_probability, v);
    "decision" "plan_later_probability" range(0.01, 0.99),
        "plan: the level gets below the minimum inside shorten_horizons horizons with at least this probability, and inside the first with more than next_test_probability.",
        "this project's own choice",
        |p| Value::Number(p.plan_later_probability.as_fraction()), |p, v| set_chance(&mut p.plan_later_probability, v);
    "decision" "falling_probability" range(0.5, 0.9999),
        "A decline is certain when the level falls with more than this probability.", "this project's own choice",
        |p| Value::Number(p.falling_probability.as_fraction()), |p, v| set_chance(&mut p.falling_probability, v);
    "decision" "shorten_probability" range(0.001, 0.99),
        "shorten: a certain decline that gets below the minimum inside shorten_horizons horizons with at least this probability.",
        "this project's own choice",
        |p| Value::Number(p.shorten_probability.as_fraction()), |p, v| set_chance(&mut p.shorten_probability, v);
    "decision" "shorten_likely_probability" range(0.001, 0.99),
        "shorten: the level gets below the minimum inside shorten_horizons horizons with at least this probability.",
        "this project's own choice",
        |p| Value::Number(p.shorten_likely_probability.as_fraction()), |p, v| set_chance(&mut p.shorten_likely_probability, v);
    "decision" "shorten_horizons" range(1.0, 20.0),
        "Horizons looked ahead for shorten and plan_later_probability.", "this project's own choice",
        |p| Value::Number(p.shorten_horizons), |p, v| number(v, |n| p.shorten_horizons = n);
    "decision" "trend_exact_readings" whole(3.0, 100.0),
        "Exact readings in the stretch below which no trend is judged.", "this project's own choice",
        |p| Value::Number(f64::from(p.trend_exact_readings)), |p, v| number(v, |n| p.trend_exact_readings = n as u32);
    "decision" "next_test_probability" range(0.001, 0.5),
        "Test again before the level is below the minimum with more than this probability.", "this project's own choice",
        |p| Value::Number(p.next_test_probability.as_fraction()), |p, v| set_chance(&mut p.next_test_probability, v);
    "ratios" "pi_minimum_class_105" range(1.0, 10.0),
        "Least polarization index of thermal class 105 (A).", "IEEE Std 43-2000 cl. 12.2: 1.5",
        |p| Value::Number(p.pi_minimum_class_105), |p, v| number(v, |n| p.pi_minimum_class_105 = n);
    "ratios" "pi_minimum" range(1.0, 10.0),
        "Least polarization index of all other thermal classes.", "IEEE Std 43-2000 cl. 12.2: 2.0",
        |p| Value::Number(p.pi_minimum), |p, v| number(v, |n| p.pi_minimum = n);
    "ratios" "pi_not_meaningful_above_mohm" range(100.0, 100_000_000.0),
        "Above this one-minute resistance, MΩ, the polarization index is not a measure of condition.",
        "IEEE Std 43-2000 cl. 12.2: 5000 MΩ",
        |p| Value::Number(p.pi_not_meaningful_above.as_megohms()),
        |p, v| if let Some(r) = megohms(v) { p.pi_not_meaningful_above = r };
    "ratios" "pi_brittle_above" range(3.0, 100.0),
        "Above this polarization index old insulation may be dry and brittle.", "IEEE Std 43-2000 cl. 12.2: 8",
        |p| Value::Number(p.pi_brittle_above), |p, v| number(v, |n| p.pi_brittle_above = n);
    "ratios" "fall" range(0.05, 0.95),
        "A polarization index or absorption ratio that has fallen by more than this share of its own usual value is said.",
        "this project's own choice: a third",
        |p| Value::Number(p.ratio_fall), |p, v| number(v, |n| p.ratio_fall = n);
    "ratios" "both_must_pass_from_kw" range(100.0, 1_000_000.0),
        "From this rated power on, kW, resistance and polarization index must both pass.",
        "IEEE Std 43 cl. 12.1: above 10 MVA (from memory); 8000 kW is 10 MVA at a power factor of 0.8",
        |p| Value::Number(p.both_must_pass_from.as_kilowatts()),
        |p, v| number(v, |n| p.both_must_pass_from = Power::from_kilowatts(n).unwrap_or(p.both_must_pass_from));
    "ratios" "dar_minimum" range_or_none(1.0, 10.0),
        "Least dielectric absorption ratio R60/R30, for sites that judge by one.",
        "none in IEEE Std 43; ANSI/NETA MTS cl. 7.15.1: 1.4 (from memory)",
        |p| or_none(p.dar_minimum),
        |p, v| p.dar_minimum = match v { Value::Number(n) => Some(*n), Value::Word(_) => None };
    "damp" "dew_point_margin_k" range(0.0, 20.0),
        "A winding within this many kelvins of the dew point, or below it, was damp when tested.",
        "IEEE Std 43 cl. 6.2: above the dew point (from memory); the margin is common practice",
        |p| Value::Number(p.dew_point_margin.as_kelvins()), |p, v| set_kelvins(&mut p.dew_point_margin, v);
    "phases" "ratio_limit" range(1.0, 100.0),
        "Greatest ratio of the highest phase to the lowest on the same day.", "GB 50150-2006 cl. 3.0.2: 2",
        |p| Value::Number(p.phase_ratio_limit), |p, v| number(v, |n| p.phase_ratio_limit = n);
    "voltage" "output_ratio_limit" range(1.0, 3.0),
        "Measured output of the tester above this multiple of its setting is out of tolerance.",
        "IEC 61557-2 cl. 4.2: 1.25 (from memory)",
        |p| Value::Number(p.output_ratio_limit), |p, v| number(v, |n| p.output_ratio_limit = n);
    "list" "criticality_order" Kind::List,
        "The register's words for criticality, the most critical first: the order inside one action. Other words come last; an empty list leaves criticality out.",
        "common practice",
        |p| word(&p.criticality_order),
        |p, v| if let Value::Word(list) = v { p.criticality_order.clone_from(list); };
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_default_obeys_its_own_rule_and_survives_a_round_trip() {
        let policy = Policy::default();
        let mut copy = Policy { horizon_days: 1, interval_days: 1, ..Policy::default() };
        for key in KEYS {
            let value = key.get(&policy);
            assert!(key.kind.allows(&value), "{}.{} = {value:?}", key.section, key.name);
            assert_eq!(key.set(&mut copy, &value), Ok(()), "{}.{}", key.section, key.name);
            assert_eq!(key.get(&copy), value, "{}.{}", key.section, key.name);
        }
        assert_eq!(copy, policy);
    }

    #[test]
    fn a_value_out_of_range_is_refused_with_the_rule_and_changes_nothing() {
        let mut policy = Policy::default();
        let refusal = Key::find("decision", "horizon_days").map(|key| key.set(&mut policy, &Value::Number(0.5)));
        assert_eq!(refusal, Some(Err(Disallowed { rule: "a whole number from 1 to 3650".to_owned() })));
        assert_eq!(policy, Policy::default());
    }

    #[test]
    fn every_key_writes_the_field_it_reads() {
        for key in KEYS {
            let mut policy = Policy::default();
            let other = match key.kind {
                Kind::Number { least, greatest } | Kind::NumberOrNone { least, greatest } => {
                    Value::Number(least + (greatest - least) / 4.0)
                }
                Kind::Whole { least, .. } => Value::Number(least + 7.0),
                Kind::Word(words) => word(words[words.len() - 1]),
                Kind::List => word("vital, usual"),
            };
            assert_eq!(key.set(&mut policy, &other), Ok(()));
            let same = match (key.get(&policy), &other) {
                (Value::Number(a), Value::Number(b)) => (a / b - 1.0).abs() < 1e-12,
                (a, b) => a == *b,
            };
            assert!(same, "{}.{}", key.section, key.name);
        }
    }
}
