//! Made-up series with values off the scale, between limits, or only passed or failed. Values computed to 60 digits.

use crate::check::{Case, censored};
use groundwall::stats::censored::{CensoredError, NoFiniteMaximum, finite_maximum, fit};

const FILE: &str = "censored_synthetic.json";

#[test]
fn every_regular_case() {
    let mut compared = 0;
    for case in Case::all(FILE).iter().filter(|c| c.computed()["finite_mle"].is_null()) {
        let observed = censored::observations(case);
        let t = case.column("t_years");
        assert_eq!(finite_maximum(&[&t], &observed), Ok(None), "{}", case.id);
        match case.id.as_str() {
            "syn-tobit-temp-trend" => {
                let inverse: Vec<f64> =
                    case.column("temp_c").iter().map(|c| 1000.0 / (c + 273.15) - 1000.0 / 313.15).collect();
                censored::censored(case, &[&t, &inverse], &observed, Some(&[12.0, 0.0]));
            }
            "syn-tobit-n36-c50-calendar" => {
                censored::censored(case, &[&t], &observed, Some(&[2026.0]));
            }
            _ => {
                censored::censored(case, &[&t], &observed, Some(&[12.0]));
            }
        }
        compared += 1;
    }
    assert_eq!(compared, 11);
}

#[test]
fn every_case_without_a_finite_maximum_is_told() {
    let expected = [
        ("syn-tobit-two-exact-degenerate", NoFiniteMaximum::PerfectLine { exact: 2 }),
        ("syn-tobit-one-exact-degenerate", NoFiniteMaximum::PerfectLine { exact: 1 }),
        ("syn-tobit-all-right", NoFiniteMaximum::OneSided { bounds: 12 }),
        ("syn-tobit-linear-exact", NoFiniteMaximum::PerfectLine { exact: 12 }),
        ("syn-tobit-linear-decimal", NoFiniteMaximum::PerfectLine { exact: 12 }),
        ("syn-tobit-linear-censored", NoFiniteMaximum::PerfectLine { exact: 7 }),
        ("syn-tobit-gonogo-separated", NoFiniteMaximum::Separated),
    ];
    let listed = Case::all(FILE).iter().filter(|c| c.computed()["finite_mle"] == false).count();
    assert_eq!(listed, expected.len());
    for (id, reason) in expected {
        let case = Case::named(FILE, id);
        let observed = censored::observations(&case);
        // The same must hold on calendar years, where a tolerance that forgets the centre would fail.
        for offset in [0.0, 2015.0] {
            let t: Vec<f64> = case.column("t_years").iter().map(|v| v + offset).collect();
            assert_eq!(finite_maximum(&[&t], &observed), Ok(Some(reason)), "{id}");
            assert_eq!(fit(&[&t], &observed), Err(CensoredError::NoFiniteMaximum(reason)), "{id}");
        }
    }
}
