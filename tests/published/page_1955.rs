//! Page's forty numbers: Page (1955), Biometrika 42, 523-527; the change as found by Pettitt (1979), Appl. Stat. 28, 126-135.

use crate::check::{Case, step};

#[test]
fn least_squares_finds_pettitts_place() {
    let case = Case::named("page_1955.json", "page1955-step");
    let found = step::step(&case, &case.column("x"));
    case.printed("Pettitt location", found.location as f64);
}
