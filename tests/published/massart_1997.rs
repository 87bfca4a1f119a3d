//! Calibration lines of Massart et al. (1997), Handbook of Chemometrics and Qualimetrics, part A, chapter 8.

use crate::check::{Case, inverse, linear};
use groundwall::stats::interval::student_two_sided;
use groundwall::stats::inverse_prediction::crossing;
use groundwall::stats::least_squares::{Intercept, fit};

const FILE: &str = "massart_1997.json";

#[test]
fn straight_line_of_example_1() {
    let case = Case::named(FILE, "massart-ex1-ols");
    let line = fit(&[&case.column("x")], &case.column("y"), None, Intercept::Fitted).unwrap();
    linear::linear(&case, &line, &[&[25.0], &[60.0]]);
}

#[test]
fn inverse_prediction_of_example_7_is_as_printed() {
    // The book's plus-or-minus is the first-order half width, not Fieller's.
    let case = Case::named(FILE, "massart-ex1-calibration");
    let line = fit(&[&case.column("x")], &case.column("y"), None, Intercept::Fitted).unwrap();
    let t = student_two_sided(0.95, line.degrees_of_freedom).unwrap();
    for (i, at) in inverse::inverse(&case, &line).iter().enumerate() {
        case.printed(&format!("x0 of query {i}"), at.estimate.unwrap());
        case.printed(&format!("half width of query {i}"), t * at.delta_se.unwrap());
    }
}

#[test]
fn weighted_line_of_example_8_is_as_printed() {
    let case = Case::named(FILE, "massart-ex3-weighted");
    let rel = case.tolerance("rel");
    let line = fit(&[&case.column("x")], &case.column("y"), Some(&case.column("w")), Intercept::Fitted).unwrap();
    linear::linear(&case, &line, &[]);
    let t = student_two_sided(0.95, line.degrees_of_freedom).unwrap();
    for (level, weight, x0_key, half_key) in [
        (15.0, 1.67, "x0_at_15", "half_width_at_15_weight_1_67"),
        (90.0, 0.145, "x0_at_90", "half_width_at_90_weight_0_145"),
    ] {
        let at = crossing(&line.line().unwrap(), level, line.residual_sd.powi(2) / weight, t).unwrap();
        let (x0, half) = (at.estimate.unwrap(), t * at.delta_se.unwrap());
        case.close("x0", &[x0], &case.computed()["derived"][x0_key], rel);
        case.close("half width", &[half], &case.computed()["derived"][half_key], rel);
        case.printed(&format!("x0 at {level}"), x0);
        case.printed(&format!("half width at {level}"), half);
    }
}
