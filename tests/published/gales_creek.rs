//! Chromium in Gales Creek, Oregon, 2009 to 2018, 17 of 63 below detection limits. Values computed to 60 digits.

use crate::check::{Case, censored};
use groundwall::stats::censored::Observation;

#[test]
fn trend_with_discharge() {
    let case = Case::named("gales_creek.json", "gales-creek-chromium");
    let years: Vec<f64> = case.column("dectime").iter().map(|t| t - 2013.0).collect();
    let discharge: Vec<f64> = case.column("discharge").iter().map(|q| q.ln()).collect();
    let observed: Vec<Observation> = case
        .column("tcr")
        .into_iter()
        .zip(case.column("censored"))
        .map(|(c, below)| if below > 0.5 { Observation::Below(c.ln()) } else { Observation::Exact(c.ln()) })
        .collect();
    censored::censored(&case, &[&years, &discharge], &observed, None);
}
