//! Temperature laws: what factor brings a resistance read at one temperature to another, and what that does not know.
//!
//! Insulation resistance falls steeply with temperature, so readings compare only at one reference temperature. Which law
//! holds depends on the insulation; choosing the wrong one can decide between pass and fail. A law therefore says its
//! range, its source, and how far its factor may be out.
//!
//! # References
//!
//! IEEE Std 43-2000 and 43-2013 cl. 6.3. The thermoplastic form was read in a guide to the 2013 edition; the constants of
//! the thermosetting form are from memory.

pub mod activation;
pub mod halving;
pub mod learnt;
mod used;

use crate::nameplate::{Construction, Insulation, InsulationFamily, Nameplate};
use crate::policy::{LawChoice, Policy};
use crate::units::{ActivationTemperature, Temperature, TemperatureDifference, three_digits};
pub use used::{LearntRange, UsedLaw};

/// Decades of doubt per kelvin beyond the range of a law: the slope of the steeper of the two standard laws, so that
/// beyond the range the flatter law is trusted no further than its distance from the steeper one.
const DOUBT_BEYOND_RANGE_PER_K: f64 = std::f64::consts::LOG10_2 / 10.0;
/// Range of all laws but the thermosetting one, °C.
const RANGE_FROM_C: f64 = 0.0;
const RANGE_TO_C: f64 = 100.0;

/// Falls of log10 R per 10 K that insulation can have: the resistance never rises with temperature, and hardly stays
/// (halving every 150 K); it never halves within less than 6 K. From memory: published laws halve every 8 to 50 K.
pub(crate) const FALLS_PER_10_K: (f64, f64) = (0.02, 0.5);
/// The rise that halves the resistance of a cable, K: ANSI/NETA Table 100.14 for solid insulation, from memory.
const CABLE_HALVING_K: f64 = 15.0;

/// A rule that brings a resistance from one temperature to another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum TemperatureLaw {
    /// The resistance halves with every such rise. Thermoplastic insulation: 10 K.
    Halving(TemperatureDifference),
    /// The two activation branches of thermosetting insulation, 10 to 85 °C.
    Thermosetting,
    /// One activation temperature of the site's own.
    Activation(ActivationTemperature),
    /// Solid insulation of cables and apparatus: halves every 15 K.
    Cable,
    /// Insulation unknown: the stricter of the thermoplastic and the thermosetting law, with half their distance as doubt.
    Either,
}

/// What a law says about one pair of temperatures.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Correction {
    /// log10 of the factor K: R(to) = K · R(at).
    pub log10_factor: f64,
    /// Standard deviation of `log10_factor` that is known beforehand, decades: from an unknown insulation, or from
    /// leaving the law's range. What a law gets wrong inside its range is left to the trend to find.
    pub log10_doubt: f64,
    /// Whether one of the temperatures is outside the range of the law.
    pub outside: bool,
}

impl Correction {
    /// The factor K: R(to) = K · R(at).
    #[must_use]
    pub fn factor(self) -> f64 {
        libm::exp10(self.log10_factor)
    }
}

/// The insulation family of a winding: as the register has it or allows to infer it, else the one that the policy assumes.
///
/// # Validity
///
/// The policy is followed only where nothing that is known speaks against it. A winding of thermal class A or of a year before
/// `minimum.modern_from_year` is not taken to be thermosetting, and one that is inferred to be thermosetting is not taken to be
/// thermoplastic: such a family is unknown, and the stricter law counts. So it is where a cell of the register could not be read.
///
/// # Examples
///
/// ```
/// use groundwall::nameplate::{Insulation, Nameplate};
/// use groundwall::policy::{Policy, SiteDefaults};
/// use groundwall::temperature::insulation_of;
/// let assumed = SiteDefaults { insulation: Insulation::Thermosetting, ..SiteDefaults::default() };
/// let policy = Policy { assumed, ..Policy::default() };
/// assert_eq!(insulation_of(&Nameplate::default(), &policy).family, Insulation::Thermosetting);
/// let old = Nameplate { year_made: Some(1962), ..Nameplate::default() };
/// assert_eq!(insulation_of(&old, &policy).family, Insulation::Unknown);
/// ```
#[must_use]
pub fn insulation_of(nameplate: &Nameplate, policy: &Policy) -> InsulationFamily {
    let known = nameplate.insulation_family();
    let silent = nameplate.insulation == Insulation::Unknown && nameplate.unread.is_empty();
    let assumed = policy.assumed.insulation;
    if !silent || assumed == Insulation::Unknown || assumed == known.family {
        return known;
    }
    let old_year = nameplate.year_of_winding().filter(|year| *year < policy.modern_from_year);
    let low_class = nameplate.thermal_class.filter(|class| class.degrees_celsius() <= SOFTENING_CLASS_C);
    let against = match (assumed, known.because, low_class, old_year) {
        (Insulation::Thermoplastic, Some(because), _, _) => Some(because),
        (Insulation::Thermosetting, _, Some(class), _) => Some(format!("thermal class {class}")),
        (Insulation::Thermosetting, _, None, Some(year)) => Some(format!("the year {year}")),
        _ => None,
    };
    match against {
        None => InsulationFamily { family: assumed, because: None, by_policy: true },
        Some(against) => InsulationFamily {
            family: Insulation::Unknown,
            because: Some(format!("the policy says {assumed} and the register {against}")),
            by_policy: false,
        },
    }
}

/// Thermal class A, °C: up to it binders are of the kinds that soften (from memory).
const SOFTENING_CLASS_C: u16 = 105;

impl TemperatureLaw {
    /// The thermoplastic law of the standard: halving every 10 K.
    #[must_use]
    pub fn thermoplastic() -> Self {
        Self::Halving(Policy::default().halving)
    }

    /// The law for a winding: the site's own where the policy says so, else by its insulation as [`insulation_of`] has it.
    ///
    /// # Examples
    ///
    /// ```
    /// use groundwall::{nameplate::Nameplate, policy::Policy, temperature::TemperatureLaw};
    /// // Nothing is known of the insulation: both families are possible.
    /// assert_eq!(TemperatureLaw::choose(&Nameplate::default(), &Policy::default()), TemperatureLaw::Either);
    /// ```
    #[must_use]
    pub fn choose(nameplate: &Nameplate, policy: &Policy) -> Self {
        let cable = matches!(nameplate.construction, Some(Construction::Cable | Construction::Circuit));
        match (policy.law, insulation_of(nameplate, policy).family) {
            (LawChoice::ByInsulation, _) if cable => Self::Cable,
            (LawChoice::Halving, _) => Self::Halving(policy.halving),
            (LawChoice::Activation, _) => Self::Activation(policy.activation),
            (LawChoice::ByInsulation, Insulation::Thermosetting) => Self::Thermosetting,
            (LawChoice::ByInsulation, Insulation::Thermoplastic) => Self::thermoplastic(),
            (LawChoice::ByInsulation, Insulation::Unknown) => Self::Either,
        }
    }

    /// The correction from one temperature to another.
    ///
    /// # Formula
    ///
    /// log10 K = h(at) − h(to), with h(T) = log10 of the factor from T to 40 °C:
    /// halving: (T − 40)·log10(2)/interval; activation: −B·(1/(T + 273) − 1/313)/ln 10. Insulation unknown: the lesser K of the two laws.
    ///
    /// # Units
    ///
    /// Temperatures in, a pure number out.
    ///
    /// # Validity
    ///
    /// Thermosetting: 10 to 85 °C; all others 0 to 100 °C ([`Self::range`]). Outside, the law is carried on, `outside` is set and the doubt
    /// grows by 0.03 decades per kelvin.
    ///
    /// # Examples
    ///
    /// A thermoplastic winding reads 100 MΩ at 10 °C; at 75 °C it would read 100/2^6.5 = 1.10 MΩ.
    ///
    /// ```
    /// use groundwall::{temperature::TemperatureLaw, units::Temperature};
    /// let (at, to) = (Temperature::from_celsius(10.0)?, Temperature::from_celsius(75.0)?);
    /// let factor = TemperatureLaw::thermoplastic().correction(at, to).factor();
    /// assert!((100.0 * factor - 1.10485).abs() < 5e-6);
    /// # Ok::<(), groundwall::units::OutOfRange>(())
    /// ```
    #[must_use]
    pub fn correction(self, at: Temperature, to: Temperature) -> Correction {
        let difference = |h: &dyn Fn(Temperature) -> f64| h(at) - h(to);
        match self {
            Self::Cable => {
                let factor = (at - to).as_kelvins() * std::f64::consts::LOG10_2 / CABLE_HALVING_K;
                self.doubted(factor, at, to)
            }
            Self::Halving(interval) => self.doubted(difference(&|t| halving::log10_factor_to_40(t, interval)), at, to),
            Self::Activation(own) => self.doubted(difference(&|t| activation::log10_factor_to_40(t, own)), at, to),
            Self::Thermosetting => self.doubted(difference(&activation::log10_thermosetting_to_40), at, to),
            Self::Either => {
                let steep = Self::thermoplastic().correction(at, to).log10_factor;
                let flat = Self::Thermosetting.correction(at, to);
                Correction {
                    log10_factor: steep.min(flat.log10_factor),
                    log10_doubt: libm::hypot((steep - flat.log10_factor) / 2.0, flat.log10_doubt),
                    outside: flat.outside,
                }
            }
        }
    }

    /// A correction with its doubt, which grows outside of the range of the law.
    fn doubted(self, log10_factor: f64, at: Temperature, to: Temperature) -> Correction {
        let (from, until) = self.range();
        let beyond = |t: Temperature| (from - t).as_kelvins().max((t - until).as_kelvins()).max(0.0);
        let beyond = beyond(at) + beyond(to);
        Correction { log10_factor, log10_doubt: beyond * DOUBT_BEYOND_RANGE_PER_K, outside: beyond > 0.0 }
    }

    /// The law in words.
    #[must_use]
    pub fn name(self) -> String {
        match self {
            Self::Halving(interval) => format!("halves every {interval}"),
            Self::Thermosetting => "thermosetting, two activation branches".to_owned(),
            Self::Activation(own) => format!("activation temperature {} K", three_digits(own.as_kelvins())),
            Self::Cable => "solid cable insulation, halves every 15 K".to_owned(),
            Self::Either => "insulation unknown: the stricter of the thermosetting and thermoplastic laws".to_owned(),
        }
    }

    /// The winding temperatures for which the law holds.
    ///
    /// # Examples
    ///
    /// ```
    /// use groundwall::temperature::TemperatureLaw;
    /// let celsius = |law: TemperatureLaw| (law.range().0.as_celsius(), law.range().1.as_celsius());
    /// assert_eq!(celsius(TemperatureLaw::Thermosetting), (10.0, 85.0));
    /// assert_eq!(celsius(TemperatureLaw::thermoplastic()), (0.0, 100.0));
    /// ```
    ///
    /// # References
    ///
    /// Thermosetting: IEEE Std 43-2013 cl. 6.3. The curve for thermoplastic insulation is drawn from 0 to 100 °C (from memory); laws of a
    /// site and that of cables are not taken further (common practice).
    #[must_use]
    pub fn range(self) -> (Temperature, Temperature) {
        match self {
            Self::Thermosetting | Self::Either => activation::range(),
            Self::Halving(_) | Self::Activation(_) | Self::Cable => {
                let at = |celsius| Temperature::from_celsius(celsius).unwrap_or(Temperature::LEAST);
                (at(RANGE_FROM_C), at(RANGE_TO_C))
            }
        }
    }

    /// Where the law comes from.
    #[must_use]
    pub fn source(self) -> &'static str {
        match self {
            Self::Thermosetting => "IEEE Std 43-2013 cl. 6.3, constants from memory",
            Self::Either => "IEEE Std 43-2013 cl. 6.3, both insulation families",
            Self::Halving(interval) if (interval.as_kelvins() - 10.0).abs() < 1e-9 => {
                "IEEE Std 43 cl. 6.3, thermoplastic"
            }
            Self::Cable => "ANSI/NETA MTS-2019 Table 100.14, solid insulation, from memory",
            Self::Halving(_) | Self::Activation(_) => "the site's own law",
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]
mod tests {
    use super::*;
    use crate::policy::SiteDefaults;
    use proptest::prelude::*;

    fn celsius(value: f64) -> Temperature {
        Temperature::from_celsius(value).unwrap()
    }

    fn laws() -> [TemperatureLaw; 4] {
        [
            TemperatureLaw::thermoplastic(),
            TemperatureLaw::Thermosetting,
            TemperatureLaw::Activation(ActivationTemperature::from_kelvins(3000.0).unwrap()),
            TemperatureLaw::Either,
        ]
    }

    proptest! {
        #[test]
        fn a_correction_inverts(at in -20.0f64..120.0, to in -20.0f64..120.0) {
            for law in laws().into_iter().filter(|law| *law != TemperatureLaw::Either) {
                let there = law.correction(celsius(at), celsius(to)).log10_factor;
                let back = law.correction(celsius(to), celsius(at)).log10_factor;
                prop_assert!((there + back).abs() < 1e-12);
            }
        }

        #[test]
        fn a_warmer_winding_is_corrected_upwards(at in 0.0f64..100.0, warmer in 0.1f64..20.0) {
            for law in laws() {
                let cool = law.correction(celsius(at), celsius(40.0)).log10_factor;
                let warm = law.correction(celsius(at + warmer), celsius(40.0)).log10_factor;
                prop_assert!(warm > cool);
            }
        }
    }

    /// By the two laws of IEEE Std 43-2013 cl. 6.3: thermoplastic 0.25 and thermosetting 0.762 at 20 °C, 4 and 2.25 at 60 °C.
    #[test]
    fn unknown_insulation_takes_the_stricter_law_and_says_how_far_the_other_is() {
        for (from, expected) in [(20.0, 0.25), (60.0, 2.251_675)] {
            let (at, to) = (celsius(from), celsius(40.0));
            let either = TemperatureLaw::Either.correction(at, to);
            let steep = TemperatureLaw::thermoplastic().correction(at, to).log10_factor;
            let flat = TemperatureLaw::Thermosetting.correction(at, to).log10_factor;
            assert!((either.factor() - expected).abs() < 1e-6, "{from}: {}", either.factor());
            assert!((either.log10_factor + 2.0 * either.log10_doubt - steep.max(flat)).abs() < 1e-12, "{from}");
        }
        // The same at another reference temperature, where the laws change places.
        let back = TemperatureLaw::Either.correction(celsius(30.0), celsius(20.0)).factor();
        assert!((back - 0.876_976 / 0.762_227).abs() < 1e-5, "{back}");
    }

    #[test]
    fn outside_the_range_is_said_and_doubted() {
        let inside = TemperatureLaw::Thermosetting.correction(celsius(10.0), celsius(40.0));
        let outside = TemperatureLaw::Thermosetting.correction(celsius(5.0), celsius(40.0));
        assert!(!inside.outside && inside.log10_doubt.abs() < 1e-12);
        assert!(outside.outside);
        assert!((outside.log10_doubt - 0.150_514_997_831_990_6).abs() < 1e-12);
    }

    fn kelvins(value: f64) -> TemperatureDifference {
        TemperatureDifference::from_kelvins(value).unwrap()
    }

    /// Both temperatures beyond the range add up: 5 K below and 5 K above are 10 K, a factor of 2.
    #[test]
    fn both_ends_of_a_correction_may_be_outside() {
        let found = TemperatureLaw::Thermosetting.correction(celsius(5.0), celsius(90.0));
        assert!((found.log10_doubt - 2f64.log10()).abs() < 1e-12);
        let at_the_end = TemperatureLaw::Thermosetting.correction(celsius(85.0), celsius(40.0));
        assert!(!at_the_end.outside);
    }

    #[test]
    fn every_law_has_its_words_its_source_and_its_range() {
        let range = (celsius(10.0), celsius(85.0));
        let wide = (celsius(0.0), celsius(100.0));
        for (law, name, source, holds) in [
            (TemperatureLaw::thermoplastic(), "halves every 10 K", "IEEE Std 43 cl. 6.3, thermoplastic", wide),
            (TemperatureLaw::Halving(kelvins(15.0)), "halves every 15 K", "the site's own law", wide),
            (
                TemperatureLaw::Activation(ActivationTemperature::from_kelvins(3000.0).unwrap()),
                "activation temperature 3000 K",
                "the site's own law",
                wide,
            ),
            (
                TemperatureLaw::Thermosetting,
                "thermosetting, two activation branches",
                "IEEE Std 43-2013 cl. 6.3, constants from memory",
                range,
            ),
            (
                TemperatureLaw::Either,
                "insulation unknown: the stricter of the thermosetting and thermoplastic laws",
                "IEEE Std 43-2013 cl. 6.3, both insulation families",
                range,
            ),
        ] {
            assert_eq!((law.name().as_str(), law.source(), law.range()), (name, source, holds));
        }
    }

    #[test]
    fn an_assumed_insulation_gives_way_to_what_the_register_says() {
        use crate::nameplate::ThermalClass;
        use Insulation::{Thermoplastic, Thermosetting, Unknown};
        let of = |assumed, insulation, class: &str, year, unread: &[&str]| {
            let assumed = SiteDefaults { insulation: assumed, ..SiteDefaults::default() };
            let nameplate = Nameplate {
                insulation,
                thermal_class: ThermalClass::read(class),
                year_made: year,
                unread: unread.iter().map(|cell| (*cell).to_owned()).collect(),
                ..Nameplate::default()
            };
            let found = insulation_of(&nameplate, &Policy { assumed, ..Policy::default() });
            (found.family, found.because.unwrap_or_default(), found.by_policy)
        };
        let is = |family, because: &str, by_policy| (family, because.to_owned(), by_policy);
        assert_eq!(of(Thermosetting, Unknown, "", None, &[]), is(Thermosetting, "", true));
        assert_eq!(of(Thermoplastic, Unknown, "", None, &[]), is(Thermoplastic, "", true));
        assert_eq!(of(Thermosetting, Thermoplastic, "", None, &[]), is(Thermoplastic, "", false));
        assert_eq!(of(Thermoplastic, Thermosetting, "", None, &[]), is(Thermosetting, "", false));
        assert_eq!(of(Thermosetting, Unknown, "F", None, &[]), is(Thermosetting, "thermal class F", false));
        assert_eq!(of(Thermosetting, Unknown, "", None, &["insulation epxy"]), is(Unknown, "", false));
        assert_eq!(
            of(Thermosetting, Unknown, "", Some(1962), &[]),
            is(Unknown, "the policy says thermosetting and the register the year 1962", false)
        );
        assert_eq!(
            of(Thermosetting, Unknown, "A", None, &[]),
            is(Unknown, "the policy says thermosetting and the register thermal class A", false)
        );
        assert_eq!(
            of(Thermoplastic, Unknown, "", Some(2011), &[]),
            is(Unknown, "the policy says thermoplastic and the register the year 2011", false)
        );
    }

    #[test]
    fn the_policy_and_the_insulation_choose_the_law() {
        let nameplate = |insulation| Nameplate { insulation, ..Nameplate::default() };
        let chosen =
            |law, insulation| TemperatureLaw::choose(&nameplate(insulation), &Policy { law, ..Policy::default() });
        assert_eq!(chosen(LawChoice::ByInsulation, Insulation::Unknown), TemperatureLaw::Either);
        assert_eq!(chosen(LawChoice::ByInsulation, Insulation::Thermoplastic), TemperatureLaw::Halving(kelvins(10.0)));
        assert_eq!(chosen(LawChoice::ByInsulation, Insulation::Thermosetting), TemperatureLaw::Thermosetting);
        assert_eq!(
            chosen(LawChoice::Activation, Insulation::Thermosetting),
            TemperatureLaw::Activation(ActivationTemperature::from_kelvins(4230.0).unwrap())
        );
        assert_eq!(chosen(LawChoice::Halving, Insulation::Thermosetting), TemperatureLaw::Halving(kelvins(10.0)));
    }
}
