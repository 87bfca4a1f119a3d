//! The worked check example of the forecast method's own description (13 readings, default priors).
//!
//! Source: the example printed with the method, made by an independent implementation in another language. Each figure
//! is checked to half a unit of its last printed digit.
//!
//! `DIFFERENCE:` the method has moved on since that example was printed, because simulated histories that ease off, start
//! late or sink in drops were held too rarely: two shapes were added and the weights of all changed, drops are 0.07
//! decades instead of 0.05, their rate may change, and a recent fall may also be a decline that sped up. Since then the
//! temperature law is 0.03 or 0.1 decades per 10 °C out instead of 0.01 or 0.18, because the wider prior explained falls away;
//! a decline may begin late in the record; and the level carries an error that does not average out. What comes before those
//! choices (scatter, outliers, degrees of freedom) still has the printed digits. The rest is held as a regression: our own
//! output.

use groundwall::resistance::Bound;
use groundwall::trend::{Crossing, NoiseWeights, Priors, Reading, Shape, Stretch, StretchFit, solve};
use groundwall::units::{Confidence, Resistance, TemperatureDifference, Years};

const YEARS: [f64; 13] = [-3.05, -2.81, -2.55, -2.30, -2.06, -1.79, -1.55, -1.31, -1.04, -0.80, -0.56, -0.31, -0.06];
const LOG10_MOHM: [f64; 13] = [2.62, 2.60, 2.63, 2.61, 2.44, 2.50, 2.41, 1.92, 2.33, 2.34, 2.21, 2.22, 2.15];
const TEMP_C: [f64; 13] = [24.0, 31.0, 28.0, 35.0, 22.0, 30.0, 27.0, 26.0, 33.0, 29.0, 25.0, 36.0, 28.0];
/// log10 of the minimum.
const MINIMUM: f64 = 1.3;

fn example(last: f64) -> Stretch {
    let readings = (0..13).map(|k| {
        let log10 = if k == 12 { last } else { LOG10_MOHM[k] };
        let bound = if k < 3 { Bound::Above } else { Bound::Exact };
        Reading::new(Years::from_years(YEARS[k]).unwrap(), bound, Resistance::from_log10_megohms(log10))
            .at_temperature(TemperatureDifference::from_kelvins(TEMP_C[k] - 40.0).unwrap())
    });
    Stretch::new(readings.collect()).expect("the example is a valid stretch")
}

fn fit(last: f64, weights: NoiseWeights) -> StretchFit {
    solve(&example(last), &Priors::default()).average(&weights)
}

fn minimum() -> Resistance {
    Resistance::from_log10_megohms(MINIMUM)
}

fn crossing(fit: &StretchFit) -> Crossing {
    fit.crossing(minimum(), Confidence::from_fraction(0.9).unwrap())
}

fn p_below(fit: &StretchFit, years: f64) -> f64 {
    fit.p_below(Years::from_years(years).unwrap(), minimum()).as_fraction()
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
    let fit = solved.average(&NoiseWeights::default());
    printed("sigma", fit.scatter().as_decades(), 0.06488, 1e-5);
    for (k, p) in fit.outlier_probabilities().iter().enumerate() {
        if k == 7 {
            printed("the 8th is an outlier", *p, 1.0, 1e-4);
        } else {
            assert!(*p <= 0.00735, "reading {k}: {p}");
        }
    }
    printed("degrees of freedom", fit.degrees_of_freedom(), 12.945, 0.001);
    // Regression: printed before the change −0.19392 and 2.3035 (drops of 0.05).
    printed("mean slope", fit.straight_slope(), -0.19440, 1e-5);
    printed("rho", fit.wandering_rate(), 3.2329, 1e-4);
    assert!(shape(&fit, Shape::Straight) > 0.8);
    let crossing = crossing(&fit);
    // Regression: printed before the change 2.595, 4.531, 19.75 years; 0.0006 and 0.074.
    printed("earliest", crossing.earliest.map_or(f64::NAN, Years::as_years), 2.344, 0.001);
    printed("median", crossing.median.map_or(f64::NAN, Years::as_years), 4.547, 0.001);
    assert_eq!(crossing.latest, None);
    printed("P(1 year)", p_below(&fit, 1.0), 0.0014, 1e-4);
    printed("P(3 years)", p_below(&fit, 3.0), 0.095, 0.001);
    assert!(fit.fall().is_none() && fit.shift().is_none());
}

#[test]
fn the_sudden_fall() {
    let fit = fit(1.55, NoiseWeights::default());
    let fall = fit.fall().expect("0.6 decades below the prediction is a fall");
    assert_eq!(fall.readings, 1);
    // Regression: printed before the change 0.000225, −0.20195 and 2.1559 (drops of 0.05).
    printed("p", fall.probability, 0.000_182, 1e-6);
    printed("mean slope", fit.straight_slope(), -0.20223, 1e-5);
    printed("rho", fit.wandering_rate(), 3.0223, 1e-4);
    let crossing = crossing(&fit);
    // Regression: printed before the change 0.641, 1.553, 3.184 years; 0.164.
    printed("earliest", crossing.earliest.map_or(f64::NAN, Years::as_years), 0.398, 0.001);
    printed("median", crossing.median.map_or(f64::NAN, Years::as_years), 1.542, 0.001);
    printed("latest", crossing.latest.map_or(f64::NAN, Years::as_years), 4.057, 0.001);
    printed("P(1 year)", p_below(&fit, 1.0), 0.234, 0.001);
}
