//! Comparing inverse predictions with a case.

use super::Case;
use groundwall::stats::interval::student_two_sided;
use groundwall::stats::inverse_prediction::{Crossing, CrossingSet, crossing};
use groundwall::stats::least_squares::LinearFit;

/// Every query of the case; the crossings are returned for what else was printed about them.
pub(crate) fn inverse(case: &Case, fit: &LinearFit) -> Vec<Crossing> {
    let rel = case.tolerance("rel");
    let t = student_two_sided(0.95, fit.degrees_of_freedom).unwrap();
    let queries = case.computed()["queries"].as_array().unwrap();
    let mut found = Vec::new();
    for query in queries {
        let level: f64 = query["y0"].as_str().unwrap().parse().unwrap();
        let readings = query["m"].as_f64().unwrap();
        let of_mean = query["mean_response"].as_bool().unwrap();
        let extra = if of_mean { 0.0 } else { fit.residual_sd.powi(2) / readings };
        let at = crossing(&fit.line().unwrap(), level, extra, t).unwrap();
        let (x0, se) = (at.estimate.unwrap(), at.delta_se.unwrap());
        case.close("x0", &[x0], &query["x0"], rel);
        case.close("g", &[at.g.unwrap()], &query["g"], rel);
        case.close("first-order se", &[se], &query["wald_se"], rel);
        case.close("first-order interval", &[x0 - t * se, x0 + t * se], &query["wald"], rel);
        match at.set {
            CrossingSet::Interval { low, high } => {
                assert_eq!(query["fieller_kind"], "interval", "{}", case.id);
                case.close("Fieller interval", &[low, high], &query["fieller"], rel);
            }
            CrossingSet::TwoHalfLines { until, from } => {
                assert_eq!(query["fieller_kind"], "two_half_lines", "{}", case.id);
                case.close("ends of half lines", &[until, from], &query["fieller_half_line_ends"], rel);
            }
            other => panic!("{}: {other:?}", case.id),
        }
        found.push(at);
    }
    found
}
