//! Checks against published values, one module per source.
//!
//! `data/PROVENANCE.md` and, for the physics, `data/PROVENANCE_PHYSICS.md` say where every number comes from, what was read
//! and what is from memory. Three kinds of statistics are kept apart in the tables: `certified` (by the issuer of the
//! data set), `printed` (in a paper or book, checked to half a unit of the last digit printed), and
//! `computed_to_60_digits` (by an independent arbitrary-precision program, checked to the tolerance of the row).

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::float_cmp,
    reason = "a test may stop at the first surprise, and exact values are compared exactly"
)]

mod check;
mod published_rows;

mod absorption_synthetic;
mod censored_synthetic;
mod crawford_1970;
mod forecast_method;
mod gales_creek;
mod gb50150;
mod graybill_iyer_1994;
mod iec60085;
mod ieee43_minimum;
mod ieee43_ratios;
mod ieee43_temperature;
mod lines_synthetic;
mod massart_1997;
mod nile_cobb_1978;
mod nist_strd;
mod policy_defaults;
mod quantiles;
mod random_effects;
mod rd34;
mod temperature_examples;
mod tobin_1958;
mod wmo8;
