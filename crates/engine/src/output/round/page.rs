//! The round as a page to print: what holds before every test at the top, then every test with room to write.

use super::{Planned, place};
use crate::error::Failure;
use crate::page::{Pages, Template};
use crate::summary::span_in_words;
use groundwall::assess::Action;
use groundwall::round::{Expectation, Line};
use serde::Serialize;

/// The template.
pub const TEMPLATE: Template =
    Template { name: "round.html", source: include_str!("page.html"), script: None, fonts: false };

#[derive(Serialize)]
struct Content {
    as_of: String,
    until: String,
    summary: String,
    ten_minutes: bool,
    any_full: bool,
    all_full: bool,
    confidence: String,
    reference: String,
    places: Vec<Place>,
}

/// The tests of one site and area, which stand together.
#[derive(Serialize)]
struct Place {
    name: String,
    tests: Vec<Test>,
}

#[derive(Serialize)]
struct Test {
    full: bool,
    name: String,
    description: Option<String>,
    action: Option<&'static str>,
    due_by: String,
    /// For how long it has been overdue.
    overdue: Option<String>,
    due_why: String,
    apply: String,
    apply_why: String,
    minutes: u32,
    discharge_minutes: u32,
    hold_why: String,
    likely: String,
    likely_from: String,
    expected: String,
    expected_why: Option<String>,
    stops: Vec<Stop>,
    minimum: String,
    minimum_rule: String,
    minimum_assumed: bool,
    last_on: Option<String>,
    last: Option<String>,
    instrument: Option<String>,
    checks: Vec<String>,
    questions: Vec<String>,
}

#[derive(Serialize)]
struct Stop {
    at: String,
    below: String,
}

/// The page: one line for each test, by place, and the full form of those that are special, or of all.
///
/// # Errors
///
/// A [`Failure`] when it cannot be made.
pub fn text(planned: &Planned<'_>, full: bool) -> Result<String, Failure> {
    let round = planned.round;
    let mut places: Vec<Place> = Vec::new();
    for line in &round.lines {
        let name = place(line);
        match places.last_mut().filter(|last| last.name == name) {
            Some(last) => last.tests.push(test(line, full)),
            None => places.push(Place { name, tests: vec![test(line, full)] }),
        }
    }
    let content = Content {
        as_of: round.as_of.to_string(),
        until: round.until.to_string(),
        summary: super::summary(round),
        ten_minutes: round.lines.iter().any(|line| line.duration.minutes > 1),
        all_full: full,
        any_full: round.lines.iter().any(|line| full || is_special(line)),
        confidence: round.confidence.in_words(),
        reference: round.reference.to_string(),
        places,
    };
    Pages::new(&[TEMPLATE])?.render(&TEMPLATE, &content)
}

/// A text in which no unit is separated from its number, and no sign from what it stands before.
fn unbroken(text: &str) -> String {
    let mut words = text.split(' ').peekable();
    let mut whole = String::with_capacity(text.len());
    while let Some(word) = words.next() {
        whole.push_str(word);
        let tied = words.peek().is_some_and(|next| matches!(*next, "Ω" | "kΩ" | "MΩ" | "GΩ" | "TΩ" | "°C" | "V"));
        if words.peek().is_some() {
            whole.push(if tied || matches!(word, "<" | ">") { '\u{a0}' } else { ' ' });
        }
    }
    whole
}

/// Whether a test needs more than a line: something is to be done about the winding, or it was never tested.
fn is_special(line: &Line) -> bool {
    line.action().is_none_or(|action| action <= Action::Recheck)
}

fn test(line: &Line, full: bool) -> Test {
    let (expected, expected_why) = match &line.expected {
        Expectation::Reading(_) => (unbroken(&line.expected.in_words()), None),
        Expectation::CannotSay(why) => ("cannot say".to_owned(), Some(why.clone())),
    };
    Test {
        full: full || is_special(line),
        name: line.name(),
        description: line.nameplate.description.clone(),
        action: line.action().map(Action::word),
        due_by: super::due(line),
        overdue: super::days_late(line).map(span_in_words),
        due_why: line.due.why.clone(),
        apply: line.voltage.apply.map_or_else(|| "read the nameplate".to_owned(), |volts| unbroken(&volts.to_string())),
        apply_why: line.voltage.why.clone(),
        minutes: line.duration.minutes,
        discharge_minutes: line.duration.discharge_minutes(),
        hold_why: line.duration.why.clone(),
        likely: unbroken(&line.likely.at.to_string()),
        likely_from: line.likely.from.in_words(),
        expected,
        expected_why,
        stops: line
            .stop
            .iter()
            .map(|stop| Stop { at: unbroken(&stop.at.to_string()), below: unbroken(&stop.below.to_string()) })
            .collect(),
        minimum: line.minimum.resistance.to_string(),
        minimum_rule: line.minimum.rule.clone(),
        minimum_assumed: line.minimum.assumed,
        last_on: line.last.map(|last| last.on.to_string()),
        last: line.last.map(|last| {
            let read = last.as_read.map_or_else(|| "no one-minute reading".to_owned(), |value| value.to_string());
            let at = last.winding_temp.map_or_else(String::new, |t| format!(" at {t}"));
            unbroken(&format!("{read}{at}"))
        }),
        instrument: line.instrument.clone(),
        checks: line.checks.clone(),
        questions: line.questions.clone(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quantity_stays_on_one_line() {
        assert_eq!(unbroken("> 2 GΩ at 20 °C on a day"), ">\u{a0}2\u{a0}GΩ at 20\u{a0}°C on a day");
    }
}
