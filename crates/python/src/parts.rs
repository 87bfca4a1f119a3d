//! A fleet surveyed and learnt from in parts, in as many processes as there are: for fleets that do not fit into one.

use crate::calculators::Arguments;
use crate::failure::apart;
use crate::judged::{Ready, Request};
use crate::table::{Table, texts};
use arrow_array::builder::{Date32Builder, Float64Builder, Int64Builder};
use arrow_array::types::Date32Type;
use groundwall::assess::{self, LatestValue, Surveyed};
use groundwall::chrono::NaiveDate;
use groundwall::record::Connection;
use groundwall::series::SeriesKey;
use groundwall::units::Resistance;
use groundwall_engine::error::{Failure, shown};
use groundwall_engine::output::arrow::table;
use groundwall_engine::priors;
use groundwall_engine::spread::AllCores;
use groundwall_engine::values;
use pyo3::prelude::*;
use pyo3::types::PyBytes;
use std::collections::BTreeMap;
use std::sync::Arc;

/// A part of a fleet, read and surveyed.
#[pyclass(frozen, module = "groundwall._engine")]
pub(crate) struct Survey {
    ready: Ready,
    survey: assess::Survey,
}

/// Surveys histories: a fleet, or a part of it that has whole windings.
#[pyfunction]
pub(crate) fn survey(
    py: Python<'_>,
    history: &Bound<'_, PyAny>,
    register: Option<&Bound<'_, PyAny>>,
    policy: Option<&Bound<'_, PyAny>>,
    columns: Vec<(String, String)>,
    arguments: BTreeMap<String, String>,
    lists: BTreeMap<String, Vec<String>>,
) -> PyResult<Survey> {
    let request = Request::take(history, register, policy, columns, arguments, lists)?;
    apart(py, move || {
        let ready = request.part().read()?;
        let survey = ready.fleet.survey(&AllCores);
        Ok(Survey { ready, survey })
    })
}

#[pymethods]
impl Survey {
    fn series(&self, py: Python<'_>) -> PyResult<Table> {
        apart(py, || {
            let series = self.survey.series();
            let text = |pick: fn(&Surveyed) -> String| texts(series.iter().map(|one| Some(pick(one))));
            let (mut tests, mut days, mut megohms) = (Int64Builder::new(), Date32Builder::new(), Float64Builder::new());
            for one in series {
                tests.append_option(i64::try_from(one.tests).ok());
                days.append_option(one.latest.map(|latest| Date32Type::from_naive_date(latest.on)));
                megohms.append_option(one.latest.map(|latest| latest.value.as_megohms()));
            }
            table(vec![
                ("winding", text(|one| one.key.winding.clone())),
                ("connection", text(|one| one.key.connection.to_string())),
                ("scope", text(|one| one.key.scope.to_string())),
                ("group", text(|one| one.group.clone())),
                ("tests", Arc::new(tests.finish())),
                ("latest_on", Arc::new(days.finish())),
                ("latest_mohm", Arc::new(megohms.finish())),
            ])
        })
        .map(Table::new)
    }

    fn rejected(&self, py: Python<'_>) -> PyResult<Table> {
        self.ready.rejected(py)
    }

    fn counts(&self) -> Vec<(String, u64, u64, u64, u64)> {
        self.ready.counts()
    }

    fn remarks(&self) -> Vec<String> {
        self.ready.remarks()
    }
}

/// One series of a survey: winding, connection, scope, group, tests, and the day and value of its latest test.
type Row = (String, String, String, String, usize, Option<NaiveDate>, Option<f64>);

/// Which windings a fleet is learnt from.
#[pyclass(frozen, module = "groundwall._engine")]
pub(crate) struct Choice {
    choice: assess::Choice,
}

/// Chooses from the surveys of all parts.
#[pyfunction]
pub(crate) fn choose(py: Python<'_>, parts: Vec<Vec<Row>>, as_of: String) -> PyResult<Choice> {
    apart(py, move || {
        let mut given = Arguments::new(BTreeMap::from([("as_of".to_owned(), as_of)]));
        let day = given.read("as_of", values::date);
        given.must_be_right()?;
        let day = day.ok_or_else(|| Failure::internal("as_of was read and is not there"))?;
        let refused = |why: assess::NotAsLearnt| priors::refused("survey", &why);
        let survey = |rows: Vec<Row>| {
            let series = rows.into_iter().map(surveyed).collect::<Result<_, _>>()?;
            assess::Survey::from_series(series, day).map_err(refused)
        };
        let parts = parts.into_iter().map(survey).collect::<Result<Vec<_>, Failure>>()?;
        let fleet = assess::Survey::join(parts).map_err(refused)?;
        if fleet.series().is_empty() {
            return Err(Failure::usage(
                "survey: the parts have no series, so there is nothing to learn from and to judge",
            )
            .hint("see why the rows of the history were rejected"));
        }
        Ok(Choice { choice: fleet.choose() })
    })
}

fn surveyed((winding, connection, scope, group, tests, on, megohms): Row) -> Result<Surveyed, Failure> {
    let scope = values::scope(&scope)
        .map_err(|rule| Failure::usage(format!("survey: winding {}: scope is {scope}; {rule}", shown(&winding))))?;
    let value = megohms.map(Resistance::from_megohms).transpose();
    let value = value.map_err(|rule| Failure::usage(format!("survey: winding {}: {rule}", shown(&winding))))?;
    let latest = on.zip(value).map(|(on, value)| LatestValue { on, value });
    let key = SeriesKey { winding, connection: Connection::read(&connection), scope };
    Ok(Surveyed { key, group, tests, latest })
}

#[pymethods]
impl Choice {
    /// The chosen windings, in order.
    fn windings(&self) -> Vec<String> {
        self.choice.windings().into_iter().map(str::to_owned).collect()
    }
}

/// Learns from the chosen windings; the answer is a file of priors.
#[pyfunction]
#[allow(clippy::too_many_arguments, reason = "those of a Python function")]
pub(crate) fn learn<'py>(
    py: Python<'py>,
    choice: &Choice,
    history: &Bound<'py, PyAny>,
    register: Option<&Bound<'py, PyAny>>,
    policy: Option<&Bound<'py, PyAny>>,
    columns: Vec<(String, String)>,
    arguments: BTreeMap<String, String>,
    lists: BTreeMap<String, Vec<String>>,
) -> PyResult<Bound<'py, PyBytes>> {
    let request = Request::take(history, register, policy, columns, arguments, lists)?;
    let written = apart(py, move || {
        let ready = request.part().read()?;
        let fleet = &ready.fleet;
        let learnt = choice.choice.learn(&fleet.series, &fleet.register, &fleet.terms, &AllCores);
        let learnt = learnt.map_err(|why| priors::refused("history", &why))?;
        let mut file = Vec::new();
        priors::write(&mut file, &learnt).map_err(|error| Failure::internal(error.to_string()))?;
        Ok(file)
    });
    Ok(PyBytes::new(py, &written?))
}
