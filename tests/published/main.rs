//! Checks against published values, one module per source.
//!
//! `data/PROVENANCE.md` says where every number comes from. Three kinds are kept apart in the tables: `certified` (by the
//! issuer of the data set), `printed` (in a paper or book, checked to half a unit of the last digit printed), and
//! `computed_to_60_digits` (by an independent arbitrary-precision program, checked to the tolerance of the row).

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test may stop at the first surprise"
)]

mod check;

mod absorption_synthetic;
mod censored_synthetic;
mod crawford_1970;
mod gales_creek;
mod graybill_iyer_1994;
mod lines_synthetic;
mod massart_1997;
mod nile_cobb_1978;
mod nist_strd;
mod page_1955;
mod quantiles;
mod random_effects;
mod step_synthetic;
mod tobin_1958;
