//! What a group of similar windings teaches about each of them: the temperature law, priors, and how much the noise wanders.
//!
//! Of a training series only its stretch is held until the whole group was read, and of groups only so many at once: a group of long
//! records, or a great many groups, must not need more memory than the readings of all.

use super::case::Case;
use super::inputs::Terms;
use super::spread::Spread;
use crate::temperature::learnt::{CommonLaw, LawEvidence};
use crate::trend::{self, NoiseWeights, Priors, Solved, Stretch, StretchFit, Summary};
use std::collections::BTreeMap;

/// Series of a group that it learns from: all of them, or this many evenly spread over it. More would sharpen nothing that is
/// learnt by a tenth of what a single winding leaves open.
const TRAINING_SERIES: usize = 256;
/// Fewer series are enough where they have this many tests together: one long record says as much of noise and law as many short
/// ones.
const TRAINING_TESTS: usize = 1_000_000;
/// But not fewer than these, where there are as many.
const LEAST_TRAINING_SERIES: usize = 8;
/// Groups are learnt together while their training series have no more tests than this.
const TESTS_AT_ONCE: usize = 2_000_000;

/// What was learnt from a group.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct GroupPrior {
    pub(super) priors: Priors,
    pub(super) weights: NoiseWeights,
    /// By the name of the law that was assumed.
    pub(super) laws: BTreeMap<String, CommonLaw>,
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
    fn evidence(&self, stretch: Option<&Stretch>, summary: Option<&Summary>, terms: &Terms) -> Option<LawEvidence> {
        if !terms.policy.learn_law {
            return None;
        }
        self.case.law_evidence(stretch?, summary?, terms)
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

/// A group of similar windings to learn from.
pub(super) struct Group {
    /// Its name.
    pub(super) name: String,
    /// The series it is learnt from.
    pub(super) training: Vec<usize>,
    /// How many tests they have.
    pub(super) tests: usize,
}

/// The places of the training series among all series of a group, by how many tests each of them has.
pub(super) fn training_places(tests: &[usize]) -> Vec<usize> {
    let members = tests.len();
    let usual = (tests.iter().sum::<usize>() / members.max(1)).max(1);
    let count = members.min((TRAINING_TESTS / usual).clamp(LEAST_TRAINING_SERIES, TRAINING_SERIES));
    (0..count).map(|k| k * members / count).collect()
}

/// What is held of a training series.
struct Member {
    /// Its group, by its place among those learnt together.
    group: usize,
    series: usize,
    law: String,
    stretch: Option<Stretch>,
    summary: Option<Summary>,
    evidence: Option<LawEvidence>,
}

impl Member {
    fn of(group: usize, series: usize, prepared: Prepared, terms: &Terms) -> Self {
        let summary = prepared.summary();
        let evidence = prepared.evidence(prepared.stretch.as_ref(), summary.as_ref(), terms);
        Self { group, series, law: prepared.case.assumed_law.name(), stretch: prepared.stretch, summary, evidence }
    }

    /// Takes a law of its own where the evidence beats the assumed one.
    fn learn_law(mut self, common: Option<&CommonLaw>, prepare: impl Fn(usize) -> Prepared, terms: &Terms) -> Self {
        if let (Some(evidence), Some(common)) = (&self.evidence, common)
            && common.for_winding(evidence).is_some_and(|law| law.beats_the_assumed())
        {
            let mut prepared = prepare(self.series);
            prepared.learn_law(common, evidence, terms);
            (self.summary, self.stretch) = (prepared.summary(), prepared.stretch);
        }
        self
    }
}

/// The prior of each group, by its name. `prepare` makes a series ready.
pub(super) fn learn(
    groups: Vec<Group>,
    prepare: impl Fn(usize) -> Prepared + Sync,
    terms: &Terms,
    spread: &impl Spread,
) -> BTreeMap<String, GroupPrior> {
    let mut learnt = BTreeMap::new();
    let mut waiting = groups.into_iter().peekable();
    while waiting.peek().is_some() {
        let (mut at_once, mut tests) = (Vec::new(), 0);
        while let Some(group) = waiting.next_if(|next| at_once.is_empty() || tests + next.tests <= TESTS_AT_ONCE) {
            tests += group.tests;
            at_once.push(group);
        }
        learnt.extend(learn_together(at_once, &prepare, terms, spread));
    }
    learnt
}

/// Learns from groups whose training series are all held at once. Whatever is summed up is summed in the order of the members.
fn learn_together(
    groups: Vec<Group>,
    prepare: &(impl Fn(usize) -> Prepared + Sync),
    terms: &Terms,
    spread: &impl Spread,
) -> Vec<(String, GroupPrior)> {
    let members =
        groups.iter().enumerate().flat_map(|(at, group)| group.training.iter().map(move |series| (at, *series)));
    let members: Vec<Member> =
        spread.map(members.collect(), |(group, series)| Member::of(group, series, prepare(series), terms));
    let mut by_law: Vec<BTreeMap<&str, Vec<LawEvidence>>> = vec![BTreeMap::new(); groups.len()];
    for member in &members {
        by_law[member.group].entry(&member.law).or_default().extend(member.evidence);
    }
    let of_one = |by_law: BTreeMap<&str, Vec<LawEvidence>>| {
        by_law.into_iter().map(|(name, evidence)| (name.to_owned(), CommonLaw::of(evidence))).collect()
    };
    let laws: Vec<BTreeMap<String, CommonLaw>> = by_law.into_iter().map(of_one).collect();
    let members = spread.map(members, |member| {
        let common = laws[member.group].get(&member.law);
        member.learn_law(common, prepare, terms)
    });
    let mut summaries: Vec<Vec<Summary>> = vec![Vec::new(); groups.len()];
    for member in &members {
        summaries[member.group].extend(member.summary);
    }
    let priors: Vec<Priors> = summaries.iter().map(|summaries| Priors::learn(summaries)).collect();
    let noise_evidence = spread.map(members, |member| {
        let stretch = member.stretch.as_ref()?;
        Some((member.group, trend::solve(stretch, &priors[member.group]).noise_evidence()?))
    });
    let mut noise = vec![Vec::new(); groups.len()];
    for (group, evidence) in noise_evidence.into_iter().flatten() {
        noise[group].push(evidence);
    }
    let group_priors = priors.into_iter().zip(&noise).zip(laws);
    let group_priors =
        group_priors.map(|((priors, noise), laws)| GroupPrior { priors, weights: NoiseWeights::learn(noise), laws });
    groups.into_iter().map(|group| group.name).zip(group_priors).collect()
}

impl GroupPrior {
    /// The trend of a case by the law that it is corrected with.
    pub(super) fn fit(&self, case: &Case, terms: &Terms) -> Option<StretchFit> {
        Some(trend::solve(&case.stretch(terms)?, &self.priors).average(&self.weights))
    }

    /// Lets one winding of the group, a member or not, have the law that suits its readings, and solves its trend.
    pub(super) fn apply(&self, mut winding: Prepared, terms: &Terms) -> (Case, Option<Solved>) {
        let Some(stretch) = winding.stretch.take() else { return (winding.case, None) };
        let screened = trend::screen(&stretch, &self.priors);
        if let Some(evidence) = winding.evidence(Some(&stretch), screened.summary().as_ref(), terms) {
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_teach_in_a_small_group_and_some_of_every_part_in_a_large_one() {
        assert_eq!(training_places(&[]), Vec::<usize>::new());
        assert_eq!(training_places(&[40; TRAINING_SERIES]), (0..TRAINING_SERIES).collect::<Vec<_>>());
        let some = training_places(&[40; 10 * TRAINING_SERIES]);
        assert_eq!(some.len(), TRAINING_SERIES);
        assert!(some.windows(2).all(|pair| pair[1] - pair[0] == 10));
    }

    #[test]
    fn of_long_records_fewer_teach() {
        assert_eq!(training_places(&[100_000; 1000]).len(), 10);
        assert_eq!(training_places(&[100_000_000; 1000]).len(), LEAST_TRAINING_SERIES);
        assert_eq!(training_places(&[0; 1000]).len(), TRAINING_SERIES);
        assert_eq!(training_places(&[100_000_000; 3]).len(), 3);
    }
}
