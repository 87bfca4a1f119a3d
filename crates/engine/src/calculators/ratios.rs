//! What the timed readings of one test say, or its steps at several voltages.

use crate::error::Failure;
use crate::output::columns::bound_word;
use crate::values::Reading;
use groundwall::absorption::{
    AbsorptionCurve, Ratio, absorption_curve, absorption_ratio, one_minute_resistance, polarization_index, ratio,
    sixty_to_fifteen,
};
use groundwall::policy::Policy;
use groundwall::resistance::{Measured, TimedReading};
use groundwall::steps::{self, Fall, Step};
use groundwall::units::{Elapsed, Voltage};
use serde::Serialize;

/// The discharge after a long test.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Discharge {
    /// Current one minute after the discharge, nA.
    pub nanoamperes: f64,
    /// Voltage of the test.
    pub test_volts: Voltage,
    /// Capacitance of the winding to earth, µF.
    pub microfarads: f64,
}

impl Discharge {
    /// The dielectric discharge I / (U · C), mA/(V·F): nA over V and µF.
    #[must_use]
    pub fn ratio(&self) -> f64 {
        self.nanoamperes / (self.test_volts.as_volts() * self.microfarads)
    }
}

/// What is found of one test.
#[derive(Clone, Debug, PartialEq)]
pub enum Found {
    /// Of timed readings.
    Ratios(Ratios),
    /// Of steps of the voltage, or of a discharge alone.
    Steps(Steps),
}

/// What is found of timed readings.
#[derive(Clone, Debug, PartialEq)]
pub struct Ratios {
    /// R600/R60.
    pub polarization_index: Option<Ratio>,
    /// R60/R30.
    pub absorption_ratio: Option<Ratio>,
    /// R60/R15.
    pub sixty_to_fifteen: Option<Ratio>,
    /// Each reading against every earlier one.
    pub all: Vec<Ratio>,
    /// The absorption curve, where it can be told.
    pub curve: Option<AbsorptionCurve>,
    /// The dielectric discharge, mA/(V·F).
    pub dielectric_discharge: Option<f64>,
    /// Sentences.
    pub notes: Vec<String>,
}

/// What is found of steps of the voltage.
#[derive(Clone, Debug, PartialEq)]
pub struct Steps {
    /// In rising order.
    pub steps: Vec<Step>,
    /// How the resistance falls with the voltage.
    pub fall: Option<Fall>,
    /// The dielectric discharge, mA/(V·F).
    pub dielectric_discharge: Option<f64>,
    /// Sentences.
    pub notes: Vec<String>,
}

/// Works out what one test says.
///
/// # Errors
///
/// A [`Failure`] when a time or a voltage is given twice, both are given, or one step alone.
pub fn ratios(given: &[Reading], discharge: Option<Discharge>) -> Result<Found, Failure> {
    let (timed, steps) = apart(given)?;
    let readings = readings_in_order(&timed)?;
    let dielectric_discharge = discharge.as_ref().map(Discharge::ratio);
    if dielectric_discharge.is_some_and(|ratio| !ratio.is_finite()) {
        return Err(Failure::usage("the dielectric discharge of these values is too large to be a number")
            .hint("check the current in nA, the voltage in V and the capacitance in µF"));
    }
    if !steps.is_empty() || (readings.is_empty() && dielectric_discharge.is_some()) {
        return Ok(Found::Steps(Steps::of(steps, dielectric_discharge)));
    }
    if readings.is_empty() {
        return Err(Failure::usage("there is no reading")
            .hint("give timed readings such as 60s=420 10min=980, or steps such as 500V=900 1000V=850"));
    }
    let polarization_index = polarization_index(&readings);
    Ok(Found::Ratios(Ratios {
        notes: notes(&readings, polarization_index),
        polarization_index,
        absorption_ratio: absorption_ratio(&readings),
        sixty_to_fifteen: sixty_to_fifteen(&readings),
        all: neighbours(&readings),
        curve: absorption_curve(&readings),
        dielectric_discharge,
    }))
}

/// Timed readings, and steps of the voltage in rising order.
fn apart(given: &[Reading]) -> Result<(Vec<TimedReading>, Vec<Step>), Failure> {
    let (mut timed, mut steps) = (Vec::new(), Vec::new());
    for reading in given {
        match reading {
            Reading::Timed(reading) => timed.push(*reading),
            Reading::Step(step) => steps.push(*step),
        }
    }
    if !timed.is_empty() && !steps.is_empty() {
        return Err(Failure::usage(
            "times and voltages are given together; one test has either timed readings or steps of the voltage",
        )
        .hint("call ratios once for each"));
    }
    steps.sort_by(|a, b| a.volts.as_volts().total_cmp(&b.volts.as_volts()));
    match steps.windows(2).find(|pair| pair[0].volts == pair[1].volts) {
        Some(pair) => Err(Failure::usage(format!(
            "{} is given twice, as {} and as {}; each step has one reading",
            pair[0].volts, pair[0].read, pair[1].read
        ))
        .hint("leave out the one that does not belong to this test")),
        None if steps.len() == 1 => Err(Failure::usage("one step cannot show a drop with voltage")
            .hint("give two or more, such as 500V=900 1000V=850")),
        None => Ok((timed, steps)),
    }
}

/// Timed readings in order of time, each time once.
///
/// # Errors
///
/// A [`Failure`] when a time is given twice.
pub fn readings_in_order(readings: &[TimedReading]) -> Result<Vec<TimedReading>, Failure> {
    let mut sorted = readings.to_vec();
    sorted.sort_by(|a, b| a.elapsed.as_seconds().total_cmp(&b.elapsed.as_seconds()));
    match sorted.windows(2).find(|pair| pair[0].elapsed == pair[1].elapsed) {
        Some(pair) => Err(Failure::usage(format!(
            "{} is given twice, as {} and as {}; each time has one reading",
            pair[0].elapsed, pair[0].value, pair[1].value
        ))
        .hint("leave out the one that does not belong to this test")),
        None => Ok(sorted),
    }
}

impl Steps {
    fn of(steps: Vec<Step>, dielectric_discharge: Option<f64>) -> Self {
        let fall = steps::fall(&steps);
        let source =
            "common practice: step-voltage test, three quarters from one step to the next and half from first to last";
        let note = match fall {
            Some(fall) if fall.is_more_than_common() => {
                Some(format!("the resistance falls more with the voltage than sound insulation does ({source})"))
            }
            Some(_) => {
                Some(format!("the resistance falls no more with the voltage than sound insulation does ({source})"))
            }
            None if steps.is_empty() => None,
            None => Some("a bound cannot show a drop".to_owned()),
        };
        Self { steps, fall, dielectric_discharge, notes: note.into_iter().collect() }
    }
}

/// Each reading against every earlier one.
fn neighbours(readings: &[TimedReading]) -> Vec<Ratio> {
    let times: Vec<Elapsed> = readings.iter().map(|reading| reading.elapsed).collect();
    let pairs =
        times.iter().enumerate().flat_map(|(i, longer)| times[..i].iter().map(move |shorter| (*longer, *shorter)));
    pairs.filter_map(|(longer, shorter)| ratio(readings, longer, shorter)).collect()
}

fn notes(readings: &[TimedReading], polarization_index: Option<Ratio>) -> Vec<String> {
    let mut notes = Vec::new();
    let limit = Policy::default().pi_not_meaningful_above;
    if let Some(Measured::Exact(r) | Measured::Above(r)) = one_minute_resistance(readings)
        && r > limit
    {
        notes.push(format!(
            "R60 is {r}, above {limit}: the polarization index is not a measure of condition (IEEE Std 43-2000 cl. 12.2)"
        ));
    }
    if polarization_index.is_none() {
        notes.push(
            "no polarization index: it needs readings, and no bounds, at or on both sides of 1 and 10 minutes"
                .to_owned(),
        );
    } else {
        notes.push("a random-wound stator is not judged by its polarization index (IEEE Std 43 cl. 5.4)".to_owned());
    }
    if readings.windows(2).any(|pair| falls(pair[0].value, pair[1].value)) {
        notes.push(
            "the resistance falls while the voltage is on: look for damp, dirt, or a charge left from an earlier test"
                .to_owned(),
        );
    }
    notes
}

fn falls(earlier: Measured, later: Measured) -> bool {
    matches!((earlier, later), (Measured::Exact(a), Measured::Exact(b)) if b < a)
}

/// The answer as a program reads it.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(untagged)]
pub enum Answer {
    /// Of timed readings.
    Ratios(RatiosAnswer),
    /// Of steps of the voltage.
    Steps(StepsAnswer),
}

/// Of timed readings.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RatiosAnswer {
    pi: Option<f64>,
    dar: Option<f64>,
    r60_r15: Option<f64>,
    ratios: Vec<Row>,
    exponent: Option<f64>,
    exponent_error: Option<f64>,
    leakage_mohm: Option<f64>,
    leakage_low_mohm: Option<f64>,
    leakage_high_mohm: Option<f64>,
    dielectric_discharge: Option<f64>,
    notes: Vec<String>,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
struct Row {
    longer_s: f64,
    shorter_s: f64,
    ratio: f64,
    bound: &'static str,
}

/// Of steps of the voltage.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StepsAnswer {
    steps: Vec<StepRow>,
    overall: Option<f64>,
    worst_step: Option<f64>,
    dielectric_discharge: Option<f64>,
    notes: Vec<String>,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
struct StepRow {
    volts: f64,
    r_mohm: Option<f64>,
    bound: &'static str,
    current_ua: Option<f64>,
}

impl Found {
    /// The answer as a program reads it.
    #[must_use]
    pub fn answer(&self) -> Answer {
        match self {
            Self::Ratios(ratios) => Answer::Ratios(ratios.answer()),
            Self::Steps(steps) => Answer::Steps(steps.answer()),
        }
    }
}

impl Ratios {
    fn answer(&self) -> RatiosAnswer {
        let row = |ratio: &Ratio| Row {
            longer_s: ratio.longer.as_seconds(),
            shorter_s: ratio.shorter.as_seconds(),
            ratio: ratio.value,
            bound: bound_word(ratio.bound),
        };
        let leakage = self.curve.and_then(|curve| curve.leakage);
        RatiosAnswer {
            pi: self.polarization_index.and_then(Ratio::exact),
            dar: self.absorption_ratio.and_then(Ratio::exact),
            r60_r15: self.sixty_to_fifteen.and_then(Ratio::exact),
            ratios: self.all.iter().map(row).collect(),
            exponent: self.curve.map(|curve| curve.exponent),
            exponent_error: self.curve.map(|curve| curve.exponent_error),
            leakage_mohm: leakage.map(|leakage| leakage.resistance.as_megohms()),
            leakage_low_mohm: leakage.map(|leakage| leakage.low.as_megohms()),
            leakage_high_mohm: leakage.map(|leakage| leakage.high.as_megohms()),
            dielectric_discharge: self.dielectric_discharge,
            notes: self.notes.clone(),
        }
    }
}

impl Steps {
    fn answer(&self) -> StepsAnswer {
        let row = |step: &Step| StepRow {
            volts: step.volts.as_volts(),
            r_mohm: step.read.resistance().map(|r| r.as_megohms()),
            bound: bound_word(step.read.bound()),
            current_ua: step.microamperes(),
        };
        StepsAnswer {
            steps: self.steps.iter().map(row).collect(),
            overall: self.fall.map(|fall| fall.overall),
            worst_step: self.fall.map(|fall| fall.worst_step),
            dielectric_discharge: self.dielectric_discharge,
            notes: self.notes.clone(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::values;

    #[test]
    fn a_time_has_one_reading() {
        let given: Vec<Reading> =
            ["10min=980", "60s=420", "1min=430"].iter().filter_map(|t| values::reading(t).ok()).collect();
        assert_eq!(
            ratios(&given, None).err().map(|failure| failure.to_string()).as_deref(),
            Some(
                "60 s is given twice, as 420 MΩ and as 430 MΩ; each time has one reading\n\
                  hint: leave out the one that does not belong to this test"
            )
        );
        assert!(matches!(ratios(&given[..2], None), Ok(Found::Ratios(found)) if found.polarization_index.is_some()));
    }
}
