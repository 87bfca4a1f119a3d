//! IEEE Std 43 cl. 6.3: factors K that bring a resistance to 40 °C.
//!
//! The thermoplastic formula, 0.5^((40 − t)/10), was read in a guide to the edition of 2013. Of the thermosetting one it
//! was read that the edition of 2013 has two branches; coefficients (4230 and 1245 K), ranges and the rounded 273 and
//! 313 K are from memory. The factors were computed from the formulas apart from this code.

use crate::published_rows::{Row, Rows};
use groundwall::temperature::{Correction, TemperatureLaw};
use groundwall::units::Temperature;

fn celsius(value: f64) -> Temperature {
    Temperature::from_celsius(value).unwrap()
}

fn to_40(law: TemperatureLaw, row: &Row) -> Correction {
    law.correction(celsius(row.number("temp_c")), celsius(40.0))
}

#[test]
fn thermoplastic_factors_to_40() {
    let rows = Rows::read("ieee43_kt_thermoplastic.csv", include_str!("data/ieee43_kt_thermoplastic.csv"), 21);
    rows.check(|row| to_40(TemperatureLaw::thermoplastic(), row).factor());
}

fn thermosetting() -> Rows {
    Rows::read("ieee43_kt_thermosetting.csv", include_str!("data/ieee43_kt_thermosetting.csv"), 16)
}

#[test]
fn thermosetting_factors_to_40_from_memory() {
    thermosetting().check(|row| to_40(TemperatureLaw::Thermosetting, row).factor());
}

/// From memory: no thermosetting factor is defined outside 10 to 85 °C, so the code must say when it leaves them.
#[test]
fn thermosetting_factors_are_flagged_outside_their_range() {
    for row in thermosetting().iter() {
        assert!(!to_40(TemperatureLaw::Thermosetting, row).outside, "{}", row.cite());
    }
    for outside in [9.9, 85.1] {
        assert!(TemperatureLaw::Thermosetting.correction(celsius(outside), celsius(40.0)).outside, "{outside}");
        assert!(TemperatureLaw::Thermosetting.correction(celsius(40.0), celsius(outside)).outside, "to {outside}");
    }
}

/// Kelvins in which the resistance halves, between two temperatures: the lower branch is almost flat.
#[test]
fn thermosetting_halving_intervals_from_memory() {
    let rows = Rows::read("ieee43_halving_k.csv", include_str!("data/ieee43_halving_k.csv"), 4);
    rows.check(|row| {
        let (from, to) = (row.number("from_c"), row.number("to_c"));
        let decades = TemperatureLaw::Thermosetting.correction(celsius(to), celsius(from)).log10_factor;
        (to - from) * std::f64::consts::LOG10_2 / decades
    });
}

/// An unknown insulation takes the lesser of the two factors of the standard.
#[test]
fn unknown_insulation_takes_the_stricter_of_the_two_factors() {
    let thermoplastic = Rows::read("ieee43_kt_thermoplastic.csv", include_str!("data/ieee43_kt_thermoplastic.csv"), 21);
    for row in thermosetting().iter() {
        let same = thermoplastic.iter().find(|other| other.text("temp_c") == row.text("temp_c")).unwrap();
        let stricter = row.printed().min(same.printed());
        let found = to_40(TemperatureLaw::Either, row).factor();
        // Six decimals of a factor as small as 0.125: half a unit is 4e-6 of it.
        assert!((found / stricter - 1.0).abs() < 4e-6, "{found}, {stricter}; {}", row.cite());
    }
}
