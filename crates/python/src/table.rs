//! A table of results: other programs take it by the Arrow C interface, and Python by its columns.

use arrow_array::builder::StringBuilder;
use arrow_array::cast::AsArray;
use arrow_array::types::{Date32Type, Float64Type, Int64Type};
use arrow_array::{Array, ArrayRef, RecordBatch};
use arrow_schema::DataType;
use groundwall_engine::error::Failure;
use pyo3::IntoPyObjectExt;
use pyo3::prelude::*;
use pyo3::types::{PyCapsule, PyDict, PyList};
use pyo3_arrow::PyTable;
use std::sync::Arc;

use crate::failure::raised;

/// A column of texts.
pub(crate) fn texts(values: impl Iterator<Item = Option<String>>) -> ArrayRef {
    let mut column = StringBuilder::new();
    values.for_each(|value| column.append_option(value));
    Arc::new(column.finish())
}

/// A table of results.
#[pyclass(frozen, module = "groundwall._engine")]
pub(crate) struct Table {
    batch: RecordBatch,
}

impl Table {
    pub(crate) const fn new(batch: RecordBatch) -> Self {
        Self { batch }
    }

    fn arrow<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTable>> {
        Bound::new(py, PyTable::try_new(vec![self.batch.clone()], self.batch.schema())?)
    }
}

#[pymethods]
impl Table {
    #[pyo3(signature = (requested_schema = None))]
    fn __arrow_c_stream__<'py>(
        &self,
        py: Python<'py>,
        requested_schema: Option<Bound<'py, PyCapsule>>,
    ) -> PyResult<Bound<'py, PyAny>> {
        self.arrow(py)?.call_method1("__arrow_c_stream__", (requested_schema,))
    }

    fn __arrow_c_schema__<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        self.arrow(py)?.call_method0("__arrow_c_schema__")
    }

    fn __len__(&self) -> usize {
        self.batch.num_rows()
    }

    /// The names of the columns.
    fn columns(&self) -> Vec<String> {
        self.batch.schema().fields().iter().map(|field| field.name().clone()).collect()
    }

    /// The values of a column.
    fn column<'py>(&self, py: Python<'py>, name: &str) -> PyResult<Bound<'py, PyList>> {
        let Some(column) = self.batch.column_by_name(name) else {
            let failure = Failure::usage(format!("there is no column {name}"))
                .hint(format!("the columns are {}", self.columns().join(", ")));
            return Err(raised(py, &failure));
        };
        values(py, column)
    }
}

fn values<'py>(py: Python<'py>, column: &ArrayRef) -> PyResult<Bound<'py, PyList>> {
    let list = PyList::empty(py);
    for row in 0..column.len() {
        list.append(value(py, column, row)?)?;
    }
    Ok(list)
}

fn value<'py>(py: Python<'py>, column: &ArrayRef, row: usize) -> PyResult<Bound<'py, PyAny>> {
    if column.is_null(row) {
        return Ok(py.None().into_bound(py));
    }
    match column.data_type() {
        DataType::Utf8 => column.as_string::<i32>().value(row).into_bound_py_any(py),
        DataType::Int64 => column.as_primitive::<Int64Type>().value(row).into_bound_py_any(py),
        DataType::Float64 => column.as_primitive::<Float64Type>().value(row).into_bound_py_any(py),
        DataType::Date32 => column.as_primitive::<Date32Type>().value_as_date(row).into_bound_py_any(py),
        DataType::List(_) => Ok(values(py, &column.as_list::<i32>().value(row))?.into_any()),
        DataType::Struct(fields) => {
            let dict = PyDict::new(py);
            for (field, part) in fields.iter().zip(column.as_struct().columns()) {
                dict.set_item(field.name(), value(py, part, row)?)?;
            }
            Ok(dict.into_any())
        }
        // No table of results has a column of another type.
        other => Err(raised(py, &Failure::internal(format!("a column of type {other} has no values in Python")))),
    }
}
