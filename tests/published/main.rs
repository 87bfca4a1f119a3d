//! Checks against published values, one module per source.
//!
//! Data lie in `data/`; `data/PROVENANCE_PHYSICS.md` says of each file of the physics where its numbers come from, what
//! was read and what is from memory.
#![allow(clippy::unwrap_used, clippy::float_cmp, reason = "a failed unwrap is a failed test")]

mod gb50150;
mod iec60085;
mod ieee43_minimum;
mod ieee43_ratios;
mod ieee43_temperature;
mod policy_defaults;
mod published_rows;
mod rd34;
mod temperature_examples;
mod wmo8;
