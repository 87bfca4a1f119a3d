//! What most programs need, in one line.
//!
//! ```
//! use groundwall::prelude::*;
//! assert!(Action::Hold < Action::Keep); // the more urgent is the lesser
//! ```

pub use crate::assess::{
    Action, Code, CrossingDates, Finding, Forecast, InTurn, Judgement, Latest, NextTest, Register, SeriesAssessment,
    SinceReason, Spread, Terms, TrendSummary, assess, assess_fleet,
};
pub use crate::nameplate::{Construction, Insulation, Nameplate};
pub use crate::policy::Policy;
pub use crate::record::{
    Connection, Event, LeadCheck, Origin, Phase, Scope, TestBuilder, TestError, TestRecord, TestedOn,
};
pub use crate::resistance::{Bound, Measured, TimedReading, TimedReadings};
pub use crate::series::{Series, SeriesKey};
pub use crate::units::{
    Confidence, Elapsed, OutOfRange, Power, Probability, RelativeHumidity, Resistance, Temperature,
    TemperatureDifference, Voltage,
};
