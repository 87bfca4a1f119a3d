//! The finding that caused the action comes first, with the note of its test.

use super::finding::{Asks, Code, Finding};
use super::result::SinceReason;
use super::view::{View, quoted};

/// Puts the findings in the order of what they ask for, and the note of its test into the first. Work that comes before use goes before
/// work that has time. Among those that ask for a repeat, what was wrong with the test comes before what it did to the reading.
pub(super) fn first(view: &View<'_>, mut findings: Vec<Finding>) -> Vec<Finding> {
    let comes_later = |finding: &Finding| match finding.asks {
        Asks::Work => !finding.before_use,
        Asks::Repeat => is_effect(finding.code),
        _ => false,
    };
    let most_urgent = findings.iter().map(|finding| finding.asks).min();
    // Few readings decide the action only where no other finding does.
    let asks = |finding: &Finding| match finding.asks {
        Asks::Readings if most_urgent < Some(Asks::Readings) => Asks::Nothing,
        asks => asks,
    };
    findings.sort_by_key(|finding| (asks(finding), comes_later(finding), finding.code));
    if let Some(cause) = findings.first_mut().filter(|finding| finding.asks < Asks::Readings)
        && is_of_the_latest_test(view, cause.code)
        && let Some(note) = note(view, cause.code)
    {
        cause.message.push_str(&format!(" The note of that test: {}.", quoted(note)));
        cause.evidence.push(("note", note.into()));
    }
    findings
}

/// Whether a finding says what a doubtful test did to the reading, not what was wrong with the test.
const fn is_effect(code: Code) -> bool {
    matches!(code, Code::FallSinceLast | Code::PhaseSpread)
}

fn is_of_the_latest_test(view: &View<'_>, code: Code) -> bool {
    match code {
        Code::ReachesMinimum | Code::Falling | Code::RecoveredWithoutWork => false,
        // A shift of the past has the note of its own test in its sentence; a rise is one of the latest.
        Code::LevelShift => view.case.since != SinceReason::LevelShift,
        _ => true,
    }
}

/// The note of the test that a finding is about: the latest that counts, or the last one made where it does not count.
fn note<'v>(view: &'v View<'_>, code: Code) -> Option<&'v str> {
    let at = match code {
        // It has the note in its own sentence, or is about another row.
        Code::NoteOfWater | Code::NoteOfFailure | Code::RowKeptOut => return None,
        Code::LeadCheckFailed | Code::NoReading | Code::TesterOutput => view.case.last_made(),
        _ => view.case.latest(),
    };
    let record = view.case.record(at?);
    let note = record.note.as_deref()?;
    let is_of_an_unread_cell = |part: &str| record.procedure().unread.iter().any(|cell| part.ends_with(&cell.text));
    if code == Code::CellUnread && note.split("; ").all(is_of_an_unread_cell) {
        return None;
    }
    (!note.trim().is_empty()).then_some(note)
}
