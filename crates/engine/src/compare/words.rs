//! The comparison for people: a heading for every course, a paragraph for every series.

use super::{Change, Comparison, Course};
use crate::output::wrap::wrap;
use groundwall::assess::Action;
use std::io::{self, Write};

/// The courses with their headings, in the order in which they are listed.
pub const HEADINGS: [(Course, &str); 5] = [
    (Course::MoreUrgent, "More urgent than before"),
    (Course::New, "New"),
    (Course::LessUrgent, "Less urgent than before"),
    (Course::Gone, "Gone"),
    (Course::Same, "Same action, tested or overdue since"),
];

/// The counts in one sentence.
#[must_use]
pub fn summary(comparison: &Comparison) -> String {
    let count = |course| comparison.count(course);
    let tested = comparison.changes.iter().filter(|change| change.tested_since).count();
    let overdue = comparison.changes.iter().filter(|change| change.overdue_since).count();
    format!(
        "From {} to {}: {} more urgent, {} less urgent, {} new, {} gone; {tested} tested since, {overdue} overdue since, \
         {} as before.",
        comparison.before,
        comparison.now,
        count(Course::MoreUrgent),
        count(Course::LessUrgent),
        count(Course::New),
        count(Course::Gone),
        comparison.unchanged
    )
}

/// "keep → plan", "gone", or the action where it is the same.
#[must_use]
pub fn step(change: &Change) -> String {
    match (&change.before, &change.now) {
        (Some(before), Some(now)) if before.action != now.action => format!("{} → {}", before.action, word(now.action)),
        (_, Some(now)) => word(now.action),
        (Some(before), None) => format!("{} → none", before.action),
        (None, None) => String::new(),
    }
}

/// The word of an action, `shorten` with its plain meaning.
fn word(action: Action) -> String {
    match action {
        Action::Shorten => format!("{action} ({})", action.in_short()),
        _ => action.to_string(),
    }
}

/// Writes it in lines of at most so many columns.
///
/// # Errors
///
/// Whatever the writer says.
pub fn write(out: &mut dyn Write, comparison: &Comparison, width: usize) -> io::Result<()> {
    writeln!(out, "{}", wrap(&summary(comparison), width, "", ""))?;
    for (course, heading) in HEADINGS {
        let of_course: Vec<&Change> = comparison.changes.iter().filter(|change| change.course == course).collect();
        if of_course.is_empty() {
            continue;
        }
        writeln!(out, "\n{heading}")?;
        let paragraphs: Vec<String> = match course {
            Course::Same => of_course.chunk_by(|a, b| step(a) == step(b)).map(unmoved).collect(),
            _ => of_course
                .iter()
                .map(|change| format!("{}: {}. {}", change.name(), step(change), change.why()))
                .collect(),
        };
        for text in paragraphs {
            writeln!(out, "{}", wrap(text.trim_end(), width, "  ", "    "))?;
        }
    }
    Ok(())
}

/// The series that kept one action, with the day of the new test of each: "keep: P-1 stator (2026-10-04), P-2 stator (overdue)."
fn unmoved(changes: &[&Change]) -> String {
    let since = |change: &Change| {
        let day = change.now.as_ref().and_then(|now| now.tested_on).filter(|_| change.tested_since);
        let facts = [day.map(|day| day.to_string()), change.overdue_since.then(|| "overdue".to_owned())];
        format!("{} ({})", change.name(), facts.into_iter().flatten().collect::<Vec<_>>().join(", "))
    };
    let action = changes.first().map(|change| step(change)).unwrap_or_default();
    format!("{action}: {}.", changes.iter().map(|change| since(change)).collect::<Vec<_>>().join(", "))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]
mod tests {
    use super::super::State;
    use super::*;

    #[test]
    fn series_that_kept_their_action_share_a_paragraph() {
        let state = |day: &str| State {
            action: Action::Keep,
            reason: None,
            tested_on: Some(day.parse().unwrap()),
            overdue_days: None,
            place: 0,
        };
        let same = |winding: &str, tested_since, overdue_since| Change {
            winding: winding.to_owned(),
            connection: "all-earth".to_owned(),
            scope: "winding".to_owned(),
            course: Course::Same,
            before: Some(state("2026-07-01")),
            now: Some(state("2026-10-04")),
            tested_since,
            overdue_since,
        };
        let comparison = Comparison {
            before: "2026-08-25".parse().unwrap(),
            now: "2026-11-25".parse().unwrap(),
            changes: vec![same("P-1", true, false), same("P-2", false, true)],
            unchanged: 3,
        };
        let mut out = Vec::new();
        write(&mut out, &comparison, 100).unwrap();
        assert_eq!(
            String::from_utf8(out).unwrap(),
            "From 2026-08-25 to 2026-11-25: 0 more urgent, 0 less urgent, 0 new, 0 gone; 1 tested since, 1\noverdue since, \
             3 as before.\n\nSame action, tested or overdue since\n  keep: P-1 (2026-10-04), P-2 (overdue).\n"
        );
    }
}
