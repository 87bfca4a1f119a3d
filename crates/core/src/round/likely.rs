//! The temperature that a winding will likely have when it is tested: what it had at this time of the year before.

use crate::assess::{CorrectedTest, LeftOut};
use crate::record::Event;
use crate::units::Temperature;
use chrono::{Datelike, NaiveDate};
use std::collections::BTreeMap;

/// Tests within so many days of the time of the year are of the same season.
const SEASON_DAYS: u32 = 45;
/// So many tests of a season tell its temperature.
const LEAST_OF_A_SEASON: usize = 3;
const DAYS_OF_A_YEAR: u32 = 365;
/// Where nothing is known: between a cold store room and the usual reference, °C.
const ASSUMED_C: f64 = 25.0;

/// A temperature, and what it rests on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LikelyTemperature {
    /// The temperature, in whole degrees.
    pub at: Temperature,
    /// What it rests on.
    pub from: LikelyFrom,
}

/// What a likely temperature rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LikelyFrom {
    /// The median of so many tests of the series at this time of the year.
    Season(usize),
    /// The median of all so many tests of the series that have a temperature.
    AllTests(usize),
    /// The median of so many other series of the site.
    Site(usize),
    /// Nothing is known.
    Assumed,
}

impl LikelyFrom {
    /// In words.
    #[must_use]
    pub fn in_words(self) -> String {
        let of =
            |count: usize, one: &str, many: &str| if count == 1 { one.to_owned() } else { format!("{count} {many}") };
        match self {
            Self::Season(tests) => format!("median of {tests} tests at this time of the year"),
            Self::AllTests(tests) => format!("median of {}", of(tests, "its one test", "tests of all seasons")),
            Self::Site(series) => {
                format!("median of {}", of(series, "one other series of the site", "other series of the site"))
            }
            Self::Assumed => "assumed: no winding temperature is known".to_owned(),
        }
    }
}

/// What the tests of a series lead to expect on a day; none where none has a temperature.
pub(super) fn of_tests(tests: &[CorrectedTest], day: NaiveDate) -> Option<LikelyTemperature> {
    let known: Vec<(NaiveDate, f64)> = tests
        .iter()
        .filter(|test| !matches!(test.left_out, Some(LeftOut::AfterAsOf | LeftOut::Drying)))
        // A winding that is being dried out is heated, and is to be tested cold.
        .filter(|test| !matches!(test.event, Some(Event::Flooded | Event::Drying)))
        .filter_map(|test| Some((test.tested_on.date, test.winding_temp?.as_celsius())))
        .collect();
    let of_the_season: Vec<f64> =
        known.iter().filter(|(on, _)| days_apart(*on, day) <= SEASON_DAYS).map(|(_, celsius)| *celsius).collect();
    let all: Vec<f64> = known.into_iter().map(|(_, celsius)| celsius).collect();
    if of_the_season.len() >= LEAST_OF_A_SEASON {
        let from = LikelyFrom::Season(of_the_season.len());
        return Some(LikelyTemperature { at: median(of_the_season)?, from });
    }
    let from = LikelyFrom::AllTests(all.len());
    Some(LikelyTemperature { at: median(all)?, from })
}

/// How far two days are apart in the calendar, whatever their years.
fn days_apart(one: NaiveDate, other: NaiveDate) -> u32 {
    let apart = one.ordinal().abs_diff(other.ordinal());
    apart.min(DAYS_OF_A_YEAR.saturating_sub(apart))
}

/// The median, to the whole degree; none of nothing.
fn median(mut celsius: Vec<f64>) -> Option<Temperature> {
    celsius.sort_by(f64::total_cmp);
    let upper = *celsius.get(celsius.len() / 2)?;
    let lower = *celsius.get((celsius.len() - 1) / 2)?;
    Temperature::from_celsius(f64::midpoint(lower, upper).round()).ok()
}

/// The likely temperatures of the series of each site: for windings that have no own.
pub(super) struct SiteTemperatures {
    by_site: BTreeMap<Option<String>, (Temperature, usize)>,
}

impl SiteTemperatures {
    pub(super) fn of<'a>(series: impl Iterator<Item = (Option<&'a str>, Temperature)>) -> Self {
        let mut by_site: BTreeMap<Option<String>, Vec<f64>> = BTreeMap::new();
        for (site, at) in series {
            by_site.entry(site.map(str::to_owned)).or_default().push(at.as_celsius());
        }
        let medians = by_site.into_iter().filter_map(|(site, all)| {
            let count = all.len();
            Some((site, (median(all)?, count)))
        });
        Self { by_site: medians.collect() }
    }

    pub(super) fn at(&self, site: Option<&str>) -> LikelyTemperature {
        match self.by_site.get(&site.map(str::to_owned)) {
            Some((at, series)) => LikelyTemperature { at: *at, from: LikelyFrom::Site(*series) },
            None => {
                let at = Temperature::from_celsius(ASSUMED_C).unwrap_or(Temperature::LEAST);
                LikelyTemperature { at, from: LikelyFrom::Assumed }
            }
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]
mod tests {
    use super::*;

    #[test]
    fn the_turn_of_the_year_parts_no_season() {
        let day = |text: &str| text.parse::<NaiveDate>().unwrap();
        assert_eq!(days_apart(day("2025-12-28"), day("2026-01-04")), 7);
        assert_eq!(days_apart(day("2024-12-31"), day("2026-01-01")), 0);
        assert_eq!(days_apart(day("2025-07-01"), day("2026-01-01")), 181);
    }

    #[test]
    fn a_median_is_a_whole_degree() {
        let of = |celsius: &[f64]| median(celsius.to_vec()).map(Temperature::as_celsius);
        assert_eq!((of(&[]), of(&[21.4]), of(&[30.0, 20.0, 10.0, 21.0])), (None, Some(21.0), Some(21.0)));
    }
}
