//! One name on several sheets of a workbook: the tests of a machine that comes by turns with those of another of its name.

use super::dates::is_part_of_year;
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
    days: BTreeSet<NaiveDate>,
    read: Vec<f64>,
}

/// A summary of several tests of one name on one sheet.
struct Tests<'t> {
    input: u32,
    days: &'t BTreeSet<NaiveDate>,
    first: NaiveDate,
    last: NaiveDate,
    median: f64,
}

impl OnSheet {
    fn several(&mut self, input: u32) -> Option<Tests<'_>> {
        self.read.sort_by(f64::total_cmp);
        let median = *self.read.get(self.read.len() / 2).filter(|_| self.read.len() >= LEAST_TESTS)?;
        Some(Tests { input, days: &self.days, first: *self.days.first()?, last: *self.days.last()?, median })
    }
}

impl Tests<'_> {
    /// Whether the periods of two sheets overlap.
    fn come_by_turns(&self, other: &Self) -> bool {
        self.first < other.last && other.first < self.last
    }

    /// Whether the periods of two sheets overlap and their readings are far apart.
    fn is_of_another(&self, other: &Self) -> bool {
        let (one, other_median) = (self.median, other.median);
        self.come_by_turns(other) && one.max(other_median) >= OF_TWO_MACHINES * one.min(other_median)
    }
}

/// What the name of a sheet says.
#[derive(PartialEq, Eq)]
enum SheetKind {
    Place,
    /// A numbered sheet, with the word before the number.
    Numbered(String),
    Other,
}

impl SheetKind {
    fn of(name: &str) -> Option<Self> {
        if label::is_date(name) || is_part_of_year(name) || label::names_tests(name) {
            return None;
        }
        if !name.contains(|c: char| c.is_ascii_digit()) {
            return Some(Self::Place);
        }
        Some(numbered_word(name).map_or(Self::Other, Self::Numbered))
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
    let mut kinds: BTreeMap<u32, Option<SheetKind>> = BTreeMap::new();
    for test in tests.filter(|test| as_of.is_none_or(|as_of| test.tested_on().date <= as_of)) {
        let input = test.origin().input;
        if kinds.entry(input).or_insert_with(|| SheetKind::of(sheet(input)?)).is_none() {
            continue;
        }
        let read = test.readings().iter().filter_map(|reading| reading.value.resistance()).map(Resistance::as_megohms);
        let key = (test.winding().to_owned(), test.connection().to_string());
        let on_sheet = named.entry(key).or_default().entry(input).or_default();
        if let Some(read) = read.reduce(f64::min) {
            on_sheet.days.insert(test.tested_on().date);
            on_sheet.read.push(read);
        }
    }
    let mut by_turns: BTreeMap<(u32, u32), BTreeSet<&str>> = BTreeMap::new();
    let is_place = |input: u32| {
        kinds.get(&input).is_some_and(|kind| *kind == Some(SheetKind::Place)) && sheet(input).is_some_and(is_area)
    };
    let areas = of_areas(&named, is_place);
    let mut far = None;
    for ((winding, _), sheets) in &mut named {
        let sheets: Vec<Tests<'_>> = sheets.iter_mut().filter_map(|(input, sheet)| sheet.several(*input)).collect();
        for (i, one) in sheets.iter().enumerate() {
            let kind = kinds.get(&one.input).and_then(Option::as_ref);
            for other in &sheets[i + 1..] {
                if !one.come_by_turns(other) || kinds.get(&other.input).and_then(Option::as_ref) != kind {
                    continue;
                }
                match kind {
                    Some(SheetKind::Place) if far.is_none() && one.is_of_another(other) => {
                        far = Some((winding.as_str(), one.input, other.input));
                    }
                    Some(SheetKind::Numbered(_)) if one.days.is_disjoint(other.days) => {
                        by_turns.entry((one.input, other.input)).or_default().insert(winding);
                    }
                    _ => {}
                }
            }
        }
    }
    // Several numbered machines with the same parts: `Generator` on `WEA 1` and on `WEA 2`.
    let shared = by_turns.iter().filter(|(_, names)| names.len() >= LEAST_SHARED);
    let shared = shared.filter_map(|((one, other), names)| Some((*names.first()?, *one, *other))).next();
    let so = if far.is_some() {
        "by turns, and they read far from each other"
    } else {
        "by turns, and so have others of their names"
    };
    let found = far.or(shared).map(|(winding, one, other)| (winding.to_owned(), one, other, so));
    let areas =
        areas.map(|(winding, one, other)| (winding, one, other, "on other days, and so have others of their names"));
    let (winding, one, other, so) = found.or(areas)?;
    let (one, other) = (shown(sheet(one)?), shown(sheet(other)?));
    Some(
        Failure::usage(format!(
            "{file}: {} has tests on the sheets {one} and {other} {so}: one machine or several?",
            shown(&winding)
        ))
        .hint(format!(
            "if they are several, give them names of their own, such as {one} {name} and {other} {name}, or read one sheet alone: --sheet \
             \"{one}\"; if it is one, put its tests on one sheet",
            name = shown(&winding)
        )),
    )
}

/// Two sheets of areas with several common names, and the first of those.
fn of_areas(
    named: &BTreeMap<(String, String), BTreeMap<u32, OnSheet>>,
    is_place: impl Fn(u32) -> bool,
) -> Option<(String, u32, u32)> {
    let mut shared: BTreeMap<(u32, u32), BTreeSet<&str>> = BTreeMap::new();
    for ((winding, _), sheets) in named.iter().filter(|((winding, _), _)| is_common(winding)) {
        let places = sheets.iter().filter(|(input, _)| is_place(**input)).take(MOST_PLACES);
        let places: Vec<(u32, &OnSheet)> = places.map(|(input, own)| (*input, own)).collect();
        for (i, (one, of_one)) in places.iter().enumerate() {
            for (other, of_other) in &places[i + 1..] {
                if of_one.days.is_disjoint(&of_other.days) {
                    shared.entry((*one, *other)).or_default().insert(winding);
                }
            }
        }
    }
    let ((one, other), names) = shared.into_iter().find(|(_, names)| names.len() >= LEAST_SHARED)?;
    Some(((*names.first()?).to_owned(), one, other))
}

/// The most sheets of areas that are compared with each other.
const MOST_PLACES: usize = 100;

/// Whether machines in several areas may share a name: `Pump`, but not `P-101`.
fn is_common(winding: &str) -> bool {
    !winding.contains(|c: char| c.is_ascii_digit())
}

/// Whether the name of a sheet may be an area, and not a place where old tests are kept.
fn is_area(sheet: &str) -> bool {
    const OF_TIME: [&str; 20] = [
        "archive",
        "archives",
        "archiv",
        "archivo",
        "archivio",
        "arquivo",
        "archief",
        "old",
        "alt",
        "alte",
        "new",
        "neu",
        "history",
        "historie",
        "historique",
        "current",
        "log",
        "data",
        "results",
        "tests",
    ];
    !sheet.to_lowercase().split(|c: char| !c.is_alphanumeric()).any(|word| OF_TIME.contains(&word))
}

/// The word of a name that is a word and a number, as people call machines, and no number of a page.
fn numbered_word(name: &str) -> Option<String> {
    const PAGES: [&str; 18] = [
        "sheet", "page", "tabelle", "blatt", "seite", "feuil", "feuille", "hoja", "página", "foglio", "pagina",
        "folha", "planilha", "blad", "part", "teil", "partie", "list",
    ];
    let word = name.trim().trim_end_matches(|c: char| c.is_ascii_digit());
    let own = word.trim_end().to_lowercase();
    let is_numbered = own.chars().any(char::is_alphabetic) && word.len() < name.trim().len();
    (is_numbered && !PAGES.contains(&own.as_str())).then_some(own)
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
    fn machines_of_several_areas_with_common_names_are_asked_about() {
        let round = |input, day: &'static str| {
            let next = if input == 0 { "2026-03-09" } else { "2026-03-10" };
            [
                on_sheet(input, "Fan", [(day, 300.0), (next, 310.0)]),
                on_sheet(input, "Pump", [(day, 30.0), (next, 31.0)]),
            ]
            .concat()
        };
        let both = || [round(0, "2025-03-09"), round(1, "2026-03-11")].concat();
        let expected = "a.xlsx: Fan has tests on the sheets Boiler house and Annexe on other days, and so have others of their names: one machine \
                        or several?";
        let asked_of = |sheets| asked(sheets, both());
        assert!(asked_of(["Boiler house", "Annexe"]).is_some_and(|message| message.starts_with(expected)));
        assert_eq!(asked_of(["Tests", "Archive"]), None);
        assert_eq!(asked_of(["Janeiro", "Abril"]), None);
        // A name with a number is that of one machine wherever it is listed.
        let numbered = [
            on_sheet(0, "P-1", [("2025-03-09", 30.0), ("2025-06-09", 31.0)]),
            on_sheet(0, "P-2", [("2025-03-09", 30.0), ("2025-06-09", 31.0)]),
        ];
        let later = [
            on_sheet(1, "P-1", [("2026-03-09", 30.0), ("2026-06-09", 31.0)]),
            on_sheet(1, "P-2", [("2026-03-09", 30.0), ("2026-06-09", 31.0)]),
        ];
        assert_eq!(asked(["Boiler house", "Annexe"], [numbered.concat(), later.concat()].concat()), None);
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
