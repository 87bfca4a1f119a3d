//! The site's rules: limits, confidence, intervals. Every threshold has a default, a range and a source.
//!
//! [`keys::KEYS`] is the one table from which the policy file is read, checked, documented and written: a threshold that
//! is not in it does not exist for the user.

pub mod keys;

use crate::nameplate::{Construction, Insulation, LimitBasis, Nameplate};
use crate::units::{
    ActivationTemperature, Power, Probability, Resistance, StandingTime, Temperature, TemperatureDifference, Voltage,
};
use std::error::Error;
use std::fmt;

/// Which temperature law corrects readings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LawChoice {
    /// By the insulation of the register: thermosetting, thermoplastic, or both where it is unknown.
    ByInsulation,
    /// A halving interval of the site's own, `halving_k`, for every winding.
    Halving,
    /// An activation temperature of the site's own, `activation_k`, for every winding.
    Activation,
}

/// Which rule gives the minimum where the register has none of the site's own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MinimumChoice {
    /// By construction, year and rated voltage: rated kV + 1, 100 or 5 MΩ.
    ByConstruction,
    /// The same minima by the international standard for machines.
    Iec60034,
    /// Rated kV + 1 MΩ for every winding.
    KilovoltsPlusOne,
    /// The table of stator minima by rated voltage and temperature, read at the reference temperature.
    ByTemperatureTable,
    /// `fixed_mohm` for every winding.
    Fixed,
}

/// All thresholds that decide.
///
/// # Examples
///
/// ```
/// use groundwall::policy::Policy;
/// let policy = Policy::default();
/// assert_eq!(policy.reference_temp.as_celsius(), 40.0);
/// assert_eq!(policy.horizon_days, 365);
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Policy {
    /// Temperature to which readings are corrected.
    pub reference_temp: Temperature,
    /// Which law corrects.
    pub law: LawChoice,
    /// Halving interval where `law` says so.
    pub halving: TemperatureDifference,
    /// Activation temperature where `law` says so.
    pub activation: ActivationTemperature,
    /// Whether readings may teach a law of their own where they beat the chosen one.
    pub learn_law: bool,
    /// How many times the minimum a reading whose temperature is in doubt must keep at the worst likely temperature to stand.
    pub doubt_margin: f64,
    /// Hours after which a machine that stood still has the temperature of the air.
    pub stood_hours: Option<StandingTime>,
    /// What a reading of zero means: less than this.
    pub zero_means_below: Resistance,
    /// Full scale of testers whose rows do not say it.
    pub full_scale: Option<Resistance>,
    /// Which rule gives the minimum.
    pub minimum: MinimumChoice,
    /// The minimum where `minimum` is fixed.
    pub fixed_minimum: Option<Resistance>,
    /// What the site's own limits are compared with where the register does not say it.
    pub minimum_basis: Option<LimitBasis>,
    /// Share of the reading with which a winding came into service below which that is said.
    pub commissioning_share: Option<f64>,
    /// First year of make that counts as modern insulation.
    pub modern_from_year: i32,
    /// What the site assumes of a winding where the register is silent.
    pub assumed: SiteDefaults,
    /// Planning horizon, days.
    pub horizon_days: u32,
    /// Usual interval between tests where the register has none, days.
    pub interval_days: u32,
    /// Usual interval between tests of a spare in store where the register has none, days.
    pub store_interval_days: u32,
    /// Days after drying out until the first test.
    pub dried_first_days: u32,
    /// Days after drying out until the second.
    pub dried_second_days: u32,
    /// A winding is overdue once its last test is older than its interval times this.
    pub overdue_factor: f64,
    /// Hold when the level is below the minimum today with more than this probability.
    pub hold_probability: Probability,
    /// Plan when the level gets below the minimum inside the horizon with at least this probability.
    pub plan_probability: Probability,
    /// Plan too when it gets there inside `shorten_horizons` horizons with at least this probability, and inside the first is not remote.
    pub plan_later_probability: Probability,
    /// A decline is certain when the level falls with more than this probability.
    pub falling_probability: Probability,
    /// Shorten when a certain decline gets below the minimum inside `shorten_horizons` horizons with at least this probability.
    pub shorten_probability: Probability,
    /// Shorten, whether the decline is certain or not, when it gets there inside them with at least this probability.
    pub shorten_likely_probability: Probability,
    /// Horizons looked ahead for `shorten` and `plan_later_probability`.
    pub shorten_horizons: f64,
    /// Exact readings in a stretch below which no trend is judged.
    pub trend_exact_readings: u32,
    /// Test again before the level is below the minimum with more than this probability.
    pub next_test_probability: Probability,
    /// Least polarization index, thermal class 105 (A).
    pub pi_minimum_class_105: f64,
    /// Least polarization index, thermal classes above 105 and unknown.
    pub pi_minimum: f64,
    /// Above this one-minute resistance, uncorrected, the polarization index says nothing.
    pub pi_not_meaningful_above: Resistance,
    /// Above this polarization index old insulation may be brittle.
    pub pi_brittle_above: f64,
    /// Share by which a ratio of timed readings must have fallen below its own usual value to be said.
    pub ratio_fall: f64,
    /// From this rated power on resistance and polarization index must both pass.
    pub both_must_pass_from: Power,
    /// Least dielectric absorption ratio R60/R30, where the site has one.
    pub dar_minimum: Option<f64>,
    /// A winding this close to the dew point was damp.
    pub dew_point_margin: TemperatureDifference,
    /// Greatest ratio of the highest phase to the lowest.
    pub phase_ratio_limit: f64,
    /// Output of the tester, as a multiple of its setting, above which it is out of tolerance.
    pub output_ratio_limit: f64,
    /// The register's words for how critical a machine is, the most critical first, separated by commas.
    pub criticality_order: String,
}

/// What the site assumes of a winding where the register says nothing of it: the cell is blank, or there is no register.
///
/// # Validity
///
/// Voltage and construction can raise a minimum, never lower it ([`crate::minimum::minimum_of`]). The insulation decides the temperature
/// law ([`crate::temperature::insulation_of`]). Nothing else follows from them: no test voltage, no group, no judgement of ratios.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct SiteDefaults {
    /// Rated voltage.
    pub rated_voltage: Option<Voltage>,
    /// How the windings are made.
    pub construction: Option<Construction>,
    /// Family of the insulation; unknown where the site assumes none.
    pub insulation: Insulation,
}

impl SiteDefaults {
    /// A nameplate with the assumed voltage and construction where it has none, and what was assumed in words; none where nothing is.
    ///
    /// # Examples
    ///
    /// ```
    /// use groundwall::nameplate::{Construction, Nameplate};
    /// use groundwall::policy::SiteDefaults;
    /// let defaults = SiteDefaults { construction: Some(Construction::FormWound), ..SiteDefaults::default() };
    /// let (filled, words) = defaults.fill(&Nameplate::default()).unwrap();
    /// assert_eq!((filled.construction, words.as_str()), (Some(Construction::FormWound), "form-wound"));
    /// assert_eq!(defaults.fill(&filled), None);
    /// ```
    #[must_use]
    pub fn fill(&self, nameplate: &Nameplate) -> Option<(Nameplate, String)> {
        let voltage = self.rated_voltage.filter(|_| nameplate.rated_voltage.is_none());
        let construction = self.construction.filter(|_| nameplate.construction.is_none());
        let words = [voltage.map(|volts| volts.to_string()), construction.map(|how| how.to_string())];
        let words: Vec<String> = words.into_iter().flatten().collect();
        (!words.is_empty()).then(|| {
            let filled = Nameplate {
                rated_voltage: nameplate.rated_voltage.or(voltage),
                construction: nameplate.construction.or(construction),
                ..nameplate.clone()
            };
            (filled, words.join(", "))
        })
    }
}

/// A threshold outside its range.
#[derive(Clone, Debug, PartialEq)]
pub struct OutsideRange {
    /// The section of the key.
    pub section: &'static str,
    /// Its name.
    pub name: &'static str,
    /// The value found.
    pub value: keys::Value,
    /// The rule it breaks.
    pub rule: String,
}

impl fmt::Display for OutsideRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "[{}] {} is {}; it must be {}", self.section, self.name, self.value, self.rule)
    }
}

impl Error for OutsideRange {}

impl Policy {
    /// Where a word of the register stands among those for criticality, the most critical first; what is not among them, and an
    /// empty cell, after all of them.
    ///
    /// # Examples
    ///
    /// ```
    /// use groundwall::policy::Policy;
    /// let policy = Policy { criticality_order: "vital, usual".to_owned(), ..Policy::default() };
    /// assert_eq!(policy.criticality_rank(Some("Usual ")), 1);
    /// assert_eq!(policy.criticality_rank(Some("spare")), policy.criticality_rank(None));
    /// ```
    #[must_use]
    pub fn criticality_rank(&self, word: Option<&str>) -> usize {
        let same = |one: &str| word.is_some_and(|word| one.trim().eq_ignore_ascii_case(word.trim()));
        let order = self.criticality_order.split(',');
        order.clone().position(same).unwrap_or(order.count())
    }

    /// Checks that every threshold is inside the range of its key. Policies read from a file are; one of your own making may not be, and
    /// a judgement by it means nothing.
    ///
    /// # Errors
    ///
    /// The first threshold that is not.
    ///
    /// # Examples
    ///
    /// ```
    /// use groundwall::policy::Policy;
    /// assert!(Policy::default().check().is_ok());
    /// let policy = Policy { doubt_margin: f64::NAN, ..Policy::default() };
    /// assert_eq!(policy.check().unwrap_err().to_string(), "[temperature] doubt_margin is not a number; it must be a number from 1 to 1000");
    /// ```
    pub fn check(&self) -> Result<(), OutsideRange> {
        let outside = keys::KEYS.iter().find(|key| !key.kind.allows(&key.get(self)));
        outside.map_or(Ok(()), |key| {
            Err(OutsideRange { section: key.section, name: key.name, value: key.get(self), rule: key.kind.rule() })
        })
    }
}

impl Default for Policy {
    fn default() -> Self {
        let megohms = Resistance::from_megohms_clamped;
        let chance = |value: f64| Probability::from_fraction(value).unwrap_or(Probability::GREATEST);
        let kelvins =
            |value: f64| TemperatureDifference::from_kelvins(value).unwrap_or(TemperatureDifference::GREATEST);
        Self {
            reference_temp: Temperature::from_celsius(40.0).unwrap_or(Temperature::GREATEST),
            law: LawChoice::ByInsulation,
            halving: kelvins(10.0),
            activation: ActivationTemperature::from_kelvins(4230.0).unwrap_or(ActivationTemperature::GREATEST),
            learn_law: true,
            doubt_margin: 10.0,
            stood_hours: StandingTime::from_hours(24.0).ok(),
            zero_means_below: megohms(0.1),
            full_scale: None,
            minimum: MinimumChoice::ByConstruction,
            fixed_minimum: None,
            minimum_basis: None,
            commissioning_share: Some(0.1),
            modern_from_year: 1970,
            assumed: SiteDefaults::default(),
            horizon_days: 365,
            interval_days: 91,
            store_interval_days: 182,
            dried_first_days: 7,
            dried_second_days: 30,
            overdue_factor: 1.0,
            hold_probability: chance(0.5),
            plan_probability: chance(0.3),
            plan_later_probability: chance(0.8),
            falling_probability: chance(0.999),
            shorten_probability: chance(0.2),
            shorten_likely_probability: chance(0.6),
            shorten_horizons: 3.0,
            trend_exact_readings: 3,
            next_test_probability: chance(0.05),
            pi_minimum_class_105: 1.5,
            pi_minimum: 2.0,
            pi_not_meaningful_above: megohms(5000.0),
            pi_brittle_above: 8.0,
            ratio_fall: 0.33,
            both_must_pass_from: Power::from_kilowatts(8000.0).unwrap_or(Power::GREATEST),
            dar_minimum: None,
            dew_point_margin: kelvins(3.0),
            phase_ratio_limit: 2.0,
            output_ratio_limit: 1.25,
            criticality_order: "critical, high, A, 1, medium, B, 2, low, C, 3, D, 4, E, 5".to_owned(),
        }
    }
}
