//! Hostile and degenerate stretches: every answer stays finite, and impossible questions get a sentence.

use proptest::prelude::*;

use super::*;
use crate::resistance::Bound;
use crate::units::{Confidence, Decades, Resistance, TemperatureDifference, Years};

/// log10 MΩ as a resistance.
pub(super) fn mohm(log10: f64) -> Resistance {
    Resistance::from_log10_megohms(log10)
}

pub(super) fn years(value: f64) -> Years {
    Years::clamped(value)
}

pub(super) fn ninety() -> Confidence {
    Confidence::from_fraction(0.9).expect("it is a confidence")
}

/// Asks everything; fails on the first number that is not what it should be.
fn assert_all_answers_are_finite(stretch: &Stretch) -> StretchFit {
    let fit = fit_lone(stretch);
    let last = stretch.readings()[stretch.readings().len() - 1].log10_mohm;
    for minimum in [last - 1.0, last, last + 1.0, 0.7, -6.0] {
        let mut previous = 0.0;
        for by in [0.0, 0.25, 1.0, 3.0, 12.5, 30.0] {
            let p = fit.p_below(years(by), mohm(minimum)).as_fraction();
            assert!((0.0..=1.0).contains(&p), "P(below in {by}) = {p}");
            // A maximum between two places that are looked at may be missed by a little: readings that jump by ten decades
            // make it a thousandth.
            assert!(p >= previous - 5e-3, "F falls from {previous} to {p}");
            previous = p;
        }
        let crossing = fit.crossing(mohm(minimum), ninety());
        let dates = [crossing.earliest, crossing.median, crossing.latest];
        let mut before = 0.0;
        for date in dates.into_iter().flatten() {
            assert!((before..=HORIZON_YEARS).contains(&date.as_years()), "{crossing:?}");
            before = date.as_years() - 1e-3;
        }
        assert!(dates[0].is_some() || dates[1].is_none() && dates[2].is_none());
        if let Some(why) = crossing.cannot_say {
            assert!(why.to_string().len() > 20);
        }
    }
    let colder = TemperatureDifference::from_kelvins(-15.0).ok();
    for t in [-200.0, -3.0, -0.1, 0.0, 0.3, 30.0].map(years) {
        let band = fit.level_band(t, ninety());
        assert!(band.low <= band.median && band.median <= band.high, "{t}: {band:?}");
        let band = fit.predict_reading(t, colder, Decades::clamped(0.0)).band(ninety());
        assert!(band.low <= band.median && band.median <= band.high, "{t}: {band:?}");
    }
    let slope = fit.slope(ninety());
    assert!(slope.low <= slope.median && slope.median <= slope.high);
    assert!(fit.scatter().as_decades() > 0.0);
    assert!(fit.law_error().mean.is_finite() && fit.law_error().sd.is_finite());
    assert!(fit.outlier_probabilities().iter().all(|p| (0.0..=1.0).contains(p)));
    assert!((fit.shape_weights().iter().map(|w| w.1).sum::<f64>() - 1.0).abs() < 1e-9);
    assert!((fit.noise_weights().iter().map(|w| w.1).sum::<f64>() - 1.0).abs() < 1e-9);
    fit
}

fn stretch(readings: Vec<Reading>) -> Stretch {
    Stretch::new(readings).expect("a valid stretch")
}

fn exact(values: &[(f64, f64)]) -> Stretch {
    stretch(values.iter().map(|(t, y)| Reading::exact(*t, *y)).collect())
}

fn quarters(n: usize, y: impl Fn(f64) -> f64) -> Vec<Reading> {
    (0..n)
        .map(|k| {
            let t = -0.25 * (n - 1 - k) as f64;
            Reading::exact(t, y(t))
        })
        .collect()
}

fn above(mut reading: Reading) -> Reading {
    reading.bound = Bound::Above;
    reading
}

#[test]
fn too_few_readings_say_so() {
    let one = assert_all_answers_are_finite(&exact(&[(-0.2, 2.0)])).crossing(mohm(0.7), ninety());
    assert_eq!(one.cannot_say, Some(CannotSay::FewReadings { readings: 1 }));
    let same_day = assert_all_answers_are_finite(&exact(&[(-0.2, 2.0), (-0.2, 2.1)])).crossing(mohm(0.7), ninety());
    assert_eq!(same_day.cannot_say, Some(CannotSay::OneDay));
    let two = assert_all_answers_are_finite(&exact(&[(-0.4, 2.0), (-0.2, 2.1)])).crossing(mohm(0.7), ninety());
    assert_eq!(two.cannot_say, Some(CannotSay::FewReadings { readings: 2 }));
    assert_eq!(
        two.cannot_say.map(|why| why.to_string()),
        Some("the stretch has 2 readings; a date needs at least 3".to_owned())
    );
}

#[test]
fn bounds_only_say_so() {
    let bounds = quarters(12, |_| 3.0).into_iter().map(above).collect();
    let fit = assert_all_answers_are_finite(&stretch(bounds));
    assert_eq!(fit.crossing(mohm(0.7), ninety()).cannot_say, Some(CannotSay::NoExactReading { readings: 12 }));
    assert!(fit.p_below(years(1.0), mohm(0.7)).as_fraction() < 0.05);
}

#[test]
fn lines_and_constants() {
    for n in [4, 12, 120] {
        assert_all_answers_are_finite(&stretch(quarters(n, |_| 2.0)));
        assert_all_answers_are_finite(&stretch(quarters(n, |t| 2.0 - 0.3 * t)));
        assert_all_answers_are_finite(&stretch(quarters(n, |_| -6.0)));
    }
    let steady = fit_lone(&stretch(quarters(120, |_| 2.0))).crossing(mohm(0.7), ninety());
    assert!(steady.latest.is_none() && steady.earliest.is_none_or(|t| t.as_years() > 3.0), "{steady:?}");
}

#[test]
fn all_on_one_day_and_repeated_days() {
    assert_all_answers_are_finite(&exact(&[(-1.0, 2.0); 12]));
    assert_all_answers_are_finite(&exact(&[(-1.0, 2.0), (-1.0, 1.0), (-1.0, 3.0), (-1.0, 2.0), (-1.0, 2.5)]));
    assert_all_answers_are_finite(&exact(&[
        (-2.0, 2.0),
        (-2.0, 2.1),
        (-1.0, 1.9),
        (-1.0, 2.0),
        (0.0, 1.8),
        (0.0, 1.8),
    ]));
}

#[test]
fn gaps_and_long_records() {
    assert_all_answers_are_finite(&exact(&[(-31.0, 3.0), (-30.9, 3.0), (-30.5, 2.9), (-0.5, 2.0), (-0.2, 2.0)]));
    assert_all_answers_are_finite(&stretch(quarters(240, |t| 2.0 - 0.02 * t)));
    assert_all_answers_are_finite(&exact(&[(-200.0, 3.0), (-200.0, 2.0), (-150.0, 2.0), (-199.0 + 199.0, 1.0)]));
    assert_all_answers_are_finite(&exact(&[(-200.0, 3.0), (-200.0, 2.9), (-199.9, 3.0)]));
}

#[test]
fn mostly_bounds() {
    for exact_ones in [1, 2] {
        let mut readings: Vec<Reading> = quarters(10 + exact_ones, |t| 3.0 - 0.01 * t);
        for r in readings.iter_mut().take(10) {
            *r = above(*r);
        }
        assert_all_answers_are_finite(&stretch(readings));
    }
    let mut last_below = quarters(10, |_| 2.0);
    last_below[9].bound = Bound::Below;
    last_below[9].log10_mohm = -1.0;
    let fit = assert_all_answers_are_finite(&stretch(last_below));
    assert!(fit.fall().is_some() && fit.p_below(years(0.0), mohm(0.7)).as_fraction() > 0.5);
}

#[test]
fn a_fall_out_of_bounds_only_is_found() {
    for n in 2..40 {
        let mut readings: Vec<Reading> = quarters(n, |_| 3.0).into_iter().map(above).collect();
        readings[n - 1] = Reading::exact(0.0, 2.5);
        let fit = assert_all_answers_are_finite(&stretch(readings));
        assert_eq!(fit.fall().map(|f| f.readings), Some(1), "n = {n}");
    }
}

#[test]
fn a_fall_out_of_mostly_bounds_is_found() {
    let mut readings: Vec<Reading> = quarters(11, |_| 3.0);
    for (k, r) in readings.iter_mut().enumerate() {
        if k != 4 && k != 8 && k != 10 {
            *r = above(*r);
        }
    }
    readings[10].log10_mohm = 2.3;
    let fit = assert_all_answers_are_finite(&stretch(readings.clone()));
    assert!(fit.fall().is_some());
    assert!(fit.fall_step().is_some_and(|step| step.mean < -0.3));
    readings[10].log10_mohm = 2.95;
    assert!(fit_lone(&stretch(readings)).fall().is_none());
}

#[test]
fn missing_temperatures_widen() {
    let mut readings = quarters(12, |t| 2.0 - 0.2 * t);
    for (k, r) in readings.iter_mut().enumerate() {
        r.winding_temp_c = Some(25.0 + 3.0 * (k % 5) as f64);
    }
    let known = fit_lone(&stretch(readings.clone()));
    for r in readings.iter_mut().skip(4) {
        r.winding_temp_c = None;
    }
    let missing = assert_all_answers_are_finite(&stretch(readings.clone()));
    let width =
        |fit: &StretchFit| fit.level_now(ninety()).high.log10_megohms() - fit.level_now(ninety()).low.log10_megohms();
    assert!(width(&missing) > width(&known));
    for r in &mut readings {
        r.winding_temp_c = None;
    }
    assert_all_answers_are_finite(&stretch(readings));
}

#[test]
fn an_unannounced_shift_restarts_the_stretch() {
    let mut readings = quarters(24, |t| 2.0 + 0.03 * (40.0 * t).sin());
    for r in readings.iter_mut().take(12) {
        r.log10_mohm -= 0.8;
    }
    let fit = assert_all_answers_are_finite(&stretch(readings));
    let shift = fit.shift().expect("0.8 decades among 0.03 of scatter");
    assert_eq!(shift.index, 12);
    assert!((shift.step_log10 - 0.8).abs() < 0.1);
    assert_eq!(fit.used().len(), 12);
}

#[test]
fn a_wild_past_reading_does_not_swing_the_line() {
    let mut readings = quarters(16, |t| 2.0 - 0.2 * t);
    let clean = fit_lone(&stretch(readings.clone())).slope(ninety()).median.as_decades_per_year();
    readings[6].log10_mohm -= 1.5;
    let fit = assert_all_answers_are_finite(&stretch(readings));
    assert!((fit.slope(ninety()).median.as_decades_per_year() - clean).abs() < 0.01);
    assert!(fit.outlier_probabilities()[6] > 0.99);
}

#[test]
fn readings_of_one_day_give_no_date() {
    let readings = (0..20).map(|k| Reading::exact(-0.5 + 0.0001 * f64::from(k), 1.2)).collect();
    let crossing = fit_lone(&stretch(readings)).crossing(mohm(0.7), ninety());
    let why = crossing.cannot_say.map(|why| why.to_string());
    assert_eq!(why.as_deref(), Some("all readings of the stretch were taken on one day, so no date can be given"));
}

#[test]
fn the_same_group_gives_the_same_bits() {
    let group: Vec<Stretch> = (0..8)
        .map(|i| stretch(quarters(14, |t| 2.5 - (0.1 + 0.02 * f64::from(i)) * t + 0.05 * (9.0 * t).sin())))
        .collect();
    let refs: Vec<&Stretch> = group.iter().collect();
    let (priors, weights, fits) = fit_group(&refs);
    let (again, weights_again, fits_again) = fit_group(&refs);
    assert_eq!((priors, weights), (again, weights_again));
    assert_eq!(priors.learnt_from, 8);
    for (a, b) in fits.iter().zip(&fits_again) {
        assert_eq!(a.crossing(mohm(0.7), ninety()), b.crossing(mohm(0.7), ninety()));
    }
}

fn any_reading() -> impl Strategy<Value = Reading> {
    (
        prop_oneof![Just(0.0), -1e-6..0.0, -5.0..0.0, -200.0..0.0],
        prop_oneof![Just(2.0), 1.0..4.0, -30.0..30.0],
        prop_oneof![4 => Just(Bound::Exact), 1 => Just(Bound::Above), 1 => Just(Bound::Below)],
        prop_oneof![Just(None), (0.0..60.0).prop_map(Some), (-100.0..300.0).prop_map(Some)],
        prop_oneof![3 => Just(0.0), 1 => 0.0..100.0],
    )
        .prop_map(|(years_from_as_of, log10_mohm, bound, winding_temp_c, extra_variance)| Reading {
            years_from_as_of,
            log10_mohm,
            bound,
            winding_temp_c,
            extra_variance,
        })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 120, ..ProptestConfig::default() })]
    #[test]
    fn any_stretch_gets_finite_answers(mut readings in prop::collection::vec(any_reading(), 1..40)) {
        readings.sort_by(|a, b| a.years_from_as_of.total_cmp(&b.years_from_as_of));
        assert_all_answers_are_finite(&stretch(readings));
    }
}
