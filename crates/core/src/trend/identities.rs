//! What must hold whatever the readings: scaling, order of equals, bounds without information.

use proptest::prelude::*;

use super::degenerate::{mohm, ninety, years};
use super::*;
use crate::resistance::Bound;

fn readings() -> impl Strategy<Value = Vec<Reading>> {
    prop::collection::vec((0.05f64..0.4, -0.3f64..0.3, 12.0f64..48.0, 0..6), 6..24).prop_map(|steps| {
        let span: f64 = steps.iter().map(|step| step.0).sum();
        let mut t = -span - 0.02;
        steps
            .into_iter()
            .map(|(step, noise, celsius, kind)| {
                t += step;
                Reading {
                    years_from_as_of: t,
                    log10_mohm: 2.0 - 0.15 * t + noise * 0.3,
                    bound: if kind == 0 { Bound::Above } else { Bound::Exact },
                    winding_temp_c: Some(celsius),
                    extra_variance: 0.0,
                }
            })
            .collect()
    })
}

fn fit(readings: Vec<Reading>) -> StretchFit {
    fit_lone(&Stretch::new(readings).expect("a valid stretch"))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn scaling_every_resistance_shifts_the_level_and_leaves_the_slope(stretch in readings(), k in -0.8f64..0.8) {
        prop_assume!(stretch.iter().any(|r| r.bound == Bound::Exact));
        let scaled: Vec<Reading> = stretch.iter().map(|r| Reading { log10_mohm: r.log10_mohm + k, ..*r }).collect();
        let (here, there) = (fit(stretch), fit(scaled));
        prop_assert!((there.level_now(ninety()).median.log10_megohms() - here.level_now(ninety()).median.log10_megohms() - k).abs() < 1e-3);
        prop_assert!((there.slope(ninety()).median.as_decades_per_year() - here.slope(ninety()).median.as_decades_per_year()).abs() < 1e-3);
        prop_assert!((there.p_below(years(1.0), mohm(0.5 + k)).as_fraction() - here.p_below(years(1.0), mohm(0.5)).as_fraction()).abs() < 1e-3);
    }

    #[test]
    fn a_bound_far_below_the_readings_carries_no_information(mut stretch in readings()) {
        prop_assume!(stretch.iter().filter(|r| r.bound == Bound::Exact).count() >= 4);
        let before = fit(stretch.clone());
        let first = stretch[0];
        stretch.insert(1, Reading { log10_mohm: first.log10_mohm - 20.0, bound: Bound::Above, ..first });
        let after = fit(stretch);
        prop_assert!((before.level_now(ninety()).median.log10_megohms() - after.level_now(ninety()).median.log10_megohms()).abs() < 0.01);
        prop_assert!((before.slope(ninety()).median.as_decades_per_year() - after.slope(ninety()).median.as_decades_per_year()).abs() < 0.01);
    }
}
