//! The series that a fleet is learnt from, and the priors learnt from them.
//!
//! Judged under what was learnt, a winding gets the answer that it has among all others. So whoever judges must have the same day, rules
//! and tests as whoever learnt; anything else is refused, because what was learnt elsewhere could make an answer less urgent.

#[cfg(feature = "serde")]
mod form;

use super::copies::{self, Copied};
use super::group_prior::{GroupPrior, training_places};
use super::inputs::{Register, SeriesSource, Terms};
pub(super) use super::not_as_learnt::NotAsLearnt;
use super::survey::{Scan, Survey, group_of, until};
use crate::policy::Policy;
use crate::policy::keys::KEYS;
use crate::series::SeriesKey;
use crate::units::Confidence;
use chrono::NaiveDate;
use std::collections::{BTreeMap, BTreeSet};

/// Which series of a fleet have to be looked at before any winding is judged: those that the groups are learnt from, and those whose
/// latest values are alike.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    pub(super) as_of: NaiveDate,
    pub(super) groups: Vec<TrainingSeries>,
    pub(super) alike: Vec<Vec<SeriesKey>>,
    /// How many tests each winding of the fleet has.
    pub(super) windings: BTreeMap<String, usize>,
}

/// The series that a group is learnt from.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct TrainingSeries {
    pub(super) group: String,
    pub(super) series: Vec<SeriesKey>,
    pub(super) tests: usize,
}

impl Survey {
    /// Chooses the series to learn from: all of a group, or some evenly spread over it; and those that may be copies.
    #[must_use]
    pub fn choose(&self) -> Choice {
        let key = |at: usize| self.series()[at].key.clone();
        Choice { windings: self.windings(), ..Choice::of(&Scan::from(self), self.as_of(), key) }
    }
}

impl Choice {
    /// The choice alone, for those who judge the very series that were looked at; `key` gives the key of one by its place.
    pub(super) fn of(scan: &Scan, as_of: NaiveDate, key: impl Fn(usize) -> SeriesKey) -> Self {
        let training = |(group, members): (&String, &Vec<usize>)| {
            let tests: Vec<usize> = members.iter().map(|at| scan.tests[*at]).collect();
            let places = training_places(&tests);
            TrainingSeries {
                group: group.clone(),
                tests: places.iter().map(|place| tests[*place]).sum(),
                series: places.into_iter().map(|place| key(members[place])).collect(),
            }
        };
        Self {
            as_of,
            groups: scan.groups.iter().map(training).collect(),
            alike: copies::alike(&scan.latest, &key),
            windings: BTreeMap::new(),
        }
    }

    /// The windings of the chosen series. All series of each have to be given to [`Choice::learn`].
    #[must_use]
    pub fn windings(&self) -> BTreeSet<&str> {
        self.keys().map(|key| key.winding.as_str()).collect()
    }

    pub(super) fn keys(&self) -> impl Iterator<Item = &SeriesKey> {
        self.groups.iter().flat_map(|group| &group.series).chain(self.alike.iter().flatten())
    }
}

/// Learnt from a fleet: the prior of each group, and which latest tests have another winding's values.
///
/// With core's feature `serde` it is written and read, numbers to the last bit.
#[derive(Clone, Debug, PartialEq)]
pub struct Learnt {
    pub(super) as_of: NaiveDate,
    pub(super) confidence: Confidence,
    /// The policy, key by key.
    pub(super) rules: BTreeMap<String, String>,
    pub(super) groups: BTreeMap<String, GroupPrior>,
    pub(super) copied: BTreeMap<SeriesKey, Copied>,
    /// How many tests each winding of the fleet had.
    pub(super) windings: BTreeMap<String, usize>,
}

impl Learnt {
    /// The day as of which it was learnt.
    #[must_use]
    pub const fn as_of(&self) -> NaiveDate {
        self.as_of
    }

    /// How many windings the fleet had.
    #[must_use]
    pub fn windings(&self) -> usize {
        self.windings.len()
    }

    /// The groups, each with the number of series that its prior was learnt from; 0 where they were too few.
    pub fn groups(&self) -> impl Iterator<Item = (&str, usize)> {
        self.groups.iter().map(|(name, prior)| (name.as_str(), prior.priors.learnt_from))
    }

    /// The prior of a group; none for a group that was not surveyed.
    pub(super) fn of_group(&self, name: &str) -> Option<&GroupPrior> {
        self.groups.get(name)
    }

    /// The winding whose values the latest test of a series has.
    pub(super) fn copied(&self, key: &SeriesKey) -> Option<&Copied> {
        self.copied.get(key)
    }

    /// Refuses another policy.
    pub(super) fn must_be_by(&self, policy: &Policy) -> Result<(), NotAsLearnt> {
        let now = rules(policy);
        let keys: BTreeSet<&String> = now.keys().chain(self.rules.keys()).collect();
        let differing = keys.into_iter().find(|key| now.get(*key) != self.rules.get(*key));
        let value =
            |rules: &BTreeMap<String, String>, key| rules.get(key).cloned().unwrap_or_else(|| "unknown".to_owned());
        differing.map_or(Ok(()), |key| {
            Err(NotAsLearnt::OtherPolicy { key: key.clone(), then: value(&self.rules, key), now: value(&now, key) })
        })
    }

    /// Refuses a judgement that could differ from the one among the whole fleet.
    ///
    /// # Errors
    ///
    /// A [`NotAsLearnt`] with the first thing that differs: the policy, the day, the confidence, the tests of a winding, or its group.
    pub fn must_fit(&self, series: &impl SeriesSource, register: &Register, terms: &Terms) -> Result<(), NotAsLearnt> {
        self.must_be_by(&terms.policy)?;
        if terms.as_of != self.as_of {
            return Err(NotAsLearnt::OtherDay { then: self.as_of, now: terms.as_of });
        }
        if terms.confidence != self.confidence {
            return Err(NotAsLearnt::OtherConfidence { then: self.confidence, now: terms.confidence });
        }
        for (winding, tests) in counted(series, terms.as_of) {
            must_have(&self.windings, winding, tests)?;
        }
        for i in 0..series.count() {
            let key = series.key(i);
            let group = group_of(register.get(&key.winding), key.scope);
            if !self.groups.contains_key(&group) && until(series, i, terms.as_of).0 > 0 {
                return Err(NotAsLearnt::OtherGroup { winding: key.winding, group });
            }
        }
        Ok(())
    }
}

/// How many tests each winding has until the as-of date.
pub(super) fn counted<S: SeriesSource + ?Sized>(series: &S, as_of: NaiveDate) -> BTreeMap<&str, usize> {
    let mut counted = BTreeMap::new();
    for i in 0..series.count() {
        *counted.entry(series.winding(i)).or_default() += until(series, i, as_of).0;
    }
    counted
}

pub(super) fn must_have(surveyed: &BTreeMap<String, usize>, winding: &str, now: usize) -> Result<(), NotAsLearnt> {
    let then = surveyed.get(winding).copied();
    if then == Some(now) {
        return Ok(());
    }
    Err(NotAsLearnt::OtherTests { winding: winding.to_owned(), then, now })
}

/// Every key of a policy with its value as a policy file has it.
pub(super) fn rules(policy: &Policy) -> BTreeMap<String, String> {
    KEYS.iter().map(|key| (format!("{}.{}", key.section, key.name), key.get(policy).to_string())).collect()
}
