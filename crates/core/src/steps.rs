//! One test at rising voltages: what is left of the resistance from step to step.
//!
//! Sound insulation reads nearly the same at every step. Cracked, dirty or damp insulation reads less and less, because the current
//! rises faster than the voltage.
//!
//! # References
//!
//! Common practice: step-voltage test. A ramped test (IEEE Std 95) raises the voltage evenly and is not evaluated here.

use crate::resistance::Measured;
use crate::units::{Resistance, Voltage};

/// What a resistance keeps from one step of the voltage to the next; common practice: it may fall by a quarter.
pub const LEAST_OF_A_STEP: f64 = 0.75;
/// What it keeps from the first step to the last; common practice: half of itself.
pub const LEAST_OF_ALL_STEPS: f64 = 0.5;

/// One step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    /// The voltage applied.
    pub volts: Voltage,
    /// The one-minute resistance.
    pub read: Measured,
}

impl Step {
    /// The current, µA; none where the reading is no exact one.
    ///
    /// # Formula
    ///
    /// I = U / R: V over MΩ is µA.
    #[must_use]
    pub fn microamperes(&self) -> Option<f64> {
        match self.read {
            Measured::Exact(r) => Some(self.volts.as_volts() / r.as_megohms()),
            _ => None,
        }
    }
}

/// What is left of the resistance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fall {
    /// Of the first step at the last, at the most.
    pub overall: f64,
    /// Of a step at the next, where least is left.
    pub worst_step: f64,
}

impl Fall {
    /// Whether more is lost than sound insulation loses.
    #[must_use]
    pub fn is_more_than_common(&self) -> bool {
        self.worst_step < LEAST_OF_A_STEP || self.overall < LEAST_OF_ALL_STEPS
    }
}

/// How the resistance falls along steps of rising voltage; none for fewer than two, or where bounds leave it open.
///
/// # Examples
///
/// ```
/// use groundwall::resistance::Measured;
/// use groundwall::steps::{Step, fall};
/// use groundwall::units::{Resistance, Voltage};
/// let step = |volts, mohm| -> Result<Step, groundwall::units::OutOfRange> {
///     Ok(Step { volts: Voltage::from_volts(volts)?, read: Measured::Exact(Resistance::from_megohms(mohm)?) })
/// };
/// let found = fall(&[step(500.0, 1000.0)?, step(1000.0, 900.0)?, step(2500.0, 360.0)?]).unwrap();
/// assert_eq!((found.overall, found.worst_step), (0.36, 0.4));
/// assert!(found.is_more_than_common());
/// # Ok::<(), groundwall::units::OutOfRange>(())
/// ```
#[must_use]
pub fn fall(steps: &[Step]) -> Option<Fall> {
    let (first, last) = (steps.first()?, steps.last()?);
    let worst_step = steps.windows(2).filter_map(|pair| kept(pair[0].read, pair[1].read)).min_by(f64::total_cmp)?;
    Some(Fall { overall: kept(first.read, last.read).unwrap_or(worst_step), worst_step })
}

/// What the later of two readings keeps of the earlier one, at the most.
fn kept(early: Measured, late: Measured) -> Option<f64> {
    Some(most(late)?.as_megohms() / least(early)?.as_megohms())
}

/// The most that a reading can be.
pub(crate) const fn most(value: Measured) -> Option<Resistance> {
    match value {
        Measured::Exact(r) | Measured::Below(r) => Some(r),
        Measured::Above(_) | Measured::OffScale => None,
    }
}

/// The least that a reading can be.
pub(crate) const fn least(value: Measured) -> Option<Resistance> {
    match value {
        Measured::Exact(r) | Measured::Above(r) => Some(r),
        Measured::Below(_) | Measured::OffScale => None,
    }
}
