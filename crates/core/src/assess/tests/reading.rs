//! What the latest reading and the way it was taken lead to.

use super::by_hand::ByHand;
use super::*;
use crate::temperature::learnt::{LearntFrom, LearntLaw};
use crate::units::{Temperature, TemperatureDifference};

#[test]
fn at_or_below_the_minimum_is_held() {
    let mut values = steady(7.0, 12);
    values.push(5.5);
    let result = judge(quarterly(&values));
    assert_eq!(result.action, Action::Hold);
    assert_eq!(
        message(&result, Code::BelowMinimum),
        "The latest reading, 4.5 MΩ at 40 °C on 2026-10-20, is at or below the minimum of 5 MΩ."
    );
    assert_eq!(result.next_test.why, "before the winding is energised: it is at or below its minimum");
}

/// A forecast knows no day before the one it is made on, so that the readings say by when the minimum was reached: by the first
/// test below it that none above it followed.
#[test]
fn a_minimum_reached_long_ago_is_dated_by_the_readings() {
    let falling: Vec<f64> = (0..12).map(|i| 4000.0 * 10f64.powf(-0.3 * f64::from(i))).collect();
    let on = |i: usize| quarterly(&falling)[i].tested_on.date;
    let result = judge(quarterly(&falling));
    // 4000 MΩ · 10^(−0.3 i) · Kt of 0.82 is below 5 MΩ from i = 10 on: 3.3 and 1.6 MΩ.
    assert_eq!(result.forecast.below_since, Some(on(10)));
    assert!(result.forecast.is_reached(day("2026-11-25")), "{:?}", result.forecast);
    assert_eq!(
        result.forecast.in_words(day("2026-11-25")),
        format!("reached by {}: since then no reading has been above it", on(10))
    );
    let below = message(&result, Code::BelowMinimum);
    assert!(
        below.ends_with(&format!(", is at or below the minimum of 5 MΩ, as is every one since {}.", on(10))),
        "{below}"
    );
    // One reading above it in between, and nothing is dated before.
    let mut above = falling.clone();
    above[10] = 9.0;
    assert_eq!(judge(quarterly(&above)).forecast.below_since, Some(on(11)));
    assert_eq!(judge(quarterly(&steady(200.0, 12))).forecast.below_since, None);
}

#[test]
fn what_the_trend_alone_has_reached_is_said_without_a_date() {
    let dates =
        CrossingDates { earliest: day("2026-11-25"), median: Some(day("2026-11-25")), latest: Some(day("2026-11-25")) };
    let forecast = Forecast { reaches_minimum: Some(dates), ..Forecast::default() };
    assert_eq!(forecast.in_words(day("2026-11-25")), "reached, by the trend, though the latest reading is above it");
    assert_eq!(forecast.in_words(day("2026-11-24")), "by 2026-11-25");
    assert_eq!(Forecast::default().in_words(day("2026-11-24")), "cannot be said");
}

#[test]
fn zero_is_held_even_without_a_nameplate() {
    let tests = vec![test(&[("tested_on", "2026-10-20"), ("r_60s", "0")])];
    let result = judge_all(tests, Nameplate::default()).remove(0).assessment;
    assert_eq!(result.action, Action::Hold);
}

#[test]
fn a_missing_temperature_matters_only_where_it_could_change_the_verdict() {
    let with_latest = |level: f64| {
        let mut tests = quarterly(&steady(level, 12));
        tests.push(test(&[("tested_on", "2026-11-02"), ("r_60s", &format!("{level}"))]));
        judge(tests)
    };
    let far = with_latest(200.0);
    assert_eq!(far.action, Action::Keep);
    assert_eq!(
        message(&far, Code::TemperatureMissing),
        "The latest test, on 2026-11-02, has no winding temperature, so 200 MΩ cannot be corrected; even at the worst likely temperature it is 26.2 times the minimum, which is enough."
    );
    assert_eq!(far.latest.unwrap().kt, None);
    let near = with_latest(30.0);
    assert_eq!(near.action, Action::Recheck);
    assert_eq!(
        message(&near, Code::TemperatureMissing),
        "The latest test, on 2026-11-02, has no winding temperature, so 30 MΩ cannot be corrected; at the worst likely temperature \
         it is 3.94 times the minimum, and 10 are needed."
    );
}

#[test]
fn a_cold_winding_is_flagged_and_doubted() {
    let mut tests = quarterly(&steady(30.0, 12));
    tests.push(test(&[("tested_on", "2026-11-02"), ("r_60s", "40"), ("winding_temp_c", "2")]));
    let cold = judge(tests);
    assert_eq!(cold.action, Action::Recheck);
    assert_eq!(
        message(&cold, Code::TemperatureOutsideLaw),
        "The winding was at 2 °C on 2026-11-02, outside the 10 to 85 °C for which the temperature law holds; at the worst likely \
         temperature it is 1.52 times the minimum, and 2 are needed."
    );
}

#[test]
fn leads_that_were_not_proved_make_the_test_void() {
    let mut tests = quarterly(&steady(200.0, 12));
    tests.push(test(&[
        ("tested_on", "2026-11-02"),
        ("r_60s", ">2000"),
        ("winding_temp_c", "20"),
        ("lead_check", "failed"),
    ]));
    let result = judge(tests);
    assert_eq!(result.action, Action::Recheck);
    assert_eq!(
        message(&result, Code::LeadCheckFailed),
        "The lead check before the test of 2026-11-02 failed, so that test does not count: leads must read zero shorted and over range open."
    );
    assert_eq!(result.latest.unwrap().tested_on, day("2026-10-20"));
}

#[test]
fn a_scale_that_ends_below_the_minimum_proves_nothing() {
    let big = Nameplate {
        construction: Some(Construction::FormWound),
        rated_voltage: Some(Voltage::from_volts(6600.0).unwrap()),
        ..nameplate()
    };
    let tests = vec![test(&[("tested_on", "2026-10-20"), ("r_60s", ">50"), ("winding_temp_c", "30")])];
    let result = judge_all(tests, big).remove(0).assessment;
    assert_eq!(result.action, Action::Recheck);
    assert_eq!(
        message(&result, Code::OffScale),
        "The tester's scale ended at 50 MΩ on 2026-10-20, which at the reference temperature is not above the minimum of 100 MΩ; test with a \
         higher scale."
    );
}

#[test]
fn over_range_without_a_known_scale_is_no_number() {
    let mut tests = quarterly(&steady(800.0, 8));
    tests.push(test(&[("tested_on", "2026-11-02"), ("r_60s", "OL"), ("winding_temp_c", "20")]));
    let result = judge(tests);
    let latest = result.latest.clone().unwrap();
    assert_eq!((latest.r60_mohm, latest.r60_ref_mohm, latest.bound), (None, None, crate::resistance::Bound::Above));
    assert_eq!(
        message(&result, Code::OffScale),
        "The tester was over range on 2026-11-02 and its full scale was not recorded, so the test proves nothing: write \
         it under full_scale, or repeat the test."
    );
    assert_eq!(result.action, Action::Recheck);
}

#[test]
fn voltage_and_tester_are_compared_with_the_guide_and_the_test_before() {
    let mut tests = quarterly(&steady(200.0, 12));
    tests.push(test(&[
        ("tested_on", "2026-11-02"),
        ("r_60s", "210"),
        ("winding_temp_c", "25"),
        ("test_volts", "1000"),
        ("output_volts", "1020"),
    ]));
    let result = judge(tests);
    assert_eq!(result.action, Action::Keep);
    assert_eq!(
        message(&result, Code::VoltageOutsideGuide),
        "The test of 2026-11-02 was made at 1000 V; the guide for a winding rated 400 V is 500 V; so far above it the test strains the insulation."
    );
    assert_eq!(
        message(&result, Code::VoltageChanged),
        "The test of 2026-11-02 was made at 1000 V, the one of 2026-10-20 at 500 V: part of any difference may come from the voltage."
    );
}

#[test]
fn a_series_that_was_never_read_at_one_minute_says_so() {
    let result = judge(vec![test(&[("tested_on", "2026-10-20"), ("r_30s", "300")])]);
    assert_eq!(result.action, Action::Recheck);
    assert_eq!(
        message(&result, Code::NoReading),
        "No test up to 2026-10-20 counts: none has a one-minute resistance taken with proven leads."
    );
    assert_eq!(
        result.forecast.cannot_say.as_deref(),
        Some("no reading counts, so nothing can be said about the minimum")
    );
}

/// It was read after the work, but with leads that nobody proved.
#[test]
fn a_void_reading_after_an_event_is_not_called_missing() {
    let mut tests = quarterly(&steady(200.0, 12));
    tests.push(test(&[
        ("tested_on", "2026-11-02"),
        ("r_60s", "600"),
        ("winding_temp_c", "25"),
        ("event", "dried"),
        ("lead_check", "failed"),
    ]));
    let result = judge(tests);
    assert_eq!(result.action, Action::Recheck);
    assert_eq!(
        message(&result, Code::NoReading),
        "No test up to 2026-11-02 counts: none has a one-minute resistance taken with proven leads."
    );
}

#[test]
fn a_learnt_law_is_said_where_it_corrects() {
    let said = |corrects: bool| {
        let kelvins = |k: f64| TemperatureDifference::from_kelvins(k).unwrap();
        let mut by_hand = ByHand::calm();
        let learnt = LearntLaw {
            halving: kelvins(17.0),
            halving_low: kelvins(15.3),
            halving_high: Some(kelvins(19.1)),
            source: LearntFrom::Winding,
            evidence: 6.0,
            tests: 24,
            from: Temperature::from_celsius(14.0).unwrap(),
            to: Temperature::from_celsius(47.0).unwrap(),
        };
        by_hand.case.learnt = Some(learnt);
        by_hand.case.law.learnt = corrects.then(|| learnt.range());
        by_hand.judge().message(Code::LawLearnt).to_owned()
    };
    assert_eq!(
        said(true),
        "The readings themselves say that the resistance halves every 17 K (15.3 K to 19.1 K), from the winding's own 24 \
         tests between 14 °C and 47 °C; that beats the assumed law (thermosetting, two activation branches), so it was used."
    );
    assert_eq!(said(false), "");
}

#[test]
fn a_full_scale_below_an_exact_reading_is_a_contradiction() {
    let mut tests = quarterly(&steady(800.0, 8));
    tests.push(test(&[("tested_on", "2026-11-02"), ("r_60s", "900"), ("winding_temp_c", "25"), ("full_scale", "500")]));
    let result = judge(tests);
    assert_eq!(result.action, Action::Recheck);
    assert_eq!(
        message(&result, Code::OffScale),
        "900 MΩ was read on 2026-11-02 with a tester whose scale is said to end at 500 MΩ; one of the two is wrong."
    );
}

/// From 20 to 40 °C the thermoplastic law takes a quarter, the thermosetting one exp(−1245·(1/293 − 1/313)) = 0.7622 of a
/// reading: a factor of 3.05 between them.
#[test]
fn what_the_nameplate_does_not_say_is_said() {
    let of = |cell: &str| {
        let tests = vec![test(&[("tested_on", "2026-10-20"), ("r_60s", cell), ("winding_temp_c", "20")])];
        judge_all(tests, Nameplate::default()).remove(0).assessment
    };
    assert_eq!(
        message(&of("900"), Code::MinimumUnknown),
        "The rated voltage is not known, so the winding is judged against 5 MΩ; enter it into the register before relying on this."
    );
    for cell in ["900", ">900"] {
        assert_eq!(
            message(&of(cell), Code::InsulationUnknown),
            "The insulation family is not known: the stricter of both temperature laws was used; the other gives 3.05 times as much for the latest reading."
        );
    }
    assert_eq!(message(&of("OL"), Code::InsulationUnknown), "");
}

#[test]
fn a_register_that_cannot_be_read_never_leads_to_keep() {
    let days = ["2025-11-20", "2026-02-18", "2026-05-20", "2026-08-19", "2026-11-18"];
    let tests = || days.map(|day| test(&[("tested_on", day), ("r_60s", "900"), ("winding_temp_c", "40")])).to_vec();
    let plain = judge_all(tests(), Nameplate::default()).remove(0).assessment;
    assert!(!plain.findings.iter().any(|finding| finding.code == Code::RegisterUnread));
    let unread = Nameplate { unread: vec!["rated_volts 4OO".to_owned()], ..Nameplate::default() };
    let result = judge_all(tests(), unread).remove(0).assessment;
    assert_eq!(result.action, Action::Recheck);
    assert_eq!(
        message(&result, Code::RegisterUnread),
        "The register says rated_volts 4OO of this winding, which cannot be read and counts as not known; correct the \
         register before deciding anything."
    );
}

#[test]
fn a_reading_at_the_end_of_its_scale_is_no_contradiction() {
    let tests =
        vec![test(&[("tested_on", "2026-10-20"), ("r_60s", "500"), ("winding_temp_c", "25"), ("full_scale", "500")])];
    assert_eq!(message(&judge(tests), Code::OffScale), "");
}

/// 2 °C is 8 K below the range: 40 MΩ · exp(−1245·(1/275 − 1/313)) · 10^(−2·8·0.030103)/5 MΩ = 1.523.
#[test]
fn outside_its_law_a_reading_keeps_what_twice_the_doubt_leaves() {
    let tests = vec![test(&[("tested_on", "2026-10-20"), ("r_60s", "40"), ("winding_temp_c", "2")])];
    let result = judge(tests);
    let said = message(&result, Code::TemperatureOutsideLaw);
    assert!(said.contains("it is 1.52 times the minimum, and 2 are needed"), "{said}");
}

/// The curve for thermoplastic insulation ends at 100 °C (IEEE Std 43 cl. 6.3, from memory); 0.3 MΩ at 110 °C would be 38 MΩ at 40 °C.
#[test]
fn no_law_is_carried_far_beyond_its_range() {
    let old = Nameplate {
        construction: Some(Construction::FormWound),
        insulation: Insulation::Thermoplastic,
        rated_voltage: Some(Voltage::from_volts(4160.0).unwrap()),
        year_made: Some(1962),
        ..Nameplate::default()
    };
    let at = |celsius: f64, r60: f64| {
        let tests = at_temperatures(&[(r60, celsius), (r60 * 1.1, celsius), (r60 * 0.95, celsius), (r60, celsius)]);
        judge_all(tests, old.clone()).remove(0).assessment
    };
    let hot = at(110.0, 0.3);
    assert_eq!(hot.action, Action::Recheck);
    assert_eq!(
        message(&hot, Code::TemperatureOutsideLaw),
        "The winding was at 110 °C on 2026-10-20, outside the 0 to 100 °C for which the temperature law holds; at the worst likely \
         temperature it is 1.86 times the minimum, and 10 are needed."
    );
    assert_eq!(message(&at(95.0, 4.0), Code::TemperatureOutsideLaw), "");
}
