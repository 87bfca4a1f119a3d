//! Two results compared with each other: which series moved up or down and why, which are new or gone, which were tested since,
//! and which became overdue.
//!
//! [`Snapshot`] is what of a result is compared, taken from a judgement or read from a result file; [`Comparison`] is what came
//! of two of them; [`words`] writes it for people, [`json`] for programs.

pub mod json;
mod read;
pub mod words;

use crate::output::Assessment;
use chrono::NaiveDate;
use groundwall::assess::{Action, Code, SeriesAssessment};
use groundwall::series::display_name;
use serde::Serialize;
use std::collections::BTreeMap;

/// What of a result is compared.
#[derive(Clone, Debug, PartialEq)]
pub struct Snapshot {
    /// The day on which it was judged.
    pub as_of: NaiveDate,
    series: BTreeMap<Key, State>,
}

/// Winding, connection and scope.
type Key = [String; 3];

/// How one series stood.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct State {
    /// What was to be done.
    pub action: Action,
    /// The finding that caused it: a whole sentence.
    pub reason: Option<String>,
    /// The day of the latest test that counts.
    pub tested_on: Option<NaiveDate>,
    /// For how many days its next test was overdue.
    pub overdue_days: Option<u32>,
    /// Its place in the list, the most urgent first.
    #[serde(skip)]
    pub place: usize,
}

impl State {
    fn of(series: &SeriesAssessment, place: usize) -> Self {
        Self {
            action: series.action,
            reason: series.noticed().find(|finding| tells_why(finding.code)).map(|finding| finding.message.clone()),
            tested_on: series.latest.as_ref().map(|latest| latest.tested_on),
            overdue_days: series.overdue_days,
            place,
        }
    }
}

/// Whether a finding tells why a series stands as it does.
const fn tells_why(code: Code) -> bool {
    !matches!(code, Code::FutureTest | Code::LawLearnt | Code::RatioNotMeaningful)
}

impl Snapshot {
    /// What is compared of a result.
    #[must_use]
    pub fn of(assessment: &Assessment<'_>) -> Self {
        let key = |series: &SeriesAssessment| [&series.winding, &series.connection, &series.scope].map(String::clone);
        let series = assessment.series.iter().enumerate().map(|(at, series)| (key(series), State::of(series, at)));
        Self { as_of: assessment.as_of, series: series.collect() }
    }
}

/// What became of a series, in the order in which a comparison lists it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Course {
    /// Its action is more urgent than before.
    MoreUrgent,
    /// It was not there before.
    New,
    /// Its action is less urgent than before.
    LessUrgent,
    /// It is there no more.
    Gone,
    /// Its action is the same.
    Same,
}

/// One series about which there is something to say.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Change {
    /// The winding.
    pub winding: String,
    /// What the voltage was applied between.
    pub connection: String,
    /// What was in the circuit.
    pub scope: String,
    /// What became of it.
    pub course: Course,
    /// How it stood before; none where it is new.
    pub before: Option<State>,
    /// How it stands now; none where it is gone.
    pub now: Option<State>,
    /// Whether a test was made between the two days, or one made before was filed since.
    pub tested_since: bool,
    /// Whether its test is overdue now and was not before.
    pub overdue_since: bool,
}

impl Change {
    /// The series' name for people.
    #[must_use]
    pub fn name(&self) -> String {
        display_name(&self.winding, &self.connection, &self.scope)
    }

    /// Why it moved, as whole sentences: what was found now, what is found no more, and whether that rests on a new test.
    #[must_use]
    pub fn why(&self) -> String {
        let reason = |state: &Option<State>| state.as_ref().and_then(|state| state.reason.clone());
        let tested = match self.now.as_ref().and_then(|now| now.tested_on) {
            Some(day) if self.tested_since => format!(" Tested on {day}."),
            _ if self.course == Course::MoreUrgent || self.course == Course::LessUrgent => {
                " No newer reading counts.".to_owned()
            }
            _ => String::new(),
        };
        let overdue = if self.overdue_since { " Overdue since." } else { "" };
        let found = match self.course {
            Course::MoreUrgent | Course::New => reason(&self.now),
            Course::LessUrgent => {
                let before = reason(&self.before).map(|before| format!("Before: {before}"));
                before.or_else(|| Some("Nothing is found any more.".to_owned()))
            }
            Course::Gone => Some("Not in the newer result: look whether its tests are missing.".to_owned()),
            Course::Same => None,
        };
        format!("{}{tested}{overdue}", found.unwrap_or_default()).trim_start().to_owned()
    }
}

/// What came of two results.
#[derive(Clone, Debug, PartialEq)]
pub struct Comparison {
    /// The day of the older result.
    pub before: NaiveDate,
    /// The day of the newer one.
    pub now: NaiveDate,
    /// The series about which there is something to say: those that moved up first, the most urgent before the others.
    pub changes: Vec<Change>,
    /// How many stayed as they were and were not tested.
    pub unchanged: usize,
}

impl Comparison {
    /// Compares two results.
    #[must_use]
    pub fn new(before: &Snapshot, now: &Snapshot) -> Self {
        let keys = before.series.keys().chain(now.series.keys().filter(|key| !before.series.contains_key(*key)));
        let all = keys.map(|key| change(key, before.series.get(key), now.series.get(key)));
        let is_told = |change: &Change| change.course != Course::Same || change.tested_since || change.overdue_since;
        let (mut changes, unchanged): (Vec<Change>, Vec<Change>) = all.partition(is_told);
        // Inside one action as in the list of the newer result, which puts the more critical first.
        changes.sort_by_key(|change| {
            let state = change.now.as_ref().or(change.before.as_ref());
            (change.course, state.map(|state| (state.action, state.place)))
        });
        Self { before: before.as_of, now: now.as_of, changes, unchanged: unchanged.len() }
    }

    /// How many series took a course.
    #[must_use]
    pub fn count(&self, course: Course) -> usize {
        self.changes.iter().filter(|change| change.course == course).count()
    }
}

fn change(key: &Key, before: Option<&State>, now: Option<&State>) -> Change {
    let course = match (before, now) {
        (None, _) => Course::New,
        (_, None) => Course::Gone,
        (Some(before), Some(now)) if now.action < before.action => Course::MoreUrgent,
        (Some(before), Some(now)) if now.action > before.action => Course::LessUrgent,
        _ => Course::Same,
    };
    let both = before.zip(now);
    let [winding, connection, scope] = key.clone();
    Change {
        winding,
        connection,
        scope,
        course,
        before: before.cloned(),
        now: now.cloned(),
        tested_since: both.is_some_and(|(before, now)| now.tested_on > before.tested_on),
        overdue_since: both.is_some_and(|(before, now)| now.overdue_days.is_some() && before.overdue_days.is_none()),
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]
mod tests {
    use super::*;

    fn state(action: Action, tested_on: &str, overdue_days: Option<u32>) -> State {
        let reason = (action != Action::Keep).then(|| format!("Something asks for {action}."));
        State { action, reason, tested_on: tested_on.parse().ok(), overdue_days, place: 0 }
    }

    fn snapshot(as_of: &str, series: &[(&str, State)]) -> Snapshot {
        let key = |name: &str| [name.to_owned(), "all-earth".to_owned(), "winding".to_owned()];
        let series = (series.iter().enumerate())
            .map(|(place, (name, state))| (key(name), State { place, ..state.clone() }))
            .collect();
        Snapshot { as_of: as_of.parse().unwrap(), series }
    }

    #[test]
    fn every_course_is_told_with_its_reason() {
        use Action::{Gather, Hold, Keep, Plan};
        let before = snapshot(
            "2026-08-25",
            &[
                ("up", state(Keep, "2026-07-01", None)),
                ("up without a test", state(Plan, "2026-07-01", None)),
                ("down", state(Hold, "2026-07-01", None)),
                ("gone", state(Keep, "2026-07-01", None)),
                ("same", state(Keep, "2026-07-01", None)),
                ("late", state(Keep, "2026-07-01", None)),
                ("tested", state(Keep, "2026-07-01", Some(3))),
            ],
        );
        let now = snapshot(
            "2026-11-25",
            &[
                ("up", state(Plan, "2026-10-01", None)),
                ("up without a test", state(Hold, "2026-07-01", None)),
                ("down", state(Keep, "2026-10-02", None)),
                ("new", state(Gather, "2026-10-03", None)),
                ("same", state(Keep, "2026-07-01", None)),
                ("late", state(Keep, "2026-07-01", Some(20))),
                ("tested", state(Keep, "2026-10-04", None)),
            ],
        );
        let comparison = Comparison::new(&before, &now);
        let told: Vec<(Course, &str, String)> =
            comparison.changes.iter().map(|change| (change.course, change.winding.as_str(), change.why())).collect();
        let expected = [
            (Course::MoreUrgent, "up without a test", "Something asks for hold. No newer reading counts."),
            (Course::MoreUrgent, "up", "Something asks for plan. Tested on 2026-10-01."),
            (Course::New, "new", "Something asks for gather."),
            (Course::LessUrgent, "down", "Before: Something asks for hold. Tested on 2026-10-02."),
            (Course::Gone, "gone", "Not in the newer result: look whether its tests are missing."),
            (Course::Same, "late", "Overdue since."),
            (Course::Same, "tested", "Tested on 2026-10-04."),
        ];
        assert_eq!(told, expected.map(|(course, name, why)| (course, name, why.to_owned())));
        assert_eq!(comparison.unchanged, 1);
    }

    #[test]
    fn a_result_compared_with_itself_has_nothing_to_say() {
        let one = snapshot("2026-11-25", &[("a", state(Action::Hold, "2026-07-01", Some(9)))]);
        let comparison = Comparison::new(&one, &one);
        assert_eq!((comparison.changes.len(), comparison.unchanged), (0, 1));
    }
}
