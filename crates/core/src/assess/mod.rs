//! From corrected tests to findings and one action per series.
//!
//! ```text
//! Series ─prepare→ Case ─stretch→ trend::Solved ─average→ StretchFit ─read→ Outlook ─rules→ findings ─decide→ action
//!                    └────────────── phases of one winding compared ──────────────────┘
//! ```

mod action;
mod action_kind;
mod alone;
mod case;
mod cause;
mod commissioning;
mod copies;
mod drying;
pub mod finding;
mod fleet;
mod group_prior;
mod inputs;
mod judgement;
mod laws;
mod learning;
mod learnt;
mod not_as_learnt;
mod otherwise;
mod outlook;
mod phases;
pub mod result;
mod rules;
mod second_look;
mod spread;
mod stepped;
mod survey;
#[cfg(test)]
mod tests;
pub mod textbook;
mod urgency;
mod verdict;
mod view;
mod whole;

pub use crate::minimum::Minimum;
pub use alone::{assess, assess_beside};
pub use case::Case;
pub use commissioning::SinceCommissioning;
pub use copies::LatestValue;
pub use drying::{Drying, DryingPoint, flat_for};
pub use finding::{Asks, Code, Evidence, Finding};
pub use fleet::{assess_fleet, assess_part, assess_windings};
pub use inputs::{Register, SeriesSource, Terms};
pub use judgement::{Background, Judgement, LawAnswer};
pub use learnt::{Choice, Learnt};
pub use not_as_learnt::NotAsLearnt;
pub use phases::{PhaseRatio, phase_ratios};
pub use result::{
    Action, CorrectedTest, CrossingDates, Forecast, Latest, LeftOut, Level, NextTest, SeriesAssessment, SinceReason,
    TrendSummary, WorkBy,
};
pub use rules::plausibility::looks_like_fahrenheit;
pub(crate) use rules::ratios::{least_polarization_index, not_meaningful};
pub use spread::{InTurn, Spread};
pub use survey::{Survey, Surveyed};
pub use urgency::Urgency;
