//! Slices and numbers: the statistics behind trends and forecasts.
//!
//! Every function takes `&[f64]` and returns a named result or an error that says which value broke which rule.
//! Nothing here knows what is measured. Units are the caller's: if `y` is in decades and `x` in years, a slope is in
//! decades a year.

pub mod censored;
pub mod curve;
mod design;
mod householder;
pub mod input;
pub mod interval;
pub mod inverse_prediction;
pub mod least_squares;
pub(crate) mod median;
pub(crate) mod normal;
pub(crate) mod normal_table;
pub(crate) mod polygamma;
pub mod pooling;
pub(crate) mod root;
pub(crate) mod small_matrix;
pub(crate) mod student;
pub mod symmetric;
mod tail;
