//! The day of the next test, at the edges of the calendar. The last test was on 20 October 2026, 36 days before the
//! as-of date of 25 November; all days are counted by hand.

use super::by_hand::{ByHand, Verdict};
use super::*;
use crate::record::{Connection, Scope};
use crate::resistance::Measured;
use crate::series::SeriesKey;

fn every(days: u32) -> ByHand {
    ByHand::of(Nameplate { interval_days: Some(days), ..nameplate() })
}

fn next(verdict: &Verdict) -> (NaiveDate, &str) {
    (verdict.next_test.by, &verdict.next_test.why)
}

#[test]
fn the_usual_interval_counts_from_the_last_test_until_it_has_passed() {
    assert_eq!(next(&ByHand::calm().judge()), (day("2027-01-19"), "the usual interval of 91 days after the last test"));
    assert_eq!(next(&every(36).judge()), (day(AS_OF), "the usual interval of 36 days after the last test"));
    assert_eq!(next(&every(35).judge()), (day(AS_OF), "now: the usual interval of 35 days ended on 2026-11-24"));
}

#[test]
fn half_of_an_odd_interval_is_rounded_up() {
    let mut by_hand = ByHand::calm().with(|outlook| {
        outlook.summary.p_falling = Some(0.9995);
        outlook.p_below_in_shorten = 0.3;
    });
    let verdict = by_hand.judge();
    assert_eq!(next(&verdict), (day("2026-12-05"), "half the usual interval of 91 days after the last test"));
    by_hand.case.nameplate.interval_days = Some(70);
    assert_eq!(next(&by_hand.judge()), (day(AS_OF), "now: half the usual interval of 70 days ended on 2026-11-24"));
}

/// Policy: test before the level is below the minimum with more than 0.05.
#[test]
fn a_level_that_may_fall_below_is_tested_before_it_does() {
    let until = |text: &str| {
        let safe = day(text);
        ByHand::calm().with(|outlook| outlook.safe_until = Some(safe)).judge()
    };
    assert_eq!(next(&until("2027-01-19")), (day("2027-01-19"), "the usual interval of 91 days after the last test"));
    let soon = "until then the level is hardly below the minimum (1 in 20 at most)";
    assert_eq!(next(&until("2027-01-18")), (day("2027-01-18"), soon));
    assert_eq!(next(&until("2026-11-26")), (day("2026-11-26"), soon));
    let now = "now: the level may be below the minimum already (1 in 20 or more)";
    assert_eq!(next(&until(AS_OF)), (day(AS_OF), now));
    assert_eq!(next(&until("2026-11-01")), (day(AS_OF), now));
}

/// Ten times the minimum of 5 MΩ: from there a scale that is always exceeded asks for no test sooner than usual.
#[test]
fn bounds_far_above_the_minimum_ask_for_no_early_test() {
    let last = |bound: Measured, latest: Measured| {
        let mut by_hand = ByHand::calm().with(|outlook| {
            (outlook.summary.exact, outlook.summary.above) = (0, 20);
            outlook.safe_until = Some(day(AS_OF));
        });
        by_hand.case.tests.iter_mut().for_each(|test| (test.as_read, test.corrected) = (Some(bound), Some(bound)));
        let end = by_hand.case.tests.len() - 1;
        (by_hand.case.tests[end].as_read, by_hand.case.tests[end].corrected) = (Some(latest), Some(latest));
        by_hand.judge()
    };
    let above = |megohms: f64| Measured::Above(Resistance::from_megohms(megohms).unwrap());
    let beyond = |megohms: f64| last(above(megohms), above(megohms));
    let usual = "the usual interval of 91 days after the last test";
    assert_eq!(next(&beyond(50.0)), (day("2027-01-19"), usual));
    let now = "now: the level may be below the minimum already (1 in 20 or more)";
    assert_eq!(next(&beyond(49.9)), (day(AS_OF), now));
    // A scale whose end nobody wrote shows nothing, whatever the one before.
    let doubtful = "now: the test of 2026-10-20 is doubtful and was not repeated in 36 days";
    assert_eq!(next(&last(above(50.0), Measured::OffScale)), (day(AS_OF), doubtful));
}

#[test]
fn what_is_held_or_doubtful_is_tested_now() {
    let held = ByHand::calm().with(|outlook| outlook.p_below_today = 0.9).judge();
    assert_eq!(next(&held), (day(AS_OF), "before the winding is energised: it is at or below its minimum"));
    let fall = crate::trend::Fall { readings: 1, probability: 0.001, drop_log10: 0.4 };
    let doubtful = ByHand::calm().with(|outlook| outlook.fall = Some(fall)).judge();
    assert_eq!(
        next(&doubtful),
        (
            day(AS_OF),
            "now: the test of 2026-10-20 is doubtful and was not repeated in 36 days; do not energise until it is repeated"
        )
    );
}

/// The last test is 36 days old.
#[test]
fn overdue_on_the_day_after_the_interval_ended() {
    assert_eq!(every(36).judge().message(Code::Overdue), "");
    let late = every(35).judge();
    assert_eq!(
        late.message(Code::Overdue),
        "The last test, on 2026-10-20, is 36 days old; the usual interval is 35 days."
    );
    assert_eq!(
        late.findings[0].evidence,
        [("age_days", Evidence::Number(36.0)), ("interval_days", Evidence::Number(35.0))]
    );
}

/// 1.25 times 29 days is 36.25, counted as 36, which end on the as-of date; 1.25 times 28 days is 35.
#[test]
fn a_site_may_let_a_quarter_of_the_interval_pass() {
    let lenient = |days| {
        let mut by_hand = every(days);
        by_hand.terms.policy.overdue_factor = 1.25;
        by_hand.judge().message(Code::Overdue).to_owned()
    };
    assert_eq!(lenient(29), "");
    assert_eq!(lenient(28), "The last test, on 2026-10-20, is 36 days old; the usual interval is 28 days.");
}

fn as_given(tests: Vec<TestRecord>) -> SeriesAssessment {
    let key = SeriesKey { winding: "P-1".to_owned(), connection: Connection::AllEarth, scope: Scope::Winding };
    let register = Register::from([("P-1".to_owned(), nameplate())]);
    let series = vec![Series { key, tests }];
    let terms =
        Terms { policy: Policy::default(), as_of: day(AS_OF), confidence: Confidence::from_fraction(0.9).unwrap() };
    assess_fleet(series, &register, &terms, &InTurn, |judgement| judgement.assessment).remove(0)
}

#[test]
fn tests_that_are_not_in_time_order_are_put_into_it() {
    let in_order = quarterly(&steady(200.0, 12));
    let mut turned = in_order.clone();
    turned.reverse();
    turned.swap(2, 7);
    assert_eq!(as_given(turned), as_given(in_order));
}

#[test]
fn a_winding_without_a_test_is_no_sound_one() {
    let result = as_given(Vec::new());
    assert_eq!(result.action, Action::Recheck);
    assert_eq!(
        message(&result, Code::NoReading),
        "No test was made up to 2026-11-25: nothing is known of the winding."
    );
    assert_eq!(result.next_test.by, day(AS_OF));
    assert_eq!(result.next_test.why, "now: nothing is known of the winding");
    let ahead = vec![test(&[("tested_on", "2026-12-24"), ("r_60s", "200"), ("winding_temp_c", "25")])];
    assert_eq!(as_given(ahead).action, Action::Recheck);
}

#[test]
fn levels_end_where_forecasts_end() {
    let tests = quarterly(&steady(200.0, 12));
    let judgement = judge_all(tests, nameplate()).remove(0);
    let level = |day: &str| judgement.level_at(day.parse().unwrap());
    assert!(level("2056-11-24").is_some());
    assert!(level("2056-11-26").is_none());
}
