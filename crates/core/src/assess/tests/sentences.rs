//! What is said of the course of a stretch: whole sentences from figures set by hand.

use super::by_hand::ByHand;
use super::*;
use crate::trend::{Fall, Shift};
use std::f64::consts::LOG10_2;

fn fall(readings: usize, probability: f64) -> String {
    let fall = Fall { readings, probability, drop_log10: LOG10_2 };
    ByHand::calm().with(|outlook| outlook.fall = Some(fall)).judge().message(Code::FallSinceLast).to_owned()
}

#[test]
fn a_fall_is_said_of_one_reading_and_of_several() {
    assert_eq!(
        fall(1, 2.5e-4),
        "The latest reading is lower by a factor of 2 than the earlier ones led to expect, well beyond the scatter of single tests; do not start it until the test is repeated."
    );
    assert_eq!(
        fall(3, 2.5e-4),
        "The latest 3 readings are lower by a factor of 2 than the earlier ones led to expect, well beyond the scatter of single tests; as they agree, the fall is real."
    );
}

#[test]
fn how_far_a_fall_is_beyond_the_scatter_is_said() {
    for (probability, words) in
        [(0.002, "beyond"), (1e-3, "beyond"), (0.99e-3, "well beyond"), (1e-5, "well beyond"), (0.99e-5, "far beyond")]
    {
        let said = fall(1, probability);
        assert!(
            said.contains(&format!(" led to expect, {words} the scatter of single tests;")),
            "{probability}: {said}"
        );
    }
}

#[test]
fn a_decline_is_said_with_its_halving_time_beyond_the_policys_probability() {
    let at = |p| ByHand::calm().with(|outlook| outlook.summary.p_falling = Some(p)).judge();
    assert_eq!(at(0.999).message(Code::Falling), "");
    assert_eq!(
        at(0.9991).message(Code::Falling),
        "The level falls by more than the scatter of single tests: it halves about every 3.01 years; anything between 1.51 and 30.1 years fits the tests."
    );
    let yearly = ByHand::calm().with(|outlook| {
        outlook.summary.p_falling = Some(0.9991);
        outlook.summary.halving_years = Some(1.001);
    });
    assert!(yearly.judge().message(Code::Falling).contains("it halves about every year; anything"));
    let two = ByHand::calm().with(|outlook| {
        outlook.summary.p_falling = Some(0.9999);
        outlook.summary.exact = 2;
    });
    assert_eq!(two.judge().message(Code::Falling), "");
}

#[test]
fn a_jump_of_the_level_is_said_with_its_direction() {
    let jump = |step_log10| {
        let shift = Shift { index: 8, t_statistic: 9.0, step_log10 };
        let mut by_hand = ByHand::calm().with(|outlook| outlook.shift = Some(shift));
        assert_eq!(by_hand.judge().message(Code::LevelShift), "", "the stretch does not begin there");
        by_hand.case.start_at(8, SinceReason::LevelShift);
        let verdict = by_hand.judge();
        assert_eq!(
            verdict.findings[0].evidence,
            [("step_log10", Evidence::Number(step_log10)), ("t", Evidence::Number(9.0))]
        );
        verdict.message(Code::LevelShift).to_owned()
    };
    assert_eq!(
        jump(-LOG10_2),
        "The level fell by a factor of 2 at the test of 2024-01-23 and no event was written down: the trend is taken from there; find out what was done."
    );
    assert_eq!(
        jump(1.0),
        "The level rose by a factor of 10 at the test of 2024-01-23 and no event was written down: the trend is taken from there; find out what was done."
    );
}

/// Nothing is guessed from a note, but whoever looks for the reason is shown it.
#[test]
fn the_note_of_the_test_at_which_the_level_jumped_is_quoted() {
    let with_note = |note: &str| {
        let shift = Shift { index: 8, t_statistic: 9.0, step_log10: 1.0 };
        let mut by_hand = ByHand::calm().with(|outlook| outlook.shift = Some(shift));
        by_hand.case.start_at(8, SinceReason::LevelShift);
        by_hand.case.series.tests[8].note = Some(note.to_owned());
        by_hand.judge().message(Code::LevelShift).to_owned()
    };
    assert_eq!(
        with_note("rewound\n by a workshop"),
        "The level rose by a factor of 10 at the test of 2024-01-23 and no event was written down (its note: “rewound by a \
         workshop”): the trend is taken from there; if the note tells why, write that under event in this row."
    );
    let long = with_note(&"ä ".repeat(100));
    assert!(long.contains(&format!("(its note: “{}…”)", "ä ".repeat(40))), "{long}");
}

#[test]
fn the_interval_of_the_date_is_said_with_what_is_known_of_it() {
    let dates = |median: Option<&str>, latest: Option<&str>| CrossingDates {
        earliest: day("2027-03-01"),
        median: median.map(day),
        latest: latest.map(day),
    };
    let all = dates(Some("2027-09-14"), Some("2029-01-10"));
    assert_eq!(all.in_words(), "between 2027-03-01 and 2029-01-10, most likely about 2027-09-14");
    assert_eq!(dates(None, None).in_words(), "may be reached from 2027-03-01 on, perhaps never");
    assert_eq!(dates(Some("2027-03-01"), Some("2027-03-01")).in_words(), "by 2027-03-01");
    let planned = ByHand::calm().with(|outlook| {
        outlook.forecast.p_below_in_horizon = Some(0.4);
        outlook.forecast.reaches_minimum = Some(all);
    });
    assert_eq!(
        planned.judge().message(Code::ReachesMinimum),
        "The level may reach the minimum of 5 MΩ inside the planning horizon of 365 days (possible, about 4 in 10): \
         between 2027-03-01 and 2029-01-10, most likely about 2027-09-14."
    );
}

#[test]
fn too_few_readings_are_counted_with_the_bounds_beside_them() {
    let with = |tests, exact| {
        let by_hand = ByHand::calm().with(|outlook| (outlook.summary.tests, outlook.summary.exact) = (tests, exact));
        by_hand.judge()
    };
    assert_eq!(with(3, 3).message(Code::FewReadings), "");
    assert_eq!(
        with(5, 2).message(Code::FewReadings),
        "Of the 5 readings of the stretch 2 are exact; a trend needs at least 3 exact ones."
    );
    for (tests, exact, sentence) in [
        (10, 0, "All 10 readings of the stretch are at the end of the tester's scale and none is exact;"),
        (1, 0, "The only reading of the stretch is at the end of the tester's scale and is not exact;"),
        (0, 0, "No reading of the stretch is exact;"),
        (4, 1, "Of the 4 readings of the stretch 1 is exact;"),
        (2, 2, "The stretch has 2 exact readings;"),
    ] {
        let message = format!("{sentence} a trend needs at least 3 exact ones.");
        assert_eq!(with(tests, exact).message(Code::FewReadings), message);
    }
    assert_eq!(with(5, 2).findings[0].evidence, [("exact", Evidence::Number(2.0)), ("bounds", Evidence::Number(3.0))]);
    assert_eq!(with(5, 2).action, Action::Gather);
}
