//! Scope, lead check and event of a test, in one byte.

use crate::record::{Event, LeadCheck, Scope, TestRecord};

/// The scopes, by the number that stands for each.
const SCOPES: [Scope; 4] = [Scope::Winding, Scope::WindingAndCable, Scope::Cable, Scope::Circuit];

/// Scope in the first two bits, lead check in the next two, event in the last four.
pub(super) fn marks(test: &TestRecord) -> u8 {
    let number = |place: usize| u8::try_from(place).unwrap_or(0);
    let scope = SCOPES.iter().position(|scope| *scope == test.scope).map_or(0, number);
    let lead_check = match test.lead_check {
        None => 0,
        Some(LeadCheck::Ok) => 1,
        Some(LeadCheck::Failed) => 2,
    };
    let event = test.event.and_then(|event| Event::WORDS.iter().position(|(other, _)| *other == event));
    let event = event.map_or(0, |place| 1 + number(place));
    scope | lead_check << 2 | event << 4
}

/// What a byte of marks says.
pub(super) fn unmark(marks: u8) -> (Scope, Option<LeadCheck>, Option<Event>) {
    let scope = SCOPES[usize::from(marks & 3)];
    let lead_check = match marks >> 2 & 3 {
        0 => None,
        1 => Some(LeadCheck::Ok),
        _ => Some(LeadCheck::Failed),
    };
    let event =
        usize::from(marks >> 4).checked_sub(1).and_then(|place| Event::WORDS.get(place)).map(|(event, _)| *event);
    (scope, lead_check, event)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::TestedOn;

    #[test]
    fn every_mark_comes_back_and_no_two_are_the_same() {
        let events = Event::WORDS.iter().map(|(event, _)| Some(*event)).chain([None]);
        let mut bytes = Vec::new();
        for event in events {
            for lead_check in [None, Some(LeadCheck::Ok), Some(LeadCheck::Failed)] {
                for scope in SCOPES {
                    let day = TestedOn::day(chrono::NaiveDate::default());
                    let byte =
                        marks(&TestRecord { scope, lead_check, event, ..TestRecord::empty("P-1".to_owned(), day) });
                    assert_eq!(unmark(byte), (scope, lead_check, event));
                    bytes.push(byte);
                }
            }
        }
        bytes.sort_unstable();
        bytes.dedup();
        assert_eq!(bytes.len(), 108);
    }
}
