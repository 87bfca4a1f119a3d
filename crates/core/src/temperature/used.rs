//! The law in use for one winding: the assumed one, replaced by a learnt one at the temperatures it was learnt at.

use super::{Correction, TemperatureLaw, halving};
use crate::units::{Temperature, TemperatureDifference};

/// Decades of doubt per kelvin beyond the temperatures of the tests: the spread of slopes among windings (from memory), 0.06
/// decades per 10 K.
const DOUBT_PER_K: f64 = 0.006;

/// A halving interval learnt from readings, with the temperatures at which they were made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LearntRange {
    /// The rise that halves the resistance.
    pub interval: TemperatureDifference,
    /// Coldest test.
    pub from: Temperature,
    /// Warmest test.
    pub to: Temperature,
}

/// The law that corrects the readings of one winding.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UsedLaw {
    /// The law by insulation, or the site's own.
    pub assumed: TemperatureLaw,
    /// What replaces it, and where.
    pub learnt: Option<LearntRange>,
}

impl From<TemperatureLaw> for UsedLaw {
    fn from(assumed: TemperatureLaw) -> Self {
        Self { assumed, learnt: None }
    }
}

impl UsedLaw {
    /// The correction from one temperature to another.
    ///
    /// # Formula
    ///
    /// The learnt interval between the coldest and the warmest test, the assumed law from there on:
    /// log10 K = (c(at) − c(to))·log10(2)/interval + log10 K_assumed(at → c(at)) + log10 K_assumed(c(to) → to),
    /// c(T) = T held between the two.
    ///
    /// # Validity
    ///
    /// A learnt law says nothing beyond its tests: there the doubt of the assumed law counts, and grows by 0.006 decades per
    /// kelvin of distance.
    ///
    /// # Examples
    ///
    /// Halving every 15 K between 30 and 45 °C, and every 10 K outside: from 20 to 45 °C it is a factor of ½·½.
    ///
    /// ```
    /// use groundwall::temperature::{LearntRange, TemperatureLaw, UsedLaw};
    /// use groundwall::units::{Temperature, TemperatureDifference};
    /// let celsius = Temperature::from_celsius;
    /// let interval = TemperatureDifference::from_kelvins(15.0)?;
    /// let learnt = Some(LearntRange { interval, from: celsius(30.0)?, to: celsius(45.0)? });
    /// let law = UsedLaw { assumed: TemperatureLaw::thermoplastic(), learnt };
    /// assert!((law.correction(celsius(20.0)?, celsius(45.0)?).factor() - 0.25).abs() < 1e-12);
    /// # Ok::<(), groundwall::units::OutOfRange>(())
    /// ```
    #[must_use]
    pub fn correction(self, at: Temperature, to: Temperature) -> Correction {
        let Some(LearntRange { interval, from, to: warmest }) = self.learnt else {
            return self.assumed.correction(at, to);
        };
        let held = |t: Temperature| {
            if t < from {
                from
            } else if t > warmest {
                warmest
            } else {
                t
            }
        };
        let inside = |t: Temperature| halving::log10_factor_to_40(held(t), interval);
        let (before, after) = (self.assumed.correction(at, held(at)), self.assumed.correction(held(to), to));
        let beyond = (at - held(at)).as_kelvins().abs();
        Correction {
            log10_factor: before.log10_factor + inside(at) - inside(to) + after.log10_factor,
            log10_doubt: before.log10_doubt + after.log10_doubt + beyond * DOUBT_PER_K,
            outside: before.outside || after.outside,
        }
    }

    /// The law in words.
    #[must_use]
    pub fn name(self) -> String {
        match self.learnt {
            Some(LearntRange { interval, from, to }) => format!(
                "halves every {interval} from {} to {to}, learnt from readings; beyond: {}",
                from.as_celsius(),
                self.assumed.name()
            ),
            None => self.assumed.name(),
        }
    }

    /// Where the law comes from.
    #[must_use]
    pub fn source(self) -> &'static str {
        match self.learnt {
            Some(_) => "IEEE Std 43 cl. 6.3 (from memory): own factor from tests at several temperatures",
            None => self.assumed.source(),
        }
    }

    /// Fall of log10 R per 10 K that the law supposes over the temperatures of some tests, at least 10 K around their middle.
    #[must_use]
    pub(crate) fn fall_per_10_k(self, coldest: Temperature, warmest: Temperature) -> Option<f64> {
        let (low, high) = (coldest.as_celsius(), warmest.as_celsius());
        let (middle, half) = (f64::midpoint(low, high), (0.5 * (high - low)).max(5.0));
        let at = |celsius: f64| Temperature::from_celsius(celsius).ok();
        let correction = self.correction(at(middle + half)?, at(middle - half)?);
        Some(10.0 * correction.log10_factor / (2.0 * half))
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]
mod tests {
    use super::*;

    fn celsius(value: f64) -> Temperature {
        Temperature::from_celsius(value).unwrap()
    }

    /// Learnt from 35 to 39 °C, asked at 12 °C: the flat thermosetting branch carries the 23 K between, with 23·0.006 decades
    /// of doubt, and the learnt interval moves nothing there.
    #[test]
    fn a_learnt_law_is_not_carried_beyond_its_tests() {
        let interval = TemperatureDifference::from_kelvins(8.0).unwrap();
        let learnt = Some(LearntRange { interval, from: celsius(35.0), to: celsius(39.0) });
        let law = UsedLaw { assumed: TemperatureLaw::Thermosetting, learnt };
        let found = law.correction(celsius(12.0), celsius(35.0));
        let assumed = TemperatureLaw::Thermosetting.correction(celsius(12.0), celsius(35.0));
        assert!((found.log10_factor - assumed.log10_factor).abs() < 1e-12);
        assert!((found.log10_doubt - 23.0 * 0.006).abs() < 1e-12);
        assert!(!found.outside);
        let inside = law.correction(celsius(35.0), celsius(39.0));
        assert!((inside.factor() - 0.5f64.sqrt()).abs() < 1e-12 && inside.log10_doubt.abs() < 1e-12);
        assert!(
            law.name().starts_with("halves every 8 K from 35 to 39 °C, learnt from readings; beyond: thermosetting")
        );
        assert!(law.source().contains("own factor"));
    }

    /// The lower branch falls by 1245/ln 10·10·(1/T₁ − 1/T₂)/(T₂ − T₁) decades per 10 K: 0.0611 around 25 °C (298 K).
    #[test]
    fn the_fall_of_a_law_is_taken_over_ten_kelvins_at_least() {
        let fall = UsedLaw::from(TemperatureLaw::Thermosetting).fall_per_10_k(celsius(25.0), celsius(25.0)).unwrap();
        let expected = 1245.0 / std::f64::consts::LN_10 * (1.0 / 293.0 - 1.0 / 303.0);
        assert!((fall - expected).abs() < 1e-12, "{fall}");
    }
}
