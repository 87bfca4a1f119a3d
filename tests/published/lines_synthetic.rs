//! Made-up straight lines: weights, an Arrhenius law, outliers, a slope too weak to cross. Values computed to 60 digits.

use crate::check::{Case, inverse, linear};
use groundwall::stats::least_squares::{Intercept, fit};

const FILE: &str = "lines_synthetic.json";

#[test]
fn weights_of_very_different_size() {
    let case = Case::named(FILE, "syn-weighted");
    let weights = case.column("weight");
    let line = fit(&[&case.column("t_years")], &case.column("log10_r"), Some(&weights), Intercept::Fitted).unwrap();
    linear::linear(&case, &line, &[&[6.0]]);
}

#[test]
fn arrhenius_law() {
    let case = Case::named(FILE, "syn-arrhenius");
    let inverse = |c: f64| 1.0 / (c + 273.15);
    let x: Vec<f64> = case.column("temp_c").into_iter().map(inverse).collect();
    let y: Vec<f64> = case.column("r_mohm").iter().map(|r| r.ln()).collect();
    let line = fit(&[&x], &y, None, Intercept::Fitted).unwrap();
    linear::linear(&case, &line, &[&[inverse(40.0)], &[inverse(130.0)]]);
    // Boltzmann's constant as in the case, in eV/K.
    let ev = 8.617_333_262e-5;
    let derived = &case.computed()["derived"];
    case.close("activation energy", &[line.coef[1] * ev], &derived["ea_ev"], case.tolerance("rel"));
    let se = line.covariance.standard_error(1).unwrap() * ev;
    case.close("its error", &[se], &derived["ea_ev_se"], case.tolerance("rel"));
}

#[test]
fn outliers_swing_the_line() {
    let case = Case::named(FILE, "syn-outliers-ols");
    let line = fit(&[&case.column("t_years")], &case.column("log10_r"), None, Intercept::Fitted).unwrap();
    linear::linear(&case, &line, &[]);
}

#[test]
fn a_weak_slope_gives_two_half_lines() {
    let case = Case::named(FILE, "syn-weakslope-calibration");
    inverse::inverse(&case, &fit(&[&case.column("t")], &case.column("log10_r"), None, Intercept::Fitted).unwrap());
}
