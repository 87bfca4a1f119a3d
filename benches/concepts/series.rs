//! One series judged: correction, trend, forecast, findings, action.

use std::error::Error;

use groundwall::assess::{Action, InTurn, Register, Terms, assess_fleet};
use groundwall::policy::Policy;
use groundwall::series::Series;
use groundwall::units::Confidence;

use crate::rounds;

#[path = "../falling.rs"]
mod falling;

/// Series judged in a round.
const SERIES: usize = 200;

/// Series of 12, 40 and 160 readings, exact or half of them bounds, in a fleet of their own.
pub(crate) fn time() -> Result<(), Box<dyn Error>> {
    let terms = Terms {
        policy: Policy::default(),
        as_of: falling::AS_OF.parse()?,
        confidence: Confidence::from_fraction(0.9)?,
    };
    for (bounds, words) in [(false, "exact"), (true, "half of them bounds")] {
        for readings in [12, 40, 160] {
            let (fleet, register) = falling::fleet(SERIES, readings, bounds)?;
            let judge = |fleet: Vec<Series>| judge(fleet, &register, &terms);
            let size = format!("{readings} readings, {words}");
            rounds::line("series", &size, SERIES, || fleet.clone(), judge, &SERIES)?;
        }
    }
    Ok(())
}

/// How many were told to be falling, planned for, and on their way to the minimum by a date near the true one.
fn judge(fleet: Vec<Series>, register: &Register, terms: &Terms) -> usize {
    let judged = assess_fleet(fleet, register, terms, &InTurn, |judgement| judgement.assessment);
    let right = judged.iter().filter(|series| {
        let slope = series.trend.as_ref().and_then(|trend| trend.slope_log10_per_year);
        let falls = slope.is_some_and(|slope| (slope / falling::DECADES_A_YEAR - 1.0).abs() < 0.5);
        falls && matches!(series.action, Action::Plan | Action::Hold) && series.forecast.reaches_minimum.is_some()
    });
    right.count()
}
