//! What the rules and the choice of the action look at.

use super::case::Case;
use super::copies::Copied;
use super::finding::Finding;
use super::inputs::Terms;
use super::outlook::Outlook;
use super::phases::{Leads, PhaseStanding};
use super::result::CorrectedTest;
use super::whole::LargerWhole;
use crate::nameplate::Construction;
use crate::record::TestRecord;
use crate::resistance::Measured;

/// What the rules look at.
pub(super) struct View<'a> {
    pub(super) case: &'a Case,
    pub(super) terms: &'a Terms,
    pub(super) outlook: Option<&'a Outlook>,
    pub(super) phases: &'a PhaseStanding,
    pub(super) leads: Option<&'a Leads>,
    pub(super) copied: Option<&'a Copied>,
    pub(super) whole: Option<&'a LargerWhole>,
    pub(super) second_look: &'a [Finding],
}

impl View<'_> {
    /// The latest test that counts, with its row.
    pub(super) fn latest(&self) -> Option<(&CorrectedTest, &TestRecord)> {
        self.case.latest().map(|at| (&self.case.tests[at], self.case.record(at)))
    }

    /// A sentence of a rule that names the winding, made to fit a circuit or a cable; what it quotes stays as it is.
    pub(super) fn naming(&self, sentence: String) -> String {
        let what = match self.case.nameplate.construction {
            Some(Construction::Circuit) => "circuit",
            Some(Construction::Cable) => "cable",
            _ => return sentence,
        };
        let parts = sentence.split_inclusive(['“', '”']).map(|part| {
            if part.ends_with('”') {
                return part.to_owned();
            }
            ["the", "The", "a", "A"].iter().fold(part.to_owned(), |part, article| {
                part.replace(&format!("{article} winding"), &format!("{article} {what}"))
            })
        });
        parts.collect()
    }

    /// The test that counts before it, with its row.
    pub(super) fn before_latest(&self) -> Option<(&CorrectedTest, &TestRecord)> {
        self.case.before_latest().map(|at| (&self.case.tests[at], self.case.record(at)))
    }
}

/// Whether the winding has only ever been beyond a scale, and the last one with a known end and temperature ended far above its minimum.
/// The chance of being below it by now is then what was believed before any test, so it calls for none sooner than usual.
pub(super) fn beyond_the_scale(view: &View<'_>) -> bool {
    let far = view.case.minimum.resistance.as_megohms() * view.terms.policy.doubt_margin;
    let last = view.case.counted().map(|at| &view.case.tests[at]).rfind(|test| test.kt.is_some());
    view.outlook.is_some_and(|outlook| !outlook.rests_on_readings())
        && matches!(last.and_then(|test| test.corrected), Some(Measured::Above(bound)) if bound.as_megohms() >= far)
}

/// Whether tests enough to judge a trend by, made on different days, were all beyond the scale and the latest far above the minimum.
pub(super) fn beyond_the_scale_throughout(view: &View<'_>) -> bool {
    view.outlook.is_some_and(|outlook| outlook.summary.tests >= view.terms.policy.trend_exact_readings as usize)
        && !view.case.on_one_day()
        && beyond_the_scale(view)
}

/// Letters of a note that are quoted.
const LONGEST_NOTE: usize = 80;

/// A note made fit for a sentence: one line of it, and no more than can be read in passing.
pub(super) fn quoted(note: &str) -> String {
    let plain = note.split(|c: char| c.is_whitespace() || c.is_control()).filter(|word| !word.is_empty());
    let plain = plain.collect::<Vec<_>>().join(" ");
    let short: String = plain.chars().take(LONGEST_NOTE).collect();
    let more = if short.len() < plain.len() { "…" } else { "" };
    format!("“{short}{more}”")
}
