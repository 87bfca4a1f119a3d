//! From findings and probabilities to one action, and to the day by which to test again.

use super::finding::{Code, Evidence, Finding};
use super::result::{Action, NextTest};
use super::view::View;
use crate::resistance::{Bound, Measured};
use crate::units::three_digits;
use chrono::{Days, NaiveDate};

/// Days within which a repeat is still a new request; later it is one that nobody has met. Common practice: the next shift or the
/// next short stop.
const REPEAT_WITHIN_DAYS: i64 = 30;

/// The most urgent action that any of the findings or probabilities asks for.
pub(super) fn decide(view: &View<'_>, findings: &[Finding]) -> Action {
    if has(findings, Code::BelowMinimum) {
        return Action::Hold;
    }
    // A void test says nothing of the winding, so what follows from it may be wrong both ways.
    if findings.iter().any(void) {
        return Action::Recheck;
    }
    if has(findings, Code::ReachesMinimum) {
        return Action::Plan;
    }
    if is_doubtful(view, findings) {
        return Action::Recheck;
    }
    // One fallen reading alone, and a spread in one round alone, were doubted above.
    if declines_in_sight(view) || phase_falls_away(view) || fallen_readings(view) > 0 {
        return Action::Shorten;
    }
    if has(findings, Code::FewReadings) { Action::Gather } else { Action::Keep }
}

fn has(findings: &[Finding], code: Code) -> bool {
    findings.iter().any(|finding| finding.code == code)
}

/// Whether a finding makes the latest test void: its unit, its leads or its tester are wrong, or nothing was read.
fn void(finding: &Finding) -> bool {
    match finding.code {
        Code::LeadCheckFailed | Code::NoReading => true,
        Code::UnitSlip => finding.evidence.contains(&("stands", Evidence::Text("no".to_owned()))),
        Code::OffScale => finding.evidence.iter().any(|(name, _)| *name == "full_scale_mohm"),
        _ => false,
    }
}

/// Whether the latest test is to be repeated.
fn is_doubtful(view: &View<'_>, findings: &[Finding]) -> bool {
    findings.iter().any(|finding| void(finding) || doubtful(view, finding))
}

/// Whether a finding makes the latest test doubtful.
fn doubtful(view: &View<'_>, finding: &Finding) -> bool {
    match finding.code {
        Code::LowAbsorption | Code::CopiedRows | Code::TimedReadingsFall => true,
        // One low reading may be a bad test; once later tests agree with it, the test has been repeated.
        Code::FallSinceLast => fallen_readings(view) == 1,
        // Damp lowers a reading; one that is over range all the same needs no repeat.
        Code::DampTest => latest_bound(view) != Some(Bound::Above),
        Code::TemperatureMissing | Code::TemperatureOutsideLaw | Code::TemperatureImplausible | Code::ValueRepeated => {
            finding.evidence.contains(&("stands", Evidence::Text("no".to_owned())))
        }
        Code::OffScale => finding.evidence.iter().any(|(name, _)| *name == "limit_mohm"),
        // Seen once it may be a mistake; seen again it is the winding.
        Code::PhaseSpread => {
            view.phases.drift.is_none() && view.phases.spread.as_ref().is_some_and(|spread| spread.rounds_in_a_row == 1)
        }
        _ => false,
    }
}

/// How many of the latest readings lie below what the earlier ones led to expect.
fn fallen_readings(view: &View<'_>) -> usize {
    view.outlook.and_then(|outlook| outlook.fall).map_or(0, |fall| fall.readings)
}

fn latest_bound(view: &View<'_>) -> Option<Bound> {
    Some(view.latest()?.0.as_read?.bound())
}

fn declines_in_sight(view: &View<'_>) -> bool {
    let policy = &view.terms.policy;
    view.outlook.filter(|outlook| outlook.judges_a_trend(view.terms)).is_some_and(|outlook| {
        outlook.summary.p_falling.is_some_and(|p| p > policy.falling_probability.as_fraction())
            && outlook.p_below_in_shorten > policy.shorten_probability.as_fraction()
    })
}

fn phase_falls_away(view: &View<'_>) -> bool {
    view.phases.drift.is_some() || view.phases.spread.is_some()
}

/// Whether the winding has only ever been beyond a scale, and the last one with a known end and temperature ended far above its minimum.
/// The chance of being below it by now is then what was believed before any test, so it calls for none sooner than usual.
fn beyond_the_scale(view: &View<'_>) -> bool {
    let far = view.case.minimum.resistance.as_megohms() * view.terms.policy.doubt_margin;
    let last = view.case.counted().map(|at| &view.case.tests[at]).rfind(|test| test.kt.is_some());
    view.outlook.is_some_and(|outlook| !outlook.rests_on_readings())
        && matches!(last.and_then(|test| test.corrected), Some(Measured::Above(bound)) if bound.as_megohms() >= far)
}

/// Which test is to be repeated. A repeat that was asked for long ago and not made is no new request, and the words say so.
fn doubtful_test(view: &View<'_>, on: NaiveDate) -> String {
    match view.terms.as_of.signed_duration_since(on).num_days() {
        days if days > REPEAT_WITHIN_DAYS => {
            format!("the test of {on} is doubtful and was not repeated in {days} days")
        }
        _ => format!("the test of {on} is doubtful"),
    }
}

/// The latest day for the next test, and why.
pub(super) fn next_test(view: &View<'_>, action: Action, findings: &[Finding]) -> NextTest {
    let as_of = view.terms.as_of;
    let last_made = view.case.last_made().map(|at| view.case.tests[at].tested_on.date);
    match action {
        Action::Hold => {
            let why = "before the winding is energised: it is at or below its minimum".to_owned();
            return NextTest { by: as_of, why };
        }
        Action::Recheck => {
            let why = match last_made {
                Some(on) => format!("now: {}", doubtful_test(view, on)),
                None => "now: nothing is known of the winding".to_owned(),
            };
            return NextTest { by: as_of, why };
        }
        Action::Plan if is_doubtful(view, findings) => {
            let on = last_made.unwrap_or(as_of);
            let why = format!("now, while the work is raised: {}", doubtful_test(view, on));
            return NextTest { by: as_of, why };
        }
        Action::Plan | Action::Shorten | Action::Keep | Action::Gather => {}
    }
    let usual = view.case.interval_days(view.terms);
    let (interval, what) = if matches!(action, Action::Plan | Action::Shorten) {
        (usual.div_ceil(2), format!("half the usual interval of {usual} days"))
    } else {
        (usual, format!("the usual interval of {usual} days"))
    };
    let last = last_made.unwrap_or(as_of);
    let regular = last.checked_add_days(Days::new(u64::from(interval))).unwrap_or(NaiveDate::MAX);
    let limit = view.terms.policy.next_test_probability.as_fraction();
    let safe = view.outlook.filter(|_| !beyond_the_scale(view)).and_then(|outlook| outlook.safe_until);
    match safe {
        Some(safe) if safe < regular => {
            let p = three_digits(limit);
            let why = if safe <= as_of {
                format!("now: the level may already be below the minimum with probability {p} or more")
            } else {
                format!("until then the level is below the minimum with probability {p} at most")
            };
            NextTest { by: safe.max(as_of), why }
        }
        _ if regular < as_of => NextTest { by: as_of, why: format!("now: {what} ended on {regular}") },
        _ => NextTest { by: regular, why: format!("{what} after the last test") },
    }
}
