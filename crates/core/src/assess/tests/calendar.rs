//! The day of the next test, at the edges of the calendar. The last test was on 20 October 2026, 36 days before the
//! as-of date of 25 November; all days are counted by hand.

use super::by_hand::{ByHand, Verdict};
use super::*;

fn every(days: u32) -> ByHand {
    ByHand::of(Nameplate { interval_days: Some(days), ..plate() })
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
        outlook.summary.p_falling = Some(0.99);
        outlook.p_below_in_shorten = 0.2;
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
    let soon = "until then the level is below the minimum with probability 0.05 at most";
    assert_eq!(next(&until("2027-01-18")), (day("2027-01-18"), soon));
    assert_eq!(next(&until("2026-11-26")), (day("2026-11-26"), soon));
    let now = "now: the level may already be below the minimum with probability 0.05 or more";
    assert_eq!(next(&until(AS_OF)), (day(AS_OF), now));
    assert_eq!(next(&until("2026-11-01")), (day(AS_OF), now));
}

#[test]
fn what_is_held_or_doubtful_is_tested_now() {
    let held = ByHand::calm().with(|outlook| outlook.p_below_today = 0.9).judge();
    assert_eq!(next(&held), (day(AS_OF), "before the winding is energised: it is at or below its minimum"));
    let fall = crate::trend::Fall { readings: 1, probability: 0.001, drop_log10: 0.4 };
    let doubtful = ByHand::calm().with(|outlook| outlook.fall = Some(fall)).judge();
    assert_eq!(next(&doubtful), (day(AS_OF), "now: the evidence of the latest test is doubtful"));
}

/// 1.25 times 29 days is 36.25, counted as 36, which end on the as-of date; 1.25 times 28 days is 35.
#[test]
fn overdue_a_quarter_beyond_the_interval() {
    assert_eq!(every(29).judge().message(Code::Overdue), "");
    let late = every(28).judge();
    assert_eq!(
        late.message(Code::Overdue),
        "The last test, on 2026-10-20, is 36 days old; the usual interval is 28 days."
    );
    assert_eq!(
        late.findings[0].evidence,
        [("age_days", Evidence::Number(36.0)), ("interval_days", Evidence::Number(28.0))]
    );
}
