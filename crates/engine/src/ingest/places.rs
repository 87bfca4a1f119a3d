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
    /// The lowest reading of each day, MΩ.
    days: BTreeMap<NaiveDate, f64>,
    read: Vec<f64>,
}

/// A summary of several tests of one name on one sheet.
struct Tests<'t> {
    input: u32,
    days: &'t BTreeMap<NaiveDate, f64>,
    first: NaiveDate,
    last: NaiveDate,
    median: f64,
}

impl OnSheet {
    fn several(&mut self, input: u32) -> Option<Tests<'_>> {
        self.read.sort_by(f64::total_cmp);
        let median = *self.read.get(self.read.len() / 2).filter(|_| self.read.len() >= LEAST_TESTS)?;
        let (first, last) = (*self.days.first_key_value()?.0, *self.days.last_key_value()?.0);
        Some(Tests { input, days: &self.days, first, last, median })
    }

    /// Whether the tests of common days read the same, as those of a copy do.
    fn is_copy_of(&self, other: &Self) -> bool {
        let mut common = self.days.iter().filter_map(|(day, read)| Some((read, other.days.get(day)?))).peekable();
        common.peek().is_some() && common.all(|(one, other)| one.total_cmp(other).is_eq())
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
            let lowest = on_sheet.days.entry(test.tested_on().date).or_insert(read);
            *lowest = lowest.min(read);
            on_sheet.read.push(read);
        }
    }
    let mut by_turns: BTreeMap<(u32, u32), BTreeSet<&str>> = BTreeMap::new();
    let place = |input: u32| {
        let kind = kinds.get(&input).and_then(Option::as_ref)?;
        (*kind != SheetKind::Other && sheet(input).is_some_and(is_area)).then_some(kind)
    };
    let areas = of_areas(&named, place);
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
                    Some(SheetKind::Numbered(_)) if one.days.keys().all(|day| !other.days.contains_key(day)) => {
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
    let areas = areas.map(|(winding, one, other)| (winding, one, other, "that may be two places"));
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

/// Two sheets of areas with a name that machines in both may have.
fn of_areas<'k>(
    named: &BTreeMap<(String, String), BTreeMap<u32, OnSheet>>,
    place: impl Fn(u32) -> Option<&'k SheetKind>,
) -> Option<(String, u32, u32)> {
    named.iter().find_map(|((winding, _), sheets)| {
        let places = sheets.iter().filter_map(|(input, own)| Some((*input, place(*input)?, own)));
        let places: Vec<(u32, &SheetKind, &OnSheet)> = places.take(MOST_PLACES).collect();
        places.iter().enumerate().find_map(|(i, (one, kind, of_one))| {
            let is_other = |(_, other, of_other): &&(u32, &SheetKind, &OnSheet)| {
                other == kind && is_common(winding, kind) && !of_one.is_copy_of(of_other)
            };
            let (other, ..) = places[i + 1..].iter().find(is_other)?;
            Some((winding.clone(), *one, *other))
        })
    })
}

/// The most sheets of areas that are compared with each other.
const MOST_PLACES: usize = 100;

/// Whether machines in several areas may share a name: `Pump`, but not `P-101`; in numbered ones also `Pump 1`.
fn is_common(winding: &str, kind: &SheetKind) -> bool {
    !winding.contains(|c: char| c.is_ascii_digit())
        || (matches!(kind, SheetKind::Numbered(_)) && numbered_word(winding).is_some())
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
    const PAGES: [&str; 49] = [
        "fy",
        "ta",
        "sd",
        "so",
        "outage",
        "shutdown",
        "turnaround",
        "trip",
        "run",
        "tour",
        "week",
        "wk",
        "kw",
        "month",
        "q",
        "h",
        "year",
        "yr",
        "jahr",
        "année",
        "año",
        "anno",
        "ano",
        "book",
        "volume",
        "log",
        "logbook",
        "set",
        "batch",
        "copy",
        "file",
        "sheet",
        "page",
        "tabelle",
        "blatt",
        "seite",
        "feuil",
        "feuille",
        "hoja",
        "página",
        "foglio",
        "pagina",
        "folha",
        "planilha",
        "blad",
        "part",
        "teil",
        "partie",
        "list",
    ];
    let word = name.trim().trim_end_matches(|c: char| c.is_ascii_digit());
    let own = word.trim_end().to_lowercase();
    let is_numbered = own.chars().any(char::is_alphabetic) && word.len() < name.trim().len();
    let number = &name.trim()[word.len()..];
    let is_year = number.len() == 4 && (number.starts_with("19") || number.starts_with("20"));
    (is_numbered && !is_year && !PAGES.contains(&own.as_str())).then_some(own)
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
        // Pages of one list.
        assert_eq!(asked(["Page 1", "Page 2"], both()), None);
        let later = ["2027-01-15", "2027-07-14"];
        let after = [generator(0, one), motor(0, one), generator(1, later), motor(1, later)].concat();
        let expected =
            "a.xlsx: Generator has tests on the sheets WEA 1 and WEA 2 that may be two places: one machine or several?";
        assert!(asked(["WEA 1", "WEA 2"], after.clone()).is_some_and(|message| message.starts_with(expected)));
        assert_eq!(asked(["Book 1", "Book 2"], after), None);
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
        let expected = "a.xlsx: Fan has tests on the sheets Boiler house and Annexe that may be two places: one machine or several?";
        let asked_of = |sheets| asked(sheets, both());
        assert!(asked_of(["Boiler house", "Annexe"]).is_some_and(|message| message.starts_with(expected)));
        // One common name is enough.
        let alone = |input, days| on_sheet(input, "North ram", days);
        let (first, later) =
            ([("2023-04-09", 300.0), ("2025-04-08", 2.0)], [("2025-10-14", 400.0), ("2026-04-14", 410.0)]);
        let expected = "a.xlsx: North ram has tests on the sheets Lock 12 and Lock 13 that may be two places: one machine or several?";
        let found = asked(["Lock 12", "Lock 13"], [alone(0, first), alone(1, later)].concat());
        assert!(found.is_some_and(|message| message.starts_with(expected)));
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
