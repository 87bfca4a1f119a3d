//! A reading that is a whole unit away from the others: MΩ written as GΩ.

use super::since_event::{LEAST_OTHERS, level, since_event};
use crate::assess::finding::{Asks, Code, Finding};
use crate::assess::view::View;
use crate::resistance::Measured;
use crate::stats::median::median;

/// Decades between neighbouring units: MΩ and GΩ.
const UNIT_STEP: f64 = 3.0;
/// How far from a whole step a unit error may lie, decades: a factor of 4, because the winding moves too.
const UNIT_TOLERANCE: f64 = 0.6;

/// The exact levels of the tests since the last event, and the middle of them; none with too few to compare.
fn levels_and_middle(view: &View<'_>) -> Option<(Vec<(usize, f64)>, f64)> {
    let case = view.case;
    let tests = since_event(case)?;
    let levels: Vec<(usize, f64)> = tests.iter().filter_map(|at| Some((*at, level(case, *at)?))).collect();
    let middle = median(levels.iter().map(|(_, level)| *level).collect()).filter(|_| levels.len() > LEAST_OTHERS)?;
    Some((levels, middle))
}

/// By how many units a reading is off; none where that is not a whole number of them.
fn units_off(off: f64) -> Option<f64> {
    let steps = (off / UNIT_STEP).round();
    (steps != 0.0 && (off - steps * UNIT_STEP).abs() <= UNIT_TOLERANCE).then_some(steps)
}

/// What a reading would be in the unit that fits the other tests, where it is a whole unit away from them.
pub(super) fn unit_that_fits(view: &View<'_>, at: usize) -> Option<Measured> {
    let (levels, middle) = levels_and_middle(view)?;
    let (_, level) = levels.iter().find(|(other, _)| *other == at)?;
    let steps = units_off(level - middle)?;
    Some(view.case.tests[at].as_read?.scaled(libm::exp10(-UNIT_STEP * steps)))
}

pub(super) fn unit_slip(view: &View<'_>) -> Option<Finding> {
    let case = view.case;
    let (levels, middle) = levels_and_middle(view)?;
    let slips: Vec<(usize, f64)> =
        levels.iter().map(|(at, level)| (*at, level - middle)).filter(|(_, off)| units_off(*off).is_some()).collect();
    let (at, off) = *slips.last()?;
    let is_latest = case.latest() == Some(at);
    let size = libm::exp10(UNIT_STEP * (off.abs() / UNIT_STEP).round());
    let times = if off > 0.0 { format!("about {size} times") } else { format!("about 1/{size} of") };
    let others = match slips.len() - 1 {
        0 => String::new(),
        1 => ", and it is not the only one".to_owned(),
        more => format!(", and {more} others are like it"),
    };
    let message = format!(
        "The {}reading of {}, {}, is {times} what the {} others since {} lead to expect: the unit was probably mistaken{others}.",
        if is_latest { "latest " } else { "" },
        case.tests[at].tested_on.date,
        case.tests[at].as_read?,
        levels.len() - 1,
        case.tests[levels[0].0].tested_on.date
    );
    let finding = Finding::new(Code::UnitSlip, message, "common practice").with("off_log10", off);
    Some(if is_latest { finding.asking_before_use(Asks::NewTest) } else { finding })
}
