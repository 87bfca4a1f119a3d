//! No answer is milder for what is assumed, missing or averaged. Sources: common practice, where nothing else is said.

use super::*;
use crate::resistance::Bound;

/// A steady history of twelve quarters at a level and 25 °C, then more tests.
fn then(level: f64, more: &[&[(&str, &str)]]) -> SeriesAssessment {
    let mut tests = quarterly(&steady(level, 12));
    tests.extend(more.iter().map(|cells| test(cells)));
    judge(tests)
}

const CAUSES: &str = "before it is started again, look for the cause: water, a heater that failed, a leaking cooler, dirt, or the terminal box.";

const FAR_BEYOND: &str = "far beyond";
const WELL_BEYOND: &str = "well beyond";

/// What is said where the trend finds the fall.
fn by_trend(factor: &str, how_far: &str) -> String {
    format!(
        "The latest 2 readings are lower by a factor of {factor} than the earlier ones led to expect, {how_far} the scatter of single tests; as they agree, the fall is real"
    )
}

/// What is said where the readings themselves show it.
fn than_usual(readings: usize, factor: &str) -> String {
    format!(
        "The latest {readings} readings are lower by a factor of {factor} than usual before them; as they agree, the fall is real"
    )
}

/// The same, to be worked on before the next start.
fn to_be_looked_into(fall: &str) -> String {
    format!("{fall}; {CAUSES}")
}

/// Two agreeing tests after a fall by three times and more, far above the minimum of 5 MΩ: something happened.
#[test]
fn an_agreed_fall_by_three_times_is_planned_before_the_next_start() {
    let of = |level: f64, after: [f64; 2]| {
        let fallen = judge(quarterly(&[&steady(level, 16)[..], &after].concat()));
        assert_eq!(fallen.next_test.by, day(AS_OF));
        assert_eq!(fallen.next_test.why, "before it is started again, when the cause has been looked for");
        fallen
    };
    all_as_expected(vec![
        (
            "600 to 110",
            of(600.0, [110.0, 105.0]),
            Action::Plan,
            &[Code::FallSinceLast],
            &to_be_looked_into(&by_trend("5.43", FAR_BEYOND)),
        ),
        (
            "2000 to 310",
            of(2000.0, [300.0, 320.0]),
            Action::Plan,
            &[Code::FallSinceLast],
            &to_be_looked_into(&by_trend("6.28", FAR_BEYOND)),
        ),
        (
            "90 to 18",
            of(90.0, [18.0, 19.0]),
            Action::Plan,
            &[Code::FallSinceLast],
            &to_be_looked_into(&by_trend("4.73", FAR_BEYOND)),
        ),
    ]);
}

/// Quarterly tests at 30 °C that end in October 2026.
fn at_30(readings: &[&str]) -> Vec<TestRecord> {
    let rows = quarterly(&vec![1.0; readings.len()]);
    let on = rows.iter().map(|row| row.tested_on.date.to_string());
    let cells = on.zip(readings).map(|(on, r60)| test(&[("tested_on", &on), ("r_60s", r60), ("winding_temp_c", "30")]));
    cells.collect()
}

/// With few readings before it the trend takes a fall for a decline that speeds up, or for noise; a reading beyond the scale was at least
/// that high. Three times is three times the usual value, not three times the lowest.
#[test]
fn an_agreed_fall_after_few_or_unbounded_readings_is_planned_too() {
    let of = |readings: &[&str]| judge(at_30(readings));
    let said = |readings: usize, factor: &str| to_be_looked_into(&than_usual(readings, factor));
    let (fall, both) = (&[Code::FallSinceLast][..], &[Code::FallSinceLast, Code::ReachesMinimum][..]);
    all_as_expected(vec![
        (
            "six before",
            of(&["800", "820", "790", "810", "805", "800", "200", "195"]),
            Action::Plan,
            both,
            &said(2, "4.06"),
        ),
        ("three before", of(&["800", "820", "790", "150", "160", "155"]), Action::Plan, both, &said(3, "5.16")),
        ("two before", of(&["900", "930", "150", "145"]), Action::Plan, fall, &said(2, "6.2")),
        ("one before", of(&["900", "150", "145"]), Action::Plan, fall, &said(2, "6.1")),
        ("by three", of(&["900", "920", "880", "910", "295", "290"]), Action::Plan, fall, &said(2, "3.09")),
        ("by three", of(&["900", "930", "880", "300", "295"]), Action::Plan, fall, &said(2, "3.03")),
        (
            "bounds",
            of(&[">2000", ">2000", ">2000", ">2000", "310", "290"]),
            Action::Plan,
            &[Code::FallSinceLast, Code::ReachesMinimum, Code::FewReadings],
            &said(2, "6.67 or more"),
        ),
    ]);
}

/// One reading of half and less of the usual value may be the beginning of a fall: it is repeated, however far above the minimum. Common
/// practice.
#[test]
fn one_reading_of_half_of_the_usual_value_is_repeated() {
    let of = |readings: &[&str]| judge(at_30(readings));
    let said = |value: &str, on: &str, factor: &str, before: usize| {
        format!(
            "The latest reading, {value} on {on}, is lower by a factor of {factor} at one temperature than usual before it, and clearly below the lowest of the \
             {before} before: do not start it until the test is repeated."
        )
    };
    let fall = &[Code::FallSinceLast][..];
    all_as_expected(vec![
        (
            "four before",
            of(&["900", "920", "880", "910", "400"]),
            Action::Recheck,
            fall,
            &said("400 MΩ", "2026-10-20", "2.26", 4),
        ),
        (
            "to a third",
            of(&["900", "920", "880", "910", "300"]),
            Action::Recheck,
            fall,
            &said("300 MΩ", "2026-10-20", "3.02", 4),
        ),
        (
            "three before",
            of(&["400", "410", "395", "190"]),
            Action::Recheck,
            fall,
            &said("190 MΩ", "2026-10-20", "2.11", 3),
        ),
        (
            "another level",
            of(&["5200", "4900", "5300", "5000", "2450"]),
            Action::Recheck,
            fall,
            &said("2.45 GΩ", "2026-10-20", "2.08", 4),
        ),
        (
            "over range before",
            of(&[">2000", ">2000", ">2000", "950"]),
            Action::Recheck,
            &[Code::FallSinceLast, Code::FewReadings],
            &said("950 MΩ", "2026-10-20", "2.11 or more", 3),
        ),
        ("less than half lower", of(&["900", "920", "880", "910", "470"]), Action::Keep, &[], ""),
        (
            "far below the lowest",
            of(&["900", "560", "880", "620", "300"]),
            Action::Recheck,
            fall,
            &said("300 MΩ", "2026-10-20", "2.46", 4),
        ),
        ("scatter as wide", of(&["900", "500", "880", "520", "300"]), Action::Keep, &[], ""),
        ("too few before", of(&["900", "920", "430"]), Action::Keep, &[], ""),
    ]);
}

/// Far above the minimum a smaller fall that two tests agree on is tested sooner, and so is one since the first reading after work.
#[test]
fn a_smaller_agreed_fall_is_tested_sooner() {
    let of = |readings: &[&str]| judge(at_30(readings));
    let said = |factor: &str| format!("{}.", than_usual(2, factor));
    let fall = &[Code::FallSinceLast][..];
    // The first reading after work is the best there will be.
    let cleaned = |readings: &[&str]| {
        let mut tests = at_30(readings);
        tests[1].event = Some(crate::record::Event::Cleaned);
        judge(tests)
    };
    assert_eq!(message(&cleaned(&["300", "900", "250", "245"]), Code::FallSinceLast), "");
    let fallen = cleaned(&["300", "900", "150", "145"]);
    assert_eq!((fallen.action, message(&fallen, Code::FallSinceLast)), (Action::Shorten, said("6.1").as_str()));
    all_as_expected(vec![
        ("four before", of(&["900", "920", "880", "910", "400", "395"]), Action::Shorten, fall, &said("2.28")),
        ("three before", of(&["400", "410", "395", "190", "195"]), Action::Shorten, fall, &said("2.08")),
        ("a fifth less", of(&["900", "920", "880", "910", "700", "720"]), Action::Keep, &[], ""),
        ("scatter as wide", of(&["900", "400", "1000", "410", "350", "340"]), Action::Keep, &[], ""),
        ("a steady decline", of(&["900", "800", "700", "620", "550", "490"]), Action::Keep, &[], ""),
    ]);
}

/// A repeat that confirms a fall does not make it none: one or two readings before it, or many.
#[test]
fn a_repeat_never_takes_a_fall_back() {
    for before in
        [&["900"][..], &["900", "930"], &["60", "62"], &["900", "880", "940", "910", "890", "905", "930", "900", "915"]]
    {
        let level: f64 = before[0].parse().unwrap();
        for share in [0.45, 0.38, 0.36, 0.34] {
            let low: Vec<String> =
                [1.0, 0.97, 1.02].iter().map(|vary| format!("{:.1}", level * share * vary)).collect();
            for repeats in 1..=3 {
                let readings: Vec<&str> =
                    before.iter().copied().chain(low[..repeats].iter().map(String::as_str)).collect();
                let result = judge(at_30(&readings));
                let may_be_scatter = before.len() < 3 && share > 0.4;
                assert!(may_be_scatter || result.action <= Action::Shorten, "{readings:?}: {:?}", result.findings);
            }
        }
    }
}

/// A faulty cell in older rows hides no fall: their readings count for it as if the cell were blank.
#[test]
fn a_rejected_older_row_hides_no_fall() {
    let mut tests = at_30(&["900", "930", "100", "98", "99"]);
    for test in &mut tests[..2] {
        (test.kept_out, test.winding_temp) = (Some(crate::record::KeptOut::Rejected), None);
    }
    let fallen = judge(tests);
    assert_eq!(fallen.action, Action::Plan, "{:?}", fallen.findings);
    assert!(message(&fallen, Code::FallSinceLast).starts_with("The latest 3 readings are lower by a factor of "));
}

/// It leaves less than twice the minimum of 5 MΩ, or of 100 MΩ.
#[test]
fn an_agreed_fall_close_to_the_minimum_is_planned_however_small() {
    let of = |before: &[f64], after: [f64; 2]| judge(quarterly(&[before, &after].concat()));
    let form = |before: &[f64], after: [f64; 2]| {
        judge_all(quarterly(&[before, &after].concat()), form_wound()).remove(0).assessment
    };
    let said = |factor: &str| to_be_looked_into(&than_usual(2, factor));
    let both = &[Code::FallSinceLast, Code::ReachesMinimum][..];
    let voltage = &[Code::FallSinceLast, Code::ReachesMinimum, Code::VoltageOutsideGuide][..];
    all_as_expected(vec![
        (
            "16 to 8",
            of(&steady(16.0, 16), [8.0, 7.9]),
            Action::Plan,
            both,
            &to_be_looked_into(&by_trend("1.96", WELL_BEYOND)),
        ),
        ("18 to 9", of(&[18.0, 18.5, 17.6, 18.2, 18.0], [9.0, 8.8]), Action::Plan, both, &said("2.03")),
        ("17 to 9.3", of(&[17.0, 16.5, 17.2, 16.8, 17.0, 17.1], [9.3, 9.4]), Action::Plan, both, &said("1.82")),
        ("two before", of(&[17.0, 16.5], [9.3, 9.4]), Action::Plan, both, &said("1.79")),
        (
            "300 to 188",
            form(&[300.0, 305.0, 298.0, 301.0, 299.0, 303.0], [188.0, 186.0]),
            Action::Plan,
            voltage,
            &said("1.6"),
        ),
        // The same fall far above the minimum is tested sooner.
        (
            "1600 to 800",
            of(&steady(1600.0, 16), [800.0, 790.0]),
            Action::Shorten,
            &[Code::FallSinceLast],
            &format!("{}.", by_trend("1.96", WELL_BEYOND)),
        ),
    ]);
}

/// A year of decline towards the minimum is not a sudden fall, however the scatter lies.
#[test]
fn a_decline_close_to_the_minimum_is_not_called_sudden() {
    for decline in [
        [11.4, 10.6, 11.3, 9.95, 7.07, 6.36, 7.34, 3.74],
        [13.0, 12.1, 11.2, 10.4, 9.6, 8.9, 8.2, 7.6],
        [20.0, 17.0, 15.5, 13.0, 11.0, 9.7, 8.3, 7.1],
    ] {
        let said = judge(quarterly(&decline));
        assert!(!message(&said, Code::FallSinceLast).contains("than usual before them"), "{:?}", said.findings);
        assert!(said.action <= Action::Plan, "{:?}", said.findings);
    }
}

/// Four agreeing tests are read as a shift of the level, and are a sudden fall all the same.
#[test]
fn a_recent_drop_of_the_level_is_a_sudden_fall() {
    let dropped = |tests_since: usize| {
        let mut values = steady(800.0, 20);
        values.extend(steady(90.0, tests_since));
        judge(quarterly(&values))
    };
    for (tests_since, sentence) in [(2, to_be_looked_into(&by_trend("8.35", FAR_BEYOND))), (3, "The latest 3 readings are lower by a factor of 8.72 than the earlier ones led to expect, far beyond the scatter of single tests; as they agree, the fall is real; before it is started again, look for the cause: water, a heater that failed, a leaking cooler, dirt, or the terminal box.".to_owned()), (4, "The latest 3 readings are lower by a factor of 8.53 than the earlier ones led to expect, far beyond the scatter of single tests; as they agree, the fall is real; before it is started again, look for the cause: water, a heater that failed, a leaking cooler, dirt, or the terminal box.".to_owned())] {
        let recent = dropped(tests_since);
        assert_eq!(recent.findings[0].message, sentence);
        assert_eq!(recent.action, Action::Plan, "{tests_since}: {:?}", recent.findings);
    }
    // Nine quarters later the lower level is how the winding is.
    assert_eq!(dropped(9).action, Action::Keep, "{:?}", dropped(9).findings);
}

/// 3.5 MΩ at 25 °C is 2.86 MΩ at 40 °C (exp(−1245·(1/298.15 − 1/313.15)) = 0.8187), below the minimum of 5 MΩ.
#[test]
fn a_reading_below_the_minimum_that_came_back_by_itself_is_said_for_a_year() {
    let low = |on: &str, event: &str| {
        let mut values = steady(480.0, 12);
        values[11] = 480.0;
        let mut tests = quarterly(&values);
        tests.push(test(&[("tested_on", on), ("r_60s", "3.5"), ("winding_temp_c", "25")]));
        tests.push(test(&[("tested_on", "2026-11-10"), ("r_60s", "480"), ("winding_temp_c", "25"), ("event", event)]));
        judge(tests)
    };
    let came_back = low("2026-08-04", "");
    assert_eq!(came_back.action, Action::Shorten, "{:?}", came_back.findings);
    assert_eq!(
        message(&came_back, Code::RecoveredWithoutWork),
        "On 2026-08-04 the winding read 2.86 MΩ at 40 °C, at or below the minimum of 5 MΩ, and came back to 480 MΩ on 2026-11-10 \
         with no work written down: water or dirt that comes and goes is likely; look for it."
    );
    assert!(!message(&low("2025-11-25", ""), Code::RecoveredWithoutWork).is_empty(), "365 days ago");
    assert_eq!(message(&low("2025-11-24", ""), Code::RecoveredWithoutWork), "");
    assert_eq!(message(&low("2026-08-04", "dried"), Code::RecoveredWithoutWork), "", "work explains it");
}

/// A reading without temperature is compared as read, in the past too.
#[test]
fn a_low_reading_without_temperature_that_came_back_is_said_as_read() {
    let tests = [
        [("tested_on", "2026-06-01"), ("r_60s", "0.9"), ("rh_percent", "60")],
        [("tested_on", "2026-06-02"), ("r_60s", "<1"), ("rh_percent", "60")],
        [("tested_on", "2026-11-01"), ("r_60s", "900"), ("winding_temp_c", "25")],
    ];
    let result = judge(tests.iter().map(|cells| test(cells)).collect());
    assert_eq!(
        message(&result, Code::RecoveredWithoutWork),
        "On 2026-06-02 the winding read < 1 MΩ (temperature unknown), at or below the minimum of 5 MΩ, and so was one other test in the last \
         year, and came back to 900 MΩ on 2026-11-01 with no work written down: water or dirt that comes and goes is likely; look for \
         it."
    );
    // Two low readings, then one far above them and no work: the good one may be wrong.
    assert_eq!(result.action, Action::Recheck);
}

/// IEC 61557-2 cl. 4.2 (from memory): the output is at least the nominal voltage; 1/1.25 of it is the tolerance of the policy.
#[test]
fn a_tester_that_does_not_reach_its_setting_proves_nothing() {
    for (set, output, share) in [("500", "180", "0.36"), ("1000", "790", "0.79"), ("2500", "1100", "0.44")] {
        let weak = then(
            400.0,
            &[&[
                ("tested_on", "2026-11-02"),
                ("r_60s", "420"),
                ("winding_temp_c", "25"),
                ("test_volts", set),
                ("output_volts", output),
            ]],
        );
        assert_eq!(weak.action, Action::Recheck, "{:?}", weak.findings);
        assert_eq!(
            message(&weak, Code::TesterOutput),
            format!(
                "On 2026-11-02 the tester set to {set} V delivered {output} V, {share} times its setting; 0.8 to 1.25 times are inside \
                 its tolerance; a voltage this low proves nothing, so the test is void: repeat it with a tester that holds its voltage."
            )
        );
        assert_eq!(weak.next_test.why, "now: the test of 2026-11-02 is doubtful; do not energise until it is repeated");
    }
    let fair = [("r_60s", "420"), ("winding_temp_c", "25"), ("test_volts", "500"), ("output_volts", "400")];
    assert_eq!(then(400.0, &[&[&[("tested_on", "2026-11-02")], &fair[..]].concat()]).action, Action::Keep);
}

/// What nobody wrote down never makes an answer less urgent: without a setting the output is compared with the tests before, or the guide.
#[test]
fn a_low_output_without_a_setting_proves_nothing_either() {
    let of = |before: &str, output: &str| {
        let mut tests = quarterly(&steady(400.0, 12));
        tests
            .iter_mut()
            .for_each(|test| test.test_volts = before.parse().ok().and_then(|v| Voltage::from_volts(v).ok()));
        tests.push(test(&[
            ("tested_on", "2026-11-02"),
            ("r_60s", "420"),
            ("winding_temp_c", "25"),
            ("output_volts", output),
        ]));
        judge(tests)
    };
    let said = |output: &str, due: &str| {
        format!(
            "On 2026-11-02 the tester delivered {output} V, {due}, and its setting was not written down; a voltage this low proves \
             nothing, so the test is void: repeat it with a tester that holds its voltage."
        )
    };
    let void = &[Code::TesterOutput][..];
    all_as_expected(vec![
        (
            "500 V before",
            of("500", "180"),
            Action::Recheck,
            void,
            &said("180", "0.36 times the 500 V of the tests before"),
        ),
        (
            "1000 V before",
            of("1000", "790"),
            Action::Recheck,
            void,
            &said("790", "0.79 times the 1000 V of the tests before"),
        ),
        ("the guide", of("", "240"), Action::Recheck, void, &said("240", "0.48 times the 500 V of the guide")),
        ("as before", of("500", "400"), Action::Keep, &[], ""),
        ("as the guide", of("", "512"), Action::Keep, &[], ""),
        ("more than before", of("500", "1010"), Action::Keep, &[], ""),
    ]);
}

/// 534 V read off the tester is a 500 V test.
#[test]
fn a_voltage_a_little_off_its_step_is_that_step() {
    for volts in ["534", "520", "610", "480"] {
        let result = then(
            400.0,
            &[&[("tested_on", "2026-11-02"), ("r_60s", "420"), ("winding_temp_c", "25"), ("test_volts", volts)]],
        );
        assert_eq!(result.action, Action::Keep);
        assert!(result.findings.is_empty(), "{volts}: {:?}", result.findings);
    }
}

/// Ice insulates, under every law; a reading at or below the minimum holds whatever the ice.
#[test]
fn a_frozen_winding_gets_no_pass() {
    for insulation in [Insulation::Thermosetting, Insulation::Thermoplastic, Insulation::Unknown] {
        for (celsius, shown) in [("0", "0 °C"), ("-4", "−4 °C"), ("-20", "−20 °C")] {
            let mut tests = quarterly(&steady(900.0, 12));
            tests.push(test(&[("tested_on", "2026-11-02"), ("r_60s", "9000"), ("winding_temp_c", celsius)]));
            let frozen = judge_all(tests, Nameplate { insulation, ..nameplate() }).remove(0).assessment;
            assert_eq!(frozen.action, Action::Recheck, "{:?}", frozen.findings);
            assert_eq!(
                message(&frozen, Code::FrozenWinding),
                format!(
                    "The winding was at {shown} on 2026-11-02: ice insulates, so 9 GΩ is not a pass; thaw and dry it, and repeat the test \
                     before it is energised."
                )
            );
            assert_eq!(message(&frozen, Code::TemperatureOutsideLaw), "");
        }
    }
    let low = then(900.0, &[&[("tested_on", "2026-11-02"), ("r_60s", "2"), ("winding_temp_c", "-4")]]);
    assert_eq!(low.action, Action::Hold);
}

/// Without its own temperature a winding may have been as cold as the air.
#[test]
fn a_winding_that_may_be_frozen_gets_no_pass_either() {
    let of = |air: &str, r60: &str| then(900.0, &[&[("tested_on", "2026-11-02"), ("r_60s", r60), ("air_temp_c", air)]]);
    let said = |air: &str, r60: &str| {
        format!(
            "The air was at {air} on 2026-11-02 and the winding temperature was not recorded; it may be frozen: ice \
             insulates, so {r60} is not a pass; thaw and dry it, and repeat the test before it is energised."
        )
    };
    let both = &[Code::FrozenWinding, Code::TemperatureMissing][..];
    all_as_expected(vec![
        ("-6", of("-6", "900"), Action::Recheck, both, &said("−6 °C", "900 MΩ")),
        ("0", of("0", "1200"), Action::Recheck, both, &said("0 °C", "1.2 GΩ")),
        ("over range", of("-15", ">2000"), Action::Recheck, both, &said("−15 °C", "> 2 GΩ")),
        (
            "1",
            of("1", "900"),
            Action::Keep,
            &[Code::TemperatureMissing],
            "The latest test, on 2026-11-02, has no winding temperature, so 900 MΩ cannot be corrected; even at the worst likely temperature it is 118 times the minimum, which is enough.",
        ),
    ]);
    assert_eq!(of("-6", "3").action, Action::Hold);
}

/// A cool hall is not an oddity: at 6 °C the reading keeps far more than twice the minimum under twice the doubt.
#[test]
fn a_test_in_a_cool_hall_is_no_reason_to_repeat_it() {
    let cool = then(60.0, &[&[("tested_on", "2026-11-02"), ("r_60s", "105"), ("winding_temp_c", "6")]]);
    assert_ne!(cool.action, Action::Recheck, "{:?}", cool.findings);
}

/// In the °C column of each row is a temperature in °F; the air is in °C.
#[test]
fn a_column_of_fahrenheit_under_celsius_is_not_passed() {
    let rows = [
        ("2025-10-14", "68", "20"),
        ("2026-01-13", "61", "16"),
        ("2026-04-14", "70", "21"),
        ("2026-11-02", "64", "18"),
    ];
    let tests = rows.map(|(on, winding, air)| {
        test(&[("tested_on", on), ("r_60s", "40"), ("winding_temp_c", winding), ("air_temp_c", air)])
    });
    let result = judge(tests.to_vec());
    assert_eq!(result.action, Action::Recheck, "{:?}", result.findings);
    assert_eq!(
        message(&result, Code::TemperatureImplausible),
        "In 4 of 4 tests the winding is recorded as 30 K and more above the air, as if a °F column had \
         been labelled °C: 64 °C on 2026-11-02 would then be 17.8 °C; correct the header or read the temperature again. If the machine was tested hot from service, write \
         “hot” into the note of each such test."
    );
    // Warm from service, and not tracking the air at 1.8 K a kelvin: read as °F it would be colder than the air.
    let warm = [
        ("2025-10-14", "48", "27"),
        ("2026-01-13", "45", "25"),
        ("2026-04-14", "50", "26"),
        ("2026-11-02", "47", "28"),
    ];
    let tests = warm.map(|(on, winding, air)| {
        test(&[("tested_on", on), ("r_60s", "40"), ("winding_temp_c", winding), ("air_temp_c", air)])
    });
    assert_eq!(message(&judge(tests.to_vec()), Code::TemperatureImplausible), "");
}

/// With one row or two nothing tells °F from a hot machine. 12 MΩ at 68 °C are 84 MΩ at 40 °C by the thermoplastic law; at 68 °F, 20 °C,
/// they are 3 MΩ and below the minimum of 5 MΩ, and the more urgent reading stands.
#[test]
fn one_temperature_that_would_fail_in_fahrenheit_is_not_passed() {
    let of = |rows: &[(&str, &str)], note: &str| {
        let rows = rows.iter().enumerate().map(|(at, (r60, celsius))| {
            let on = format!("2026-{:02}-20", 9 + at);
            test(&[
                ("tested_on", on.as_str()),
                ("r_60s", r60),
                ("winding_temp_c", celsius),
                ("air_temp_c", "20"),
                ("note", note),
            ])
        });
        let nameplate = Nameplate { insulation: Insulation::Thermoplastic, year_made: Some(1975), ..nameplate() };
        judge_all(rows.collect(), nameplate).remove(0).assessment
    };
    let said = |count: usize, latest: &str, is: &str| {
        format!(
            "In {count} of {count} tests the winding is recorded as 30 K and more above the air, as if a °F column \
             had been labelled °C: {latest} would then be {is}; correct the header or read the temperature again. If the machine was tested hot from \
             service, write “hot” into the note of each such test."
        )
    };
    let odd = &[Code::TemperatureImplausible, Code::FewReadings][..];
    let few = "The stretch has 1 exact reading; a trend needs at least 3 exact ones.";
    all_as_expected(vec![
        ("one", of(&[("12", "68")], ""), Action::Recheck, odd, &said(1, "68 °C on 2026-09-20", "20 °C")),
        (
            "two",
            of(&[("12", "68"), ("12.4", "70")], ""),
            Action::Recheck,
            odd,
            &said(2, "70 °C on 2026-10-20", "21.1 °C"),
        ),
        ("passes in °F too", of(&[("40", "68")], ""), Action::Gather, &[Code::FewReadings], few),
        ("hot", of(&[("12", "68")], "hot from service"), Action::Gather, &[Code::FewReadings], few),
    ]);
}

/// 8 MΩ that nobody took the temperature of: under the thermoplastic law it may be 1 to 8 MΩ, and the limit is 5.
#[test]
fn one_reading_without_temperature_above_the_limit_is_repeated_and_not_held() {
    for (r60, margin, insulation) in [
        ("8", "0.0873", Insulation::Thermoplastic),
        ("5.4", "0.708", Insulation::Thermosetting),
        ("6", "0.787", Insulation::Unknown),
    ] {
        let tests = vec![test(&[("tested_on", "2026-10-20"), ("r_60s", r60)])];
        let result = judge_all(tests, Nameplate { insulation, ..nameplate() }).remove(0).assessment;
        assert_eq!(result.action, Action::Recheck, "{r60}: {:?}", result.findings);
        assert_eq!(message(&result, Code::BelowMinimum), "");
        assert_eq!(
            message(&result, Code::TemperatureMissing),
            format!(
                "The latest test, on 2026-10-20, has no winding temperature, so {r60} MΩ cannot be corrected; at the worst \
                 likely temperature it is {margin} times the minimum, and 10 are needed."
            )
        );
        // No level is made up of it, and no date.
        assert_eq!(result.trend.as_ref().and_then(|trend| trend.level_mohm), None);
        assert_eq!(result.forecast.reaches_minimum, None);
        assert_eq!(result.latest.unwrap().bound, Bound::Exact);
    }
    let low = judge(vec![test(&[("tested_on", "2026-10-20"), ("r_60s", "4.9")])]);
    assert_eq!(low.action, Action::Hold);
}

/// What cannot be said is left out of the evidence; it is not a text in the place of a number.
#[test]
fn evidence_that_is_not_known_is_left_out() {
    let result = judge(vec![test(&[("tested_on", "2026-10-20"), ("r_60s", "<300")])]);
    let finding = result.findings.iter().find(|finding| finding.code == Code::TemperatureMissing).unwrap();
    assert!(finding.evidence.is_empty(), "{:?}", finding.evidence);
    assert_eq!((finding.asks, finding.before_use), (Asks::Repeat, true));
}

/// A test that shows nothing takes back nothing: the test before it was below the minimum, and no work was done. Common practice.
#[test]
fn a_test_that_shows_nothing_takes_back_nothing() {
    // 3.5 MΩ at 25 °C is 2.86 MΩ at 40 °C.
    let low = [("tested_on", "2026-11-02"), ("r_60s", "3.5"), ("winding_temp_c", "25")];
    for (later, code) in [
        (&[("r_60s", "OL"), ("winding_temp_c", "20")][..], "off-scale"),
        (
            &[("r_60s", "600"), ("winding_temp_c", "25"), ("test_volts", "500"), ("output_volts", "210")],
            "tester-output",
        ),
        (&[("r_60s", "9000"), ("winding_temp_c", "-3")], "frozen-winding"),
    ] {
        let later = [&[("tested_on", "2026-11-10")], later].concat();
        let result = then(60.0, &[&low, &later]);
        assert_eq!(result.action, Action::Hold, "{code}: {:?}", result.findings);
        assert_eq!(
            message(&result, Code::BelowMinimum),
            format!(
                "The reading of 2026-11-02, 2.86 MΩ at 40 °C, is at or below the minimum of 5 MΩ, and the test of 2026-11-10 does \
                 not clear it ({}).",
                code.replace('-', " ")
            )
        );
        // After work on the winding the low reading says nothing.
        let worked = [&later[..], &[("event", "dried")]].concat();
        assert_ne!(then(60.0, &[&low, &worked]).action, Action::Hold, "{code}");
    }
}

/// 0.485 MΩ among 480 MΩ: a slip from GΩ, or water. Both are said, and the more urgent stands until the row is corrected.
#[test]
fn a_low_past_value_that_may_be_a_slip_of_the_unit_still_counts() {
    let mut values = steady(480.0, 12);
    values[10] = 0.485;
    let result = judge(quarterly(&values));
    assert_eq!(result.action, Action::Shorten, "{:?}", result.findings);
    assert_eq!(
        message(&result, Code::RecoveredWithoutWork),
        "On 2026-07-21 the winding read 0.397 MΩ at 40 °C, at or below the minimum of 5 MΩ, and came back to 538 MΩ on 2026-10-20 with no \
         work written down: either the unit was mistaken, as 485 MΩ would fit the other tests, or water or dirt comes and goes; look at \
         the test sheet, and look for water unless it shows the mistake."
    );
    assert_eq!(
        message(&result, Code::UnitSlip),
        "The reading of 2026-07-21, 0.485 MΩ, is about 1/1000 of what the 11 others since 2024-01-23 lead to expect: the unit was probably \
         mistaken."
    );
}

/// Tested hot from service in a hall of 12 to 27 °C: the winding does not follow the air. Common practice.
#[test]
fn a_machine_that_is_tested_hot_is_not_taken_for_degrees_fahrenheit() {
    let rows = [(66, 12), (62, 17), (68, 24), (61, 27), (67, 15), (63, 21)];
    let tests = |note: &str, count: usize| {
        let rows = rows.iter().take(count).enumerate().map(|(at, (winding, air))| {
            test(&[
                ("tested_on", &format!("2026-{:02}-11", 5 + at)),
                ("r_60s", "90"),
                ("winding_temp_c", &winding.to_string()),
                ("air_temp_c", &air.to_string()),
                ("note", note),
            ])
        });
        rows.collect::<Vec<_>>()
    };
    assert_eq!(message(&judge(tests("", 6)), Code::TemperatureImplausible), "");
    // With fewer tests nothing tells the two apart, and the more urgent reading of it stands until the note says hot.
    let few = judge(tests("", 4));
    assert_eq!(few.action, Action::Recheck);
    assert_eq!(
        message(&few, Code::TemperatureImplausible),
        "In 3 of 4 tests the winding is recorded as 30 K and more above the air, as if a °F column had been labelled °C: \
         61 °C on 2026-08-11 would then be 16.1 °C; correct the header or read the temperature again. If the machine was tested hot from \
         service, write “hot” into the note of each such test."
    );
    assert_eq!(message(&judge(tests("Hot, off load", 4)), Code::TemperatureImplausible), "");
}

/// Insulation unknown. Cold at first and warm later, each reading corrected by the law that gives less hides a fall: 300 MΩ at 12 °C is at
/// least 43 MΩ at 40 °C (halving every 10 K) and 53 MΩ at 38 °C is at least 46 MΩ; by the thermosetting law it fell from 203 to 52 MΩ.
#[test]
fn a_fall_that_shows_by_one_of_two_possible_laws_is_a_fall() {
    let mut tests = quarterly(&steady(300.0, 14));
    let count = tests.len();
    for (at, test) in tests.iter_mut().enumerate() {
        let warm = at + 2 >= count;
        test.winding_temp = Temperature::from_celsius(if warm { 38.0 } else { 12.0 }).ok();
        if warm {
            let reading = crate::resistance::TimedReading {
                elapsed: crate::absorption::one_minute(),
                value: crate::resistance::Measured::Exact(Resistance::from_megohms(40.0 + at as f64).unwrap()),
            };
            test.readings.clear();
            test.readings.insert(reading).unwrap();
        }
    }
    let unknown = Nameplate { insulation: Insulation::Unknown, year_made: None, thermal_class: None, ..nameplate() };
    let judged = judge_all(tests, unknown).remove(0);
    let result = &judged.assessment;
    assert_eq!(result.action, Action::Plan, "{:?}", result.findings);
    assert_eq!(judged.background.by_law.len(), 3, "{:?}", judged.background.by_law);
    assert!(result.findings.iter().any(|finding| finding.code == Code::FallSinceLast), "{:?}", result.findings);
}

/// A law that was only fitted is answered by the one of the insulation: the level today without the lift.
#[test]
fn what_is_fitted_of_a_law_makes_no_answer_milder() {
    let judged = judge_all(quarterly(&steady(400.0, 14)), nameplate()).remove(0);
    assert_eq!(judged.background.by_law.len(), 1, "nothing to disagree about far above the minimum");
    assert_eq!(judged.background.by_law[0].action, judged.assessment.action);
}

/// What was read at other times than one minute is not a pass on an older test (IEEE Std 43 cl. 5.3).
#[test]
fn a_later_test_without_a_one_minute_reading_is_no_pass() {
    let after = |column: &str, value: &str| {
        let mut tests = quarterly(&steady(900.0, 12));
        tests.push(test(&[("tested_on", "2026-11-10"), (column, value), ("winding_temp_c", "25")]));
        judge(tests)
    };
    let low = after("r_30s", "0.5");
    assert_eq!(low.action, Action::Recheck);
    assert_eq!(
        message(&low, Code::NoReading),
        "The test of 2026-11-10 has no reading after one minute, only 0.5 MΩ after 30 s; the answer rests on the test of 2026-10-20. \
         Repeat it and read it after one minute before the winding is energised."
    );
    let high = after("r_600s", "1200");
    assert_eq!(high.action, Action::Recheck);
    assert_eq!(
        message(&high, Code::NoReading),
        "The test of 2026-11-10 has no reading after one minute, only 1.2 GΩ after 600 s; the answer rests on the test of 2026-10-20. \
         Repeat it and read it after one minute."
    );
}

/// Open leads and a wrong range read high: a rise that nobody explains must not hide a decline (common practice).
#[test]
fn a_rise_that_nobody_explains_is_questioned() {
    let with = |earlier: &[f64], latest: &str, event: &str| {
        let mut tests = quarterly(earlier);
        tests.push(test(&[("tested_on", "2026-11-10"), ("r_60s", latest), ("winding_temp_c", "40"), ("event", event)]));
        judge(tests)
    };
    let declining = [900.0, 700.0, 500.0, 350.0, 240.0, 170.0];
    for latest in [">2000", "1900"] {
        assert_eq!(message(&with(&declining, latest, "dried"), Code::LevelShift), "");
    }
    let risen = &[Code::LevelShift][..];
    let said = |latest: &str, times: &str, when: &str| {
        format!(
            "The latest reading, {latest} on 2026-11-10, is {times} times as high at one temperature as usual before it, and no work was written down: open leads \
             and a wrong range read high too. Prove the leads, repeat the test{when}, and write down what was done."
        )
    };
    let usual = [200.0, 210.0, 190.0, 205.0, 195.0];
    all_as_expected(vec![
        (
            "beyond the scale",
            with(&declining, ">2000", ""),
            Action::Recheck,
            risen,
            &said("> 2 GΩ", "8.43", " before it is started"),
        ),
        (
            "a number",
            with(&declining, "1900", ""),
            Action::Recheck,
            risen,
            &said("1.9 GΩ", "8.01", " before it is started"),
        ),
        ("steady before", with(&usual, "1800", ""), Action::Shorten, risen, &said("1.8 GΩ", "11", "")),
    ]);
    assert_eq!(message(&with(&[200.0, 210.0, 190.0, 205.0, 195.0], "500", ""), Code::LevelShift), "");
}
