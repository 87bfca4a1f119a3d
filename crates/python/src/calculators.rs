//! Answers without a history. Values come as text and are read as on the command line.

use crate::failure::apart;
use crate::given::Named;
use groundwall::nameplate::Nameplate;
use groundwall::policy::Policy;
use groundwall::record::Item;
use groundwall_engine::calculators::correct::{LawGiven, correct as correct_one};
use groundwall_engine::calculators::ratios::{Discharge, ratios as ratios_of};
use groundwall_engine::calculators::spot::Spot;
use groundwall_engine::error::{Failure, Problem, shown};
use groundwall_engine::program;
use groundwall_engine::values;
use pyo3::prelude::*;
use serde::Serialize;
use std::collections::BTreeMap;

/// Values under the names of the arguments, and what is wrong with them.
pub(crate) struct Arguments {
    given: BTreeMap<String, String>,
    problems: Vec<Problem>,
}

impl Arguments {
    pub(crate) fn new(given: BTreeMap<String, String>) -> Self {
        Self { given, problems: Vec::new() }
    }

    /// A value, if it was given and can be read.
    pub(crate) fn read<T>(&mut self, name: &str, read: impl FnOnce(&str) -> Result<T, String>) -> Option<T> {
        let text = self.given.get(name)?;
        match read(text) {
            Ok(value) => Some(value),
            Err(rule) => {
                self.problems.push(Problem { message: format!("{name} is {}; {rule}", shown(text)), hint: None });
                None
            }
        }
    }

    /// Notes one more thing that is wrong.
    pub(crate) fn wrong(&mut self, message: String, hint: Option<&str>) {
        self.problems.push(Problem { message, hint: hint.map(str::to_owned) });
    }

    /// Everything that is wrong with the arguments, as one failure.
    pub(crate) fn must_be_right(&mut self) -> Result<(), Failure> {
        Failure::of_problems(std::mem::take(&mut self.problems)).map_or(Ok(()), Err)
    }
}

/// What is said where a value that was given could not be read, after that has been reported.
fn absent(name: &str) -> Failure {
    Failure::usage(format!("{name} is missing"))
}

/// An answer as JSON, with the program that made it.
fn json(answer: &impl Serialize) -> Result<String, Failure> {
    let mut text = Vec::new();
    program::write_json(&mut text, answer).map_err(|error| Failure::internal(error.to_string()))?;
    String::from_utf8(text).map_err(|error| Failure::internal(error.to_string()))
}

/// One reading judged.
#[pyfunction]
pub(crate) fn spot(
    py: Python<'_>,
    arguments: BTreeMap<String, String>,
    policy: Option<Bound<'_, PyAny>>,
    priors: Option<Bound<'_, PyAny>>,
) -> PyResult<String> {
    let priors = priors.map(|given| Named::take("priors", &given)).transpose()?;
    let policy = policy.map(|given| Named::take("policy", &given)).transpose()?;
    apart(py, move || {
        let mut given = Arguments::new(arguments);
        let as_of = given.read("as_of", values::date);
        let r60 = given.read("r60", values::resistance);
        let winding_temp = given.read("at", values::temperature);
        let air_temp = given.read("air", values::temperature);
        let humidity = given.read("rh", values::humidity);
        let test_volts = given.read("test_volts", values::voltage);
        let nameplate = Nameplate {
            rated_voltage: given.read("rated_volts", values::voltage),
            construction: given.read("construction", values::construction),
            insulation: given.read("insulation", values::insulation).unwrap_or_default(),
            minimum: given.read("minimum", values::plain_resistance),
            minimum_basis: given.read("minimum_basis", values::basis),
            year_made: given.read("year", values::year),
            group: given.read("group", |text| Ok(text.to_owned())),
            ..Nameplate::default()
        };
        if nameplate.group.is_some() && priors.is_none() {
            given.wrong("group is given without priors".to_owned(), Some("give the priors too"));
        }
        if nameplate.minimum_basis.is_some() && nameplate.minimum.is_none() {
            given.wrong("minimum_basis is given without a minimum".to_owned(), Some("give the minimum too"));
        }
        let record = Item::WORDS.iter().filter_map(|(item, name)| given.read(name, |text| values::item(*item, text)));
        let record = record.collect();
        let policy =
            match policy.map_or_else(|| Ok(Policy::default()), |policy| policy.policy().map(|(policy, _)| policy)) {
                Ok(policy) => policy,
                Err(failure) => {
                    return Err(given
                        .must_be_right()
                        .err()
                        .map_or_else(|| failure.clone(), |one| one.and(failure.clone())));
                }
            };
        given.must_be_right()?;
        let (r60, as_of) = (r60.ok_or_else(|| absent("r60"))?, as_of.ok_or_else(|| absent("as_of"))?);
        let spot = Spot { r60, winding_temp, air_temp, humidity, test_volts, record, nameplate };
        let priors = priors.map(|priors| priors.priors()).transpose()?;
        json(&spot.judge(policy, as_of, priors.as_ref())?.answer())
    })
}

/// One resistance corrected.
#[pyfunction]
pub(crate) fn correct(py: Python<'_>, arguments: BTreeMap<String, String>) -> PyResult<String> {
    apart(py, move || {
        let mut given = Arguments::new(arguments);
        let read = given.read("r", values::resistance);
        let (at, to) = (given.read("at", values::temperature), given.read("to", values::temperature));
        let laws = ["insulation", "halving", "activation_kelvin"];
        let named: Vec<&str> = laws.into_iter().filter(|law| given.given.contains_key(*law)).collect();
        if named.len() != 1 {
            let found = if named.is_empty() { "none".to_owned() } else { named.join(" and ") };
            given.wrong(
                format!("of {} one is given, and here it is {found}", laws.join(", ")),
                Some("a resistance is corrected by one law"),
            );
        }
        let law = LawGiven {
            insulation: given.read("insulation", values::insulation),
            halving: given.read("halving", values::halving),
            activation: given.read("activation_kelvin", values::activation),
        };
        given.must_be_right()?;
        let read = read.ok_or_else(|| absent("r"))?;
        let (at, to) = (at.ok_or_else(|| absent("at"))?, to.ok_or_else(|| absent("to"))?);
        let corrected = correct_one(read, at, to, law.law());
        corrected.must_be_true()?;
        json(&corrected.answer())
    })
}

/// The ratios of one test.
#[pyfunction]
pub(crate) fn ratios(py: Python<'_>, readings: Vec<String>, arguments: BTreeMap<String, String>) -> PyResult<String> {
    apart(py, move || {
        let mut given = Arguments::new(arguments);
        let mut read = Vec::new();
        for text in &readings {
            match values::reading(text) {
                Ok(reading) => read.push(reading),
                Err(rule) => given.wrong(format!("a reading is {}; {rule}", shown(text)), None),
            }
        }
        let of_discharge = (
            given.read("discharge_na", values::positive),
            given.read("test_volts", values::voltage),
            given.read("capacitance_uf", values::positive),
        );
        let discharge = match of_discharge {
            (Some(nanoamperes), Some(test_volts), Some(microfarads)) => {
                Some(Discharge { nanoamperes, test_volts, microfarads })
            }
            _ => None,
        };
        if discharge.is_none() && !given.given.is_empty() && given.problems.is_empty() {
            given.wrong(
                "discharge_na, test_volts and capacitance_uf go together, and one is missing".to_owned(),
                Some("give all three, or none"),
            );
        }
        given.must_be_right()?;
        json(&ratios_of(&read, discharge)?.answer())
    })
}
