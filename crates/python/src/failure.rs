//! What stops a call, as an exception with the sentences of the command line. No panic goes any further.

use groundwall_engine::error::{Failure, Status, caught};
use pyo3::prelude::*;

/// Where the exceptions are defined.
const MODULE: &str = "groundwall._errors";

/// A failure as an exception: the user's to correct, or ours.
pub(crate) fn raised(py: Python<'_>, failure: &Failure) -> PyErr {
    let problems: Vec<String> = failure.problems().iter().map(ToString::to_string).collect();
    let name = if failure.status() == Status::Failed { "InternalError" } else { "InputError" };
    let made = py.import(MODULE).and_then(|module| module.getattr(name)?.call1((problems,)));
    made.map_or_else(|error| error, PyErr::from_value)
}

/// Works while other Python threads run. A panic becomes a failure of ours.
pub(crate) fn apart<T: Send>(py: Python<'_>, work: impl FnOnce() -> Result<T, Failure> + Send) -> PyResult<T> {
    let outcome = py.detach(|| caught(work));
    outcome.map_err(|failure| raised(py, &failure))
}
