//! Every probability that decides, exactly at its limit in the policy and just beyond it.

use super::by_hand::ByHand;
use super::*;
use crate::assess::phases::{PhaseDrift, PhaseSpread};
use crate::record::Phase;
use crate::trend::Fall;

#[test]
fn nothing_likely_is_kept() {
    let calm = ByHand::calm().judge();
    assert_eq!(calm.action, Action::Keep, "{:?}", calm.findings);
    assert!(calm.findings.is_empty(), "{:?}", calm.findings);
}

/// Policy: hold with more than 0.5.
#[test]
fn held_when_more_likely_below_than_not() {
    let at = |p| ByHand::calm().with(|outlook| outlook.p_below_today = p).judge();
    assert_eq!(at(0.5).action, Action::Keep);
    let held = at(0.51);
    assert_eq!(held.action, Action::Hold);
    assert_eq!(
        held.message(Code::BelowMinimum),
        "By the trend of all readings the level today, 120 MΩ, is below the minimum of 5 MΩ (as likely as not, about 5 in 10), though the latest reading is not."
    );
    assert_eq!(
        held.findings[0].evidence,
        [("p_below_today", Evidence::Number(0.51)), ("minimum_mohm", Evidence::Number(5.0))]
    );
    assert!(held.findings[0].source.starts_with("policy decision.hold_probability; "), "{}", held.findings[0].source);
}

/// Bounds above say nothing of a low level; one bound below or one exact reading does.
#[test]
fn a_level_known_from_bounds_above_alone_is_not_held_by_probability() {
    let with = |exact, below| {
        let by_hand = ByHand::calm().with(|outlook| {
            outlook.p_below_today = 0.9;
            (outlook.summary.exact, outlook.summary.below) = (exact, below);
        });
        by_hand.judge().action
    };
    assert_eq!(with(0, 0), Action::Gather);
    assert_eq!(with(1, 0), Action::Hold);
    assert_eq!(with(0, 1), Action::Hold);
    assert_eq!(with(1, 1), Action::Hold);
}

/// Policy: plan with at least 0.3 from three exact readings, by two where it is more likely than not, unless it is held already.
#[test]
fn planned_from_three_tenths() {
    let at = |p, exact| {
        ByHand::calm()
            .with(|outlook| {
                outlook.forecast.p_below_in_horizon = Some(p);
                outlook.summary.exact = exact;
                outlook.summary.p_falling = Some(0.9);
            })
            .judge()
    };
    assert_eq!(at(0.299, 20).action, Action::Keep);
    let planned = at(0.3, 3);
    assert_eq!(planned.action, Action::Plan);
    assert_eq!(
        planned.message(Code::ReachesMinimum),
        "The level may reach the minimum of 5 MΩ inside the planning horizon of 365 days (possible, about 3 in 10)."
    );
    assert_eq!(at(0.5, 2).action, Action::Gather);
    assert_eq!(at(0.51, 2).action, Action::Plan);
    assert_eq!((at(0.9, 1).action, at(0.9, 1).message(Code::ReachesMinimum)), (Action::Gather, ""));
    let both = |today| {
        ByHand::calm().with(|outlook| {
            outlook.forecast.p_below_in_horizon = Some(0.8);
            outlook.p_below_today = today;
        })
    };
    assert_eq!(both(0.5).judge().action, Action::Plan);
    let held = both(0.6).judge();
    assert_eq!((held.action, held.message(Code::ReachesMinimum)), (Action::Hold, ""));
}

/// Policy: plan too with at least 0.8 inside three horizons, if more than 0.05 inside the first.
#[test]
fn planned_where_the_minimum_is_very_likely_somewhat_later() {
    let at = |in_horizon, later| {
        ByHand::calm()
            .with(|outlook| {
                outlook.forecast.p_below_in_horizon = Some(in_horizon);
                outlook.p_below_in_shorten = later;
                outlook.summary.p_falling = Some(0.9);
            })
            .judge()
    };
    assert_eq!(at(0.05, 0.8).action, Action::Shorten);
    assert_eq!(at(0.051, 0.799).action, Action::Shorten);
    let planned = at(0.051, 0.8);
    assert_eq!(planned.action, Action::Plan);
    assert_eq!(
        planned.message(Code::ReachesMinimum),
        "The level may reach the minimum of 5 MΩ inside 3 planning horizons of 365 days (likely, about 8 in 10)."
    );
}

/// Policy: shorten with at least 0.6 inside three horizons; with at least 0.2 where the level falls with more than 0.999.
#[test]
fn shortened_where_the_minimum_is_likely_or_the_fall_certain() {
    let at = |falling, below, exact| {
        let by_hand = ByHand::calm().with(|outlook| {
            outlook.summary.p_falling = Some(falling);
            outlook.p_below_in_shorten = below;
            outlook.summary.exact = exact;
        });
        by_hand.judge().action
    };
    assert_eq!(at(0.9, 0.599, 20), Action::Keep);
    assert_eq!(at(0.9, 0.6, 20), Action::Shorten);
    assert_eq!(at(0.9, 0.6, 2), Action::Shorten);
    assert_eq!(at(0.9, 0.99, 1), Action::Gather);
    // The readings say nothing of a fall: what was believed before them asks for nothing.
    assert_eq!(at(0.899, 0.99, 20), Action::Keep);
    assert_eq!(at(0.999, 0.5, 20), Action::Keep);
    assert_eq!(at(0.9991, 0.199, 20), Action::Keep);
    assert_eq!(at(0.9991, 0.2, 3), Action::Shorten);
    assert_eq!(at(0.9999, 0.5, 2), Action::Gather);
}

/// Where one finding keeps the winding out of use, a date made from the trend gives it no time, and the stricter finding comes first.
#[test]
fn work_before_use_stands_whatever_the_trend_says_of_later() {
    let at = |in_horizon, later, earliest: &str| {
        ByHand::calm().with(|outlook| {
            outlook.forecast.p_below_in_horizon = Some(in_horizon);
            outlook.p_below_in_shorten = later;
            outlook.summary.p_falling = Some(0.9);
            outlook.forecast.reaches_minimum =
                Some(CrossingDates { earliest: day(earliest), median: None, latest: None });
        })
    };
    let by_trend = |earliest| at(0.4, 0.9, earliest).judge().work_by;
    assert_eq!(by_trend("2027-08-20"), Some(WorkBy::Day(day("2027-08-19"))));
    assert_eq!(by_trend("2026-11-27"), Some(WorkBy::Day(day("2026-11-26"))));
    for passed in ["2026-11-26", "2026-11-25", "2026-11-20"] {
        assert_eq!(by_trend(passed), Some(WorkBy::Now), "{passed}");
    }
    assert_eq!(at(0.0, 0.0, "2030-01-01").judge().work_by, None);
    // An agreed fall asks for work before use, whether the minimum is far or may be reached within the year.
    for in_horizon in [0.0, 0.06, 0.4] {
        let mut fallen = at(in_horizon, 0.9, "2027-08-20");
        fallen.outlook.fall = Some(Fall { readings: 2, probability: 1e-6, drop_log10: 0.7 });
        let judged = fallen.judge();
        assert_eq!(judged.action, Action::Plan, "{in_horizon}: {:?}", judged.findings);
        assert_eq!((judged.findings[0].code, judged.findings[0].before_use), (Code::FallSinceLast, true));
        assert_eq!(judged.work_by, Some(WorkBy::BeforeUse), "{in_horizon}");
    }
}

/// Doubt about the latest test does not put off work; a void test is repeated first.
#[test]
fn work_goes_before_a_doubtful_test_and_after_a_void_one() {
    let fall = |readings| Fall { readings, probability: 0.001, drop_log10: 0.4 };
    let with = |p, readings: Option<usize>| {
        ByHand::calm().with(|outlook| {
            outlook.forecast.p_below_in_horizon = Some(p);
            outlook.fall = readings.map(fall);
        })
    };
    let planned = with(0.4, Some(1)).judge();
    assert_eq!(planned.action, Action::Plan);
    assert_eq!((planned.next_test.by, planned.work_by), (day(AS_OF), Some(WorkBy::BeforeUse)));
    assert_eq!(
        planned.next_test.why,
        "now, while the work is raised: the test of 2026-10-20 is doubtful and was not repeated in 36 days; do not energise until it is repeated"
    );
    let doubted = with(0.2, Some(1)).judge();
    assert_eq!(doubted.action, Action::Recheck);
    assert_eq!(
        doubted.next_test.why,
        "now: the test of 2026-10-20 is doubtful and was not repeated in 36 days; do not energise until it is repeated"
    );
    let mut soon = with(0.2, Some(1));
    soon.terms.as_of = day("2026-11-19");
    assert_eq!(
        soon.judge().next_test.why,
        "now: the test of 2026-10-20 is doubtful; do not energise until it is repeated"
    );
    let mut void = with(0.4, None);
    let mut tests = quarterly(&steady(200.0, 19));
    tests.push(test(&[
        ("tested_on", "2026-11-10"),
        ("r_60s", "200"),
        ("winding_temp_c", "25"),
        ("lead_check", "failed"),
    ]));
    let register = Register::from([("P-1".to_owned(), nameplate())]);
    void.case = Case::prepare(Series::collect(tests).remove(0), &register, None, &void.terms);
    let void = void.judge();
    assert_eq!(void.action, Action::Recheck);
    assert!(!void.message(Code::ReachesMinimum).is_empty() && !void.message(Code::LeadCheckFailed).is_empty());
}

/// A winding with work ahead is tested no later than one whose decline is merely real.
#[test]
fn planned_is_tested_after_half_the_usual_interval() {
    let planned = ByHand::calm().with(|outlook| outlook.forecast.p_below_in_horizon = Some(0.4)).judge();
    assert_eq!((planned.action, planned.next_test.by), (Action::Plan, day("2026-12-05")));
    assert_eq!(planned.next_test.why, "half the usual interval of 91 days after the last test");
}

#[test]
fn one_low_reading_is_repeated_and_two_are_believed() {
    let after = |readings| {
        let fall = Fall { readings, probability: 0.001, drop_log10: 0.4 };
        ByHand::calm().with(|outlook| outlook.fall = Some(fall)).judge().action
    };
    assert_eq!(after(1), Action::Recheck);
    assert_eq!(after(2), Action::Shorten);
}

#[test]
fn a_spread_of_the_phases_seen_once_is_repeated_and_seen_again_is_the_winding() {
    let spread = |rounds_in_a_row| PhaseSpread {
        on: day("2026-10-20"),
        highest: Phase::U,
        lowest: Phase::W,
        ratio: 2.5,
        rounds_in_a_row,
    };
    let drift = PhaseDrift { since: day("2022-01-25"), rounds: 20, log10_per_year: -0.1, p: 1e-5 };
    let with = |spread: Option<PhaseSpread>, drift: Option<PhaseDrift>| {
        let mut by_hand = ByHand::calm();
        by_hand.phases.spread = spread;
        by_hand.phases.drift = drift;
        by_hand.judge()
    };
    assert_eq!(with(Some(spread(1)), None).action, Action::Recheck);
    assert_eq!(with(Some(spread(2)), None).action, Action::Shorten);
    assert_eq!(with(None, Some(drift)).action, Action::Shorten);
    let both = with(Some(spread(1)), Some(drift));
    assert_eq!(both.action, Action::Shorten);
    assert_eq!(
        both.message(Code::PhaseSpread),
        "On 2026-10-20 phase U read 2.5 times as much as phase W, more than the limit of 2. \
         This phase falls away from the others by a factor of 1.26 a year, in 20 rounds since 2022-01-25; temperature and damp cancel in the ratio."
    );
    assert_eq!(
        both.findings[0].source,
        "GB 50150-2006 cl. 3.0.2; policy phases.ratio_limit; phases tested together share temperature and damp"
    );
}
