//! What the fitted trend becomes in the result: dates, probabilities, and when there are none.

use super::*;

fn judged(tests: Vec<TestRecord>, nameplate: Nameplate, policy: Policy) -> Judgement {
    let register = Register::from([("P-1".to_owned(), nameplate)]);
    let terms = Terms { policy, as_of: day(AS_OF), confidence: Confidence::from_fraction(0.9).unwrap() };
    assess_fleet(Series::collect(tests), &register, &terms, &InTurn, |judgement| judgement).remove(0)
}

/// 12 MΩ now, falling by 0.35 decades a year towards 5 MΩ.
fn decline() -> Vec<TestRecord> {
    let steady = steady(12.0, 20);
    quarterly(&(0..20).map(|i| steady[i] * 10f64.powf(0.35 * 0.25 * (19.0 - i as f64))).collect::<Vec<_>>())
}

#[test]
fn a_decline_has_dates_in_order_and_no_excuse() {
    let result = judge(decline());
    let dates = result.forecast.reaches_minimum.unwrap();
    let median = dates.median.unwrap();
    assert!(day(AS_OF) <= dates.earliest && dates.earliest < median, "{dates:?}");
    assert!(dates.latest.is_none_or(|latest| median < latest), "{dates:?}");
    assert_eq!(result.forecast.cannot_say, None);
    let trend = result.trend.unwrap();
    let slope = trend.slope_log10_per_year.unwrap();
    // Halving takes log10(2)/slope: at 0.35 decades a year 0.86 years.
    assert!((trend.halving_years.unwrap() * -slope - 2f64.log10()).abs() < 1e-12);
    assert!((-0.45..-0.25).contains(&slope), "{slope}");
    assert!(trend.slope_low.unwrap() < slope && slope < trend.slope_high.unwrap());
}

/// With an interval of 401 days the next test falls 365 days after the as-of date, where the planning horizon ends.
#[test]
fn the_next_test_at_the_horizon_has_the_horizons_probability() {
    let nameplate = Nameplate { interval_days: Some(401), ..nameplate() };
    let forecast = judged(decline(), nameplate, Policy::default()).assessment.forecast;
    let (next, horizon) = (forecast.p_below_at_next_test.unwrap(), forecast.p_below_in_horizon.unwrap());
    assert!((next - horizon).abs() < 1e-12, "{next} {horizon}");
    assert!((0.05..0.9999).contains(&horizon), "the comparison must mean something: {horizon}");
}

/// Three horizons of 121 days are one of 363: what `shorten` looks at then is the probability inside that horizon.
#[test]
fn shorten_looks_so_many_horizons_ahead() {
    let with = |horizon_days, shorten_horizons| {
        judged(decline(), nameplate(), Policy { horizon_days, shorten_horizons, ..Policy::default() })
    };
    let far = with(121, 3.0).background.p_below_in_shorten.unwrap();
    let near = with(363, 1.0);
    assert!((far - near.assessment.forecast.p_below_in_horizon.unwrap()).abs() < 1e-12);
    assert!((far - near.background.p_below_in_shorten.unwrap()).abs() < 1e-12);
}

#[test]
fn a_rising_level_has_no_date() {
    let values: Vec<f64> = (0..20).map(|i| steady(200.0, 20)[i] * 10f64.powf(0.05 * i as f64)).collect();
    let result = judge(quarterly(&values));
    let why = result.forecast.cannot_say.unwrap();
    assert_eq!(why, "the trend does not reach the minimum within 30 years");
    assert_eq!(result.forecast.reaches_minimum, None);
}

#[test]
fn a_rising_level_never_halves() {
    let values: Vec<f64> = (0..20).map(|i| steady(200.0, 20)[i] * 10f64.powf(0.02 * i as f64)).collect();
    let trend = judge(quarterly(&values)).trend.unwrap();
    assert_eq!(trend.halving_years, None);
    assert!(trend.slope_log10_per_year.unwrap() > 0.0);
    assert!(trend.p_falling.unwrap() < 0.05);
}

#[test]
fn one_reading_and_bounds_alone_say_why_there_is_no_date() {
    let one = judge(quarterly(&[100.0]));
    assert_eq!(one.forecast.cannot_say.as_deref(), Some("the stretch has one reading; a date needs at least 3"));
    let bounds = ["2026-01-10", "2026-04-10", "2026-10-20"]
        .map(|on| test(&[("tested_on", on), ("r_60s", ">1000"), ("winding_temp_c", "40")]));
    let result = judge(bounds.to_vec());
    assert_eq!(
        result.forecast.cannot_say.as_deref(),
        Some("all 3 readings of the stretch are bounds, so no date can be given")
    );
    let trend = result.trend.as_ref().unwrap();
    assert_eq!((trend.tests, trend.exact, trend.above, trend.below), (3, 0, 3, 0));
    let numbers = [trend.level_mohm, trend.slope_log10_per_year, trend.slope_low, trend.slope_high];
    assert_eq!(numbers, [None; 4]);
    assert_eq!([trend.halving_years, trend.scatter_log10, trend.p_falling], [None; 3]);
    assert_eq!(result.action, Action::Keep);
    assert_eq!(
        message(&result, Code::BeyondScale),
        "Beyond the scale throughout: all 3 tests since 2026-01-10 were above the end of the tester's scale, the latest above \
         1 GΩ, 200 times the minimum."
    );
}

/// Readings of one day have a level, and nothing that needs time.
#[test]
fn one_day_has_a_level_and_no_slope() {
    let on = |mohm: &str| test(&[("tested_on", "2026-10-20T08:00"), ("r_60s", mohm), ("winding_temp_c", "40")]);
    let trend = judge(vec![on("100"), on("100"), on("100")]).trend.unwrap();
    assert!((trend.level_mohm.unwrap() / 100.0 - 1.0).abs() < 0.2, "{trend:?}");
    assert_eq!([trend.slope_log10_per_year, trend.halving_years, trend.p_falling, trend.scatter_log10], [None; 4]);
}
