//! Made-up absorption currents, with and without leakage. Values computed to 60 digits.

use crate::check::{Case, curve, linear};
use groundwall::stats::curve::{ErrorScale, Leakage, fit_decay};
use groundwall::stats::least_squares::{Intercept, fit};

const FILE: &str = "absorption_synthetic.json";

#[test]
fn power_law_on_logarithms() {
    let case = Case::named(FILE, "syn-absorption-loglog");
    let ln = |name| case.column(name).iter().map(|v| v.ln()).collect::<Vec<f64>>();
    let line = fit(&[&ln("t_s")], &ln("i_ua"), None, Intercept::Fitted).unwrap();
    linear::linear(&case, &line, &[&[60.0_f64.ln()], &[600.0_f64.ln()]]);

    let same = fit_decay(&case.column("t_s"), &case.column("i_ua"), Leakage::Absent, ErrorScale::Relative).unwrap();
    let derived = &case.computed()["derived"];
    case.close("A", &[same.amplitude], &derived["A"], case.tolerance("rel"));
    case.close("n", &[same.exponent], &derived["n"], case.tolerance("rel"));
    let ratio = same.current_at(60.0).unwrap() / same.current_at(600.0).unwrap();
    case.close("current at 60 over 600", &[ratio], &derived["pi_60_600"], case.tolerance("rel"));
}

#[test]
fn power_law_with_additive_errors() {
    let case = Case::named(FILE, "syn-absorption-nls");
    let found = fit_decay(&case.column("t_s"), &case.column("i_ua"), Leakage::Absent, ErrorScale::Additive).unwrap();
    curve::decay(&case, &found, 1.0);
}

#[test]
fn power_law_and_leakage_with_additive_errors() {
    let case = Case::named(FILE, "syn-absorption-leak-nls");
    let found = fit_decay(&case.column("t_s"), &case.column("i_ua"), Leakage::Fitted, ErrorScale::Additive).unwrap();
    curve::decay(&case, &found, 1.0);
}
