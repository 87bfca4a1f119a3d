//! One call for one series gives what a fleet of that series gives.

use super::*;

#[test]
fn a_series_alone_is_judged_like_a_fleet_of_one() {
    let falling = |n: usize| (0..n).map(|i| 300.0 * 0.8f64.powi(i as i32)).collect::<Vec<_>>();
    for values in [steady(200.0, 20), falling(12), falling(2), vec![3.0]] {
        let terms =
            Terms { policy: Policy::default(), as_of: day(AS_OF), confidence: Confidence::from_fraction(0.9).unwrap() };
        let series = Series::collect(quarterly(&values)).remove(0);
        let alone = assess(&series, &nameplate(), &terms);
        let fleet = judge_all(quarterly(&values), nameplate()).remove(0);
        assert_eq!(alone.assessment, fleet.assessment);
        assert_eq!(alone.tests, fleet.tests);
    }
}

#[test]
fn a_series_without_a_test_that_counts_is_judged_too() {
    let terms = Terms {
        policy: Policy::default(),
        as_of: day("2020-01-01"),
        confidence: Confidence::from_fraction(0.9).unwrap(),
    };
    let series = Series::collect(quarterly(&steady(200.0, 4))).remove(0);
    assert_eq!(assess(&series, &nameplate(), &terms).assessment.action, Action::Recheck);
}
