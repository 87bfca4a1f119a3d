//! Comparing a linear fit with a case.

use super::Case;
use groundwall::stats::least_squares::LinearFit;

/// Coefficients, errors, intervals and, where the case has them, predictions at the given rows for a weight of 1.
pub(crate) fn linear(case: &Case, fit: &LinearFit, predict_at: &[&[f64]]) {
    let want = case.computed();
    let rel = case.tolerance("rel");
    let absolute = case.fields["tolerance"]["residual_sd_abs"].as_f64();
    case.close("coef", &fit.coef, &want["coef"], rel);
    if let Some(allowed) = absolute {
        // The fit is exact: everything that measures its scatter is zero up to rounding.
        assert!(fit.residual_sd <= allowed, "{}: residual sd {}", case.id, fit.residual_sd);
        return;
    }
    case.close("se", &fit.covariance.standard_errors(), &want["se"], rel);
    case.close_covariance("cov", &fit.covariance, &want["cov"], rel);
    case.close("residual sd", &[fit.residual_sd], &want["residual_sd"], rel);
    case.close("rss", &[fit.residual_sum_of_squares], &want["rss"], rel);
    case.close("r squared", &[fit.r_squared.unwrap()], &want["r_squared"], rel);
    assert_eq!(Some(fit.degrees_of_freedom as u64), want["df"].as_u64(), "{}: df", case.id);
    let intervals: Vec<f64> = (0..fit.coef.len())
        .map(|j| fit.coef_interval(j, 0.95).unwrap().unwrap())
        .flat_map(|i| [i.low, i.high])
        .collect();
    case.close("coef ci", &intervals, &want["coef_ci"], rel);
    if let Some(published) = case.fields["certified"]["values"].as_object() {
        for (name, value) in published {
            let ours = match name.as_str() {
                "coef" => fit.coef.clone(),
                "se" => fit.covariance.standard_errors(),
                "residual_sd" => vec![fit.residual_sd],
                "r_squared" => vec![fit.r_squared.unwrap()],
                other => panic!("{}: {other} is certified and not compared", case.id),
            };
            case.close(&format!("certified {name}"), &ours, value, rel);
        }
    }
    let all: Vec<_> = predict_at.iter().map(|row| fit.predict(row, 1.0, 0.95).unwrap()).collect();
    assert_eq!(all.is_empty(), want["pred"].is_null(), "{}: predictions left out", case.id);
    if !all.is_empty() {
        let pred = &want["pred"];
        case.close("fit", &all.iter().map(|p| p.mean).collect::<Vec<_>>(), &pred["fit"], rel);
        case.close("se of fit", &all.iter().map(|p| p.se).collect::<Vec<_>>(), &pred["se_fit"], rel);
        let ci: Vec<f64> = all.iter().flat_map(|p| [p.mean_interval.low, p.mean_interval.high]).collect();
        let pi: Vec<f64> = all.iter().flat_map(|p| [p.reading_interval.low, p.reading_interval.high]).collect();
        case.close("ci", &ci, &pred["ci"], rel);
        case.close("pi", &pi, &pred["pi"], rel);
    }
}
