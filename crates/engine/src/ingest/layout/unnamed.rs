//! Columns of numbers that are not read and may be readings all the same: the lowest of several, or numbers under a header that nobody
//! understands.

use super::cells::{POINTS_ASKED, holds_readings, is_derived, meant};
use super::grid::GridRow;
use crate::ingest::aliases;
use crate::ingest::header_words;
use crate::ingest::verdicts;
use std::collections::{BTreeMap, BTreeSet};

/// Whether a column may hold the lowest of several readings: its header says so, and its numbers are not one limit.
pub(super) fn may_be_lowest(rows: &[GridRow], place: usize, header: &str) -> bool {
    // A limit is a minimum too.
    const OF_EITHER: [&str; 7] = ["min", "minimum", "minimal", "mín", "mínima", "mínimo", "minimo"];
    const OF_READINGS: [&str; 23] = [
        "lowest",
        "smallest",
        "least",
        "worst",
        "niedrigster",
        "niedrigste",
        "tiefster",
        "tiefste",
        "kleinster",
        "kleinste",
        "schlechtester",
        "schlechteste",
        "faible",
        "bas",
        "basse",
        "pire",
        "peor",
        "menor",
        "pior",
        "peggiore",
        "inferiore",
        "laagste",
        "slechtste",
    ];
    let lower = header.to_lowercase();
    let words = || lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    let says_limit = |word: &str| {
        matches!(
            word,
            "limit"
                | "allowed"
                | "allowable"
                | "permitted"
                | "permissible"
                | "zulässig"
                | "zulässiger"
                | "admissible"
                | "admisible"
                | "ammissibile"
                | "toegestaan"
                | "required"
                | "acceptable"
                | "acceptance"
                | "criteria"
                | "spec"
                | "temp"
                | "date"
                | "time"
                | "volts"
                | "s"
                | "sec"
        )
    };
    // `Min of 3`, but not `1 min`.
    let of_several =
        words().zip(words().skip(1)).any(|two| matches!(two, ("min" | "minimum", "of" | "von" | "de" | "di")));
    let is_of_readings = of_several || words().any(|word| OF_READINGS.contains(&word));
    if words().any(says_limit) || aliases::has_unit_of_something_else(header) {
        return false;
    }
    if is_of_readings {
        return holds_readings(rows, place);
    }
    let has_number = words().any(|word| word.starts_with(|c: char| c.is_ascii_digit()));
    if !words().any(|word| OF_EITHER.contains(&word)) || has_number {
        return false;
    }
    let cells = rows.iter().take(POINTS_ASKED).map(|row| row.cells[place].as_str());
    let values: BTreeSet<&str> = cells.filter(|cell| !cell.is_empty()).collect();
    if (0..rows.first().map_or(0, |row| row.cells.len())).any(|of| of != place && follows_from(rows, place, of)) {
        return false;
    }
    3 * values.len() > rows.len().min(12) && values.len() > 1 && holds_readings(rows, place)
}

/// Whether the cells of a column are the same wherever those of another are, and some of those come again: a limit by the rated voltage.
fn follows_from(rows: &[GridRow], place: usize, of: usize) -> bool {
    let mut values: BTreeMap<&str, &str> = BTreeMap::new();
    let mut filled = rows.iter().take(POINTS_ASKED).map(|row| (row.cells[of].as_str(), row.cells[place].as_str()));
    let mut count = 0;
    let is_same = filled.all(|(key, value)| {
        count += usize::from(!value.is_empty());
        value.is_empty() || *values.entry(key).or_insert(value) == value
    });
    is_same && 4 * values.len() <= 3 * count
}

/// Whether a column under a header that nobody understands may hold readings: numbers that change from test to test of one winding, in no
/// way that a counter does. Where no winding has two tests, numbers that are about as large as the readings beside them.
pub(super) fn may_be_readings(
    rows: &[GridRow],
    winding: Option<usize>,
    readings: &[usize],
    place: usize,
    header: &str,
) -> bool {
    let is_of_words = !is_open(header);
    if is_of_words && !heads_words(header) || !holds_readings(rows, place) {
        return false;
    }
    let of_tests =
        rows.iter().take(POINTS_ASKED).filter(|row| readings.iter().any(|at| number(&row.cells[*at]).is_some()));
    if is_of_words && follows_from_readings(of_tests.clone(), readings, place) {
        return false;
    }
    let mut tests: BTreeMap<&str, Vec<(f64, f64)>> = BTreeMap::new();
    let mut count = 0_usize;
    for row in of_tests {
        count += 1;
        let read = readings.iter().find_map(|at| number(&row.cells[*at]));
        if let (Some(read), Some(value)) = (read, number(&row.cells[place])) {
            tests.entry(winding.map_or("", |at| row.cells[at].as_str())).or_default().push((read, value));
        }
    }
    let values = || tests.values().flatten().map(|(_, value)| *value);
    let filled = values().count();
    let in_rows = rows.iter().take(POINTS_ASKED).filter_map(|row| number(&row.cells[place]));
    if is_count(in_rows) {
        return false;
    }
    if filled < 2 && filled == count {
        return false;
    }
    let alike = tests.values().flatten().filter(|(read, value)| (read / value).log10().abs() <= ALIKE).count();
    if is_of_words {
        let is_lower = tests.values().flatten().any(|(read, value)| value < read);
        let may_be_measured = 2 * alike >= filled || 2 * filled < count || names_ohms(header);
        if !is_lower || !may_be_measured || values().all(|value| RATIOS.contains(&value)) && !names_ohms(header) {
            return false;
        }
    }
    if 2 * filled < count || filled < 2 {
        // A test made again has a number here and there.
        return tests.values().flatten().any(|(read, value)| LOWER * value <= *read);
    }
    if tests.values().any(|of_one| of_one.len() > 1) {
        return tests.values().any(|of_one| of_one.iter().any(|(_, value)| value.to_bits() != of_one[0].1.to_bits()))
            && !tests.values().all(|of_one| rises(of_one));
    }
    let distinct: BTreeSet<u64> = values().map(f64::to_bits).collect();
    2 * distinct.len() > filled && 10 * alike >= 7 * filled
}

/// A reading that is so many times lower than the one beside it changes an answer.
const LOWER: f64 = 2.0;
/// Numbers are alike where one is at most ten times the other.
const ALIKE: f64 = 1.0;
/// Counters of hours or starts show more than this.
const LEAST_COUNT: f64 = 1000.0;
/// Numbers of machines and places are no greater.
const MOST_MACHINES: f64 = 20.0;
/// Numbers of orders are greater.
const LEAST_ORDER: f64 = 10_000.0;

/// Whether a header tells nothing of what its numbers are.
pub(super) fn is_open(header: &str) -> bool {
    !aliases::names_a_count(header)
        && !aliases::says_limit(header)
        && !aliases::names_something_else(header)
        && !aliases::has_unit_of_something_else(header)
        && !is_derived(header)
        && !verdicts::heads_verdicts(header)
        && !header_words::says_circumstances(header)
        && !header_words::names_a_life(header)
        && !header_words::names_machines(header)
        && !header_words::names_circumstances(header)
}

/// Ratios, grades and codes under headers of words lie within it.
const RATIOS: std::ops::RangeInclusive<f64> = 0.8..=10.0;

/// Whether a header is usually one of words, codes, sums or ratios, whatever its unit of resistance: `Result`, `damp`, `Total (MΩ)`.
fn heads_words(header: &str) -> bool {
    const WORDS: [&str; 28] = [
        "total",
        "grand",
        "general",
        "général",
        "geral",
        "gesamt",
        "gesamtergebnis",
        "summe",
        "somme",
        "suma",
        "soma",
        "som",
        "sum",
        "totaal",
        "totale",
        "checked",
        "action",
        "weather",
        "wetter",
        "météo",
        "weer",
        "code",
        "index",
        "trend",
        "test",
        "earth",
        "ground",
        "of",
    ];
    let lower = header.to_lowercase();
    let is_gap = |c: char| !(c.is_alphanumeric() || c == '\u{2126}');
    let mut words = lower.split(is_gap).filter(|word| !word.is_empty()).peekable();
    words.peek().is_some()
        && (verdicts::heads_failures(header)
            || words.all(|word| WORDS.contains(&word) || verdicts::heads_verdicts(word) || is_unit_of_ohms(word)))
        && !aliases::has_unit_of_something_else(header)
}

/// Whether a word in small letters is a unit of resistance.
fn is_unit_of_ohms(word: &str) -> bool {
    word.chars().count() > 1 && word.ends_with(['ω', '\u{2126}']) || word.ends_with("ohm") || word.ends_with("ohms")
}

/// Whether a header has a unit of resistance.
fn names_ohms(header: &str) -> bool {
    aliases::units(header).is_some_and(|units| units.ohms.is_some())
}

/// Whether the numbers of a column are sums, means, the highest or the lowest of the readings beside them.
fn follows_from_readings<'r>(rows: impl Iterator<Item = &'r GridRow>, readings: &[usize], place: usize) -> bool {
    let mut rows = rows
        .filter_map(|row| {
            let read: Vec<f64> = readings.iter().filter_map(|at| number(&row.cells[*at])).collect();
            Some((number(&row.cells[place])?, read))
        })
        .peekable();
    let is = |value: f64, other: f64| (value - other).abs() <= 0.01 * other;
    rows.peek().is_some()
        && rows.all(|(value, read)| {
            let sum: f64 = read.iter().sum();
            let mean = sum / read.len() as f64;
            is(value, sum) || is(value, mean) || read.iter().any(|read| is(value, *read))
        })
}

/// A number that may be a resistance.
pub(super) fn number(cell: &str) -> Option<f64> {
    let plain = cell.trim().replace(',', ".").parse::<f64>().ok();
    let meant = || Some(meant(cell)??.resistance()?.as_megohms());
    plain.or_else(meant).filter(|number| *number > 0.0 && number.is_finite())
}

/// Whether numbers are years, numbers of rows or numbers of orders.
fn is_count(values: impl Iterator<Item = f64> + Clone) -> bool {
    let is_whole = values.clone().all(|value| value.fract() == 0.0);
    let is_year = |value: f64| (1950.0..2100.0).contains(&value);
    let mut seen = BTreeSet::new();
    let all: Vec<f64> = values.clone().collect();
    let steps: BTreeSet<u64> = all.windows(2).map(|two| (two[1] - two[0]).to_bits()).collect();
    // `Tank 1` and `Tank 2` come by turns.
    let distinct: BTreeSet<u64> = all.iter().map(|value| value.to_bits()).collect();
    let are_machines = distinct.len() < all.len() && all.iter().all(|value| *value <= MOST_MACHINES);
    let are_of_rows = all.len() > 2 && all[1] > all[0] && steps.len() == 1;
    is_whole
        && (are_of_rows
            || are_machines
            || values.clone().all(is_year)
            || values.clone().all(|value| value >= LEAST_ORDER && seen.insert(value.to_bits())))
}

/// Whether the numbers of one winding only rise, as those of a counter do.
fn rises(of_one: &[(f64, f64)]) -> bool {
    let is_counter = of_one.iter().all(|(_, value)| value.fract() == 0.0 && *value >= LEAST_COUNT);
    is_counter && (of_one.is_sorted_by(|one, next| one.1 <= next.1) || of_one.is_sorted_by(|one, next| one.1 >= next.1))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn may_be(header: &str, cells: &[(&str, &str, &str)]) -> bool {
        let row = |(name, read, value): &(&str, &str, &str)| {
            let cells = [name, read, value].map(|cell| (*cell).to_owned()).to_vec();
            GridRow { line: 1, cells }
        };
        let rows: Vec<GridRow> = cells.iter().map(row).collect();
        may_be_readings(&rows, Some(0), &[1], 2, header)
    }

    #[test]
    fn numbers_that_change_from_test_to_test_may_be_readings() {
        let of_one = [("P-1", "420", "9"), ("P-1", "410", "6"), ("P-1", "415", "0.4")];
        assert!(may_be("Aux", &of_one) && may_be("Brake", &of_one) && may_be("", &of_one));
        for header in [
            "Hours",
            "Amps A",
            "RH %",
            "kW",
            "Amps",
            "Bearing",
            "Vibration mm/s",
            "PI",
            "Grade",
            "Min. MΩ",
            "Voltage",
            "No.",
        ] {
            assert!(!may_be(header, &of_one), "{header}");
        }
        assert!(!may_be("Aux", &[("P-1", "420", "9"), ("P-1", "410", "9")]), "the same each time");
        let below_words = [("P-1", "420", "390"), ("P-1", "410", "300"), ("P-1", "415", "0.4")];
        for header in [
            "Result",
            "Status",
            "Condition",
            "Pass",
            "Fault",
            "Earth fault",
            "Checked",
            "Action",
            "Weather",
            "Total",
            "Sum",
            "Code",
            "Index",
            "Trend",
            "nass",
            "damp",
            "flooded",
            "water",
            "humide",
            "mouillé",
            "bagnato",
            "nat",
            "Gesamt (MΩ)",
            "Total (MΩ)",
            "Totaal",
        ] {
            assert!(may_be(header, &below_words), "{header}");
        }
        for header in ["Hours", "rpm", "kW", "PI", "DAR", "Amps", "Cost", "Total hours", "Total (h)", "Week", "Order"] {
            assert!(!may_be(header, &below_words), "{header}");
        }
        let with = |values: [&'static str; 3]| {
            let reads = ["420", "410", "415"];
            [0, 1, 2].map(|at| ("P-1", reads[at], values[at]))
        };
        for (values, reason) in [
            (["2.1", "2.4", "1.9"], "ratios"),
            (["1", "2", "3"], "codes"),
            (["900", "880", "910"], "never lower than what is read"),
            (["420", "410", "415"], "the readings themselves"),
            (["390", "390", "390"], "the same each time"),
        ] {
            assert!(!may_be("Result", &with(values)), "{reason}");
        }
        let once = [("P-1", "420", ""), ("P-1", "410", ""), ("P-1", "410", ""), ("P-1", "410", "0.4")];
        assert!(may_be("Nameting", &once) && may_be("", &once));
        assert!(!may_be("Zähler", &[("P-1", "420", "12000"), ("P-1", "410", "12800")]), "a counter");
        assert!(may_be("Zähler", &[("P-1", "420", "1200"), ("P-1", "410", "1100"), ("P-1", "410", "1300")]));
        let of_each = [("P-1", "420", "390"), ("P-2", "55", "61"), ("P-3", "810", "300")];
        assert!(may_be("Aux", &of_each));
        assert!(!may_be("Aux", &of_each.map(|(name, read, _)| (name, read, "30"))), "one number for all");
        assert!(!may_be("Whatever", &of_each.map(|(name, read, _)| (name, read, "2014"))), "years");
    }
}
