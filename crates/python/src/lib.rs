//! The compiled half of the Python package. The half in Python, in `python/groundwall`, has the signatures and the documentation;
//! here values are taken, the engine is called, and results are handed back.

#![forbid(unsafe_code)]

mod arrow_out;
mod calculators;
mod failure;
mod given;
#[path = "../../cli/src/files/input.rs"]
mod input;
mod judged;
mod parts;
mod table;

use pyo3::prelude::*;

#[pymodule]
fn _engine(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<judged::Judged>()?;
    module.add_class::<judged::Chart>()?;
    module.add_class::<parts::Survey>()?;
    module.add_class::<parts::Choice>()?;
    module.add_class::<table::Table>()?;
    module.add_function(wrap_pyfunction!(judged::assess, module)?)?;
    module.add_function(wrap_pyfunction!(judged::replay, module)?)?;
    module.add_function(wrap_pyfunction!(parts::survey, module)?)?;
    module.add_function(wrap_pyfunction!(parts::choose, module)?)?;
    module.add_function(wrap_pyfunction!(parts::learn, module)?)?;
    module.add_function(wrap_pyfunction!(calculators::spot, module)?)?;
    module.add_function(wrap_pyfunction!(calculators::correct, module)?)?;
    module.add_function(wrap_pyfunction!(calculators::ratios, module)?)
}
