//! Insulation judgement for motor and generator windings.
