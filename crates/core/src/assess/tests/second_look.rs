//! What neither a lower reading nor a rejected row makes milder. Source: the principle itself, on numbers of our own.

use super::*;
use crate::record::KeptOut;
use proptest::prelude::*;

/// Tests at 30 °C and 1000 V up to 15 July 2026, each with a reading after one minute and one three times as high after ten; then a row.
fn with_row(before: &[&str], row: &[(&str, &str)], kept_out: Option<KeptOut>) -> Vec<TestRecord> {
    let days = quarterly(&vec![1.0; before.len() + 1]);
    let at_1000 = [("winding_temp_c", "30"), ("test_volts", "1000")];
    let earlier = days.iter().zip(before).map(|(day, r60)| {
        let on = day.tested_on.date.to_string();
        let after_ten = (3.0 * r60.parse::<f64>().unwrap()).to_string();
        test(&[&[("tested_on", &on[..]), ("r_60s", *r60), ("r_600s", &after_ten)][..], &at_1000].concat())
    });
    let mut latest = test(row);
    latest.kept_out = kept_out;
    earlier.chain([latest]).collect()
}

fn judged(tests: Vec<TestRecord>, nameplate: Nameplate) -> SeriesAssessment {
    judge_all(tests, nameplate).remove(0).assessment
}

const STEADY: [&str; 4] = ["900", "930", "880", "910"];

/// The row was rejected for its temperature, which is blank here; what else it says counts against the winding.
#[test]
fn what_a_rejected_row_says_counts_as_if_its_faulty_cell_were_blank() {
    let index_below_one = [("tested_on", "2026-10-20"), ("r_60s", "850"), ("r_600s", "700"), ("test_volts", "1000")];
    let rejected = judged(with_row(&STEADY, &index_below_one, Some(KeptOut::Rejected)), form_wound());
    assert_eq!(
        (rejected.action, message(&rejected, Code::RowKeptOut)),
        (
            Action::Hold,
            "A row of 2026-10-20 was rejected; with what can be read of it the answer is hold. On 2026-10-20 the resistance fell while the \
             voltage was on, from 850 MΩ after one minute to 700 MΩ after ten (polarization index 0.824): the leakage grows under voltage, \
             as in wet or tracking insulation. Do not energise it; clean and dry it, then test again. Correct what was rejected from the \
             test sheet, or repeat the test before the winding is energised."
        )
    );
    assert_eq!(rejected.next_test.why, "before the winding is energised: an excluded row contradicts it");

    let low = |on, r60| [("tested_on", on), ("r_60s", r60), ("winding_temp_c", "30"), ("test_volts", "1000")];
    let fell = |first: Option<KeptOut>, second| {
        let mut tests = with_row(&STEADY, &low("2026-10-20", "290"), first);
        let mut latest = test(&low("2026-11-10", "280"));
        latest.kept_out = second;
        tests.push(latest);
        judged(tests, form_wound())
    };
    let believed = fell(None, None);
    for (first, second) in [(None, Some(KeptOut::Rejected)), (Some(KeptOut::Rejected), Some(KeptOut::Rejected))] {
        let kept_out = fell(first, second);
        assert_eq!(
            (kept_out.action, kept_out.must_not_be_energised()),
            (Action::Plan, true),
            "{:?}",
            kept_out.findings
        );
        assert!(kept_out.action <= believed.action);
    }
    assert_eq!(
        message(&fell(Some(KeptOut::Rejected), Some(KeptOut::Rejected)), Code::RowKeptOut),
        "Rows of 2026-10-20 and 2026-11-10 were rejected; with what can be read of them the answer is plan. The latest 2 readings are lower by \
         a factor of 3.18 than usual before them; as they agree, the fall is real; before it is started again, look for the cause: water, a \
         heater that failed, a leaking cooler, dirt, or the terminal box. Correct what was rejected from the test sheet, or repeat the test \
         before the winding is energised."
    );
}

/// A very low reading may be read as an outlier, and the trend then leads nowhere; a less low one leads to the minimum.
#[test]
fn a_lower_latest_reading_never_has_a_milder_answer() {
    let histories: [(&[&str], Nameplate); 5] = [
        (&STEADY, nameplate()),
        (&["1340", "1200", "1330", "1240", "1080", "1190"], form_wound()),
        (&["60", "55", "63", "57", "52", "49", "58", "51"], nameplate()),
        (&["260", "240", "300", "250", "240", "210", "190", "270", "250", "320"], nameplate()),
        (&["40", "38", "41"], nameplate()),
    ];
    let factors: Vec<f64> = (0..80).map(|step| 10f64.powf(-0.05 * f64::from(step))).collect();
    for (before, nameplate) in &histories {
        let usual: f64 = before.last().unwrap().parse().unwrap();
        let answers = factors.iter().map(|factor| {
            let latest = format!("{:.3}", usual * factor);
            let row = [("tested_on", "2026-10-20"), ("r_60s", &latest[..]), ("winding_temp_c", "30")];
            let result = judged(with_row(before, &row, None), nameplate.clone());
            (result.action, !result.must_not_be_energised(), latest)
        });
        let answers: Vec<(Action, bool, String)> = answers.collect();
        for pair in answers.windows(2) {
            assert!((pair[1].0, pair[1].1) <= (pair[0].0, pair[0].1), "{before:?}: {pair:?}");
        }
    }
}

#[test]
fn the_higher_reading_that_would_be_answered_more_urgently_is_named() {
    let row = [("tested_on", "2026-10-20"), ("r_60s", "120"), ("winding_temp_c", "30"), ("test_volts", "1000")];
    let result = judged(with_row(&STEADY, &row, None), nameplate());
    assert_eq!(
        (result.action, result.must_not_be_energised(), message(&result, Code::FallSinceLast)),
        (
            Action::Plan,
            true,
            "The latest reading is lower by a factor of 6.9 than the earlier ones led to expect, beyond the scatter of single \
             tests; do not start it until the test is repeated. Had it been 227 MΩ, the answer would be plan. A \
             lower reading cannot be better news, so that answer applies."
        )
    );
}

/// Which of two rows of one time is right is not known; what one of them alone would ask for is done, and the test repeated at least.
#[test]
fn a_contradiction_is_no_milder_than_the_worst_of_its_rows() {
    let at_ten = |more: &[(&str, &str)]| {
        let row =
            [("tested_on", "2026-11-02 10:00"), ("r_60s", "890"), ("winding_temp_c", "30"), ("test_volts", "1000")];
        let row: Vec<_> = row.into_iter().filter(|(name, _)| more.iter().all(|(other, _)| other != name)).collect();
        let mut row = test(&[&row[..], more].concat());
        row.kept_out = Some(KeptOut::Contradicted);
        row
    };
    for (more, action, why) in [
        (&[("r_600s", "400")][..], Action::Hold, "hold. On 2026-11-02 the resistance fell while the voltage was on"),
        (&[("winding_temp_c", "-5")], Action::Recheck, "recheck. The winding was at −5 °C on 2026-11-02"),
        (
            &[("output_volts", "150")],
            Action::Recheck,
            "recheck. On 2026-11-02 the tester set to 1000 V delivered 150 V",
        ),
    ] {
        let steady = [("tested_on", "2026-10-20"), ("r_60s", "900"), ("winding_temp_c", "30"), ("test_volts", "1000")];
        let mut tests = with_row(&STEADY, &steady, None);
        tests.extend([at_ten(&[]), at_ten(more)]);
        let result = judged(tests, form_wound());
        let said = message(&result, Code::RowKeptOut);
        assert_eq!((result.action, result.must_not_be_energised()), (action, true), "{more:?}: {:?}", result.findings);
        let begins = format!(
            "Rows of 2026-11-02 contradict each other and are not used; by one of them the answer would be {why}"
        );
        assert!(said.starts_with(&begins), "{more:?}: {said}");
        assert!(
            said.ends_with("Find out which is right, or repeat the test before the winding is energised."),
            "{said}"
        );
    }
}

/// Without a temperature nothing holds the winding, but a level below the minimum stays work.
#[test]
fn a_level_below_the_minimum_is_work_where_no_temperature_is_known() {
    for latest in ["9", "7", "5.3"] {
        let tests = quarterly(&[1.0; 5]).into_iter().zip(["20", "7", "7", "7", latest]);
        let tests = tests.map(|(day, r60)| test(&[("tested_on", &day.tested_on.date.to_string()), ("r_60s", r60)]));
        let result = judged(tests.collect(), nameplate());
        assert_eq!(result.action, Action::Plan, "{latest}: {:?}", result.findings);
    }
}

/// In parallel the three phases read at least a third of what the lowest reads; a winding and its cable what both come to.
#[test]
fn a_whole_that_reads_less_than_its_parts_is_repeated() {
    let on = "2026-10-20";
    let row = |more: &[(&str, &str)]| {
        test(&[&[("tested_on", on), ("winding_temp_c", "30"), ("test_volts", "500")][..], more].concat())
    };
    let leads = [("U-earth", "900"), ("V-earth", "930"), ("W-earth", "880")]
        .map(|(lead, r60)| row(&[("connection", lead), ("r_60s", r60)]));
    let all = judge_all(leads.into_iter().chain([row(&[("r_60s", "60")])]).collect(), nameplate());
    let whole = all.iter().find(|one| one.assessment.connection == "all-earth").unwrap();
    assert_eq!(
        (whole.assessment.action, message(&whole.assessment, Code::FallSinceLast)),
        (
            Action::Recheck,
            "On 2026-10-20 it read 60 MΩ, and up to 2026-10-20 the three phases come to 301 MΩ in parallel, 5.02 times as much at one \
             temperature; a whole reads what its parts read in parallel: do not start it until the test is repeated."
        )
    );
    let scopes = [("winding", "300"), ("cable", "400"), ("winding+cable", "17")];
    let all = judge_all(scopes.map(|(scope, r60)| row(&[("scope", scope), ("r_60s", r60)])).into(), nameplate());
    let whole = all.iter().find(|one| one.assessment.scope == "winding+cable").unwrap();
    assert!(whole.assessment.must_not_be_energised(), "{:?}", whole.assessment.findings);
    let fine = judge_all(
        [("winding", "300"), ("cable", "400"), ("winding+cable", "160")]
            .map(|(scope, r60)| row(&[("scope", scope), ("r_60s", r60)]))
            .into(),
        nameplate(),
    );
    assert!(fine.iter().all(|one| message(&one.assessment, Code::FallSinceLast).is_empty()));
}

#[test]
fn a_reading_that_rises_with_the_voltage_is_wrong() {
    let rows = [("250", "8"), ("500", "110")].map(|(volts, r60)| {
        test(&[("tested_on", "2026-10-25"), ("test_volts", volts), ("r_60s", r60), ("winding_temp_c", "25")])
    });
    let result = judged(quarterly(&[113.0, 114.0, 112.0]).into_iter().chain(rows).collect(), nameplate());
    assert_eq!(
        (result.action, result.must_not_be_energised(), message(&result, Code::TestedTwice)),
        (
            Action::Plan,
            true,
            "On 2026-10-25 it read 8 MΩ at 250 V and 110 MΩ at 500 V; resistance does not double when the voltage rises, so one of them \
             is wrong: do not start it until the test is repeated. Rows of 2026-10-25 have no time of day, so in which order they were made is \
             not known; in one of the orders the answer is plan. The level may reach the minimum of 5 MΩ inside the planning horizon of 365 \
             days (likely, about 7 in 10): may be reached from 2026-11-25 on, most likely about 2027-03-26, perhaps never. Write the times of \
             the tests."
        )
    );
}

/// The latest test is the coldest: it has no say in the law that corrects it.
#[test]
fn a_latest_test_outside_the_temperatures_of_all_others_teaches_no_law() {
    let before = [
        (522.0, 17.4),
        (449.0, 24.9),
        (438.0, 24.6),
        (357.0, 29.8),
        (599.0, 16.3),
        (367.0, 35.7),
        (322.0, 37.4),
        (496.0, 22.6),
        (458.0, 22.6),
        (317.0, 38.5),
    ];
    let unknown = || Nameplate { insulation: Insulation::Unknown, year_made: None, ..nameplate() };
    for celsius in [10.5, 3.0] {
        let mut last = Action::Keep;
        for latest in [250.0, 200.0, 157.0, 146.0, 135.0, 126.0, 100.0] {
            let tests = at_temperatures(&[&before[..], &[(latest, celsius)]].concat());
            let result = judged(tests, unknown());
            assert!(result.action <= last, "{latest} at {celsius}: {} after {last}", result.action);
            last = result.action;
        }
    }
}

/// A row whose date cannot be read: it counts as of the as-of date.
fn undated(r60: &str, celsius: &str, scale: &str) -> TestRecord {
    let cells = [("tested_on", AS_OF), ("r_60s", r60), ("winding_temp_c", celsius), ("full_scale", scale)];
    let mut row = test(&cells);
    row.kept_out = Some(KeptOut::Undated);
    row
}

/// Any row without a date may be the latest, wherever it is in the file.
#[test]
fn the_order_of_rows_without_a_date_changes_nothing() {
    let steady = |rows: &[TestRecord], nameplate: Nameplate| {
        let latest = [("tested_on", "2026-10-20"), ("r_60s", "900"), ("winding_temp_c", "30"), ("test_volts", "1000")];
        judged([with_row(&STEADY, &latest, None), rows.to_vec()].concat(), nameplate)
    };
    let of_index = |after_ten| {
        let mut row = test(&[("tested_on", AS_OF), ("r_60s", "850"), ("r_600s", after_ten), ("test_volts", "1000")]);
        row.kept_out = Some(KeptOut::Undated);
        row
    };
    let (falls, rises) = (of_index("700"), of_index("2700"));
    let answer = steady(&[rises.clone(), falls.clone()], form_wound());
    assert_eq!(answer.action, Action::Hold, "{:?}", answer.findings);
    assert_eq!(steady(&[falls, rises], form_wound()), answer);
    let low = [undated("20", "40", ""), undated("21", "40", "")];
    assert_eq!(
        message(&steady(&low, nameplate()), Code::RowKeptOut),
        "Two rows of days that are not known were rejected; with what can be read of them the answer is plan. The latest 2 readings are lower \
         by a factor of 38.7 than usual before them; as they agree, the fall is real; before it is started again, look for the cause: water, a \
         heater that failed, a leaking cooler, dirt, or the terminal box. Correct what was rejected from the test sheet, or repeat the test \
         before the winding is energised."
    );
}

#[test]
fn of_too_many_rows_without_a_date_none_is_relied_on() {
    let rows: Vec<TestRecord> = (0..9).map(|i| undated("OL", &format!("{}", 20 + i), "500")).collect();
    let before = with_row(&STEADY, &[("tested_on", "2026-10-20"), ("r_60s", "900"), ("winding_temp_c", "30")], None);
    let answer = judged([before, rows].concat(), nameplate());
    assert_eq!(
        (answer.action, answer.must_not_be_energised(), message(&answer, Code::RowKeptOut)),
        (
            Action::Recheck,
            true,
            "9 different rows whose date cannot be read were rejected, and any of them may be the latest: correct them from the test sheets, or \
             repeat the test before the winding is energised."
        )
    );
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, ..ProptestConfig::default() })]
    #[test]
    fn rows_without_a_date_are_read_in_any_order(
        rows in prop::collection::vec((prop::sample::select(vec!["OL", ">500", "900", "300", "60", "6"]), 1..50_i32), 2..4),
        step in 1..3_usize,
    ) {
        let rows: Vec<TestRecord> =
            rows.iter().map(|(r60, celsius)| undated(r60, &celsius.to_string(), "1000")).collect();
        let mut turned = rows.clone();
        turned.rotate_left(step % rows.len());
        let answer = |rows: Vec<TestRecord>| judged([with_row(&STEADY, &[("tested_on", "2026-10-20"), ("r_60s", "900"), ("winding_temp_c", "30")], None), rows].concat(), nameplate());
        prop_assert_eq!(answer(rows), answer(turned));
    }
}
