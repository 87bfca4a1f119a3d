//! Rows that describe the same test twice: same winding, connection, scope and moment.
//!
//! Where they say the same, one is kept and the rest are counted. Where they differ, they may be two tests: at two voltages, or, where
//! no time of day is written, one after the other in the order of the rows of a file. Else it is unknown which is right: all are kept
//! out, each with the place of the other.

use groundwall::record::validate::Fault;
use groundwall::record::{Item, KeptOut, TestRecord};
use groundwall::table::SeriesTable;
use groundwall::units::Resistance;
use groundwall::voltage::is_same_voltage;
use std::cmp::Ordering;
use std::collections::hash_map::Entry;
use std::collections::{HashMap, HashSet};

/// Nobody tests a winding so often in a day. Where more rows than this differ about one moment, all are kept out, and only rows that
/// are alike to the letter are repeats: a file in which every row claims the same test must not cost the square of its length.
const MOST_TESTS: usize = 64;

/// What became of the rows that mention one and the same test.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Settled {
    /// Rows that say again what an earlier one says.
    pub repeats: Vec<usize>,
    /// Rows that differ, each with one that it contradicts.
    pub contradictions: Vec<(usize, usize)>,
}

/// Settles the rows of one moment, given in the order of their places; `test` reads one. How many are repeats does not depend on their
/// order, nor which tester and work order stay with the test.
pub fn settle(rows: &[usize], test: impl Fn(usize) -> TestRecord) -> Settled {
    let mut settled = Settled::default();
    let mut seen = HashMap::new();
    let mut different: Vec<KeptRow> = Vec::new();
    for row in rows {
        let found = test(*row);
        match seen.entry(found.content_digest()) {
            Entry::Vacant(new) => {
                new.insert(different.len());
                different.push(KeptRow { row: *row, inputs: vec![found.origin().input] });
            }
            Entry::Occupied(old) => {
                let kept = &mut different[*old.get()];
                kept.inputs.push(found.origin().input);
                let stays = is_signed_before(&found, &test(kept.row));
                settled.repeats.push(if stays { std::mem::replace(&mut kept.row, *row) } else { *row });
            }
        }
    }
    if different.len() > MOST_TESTS {
        let first = different[0].row;
        settled.contradictions.push((first, different[1].row));
        settled.contradictions.extend(different[1..].iter().map(|said| (said.row, first)));
        return settled;
    }
    // One of two rows that say the same may be written in another unit.
    let mut kept: Vec<(KeptRow, TestRecord)> = Vec::new();
    for said in different {
        let candidate = test(said.row);
        match kept.iter_mut().find(|(_, other)| other.same_content(&candidate)) {
            Some((same, other)) => {
                same.inputs.extend(said.inputs);
                let is_first = is_signed_before(&candidate, other);
                settled.repeats.push(if is_first { std::mem::replace(&mut same.row, said.row) } else { said.row });
                if is_first {
                    *other = candidate;
                }
            }
            None => kept.push((said, candidate)),
        }
    }
    // A copy that leaves cells out, such as the data of a chart on another sheet, says nothing else.
    let whole_of = |at: usize| {
        let (one, test) = &kept[at];
        let is_apart = |other: &KeptRow| !one.inputs.iter().any(|input| other.inputs.contains(input));
        kept.iter().position(|(other, whole)| is_apart(other) && test.says_no_more_than(whole))
    };
    let copies: Vec<(usize, usize)> = (0..kept.len()).filter_map(|at| Some((at, whole_of(at)?))).collect();
    for (copy, whole) in &copies {
        let inputs = kept[*copy].0.inputs.clone();
        kept[*whole].0.inputs.extend(inputs);
    }
    for (copy, _) in copies.into_iter().rev() {
        settled.repeats.push(kept.remove(copy).0.row);
    }
    for (one, test) in &kept {
        let contradicting =
            kept.iter().find(|(other, another)| other.row != one.row && !are_two_tests((one, test), (other, another)));
        settled.contradictions.extend(contradicting.map(|(other, _)| (one.row, other.row)));
    }
    settled
}

/// A row, and the inputs that say the same.
#[derive(Debug)]
struct KeptRow {
    row: usize,
    inputs: Vec<u32>,
}

/// Whether the tester and the work order of a row come first in the alphabet; what is named comes before what is not.
fn is_signed_before(one: &TestRecord, other: &TestRecord) -> bool {
    let signature = |test: &TestRecord| {
        [Item::TestedBy, Item::WorkOrder]
            .map(|item| test.procedure().get(item).map(|text| text.to_string()))
            .map(|text| (text.is_none(), text))
    };
    signature(one) < signature(other)
}

/// Leaves the many rows out of one moment that are not used and say nothing more urgent than the others: each would
/// cost a kilobyte when its series is judged.
pub fn leave_out_rows_of_no_weight(series: &mut SeriesTable) {
    for why in [KeptOut::Contradicted, KeptOut::Rejected, KeptOut::Undated, KeptOut::Misdated, KeptOut::Unread] {
        let runs = series.kept_out_at_the_same_time(why);
        let gone: Vec<usize> = runs.iter().flat_map(|run| of_no_weight(run, |row| series.test(row))).collect();
        series.remove(&gone);
    }
}

/// Of rows of one moment that are not used, the many that say nothing more urgent than others do: the lowest stay, as they were read
/// and as if they had been warm, and those that mention water.
fn of_no_weight(rows: &[usize], test: impl Fn(usize) -> TestRecord) -> Vec<usize> {
    if rows.len() <= MOST_TESTS {
        return Vec::new();
    }
    let weighed = |row: &usize| {
        let test = test(*row);
        let read = test.readings().iter().filter_map(|reading| reading.value.resistance());
        let lowest = read.map(Resistance::log10_megohms).fold(f64::INFINITY, f64::min);
        let per_10_k = test.winding_temp().map_or(0.0, |at| at.as_celsius() / 10.0);
        (*row, lowest, lowest + per_10_k * std::f64::consts::LOG10_2, test.event().is_some(), test.content_digest())
    };
    let mut weighed: Vec<_> = rows.iter().map(weighed).collect();
    // In an order that does not depend on that of the rows.
    weighed.sort_unstable_by_key(|(.., digest)| *digest);
    let mut stay = HashSet::new();
    let mut keep = |order: &dyn Fn(&Weighed, &Weighed) -> Ordering| {
        weighed.sort_by(order);
        stay.extend(weighed.iter().take(MOST_TESTS / 4).map(|(row, ..)| *row));
    };
    keep(&|a, b| a.1.total_cmp(&b.1));
    keep(&|a, b| a.2.total_cmp(&b.2));
    keep(&|a, b| b.3.cmp(&a.3).then(a.1.total_cmp(&b.1)));
    rows.iter().copied().filter(|row| !stay.contains(row)).collect()
}

/// A row, its lowest reading in decades as it was read and as if warm, whether work or water is named, and what it says.
type Weighed = (usize, f64, f64, bool, u64);

/// Whether two rows of one moment can both be right: no time of day is written and one input has both, or they are at two voltages.
fn are_two_tests((one, test): (&KeptRow, &TestRecord), (other, another): (&KeptRow, &TestRecord)) -> bool {
    let is_of_one_input = || one.inputs.iter().any(|input| other.inputs.contains(input));
    (test.tested_on().time.is_none() && is_of_one_input()) || at_two_voltages(test, another)
}

/// Whether two tests were made at different steps of the voltage.
#[must_use]
pub fn at_two_voltages(one: &TestRecord, other: &TestRecord) -> bool {
    one.test_volts().zip(other.test_volts()).is_some_and(|(one, other)| !is_same_voltage(one, other))
}

/// The fault of a test that another row contradicts.
#[must_use]
pub fn contradiction(here: &TestRecord, there: &TestRecord, place_there: &str) -> Fault {
    Fault {
        column: "tested_on".to_owned(),
        value: here.tested_on().to_string(),
        rule: format!(
            "{place_there} says something else about the same test of {}, {} ({}), so neither is used",
            crate::error::shown(here.winding()),
            here.connection(),
            difference(here, there)
        ),
        hint: "keep the right row and delete the other; if there were two tests, write the time of day too".to_owned(),
    }
}

/// The first thing in which two rows of one test differ.
#[must_use]
pub fn difference(here: &TestRecord, there: &TestRecord) -> String {
    let pair = |name: &str, a: Option<String>, b: Option<String>| {
        let word = |text: Option<String>| text.map_or_else(|| "missing".to_owned(), |t| crate::error::shown(&t));
        (a != b).then(|| format!("{name} is {} here and {} there", word(a), word(b)))
    };
    if let Some(text) = pair("tested_on", Some(here.tested_on().to_string()), Some(there.tested_on().to_string())) {
        return text;
    }
    for reading in here.readings().iter().chain(there.readings()) {
        let value = |test: &TestRecord| test.reading_at(reading.elapsed).map(|value| value.to_string());
        let name = format!("r_{}s", reading.elapsed.as_seconds());
        if let Some(text) = pair(&name, value(here), value(there)) {
            return text;
        }
    }
    let text = |value: Option<&str>| value.map(str::to_owned);
    pair("winding temperature", here.winding_temp().map(|t| t.to_string()), there.winding_temp().map(|t| t.to_string()))
        .or_else(|| {
            pair("test_volts", here.test_volts().map(|v| v.to_string()), there.test_volts().map(|v| v.to_string()))
        })
        .or_else(|| {
            pair("event", here.event().map(|e| e.word().to_owned()), there.event().map(|e| e.word().to_owned()))
        })
        .or_else(|| pair("instrument", text(here.instrument()), text(there.instrument())))
        .or_else(|| pair("note", text(here.note()), text(there.note())))
        .unwrap_or_else(|| "the other columns differ".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use groundwall::record::Origin;
    use groundwall::record::columns::Column;
    use groundwall::record::validate::TestRules;

    #[test]
    fn of_many_rows_that_count_for_nothing_the_lowest_and_the_wet_stay() {
        let test = |row: usize| {
            let (reading, celsius) = (format!("{}", 1000 - row), if row == 7 { "-10" } else { "20" });
            let event = if row == 9 { "flooded" } else { "" };
            let cells = [
                ("winding", "P-1"),
                ("tested_on", "2026-01-05"),
                ("r_60s", &reading),
                ("winding_temp_c", celsius),
                ("event", event),
            ];
            let cells = cells.map(|(header, text)| (Column::read(header).unwrap_or(Column::Note), text));
            TestRules::default()
                .validate(cells, Origin { input: 0, line: row as u64 })
                .unwrap_or_else(|faults| unreachable!("{faults}"))
        };
        let rows: Vec<usize> = (0..500).collect();
        let gone = of_no_weight(&rows, test);
        assert!(gone.len() > 400 && [499, 490, 7, 9].iter().all(|row| !gone.contains(row)), "{}", gone.len());
        let turned: Vec<usize> = rows.iter().rev().copied().collect();
        assert_eq!(of_no_weight(&turned, test).into_iter().rev().collect::<Vec<_>>(), gone);
        assert_eq!(of_no_weight(&rows[..MOST_TESTS], test), [0; 0]);
    }

    /// One file has a row of a day, another the same and a second one: those are two tests, whichever file is read first.
    #[test]
    fn two_tests_of_one_file_are_two_whatever_other_files_repeat() {
        let said = [("5", 0), ("5", 1), ("60", 1), ("7", 2)];
        let test = |row: usize| {
            let cells = [("winding", "P-1"), ("tested_on", "2026-01-05"), ("r_60s", said[row].0)];
            let cells = cells.map(|(header, text)| (Column::read(header).unwrap_or(Column::Note), text));
            let origin = Origin { input: said[row].1, line: row as u64 };
            TestRules::default().validate(cells, origin).unwrap_or_else(|faults| unreachable!("{faults}"))
        };
        for rows in [[0, 1, 2], [1, 2, 0], [2, 1, 0]] {
            let settled = settle(&rows, test);
            assert_eq!((settled.repeats.len(), settled.contradictions.len()), (1, 0), "{rows:?}");
        }
        assert_eq!(settle(&[0, 3], test).contradictions, [(0, 3), (3, 0)]);
    }

    /// The data of a chart repeat the tests without their temperatures; another reading, or a note of its own, is no copy.
    #[test]
    fn a_row_of_another_input_that_only_leaves_cells_out_is_a_repeat() {
        let said = [
            ("800", "30", "", 0),
            ("800", "", "", 1),
            ("800", "31", "", 1),
            ("799", "", "", 1),
            ("800", "", "wet", 1),
            ("60", "", "", 1),
        ];
        let test = |row: usize| {
            let (reading, celsius, note, input) = said[row];
            let cells = [
                ("winding", "P-1"),
                ("tested_on", "2026-01-05"),
                ("r_60s", reading),
                ("winding_temp_c", celsius),
                ("note", note),
            ];
            let cells = cells.map(|(header, text)| (Column::read(header).unwrap_or(Column::Note), text));
            let origin = Origin { input, line: row as u64 };
            TestRules::default().validate(cells, origin).unwrap_or_else(|faults| unreachable!("{faults}"))
        };
        for rows in [[0, 1], [1, 0]] {
            assert_eq!(settle(&rows, test), Settled { repeats: vec![1], contradictions: Vec::new() });
        }
        for other in [2, 3, 4] {
            assert_eq!(
                (settle(&[0, other], test).repeats, settle(&[0, other], test).contradictions.len()),
                (Vec::new(), 2)
            );
        }
        // Its second test of the day stays one.
        assert_eq!(settle(&[0, 1, 5], test), Settled { repeats: vec![1], contradictions: Vec::new() });
    }

    #[test]
    fn which_tester_stays_with_a_test_does_not_depend_on_the_order_of_rows() {
        let signatures = [("", "", "5"), ("Sen", "W2", "5.0"), ("Ada", "W9", "5"), ("Ada", "W1", "5"), ("", "W0", "5")];
        let test = |row: usize| {
            let (by, order, reading) = signatures[row];
            let cells = [
                ("winding", "P-1"),
                ("tested_on", "2026-01-05"),
                ("r_60s", reading),
                ("tested_by", by),
                ("work_order", order),
            ];
            let cells = cells.map(|(header, text)| (Column::read(header).unwrap_or(Column::Note), text));
            let origin = Origin { input: 0, line: row as u64 };
            TestRules::default().validate(cells, origin).unwrap_or_else(|faults| unreachable!("{faults}"))
        };
        for rows in [[0, 1, 2, 3, 4], [4, 3, 2, 1, 0], [3, 0, 4, 1, 2], [2, 3, 1, 4, 0]] {
            let mut repeats = settle(&rows, test).repeats;
            repeats.sort_unstable();
            assert_eq!(repeats, [0, 1, 2, 4], "{rows:?}");
        }
    }

    #[test]
    fn how_many_rows_are_repeats_does_not_depend_on_their_order() {
        // Twenty different readings of one test, ten of them written twice.
        let test = |row: usize| {
            let reading = (row % 20).to_string();
            let cells = [("winding", "P-1"), ("tested_on", "2026-01-05T10:00"), ("r_60s", reading.as_str())];
            let cells = cells.map(|(header, text)| (Column::read(header).unwrap_or(Column::Note), text));
            let origin = Origin { input: 0, line: row as u64 };
            TestRules::default().validate(cells, origin).unwrap_or_else(|faults| unreachable!("{faults}"))
        };
        let in_turn: Vec<usize> = (0..30).collect();
        for step in [1, 7, 11, 13, 29] {
            let rows: Vec<usize> = in_turn.iter().map(|i| i * step % 30).collect();
            let settled = settle(&rows, test);
            assert_eq!((settled.repeats.len(), settled.contradictions.len()), (10, 20), "step {step}");
        }
    }
}
