//! One name on several sheets of a workbook: the tests of a machine that comes by turns with those of another of its name.

use super::layout::label;
use crate::error::{Failure, shown};
use chrono::NaiveDate;
use groundwall::record::TestRecord;
use groundwall::units::Resistance;
use std::collections::BTreeMap;

/// Readings of one name differ by so much where its sheets are those of two machines.
const OF_TWO_MACHINES: f64 = 3.0;
/// Fewer tests on a sheet prove nothing.
const LEAST_TESTS: usize = 2;

/// The tests of one name on one sheet.
#[derive(Default)]
struct OnSheet {
    days: Vec<NaiveDate>,
    read: Vec<f64>,
}

impl OnSheet {
    fn median(&self) -> Option<f64> {
        let mut read = self.read.clone();
        read.sort_by(f64::total_cmp);
        read.get(read.len() / 2).copied()
    }

    /// Whether the tests of two sheets lie among each other and read far from each other.
    fn is_of_another(&self, other: &Self) -> bool {
        let first = |sheet: &Self| sheet.days.iter().min().copied();
        let last = |sheet: &Self| sheet.days.iter().max().copied();
        let overlap = first(self) < last(other) && first(other) < last(self);
        let are_several = self.read.len() >= LEAST_TESTS && other.read.len() >= LEAST_TESTS;
        let far = self
            .median()
            .zip(other.median())
            .is_some_and(|(one, other)| one.max(other) >= OF_TWO_MACHINES * one.min(other));
        overlap && are_several && far
    }
}

/// The question about one name on two sheets whose tests come by turns and read far from each other. `sheet` names the sheet of an input;
/// sheets of a month, a season or a year are of one machine.
pub(super) fn question<'s>(
    file: &str,
    tests: impl Iterator<Item = TestRecord>,
    as_of: Option<NaiveDate>,
    sheet: impl Fn(u32) -> Option<&'s str>,
) -> Option<Failure> {
    let mut named: BTreeMap<(String, String), BTreeMap<u32, OnSheet>> = BTreeMap::new();
    for test in tests.filter(|test| as_of.is_none_or(|as_of| test.tested_on().date <= as_of)) {
        let input = test.origin().input;
        if !sheet(input).is_some_and(may_be_a_place) {
            continue;
        }
        let read = test.readings().iter().filter_map(|reading| reading.value.resistance()).map(Resistance::as_megohms);
        let key = (test.winding().to_owned(), test.connection().to_string());
        let on_sheet = named.entry(key).or_default().entry(input).or_default();
        if let Some(read) = read.reduce(f64::min) {
            on_sheet.days.push(test.tested_on().date);
            on_sheet.read.push(read);
        }
    }
    let (winding, one, other) = named.iter().find_map(|((winding, _), sheets)| {
        let sheets: Vec<(&u32, &OnSheet)> = sheets.iter().collect();
        let mut pairs =
            sheets.iter().enumerate().flat_map(|(i, one)| sheets[i + 1..].iter().map(move |other| (one, other)));
        let (one, other) = pairs.find(|(one, other)| one.1.is_of_another(other.1))?;
        Some((winding, *one.0, *other.0))
    })?;
    let (one, other) = (shown(sheet(one)?), shown(sheet(other)?));
    Some(
        Failure::usage(format!(
            "{file}: {} has tests on the sheets {one} and {other} by turns, and they read far from each other: one machine or several?",
            shown(winding)
        ))
        .hint(format!(
            "if they are several, give them names of their own, such as {one} {name} and {other} {name}, or read one sheet alone: --sheet \
             \"{one}\"; if it is one, put its tests on one sheet",
            name = shown(winding)
        )),
    )
}

fn may_be_a_place(sheet: &str) -> bool {
    !label::is_date(sheet) && !label::names_tests(sheet) && !sheet.contains(|c: char| c.is_ascii_digit())
}
