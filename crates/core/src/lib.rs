//! Insulation judgement for motor and generator windings.
#![forbid(unsafe_code)]

pub mod absorption;
pub mod assess;
pub mod minimum;
pub mod moisture;
pub mod nameplate;
pub mod policy;
pub mod record;
pub mod resistance;
pub mod series;
pub mod stats;
pub mod temperature;
pub mod trend;
pub mod units;
pub mod voltage;
