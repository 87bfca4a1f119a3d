//! The record of the test: checks of the tester, discharge, where the machine was. Common practice throughout.

use super::*;

/// Four good quarters; the cells are those of every test.
fn judged(cells: &[(&str, &str)]) -> SeriesAssessment {
    let on = ["2026-01-20", "2026-04-21", "2026-07-21", "2026-10-20"];
    let tests = on.iter().zip(["300", "310", "295", "305"]).map(|(on, r60)| {
        let row = [("tested_on", *on), ("r_60s", r60), ("test_volts", "500"), ("winding_temp_c", "40")];
        let row = row.iter().filter(|(name, _)| cells.iter().all(|(other, _)| other != name)).chain(cells);
        test(&row.copied().collect::<Vec<_>>())
    });
    judge(tests.collect())
}

#[test]
fn a_record_without_fault_changes_nothing() {
    let good = [
        ("serial", "417"),
        ("calibration_due", "2027-03-31"),
        ("battery", "ok"),
        ("zero_check", "ok"),
        ("open_check", "ok"),
        ("source_check", "512"),
        ("proved_dead", "yes"),
        ("discharged_min", "4"),
        ("dielectric_discharge", "1.9"),
        ("equipment_state", "in service"),
    ];
    let (plain, recorded) = (judged(&[]), judged(&good));
    assert_eq!((recorded.action, recorded.findings), (plain.action, plain.findings));
    assert_eq!(plain.action, Action::Keep);
}

#[test]
fn what_went_wrong_is_said_and_the_test_repeated() {
    for (item, text, action, code, sentence) in [
        (
            "calibration_due",
            "2026-10-19",
            Action::Recheck,
            Code::CalibrationExpired,
            "On 2026-10-20 the tester was out of calibration: it was due on 2026-10-19, 1 day before; have it checked, or repeat the \
             test with another, before relying on this reading.",
        ),
        (
            "battery",
            "low",
            Action::Recheck,
            Code::BatteryLow,
            "The tester's battery was low on 2026-10-20, so its voltage may have collapsed under load: charge it and repeat the test \
             before the winding is energised.",
        ),
        (
            "source_check",
            "failed",
            Action::Recheck,
            Code::CheckFailed,
            "The tester's output failed its check before the test of 2026-10-20, so that test is void: repeat it with a tester that puts \
             out its voltage.",
        ),
        (
            "source_check",
            "390",
            Action::Recheck,
            Code::TesterOutput,
            "On 2026-10-20 the tester set to 500 V delivered 390 V, 0.78 times its setting; 0.8 to 1.25 times are inside its tolerance; a \
             voltage this low proves nothing, so the test is void: repeat it with a tester that holds its voltage.",
        ),
        (
            "zero_check",
            "failed",
            Action::Recheck,
            Code::LeadCheckFailed,
            "The zero check before the test of 2026-10-20 failed, so that test does not count: leads must read zero shorted and over \
             range open.",
        ),
        (
            "proved_dead",
            "no",
            Action::Recheck,
            Code::NotProvedDead,
            "The circuit was not proved dead before the test of 2026-10-20: a voltage on it endangers whoever tests and falsifies the \
             reading; prove it dead and repeat the test.",
        ),
        (
            "discharged_min",
            "3.9",
            Action::Keep,
            Code::ShortDischarge,
            "After the test of 2026-10-20 the winding was discharged for 3.9 min, and it was charged for 1 min: 4 min are needed before \
             anybody touches it.",
        ),
        (
            "dielectric_discharge",
            "2",
            Action::Keep,
            Code::HighDischarge,
            "The dielectric discharge of 2026-10-20 was 2; from 2 on insulation is questionable; watch it.",
        ),
        (
            "dielectric_discharge",
            "4",
            Action::Shorten,
            Code::HighDischarge,
            "The dielectric discharge of 2026-10-20 was 4; from 4 on insulation is poor: one of its layers is damp or dirty; look for the \
             cause.",
        ),
        (
            "equipment_state",
            "store",
            Action::Keep,
            Code::InStore,
            "It was in store on 2026-10-20: keep its heater on and its place dry, turn the shaft by hand when it is tested, and test it \
             once more before it goes into service.",
        ),
    ] {
        let result = judged(&[(item, text)]);
        assert_eq!((result.action, message(&result, code)), (action, sentence), "{item} {text}");
    }
    // The last good day is a good day.
    assert_eq!(judged(&[("calibration_due", "2026-10-20")]).action, Action::Keep);
}

/// A doubtful tester never turns a reading below the minimum into less than `hold`.
#[test]
fn a_doubtful_tester_does_not_excuse_a_low_reading() {
    for (item, text) in [("battery", "low"), ("calibration_due", "2025-01-01"), ("source_check", "failed")] {
        assert_eq!(judged(&[(item, text), ("r_60s", "3")]).action, Action::Hold, "{item}");
    }
}

#[test]
fn a_spare_in_store_has_its_own_interval() {
    let by = |cells: &[(&str, &str)]| judged(cells).next_test.by.to_string();
    assert_eq!([by(&[]), by(&[("equipment_state", "store")])], ["2027-01-19", "2027-04-20"]);
}

/// The machine stood for a day: its winding has the temperature of the air, and 305 MΩ at 20 °C are 0.76 times that at 40 °C.
#[test]
fn the_air_stands_in_for_a_winding_that_stood() {
    let air = [("winding_temp_c", ""), ("air_temp_c", "20")];
    let stood = judged(&[&air[..], &[("standing_h", "24")]].concat());
    assert_eq!(
        message(&stood, Code::TemperatureMissing),
        "The latest test, on 2026-10-20, has no winding temperature; the machine had stood for 24 h, so the 20 °C of the air \
         are used for it; even at the worst likely temperature it is 40.3 times the minimum, which is enough; write the winding's own next time."
    );
    assert!(stood.latest.is_some_and(|latest| latest.r60_ref_mohm.is_some_and(|mohm| (mohm - 232.5).abs() < 1.0)));
    for other in [vec![("standing_h", "23")], vec![]] {
        let ran = judged(&[&air[..], &other[..]].concat());
        assert_eq!(ran.latest.and_then(|latest| latest.r60_ref_mohm), None);
    }
}
