//! What the tester should show, and the reading at which to stop: both as read at the temperature of the winding, because
//! nobody corrects a reading in his head beside a machine.

use super::likely::LikelyTemperature;
use crate::assess::{Judgement, LeftOut, Minimum};
use crate::record::TestedOn;
use crate::resistance::{Bound, Measured};
use crate::temperature::{TemperatureLaw, UsedLaw};
use crate::units::{Decades, Resistance, Temperature, Years};
use chrono::NaiveDate;

/// Stop values are given for the likely temperature and so many kelvins to either side.
const BESIDE_K: f64 = 10.0;

/// What a test is expected to show.
#[derive(Clone, Debug, PartialEq)]
pub enum Expectation {
    /// A reading inside an interval.
    Reading(ExpectedReading),
    /// Why nothing can be expected.
    CannotSay(String),
}

/// The interval of one more one-minute reading, as read at the likely temperature, at the confidence of the round.
///
/// Beyond the end of the tester's scale nothing is read: such an end of the interval is a bound.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ExpectedReading {
    /// Lower end.
    pub low: Measured,
    /// Middle.
    pub median: Measured,
    /// Upper end.
    pub high: Measured,
}

impl Expectation {
    /// The same on a tester whose scale ends there.
    pub(super) fn within_scale(self, end: Option<Resistance>) -> Self {
        let held = |value: Measured| match (value, end) {
            (Measured::Exact(r) | Measured::Above(r), Some(end)) if r >= end => Measured::Above(end),
            (value, _) => value,
        };
        match self {
            Self::Reading(ExpectedReading { low, median, high }) => {
                Self::Reading(ExpectedReading { low: held(low), median: held(median), high: held(high) })
            }
            other => other,
        }
    }

    /// In words: `112 MΩ to 240 MΩ`, `112 MΩ or more`, `over range`, or why nothing is expected.
    #[must_use]
    pub fn in_words(&self) -> String {
        match self {
            Self::CannotSay(why) => format!("cannot say: {why}"),
            Self::Reading(reading) => match (reading.low, reading.high) {
                (Measured::Exact(low), Measured::Exact(high)) => format!("{low} to {high}"),
                (Measured::Exact(low), _) => format!("{low} to over range"),
                (low, _) => low.to_string(),
            },
        }
    }
}

/// The reading below which to stop and call, at one temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StopValue {
    /// Temperature of the winding.
    pub at: Temperature,
    /// One-minute resistance as read.
    pub below: Resistance,
}

/// What the next reading of a series should be on a day.
pub(super) fn reading(judgement: &Judgement, likely: Option<LikelyTemperature>, day: NaiveDate) -> Expectation {
    let cannot = |why: String| Expectation::CannotSay(why);
    if judgement.drying.as_ref().is_some_and(|drying| !drying.is_over) {
        return cannot("it is being dried out: test it cold".to_owned());
    }
    let (Some(fit), Some(trend)) = (&judgement.fit, &judgement.assessment.trend) else {
        return cannot(why_nothing_counts(judgement));
    };
    let Some(LikelyTemperature { at, .. }) = likely else {
        return cannot("no test has a winding temperature".to_owned());
    };
    let correction = judgement.law_used().correction(at, judgement.reference);
    let as_read =
        |corrected: Resistance| Resistance::from_log10_megohms(corrected.log10_megohms() - correction.log10_factor);
    if trend.exact + trend.below == 0 {
        // Nothing but over range is known: that much and more.
        let counted = judgement.tests.iter().rev().filter(|test| test.left_out.is_none());
        let limit = counted.filter_map(|test| test.corrected.and_then(Measured::resistance)).next();
        let bound = limit.map_or(Measured::OffScale, |limit| Measured::Above(as_read(limit)));
        return Expectation::Reading(ExpectedReading { low: bound, median: bound, high: bound });
    }
    let when = Years::clamped(TestedOn::day(day).years_since(judgement.as_of));
    let doubt = Decades::clamped(correction.log10_doubt);
    let forecast = fit.predict_reading(when, Some(at - judgement.reference), doubt);
    let band = forecast.band(judgement.confidence);
    let [low, median, high] = [band.low, band.median, band.high].map(|corrected| Measured::Exact(as_read(corrected)));
    Expectation::Reading(ExpectedReading { low, median, high })
}

fn why_nothing_counts(judgement: &Judgement) -> String {
    let made = judgement.tests.iter().rev().filter(|test| test.left_out != Some(LeftOut::AfterAsOf));
    match made.filter_map(|test| Some((test.event?, test.tested_on.date))).next() {
        Some((event, on)) => format!("no reading counts since it was {} on {on}", event.word()),
        None if judgement.assessment.latest.as_ref().is_some_and(|latest| latest.bound == Bound::Above) => {
            "it was over range and its full scale was not recorded".to_owned()
        }
        None => "no reading of it counts".to_owned(),
    }
}

/// The minimum as read at the likely temperature and to either side of it.
///
/// # Formula
///
/// log10 R(at) = log10 R(minimum) − log10 K(at → reference) + doubt of the law: where the law does not know, the call comes
/// early rather than late. Of an unknown insulation the stricter law is early enough. A limit that is meant as read is the same at every
/// temperature.
pub(super) fn stop_values(
    minimum: &Minimum,
    law: UsedLaw,
    likely: Temperature,
    reference: Temperature,
) -> [StopValue; 3] {
    [-BESIDE_K, 0.0, BESIDE_K].map(|beside| {
        let at = Temperature::from_celsius(likely.as_celsius() + beside).unwrap_or(likely);
        let correction = law.correction(at, reference);
        let doubt = if law == UsedLaw::from(TemperatureLaw::Either) { 0.0 } else { correction.log10_doubt };
        let corrected = || {
            let log10_mohm = minimum.resistance.log10_megohms() - correction.log10_factor + doubt;
            Resistance::from_log10_megohms(log10_mohm)
        };
        StopValue { at, below: minimum.as_read.unwrap_or_else(corrected) }
    })
}
