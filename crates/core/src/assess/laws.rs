//! By which temperature laws a series is judged: what is uncertain about a law must not make an answer less urgent.
//!
//! The readings are corrected by the law in use, and the trend fits what that law gets wrong. A fall can hide in either, so the latest
//! readings are judged once more by the law of the insulation as it stands: today's level without the lift that a fitted error gives it,
//! and falls with no error fitted. Where the insulation is not known, they are judged by the law of each family. The most urgent answer
//! stands.

use super::case::Case;
use super::finding::{Code, Finding};
use super::judgement::Judgement;
pub(super) use super::judgement::LawAnswer;
use super::result::{Action, CorrectedTest};
use crate::temperature::TemperatureLaw;
use crate::trend::StretchFit;
use crate::units::{Resistance, Temperature};

/// A probability of reaching the minimum in the time that `shorten` looks ahead, below which no law that differs by what is common makes
/// an answer more urgent.
const REMOTE: f64 = 0.02;
/// A lift of today's level by less than this is rounding, decades.
const NO_LIFT: f64 = 0.001;
/// The latest readings are looked at for a fall if they lie so much below the earlier ones, decades: two thirds of the least drop that the
/// trend calls a fall.
const LOOKS_LIKE_A_FALL: f64 = 0.1;
/// And if a fitted error of the law accounts for so much of that, decades.
const EXPLAINED_AWAY: f64 = 0.02;
/// Of so many latest readings.
const MOST_LATEST: usize = 8;
/// Earlier readings that they are compared with.
const MOST_EARLIER: usize = 12;

/// The laws by which a case is judged beside the one in use, each as it stands.
pub(super) fn others(case: &Case) -> Vec<TemperatureLaw> {
    match case.assumed_law {
        TemperatureLaw::Either => vec![TemperatureLaw::thermoplastic(), TemperatureLaw::Thermosetting],
        law => vec![law],
    }
}

impl LawAnswer {
    /// What a judgement came to; `other` is the law if it was not the one in use.
    pub(super) fn of(judgement: &Judgement, other: Option<TemperatureLaw>) -> Self {
        let latest = judgement.tests.iter().rfind(|test| test.left_out.is_none());
        let lift = match (&judgement.fit, other) {
            (Some(fit), None) => lift(fit, &judgement.tests, judgement.reference),
            _ => 0.0,
        };
        let level = judgement.assessment.trend.as_ref().and_then(|trend| trend.level_mohm);
        Self {
            law: other.map_or_else(
                || "the law in use with its fitted error".to_owned(),
                |law| format!("the law as it stands ({})", law.name()),
            ),
            latest: latest.and_then(|test| Some(test.corrected?.scaled(libm::exp10(lift)))),
            level: level.and_then(|mohm| Resistance::from_megohms(mohm).ok()),
            action: judgement.assessment.action,
        }
    }
}

/// By how much the error that a trend fitted to the law lifts the latest reading, decades.
pub(super) fn lift(fit: &StretchFit, tests: &[CorrectedTest], reference: Temperature) -> f64 {
    let latest = tests.iter().rev().filter(|test| test.left_out.is_none()).find_map(|test| test.winding_temp);
    latest.map_or(0.0, |t| -fit.mean_law_error() * warmth(t, reference))
}

/// Tens of kelvins above the reference temperature.
fn warmth(temperature: Temperature, reference: Temperature) -> f64 {
    (temperature - reference).as_kelvins() / 10.0
}

/// Whether another law can make an answer more urgent than this one.
pub(super) fn may_matter(judgement: &Judgement, case: &Case) -> bool {
    let Some(fit) = &judgement.fit else { return false };
    let counted: Vec<&CorrectedTest> = judgement.tests.iter().filter(|test| test.left_out.is_none()).collect();
    if judgement.assessment.action == Action::Hold {
        return false;
    }
    // Where the family is not known, the doubt of two laws hides a fall even in readings whose temperatures are assumed.
    if case.assumed_law == TemperatureLaw::Either {
        return true;
    }
    if counted.iter().all(|test| test.kt.is_none()) {
        return false;
    }
    if case.law.learnt.is_some() {
        return true;
    }
    let remote = judgement.background.p_below_in_shorten.is_none_or(|p| p < REMOTE);
    (!remote && lift(fit, &judgement.tests, judgement.reference) > NO_LIFT)
        || explains_a_fall_away(&counted, fit.mean_law_error(), judgement.reference)
}

/// Whether the latest readings lie lower than the earlier ones, and what was fitted of the law's error accounts for a part of that.
fn explains_a_fall_away(counted: &[&CorrectedTest], error: f64, reference: Temperature) -> bool {
    let levels: Vec<(f64, f64)> = counted
        .iter()
        .filter_map(|test| Some((test.corrected?.resistance()?.log10_megohms(), warmth(test.winding_temp?, reference))))
        .collect();
    let sum = |readings: &[(f64, f64)]| readings.iter().fold((0.0, 0.0), |sum, r| (sum.0 + r.0, sum.1 + r.1));
    let mean = |(level, warmth): (f64, f64), count: usize| (level / count as f64, warmth / count as f64);
    (1..=MOST_LATEST.min(levels.len() / 2)).any(|count| {
        let (earlier, latest) = levels.split_at(levels.len() - count);
        let earlier = &earlier[earlier.len().saturating_sub(MOST_EARLIER)..];
        let (before, after) = (mean(sum(earlier), earlier.len()), mean(sum(latest), count));
        before.0 - after.0 > LOOKS_LIKE_A_FALL && error * (before.1 - after.1) > EXPLAINED_AWAY
    })
}

/// Says that two laws lead to two actions.
pub(super) fn disagreement(milder: &LawAnswer, standing: &LawAnswer) -> Finding {
    let message = format!(
        "The answer depends on the temperature law: {} under {}, {} under {}. The more urgent one is used.",
        milder.action, milder.law, standing.action, standing.law
    );
    Finding::new(Code::LawsDisagree, message, "an assumed or fitted temperature law never makes the answer less urgent")
        .with("by_law_in_use", milder.action.to_string())
}
