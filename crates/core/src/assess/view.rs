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
