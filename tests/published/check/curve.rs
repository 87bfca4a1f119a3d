//! Comparing a decay with a case.

use super::Case;
use groundwall::stats::curve::Decay;

/// Estimates, errors and scatter; `exponent_sign` is -1 where the case writes `t^b` for `t^-n`.
pub(crate) fn decay(case: &Case, found: &Decay, exponent_sign: f64) {
    let (rel, se_rel) = (case.tolerance("rel"), case.tolerance("se_rel"));
    let coef: Vec<f64> =
        [Some(found.amplitude), Some(found.exponent * exponent_sign), found.leakage].into_iter().flatten().collect();
    let se = found.covariance.standard_errors();
    let want = case.computed();
    case.close("coef", &coef, &want["coef"], rel);
    case.close("se", &se, &want["se"], se_rel);
    if exponent_sign > 0.0 {
        case.close_covariance("cov", &found.covariance, &want["cov"], se_rel);
    } else {
        let entry = found.covariance.get(0, 1).map(|c| -c);
        case.close("cov", &[entry.unwrap()], &want["cov"][0][1], se_rel);
    }
    case.close("rss", &[found.residual_sum_of_squares], &want["rss"], rel);
    case.close("residual sd", &[found.residual_sd], &want["residual_sd"], rel);
    assert_eq!(Some(found.degrees_of_freedom as u64), want["df"].as_u64(), "{}: df", case.id);
    if let Some(certified) = case.fields["certified"]["values"].as_object() {
        for (name, value) in certified {
            let (ours, tolerance) = match name.as_str() {
                "coef" => (coef.clone(), rel),
                "se" => (se.clone(), se_rel),
                "rss" => (vec![found.residual_sum_of_squares], rel),
                "residual_sd" => (vec![found.residual_sd], rel),
                other => panic!("{}: {other} is certified and not compared", case.id),
            };
            case.close(&format!("certified {name}"), &ours, value, tolerance);
        }
    }
}
