//! A made-up level with one step. Values computed to 60 digits.

use crate::check::{Case, step};

#[test]
fn a_step_in_a_level() {
    let case = Case::named("step_synthetic.json", "syn-step-level");
    step::step(&case, &case.column("log10_r"));
}
