//! Motorette lives at four temperatures: Crawford (1970), Insulation 16, 43-48; estimates as in Schmee and Hahn (1979),
//! Technometrics 21, 417-432.

use crate::check::{Case, censored};
use groundwall::stats::censored::{CensoredFit, Observation};

fn lives(
    id: &str,
    abscissa: impl Fn(f64) -> f64,
    logarithm: impl Fn(f64) -> f64,
    at: Option<f64>,
) -> (Case, CensoredFit) {
    let case = Case::named("crawford_1970.json", id);
    let x: Vec<f64> = case.column("temp_c").into_iter().map(&abscissa).collect();
    let observed: Vec<Observation> = case
        .column("time_h")
        .into_iter()
        .zip(case.column("failed"))
        .map(
            |(t, failed)| {
                if failed > 0.5 { Observation::Exact(logarithm(t)) } else { Observation::Above(logarithm(t)) }
            },
        )
        .collect();
    let row = at.map(|t| [abscissa(t)]);
    let found = censored::censored(&case, &[&x], &observed, row.as_ref().map(|r| &r[..]));
    (case, found)
}

#[test]
fn arrhenius_line_of_log10_life_is_as_printed() {
    // The paper's Kelvin offset is 273.2. The printed values are quoted from memory of the paper.
    let (case, found) = lives("motorettes-arrhenius-lognormal", |t| 1000.0 / (t + 273.2), f64::log10, Some(130.0));
    case.printed("b0", found.coef[0]);
    case.printed("b1", found.coef[1]);
    case.printed("sigma", found.sigma);
}

#[test]
fn line_of_ln_life_on_temperature() {
    lives("motorettes-ln", |t| t, f64::ln, None);
}
