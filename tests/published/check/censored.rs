//! Comparing a censored fit with a case.

use super::Case;
use groundwall::stats::censored::{CensoredFit, Observation, fit};
use groundwall::stats::interval::normal_two_sided;
use groundwall::stats::inverse_prediction::{CrossingSet, crossing};

/// The observations of a table with `kind`, `lo` and `hi`.
pub(crate) fn observations(case: &Case) -> Vec<Observation> {
    let kinds = case.table.as_ref().unwrap().text("kind");
    let bounds = case.column("lo").into_iter().zip(case.column("hi"));
    kinds
        .into_iter()
        .zip(bounds)
        .map(|(kind, (low, high))| match kind {
            "exact" => Observation::Exact(low),
            "right" => Observation::Above(low),
            "left" => Observation::Below(high),
            "interval" => Observation::Between { low, high },
            other => panic!("{}: {other}", case.id),
        })
        .collect()
}

/// Fits and compares estimates, covariances and, where the case has them, prediction, crossing and likelihood ratio.
pub(crate) fn censored(
    case: &Case,
    columns: &[&[f64]],
    observed: &[Observation],
    predict_at: Option<&[f64]>,
) -> CensoredFit {
    let want = case.computed();
    let (rel, cov_rel) = (case.tolerance("rel"), case.tolerance("cov_rel"));
    let found = fit(columns, observed).unwrap_or_else(|e| panic!("{}: {e}", case.id));
    case.close("coef", &found.coef, &want["coef"], rel);
    case.close("sigma", &[found.sigma], &want["sigma"], rel);
    case.close("ln sigma", &[found.sigma.ln()], &want["log_sigma"], rel);
    case.close("log-likelihood", &[found.log_likelihood], &want["loglik"], rel);
    case.close_covariance("cov with ln sigma", &found.covariance, &want["cov_beta_logsigma"], cov_rel);
    let with_sigma = found.covariance_with_sigma();
    case.close_covariance("cov with sigma", &with_sigma, &want["cov_beta_sigma"], cov_rel);
    let p = found.coef.len();
    case.close("se", &found.covariance.standard_errors()[..p], &want["se_beta"], cov_rel);
    case.close("se of ln sigma", &[found.covariance.standard_error(p).unwrap()], &want["se_log_sigma"], cov_rel);
    case.close("se of sigma", &[with_sigma.standard_error(p).unwrap()], &want["se_sigma"], cov_rel);
    let counts = &want["counts"];
    let kinds = [
        ("exact", found.counts.exact),
        ("right", found.counts.above),
        ("left", found.counts.below),
        ("interval", found.counts.between),
    ];
    for (name, ours) in kinds {
        assert_eq!(counts[name].as_u64(), Some(ours as u64), "{}: {name}", case.id);
    }
    assert_eq!(predict_at.is_none(), want["pred_mean"].is_null(), "{}: prediction left out", case.id);
    if let Some(row) = predict_at {
        let at = found.predict(row, 0.95).unwrap();
        let want = &want["pred_mean"];
        let (ci, pi) = (at.mean_interval, at.reading_interval);
        case.close("mean", &[at.mean], &want["mean"], rel);
        case.close("se of mean", &[at.se], &want["se"], cov_rel);
        case.close("ci of mean", &[ci.low, ci.high], &want["ci"], cov_rel);
        case.close("interval of a new value", &[pi.low, pi.high], &want["normal_pi"], cov_rel);
    }
    if let Some(limit) = case.fields["limit"].as_f64() {
        crossing_of(case, &found, limit);
    }
    if !want["lr_slope_zero"].is_null() {
        let level = fit(&[], observed).unwrap().log_likelihood;
        case.close("log-likelihood without slope", &[level], &want["loglik_slope_zero"], rel);
        case.close("likelihood ratio", &[2.0 * (found.log_likelihood - level)], &want["lr_slope_zero"], rel);
    }
    found
}

fn crossing_of(case: &Case, found: &CensoredFit, limit: f64) {
    let want = &case.computed()["crossing"];
    let (rel, cov_rel) = (case.tolerance("rel"), case.tolerance("cov_rel"));
    let z = normal_two_sided(0.95).unwrap();
    let at = crossing(&found.line().unwrap(), limit, 0.0, z).unwrap();
    let (x0, se) = (at.estimate.unwrap(), at.delta_se.unwrap());
    case.close("crossing", &[x0], &want["t_cross"], rel);
    case.close("first-order se of crossing", &[se], &want["delta_se"], cov_rel);
    case.close("first-order interval", &[x0 - z * se, x0 + z * se], &want["delta_ci"], cov_rel);
    match at.set {
        CrossingSet::Interval { low, high } => case.close("Fieller", &[low, high], &want["fieller_ci"], cov_rel),
        _ => assert!(want["fieller_ci"].is_null(), "{}: {:?}", case.id, at.set),
    }
}
