//! IEC 60085 thermal classes: a letter and the temperature it stands for, or the temperature alone.
//!
//! Letters A, E, B, F and H were read in public summaries that agree; Y, N, R and 250 are from memory. The hottest-spot
//! column of a generator loading guide confirms A, B, F and H independently.

use crate::published_rows::{Row, Rows};
use groundwall::nameplate::ThermalClass;

fn classes() -> Rows {
    Rows::read("thermal_classes.csv", include_str!("data/thermal_classes.csv"), 13)
}

fn degrees(text: &str) -> f64 {
    ThermalClass::read(text).map_or(f64::NAN, |class| f64::from(class.degrees_celsius()))
}

#[test]
fn a_class_is_read_by_its_name() {
    classes().check(|row| degrees(row.text("thermal_class")));
}

#[test]
fn a_class_is_read_by_its_temperature_and_by_a_small_letter() {
    classes().check(|row: &Row| degrees(row.text("printed")));
    classes().check(|row: &Row| degrees(&row.text("thermal_class").to_lowercase()));
}

/// DIFFERENCE: the older class O (90 °C hottest spot in the loading guide's Table 1, read) is not a class of IEC 60085,
/// where 90 °C has the letter Y; a letter that the standard does not have is refused, not guessed.
#[test]
fn a_letter_that_the_standard_does_not_have_is_refused() {
    for letter in ["O", "C", "AB", ""] {
        assert_eq!(ThermalClass::read(letter), None, "{letter}");
    }
}

#[test]
fn the_codes_letters_are_those_of_the_file_and_no_others() {
    let table = classes();
    for (letter, _) in ThermalClass::LETTERS {
        assert!(table.iter().any(|row| row.text("thermal_class") == letter), "{letter} has no source");
    }
}
