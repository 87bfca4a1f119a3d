//! What caused the action is reported first, with the note of its test.

use super::by_hand::ByHand;
use super::*;
use crate::trend::Fall;

fn low_reading() -> ByHand {
    let fall = Fall { readings: 1, probability: 1e-5, drop_log10: 0.5 };
    ByHand::calm().with(|outlook| {
        outlook.fall = Some(fall);
        outlook.summary.p_falling = Some(0.9995);
    })
}

fn codes(verdict: &super::by_hand::Verdict) -> Vec<Code> {
    verdict.findings.iter().map(|finding| finding.code).collect()
}

#[test]
fn a_damp_test_is_told_before_what_the_damp_did() {
    let mut by_hand = low_reading();
    let last = by_hand.case.series.tests.last_mut().unwrap();
    last.note = Some("rain overnight, hall doors open".to_owned());
    last.winding_temp = Temperature::from_celsius(15.0).ok();
    last.air_temp = Temperature::from_celsius(15.0).ok();
    last.humidity = crate::units::RelativeHumidity::from_percent(95.0).ok();
    let verdict = by_hand.judge();
    assert_eq!(verdict.action, Action::Recheck);
    assert_eq!(codes(&verdict)[..3], [Code::DampTest, Code::FallSinceLast, Code::Falling]);
    assert_eq!(
        verdict.findings[0].message,
        "On 2026-10-20 the winding, at 15 °C, was 0.8 K above the dew point of 14.2 °C; damp lowers a reading, and at \
         least 3 K are needed: do not start it until the test is repeated. The note of that test: “rain overnight, hall doors open”."
    );
    assert!(verdict.findings[0].evidence.contains(&("note", "rain overnight, hall doors open".into())));
    assert!(!verdict.message(Code::FallSinceLast).contains("note"), "the note is quoted once");
}

#[test]
fn a_fall_alone_quotes_the_note_and_a_blank_note_is_none() {
    let with_note = |note: &str| {
        let mut by_hand = low_reading();
        by_hand.case.series.tests.last_mut().unwrap().note = Some(note.to_owned());
        by_hand.judge().findings.remove(0).message
    };
    let fall = "The latest reading is lower by a factor of 3.16 than the earlier ones led to expect, well beyond the scatter of single tests; do not start it until the test is repeated.";
    assert_eq!(with_note("leads moved"), format!("{fall} The note of that test: “leads moved”."));
    assert_eq!(with_note("  "), fall);
}

/// A failed lead check is of the last test made, and so is the note beside it, although that test does not count.
#[test]
fn the_note_is_of_the_test_that_was_left_out() {
    let mut tests = quarterly(&steady(200.0, 20));
    let last = tests.last_mut().unwrap();
    (last.lead_check, last.note) = (Some(crate::record::LeadCheck::Failed), Some("clip broken".to_owned()));
    let result = judge(tests);
    assert_eq!(result.findings[0].code, Code::LeadCheckFailed);
    assert!(result.findings[0].message.ends_with(" The note of that test: “clip broken”."), "{:?}", result.findings);
}

/// Three bounds of three days are enough for a trend that is none; fewer, or nearer to the minimum, are too little to go by.
#[test]
fn beyond_the_scale_throughout_is_kept_and_too_few_bounds_are_gathered() {
    let over = |limit: &str, days: &[&str]| {
        let one = |on: &&str| test(&[("tested_on", *on), ("r_60s", limit), ("winding_temp_c", "40")]);
        judge(days.iter().map(one).collect())
    };
    let days = ["2026-01-10", "2026-04-10", "2026-10-20"];
    assert_eq!(over(">50", &days).action, Action::Keep);
    assert_ne!(over(">49", &days).action, Action::Keep);
    assert_eq!(over(">1000", &days[..2]).action, Action::Gather);
    assert_eq!(over(">1000", &["2026-10-20T08:00", "2026-10-20T09:00", "2026-10-20T10:00"]).action, Action::Gather);
}
