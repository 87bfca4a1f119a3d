//! NIST Statistical Reference Datasets: linear (Norris, Pontius, NoInt1, Wampler 1, 3, 4, Longley) and nonlinear (DanWood).
//!
//! The values are certified by NIST; `computed_to_60_digits` adds what is not certified (covariances, intervals).

use crate::check::{Case, curve, linear};
use groundwall::stats::curve::{ErrorScale, Leakage, fit_decay};
use groundwall::stats::least_squares::{Intercept, fit};

const FILE: &str = "nist_strd.json";

/// Powers 1 to `degree` of `x`, each formed from the whole numbers of the file.
fn polynomial(id: &str, degree: i32, intercept: Intercept) {
    let case = Case::named(FILE, id);
    let x = case.column("x");
    let powers: Vec<Vec<f64>> = (1..=degree).map(|k| x.iter().map(|v| v.powi(k)).collect()).collect();
    let columns: Vec<&[f64]> = powers.iter().map(Vec::as_slice).collect();
    linear::linear(&case, &fit(&columns, &case.column("y"), None, intercept).unwrap(), &[]);
}

#[test]
fn norris_is_certified() {
    polynomial("nist-norris", 1, Intercept::Fitted);
}

#[test]
fn pontius_is_certified() {
    polynomial("nist-pontius", 2, Intercept::Fitted);
}

#[test]
fn noint1_is_certified() {
    polynomial("nist-noint1", 1, Intercept::Absent);
}

#[test]
fn wampler_polynomials_are_certified() {
    for id in ["nist-wampler1", "nist-wampler3", "nist-wampler4"] {
        polynomial(id, 5, Intercept::Fitted);
    }
}

#[test]
fn longley_is_certified() {
    let case = Case::named(FILE, "nist-longley");
    let data: Vec<Vec<f64>> = ["x1", "x2", "x3", "x4", "x5", "x6"].iter().map(|n| case.column(n)).collect();
    let columns: Vec<&[f64]> = data.iter().map(Vec::as_slice).collect();
    linear::linear(&case, &fit(&columns, &case.column("y"), None, Intercept::Fitted).unwrap(), &[]);
}

#[test]
fn danwood_power_law_is_certified() {
    // DanWood grows with x: its exponent is minus ours.
    let case = Case::named(FILE, "nist-danwood");
    let found = fit_decay(&case.column("x"), &case.column("y"), Leakage::Absent, ErrorScale::Additive).unwrap();
    curve::decay(&case, &found, -1.0);
}

#[test]
fn danwood_on_logarithms() {
    // Not certified: computed to 60 digits. The relative fit without leakage must be the same line.
    let case = Case::named(FILE, "danwood-loglog");
    let ln = |name| case.column(name).iter().map(|v| v.ln()).collect::<Vec<f64>>();
    let line = fit(&[&ln("x")], &ln("y"), None, Intercept::Fitted).unwrap();
    linear::linear(&case, &line, &[]);
    let same = fit_decay(&case.column("x"), &case.column("y"), Leakage::Absent, ErrorScale::Relative).unwrap();
    case.close("ln amplitude, exponent", &[same.amplitude.ln(), -same.exponent], &case.computed()["coef"], 1e-9);
    let se = same.covariance.standard_errors();
    case.close("their errors", &[se[0] / same.amplitude, se[1]], &case.computed()["se"], 1e-8);
}
