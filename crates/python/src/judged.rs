//! Histories judged: what `assess`, `chart` and `replay` of the command line do, with the same functions of the engine.

use crate::arrow_out;
use crate::calculators::Arguments;
use crate::failure::{apart, raised};
use crate::given::{Named, expanded};
use crate::table::Table;
use groundwall::assess::{Judgement, SeriesAssessment, Terms};
use groundwall::record::Connection;
use groundwall::record::validate::TestRules;
use groundwall::replay::replay as replayed;
use groundwall::units::Confidence;
use groundwall_engine::chart::trend::TrendPicture;
use groundwall_engine::chart::{self, ChartContext, ChartError, DEFAULT_DPI, PictureFormat, Size, place_of};
use groundwall_engine::error::Failure;
use groundwall_engine::fleet::{Fleet, Wanted};
use groundwall_engine::ingest::mapping::Mapping;
use groundwall_engine::ingest::{ReadingRules, exchanged, given, ledger};
use groundwall_engine::output::{self, Assessment, ListBy, arrow};
use groundwall_engine::site::Site;
use groundwall_engine::spread::AllCores;
use groundwall_engine::values;
use pyo3::prelude::*;
use pyo3::types::PyBytes;
use std::collections::{BTreeMap, BTreeSet};

/// What is given to be judged.
pub(crate) struct Request {
    histories: Vec<Named>,
    register: Option<Named>,
    policy: Option<Named>,
    /// Headers and the columns that they stand for.
    columns: Vec<(String, String)>,
    /// Single values as text.
    arguments: BTreeMap<String, String>,
    date_forms: Vec<String>,
    sheets: Vec<String>,
    skipped_sheets: Vec<String>,
    /// Whether the histories are a part of a fleet, which may have no test at all.
    is_part: bool,
}

/// Everything that a judgement needs, checked and read.
pub(crate) struct Ready {
    pub(crate) fleet: Fleet<'static>,
    /// What the histories are called.
    names: Vec<String>,
    /// Those of them that are tables.
    tables: BTreeSet<String>,
    remarks: Vec<String>,
    has_register: bool,
}

impl Request {
    pub(crate) fn take(
        history: &Bound<'_, PyAny>,
        register: Option<&Bound<'_, PyAny>>,
        policy: Option<&Bound<'_, PyAny>>,
        columns: Vec<(String, String)>,
        arguments: BTreeMap<String, String>,
        lists: BTreeMap<String, Vec<String>>,
    ) -> PyResult<Self> {
        let mut lists = lists;
        let mut list = |name: &str| lists.remove(name).unwrap_or_default();
        Ok(Self {
            histories: Named::take_histories(history)?,
            register: register.map(|given| Named::take("register", given)).transpose()?,
            policy: policy.map(|given| Named::take("policy", given)).transpose()?,
            columns,
            arguments,
            date_forms: list("date_format"),
            sheets: list("sheet"),
            skipped_sheets: list("skip_sheet"),
            is_part: false,
        })
    }

    /// The same, of a part of a fleet.
    pub(crate) fn part(self) -> Self {
        Self { is_part: true, ..self }
    }

    /// Reads everything.
    pub(crate) fn read(self) -> Result<Ready, Failure> {
        let mut given = Arguments::new(self.arguments);
        let as_of = given.read("as_of", values::date);
        let confidence = given.read("confidence", values::confidence);
        let delimiter = given.read("delimiter", values::delimiter);
        let encoding = given.read("encoding", values::encoding);
        let full_scale = given.read("full_scale", values::plain_resistance);
        let decimal = given.read("decimal", |text| match text {
            "," | "." => Ok(text == ","),
            _ => Err("the decimal mark is , or .".to_owned()),
        });
        for form in &self.date_forms {
            if let Err(rule) = values::date_format(form) {
                given.wrong(format!("date_format is {form}; {rule}"), None);
            }
        }
        let mut columns = Mapping::default();
        for (header, name) in &self.columns {
            if let Err(rule) = columns.add(header, name) {
                given.wrong(format!("columns[\"{header}\"] is {name}; {rule}"), None);
            }
        }
        given.must_be_right()?;
        let missing = || Failure::usage("as_of is missing").hint("say the day of the judgement, such as 2026-11-25");
        let (as_of, decimal_comma) = (as_of.ok_or_else(missing)?, decimal == Some(true));
        let (histories, mut remarks) = expanded(self.histories)?;
        let policy = self.policy.as_ref().map_or_else(|| Ok(Default::default()), Named::policy);
        let register = self.register.as_ref().map(|one| move |mapping: &Mapping| one.register(decimal_comma, mapping));
        let (site, unreadable) = Site::read(policy, &columns, register, &[])?;
        if let Some(failure) = unreadable {
            return Err(failure);
        }
        let Site { policy, mapping, register, names } = site;
        let date_format = if let [only] = self.date_forms.as_slice() { Some(only.clone()) } else { None };
        let rules = ReadingRules {
            tests: TestRules {
                decimal_comma,
                date_format,
                zero_means_below: policy.zero_means_below,
                full_scale: full_scale.or(policy.full_scale),
                workbook: None,
                // Judged as of a day, what was tested later is left out, whenever that was.
                latest_day: None,
            },
            delimiter,
            decimal_point: decimal == Some(false),
            sheets: self.sheets,
            skipped_sheets: self.skipped_sheets,
            date_forms: self.date_forms,
            as_of: Some(as_of),
            encoding,
            plain_only: false,
            layouts: Vec::new(),
            mapping,
            names,
        };
        let inputs: Vec<_> = histories.iter().map(|history| history.given(encoding)).collect();
        let mut ingested = given::ingest(&inputs, &rules)?;
        exchanged::must_not_be(&ingested, &rules.tests)?;
        let begun_after = ingested.series.remove_begun_after(as_of);
        remarks.extend(ledger::remarks(&ingested, register.as_ref()));
        if !self.is_part {
            ledger::must_hold_a_test(&ingested, false)?;
            remarks.extend(ledger::begun_after(&ingested, begun_after, as_of)?);
            remarks.extend(register.as_ref().and_then(|register| ledger::untested(&ingested, register)));
        }
        let confidence = confidence
            .map_or_else(|| Confidence::from_fraction(0.9).map_err(|error| Failure::internal(error.to_string())), Ok)?;
        let terms = Terms { policy, as_of, confidence };
        Ok(Ready {
            fleet: Fleet::new(ingested, register.as_ref(), terms).into_owned(),
            names: histories.iter().map(|history| history.name.clone()).collect(),
            tables: histories.iter().filter(|one| one.is_table()).map(|one| one.name.clone()).collect(),
            remarks,
            has_register: register.is_some(),
        })
    }
}

impl Ready {
    pub(crate) fn rejected(&self, py: Python<'_>) -> PyResult<Table> {
        let is_table = |file: &str| self.tables.contains(file);
        apart(py, || arrow_out::rejected(&self.fleet.ingested, is_table)).map(Table::new)
    }

    /// File, rows, accepted, repeated and rejected rows of each input.
    pub(crate) fn counts(&self) -> Vec<(String, u64, u64, u64, u64)> {
        let inputs = self.fleet.ingested.inputs.iter();
        inputs.map(|one| (one.name().into_owned(), one.rows, one.accepted, one.repeated, one.rejected)).collect()
    }

    pub(crate) fn remarks(&self) -> Vec<String> {
        self.remarks.clone()
    }
}

/// A fleet judged.
#[pyclass(frozen, module = "groundwall._engine")]
pub(crate) struct Judged {
    ready: Ready,
    series: Vec<SeriesAssessment>,
}

/// Judges histories; with priors as a part of the fleet that these were learnt from.
#[pyfunction]
#[pyo3(signature = (history, register, policy, columns, arguments, lists, priors))]
#[allow(clippy::too_many_arguments, reason = "those of a Python function")]
pub(crate) fn assess(
    py: Python<'_>,
    history: &Bound<'_, PyAny>,
    register: Option<&Bound<'_, PyAny>>,
    policy: Option<&Bound<'_, PyAny>>,
    columns: Vec<(String, String)>,
    arguments: BTreeMap<String, String>,
    lists: BTreeMap<String, Vec<String>>,
    priors: Option<&Bound<'_, PyAny>>,
) -> PyResult<Judged> {
    let request = Request::take(history, register, policy, columns, arguments, lists)?;
    let priors = priors.map(|given| Named::take("priors", given)).transpose()?;
    apart(py, move || {
        let finish = |judgement: Judgement| judgement.assessment;
        let (mut ready, mut series);
        if let Some(priors) = priors {
            let priors = priors.priors()?;
            ready = request.part().read()?;
            series = ready.fleet.judge_under(&priors, &AllCores, finish)?;
        } else {
            ready = request.read()?;
            series = ready.fleet.judge(&AllCores, finish);
        }
        ListBy::Series.sort(&mut series, |series| series);
        let unrated = series.iter().filter(|series| ledger::is_unrated(series)).count();
        ready.remarks.extend(ledger::lacking(&ready.fleet.ingested, ready.has_register, unrated));
        Ok(Judged { ready, series })
    })
}

impl Judged {
    fn assessment(&self) -> Assessment<'_> {
        let Terms { policy, as_of, confidence } = &self.ready.fleet.terms;
        Assessment {
            as_of: *as_of,
            confidence: *confidence,
            policy,
            inputs: &self.ready.fleet.ingested.inputs,
            by: ListBy::Series,
            series: self.series.clone(),
        }
    }
}

#[pymethods]
impl Judged {
    fn series(&self, py: Python<'_>) -> PyResult<Table> {
        apart(py, || arrow::series(&self.series)).map(Table::new)
    }

    fn findings(&self, py: Python<'_>) -> PyResult<Table> {
        apart(py, || arrow_out::findings(&self.series)).map(Table::new)
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

    fn json(&self, py: Python<'_>) -> PyResult<String> {
        apart(py, || {
            let mut text = Vec::new();
            let ours = |error: String| Failure::internal(error);
            output::json::write(&mut text, &self.assessment()).map_err(|error| ours(error.to_string()))?;
            String::from_utf8(text).map_err(|error| ours(error.to_string()))
        })
    }

    /// The chart of the series of a winding that fits, of several the most urgent.
    #[pyo3(signature = (winding, connection, scope))]
    fn chart(
        &self,
        py: Python<'_>,
        winding: String,
        connection: Option<String>,
        scope: Option<String>,
    ) -> PyResult<Chart> {
        apart(py, || {
            let mut given = Arguments::new(scope.map(|scope| ("scope".to_owned(), scope)).into_iter().collect());
            let scope = given.read("scope", values::scope);
            given.must_be_right()?;
            let wanted = Wanted { winding, connection: connection.as_deref().map(Connection::read), scope };
            let found = self.ready.fleet.of_winding(&AllCores, &wanted)?;
            let urgent = found.into_iter().min_by_key(|judged| judged.judgement.assessment.action);
            let judgement = urgent.ok_or_else(|| Failure::internal("no series of the winding fits"))?.judgement;
            let place = place_of(&judgement.background.nameplate);
            let context = ChartContext { sources: self.ready.names.clone(), place };
            let series = judgement.assessment.name();
            Ok(Chart { series, picture: TrendPicture::new(&judgement, &context) })
        })
    }
}

/// The trend chart of a series.
#[pyclass(frozen, module = "groundwall._engine")]
pub(crate) struct Chart {
    series: String,
    picture: TrendPicture,
}

#[pymethods]
impl Chart {
    /// The name of the series.
    #[getter]
    fn series(&self) -> &str {
        &self.series
    }

    /// One line for those who cannot see the picture.
    #[getter]
    fn description(&self) -> String {
        chart::Chart::description(&self.picture)
    }

    fn svg(&self, py: Python<'_>, width: u32, height: u32) -> PyResult<String> {
        let bytes = self.bytes(py, PictureFormat::Svg, Size { width, height }, DEFAULT_DPI)?;
        String::from_utf8(bytes).map_err(|error| raised(py, &Failure::internal(error.to_string())))
    }

    fn png<'py>(&self, py: Python<'py>, width: u32, height: u32, dpi: u32) -> PyResult<Bound<'py, PyBytes>> {
        let bytes = self.bytes(py, PictureFormat::Png, Size { width, height }, dpi)?;
        Ok(PyBytes::new(py, &bytes))
    }
}

impl Chart {
    fn bytes(&self, py: Python<'_>, format: PictureFormat, size: Size, dpi: u32) -> PyResult<Vec<u8>> {
        apart(py, || {
            chart::render(&self.picture, format, size, dpi).map_err(|error| match error {
                ChartError::Size(_) | ChartError::Dpi(_) => Failure::usage(error.to_string()),
                _ => Failure::internal(error.to_string()),
            })
        })
    }
}

/// Goes back through histories; the answer is JSON.
#[pyfunction]
#[pyo3(signature = (history, register, policy, columns, arguments, lists, every))]
#[allow(clippy::too_many_arguments, reason = "those of a Python function")]
pub(crate) fn replay(
    py: Python<'_>,
    history: &Bound<'_, PyAny>,
    register: Option<&Bound<'_, PyAny>>,
    policy: Option<&Bound<'_, PyAny>>,
    columns: Vec<(String, String)>,
    arguments: BTreeMap<String, String>,
    lists: BTreeMap<String, Vec<String>>,
    every: i64,
) -> PyResult<String> {
    let request = Request::take(history, register, policy, columns, arguments, lists)?;
    apart(py, move || {
        let every = u32::try_from(every).ok().filter(|days| (7..=3650).contains(days));
        let every = every.ok_or_else(|| Failure::usage("every is out of range; it is 7 to 3650 days"))?;
        let Ready { fleet, names, .. } = request.read()?;
        let found = replayed(&fleet.series, &fleet.register, &fleet.terms, every, &AllCores);
        output::replay::must_hold_a_cut(&found)?;
        let mut text = Vec::new();
        let written = output::replay::write_json(&mut text, &found, fleet.terms.as_of, &names);
        written.map_err(|error| Failure::internal(error.to_string()))?;
        String::from_utf8(text).map_err(|error| Failure::internal(error.to_string()))
    })
}
