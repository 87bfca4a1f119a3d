//! What was written down and can hardly have been read: each oddity has its sentence, and only the latest test is doubted.

use super::by_hand::ByHand;
use super::*;

/// The usual history, then one more test on 2 November.
fn with_latest(level: f64, cells: &[(&str, &str)]) -> SeriesAssessment {
    let mut tests = quarterly(&steady(level, 12));
    tests.push(test(&[&[("tested_on", "2026-11-02")], cells].concat()));
    judge(tests)
}

#[test]
fn a_slip_of_the_unit_is_rechecked_when_it_is_the_latest_and_only_said_of_the_past() {
    let high = with_latest(200.0, &[("r_60s", "205 GΩ"), ("winding_temp_c", "25")]);
    assert_eq!(high.action, Action::Recheck);
    assert_eq!(
        message(&high, Code::UnitSlip),
        "The latest reading of 2026-11-02, 205 GΩ, is about 1000 times what the 12 others since 2024-01-23 lead to expect: \
         the unit was probably mistaken."
    );
    let low = with_latest(30_000.0, &[("r_60s", "31"), ("winding_temp_c", "25")]);
    assert_eq!(low.action, Action::Recheck);
    assert_eq!(
        message(&low, Code::UnitSlip),
        "The latest reading of 2026-11-02, 31 MΩ, is about 1/1000 of what the 12 others since 2024-01-23 lead to expect: \
         the unit was probably mistaken."
    );
    let mut values = steady(200.0, 16);
    values[3] *= 1000.0;
    values[7] /= 1000.0;
    let past = judge(quarterly(&values));
    assert_eq!(past.action, Action::Keep, "{:?}", past.findings);
    assert_eq!(
        message(&past, Code::UnitSlip),
        "The reading of 2024-10-22, 0.18 MΩ, is about 1/1000 of what the 15 others since 2023-01-24 lead to expect: \
         the unit was probably mistaken, and it is not the only one."
    );
}

/// From megohms to teraohms are two steps, a factor of a million; a factor of 4 on either side is the winding's own.
#[test]
fn two_steps_of_the_unit_at_once_are_a_slip_too() {
    let said = |factor: f64| {
        let r60 = format!("{}", 20.0 * factor);
        message(&with_latest(20.0, &[("r_60s", &r60), ("winding_temp_c", "25")]), Code::UnitSlip).to_owned()
    };
    assert_eq!(
        said(1e6),
        "The latest reading of 2026-11-02, 20 TΩ, is about 1000000 times what the 12 others since 2024-01-23 lead to \
         expect: the unit was probably mistaken."
    );
    assert_eq!([said(2.4e5), said(4.1e6), said(2.4e-7), said(4.1e-6)], ["", "", "", ""]);
    for (factor, times) in [(2.6e5, "1000000 times"), (3.9e6, "1000000 times"), (3.9e-6, "1/1000000 of")] {
        assert!(said(factor).contains(&format!(", is about {times} what ")), "{factor}: {}", said(factor));
    }
}

#[test]
fn of_many_slips_the_last_is_named_and_the_others_are_counted() {
    let mut values = steady(200.0, 16);
    for at in [3, 7, 11] {
        values[at] *= 1000.0;
    }
    assert_eq!(
        message(&judge(quarterly(&values)), Code::UnitSlip),
        "The reading of 2025-10-21, 224 GΩ, is about 1000 times what the 15 others since 2023-01-24 lead to expect: the \
         unit was probably mistaken, and 2 others are like it."
    );
}

#[test]
fn falls_and_gains_that_are_no_units_are_no_slips() {
    for factor in [0.01, 0.1, 10.0, 100.0, 20_000.0] {
        let r60 = format!("{}", 500.0 * factor);
        let result = with_latest(500.0, &[("r_60s", &r60), ("winding_temp_c", "25")]);
        assert_eq!(message(&result, Code::UnitSlip), "", "{factor}");
    }
    let mut tests = quarterly(&steady(0.6, 6));
    tests.push(test(&[("tested_on", "2026-11-02"), ("r_60s", "600"), ("winding_temp_c", "25"), ("event", "dried")]));
    assert_eq!(message(&judge(tests), Code::UnitSlip), "", "work done explains it");
}

#[test]
fn a_winding_much_colder_than_the_air_is_doubted_where_it_could_matter() {
    let latest = [("winding_temp_c", "8"), ("air_temp_c", "24")];
    let far = with_latest(300.0, &[&latest[..], &[("r_60s", "310")]].concat());
    assert_eq!(
        message(&far, Code::TemperatureImplausible),
        "On 2026-11-02 the winding is said to have been at 8 °C, 16 K colder than the air at 24 °C: one of the two is \
         wrong, or the machine had just come in from the cold; even at the worst likely temperature it is \
         40.7 times the minimum, which is enough."
    );
    assert_eq!(far.action, Action::Keep, "{:?}", far.findings);
    let near = with_latest(30.0, &[&latest[..], &[("r_60s", "31")]].concat());
    assert_eq!(near.action, Action::Recheck);
    let usual = with_latest(30.0, &[("winding_temp_c", "17"), ("air_temp_c", "24"), ("r_60s", "31")]);
    assert_eq!(message(&usual, Code::TemperatureImplausible), "");
}

#[test]
fn a_temperature_in_the_wrong_scale_is_found_by_the_reading_it_spoils() {
    let latest = with_latest(200.0, &[("r_60s", "210"), ("winding_temp_c", "75")]);
    assert_eq!(latest.action, Action::Recheck);
    assert_eq!(
        message(&latest, Code::TemperatureImplausible),
        "On 2026-11-02 the winding is said to have been at 75 °C, unlike at any other test, and 210 MΩ does not fit the \
         others at that; 75 °F, which is 23.9 °C, would fit: read the temperature again."
    );
    // The same row with another note bears nothing out.
    let mut twice = quarterly(&steady(200.0, 12));
    for note in ["", "sheet 2"] {
        twice.push(test(&[("tested_on", "2026-11-02"), ("r_60s", "210"), ("winding_temp_c", "75"), ("note", note)]));
    }
    let twice = judge(twice);
    assert_eq!(twice.action, Action::Recheck, "{:?}", twice.findings);
    assert!(!message(&twice, Code::TemperatureImplausible).is_empty());
    let unusual = with_latest(200.0, &[("r_60s", "200"), ("winding_temp_c", "120")]);
    assert!(
        message(&unusual, Code::TemperatureImplausible)
            .ends_with("25 °C, as usual, would fit: read the temperature again."),
        "{:?}",
        unusual.findings
    );
    let mut tests = quarterly(&steady(200.0, 12));
    tests.insert(5, test(&[("tested_on", "2024-12-01"), ("r_60s", "210"), ("winding_temp_c", "75")]));
    let past = judge(tests);
    assert_eq!(past.action, Action::Keep, "{:?}", past.findings);
    assert!(message(&past, Code::TemperatureImplausible).ends_with("would fit: look at the test sheet."));
    // Truly hot, and the reading as low as it should be.
    let hot = with_latest(200.0, &[("r_60s", "20"), ("winding_temp_c", "75")]);
    assert_eq!(message(&hot, Code::TemperatureImplausible), "");
}

#[test]
fn readings_that_fall_within_a_minute_are_doubted() {
    let result = with_latest(200.0, &[("r_30s", "310"), ("r_60s", "210"), ("winding_temp_c", "25")]);
    assert_eq!(result.action, Action::Recheck);
    assert_eq!(
        message(&result, Code::TimedReadingsFall),
        "On 2026-11-02 the reading after 60 s, 210 MΩ, was lower than that after 30 s, 310 MΩ: while a winding charges \
         its resistance rises, so the two may be swapped or the test was disturbed."
    );
    for cells in [[("r_30s", "230"), ("r_60s", "210")], [("r_30s", ">1000"), ("r_60s", "210")]] {
        let result = with_latest(200.0, &[&cells[..], &[("winding_temp_c", "25")]].concat());
        assert_eq!(message(&result, Code::TimedReadingsFall), "");
    }
}

#[test]
fn a_value_written_down_again_and_again_is_said_and_doubted_with_its_temperature() {
    let copied = judge(quarterly(&[210.0, 190.0, 220.0, 205.0, 200.0, 200.0, 200.0, 200.0]));
    assert_eq!(copied.action, Action::Recheck);
    assert_eq!(
        message(&copied, Code::ValueRepeated),
        "The latest 4 tests, since 2026-01-20, all read 200 MΩ at 25 °C: the rows look copied: test again."
    );
    let mut tests = quarterly(&[210.0, 190.0, 220.0, 205.0, 200.0, 200.0, 200.0, 200.0]);
    tests[6].winding_temp = Some(Temperature::from_celsius(27.0).unwrap());
    let equal = judge(tests);
    assert_eq!(equal.action, Action::Keep, "{:?}", equal.findings);
    assert_eq!(
        message(&equal, Code::ValueRepeated),
        "The latest 4 tests, since 2026-01-20, all read 200 MΩ: values that are measured differ a little; ask whether they were."
    );
    assert_eq!(message(&judge(quarterly(&[210.0, 190.0, 220.0, 200.0, 200.0, 200.0])), Code::ValueRepeated), "");
}

#[test]
fn another_scale_of_the_same_tester_is_said() {
    let mut tests = quarterly(&steady(200.0, 12));
    let last = |instrument, full_scale| {
        test(&[
            ("tested_on", "2026-11-02"),
            ("r_60s", "205"),
            ("winding_temp_c", "25"),
            ("full_scale", full_scale),
            ("instrument", instrument),
        ])
    };
    tests.push(last("tester 1", "2000"));
    tests.push(TestRecord { tested_on: crate::record::TestedOn::day(day("2026-11-09")), ..last("tester 1", "1 GΩ") });
    let result = judge(tests.clone());
    assert_eq!(result.action, Action::Keep, "{:?}", result.findings);
    assert_eq!(
        message(&result, Code::FullScaleChanged),
        "The scale ended at 1 GΩ on 2026-11-09 and at 2 GΩ on 2026-11-02: what is over range on one may be a number on the other."
    );
    tests[13].instrument = Some("tester 2".to_owned());
    assert_eq!(message(&judge(tests), Code::FullScaleChanged), "", "another tester is said, not its scale");
}

#[test]
fn rows_of_another_winding_are_found_and_both_are_doubted() {
    let of = |name: &str, values: &[f64]| -> Vec<TestRecord> {
        quarterly(values).into_iter().map(|test| TestRecord { winding: name.to_owned(), ..test }).collect()
    };
    let one = [210.0, 190.0, 220.0, 205.0, 231.0, 187.0];
    let other = [410.0, 390.0, 420.0, 405.0, 231.0, 187.0];
    let results = judge_all([of("P-1", &one), of("P-2", &other)].concat(), nameplate());
    for (result, name) in results.iter().zip(["P-2", "P-1"]) {
        assert_eq!(result.assessment.action, Action::Recheck);
        assert_eq!(
            message(&result.assessment, Code::CopiedRows),
            format!(
                "The test of 2026-10-20 has exactly the same readings and temperatures as {name} on that day, as on 2026-07-21: \
                 one of the two was probably copied."
            )
        );
    }
    let once = [410.0, 390.0, 420.0, 405.0, 230.0, 187.0];
    let results = judge_all([of("P-1", &one), of("P-2", &once)].concat(), nameplate());
    assert!(results.iter().all(|result| message(&result.assessment, Code::CopiedRows).is_empty()), "chance");
    let all = ["P-1", "P-2", "P-3", "P-4"].map(|name| of(name, &[500.0, 450.0, 2000.0, 2000.0]));
    let results = judge_all(all.concat(), nameplate());
    assert!(
        results.iter().all(|result| message(&result.assessment, Code::CopiedRows).is_empty()),
        "the end of a scale"
    );
}

#[test]
fn three_timed_readings_are_enough_on_one_day() {
    let on = |name: &str| {
        test(&[
            ("winding", name),
            ("tested_on", "2026-10-24"),
            ("r_30s", "310"),
            ("r_60s", "402"),
            ("r_10min", "811"),
            ("winding_temp_c", "21"),
        ])
    };
    let results = judge_all(vec![on("P-1"), on("P-2")], nameplate());
    assert_eq!(
        message(&results[0].assessment, Code::CopiedRows),
        "The test of 2026-10-24 has exactly the same readings and temperatures as P-2 on that day: one of the two was probably copied."
    );
    let phases = [on("P-1"), TestRecord { connection: crate::record::Connection::read("U-earth"), ..on("P-1") }];
    let results = judge_all(phases.to_vec(), nameplate());
    assert!(results.iter().all(|result| message(&result.assessment, Code::CopiedRows).is_empty()), "one winding");
}

/// Four other tests are enough to say that a temperature does not fit, three are not.
#[test]
fn a_temperature_is_contradicted_by_four_others() {
    let after = |n: usize| {
        let mut tests = quarterly(&steady(200.0, n));
        tests.push(test(&[("tested_on", "2026-11-02"), ("r_60s", "210"), ("winding_temp_c", "75")]));
        message(&judge(tests), Code::TemperatureImplausible).to_owned()
    };
    assert_eq!(after(3), "");
    assert!(after(4).contains("75 °F, which is 23.9 °C, would fit"), "{}", after(4));
}

/// At −20 °C the thermosetting law divides by exp(1245·(1/253 − 1/298)) = 2.1 beside 25 °C: 180 MΩ contradict the others.
#[test]
fn a_temperature_far_below_all_others_is_found_too() {
    let cold = with_latest(200.0, &[("r_60s", "180"), ("winding_temp_c", "-20")]);
    assert!(
        message(&cold, Code::TemperatureImplausible)
            .ends_with("25 °C, as usual, would fit: read the temperature again."),
        "{:?}",
        cold.findings
    );
}

/// What is said of a latest reading so many decades off the 200 MΩ of twelve others at 25 °C, at another temperature.
fn at_another_temperature(celsius: &str, off: f64) -> String {
    let r60 = format!("{}", 200.0 * 10f64.powf(off));
    let latest = with_latest(200.0, &[("r_60s", &r60), ("winding_temp_c", celsius)]);
    message(&latest, Code::TemperatureImplausible).to_owned()
}

const AS_USUAL: &str = "; 25 °C, as usual, would fit: read the temperature again.";

/// At −20 °C the thermosetting law leaves 1245·(1/253 − 1/298)·log10 e = 0.323 decades less than at 25 °C.
#[test]
fn a_reading_contradicts_the_others_from_three_tenths_of_a_decade() {
    assert_eq!(at_another_temperature("-20", 0.033), "", "0.29 decades below");
    assert!(at_another_temperature("-20", 0.013).ends_with(AS_USUAL), "0.31 decades below");
}

/// At 120 °C any of these contradicts by more than a decade, and 120 °F are 48.9 °C, which no other test comes near.
#[test]
fn a_reading_agrees_with_the_others_up_to_a_fifth_of_a_decade() {
    for off in [0.19, -0.19] {
        assert!(at_another_temperature("120", off).ends_with(AS_USUAL), "{off}");
    }
    assert_eq!([at_another_temperature("120", 0.21), at_another_temperature("120", -0.21)], ["", ""]);
}

/// At 44 °C the law gives 0.161 decades more than at 25 °C. With the reading 0.145 decades high the usual temperature more
/// than halves the distance, 0.306; with 0.17 it does not halve 0.331, though it agrees well enough.
#[test]
fn another_temperature_fits_only_if_it_at_least_halves_the_distance() {
    assert!(at_another_temperature("44", 0.145).ends_with(AS_USUAL));
    assert_eq!(at_another_temperature("44", 0.17), "");
}

/// The others were made at 25 °C: degrees Fahrenheit are believed from 15 °C, which are 59 °F, to 35 °C, which are 95 °F.
#[test]
fn degrees_fahrenheit_are_believed_within_ten_kelvins_of_the_others() {
    for (written, is) in [("59", "15"), ("95", "35")] {
        let said = at_another_temperature(written, 0.0);
        assert!(
            said.ends_with(&format!("; {written} °F, which is {is} °C, would fit: read the temperature again.")),
            "{said}"
        );
    }
    for written in ["58.9", "95.1"] {
        assert!(at_another_temperature(written, 0.0).ends_with(AS_USUAL), "{written}");
    }
}

/// The thermoplastic law halves every 10 K, so ten kelvins from the others an equal reading contradicts them by 0.301
/// decades. Judged by hand, because one such test already teaches another law.
#[test]
fn a_temperature_jumps_beyond_ten_kelvins_of_the_others() {
    let said = |celsius: &str| {
        let mut tests = quarterly(&steady(200.0, 12));
        tests.push(test(&[("tested_on", "2026-11-02"), ("r_60s", "200"), ("winding_temp_c", celsius)]));
        let nameplate = Nameplate { insulation: Insulation::Thermoplastic, ..nameplate() };
        let mut by_hand = ByHand::of(nameplate.clone());
        let register = Register::from([("P-1".to_owned(), nameplate)]);
        by_hand.case = Case::prepare(Series::collect(tests).remove(0), &register, None, &by_hand.terms);
        by_hand.judge().message(Code::TemperatureImplausible).to_owned()
    };
    assert_eq!([said("35"), said("15")], ["", ""]);
    for beyond in ["35.1", "14.9"] {
        assert!(said(beyond).ends_with(AS_USUAL), "{beyond}: {}", said(beyond));
    }
}

/// 1.2 times 210 MΩ is 252 MΩ; after the first minute a fall is not judged.
#[test]
fn a_fall_within_a_minute_counts_beyond_a_fifth() {
    let said = |r30: &str, r600: &str| {
        let cells = [("r_30s", r30), ("r_60s", "210"), ("r_600s", r600), ("winding_temp_c", "25")];
        message(&with_latest(200.0, &cells), Code::TimedReadingsFall).to_owned()
    };
    assert_eq!([said("252", "300"), said("200", "100")], ["", ""]);
    assert!(!said("253", "300").is_empty());
    let result = with_latest(200.0, &[("r_30s", "310"), ("r_60s", "210"), ("winding_temp_c", "25")]);
    let finding = result.findings.iter().find(|finding| finding.code == Code::TimedReadingsFall).unwrap();
    assert_eq!(finding.evidence, [("ratio", Evidence::Number(210.0 / 310.0))]);
}

#[test]
fn scales_within_a_hundredth_are_the_same() {
    let mut tests = quarterly(&steady(200.0, 12));
    for (at, scale) in [(10, 2000.0), (11, 2010.0)] {
        tests[at].full_scale = Resistance::from_megohms(scale).ok();
    }
    assert_eq!(message(&judge(tests), Code::FullScaleChanged), "");
}

/// One temperature unlike all others teaches no law, whatever was read at it.
#[test]
fn one_odd_temperature_is_no_law() {
    for celsius in ["5", "10", "35", "45", "60"] {
        for r60 in ["60", "120", "200", "300"] {
            let latest = with_latest(200.0, &[("r_60s", r60), ("winding_temp_c", celsius)]);
            assert_eq!(message(&latest, Code::LawLearnt), "", "{r60} MΩ at {celsius} °C");
        }
    }
}

/// One row in °F among rows in °C: 5.9 MΩ at 59 °F, which is 15 °C, are 4.2 MΩ at 40 °C against a minimum of 5 MΩ.
#[test]
fn one_temperature_in_fahrenheit_among_others_is_not_passed() {
    let of = |written: &str, air: &str, note: &str| {
        let usual = at_temperatures(&[(9.2, 22.0), (9.5, 23.0), (9.1, 21.0), (9.3, 22.0)]).into_iter();
        let row = [
            ("tested_on", "2026-11-15"),
            ("r_60s", "5.9"),
            ("winding_temp_c", written),
            ("air_temp_c", air),
            ("note", note),
        ];
        judge(usual.chain([test(&row)]).collect())
    };
    let slipped = of("59", "16", "");
    // Without that test the level is close to the minimum.
    assert_eq!((slipped.action, slipped.must_not_be_energised()), (Action::Plan, true));
    assert_eq!(
        message(&slipped, Code::TemperatureImplausible),
        "In 1 of 1 tests the winding is recorded as 30 K and more above the air, as if a °F column had been labelled °C: \
         59 °C on 2026-11-15 would then be 15 °C; correct the header or read the temperature again. If the machine was tested hot from \
         service, write “hot” into the note of each such test."
    );
    for note in ["not hot", "hot day", "a warm room", "no longer warm"] {
        assert_ne!(message(&of("59", "16", note), Code::TemperatureImplausible), "", "{note}");
    }
    for note in ["hot", "tested warm from service", "still hot, hot day"] {
        assert_eq!(message(&of("59", "16", note), Code::TemperatureImplausible), "", "{note}");
    }
}

/// Air of 68 °C is none: 68 °F is 20 °C.
#[test]
fn air_too_hot_to_be_air_is_not_believed() {
    let of = |air: &str| {
        let row = [("tested_on", "2026-11-15"), ("r_60s", "210"), ("winding_temp_c", "71"), ("air_temp_c", air)];
        judge(quarterly(&steady(200.0, 8)).into_iter().chain([test(&row)]).collect())
    };
    let hot = of("68");
    assert_eq!((hot.action, hot.must_not_be_energised()), (Action::Recheck, true));
    assert_eq!(
        message(&hot, Code::TemperatureImplausible),
        "On 2026-11-15 air_temp is recorded as 68 °C, too hot for ambient air; in °F it would be 20 °C, and the temperature of \
         the winding may be in °F too. Correct the headers or read the temperatures again, and do not start it on this answer."
    );
    assert!(!message(&of("45"), Code::TemperatureImplausible).contains("too hot for the air"));
}
