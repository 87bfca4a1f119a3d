//! Quantiles of Student's t and of the normal distribution. Values computed to 60 digits.

use crate::check::json;
use groundwall::stats::interval::{normal_two_sided, student_two_sided};

#[test]
fn two_sided_quantiles() {
    let table = json("quantiles.json");
    let rel = table["tolerance"]["ppf_rel"].as_f64().unwrap();
    let close =
        |ours: f64, theirs: f64, what: &str| assert!((ours / theirs - 1.0).abs() <= rel, "{what}: {ours} {theirs}");
    for row in table["t_ppf_df_p"].as_array().unwrap() {
        let [df, p, value] = [0, 1, 2].map(|i| row[i].as_f64().unwrap());
        close(student_two_sided(2.0 * p - 1.0, df as usize).unwrap(), value, &row.to_string());
    }
    let mut compared = 0;
    for row in table["norm_ppf"].as_array().unwrap() {
        let [p, value] = [0, 1].map(|i| row[i].as_f64().unwrap());
        if p > 0.5 {
            close(normal_two_sided(2.0 * p - 1.0).unwrap(), value, &row.to_string());
            compared += 1;
        }
    }
    assert_eq!(compared, 5);
}
