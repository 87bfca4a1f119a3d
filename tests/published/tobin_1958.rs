//! Purchases of durable goods, 13 of 20 zero: Tobin (1958), Econometrica 26, 24-36.

use crate::check::{Case, censored};
use groundwall::stats::censored::Observation;

#[test]
fn durable_goods_are_as_printed() {
    let case = Case::named("tobin_1958.json", "tobin-durable");
    let observed: Vec<Observation> = case
        .column("durable")
        .into_iter()
        .map(|d| if d > 0.0 { Observation::Exact(d) } else { Observation::Below(0.0) })
        .collect();
    let found = censored::censored(&case, &[&case.column("age"), &case.column("quant")], &observed, None);
    for (quantity, ours) in ["b0", "age", "quant"].into_iter().zip(&found.coef) {
        case.printed(quantity, *ours);
    }
    case.printed("sigma", found.sigma);
    case.printed("log-likelihood", found.log_likelihood);
}
