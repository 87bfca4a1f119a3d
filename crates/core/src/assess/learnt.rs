//! What a fleet teaches before its windings are judged: from which series, under which rules, and what came of it.
//!
//! Judged under what was learnt, a winding gets the answer that it has among all others. So whoever judges must have the same day, rules
//! and tests as whoever learnt; anything else is refused, because what was learnt elsewhere could make an answer milder.

#[cfg(feature = "serde")]
mod form;

use super::copies::{self, Copied};
use super::group_prior::{self, Group, GroupPrior};
use super::inputs::{Register, SeriesSource, Terms};
use super::spread::InEach;
use super::survey::{Scan, Survey, group_of, until};
use super::{fleet, group_prior::training_places};
use crate::policy::Policy;
use crate::policy::keys::KEYS;
use crate::series::SeriesKey;
use crate::units::Confidence;
use chrono::NaiveDate;
use std::collections::{BTreeMap, BTreeSet};
use std::error::Error;
use std::fmt;

/// Which series of a fleet have to be looked at before any winding is judged: those that the groups are learnt from, and those whose
/// latest values are alike.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    as_of: NaiveDate,
    groups: Vec<TrainingSeries>,
    alike: Vec<Vec<SeriesKey>>,
    /// How many tests each winding of the fleet has.
    windings: BTreeMap<String, usize>,
}

/// The series that a group is learnt from.
#[derive(Clone, Debug, PartialEq)]
struct TrainingSeries {
    group: String,
    series: Vec<SeriesKey>,
    tests: usize,
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

    fn keys(&self) -> impl Iterator<Item = &SeriesKey> {
        self.groups.iter().flat_map(|group| &group.series).chain(self.alike.iter().flatten())
    }

    /// Learns from the chosen windings, all of which must be there with all of their tests; others may be there too.
    ///
    /// # Errors
    ///
    /// A [`NotAsLearnt`] where a chosen winding has not the tests that the survey found, and where the day is another.
    pub fn learn<S: SeriesSource>(
        &self,
        series: &S,
        register: &Register,
        terms: &Terms,
        spread: &impl InEach,
    ) -> Result<Learnt, NotAsLearnt> {
        if terms.as_of != self.as_of {
            return Err(NotAsLearnt::OtherDay { then: self.as_of, now: terms.as_of });
        }
        let mut found = counted(series, terms.as_of);
        for winding in self.windings() {
            must_have(&self.windings, winding, found.remove(winding).unwrap_or_default())?;
        }
        let learnt = self.learn_unchecked(series, register, terms, spread);
        Ok(Learnt { windings: self.windings.clone(), ..learnt })
    }

    /// Learns from series that are known to be those that were surveyed.
    pub(super) fn learn_unchecked<S: SeriesSource>(
        &self,
        series: &S,
        register: &Register,
        terms: &Terms,
        spread: &impl InEach,
    ) -> Learnt {
        let mut places: BTreeMap<&SeriesKey, Option<usize>> = self.keys().map(|key| (key, None)).collect();
        for i in 0..series.count() {
            if let Some(place) = places.get_mut(&series.key(i)) {
                place.get_or_insert(i);
            }
        }
        let place = |key: &SeriesKey| places.get(key).copied().flatten();
        let groups = self.groups.iter().map(|group| Group {
            name: group.group.clone(),
            training: group.series.iter().filter_map(place).collect(),
            tests: group.tests,
        });
        let ready = fleet::Ready::of(series, register, terms);
        let groups = group_prior::learn(groups.collect(), |i| ready.prepare(i), terms, spread);
        let alike = self.alike.iter().map(|alike| alike.iter().filter_map(place).collect::<Vec<_>>());
        let copied = alike.flat_map(|alike| copies::copies(series, &alike, terms.as_of)).collect();
        Learnt {
            as_of: terms.as_of,
            confidence: terms.confidence,
            rules: rules(&terms.policy),
            groups,
            copied,
            windings: BTreeMap::new(),
        }
    }
}

/// What a fleet taught: the prior of each group, and which latest tests have another winding's values.
///
/// With core's feature `serde` it is written and read, numbers to the last bit.
#[derive(Clone, Debug, PartialEq)]
pub struct Learnt {
    as_of: NaiveDate,
    confidence: Confidence,
    /// The policy, key by key.
    rules: BTreeMap<String, String>,
    groups: BTreeMap<String, GroupPrior>,
    copied: BTreeMap<SeriesKey, Copied>,
    /// How many tests each winding of the fleet had.
    windings: BTreeMap<String, usize>,
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

    /// What a group taught; nothing is known of others.
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
fn counted<S: SeriesSource + ?Sized>(series: &S, as_of: NaiveDate) -> BTreeMap<&str, usize> {
    let mut counted = BTreeMap::new();
    for i in 0..series.count() {
        *counted.entry(series.winding(i)).or_default() += until(series, i, as_of).0;
    }
    counted
}

fn must_have(surveyed: &BTreeMap<String, usize>, winding: &str, now: usize) -> Result<(), NotAsLearnt> {
    let then = surveyed.get(winding).copied();
    if then == Some(now) {
        return Ok(());
    }
    Err(NotAsLearnt::OtherTests { winding: winding.to_owned(), then, now })
}

/// Every key of a policy with its value as a policy file has it.
fn rules(policy: &Policy) -> BTreeMap<String, String> {
    KEYS.iter().map(|key| (format!("{}.{}", key.section, key.name), key.get(policy).to_string())).collect()
}

/// Why a part cannot be judged, or a fleet not be learnt from: something differs.
#[derive(Clone, Debug, PartialEq)]
pub enum NotAsLearnt {
    /// There is no part to survey.
    Nothing,
    /// Two parts have the same winding.
    InTwoParts {
        /// The winding.
        winding: String,
    },
    /// The as-of dates differ.
    OtherDay {
        /// That of the survey or of the priors.
        then: NaiveDate,
        /// That of now.
        now: NaiveDate,
    },
    /// The priors are of a later day than the reading.
    LaterDay {
        /// That of the priors.
        then: NaiveDate,
        /// That of the reading.
        now: NaiveDate,
    },
    /// The confidences differ.
    OtherConfidence {
        /// That of the priors.
        then: Confidence,
        /// That of now.
        now: Confidence,
    },
    /// The policies differ.
    OtherPolicy {
        /// The first key that differs.
        key: String,
        /// Its value when the priors were learnt.
        then: String,
        /// Its value now.
        now: String,
    },
    /// A winding has other tests than when the fleet was surveyed.
    OtherTests {
        /// The winding.
        winding: String,
        /// How many it had; none where the survey has no such winding.
        then: Option<usize>,
        /// How many it has.
        now: usize,
    },
    /// A winding belongs to a group that was not surveyed.
    OtherGroup {
        /// The winding.
        winding: String,
        /// The group.
        group: String,
    },
}

impl NotAsLearnt {
    /// What to do about it.
    #[must_use]
    pub const fn hint(&self) -> &'static str {
        match self {
            Self::Nothing => "give the surveys of all parts",
            Self::InTwoParts { .. } => "divide the fleet by the name of the winding, and write each name in one way",
            Self::OtherDay { .. } | Self::OtherConfidence { .. } | Self::OtherPolicy { .. } => {
                "learn from the fleet again, or judge with the same settings"
            }
            Self::LaterDay { .. } => "take priors that were learnt up to the day of the reading",
            Self::OtherTests { .. } | Self::OtherGroup { .. } => {
                "learn from the fleet again, with the histories and the register that are judged, and judge whole windings"
            }
        }
    }
}

impl fmt::Display for NotAsLearnt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let tests = |count: usize| if count == 1 { "1 test".to_owned() } else { format!("{count} tests") };
        match self {
            Self::Nothing => f.write_str("there is no part of a fleet; at least one is surveyed"),
            Self::InTwoParts { winding } => {
                write!(f, "winding {winding} is in two parts of the fleet; the tests of a winding are judged together")
            }
            Self::OtherDay { then, now } => {
                write!(f, "the as-of date was {then} when the fleet was surveyed and is {now}; both must be the same")
            }
            Self::LaterDay { then, now } => {
                write!(
                    f,
                    "the priors were learnt as of {then} and the reading is of {now}; priors must not be learnt after it"
                )
            }
            Self::OtherConfidence { then, now } => {
                let (then, now) = (then.as_fraction(), now.as_fraction());
                write!(f, "the confidence was {then} when the priors were learnt and is {now}; both must be the same")
            }
            Self::OtherPolicy { key, then, now } => {
                write!(
                    f,
                    "{key} of the policy was {then} when the priors were learnt and is {now}; both must be the same"
                )
            }
            Self::OtherTests { winding, then: Some(then), now } => write!(
                f,
                "winding {winding} had {} when the fleet was surveyed and has {now}; both must be the same",
                tests(*then)
            ),
            Self::OtherTests { winding, then: None, now } => {
                write!(f, "winding {winding} has {} and was not in the fleet that was surveyed", tests(*now))
            }
            Self::OtherGroup { winding, group } => {
                write!(
                    f,
                    "winding {winding} belongs to the group {group}; the fleet that was surveyed had no such group"
                )
            }
        }
    }
}

impl Error for NotAsLearnt {}
