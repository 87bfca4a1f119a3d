//! Insulation judgement for motor and generator windings.

pub mod stats;

pub mod trend;
