//! The next round: which windings are due until a day, at which voltage and for how long to test each, what to expect there,
//! and the reading at which to stop.
//!
//! ```text
//! Judgement ─due?→ Draft: likely temperature, expected reading ─┐
//! Series ─what was used last→ Habits ───────────────────────────┼→ Line, ordered by site, area, day and urgency
//! Register ─never tested→ nameplate alone ──────────────────────┘
//! ```
//!
//! A line is guidance for the person with the tester, not a measurement: nothing of it is written where a reading belongs.

mod advice;
mod expect;
mod likely;
mod line;
mod questions;
#[cfg(test)]
mod tests;

pub use advice::{Duration, TestVoltage};
pub use expect::{Expectation, ExpectedReading, StopValue};
pub use likely::{LikelyFrom, LikelyTemperature};
pub use line::{LastTest, Line, Round};

use crate::assess::{Judgement, NextTest, Register, SeriesAssessment, Spread, Terms, assess_windings};
use crate::minimum;
use crate::nameplate::Nameplate;
use crate::record::{Connection, Scope};
use crate::resistance::Measured;
use crate::series::{Series, SeriesKey};
use crate::temperature::{TemperatureLaw, UsedLaw};
use chrono::NaiveDate;
use likely::SiteTemperatures;
use line::Habits;
use std::collections::{BTreeMap, BTreeSet};

/// What is kept of a judgement, for the series that are due.
struct Draft {
    due: Option<Due>,
    site: Option<String>,
    /// The temperature that the series' own tests lead to expect.
    likely: Option<LikelyTemperature>,
}

/// A series that is due, as far as its judgement tells.
struct Due {
    assessment: SeriesAssessment,
    nameplate: Nameplate,
    law: UsedLaw,
    expected: Expectation,
}

/// Plans the round: every series whose next test is due until a day, and every winding of the register that was never
/// tested.
///
/// `series` must be in the order of their keys, as [`Series::collect`] gives them.
///
/// # Validity
///
/// Any input. What cannot be said is said to be so, line by line.
///
/// # Examples
///
/// ```
/// use groundwall::assess::{InTurn, Register, Terms};
/// use groundwall::nameplate::{Construction, Nameplate};
/// use groundwall::policy::Policy;
/// use groundwall::round::plan_round;
/// use groundwall::units::{Confidence, Voltage};
///
/// let rated_voltage = Some(Voltage::from_volts(6600.0)?);
/// let nameplate = Nameplate { rated_voltage, construction: Some(Construction::FormWound), ..Nameplate::default() };
/// let register = Register::from([("G-1 stator".to_owned(), nameplate)]);
/// let terms = Terms {
///     policy: Policy::default(),
///     as_of: "2026-11-25".parse()?,
///     confidence: Confidence::from_fraction(0.9)?,
/// };
/// let round = plan_round(Vec::new(), &register, &terms, "2026-12-31".parse()?, &InTurn);
/// let line = &round.lines[0];
/// assert_eq!(line.due.why, "now: it was never tested");
/// assert_eq!(line.voltage.apply.map(|volts| volts.as_volts()), Some(2500.0));
/// assert_eq!(line.duration.minutes, 10);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[must_use]
pub fn plan_round(
    series: Vec<Series>,
    register: &Register,
    terms: &Terms,
    until: NaiveDate,
    spread: &impl Spread,
) -> Round {
    let tested: BTreeSet<String> = series.iter().map(|series| series.key.winding.clone()).collect();
    let habits: Vec<(SeriesKey, Habits)> =
        series.iter().map(|series| (series.key.clone(), Habits::of(series, terms.as_of))).collect();
    let drafts = assess_windings(series, register, terms, spread, |judged| {
        let circuit = due_with_circuit(&judged);
        judged.into_iter().map(|judgement| draft(judgement, until, circuit.as_ref())).collect()
    });
    let temperatures =
        SiteTemperatures::of(drafts.iter().filter_map(|draft| Some((draft.site.as_deref(), draft.likely?.at))));
    let mut not_due = 0;
    let mut lines = Vec::new();
    for (draft, (key, habits)) in drafts.into_iter().zip(habits) {
        let likely = draft.likely.unwrap_or_else(|| temperatures.at(draft.site.as_deref()));
        match draft.due {
            Some(due) => lines.push(tested_line(due, key, habits, likely, terms)),
            None => not_due += 1,
        }
    }
    let unregistered = register.iter().filter(|(winding, _)| !tested.contains(*winding));
    lines.extend(unregistered.map(|(winding, nameplate)| untested_line(winding, nameplate, &temperatures, terms)));
    lines.sort_by(Line::order);
    let lines = circuits_together(lines);
    Round {
        as_of: terms.as_of,
        until,
        reference: terms.policy.reference_temp,
        confidence: terms.confidence,
        lines,
        not_due,
    }
}

/// Lines of a circuit follow each other, from where the most urgent of them stands.
fn circuits_together(lines: Vec<Line>) -> Vec<Line> {
    let mut first: BTreeMap<String, usize> = BTreeMap::new();
    let mut placed: Vec<(usize, Line)> = Vec::with_capacity(lines.len());
    for (at, line) in lines.into_iter().enumerate() {
        let is_circuit = line.key.scope == Scope::Circuit;
        let place = if is_circuit { *first.entry(line.key.winding.clone()).or_insert(at) } else { at };
        placed.push((place, line));
    }
    placed.sort_by_key(|(place, _)| *place);
    placed.into_iter().map(|(_, line)| line).collect()
}

/// When the first line of a circuit is due: every line is tested to earth and to the others in one go, so that all are due then.
fn due_with_circuit(judged: &[Judgement]) -> Option<NextTest> {
    let lines = judged.iter().map(|judgement| &judgement.assessment).filter(|line| is_of_circuit(line));
    let first = lines.min_by_key(|line| line.next_test.by)?;
    let why = format!("with {}, which is due then: all lines of a circuit are tested together", first.name());
    Some(NextTest { by: first.next_test.by, why })
}

fn is_of_circuit(series: &SeriesAssessment) -> bool {
    series.scope == Scope::Circuit.to_string()
}

fn draft(mut judgement: Judgement, until: NaiveDate, circuit: Option<&NextTest>) -> Draft {
    let own = judgement.assessment.next_test.by;
    if let Some(first) = circuit.filter(|first| is_of_circuit(&judgement.assessment) && first.by < own) {
        judgement.assessment.next_test = first.clone();
    }
    let due = judgement.assessment.next_test.by;
    let day = due.max(judgement.as_of);
    let likely = likely::of_tests(&judgement.tests, day);
    let site = judgement.assessment.site.clone();
    if due > until {
        return Draft { due: None, site, likely };
    }
    let expected = expect::reading(&judgement, likely, day);
    let law = judgement.law_used();
    let due = Due { assessment: judgement.assessment, nameplate: judgement.background.nameplate, law, expected };
    Draft { due: Some(due), site, likely }
}

fn tested_line(due: Due, key: SeriesKey, habits: Habits, likely: LikelyTemperature, terms: &Terms) -> Line {
    let Due { assessment, nameplate, law, expected } = due;
    let minimum = assessment
        .minimum
        .clone()
        .unwrap_or_else(|| minimum::minimum_of(&nameplate, &key.connection, None, habits.test_volts, &terms.policy));
    let as_read = habits.last.as_ref().and_then(|last| last.as_read);
    let expected = expected.within_scale(habits.scale_end());
    let stop = expect::stop_values(&minimum, law, likely.at, terms.policy.reference_temp);
    let other_phases = habits.last.as_ref().and_then(|last| last.other_phases);
    let mut checks = questions::checks(&key, &nameplate, other_phases);
    checks.extend(questions::on_hold(assessment.action, &expected, stop[1]));
    Line {
        due: assessment.next_test.clone(),
        voltage: advice::voltage_for(&nameplate, habits.test_volts, assessment.may_be_wet()),
        duration: advice::duration(as_read, habits.ten_minutes, &nameplate, &terms.policy),
        expected,
        stop,
        questions: questions::for_tested(&assessment, habits.last.as_ref().map(|last| last.on)),
        checks,
        likely,
        minimum,
        law: law.name(),
        last: habits.last,
        instrument: habits.instrument,
        assessment: Some(assessment),
        nameplate,
        key,
    }
}

fn untested_line(winding: &str, nameplate: &Nameplate, temperatures: &SiteTemperatures, terms: &Terms) -> Line {
    let key = SeriesKey { winding: winding.to_owned(), connection: Connection::AllEarth, scope: Scope::Winding };
    let law = UsedLaw::from(TemperatureLaw::choose(nameplate, &terms.policy));
    let minimum = minimum::minimum_of(nameplate, &key.connection, None, None, &terms.policy);
    let likely = temperatures.at(nameplate.site.as_deref());
    Line {
        due: NextTest { by: terms.as_of, why: "now: it was never tested".to_owned() },
        voltage: advice::voltage(nameplate, None),
        duration: advice::duration(None::<Measured>, false, nameplate, &terms.policy),
        expected: Expectation::CannotSay("it was never tested".to_owned()),
        stop: expect::stop_values(&minimum, law, likely.at, terms.policy.reference_temp),
        questions: questions::for_untested(&minimum),
        checks: questions::checks(&key, nameplate, None),
        likely,
        minimum,
        law: law.name(),
        last: None,
        instrument: None,
        assessment: None,
        nameplate: nameplate.clone(),
        key,
    }
}
