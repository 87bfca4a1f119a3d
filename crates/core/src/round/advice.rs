//! Which voltage and how long.
//!
//! # References
//!
//! Voltage: IEEE Std 43-2000 Table 1, by [`test_voltage_guide`](crate::voltage::test_voltage_guide), for circuits and cables by [`guide_for`]; the same voltage at each test: IEEE Std 43 cl. 6.4.
//! Ten minutes: the polarization index, IEEE Std 43-2000 cl. 5.4 and 12.2, where it is a measure of condition.

use crate::absorption::one_minute;
use crate::assess::not_meaningful;
use crate::nameplate::Nameplate;
use crate::policy::Policy;
use crate::resistance::{Measured, TimedReading};
use crate::units::Voltage;
use crate::voltage::{TestVoltageGuide, guide_for};

/// The direct voltage to apply.
#[derive(Clone, Debug, PartialEq)]
pub struct TestVoltage {
    /// The voltage; none where neither rating nor an earlier test tells it.
    pub apply: Option<Voltage>,
    /// The guide for the rating, where that is known.
    pub guide: Option<TestVoltageGuide>,
    /// Why that voltage.
    pub why: String,
}

/// How long the voltage is held.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Duration {
    /// Minutes: one or ten.
    pub minutes: u32,
    /// Why so long.
    pub why: String,
}

impl Duration {
    /// Minutes for which the winding is to be discharged to earth afterwards: four times as long as it was charged. Common practice.
    #[must_use]
    pub const fn discharge_minutes(&self) -> u32 {
        4 * self.minutes
    }
}

/// A winding that may be wet is first tested at this or less, V; common practice.
const WET_VOLTS: f64 = 500.0;

/// The voltage for a winding, less where it may be wet: what the full voltage breaks down cannot be dried any more.
pub(super) fn voltage_for(nameplate: &Nameplate, last: Option<Voltage>, may_be_wet: bool) -> TestVoltage {
    let usual = voltage(nameplate, last);
    match (Voltage::from_volts(WET_VOLTS), usual.apply) {
        (Ok(wet), Some(full)) if may_be_wet && full > wet => TestVoltage {
            why: format!("it may be wet, so {wet} or less first; {full} only if that reads well; {}", usual.why),
            apply: Some(wet),
            guide: usual.guide,
        },
        _ => usual,
    }
}

/// The voltage of the last test where the guide allows it, because readings compare at one voltage only; else the least of
/// the guide, which strains the winding least.
pub(super) fn voltage(nameplate: &Nameplate, last: Option<Voltage>) -> TestVoltage {
    let rated = nameplate.rated_voltage;
    let guide = guide_for(nameplate);
    let range = |guide: TestVoltageGuide| {
        if guide.least == guide.greatest {
            guide.least.to_string()
        } else {
            format!("{} to {}", guide.least, guide.greatest)
        }
    };
    let (apply, why) = match (rated.zip(guide), last) {
        (Some((rated, guide)), Some(last)) if guide.allows(last) => {
            (Some(last), format!("as last time; the guide for a rated {rated} is {}", range(guide)))
        }
        (Some((rated, guide)), Some(last)) => {
            (Some(guide.least), format!("the guide for a rated {rated} is {}; last time it was {last}", range(guide)))
        }
        (Some((rated, guide)), None) => {
            (Some(guide.least), format!("the guide for a rated {rated} is {}", range(guide)))
        }
        (None, Some(last)) => (Some(last), "as last time; the rated voltage is not known".to_owned()),
        (None, None) => {
            (None, "the rated voltage is not known: read the nameplate, then choose by the guide".to_owned())
        }
    };
    TestVoltage { apply, guide, why }
}

/// Ten minutes where the polarization index is a measure of condition, else one.
pub(super) fn duration(
    last: Option<Measured>,
    ten_minutes_before: bool,
    nameplate: &Nameplate,
    policy: &Policy,
) -> Duration {
    let minute = last.map(|value| TimedReading { elapsed: one_minute(), value });
    let one = |why: String| Duration { minutes: 1, why };
    if let Some(why) = not_meaningful(minute.as_slice(), nameplate, policy) {
        return one(format!("one minute, because {why}"));
    }
    if nameplate.construction.is_none() && !ten_minutes_before {
        return one("one minute, because the construction is not known and ten were never tested".to_owned());
    }
    Duration { minutes: 10, why: "ten minutes, for the polarization index R600/R60".to_owned() }
}
