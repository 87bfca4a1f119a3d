//! What a group of similar windings teaches about each of them: the temperature law, priors, and how much the noise wanders.

use super::case::{Case, Terms};
use crate::temperature::learnt::{CommonLaw, LawEvidence};
use crate::trend::{self, NoiseWeights, Priors, Solved, Stretch, Summary};
use std::collections::BTreeMap;

/// Members of a group that teach it: all of them, or so many evenly spread over it. More would sharpen nothing that is
/// learnt by a tenth of what a single winding leaves open.
pub(super) const TEACHERS: usize = 256;

/// What was learnt from a group.
#[derive(Clone, Debug, Default)]
pub(super) struct Lessons {
    pub(super) priors: Priors,
    pub(super) weights: NoiseWeights,
    /// By the name of the law that was assumed.
    laws: BTreeMap<String, CommonLaw>,
}

/// A case with its stretch.
pub(super) struct Prepared {
    pub(super) case: Case,
    pub(super) stretch: Option<Stretch>,
}

impl Prepared {
    /// Parts the stretch off.
    pub(super) fn new(case: Case, terms: &Terms) -> Self {
        let stretch = case.stretch(terms);
        Self { case, stretch }
    }

    /// What the readings, summed up, say of the assumed law.
    fn evidence(&self, summary: Option<&Summary>, terms: &Terms) -> Option<LawEvidence> {
        if !terms.policy.learn_law {
            return None;
        }
        self.case.law_evidence(summary?, terms)
    }

    /// What the stretch can teach.
    fn summary(&self) -> Option<Summary> {
        self.stretch.as_ref().and_then(Summary::of)
    }

    /// Corrects with a learnt law if the evidence beats the assumed one, and says whether it did.
    fn learn_law(&mut self, common: &CommonLaw, evidence: &LawEvidence, terms: &Terms) -> bool {
        let Some(law) = common.for_winding(evidence) else { return false };
        let learnt = self.case.take_learnt_law(law, terms);
        if learnt {
            self.stretch = self.case.stretch(terms);
        }
        learnt
    }
}

impl Lessons {
    /// Learns from members of a group, in their order.
    pub(super) fn of(mut members: Vec<Prepared>, terms: &Terms) -> Self {
        let mut summaries: Vec<Option<Summary>> = members.iter().map(Prepared::summary).collect();
        let pairs = members.iter().zip(&summaries);
        let evidence: Vec<Option<LawEvidence>> =
            pairs.map(|(member, summary)| member.evidence(summary.as_ref(), terms)).collect();
        let mut by_law: BTreeMap<String, Vec<LawEvidence>> = BTreeMap::new();
        for (member, evidence) in members.iter().zip(&evidence) {
            by_law.entry(member.case.assumed_law.name()).or_default().extend(evidence);
        }
        let laws: BTreeMap<String, CommonLaw> =
            by_law.into_iter().map(|(name, evidence)| (name, CommonLaw::of(evidence))).collect();
        for ((member, summary), evidence) in members.iter_mut().zip(&mut summaries).zip(&evidence) {
            if let (Some(evidence), Some(common)) = (evidence, laws.get(&member.case.assumed_law.name()))
                && member.learn_law(common, evidence, terms)
            {
                *summary = member.summary();
            }
        }
        let summaries: Vec<Summary> = summaries.into_iter().flatten().collect();
        let priors = Priors::learn(&summaries);
        let stretches = members.iter().filter_map(|member| member.stretch.as_ref());
        let noise: Vec<_> = stretches.filter_map(|stretch| trend::solve(stretch, &priors).noise_evidence()).collect();
        Self { priors, weights: NoiseWeights::learn(&noise), laws }
    }

    /// Lets one winding of the group, a teacher or not, have the law that suits its readings, and solves its trend.
    pub(super) fn apply(&self, mut winding: Prepared, terms: &Terms) -> (Case, Option<Solved>) {
        let Some(stretch) = winding.stretch.take() else { return (winding.case, None) };
        let screened = trend::screen(&stretch, &self.priors);
        if let Some(evidence) = winding.evidence(screened.summary().as_ref(), terms) {
            let alone = CommonLaw::default();
            let common = self.laws.get(&winding.case.assumed_law.name()).unwrap_or(&alone);
            if winding.learn_law(common, &evidence, terms) {
                let solved = winding.stretch.map(|stretch| trend::solve(&stretch, &self.priors));
                return (winding.case, solved);
            }
        }
        (winding.case, Some(screened.solve()))
    }
}

/// The members that teach, of so many.
pub(super) fn teachers(members: &[usize]) -> Vec<usize> {
    let count = members.len().min(TEACHERS);
    (0..count).map(|k| members[k * members.len() / count]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_teach_in_a_small_group_and_some_of_every_part_in_a_large_one() {
        let all = |n: usize| (0..n).collect::<Vec<_>>();
        assert_eq!(teachers(&[]), Vec::<usize>::new());
        assert_eq!(teachers(&all(TEACHERS)), all(TEACHERS));
        let some = teachers(&all(10 * TEACHERS));
        assert_eq!(some.len(), TEACHERS);
        assert!(some.windows(2).all(|pair| pair[1] - pair[0] == 10));
    }
}
