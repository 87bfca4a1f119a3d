//! Rows of another winding, and equal values that are not copies.

use super::*;

/// A test of 20 October with the day before it, 91 days earlier.
fn of(winding: &str, cells: [&str; 2]) -> Vec<TestRecord> {
    ["2026-07-21", "2026-10-20"]
        .into_iter()
        .zip(cells)
        .map(|(on, r60)| {
            test(&[
                ("winding", winding),
                ("tested_on", on),
                ("r_60s", r60),
                ("winding_temp_c", "25"),
                ("full_scale", "2000"),
            ])
        })
        .collect()
}

fn said(tests: Vec<TestRecord>) -> Vec<String> {
    judge_all(tests, nameplate()).iter().map(|found| message(&found.assessment, Code::CopiedRows).to_owned()).collect()
}

fn copied_from(winding: &str) -> String {
    format!(
        "The test of 2026-10-20 has exactly the same readings and temperatures as {winding} on that day, as on 2026-07-21: \
         one of the two was probably copied."
    )
}

/// Three windings may have one value before it is read as the end of a scale; four may not.
#[test]
fn three_windings_with_the_same_rows_are_copies() {
    let three = ["P-1", "P-2", "P-3"].map(|winding| of(winding, ["231", "187"])).concat();
    assert_eq!(said(three), [copied_from("P-2"), copied_from("P-1"), copied_from("P-1")]);
}

#[test]
fn other_windings_of_the_day_do_not_hide_a_copy() {
    let others = [["301", "302"], ["401", "402"], ["501", "502"]];
    let mut tests = [of("P-1", ["231", "187"]), of("P-2", ["231", "187"])].concat();
    for (i, cells) in others.into_iter().enumerate() {
        tests.extend(of(&format!("P-{}", i + 3), cells));
    }
    assert_eq!(said(tests), [copied_from("P-2"), copied_from("P-1"), String::new(), String::new(), String::new()]);
}

#[test]
fn the_end_of_a_scale_is_no_copy_whether_written_as_a_bound_or_as_a_number() {
    for cell in ["2000", ">2000", "OL"] {
        let tests = [of("P-1", [cell, cell]), of("P-2", [cell, cell])].concat();
        assert_eq!(said(tests), ["", ""], "{cell}");
    }
}

/// Two tests of P-1, and two of P-2 on the same days with other cells: resistance, winding, air, humidity.
fn beside(cells: [&str; 4]) -> Vec<TestRecord> {
    let columns = ["r_60s", "winding_temp_c", "air_temp_c", "rh_percent"];
    let rows = [("P-1", ["187", "25", "20", "40"]), ("P-2", cells)];
    let mut tests = Vec::new();
    for (winding, cells) in rows {
        for on in ["2026-07-21", "2026-10-20"] {
            let mut row = vec![("winding", winding), ("tested_on", on)];
            row.extend(columns.into_iter().zip(cells));
            tests.push(test(&row));
        }
    }
    tests
}

/// The rows must be equal in every condition that was written down.
#[test]
fn one_differing_condition_makes_two_tests() {
    assert_eq!(said(beside(["187", "25", "20", "40"])), [copied_from("P-2"), copied_from("P-1")]);
    for other in
        [["188", "25", "20", "40"], ["187", "26", "20", "40"], ["187", "25", "21", "40"], ["187", "25", "20", "41"]]
    {
        assert_eq!(said(beside(other)), ["", ""], "{other:?}");
    }
}

/// Four equal days: three earlier ones are counted from the first of them.
#[test]
fn days_are_counted_and_the_first_is_named() {
    let values = [210.0, 190.0, 220.0, 205.0];
    let tests = ["P-1", "P-2"].map(|name| {
        quarterly(&values).into_iter().map(|test| TestRecord { winding: name.to_owned(), ..test }).collect::<Vec<_>>()
    });
    assert_eq!(
        said(tests.concat())[0],
        "The test of 2026-10-20 has exactly the same readings and temperatures as P-2 on that day, as on 3 earlier days since \
         2026-01-20: one of the two was probably copied."
    );
}
