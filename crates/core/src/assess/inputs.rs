//! What a judgement is made from: series, the register and the terms.

use crate::nameplate::Nameplate;
use crate::policy::Policy;
use crate::record::TestRecord;
use crate::series::{Series, SeriesKey, in_judged_order};
use crate::table::SeriesTable;
use crate::units::Confidence;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// What a judgement depends on beside the readings and the nameplate.
#[derive(Clone, Debug)]
pub struct Terms {
    /// The site's rules.
    pub policy: Policy,
    /// The as-of date; later tests are left out.
    pub as_of: NaiveDate,
    /// Confidence of the intervals.
    pub confidence: Confidence,
}

/// The list of windings with their nameplates.
pub type Register = BTreeMap<String, Nameplate>;

/// Series in the order of their keys, given one at a time and as often as they are asked for.
pub trait SeriesSource: Sync {
    /// How many there are.
    fn count(&self) -> usize;

    /// The winding of one.
    fn winding(&self, i: usize) -> &str;

    /// One of them.
    fn series(&self, i: usize) -> Series;

    /// What the tests of one share.
    fn key(&self, i: usize) -> SeriesKey {
        self.series(i).key
    }

    /// How many tests one has.
    fn tests(&self, i: usize) -> usize;

    /// The tests of one, latest first. Few of them are asked for.
    fn backwards(&self, i: usize) -> Box<dyn Iterator<Item = TestRecord> + '_> {
        Box::new(self.series(i).tests.into_iter().rev())
    }
}

/// Tests that are not in time order are put into it.
impl SeriesSource for [Series] {
    fn count(&self) -> usize {
        self.len()
    }

    fn winding(&self, i: usize) -> &str {
        &self[i].key.winding
    }

    fn key(&self, i: usize) -> SeriesKey {
        self[i].key.clone()
    }

    fn series(&self, i: usize) -> Series {
        let mut series = self[i].clone();
        in_judged_order(&mut series.tests);
        series
    }

    fn tests(&self, i: usize) -> usize {
        self[i].tests.len()
    }
}

impl SeriesSource for Vec<Series> {
    fn count(&self) -> usize {
        self.len()
    }

    fn winding(&self, i: usize) -> &str {
        self.as_slice().winding(i)
    }

    fn key(&self, i: usize) -> SeriesKey {
        self.as_slice().key(i)
    }

    fn series(&self, i: usize) -> Series {
        self.as_slice().series(i)
    }

    fn tests(&self, i: usize) -> usize {
        self.as_slice().tests(i)
    }
}

impl SeriesSource for SeriesTable {
    fn count(&self) -> usize {
        self.len()
    }

    fn winding(&self, i: usize) -> &str {
        self.winding(i)
    }

    fn key(&self, i: usize) -> SeriesKey {
        self.key(i)
    }

    fn series(&self, i: usize) -> Series {
        self.series(i)
    }

    fn tests(&self, i: usize) -> usize {
        self.tests_of(i)
    }

    fn backwards(&self, i: usize) -> Box<dyn Iterator<Item = TestRecord> + '_> {
        Box::new(self.backwards(i))
    }
}

impl<S: SeriesSource + ?Sized> SeriesSource for &S {
    fn count(&self) -> usize {
        (**self).count()
    }

    fn winding(&self, i: usize) -> &str {
        (**self).winding(i)
    }

    fn key(&self, i: usize) -> SeriesKey {
        (**self).key(i)
    }

    fn series(&self, i: usize) -> Series {
        (**self).series(i)
    }

    fn tests(&self, i: usize) -> usize {
        (**self).tests(i)
    }

    fn backwards(&self, i: usize) -> Box<dyn Iterator<Item = TestRecord> + '_> {
        (**self).backwards(i)
    }
}
