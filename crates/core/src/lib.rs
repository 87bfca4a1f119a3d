//! Insulation judgement for motor and generator windings.

pub mod stats;
