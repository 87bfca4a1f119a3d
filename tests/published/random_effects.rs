//! Twelve made-up slopes with known variances, pooled by the rule of Paule and Mandel. Values computed to 60 digits.

use crate::check::Case;
use groundwall::stats::pooling::pool;

#[test]
fn slopes_of_a_fleet() {
    let case = Case::named("random_effects.json", "syn-fleet-meta");
    let want = case.computed();
    let list = |name: &str| want[name].as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect::<Vec<_>>();
    let pooled = pool(&list("slopes"), &list("variances")).unwrap();
    let rel = case.tolerance("rel");
    let rule = &want["paule_mandel"];
    case.close("Q", &[pooled.heterogeneity], &want["Q"], rel);
    case.close("tau2", &[pooled.between_variance], &rule["tau2"], rel);
    case.close("mean", &[pooled.mean], &rule["mean"], rel);
    case.close("se", &[pooled.mean_se], &rule["se"], rel);
    let shrunken: Vec<f64> = pooled.shrunken.iter().map(|s| s.estimate).collect();
    case.close("shrunken", &shrunken, &rule["shrunken"], rel);
}
