//! From findings and probabilities to one action, and to the day by which to test again.

use super::finding::{Asks, Code, Finding};
use super::result::{Action, Forecast, NextTest, WorkBy};
use super::view::{View, beyond_the_scale};
use chrono::{Days, NaiveDate};

/// Days within which a repeat is still a new request; later it is an open request. Common practice: the next shift or the
/// next short stop.
const REPEAT_WITHIN_DAYS: i64 = 30;

/// The action that the most urgent finding asks for.
pub(super) fn decide(findings: &[Finding]) -> Action {
    findings.iter().map(|finding| finding.asks).min().and_then(Asks::action).unwrap_or(Action::Keep)
}

/// By when planned work is to be done. The strictest of what the findings ask for stands: where one of them keeps the winding out of use,
/// a date made from the trend does not give it time.
pub(super) fn work_by(action: Action, findings: &[Finding], forecast: &Forecast, as_of: NaiveDate) -> Option<WorkBy> {
    if action != Action::Plan {
        return None;
    }
    if findings.iter().any(|finding| finding.before_use) {
        return Some(WorkBy::BeforeUse);
    }
    // Whatever asks for the work: it does not wait until after the level may have reached the minimum.
    let by_trend = findings.iter().any(|finding| finding.code == Code::ReachesMinimum);
    let last_day = forecast.reaches_minimum.filter(|_| by_trend).and_then(|dates| dates.earliest.pred_opt());
    Some(match last_day {
        Some(day) if day <= as_of => WorkBy::Now,
        Some(day) => WorkBy::Day(day),
        None => WorkBy::NextOutage,
    })
}

/// Whether the latest test is void or doubtful, and whether the winding must not be energised before it is repeated.
fn repeat(findings: &[Finding]) -> Option<bool> {
    let mut repeats = findings.iter().filter(|finding| matches!(finding.asks, Asks::NewTest | Asks::Repeat)).peekable();
    repeats.peek().is_some().then(|| repeats.any(|finding| finding.before_use))
}

/// Which test is to be repeated, and whether before the winding is energised. A repeat that was asked for long ago and not made is no
/// new request, and the words say so.
fn doubtful_test(view: &View<'_>, on: NaiveDate, before_use: Option<bool>) -> String {
    let use_of_it = if before_use == Some(true) { "; do not energise until it is repeated" } else { "" };
    match view.terms.as_of.signed_duration_since(on).num_days() {
        days if days > REPEAT_WITHIN_DAYS => {
            format!("the test of {on} is doubtful and was not repeated in {days} days{use_of_it}")
        }
        _ => format!("the test of {on} is doubtful{use_of_it}"),
    }
}

/// The day on which the winding was found dry, and the days from then to the next of the two tests that follow; none where both were made.
fn after_drying(view: &View<'_>) -> Option<(NaiveDate, u32)> {
    let dried = view.case.dried_on()?;
    let since = view.case.tests[view.case.last_made()?].tested_on.date.signed_duration_since(dried).num_days();
    let policy = &view.terms.policy;
    let due = [policy.dried_first_days, policy.dried_second_days].into_iter().find(|days| since < i64::from(*days))?;
    Some((dried, due))
}

/// The latest day for the next test, and why.
pub(super) fn next_test(view: &View<'_>, action: Action, findings: &[Finding]) -> NextTest {
    let as_of = view.terms.as_of;
    let last_made = view.case.last_made().map(|at| view.case.tests[at].tested_on.date);
    match action {
        Action::Hold => {
            let has = |code: Code| findings.iter().any(|finding| finding.code == code && finding.asks == Asks::Hold);
            let cause = if has(Code::Drying) {
                "it is being dried out, and only a cold test releases it"
            } else if has(Code::BelowMinimum) {
                "it is at or below its minimum"
            } else if has(Code::FallsWithVoltage) {
                "its resistance falls as the voltage rises"
            } else if has(Code::RowKeptOut) {
                "an excluded row contradicts it"
            } else if has(Code::CellUnread) {
                "a test under a connection that is not understood may be its latest"
            } else if has(Code::TestedTwice) {
                "in which order the tests of one day were made is not known, and in one of the orders it is held"
            } else if has(Code::FallSinceLast) {
                "it fell close to its minimum"
            } else if has(Code::IndexBelowOne) {
                "its resistance falls while the voltage is on"
            } else {
                "its polarization index does not let it run"
            };
            let why = format!("before the winding is energised: {cause}");
            return NextTest { by: as_of, why: view.naming(why) };
        }
        Action::Recheck => {
            let cause = findings.iter().find(|finding| matches!(finding.asks, Asks::NewTest | Asks::Repeat));
            let why = match last_made {
                Some(_) if cause.is_some_and(|cause| cause.code == Code::RowKeptOut) => {
                    "now: an excluded row may be worse; do not energise until it is corrected or the test repeated"
                        .to_owned()
                }
                Some(on) => format!("now: {}", doubtful_test(view, on, repeat(findings))),
                None => view.naming("now: nothing is known of the winding".to_owned()),
            };
            return NextTest { by: as_of, why };
        }
        Action::Plan if repeat(findings).is_some() => {
            let doubtful = doubtful_test(view, last_made.unwrap_or(as_of), repeat(findings));
            return NextTest { by: as_of, why: format!("now, while the work is raised: {doubtful}") };
        }
        Action::Plan if findings.iter().any(|finding| finding.asks == Asks::Work && finding.before_use) => {
            return NextTest {
                by: as_of,
                why: "before it is started again, when the cause has been looked for".to_owned(),
            };
        }
        Action::Plan | Action::Shorten | Action::Keep | Action::Gather => {}
    }
    let usual = view.case.interval_days(view.terms);
    let (interval, what) = if matches!(action, Action::Plan | Action::Shorten) {
        (usual.div_ceil(2), format!("half the usual interval of {usual} days"))
    } else {
        (usual, format!("the usual interval of {usual} days"))
    };
    let later = |day: NaiveDate, days: u32| day.checked_add_days(Days::new(days.into())).unwrap_or(NaiveDate::MAX);
    let regular = later(last_made.unwrap_or(as_of), interval);
    let dried = after_drying(view).map(|(dried, days)| (later(dried, days), dried, days));
    let (due, why) = match dried.filter(|(due, ..)| *due < regular) {
        Some((due, dried, days)) => {
            let test = format!("{days} days after the winding was found dry on {dried}");
            (due, if due < as_of { format!("now: the test {test} was not made") } else { test })
        }
        None if regular < as_of => (regular, format!("now: {what} ended on {regular}")),
        None => (regular, format!("{what} after the last test")),
    };
    let limit = view.terms.policy.next_test_probability.as_fraction();
    let safe = view.outlook.filter(|_| !beyond_the_scale(view)).and_then(|outlook| outlook.safe_until);
    match safe {
        Some(safe) if safe < due => {
            let one_in = (1.0 / limit).round();
            let why = if safe <= as_of {
                format!("now: the level may be below the minimum already (1 in {one_in} or more)")
            } else {
                format!("until then the level is hardly below the minimum (1 in {one_in} at most)")
            };
            NextTest { by: safe.max(as_of), why }
        }
        _ => NextTest { by: due.max(as_of), why },
    }
}
