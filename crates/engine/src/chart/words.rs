//! Sentences and names that several kinds of charts share.

use super::ChartContext;
use crate::legible::clean;
use groundwall::assess::{Action, Judgement};

/// What a picture must not be taken for.
pub const CAUTION: &str = "An aid to judgement, drawn by groundwall from recorded tests. It does not replace the \
decision of a licensed or otherwise qualified person, nor the checks before energising.";

/// Greatest width of a name inside a title, so that the figures stay in sight.
pub const NAME_WIDTH: f64 = 430.0;

/// An action as the word in the corner.
#[must_use]
pub fn tag(action: Action) -> String {
    action.word().to_uppercase()
}

/// A name and where it is, as one line.
#[must_use]
pub fn heading(name: &str, judgement: &Judgement, context: &ChartContext) -> String {
    let mut parts = vec![name.to_owned()];
    if context.place.is_empty() {
        parts.extend(judgement.assessment.site.clone());
    }
    parts.extend(context.place.iter().cloned());
    let parts = parts.iter().map(|part| clean(part)).filter(|part| !part.is_empty());
    parts.map(|part| isolate(&part)).collect::<Vec<_>>().join(" · ")
}

/// Keeps a name written from right to left from turning the words around it.
#[must_use]
pub fn isolate(name: &str) -> String {
    let turns = |c: char| matches!(c, '\u{590}'..='\u{8ff}' | '\u{fb1d}'..='\u{fdff}' | '\u{fe70}'..='\u{feff}');
    if name.chars().any(turns) { format!("\u{2068}{name}\u{2069}") } else { name.to_owned() }
}

/// How readings were brought to the reference temperature.
#[must_use]
pub fn correction(judgement: &Judgement) -> String {
    format!("Correction to {}: {}.", judgement.reference, sentence(&judgement.law))
}

/// The files that the tests came from; nothing where they are not known.
#[must_use]
pub fn sources(context: &ChartContext) -> Option<String> {
    let text = match context.sources.as_slice() {
        [] => return None,
        [one] => format!("Source: {one}"),
        [some @ .., last] if some.len() < 4 => format!("Sources: {} and {last}", some.join(", ")),
        [first, second, third, rest @ ..] => {
            format!("Sources: {first}, {second}, {third} and {} more files", rest.len())
        }
        [..] => return None,
    };
    Some(clean(&text))
}

/// "1 test", "5 tests".
#[must_use]
pub fn tests(count: usize) -> String {
    if count == 1 { "1 test".to_owned() } else { format!("{count} tests") }
}

/// A sentence without its full stop, to be put inside another.
#[must_use]
pub fn sentence(text: &str) -> &str {
    text.trim().trim_end_matches('.')
}
