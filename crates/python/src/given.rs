//! What a caller gives: the path of a file, bytes, or a table with the Arrow stream interface.

use crate::failure::raised;
use crate::input::{self, Input};
use encoding_rs::Encoding;
use groundwall::policy::Policy;
use groundwall_engine::error::Failure;
use groundwall_engine::ingest::arrow::ArrowCells;
use groundwall_engine::ingest::cells::CellTable;
use groundwall_engine::ingest::given::{Content, Given};
use groundwall_engine::ingest::mapping::Mapping;
use groundwall_engine::ingest::register::Register;
use groundwall_engine::policy_file;
use groundwall_engine::priors::Priors;
use pyo3::prelude::*;
use pyo3::types::{PyBytes, PyList, PyTuple};
use pyo3_arrow::PyTable;
use std::path::PathBuf;
use std::sync::Arc;

/// One thing given.
pub(crate) enum Source {
    /// A file, or a pattern of several.
    File(Input),
    /// The bytes of one.
    Bytes(Vec<u8>),
    /// A table.
    Table(Arc<dyn CellTable>),
}

/// A thing given, and what messages call it where it has no name of its own.
pub(crate) struct Named {
    pub(crate) name: String,
    pub(crate) source: Source,
}

impl Named {
    /// Takes what a caller gives.
    pub(crate) fn take(name: &str, given: &Bound<'_, PyAny>) -> PyResult<Self> {
        let py = given.py();
        let name = name.to_owned();
        if given.hasattr("__arrow_c_stream__")? {
            let refused = |why: String| {
                let failure = Failure::usage(format!("{name}: the table does not come over as Arrow: {why}"))
                    .hint("a column holds texts, numbers or dates, not several of these: make the column one of texts");
                raised(py, &failure)
            };
            let table: PyTable = given.extract().map_err(|error: PyErr| refused(first_line(&error.to_string())))?;
            let (batches, schema) = table.into_inner();
            let cells = ArrowCells::new(&batches, schema).map_err(|error| refused(error.to_string()))?;
            return Ok(Self { name, source: Source::Table(Arc::new(cells)) });
        }
        if let Ok(bytes) = given.cast::<PyBytes>() {
            return Ok(Self { name, source: Source::Bytes(bytes.as_bytes().to_vec()) });
        }
        match given.extract::<PathBuf>() {
            Ok(path) => Ok(Self { name: path.display().to_string(), source: Source::File(Input::File(path)) }),
            Err(_) => {
                let kind = given.get_type().fully_qualified_name()?.to_string();
                let failure = Failure::usage(format!(
                    "{name}: this is of type {kind}; it is a path, bytes, or a table with the Arrow stream interface"
                ))
                .hint("tables of pandas 2.2, polars, pyarrow and DuckDB have it; make a list of rows a table first");
                Err(raised(py, &failure))
            }
        }
    }

    /// Takes one history, or several in a list or a tuple.
    pub(crate) fn take_histories(given: &Bound<'_, PyAny>) -> PyResult<Vec<Self>> {
        if !given.is_instance_of::<PyList>() && !given.is_instance_of::<PyTuple>() {
            return Ok(vec![Self::take("history", given)?]);
        }
        let histories: PyResult<Vec<Self>> =
            given.try_iter()?.enumerate().map(|(i, one)| Self::take(&format!("history {}", i + 1), &one?)).collect();
        let histories = histories?;
        if histories.is_empty() {
            let failure = Failure::usage("history: the list is empty").hint("give at least one history");
            return Err(raised(given.py(), &failure));
        }
        Ok(histories)
    }

    /// The history that is read from it.
    pub(crate) fn given(&self, encoding: Option<&'static Encoding>) -> Given<'_> {
        let content = match &self.source {
            Source::File(input) => return input.given(encoding),
            Source::Bytes(bytes) => Content::Bytes(Ok(bytes.clone())),
            Source::Table(table) => Content::Cells(Arc::clone(table)),
        };
        Given { name: self.name.clone(), content }
    }

    /// The register that is read from it.
    pub(crate) fn register(&self, decimal_comma: bool, mapping: &Mapping) -> Result<Register, Failure> {
        let parse = |bytes: &[u8]| Register::parse(&self.name, bytes, None, decimal_comma, mapping);
        match &self.source {
            Source::File(input) => parse(&input.read()?),
            Source::Bytes(bytes) => parse(bytes),
            Source::Table(table) => Register::of_cells(&self.name, &**table, decimal_comma, mapping),
        }
    }

    /// The policy that is read from it, with what its headers stand for.
    pub(crate) fn policy(&self) -> Result<(Policy, Mapping), Failure> {
        match &self.source {
            Source::File(input) => policy_file::read(&self.name, input.read()?),
            Source::Bytes(bytes) => policy_file::read(&self.name, bytes.clone()),
            Source::Table(_) => Err(Failure::usage(format!("{}: a policy is not a table", self.name))
                .hint("give the path of a policy file, or its bytes; `groundwall policy` writes a template")),
        }
    }

    /// What a fleet taught, as it was written down.
    pub(crate) fn priors(&self) -> Result<Priors, Failure> {
        match &self.source {
            Source::File(input) => Priors::read(&self.name, &input.read()?),
            Source::Bytes(bytes) => Priors::read(&self.name, bytes),
            Source::Table(_) => Err(Failure::usage(format!("{}: priors are not a table", self.name))
                .hint("give what learn gave, or the path of a file of assess --save-priors")),
        }
    }

    /// Whether it is a table.
    pub(crate) const fn is_table(&self) -> bool {
        matches!(self.source, Source::Table(_))
    }
}

fn first_line(text: &str) -> String {
    text.lines().next().unwrap_or_default().to_owned()
}

/// Files with patterns replaced by those they fit, and sentences about files that are skipped.
///
/// # Errors
///
/// A [`Failure`] when a pattern fits no file.
pub(crate) fn expanded(given: Vec<Named>) -> Result<(Vec<Named>, Vec<String>), Failure> {
    let (mut named, mut remarks) = (Vec::new(), Vec::new());
    for one in given {
        let Source::File(file) = one.source else {
            named.push(one);
            continue;
        };
        let found = input::expand(&[file])?;
        remarks.extend(found.locks.iter().map(|path| input::passed_over(path)));
        named.extend(found.inputs.into_iter().map(|file| Named { name: file.to_string(), source: Source::File(file) }));
    }
    Ok((named, remarks))
}
