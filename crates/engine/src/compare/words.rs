//! The comparison for people: a heading for every course, a paragraph for every series.

use super::{Change, Comparison, Course};
use crate::output::wrap::wrap;
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
        (Some(before), Some(now)) if before.action != now.action => format!("{} → {}", before.action, now.action),
        (_, Some(now)) => now.action.to_string(),
        (Some(before), None) => format!("{} → none", before.action),
        (None, None) => String::new(),
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
        let mut changes = comparison.changes.iter().filter(|change| change.course == course).peekable();
        if changes.peek().is_some() {
            writeln!(out, "\n{heading}")?;
        }
        for change in changes {
            let text = format!("{}: {}. {}", change.name(), step(change), change.why());
            writeln!(out, "{}", wrap(text.trim_end(), width, "  ", "    "))?;
        }
    }
    Ok(())
}
