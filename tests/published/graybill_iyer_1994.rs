//! Inverse prediction on two data sets of Graybill and Iyer (1994), Regression Analysis. Values computed to 60 digits.

use crate::check::{Case, inverse};
use groundwall::stats::least_squares::{Intercept, fit};

#[test]
fn arsenic_and_crystals() {
    for (id, x, y) in [("arsenic-calibration", "actual", "measured"), ("crystal-calibration", "time", "weight")] {
        let case = Case::named("graybill_iyer_1994.json", id);
        inverse::inverse(&case, &fit(&[&case.column(x)], &case.column(y), None, Intercept::Fitted).unwrap());
    }
}
