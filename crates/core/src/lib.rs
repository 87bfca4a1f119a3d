//! Insulation judgement for motor and generator windings.
#![forbid(unsafe_code)]

pub mod assess;
pub mod nameplate;
pub mod policy;
pub mod record;
pub mod resistance;
pub mod units;
