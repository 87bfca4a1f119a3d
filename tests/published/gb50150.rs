//! Chinese national standards: factors to operating temperature, ratio of the phases, minimum of a hot machine.
//!
//! GB 50150-2006 Appendix B gives a divisor that brings a resistance to operating temperature: 2^((75 − t)/10) for
//! thermoplastic insulation to 75 °C, 1.6^((100 − t)/10) for thermosetting insulation of class B to 100 °C. The page it
//! was read on does not name the standard; the attribution is from memory. Clause 3.0.2 limits the ratio of the phases.

use crate::published_rows::{Row, Rows};
use groundwall::minimum::hot_running;
use groundwall::policy::Policy;
use groundwall::temperature::TemperatureLaw;
use groundwall::units::{Power, Temperature, TemperatureDifference, Voltage};
use std::f64::consts::LN_2;

/// Kelvins in which a factor of 1.6 per 10 K halves: 14.75 K.
fn class_b_halving() -> TemperatureDifference {
    TemperatureDifference::from_kelvins(10.0 * LN_2 / 1.6f64.ln()).unwrap()
}

fn operating_factors() -> Rows {
    Rows::read("gb50150_operating_factors.csv", include_str!("data/gb50150_operating_factors.csv"), 16)
}

/// The divisor of the standard is the inverse of the factor of the code.
fn divisor(row: &Row) -> f64 {
    let law = match row.text("insulation") {
        "thermoplastic" => TemperatureLaw::thermoplastic(),
        _ => TemperatureLaw::Halving(class_b_halving()),
    };
    let celsius = |column: &str| Temperature::from_celsius(row.number(column)).unwrap();
    1.0 / law.correction(celsius("temp_c"), celsius("operating_c")).factor()
}

#[test]
fn sixteen_printed_divisors_follow_from_both_formulas() {
    operating_factors().check(divisor);
}

/// The printed digits alone would let 1.4 be 3.6 % off; the two formulas are in truth 1.0 % from the worst print and no more.
#[test]
fn the_worst_printed_divisor_is_one_percent_off() {
    let worst = operating_factors().iter().map(|row| (row.printed() / divisor(row) - 1.0).abs()).fold(0.0, f64::max);
    assert!((0.0095..0.0105).contains(&worst), "{worst}");
}

#[test]
fn phases_are_compared_with_the_limit_of_two() {
    let rows = Rows::read("gb50150_phase_ratio.csv", include_str!("data/gb50150_phase_ratio.csv"), 3);
    let ratio = |row: &Row| {
        let phases = row.text("phases_mohm").split(' ').map(|cell| cell.parse::<f64>().unwrap());
        phases.clone().fold(f64::MIN, f64::max) / phases.fold(f64::MAX, f64::min)
    };
    rows.check(ratio);
    let limit = Policy::default().phase_ratio_limit;
    rows.check_word("passes", |row| if ratio(row) <= limit { "yes" } else { "no" });
}

/// The AIEE rule has the same form with kVA in place of kW; only the arithmetic is compared there.
#[test]
fn the_hot_minimum_is_the_hand_worked_fraction() {
    let rows = Rows::read("gb_hot_running.csv", include_str!("data/gb_hot_running.csv"), 4);
    rows.check(|row| {
        let rated = Voltage::from_volts(row.number("rated_v")).unwrap();
        hot_running(rated, Power::from_kilowatts(row.number("power")).unwrap()).as_megohms()
    });
}
