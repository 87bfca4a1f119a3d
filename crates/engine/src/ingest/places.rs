//! One name on several sheets of a workbook: the tests of a machine that comes by turns with those of another of its name.

use super::layout::label;
use crate::error::{Failure, shown};
use chrono::NaiveDate;
use groundwall::record::TestRecord;
use groundwall::units::Resistance;
use std::collections::{BTreeMap, BTreeSet};

/// Readings of one name differ by so much where its sheets are those of two machines.
const OF_TWO_MACHINES: f64 = 3.0;
/// Fewer tests on a sheet prove nothing.
const LEAST_TESTS: usize = 2;
/// One name on two numbered sheets may be one machine.
const LEAST_SHARED: usize = 2;

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

    /// Whether the periods of two sheets overlap.
    fn come_by_turns(&self, other: &Self) -> bool {
        let first = |sheet: &Self| sheet.days.iter().min().copied();
        let last = |sheet: &Self| sheet.days.iter().max().copied();
        let overlap = first(self) < last(other) && first(other) < last(self);
        overlap && self.read.len() >= LEAST_TESTS && other.read.len() >= LEAST_TESTS
    }

    /// Whether the two sheets have no day in common.
    fn has_other_days(&self, other: &Self) -> bool {
        !self.days.iter().any(|day| other.days.contains(day))
    }

    /// Whether the periods of two sheets overlap and their readings are far apart.
    fn is_of_another(&self, other: &Self) -> bool {
        let far = self
            .median()
            .zip(other.median())
            .is_some_and(|(one, other)| one.max(other) >= OF_TWO_MACHINES * one.min(other));
        self.come_by_turns(other) && far
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
        if !sheet(input).is_some_and(|name| !label::is_date(name) && !label::names_tests(name)) {
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
    let mut by_turns: BTreeMap<(u32, u32), BTreeSet<&str>> = BTreeMap::new();
    let mut far = None;
    for ((winding, _), sheets) in &named {
        let sheets: Vec<(u32, &OnSheet)> = sheets.iter().map(|(input, sheet)| (*input, sheet)).collect();
        for (i, (one, of_one)) in sheets.iter().enumerate() {
            for (other, of_other) in &sheets[i + 1..] {
                let are = |is: &dyn Fn(&str, &str) -> bool| {
                    sheet(*one).zip(sheet(*other)).is_some_and(|(one, other)| is(one, other))
                };
                if are(&|one, other| may_be_a_place(one) && may_be_a_place(other)) && of_one.is_of_another(of_other) {
                    far = far.or(Some((winding.as_str(), *one, *other)));
                }
                if are(&are_numbered) && of_one.come_by_turns(of_other) && of_one.has_other_days(of_other) {
                    by_turns.entry((*one, *other)).or_default().insert(winding);
                }
            }
        }
    }
    // Several numbered machines with the same parts: `Generator` on `WEA 1` and on `WEA 2`.
    let shared = by_turns.iter().filter(|(_, names)| names.len() >= LEAST_SHARED);
    let shared = shared.filter_map(|((one, other), names)| Some((*names.first()?, *one, *other))).next();
    let is_far = far.is_some();
    let (winding, one, other) = far.or(shared)?;
    let so = if is_far { "they read far from each other" } else { "so have others of their names" };
    let (one, other) = (shown(sheet(one)?), shown(sheet(other)?));
    Some(
        Failure::usage(format!(
            "{file}: {} has tests on the sheets {one} and {other} by turns, and {so}: one machine or several?",
            shown(winding)
        ))
        .hint(format!(
            "if they are several, give them names of their own, such as {one} {name} and {other} {name}, or read one sheet alone: --sheet \
             \"{one}\"; if it is one, put its tests on one sheet",
            name = shown(winding)
        )),
    )
}

/// Whether the names of two sheets are one word with two numbers, as people call machines, and no numbers of pages.
fn are_numbered(one: &str, other: &str) -> bool {
    const PAGES: [&str; 18] = [
        "sheet", "page", "tabelle", "blatt", "seite", "feuil", "feuille", "hoja", "página", "foglio", "pagina",
        "folha", "planilha", "blad", "part", "teil", "partie", "list",
    ];
    let word = |name: &str| name.trim().trim_end_matches(|c: char| c.is_ascii_digit()).trim_end().to_lowercase();
    let own = word(one);
    own.chars().any(char::is_alphabetic)
        && own.len() < one.trim().len()
        && own == word(other)
        && !PAGES.contains(&own.as_str())
}

fn may_be_a_place(sheet: &str) -> bool {
    !label::is_date(sheet) && !label::names_tests(sheet) && !sheet.contains(|c: char| c.is_ascii_digit())
}

#[cfg(test)]
mod tests {
    use super::*;
    use groundwall::record::{Origin, TestedOn};
    use groundwall::resistance::Measured;
    use groundwall::units::Elapsed;

    /// Tests of one winding on one sheet: days and megohms.
    fn on_sheet(input: u32, winding: &str, tests: [(&str, f64); 2]) -> Vec<TestRecord> {
        let test = |(day, megohms): (&str, f64)| {
            let day = TestedOn::day(day.parse().expect("a day"));
            let read = Measured::Exact(Resistance::from_megohms(megohms).expect("a resistance"));
            let minute = Elapsed::from_seconds(60.0).expect("a time");
            let origin = Origin { input, line: 2 };
            TestRecord::builder(winding, day).reading(minute, read).origin(origin).build().expect("a test")
        };
        tests.into_iter().map(test).collect()
    }

    fn asked(sheets: [&'static str; 2], tests: Vec<TestRecord>) -> Option<String> {
        let sheet = |input: u32| Some(sheets[input as usize]);
        question("a.xlsx", tests.into_iter(), None, sheet).map(|failure| failure.to_string())
    }

    #[test]
    fn the_parts_of_numbered_machines_are_no_one_machine() {
        let generator =
            |input, days: [&'static str; 2]| on_sheet(input, "Generator", [(days[0], 620.0), (days[1], 605.0)]);
        let motor = |input, days: [&'static str; 2]| on_sheet(input, "Motor 1", [(days[0], 88.0), (days[1], 84.0)]);
        let (one, other) = (["2025-09-15", "2026-09-14"], ["2025-09-16", "2026-09-15"]);
        let both = || [generator(0, one), motor(0, one), generator(1, other), motor(1, other)].concat();
        let expected = "a.xlsx: Generator has tests on the sheets WEA 1 and WEA 2 by turns, and so have others of their names: one machine or \
                        several?";
        assert!(asked(["WEA 1", "WEA 2"], both()).is_some_and(|message| message.starts_with(expected)));
        // Pages of one list, one name alone, and one sheet after the other.
        assert_eq!(asked(["Page 1", "Page 2"], both()), None);
        assert_eq!(asked(["WEA 1", "WEA 2"], [generator(0, one), generator(1, other)].concat()), None);
        let later = ["2027-01-15", "2027-07-14"];
        let after = [generator(0, one), motor(0, one), generator(1, later), motor(1, later)].concat();
        assert_eq!(asked(["WEA 1", "WEA 2"], after), None);
    }

    #[test]
    fn one_name_that_reads_far_from_itself_on_two_sheets_is_asked_about() {
        let tests = [
            on_sheet(0, "Fan", [("2025-01-15", 300.0), ("2026-01-14", 310.0)]),
            on_sheet(1, "Fan", [("2025-03-15", 20.0), ("2025-09-14", 19.0)]),
        ];
        let expected = "a.xlsx: Fan has tests on the sheets North and South by turns, and they read far from each other: one machine or several?";
        assert!(asked(["North", "South"], tests.concat()).is_some_and(|message| message.starts_with(expected)));
    }
}
