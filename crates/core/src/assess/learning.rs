//! Learning from the chosen windings of a fleet.

use super::copies;
use super::fleet;
use super::group_prior::{self, Group};
use super::inputs::{Register, SeriesSource, Terms};
use super::learnt::{Choice, Learnt, counted, must_have, rules};
use super::not_as_learnt::NotAsLearnt;
use super::spread::Spread;
use crate::series::SeriesKey;
use std::collections::BTreeMap;

impl Choice {
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
        spread: &impl Spread,
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
        spread: &impl Spread,
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
