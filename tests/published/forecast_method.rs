//! The worked check example of the forecast method's own description (13 readings, default priors).
//!
//! Source: the example printed with the method, made by an independent implementation in another language. Each
//! figure is checked to half a unit of its last printed digit. `DIFFERENCE:` none.

use groundwall::trend::{NoiseKind, NoiseWeights, Priors, Reading, Shape, Side, Stretch, StretchFit, solve};

const YEARS: [f64; 13] = [-3.05, -2.81, -2.55, -2.30, -2.06, -1.79, -1.55, -1.31, -1.04, -0.80, -0.56, -0.31, -0.06];
const LOG10_MOHM: [f64; 13] = [2.62, 2.60, 2.63, 2.61, 2.44, 2.50, 2.41, 1.92, 2.33, 2.34, 2.21, 2.22, 2.15];
const TEMP_C: [f64; 13] = [24.0, 31.0, 28.0, 35.0, 22.0, 30.0, 27.0, 26.0, 33.0, 29.0, 25.0, 36.0, 28.0];
/// log10 of the minimum.
const MINIMUM: f64 = 1.3;
/// The weights of the former method, without a wandering level.
const FORMER: NoiseWeights = NoiseWeights([0.77, 0.23, 0.0]);

fn example(last: f64) -> Stretch {
    let readings = (0..13).map(|k| Reading {
        years_from_as_of: YEARS[k],
        log10_mohm: if k == 12 { last } else { LOG10_MOHM[k] },
        side: if k < 3 { Side::Above } else { Side::Exact },
        winding_temp_c: Some(TEMP_C[k]),
        extra_variance: 0.0,
    });
    Stretch::new(readings.collect()).expect("the example is a valid stretch")
}

fn fit(last: f64, weights: NoiseWeights) -> StretchFit {
    solve(&example(last), &Priors::default()).average(&weights)
}

#[track_caller]
fn printed(what: &str, got: f64, printed: f64, unit: f64) {
    assert!((got - printed).abs() <= 0.5 * unit * (1.0 + 1e-9), "{what}: {got}, printed {printed}");
}

fn shape(fit: &StretchFit, shape: Shape) -> f64 {
    fit.shape_weights().into_iter().filter(|(s, _)| *s == shape).map(|(_, w)| w).sum()
}

#[test]
fn the_steady_decline() {
    let solved = solve(&example(2.15), &Priors::default());
    let evidence = solved.noise_evidence().expect("13 readings, 10 exact");
    printed("lingering evidence", evidence[1] - evidence[0], 0.538, 0.001);
    printed("wandering evidence", evidence[2] - evidence[0], -0.947, 0.001);

    let fit = solved.average(&NoiseWeights::default());
    printed("sigma", fit.scatter(), 0.06488, 1e-5);
    for (k, p) in fit.wild().iter().enumerate() {
        if k == 7 {
            printed("the 8th is wild", *p, 1.0, 1e-4);
        } else {
            assert!(*p <= 0.00735, "reading {k}: {p}");
        }
    }
    printed("degrees of freedom", fit.degrees_of_freedom(), 12.945, 0.001);
    printed("mean slope", fit.straight_slope(), -0.19392, 1e-5);
    printed("rho", fit.wandering_rate(), 2.3035, 1e-4);
    for (s, weight) in [
        (Shape::Straight, 0.855),
        (Shape::ExponentialSlow, 0.032),
        (Shape::ExponentialMiddle, 0.040),
        (Shape::LogarithmGentle, 0.033),
        (Shape::LogarithmSharp, 0.025),
    ] {
        printed(s.name(), shape(&fit, s), weight, 0.001);
    }
    for ((kind, got), weight) in fit.noise_weights().into_iter().zip([0.629, 0.269, 0.102]) {
        printed(kind.name(), got, weight, 0.001);
    }
    let crossing = fit.crossing(MINIMUM, 0.9);
    printed("earliest", crossing.earliest.unwrap_or(f64::NAN), 2.595, 0.001);
    printed("median", crossing.median.unwrap_or(f64::NAN), 4.531, 0.001);
    printed("latest", crossing.latest.unwrap_or(f64::NAN), 19.75, 0.01);
    printed("P(1 year)", fit.p_below(1.0, MINIMUM), 0.0006, 1e-4);
    printed("P(3 years)", fit.p_below(3.0, MINIMUM), 0.074, 0.001);
    assert!(fit.fall().is_none() && fit.shift().is_none());
}

#[test]
fn the_sudden_fall() {
    let fit = fit(1.55, NoiseWeights::default());
    let fall = fit.fall().expect("0.6 decades below the prediction is a fall");
    assert_eq!(fall.readings, 1);
    printed("p", fall.probability, 0.000_225, 1e-6);
    printed("mean slope", fit.straight_slope(), -0.20195, 1e-5);
    printed("rho", fit.wandering_rate(), 2.1559, 1e-4);
    let crossing = fit.crossing(MINIMUM, 0.9);
    printed("earliest", crossing.earliest.unwrap_or(f64::NAN), 0.641, 0.001);
    printed("median", crossing.median.unwrap_or(f64::NAN), 1.553, 0.001);
    printed("latest", crossing.latest.unwrap_or(f64::NAN), 3.184, 0.001);
    printed("P(1 year)", fit.p_below(1.0, MINIMUM), 0.164, 0.001);
}

#[test]
fn without_the_wandering_level() {
    for (last, expected, units) in
        [(2.15, [2.788, 4.548, 21.11], [0.001, 0.001, 0.01]), (1.55, [0.696, 1.570, 3.072], [0.001; 3])]
    {
        let fit = fit(last, FORMER);
        assert!(fit.noise_weights().iter().all(|(kind, w)| *kind != NoiseKind::Wandering || *w <= 0.0));
        let crossing = fit.crossing(MINIMUM, 0.9);
        let got = [crossing.earliest, crossing.median, crossing.latest].map(|x| x.unwrap_or(f64::NAN));
        for i in 0..3 {
            printed("quantile", got[i], expected[i], units[i]);
        }
    }
}
