//! One resistance from the temperature it was measured at to another.

use crate::error::Failure;
use crate::output::columns::bound_word;
use groundwall::nameplate::{Insulation, Nameplate};
use groundwall::policy::Policy;
use groundwall::resistance::Measured;
use groundwall::temperature::{Correction, TemperatureLaw};
use groundwall::units::{ActivationTemperature, Resistance, Temperature, TemperatureDifference};
use serde::Serialize;

/// How the law was named: one of these is given.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct LawGiven {
    /// The standard's law for this insulation.
    pub insulation: Option<Insulation>,
    /// A law that halves the resistance with every rise by so much.
    pub halving: Option<TemperatureDifference>,
    /// A law with this activation temperature.
    pub activation: Option<ActivationTemperature>,
}

impl LawGiven {
    /// The law.
    #[must_use]
    pub fn law(self) -> TemperatureLaw {
        if let Some(interval) = self.halving {
            return TemperatureLaw::Halving(interval);
        }
        if let Some(kelvins) = self.activation {
            return TemperatureLaw::Activation(kelvins);
        }
        let nameplate = Nameplate { insulation: self.insulation.unwrap_or_default(), ..Nameplate::default() };
        TemperatureLaw::choose(&nameplate, &Policy::default())
    }
}

/// A resistance corrected.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Corrected {
    /// As it was read.
    pub read: Measured,
    /// Where it was read.
    pub at: Temperature,
    /// Where it is wanted.
    pub to: Temperature,
    /// The law.
    pub law: TemperatureLaw,
    /// Factor and doubt.
    pub correction: Correction,
    /// At the other temperature. A bound stays a bound.
    pub value: Measured,
}

/// Corrects a resistance.
#[must_use]
pub fn correct(read: Measured, at: Temperature, to: Temperature, law: TemperatureLaw) -> Corrected {
    let correction = law.correction(at, to);
    Corrected { read, at, to, law, correction, value: read.scaled(correction.factor()) }
}

/// The answer as a program reads it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Answer {
    r_mohm: Option<f64>,
    bound: &'static str,
    at_c: f64,
    to_c: f64,
    kt: f64,
    r_ref_mohm: Option<f64>,
    law: String,
    source: String,
    outside_range: bool,
    doubt_factor: f64,
}

impl Corrected {
    /// By how much the result may be wrong, as a factor either way.
    #[must_use]
    pub fn doubt_factor(&self) -> f64 {
        libm::exp10(self.correction.log10_doubt)
    }

    /// Refuses a bound that the limits of a resistance would turn into a false one: more than a value that is too small to be said, or less
    /// than one that is too large.
    ///
    /// # Errors
    ///
    /// A [`Failure`] that says so.
    pub fn must_be_true(&self) -> Result<(), Failure> {
        let scaled = |read: Resistance| read.as_megohms() * self.correction.factor();
        let (word, side, end) = match self.read {
            Measured::Above(read) if scaled(read) < Resistance::LEAST.as_megohms() => {
                ("smaller", "more", Resistance::LEAST)
            }
            Measured::Below(read) if scaled(read) > Resistance::GREATEST.as_megohms() => {
                ("larger", "less", Resistance::GREATEST)
            }
            _ => return Ok(()),
        };
        Err(Failure::usage(format!(
            "{} at {} says {side} than a value at {} that is {word} than {end}, the end of what is corrected: that says nothing",
            self.read, self.at, self.to
        ))
        .hint("check both temperatures and the law"))
    }

    /// The answer as a program reads it.
    #[must_use]
    pub fn answer(&self) -> Answer {
        let megohms = |value: Measured| value.resistance().map(|r| r.as_megohms());
        Answer {
            r_mohm: megohms(self.read),
            bound: bound_word(self.value.bound()),
            at_c: self.at.as_celsius(),
            to_c: self.to.as_celsius(),
            kt: self.correction.factor(),
            r_ref_mohm: megohms(self.value),
            law: self.law.name(),
            source: self.law.source().to_owned(),
            outside_range: self.correction.outside,
            doubt_factor: self.doubt_factor(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use groundwall::resistance::CellRules;

    #[test]
    fn a_bound_that_would_be_false_is_refused() {
        let celsius = |degrees: f64| Temperature::from_celsius(degrees).expect("a temperature");
        let halving = TemperatureLaw::Halving(TemperatureDifference::from_kelvins(4.0).expect("an interval"));
        let said = |text: &str, at: f64, to: f64| {
            let read = CellRules::default().read(text).expect("a cell").expect("a reading");
            correct(read, celsius(at), celsius(to), halving).must_be_true().map_err(|failure| failure.to_string())
        };
        assert_eq!(
            said(">0.001", -60.0, 250.0),
            Err("> 1 kΩ at −60 °C says more than a value at 250 °C that is smaller than 1 Ω, the end of what is corrected: that says \
                 nothing\n\
                 hint: check both temperatures and the law"
                .to_owned())
        );
        assert!(said("<1", 250.0, -60.0).is_err());
        assert_eq!(
            (said(">0.001", 250.0, -60.0), said("<0.001", -60.0, 250.0), said("1", -60.0, 250.0)),
            (Ok(()), Ok(()), Ok(()))
        );
    }
}
