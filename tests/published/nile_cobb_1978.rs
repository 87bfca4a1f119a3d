//! Annual flow of the Nile at Aswan, 1871 to 1970: Cobb (1978), Biometrika 65, 243-251; the break and its F ratio as in
//! Zeileis et al. (2003), Comput. Stat. Data Anal. 44, 109-123.

use crate::check::{Case, step};

#[test]
fn the_dam_is_found_where_it_was_printed() {
    // Printed values quoted from memory of the paper.
    let case = Case::named("nile_cobb_1978.json", "nile-step");
    let found = step::step(&case, &case.column("flow"));
    case.printed("last year of first segment (1870 + location)", 1870.0 + found.location as f64);
    case.printed("sup F", found.f.unwrap());
}
