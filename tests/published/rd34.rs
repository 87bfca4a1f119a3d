//! RD 34.45-51.300-97 Table 5.3: minimum one-minute resistance of motor stators by voltage and winding temperature.
//!
//! The table was read; between its temperatures and its voltage bands it has no values.

use crate::published_rows::Rows;
use groundwall::minimum::{by_temperature_table, minimum_of};
use groundwall::nameplate::{Construction, Nameplate};
use groundwall::policy::{MinimumChoice, Policy};
use groundwall::record::Connection;
use groundwall::units::{Resistance, Temperature, Voltage};

fn celsius(value: f64) -> Temperature {
    Temperature::from_celsius(value).unwrap()
}

fn volts(value: f64) -> Voltage {
    Voltage::from_volts(value).unwrap()
}

fn lookup(rated_v: f64, temp_c: f64) -> f64 {
    by_temperature_table(volts(rated_v), celsius(temp_c)).map_or(f64::NAN, Resistance::as_megohms)
}

fn table() -> Rows {
    Rows::read("rd34_table_5_3.csv", include_str!("data/rd34_table_5_3.csv"), 21)
}

#[test]
fn all_lookups_at_both_ends_of_their_voltage_band() {
    for end in ["from_v", "to_v"] {
        table().check(|row| lookup(row.number(end), row.number("temp_c")));
    }
}

/// The policy reads the table at its reference temperature.
#[test]
fn the_policy_reads_the_table_at_its_reference_temperature() {
    table().check(|row| {
        let policy = Policy {
            minimum: MinimumChoice::ByTemperatureTable,
            reference_temp: celsius(row.number("temp_c")),
            ..Policy::default()
        };
        let nameplate = Nameplate { rated_voltage: Some(volts(row.number("to_v"))), ..Nameplate::default() };
        let found = minimum_of(&nameplate, &Connection::AllEarth, None, None, &policy);
        assert!(found.rule.starts_with("RD 34.45-51.300-97 Table 5.3"), "{}; {}", found.rule, row.cite());
        found.resistance.as_megohms()
    });
}

/// DIFFERENCE: where the table has nothing the code goes between two printed values, never outside them.
#[test]
fn between_two_printed_temperatures_the_minimum_lies_between_their_values() {
    let table = table();
    let rows: Vec<_> = table.iter().collect();
    let mut pairs = 0;
    for (cool, warm) in rows.iter().flat_map(|a| rows.iter().map(move |b| (a, b))) {
        let (t0, t1) = (cool.number("temp_c"), warm.number("temp_c"));
        if cool.text("to_v") == warm.text("to_v") && t0 < t1 && t1 - t0 <= 15.0 {
            let found = lookup(cool.number("to_v"), f64::midpoint(t0, t1));
            assert!(warm.printed() < found && found < cool.printed(), "{found}; {}", cool.cite());
            pairs += 1;
        }
    }
    assert_eq!(pairs, 18);
}

/// W19: the same 18 MΩ at 40 °C against three rules. A motor that one document fails, another passes.
#[test]
fn one_reading_against_three_rules() {
    let rows = Rows::read("rd34_example.csv", include_str!("data/rd34_example.csv"), 3);
    let minimum = |row: &crate::published_rows::Row| {
        let rule = match row.text("rule") {
            "by-temperature-table" => MinimumChoice::ByTemperatureTable,
            "kv-plus-one" => MinimumChoice::KilovoltsPlusOne,
            _ => MinimumChoice::ByConstruction,
        };
        let nameplate = Nameplate {
            construction: Some(Construction::FormWound),
            rated_voltage: Some(volts(row.number("rated_v"))),
            year_made: Some(1985),
            ..Nameplate::default()
        };
        minimum_of(&nameplate, &Connection::AllEarth, None, None, &Policy { minimum: rule, ..Policy::default() })
            .resistance
    };
    rows.check(|row| minimum(row).as_megohms());
    rows.check_word("passes", |row| {
        let reading = Resistance::from_megohms(row.number("r60_mohm")).unwrap();
        if reading < minimum(row) { "no" } else { "yes" }
    });
}

/// The ends of each column, ten to one over 65 K, amount to halving every 19.57 K.
#[test]
fn the_table_halves_every_twenty_kelvins() {
    let rows = Rows::read("rd34_halving_k.csv", include_str!("data/rd34_halving_k.csv"), 3);
    rows.check(|row| {
        let (from, to) = (row.number("from_c"), row.number("to_c"));
        let decades = (lookup(row.number("rated_v"), from) / lookup(row.number("rated_v"), to)).log10();
        (to - from) * std::f64::consts::LOG10_2 / decades
    });
}
