//! IEEE Std 43 cl. 5.1, 5.4 and 12.2: polarization index, its minima, and where it says nothing.
//!
//! Minima of the edition of 2000 and the 5000 MΩ rule were read in a trade quiz of 2004; the wording of 2013 is from
//! memory. DIFFERENCE: a repair-trade handbook asks 2.0 of every class; the code follows the standard with 1.5 for class A.

use crate::published_rows::{Row, Rows};
use groundwall::absorption::{self, Ratio};
use groundwall::nameplate::ThermalClass;
use groundwall::policy::Policy;
use groundwall::resistance::{Bound, Measured, TimedReading};
use groundwall::units::{Elapsed, Resistance};
use std::f64::consts::LOG2_10;

fn reading(seconds: f64, megohms: f64) -> TimedReading {
    TimedReading {
        elapsed: Elapsed::from_seconds(seconds).unwrap(),
        value: Measured::Exact(Resistance::from_megohms(megohms).unwrap()),
    }
}

fn exact(ratio: Option<Ratio>) -> f64 {
    ratio.filter(|ratio| ratio.bound == Bound::Exact).map_or(f64::NAN, |ratio| ratio.value)
}

#[test]
fn minimum_index_by_thermal_class() {
    let policy = Policy::default();
    let rows = Rows::read("ieee43_minimum_pi.csv", include_str!("data/ieee43_minimum_pi.csv"), 14);
    rows.check(|row| match ThermalClass::read(row.text("thermal_class")).unwrap().degrees_celsius() {
        105 => policy.pi_minimum_class_105,
        _ => policy.pi_minimum,
    });
}

fn pi_examples() -> Rows {
    Rows::read("ieee43_pi_examples.csv", include_str!("data/ieee43_pi_examples.csv"), 4)
}

#[test]
fn index_of_a_published_pair() {
    pi_examples().check(|row| {
        let readings = [reading(60.0, row.number("r60_mohm")), reading(600.0, row.number("r600_mohm"))];
        exact(absorption::polarization_index(&readings))
    });
}

#[test]
fn above_5000_megohms_the_index_says_nothing() {
    let limit = Policy::default().pi_not_meaningful_above;
    pi_examples().check_word("meaningful", |row: &Row| {
        let one_minute = Resistance::from_megohms(row.number("r60_mohm")).unwrap();
        if one_minute > limit { "no" } else { "yes" }
    });
}

/// R proportional to t^n, in megohms, at the times given.
fn power_law(exponent: f64, seconds: &[f64]) -> Vec<TimedReading> {
    seconds.iter().map(|&t| reading(t, 50.0 * t.powf(exponent))).collect()
}

fn power_law_rows() -> Rows {
    Rows::read("power_law_ratios.csv", include_str!("data/power_law_ratios.csv"), 9)
}

fn ratio_of(row: &Row, readings: &[TimedReading]) -> f64 {
    exact(match row.text("ratio") {
        "pi" => absorption::polarization_index(readings),
        "dar" => absorption::absorption_ratio(readings),
        "r60_r15" => absorption::sixty_to_fifteen(readings),
        _ => None,
    })
}

/// Absorption current falling as t^(−n), cl. 5.1 from memory: R600/R60 = 10^n, R60/R30 = 2^n, R60/R15 = 4^n.
#[test]
fn ratios_of_pure_absorption_are_powers() {
    power_law_rows().check(|row| ratio_of(row, &power_law(row.number("exponent"), &[15.0, 30.0, 60.0, 600.0])));
}

/// On such a curve log R is a line in log t, so readings at other times give the same ratios.
#[test]
fn readings_missed_on_a_power_law_are_found_between_their_neighbours() {
    let around = [10.0, 20.0, 45.0, 100.0, 400.0, 700.0];
    power_law_rows().check(|row| ratio_of(row, &power_law(row.number("exponent"), &around)));
}

/// W20: the index is the absorption ratio to the power log2(10) = 3.321928.
#[test]
fn the_index_follows_from_the_absorption_ratio() {
    for row in power_law_rows().iter().filter(|row| row.text("ratio") == "pi") {
        let readings = power_law(row.number("exponent"), &[30.0, 60.0, 600.0]);
        let from_dar = exact(absorption::absorption_ratio(&readings)).powf(LOG2_10);
        let pi = exact(absorption::polarization_index(&readings));
        assert!((from_dar / pi - 1.0).abs() < 1e-12, "{from_dar}, {pi}; {}", row.cite());
    }
}
