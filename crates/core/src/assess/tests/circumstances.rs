//! How the latest test was made, at the limits of each rule.

use super::*;

/// The usual history at 500 V, then one more test on 2 November.
fn after_the_usual(cells: &[(&str, &str)]) -> SeriesAssessment {
    let mut tests = quarterly(&steady(200.0, 12));
    let row = [("tested_on", "2026-11-02"), ("r_60s", "210"), ("winding_temp_c", "25")];
    let row: Vec<_> = row.into_iter().filter(|(name, _)| cells.iter().all(|(other, _)| other != name)).collect();
    tests.push(test(&[&row[..], cells].concat()));
    judge(tests)
}

/// IEC 61557-2 cl. 4.2 (from memory): up to 1.25 times the nominal voltage.
#[test]
fn a_tester_may_put_out_a_quarter_more_than_its_setting() {
    let output = |volts| after_the_usual(&[("test_volts", "500"), ("output_volts", volts)]);
    assert_eq!(message(&output("625"), Code::TesterOutput), "");
    assert_eq!(message(&output("400"), Code::TesterOutput), "");
    let high = output("630");
    assert_eq!(
        message(&high, Code::TesterOutput),
        "On 2026-11-02 the tester set to 500 V delivered 630 V, 1.26 times its setting; 0.8 to 1.25 times are inside its tolerance; have the tester looked at."
    );
    assert_eq!(high.action, Action::Keep);
}

/// IEEE Std 43-2000 Table 1: 2500 to 5000 V for a rating of 5001 to 12000 V.
#[test]
fn a_test_outside_the_guide_is_said_with_the_guides_range() {
    let at = |volts: &str| {
        let rated = Nameplate { rated_voltage: Some(Voltage::from_volts(6600.0).unwrap()), ..nameplate() };
        let row = [("tested_on", "2026-10-20"), ("r_60s", "900"), ("winding_temp_c", "25"), ("test_volts", volts)];
        let result = judge_all(vec![test(&row)], rated).remove(0).assessment;
        message(&result, Code::VoltageOutsideGuide).to_owned()
    };
    assert_eq!([at("2500"), at("5000"), at("2000"), at("6250")], [""; 4]);
    assert_eq!(
        at("1990"),
        "The test of 2026-10-20 was made at 1990 V; the guide for a winding rated 6600 V is 2500 V to 5000 V."
    );
    let said = |volts: &str| {
        format!(
            "The test of 2026-10-20 was made at {volts} V; the guide for a winding rated 6600 V is 2500 V to 5000 V"
        )
    };
    for volts in ["6260", "9990"] {
        assert_eq!(at(volts), format!("{}.", said(volts)), "not far above the guide");
    }
    for volts in ["1250", "1990"] {
        assert_eq!(at(volts), format!("{}.", said(volts)), "half of the guide and more");
    }
    for volts in ["10000", "15000"] {
        assert_eq!(at(volts), format!("{}; so far above it the test strains the insulation.", said(volts)));
    }
}

/// More than one step of a tester below the least voltage of the guide, and less than twice the rated one: a good reading is not passed. Common practice.
#[test]
fn a_test_far_below_the_guide_passes_nothing() {
    let at = |rated: f64, volts: &str| {
        let nameplate = Nameplate { rated_voltage: Some(Voltage::from_volts(rated).unwrap()), ..nameplate() };
        let tests = quarterly(&steady(5000.0, 12)).into_iter().map(|test| TestRecord { test_volts: None, ..test });
        let row = [("tested_on", "2026-11-02"), ("r_60s", "5000"), ("winding_temp_c", "25"), ("test_volts", volts)];
        judge_all(tests.chain([test(&row)]).collect(), nameplate).remove(0).assessment
    };
    for (rated, volts, guide) in [
        (3300.0, "100", "1000 V to 2500 V"),
        (3300.0, "390", "1000 V to 2500 V"),
        (400.0, "180", "500 V"),
        (690.0, "100", "500 V"),
        (6600.0, "500", "2500 V to 5000 V"),
        (13_800.0, "1000", "5000 V to 10000 V"),
    ] {
        let result = at(rated, volts);
        assert_eq!((result.action, result.must_not_be_energised()), (Action::Recheck, true), "{rated} {volts}");
        assert_eq!(
            message(&result, Code::VoltageOutsideGuide),
            format!(
                "The test of 2026-11-02 was made at {volts} V; the guide for a winding rated {rated} V is {guide}; so far below that \
                 a test proves little: do not start it until the test is repeated at the guide's voltage."
            )
        );
    }
    for (rated, volts) in
        [(400.0, "250"), (3300.0, "500"), (6600.0, "1000"), (24.0, "100"), (110.0, "240"), (13_800.0, "2500")]
    {
        assert_eq!(at(rated, volts).action, Action::Keep, "{rated} {volts}");
    }
}

/// IEEE Std 43-2000 Table 1 is about windings, with or without their cable; ANSI/NETA MTS-2019 Table 100.1 about cables, IEC 60364-6
/// Table 6.1 about circuits.
#[test]
fn windings_cables_and_circuits_have_guides_of_their_own() {
    let at = |scope: &str| {
        let row = [("tested_on", "2026-10-20"), ("r_60s", "900"), ("winding_temp_c", "25"), ("test_volts", "1000")];
        let result = judge(vec![test(&[&row[..], &[("scope", scope)]].concat())]);
        message(&result, Code::VoltageOutsideGuide).to_owned()
    };
    assert_eq!(at("cable"), "");
    assert_eq!(
        at("circuit"),
        "The test of 2026-10-20 was made at 1000 V; the guide for a circuit rated 400 V is 500 V; so far above it the test strains the \
         insulation."
    );
    for scope in ["winding", "winding+cable"] {
        assert_eq!(
            at(scope),
            "The test of 2026-10-20 was made at 1000 V; the guide for a winding rated 400 V is 500 V; \
             so far above it the test strains the insulation."
        );
    }
}

#[test]
fn voltages_within_a_quarter_are_the_same_step_of_a_tester() {
    assert_eq!(message(&after_the_usual(&[("test_volts", "625")]), Code::VoltageChanged), "");
    assert_eq!(message(&after_the_usual(&[("test_volts", "400")]), Code::VoltageChanged), "");
    for volts in ["630", "390"] {
        assert_eq!(
            message(&after_the_usual(&[("test_volts", volts)]), Code::VoltageChanged),
            format!(
                "The test of 2026-11-02 was made at {volts} V, the one of 2026-10-20 at 500 V: \
                 part of any difference may come from the voltage."
            )
        );
    }
}

#[test]
fn another_tester_is_said_whatever_the_letters_and_blanks() {
    let mut tests = quarterly(&steady(200.0, 12));
    tests[10].instrument = Some("tester 1".to_owned());
    tests[11].instrument = Some(" Tester 1".to_owned());
    assert_eq!(message(&judge(tests.clone()), Code::InstrumentChanged), "");
    tests[11].instrument = Some("tester 2".to_owned());
    let changed = judge(tests);
    assert_eq!(changed.action, Action::Keep);
    assert_eq!(
        message(&changed, Code::InstrumentChanged),
        "The test of 2026-10-20 was made with tester 2, the one of 2026-07-21 with tester 1: testers may differ by 30 % of the reading each."
    );
}

/// Dew point 17.7 °C by WMO-No. 8 (19 °C, 92 %); the margin is 3 K.
#[test]
fn a_winding_below_the_dew_point_is_said_to_be_below_it() {
    let at = |celsius| after_the_usual(&[("winding_temp_c", celsius), ("air_temp_c", "19"), ("rh_percent", "92")]);
    assert_eq!(message(&at("21"), Code::DampTest), "");
    let below = at("17");
    assert_eq!(
        message(&below, Code::DampTest),
        "On 2026-11-02 the winding, at 17 °C, was 0.7 K below the dew point of 17.7 °C; at the dew point a winding is wet: do not start it until it is dry and the test is repeated."
    );
    assert_eq!(below.action, Action::Recheck);
    assert_eq!(below.next_test.why, "now: the test of 2026-11-02 is doubtful; do not energise until it is repeated");
    // Over range or not, water was on it.
    let wet = [("winding_temp_c", "9"), ("air_temp_c", "19"), ("rh_percent", "92"), ("r_60s", ">1000")];
    let wet = after_the_usual(&wet);
    assert_eq!(wet.action, Action::Recheck);
    assert_eq!(
        message(&wet, Code::DampTest),
        "On 2026-11-02 the winding, at 9 °C, was 8.7 K below the dew point of 17.7 °C; at the dew point a winding is wet: do not start it until it is dry and the test is repeated."
    );
}

/// Humidity with one of the two temperatures: a machine at rest is as warm as the air. 97 % at 18 °C: dew point 17.5 °C (WMO-No. 8).
#[test]
fn a_missing_temperature_does_not_hide_damp() {
    let winding = after_the_usual(&[("winding_temp_c", "18"), ("rh_percent", "97")]);
    assert_eq!((winding.action, winding.must_not_be_energised()), (Action::Recheck, true));
    assert_eq!(
        message(&winding, Code::DampTest),
        "On 2026-11-02 the winding, at 18 °C, was 0.5 K above the dew point of 17.5 °C, with the air as warm as the winding, since its \
         temperature was not written down; damp lowers a reading, and at least 3 K are needed: do not start it until the test is repeated."
    );
    let air = after_the_usual(&[("winding_temp_c", ""), ("air_temp_c", "18"), ("rh_percent", "97")]);
    assert_eq!(
        message(&air, Code::DampTest),
        "On 2026-11-02 the winding, at 18 °C, was 0.5 K above the dew point of 17.5 °C, if it was as warm as the air, since its \
         temperature was not written down; damp lowers a reading, and at least 3 K are needed: do not start it until the test is repeated."
    );
    for (celsius, humidity) in [("18", "80"), ("60", "97")] {
        let result = after_the_usual(&[("winding_temp_c", celsius), ("rh_percent", humidity)]);
        assert_eq!(message(&result, Code::DampTest), "", "{celsius} {humidity}");
    }
}

#[test]
fn a_damp_winding_that_is_over_range_all_the_same_need_not_be_tested_again() {
    let damp = [("winding_temp_c", "18"), ("air_temp_c", "19"), ("rh_percent", "92"), ("r_60s", ">1000")];
    let result = after_the_usual(&damp);
    assert_eq!(
        message(&result, Code::DampTest),
        "On 2026-11-02 the winding, at 18 °C, was 0.3 K above the dew point of 17.7 °C; damp lowers a reading, and at least 3 K are needed."
    );
    assert_eq!(result.action, Action::Keep, "{:?}", result.findings);
}

#[test]
fn tests_after_the_as_of_date_are_counted() {
    let mut tests = quarterly(&steady(200.0, 12));
    for on in ["2026-11-26", "2027-01-10"] {
        tests.push(test(&[("tested_on", on), ("r_60s", "1"), ("winding_temp_c", "25")]));
    }
    assert_eq!(message(&judge(tests), Code::FutureTest), "2 tests are dated after 2026-11-25 and were left out.");
    let mut today = quarterly(&steady(200.0, 12));
    today.push(test(&[("tested_on", AS_OF), ("r_60s", "210"), ("winding_temp_c", "25")]));
    assert_eq!(message(&judge(today), Code::FutureTest), "");
}
