//! Several tests on one day: steps of the voltage, a test made again, rows that were kept out. Sources: common practice.

use super::*;
use crate::assess::{Judgement, LeftOut};
use crate::record::KeptOut;

/// A steady history at 500 V, then rows of 2 November at 25 °C: voltage and reading.
fn on_one_day(level: f64, rows: &[(&str, &str)]) -> Judgement {
    let mut tests = quarterly(&steady(level, 12));
    tests.extend(rows.iter().map(|(volts, r60)| {
        test(&[("tested_on", "2026-11-02"), ("r_60s", r60), ("winding_temp_c", "25"), ("test_volts", volts)])
    }));
    judge_all(tests, nameplate()).remove(0)
}

/// Rows at rising voltages are one test; the value at the usual voltage joins the trend.
#[test]
fn steps_of_the_voltage_are_one_test() {
    for (steps, usual) in [
        (&[("500", "390"), ("1000", "350"), ("2500", "320")][..], 390.0),
        (&[("250", "410"), ("500", "400"), ("1000", "385")][..], 400.0),
    ] {
        let judged = on_one_day(400.0, steps);
        assert_eq!(judged.assessment.trend.as_ref().map(|trend| trend.tests), Some(13));
        assert_eq!(judged.assessment.latest.as_ref().and_then(|latest| latest.r60_mohm), Some(usual));
        assert_eq!(judged.tests.iter().filter(|test| test.left_out == Some(LeftOut::OtherStep)).count(), 2);
        assert_eq!(judged.assessment.action, Action::Keep, "{:?}", judged.assessment.findings);
        assert_eq!(message(&judged.assessment, Code::FallsWithVoltage), "");
    }
}

#[test]
fn a_resistance_that_falls_with_the_voltage_is_repeated_and_by_half_is_held() {
    let fell = on_one_day(400.0, &[("500", "380"), ("1000", "250")]).assessment;
    assert_eq!(fell.action, Action::Recheck);
    assert_eq!(
        message(&fell, Code::FallsWithVoltage),
        "On 2026-11-02 the resistance fell as the voltage rose: 380 MΩ at 500 V and 250 MΩ at 1000 V, 0.658 of it; from one step \
         to the next a quarter is common: repeat it, clean and dry, before the winding is energised."
    );
    let halved = on_one_day(400.0, &[("500", "400"), ("1000", "310"), ("2500", "190")]).assessment;
    assert_eq!(halved.action, Action::Hold);
    assert_eq!(
        message(&halved, Code::FallsWithVoltage),
        "On 2026-11-02 the resistance fell as the voltage rose: 400 MΩ at 500 V and 190 MΩ at 2500 V, 0.475 of it; it lost more \
         than half on the way, as cracked or dirty insulation does: keep it out of service until it was looked at."
    );
    // The scale ended at the first step: the fall is at least what the bound says.
    let bound = on_one_day(2500.0, &[("500", ">2000"), ("1000", "600")]).assessment;
    let said = |first: &str, last: &str, share: &str, so: &str| {
        format!(
            "On 2026-11-02 the resistance fell as the voltage rose: {first} and {last} at 1000 V, {share} of it; {so}."
        )
    };
    let lost = "it lost more than half on the way, as cracked or dirty insulation does: keep it out of service until it was looked at";
    let common =
        "from one step to the next a quarter is common: repeat it, clean and dry, before the winding is energised";
    all_as_expected(vec![
        ("a bound", bound, Action::Hold, &[Code::FallsWithVoltage], &said("> 2 GΩ at 500 V", "600 MΩ", "0.3", lost)),
        (
            "0.74",
            on_one_day(400.0, &[("500", "400"), ("1000", "296")]).assessment,
            Action::Recheck,
            &[Code::FallsWithVoltage],
            &said("400 MΩ at 500 V", "296 MΩ", "0.74", common),
        ),
        ("0.76", on_one_day(400.0, &[("500", "400"), ("1000", "304")]).assessment, Action::Keep, &[], ""),
        (
            "0.51",
            on_one_day(400.0, &[("250", "400"), ("500", "350"), ("1000", "204")]).assessment,
            Action::Recheck,
            &[Code::FallsWithVoltage],
            &said("400 MΩ at 250 V", "204 MΩ", "0.51", common),
        ),
        (
            "0.49",
            on_one_day(400.0, &[("250", "400"), ("500", "350"), ("1000", "196")]).assessment,
            Action::Hold,
            &[Code::FallsWithVoltage],
            &said("400 MΩ at 250 V", "196 MΩ", "0.49", lost),
        ),
    ]);
    // Without times the order of the rows proves nothing.
    let reversed = on_one_day(400.0, &[("2500", "190"), ("1000", "310"), ("500", "400")]).assessment;
    assert_eq!(reversed.action, Action::Hold);
    assert_eq!(message(&reversed, Code::FallsWithVoltage), message(&halved, Code::FallsWithVoltage));
    let two = on_one_day(400.0, &[("1000", "150"), ("500", "380")]).assessment;
    assert_eq!(two.action, Action::Hold, "{:?}", two.findings);
    // A resistance that does not fall, or the same step twice, is not a fall with the voltage.
    for rows in [[("1000", "390"), ("500", "400")], [("500", "400"), ("520", "190")]] {
        assert_eq!(message(&on_one_day(400.0, &rows).assessment, Code::FallsWithVoltage), "");
    }
}

/// 2.1 MΩ against a minimum of 5 MΩ, then 310 MΩ after the terminals were wiped: two tests, of which the later is judged.
#[test]
fn of_two_tests_on_one_day_the_lower_counts_unless_times_say_which_came_last() {
    let wiped = on_one_day(300.0, &[("500", "2.1"), ("500", "310")]).assessment;
    assert_eq!(wiped.latest.as_ref().and_then(|latest| latest.r60_mohm), Some(2.1));
    assert_eq!(wiped.action, Action::Hold, "{:?}", wiped.findings);
    assert_eq!(
        message(&wiped, Code::TestedTwice),
        "On 2026-11-02 the winding was tested more than once, 310 MΩ and 2.1 MΩ, and the rows have no time, so the lower one is judged. Write the \
         times, or what was done between them."
    );
    // Three leads whose names were lost: the lowest counts wherever its row is.
    let leads = |rows: [&str; 3]| on_one_day(300.0, &rows.map(|r60| ("500", r60))).assessment;
    let in_order = leads(["304", "314", "9.4"]);
    assert!(matches!(in_order.action, Action::Recheck | Action::Plan), "{:?}", in_order.findings);
    for rows in [["9.4", "304", "314"], ["304", "9.4", "314"], ["314", "9.4", "304"]] {
        assert_eq!(leads(rows).findings, in_order.findings, "{rows:?}");
    }
    let timed = [("tested_on", "2026-11-02T08:00"), ("r_60s", "120")];
    let again = [("tested_on", "2026-11-02T09:00"), ("r_60s", "310")];
    let mut tests = quarterly(&steady(300.0, 12));
    tests.extend([timed, again].map(|row| test(&[&row[..], &[("winding_temp_c", "25")]].concat())));
    assert_eq!(
        message(&judge(tests), Code::TestedTwice),
        "On 2026-11-02 the winding was tested more than once: 120 MΩ, then 310 MΩ; the later test is judged. Write down what was done between \
         them."
    );
    let all = |rows| on_one_day(300.0, rows).assessment;
    let low = &[Code::BelowMinimum, Code::FallSinceLast, Code::TestedTwice][..];
    let below = |mohm: &str| {
        format!("The latest reading, {mohm} MΩ at 40 °C on 2026-11-02, is at or below the minimum of 5 MΩ.")
    };
    all_as_expected(vec![
        ("wiped", wiped, Action::Hold, low, &below("1.72")),
        ("twice low", all(&[("500", "4"), ("500", "5.5"), ("500", "290")]), Action::Hold, low, &below("3.27")),
        ("low at last", all(&[("500", "310"), ("500", "2.1")]), Action::Hold, low, &below("1.72")),
        ("90 in between", all(&[("500", "90"), ("500", "310"), ("500", "4")]), Action::Hold, low, &below("3.27")),
    ]);
}

/// What the rows of one day say in any of their orders: voltage, reading, event.
fn in_any_order(rows: &[(&str, &str, &str)]) -> SeriesAssessment {
    let rejected = |r60: &str| r60.starts_with('x').then_some(KeptOut::Rejected);
    let of_day = |order: &[usize]| {
        let mut tests = quarterly(&steady(100.0, 12));
        tests.extend(order.iter().map(|at| {
            let (volts, r60, event) = rows[*at];
            let cells = [("test_volts", volts), ("r_60s", r60.trim_start_matches('x')), ("event", event)];
            let mut row = test(&[&cells[..], &[("tested_on", "2026-11-02"), ("winding_temp_c", "40")]].concat());
            row.kept_out = rejected(r60);
            row
        }));
        judge(tests)
    };
    let mut order: Vec<usize> = (0..rows.len()).collect();
    let result = of_day(&order);
    for turn in 0..rows.len() * rows.len() {
        order.swap(turn % rows.len(), (turn / 2 + 1) % rows.len());
        assert_eq!(of_day(&order), result, "{order:?}");
    }
    result
}

#[test]
fn the_order_of_the_rows_of_a_day_changes_nothing() {
    let volts = in_any_order(&[("", "744.8", ""), ("500", "23.9", "")]);
    assert_eq!(volts.latest.as_ref().and_then(|latest| latest.r60_mohm), Some(23.9));
    assert_eq!((volts.action, volts.must_not_be_energised()), (Action::Recheck, true), "{:?}", volts.findings);
    let open = in_any_order(&[("", "744.8", ""), ("500", "98", "")]);
    assert_eq!((open.action, open.must_not_be_energised()), (Action::Recheck, true), "{:?}", open.findings);
    assert_eq!(
        message(&open, Code::TestedTwice),
        "On 2026-11-02 the winding was tested more than once, 745 MΩ and 98 MΩ, and the rows have no time, so the lower one is judged. Write the \
         times, or what was done between them. Only one of the rows has a voltage: write that of the other, and until then do not start it."
    );
    let rejected =
        [("500", "5.161", ""), ("500", "149.6", ""), ("500", "485.3", ""), ("500", "x5.59", ""), ("500", "29.08", "")];
    assert!(in_any_order(&rejected).action <= Action::Plan);
    in_any_order(&[("", "300", "cleaned"), ("500", "90", ""), ("1000", "310", ""), ("", "44", "rewound")]);
    assert_eq!(in_any_order(&[("500", "2.1", "flooded"), ("500", "310", "dried")]).action, Action::Hold);
}

/// Found low and cleaned, or cleaned and then low: nobody knows, so the more urgent answer counts.
#[test]
fn of_the_orders_that_a_day_may_have_had_the_most_urgent_counts() {
    let found = in_any_order(&[("500", "2.1", ""), ("500", "310", "cleaned")]);
    assert_eq!((found.action, found.must_not_be_energised()), (Action::Hold, true), "{:?}", found.findings);
    assert_eq!(
        message(&found, Code::TestedTwice),
        "Rows of 2026-11-02 have no time of day, so in which order they were made is not known; in one of the orders the answer is hold. The \
         latest reading, 2.1 MΩ at 40 °C on 2026-11-02, is at or below the minimum of 5 MΩ. Write the times of the tests."
    );
    assert_eq!(
        found.next_test.why,
        "before the winding is energised: in which order the tests of one day were made is not known, and in one of the orders it is held"
    );
    // Warmer and higher is lower: as read it would not be the last.
    let rows = [("70", "105"), ("20", "100")]
        .map(|(celsius, r60)| test(&[("tested_on", "2026-11-02"), ("winding_temp_c", celsius), ("r_60s", r60)]));
    let mut tests = quarterly(&steady(400.0, 12));
    tests.extend(rows);
    assert!(judge(tests).action < Action::Keep);
}

fn with_rows_kept_out(why: KeptOut, on: &str, values: &[&str], later: &[(&str, &str)]) -> SeriesAssessment {
    let mut tests = quarterly(&steady(300.0, 12));
    tests.extend(values.iter().map(|r60| {
        let mut row = test(&[("tested_on", on), ("r_60s", r60), ("winding_temp_c", "25"), ("event", "dried")]);
        row.kept_out = Some(why);
        row
    }));
    tests.extend(later.iter().map(|(on, r60)| test(&[("tested_on", on), ("r_60s", r60), ("winding_temp_c", "25")])));
    judge(tests)
}

#[test]
fn rows_that_contradict_each_other_make_no_answer_milder() {
    let of = |values: &[&str]| with_rows_kept_out(KeptOut::Contradicted, "2026-11-02", values, &[]);
    let low = of(&["2.1", "310"]);
    assert_eq!(low.action, Action::Hold, "{:?}", low.findings);
    assert_eq!(
        message(&low, Code::RowKeptOut),
        "Rows of 2026-11-02 contradict each other and are not used; the lowest reads 2.1 MΩ, at or below the minimum of 5 MΩ: \
         hold it until the row is corrected or the test repeated."
    );
    assert_eq!(low.next_test.why, "before the winding is energised: an excluded row contradicts it");
    let fell = of(&["90", "310"]);
    assert_eq!(fell.action, Action::Recheck);
    assert_eq!(
        fell.next_test.why,
        "now: an excluded row may be worse; do not energise until it is corrected or the test repeated"
    );
    assert_eq!(
        message(&fell, Code::RowKeptOut),
        "Rows of 2026-11-02 contradict each other and are not used; the lowest reads 90 MΩ, far below what the test that counts shows: \
         repeat the test before the winding is energised."
    );
    let alike = of(&["290", "310"]);
    assert_eq!(alike.action, Action::Keep, "{:?}", alike.findings);
    // The event of a row that is not believed takes back nothing.
    assert_eq!(alike.trend.map(|trend| trend.since_reason), Some(SinceReason::FirstTest));
    // A later good test is the repeat; the low row is remembered for a year.
    let followed = |on| with_rows_kept_out(KeptOut::Contradicted, on, &["2.1", "310"], &[("2026-11-10", "305")]);
    assert_eq!(followed("2026-11-02").action, Action::Shorten);
    assert_eq!(
        message(&followed("2026-11-02"), Code::RowKeptOut),
        "Rows of 2026-11-02 contradict each other and are not used; the lowest reads 2.1 MΩ, at or below the minimum of 5 MΩ: a later \
         test was good; find out which row is right."
    );
    assert_eq!(followed("2025-06-02").action, Action::Keep);
}

/// With the row the winding would be held; without it the answer is no milder.
#[test]
fn a_rejected_row_makes_no_answer_milder() {
    let held = with_rows_kept_out(KeptOut::Rejected, "2026-11-02", &["2.1"], &[]);
    assert_eq!(held.action, Action::Hold);
    assert_eq!(
        message(&held, Code::RowKeptOut),
        "A row of 2026-11-02 was rejected in part or in full and is not used; the lowest reads 2.1 MΩ, at or below the minimum of \
         5 MΩ: hold it until the row is corrected or the test repeated."
    );
    // What else the row says is not known: its index, its checks, its damp.
    let good = with_rows_kept_out(KeptOut::Rejected, "2026-11-02", &["310"], &[]);
    assert_eq!((good.action, good.must_not_be_energised()), (Action::Recheck, true));
    assert_eq!(
        message(&good, Code::RowKeptOut),
        "A row of 2026-11-02 was rejected in part or in full and is not used; the lowest reads 310 MΩ, but the rest of the row cannot be \
         relied on: correct the row from the test sheet, or repeat the test before the winding is energised."
    );
    let followed = with_rows_kept_out(KeptOut::Rejected, "2026-07-02", &["310"], &[]);
    assert_eq!(followed.action, Action::Keep, "a later test answers it");
}

/// Between a rejected row that asks for work and the last good one is a test that is void: it makes the work no repeat.
#[test]
fn work_that_a_rejected_row_asks_for_does_not_rest_on_a_void_test() {
    let of = |why: Option<KeptOut>| {
        let mut tests = quarterly(&[400.0, 300.0, 200.0, 100.0, 50.0, 40.0, 30.0, 25.0, 20.0, 15.0, 12.0]);
        tests.push(test(&[
            ("tested_on", "2026-11-10"),
            ("r_60s", "10"),
            ("winding_temp_c", "40"),
            ("lead_check", "failed"),
        ]));
        let mut last = test(&[("tested_on", "2026-11-12"), ("r_60s", "9"), ("winding_temp_c", "40")]);
        last.kept_out = why;
        tests.push(last);
        judge(tests)
    };
    let read = of(None);
    let rejected = of(Some(KeptOut::Rejected));
    assert_eq!((read.action, rejected.action), (Action::Plan, Action::Plan), "{:?}", rejected.findings);
    let codes: Vec<Code> = rejected.findings.iter().map(|finding| finding.code).collect();
    assert!(codes.contains(&Code::RowKeptOut) && codes.contains(&Code::LeadCheckFailed), "{codes:?}");
    assert!(rejected.must_not_be_energised());
}

/// A row that cannot be dated may be the latest one, and one that cannot be read may say anything.
#[test]
fn a_row_without_a_date_or_a_reading_makes_no_answer_milder() {
    let undated = |r60| with_rows_kept_out(KeptOut::Undated, AS_OF, &[r60], &[]);
    let low = undated("2.1");
    assert_eq!(low.action, Action::Hold);
    assert_eq!(
        message(&low, Code::RowKeptOut),
        "Rows whose date cannot be read are not used, and may be the latest; the lowest reads 2.1 MΩ, at or below the minimum of \
         5 MΩ: hold it until the row is corrected or the test repeated."
    );
    assert_eq!(undated("90").action, Action::Recheck);
    assert_eq!(undated("310").action, Action::Recheck);
    let unread = |on: &str| {
        let mut tests = quarterly(&steady(300.0, 12));
        let mut row = test(&[("tested_on", on), ("event", "dried")]);
        row.kept_out = Some(KeptOut::Unread);
        tests.push(row);
        judge(tests)
    };
    let latest = unread("2026-11-02");
    assert_eq!(latest.action, Action::Recheck);
    assert_eq!(
        message(&latest, Code::RowKeptOut),
        "The latest row was rejected and its reading is unknown, so it could be anything (its date is 2026-11-02 or \
         cannot be read): correct it from the test sheet, or repeat the test before the winding is energised."
    );
    let answered = unread("2026-05-02");
    assert_eq!(answered.action, Action::Gather, "a later test answers what it may have read, not the work");
    assert_eq!(
        message(&answered, Code::RowKeptOut),
        "A row of 2026-05-02 was rejected; with what can be read of it the answer is gather. The stretch has 2 exact readings; a trend \
         needs at least 3 exact ones. Correct what was rejected from the test sheet."
    );
}

/// A row that says that the winding was under water holds it, whatever else of the row cannot be read.
#[test]
fn a_rejected_row_that_tells_of_water_holds_the_winding() {
    for (event, word) in [("flooded", "flooded"), ("drying", "drying")] {
        for (why, of) in [(KeptOut::Rejected, "of 2026-11-02"), (KeptOut::Undated, "whose date cannot be read")] {
            for r60 in ["310", ""] {
                let mut tests = quarterly(&steady(300.0, 12));
                let mut row = test(&[("tested_on", "2026-11-02"), ("event", event), ("r_60s", r60)]);
                row.kept_out = Some(why);
                tests.push(row);
                let held = judge(tests);
                assert_eq!(held.action, Action::Hold, "{event} {r60}: {:?}", held.findings);
                assert_eq!(held.next_test.why, "before the winding is energised: an excluded row contradicts it");
                assert_eq!(
                    message(&held, Code::RowKeptOut),
                    format!(
                        "A row {of} was rejected, and it says {word} of the winding: hold it until the row is corrected and the winding \
                         tested cold."
                    )
                );
            }
        }
    }
}

/// The work of a row whose reading cannot be read counts, though a later test follows: a flood ends with a cold test that passes.
#[test]
fn a_flood_is_not_forgotten_with_the_reading_of_its_row() {
    for event in ["flooded", "drying"] {
        let mut tests = quarterly(&steady(300.0, 12));
        let mut row = test(&[("tested_on", "2026-11-02"), ("event", event), ("r_60s", "")]);
        row.kept_out = Some(KeptOut::Unread);
        tests.push(row);
        tests.push(test(&[
            ("tested_on", "2026-11-10"),
            ("r_60s", "305"),
            ("winding_temp_c", "55"),
            ("air_temp_c", "20"),
        ]));
        let held = judge(tests);
        assert_eq!(held.action, Action::Hold, "{event}: {:?}", held.findings);
    }
}

/// A winding of which every row was kept out is still in the list.
#[test]
fn a_winding_without_a_row_that_counts_is_not_forgotten() {
    let mut row = test(&[("tested_on", "2026-11-02"), ("r_60s", "310"), ("winding_temp_c", "25")]);
    row.kept_out = Some(KeptOut::Contradicted);
    let result = judge(vec![row]);
    assert_eq!(result.action, Action::Recheck);
    assert_eq!(result.next_test.why, "now: nothing is known of the winding");
}
