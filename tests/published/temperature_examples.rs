//! Worked examples of a reading brought from one temperature to another, each from the page or rule named in its row.
//!
//! GB 50150-2006 Appendix B; an oil-filled transformer table; IEEE Std 43 cl. 6.3 with its logarithmic form and both
//! insulation families (the thermosetting coefficients from memory); MIL-M-17413A for direct-current machines.

use crate::published_rows::{Row, Rows};
use groundwall::nameplate::{Insulation, Nameplate};
use groundwall::policy::keys::{Key, Value};
use groundwall::policy::{LawChoice, Policy};
use groundwall::temperature::TemperatureLaw;
use groundwall::units::{Resistance, Temperature, TemperatureDifference};

fn examples() -> Rows {
    Rows::read("temperature_examples.csv", include_str!("data/temperature_examples.csv"), 14)
}

fn named(law: &str) -> TemperatureLaw {
    match law.strip_prefix("halving-") {
        Some(kelvins) => {
            TemperatureLaw::Halving(TemperatureDifference::from_kelvins(kelvins.parse().unwrap()).unwrap())
        }
        None => TemperatureLaw::Thermosetting,
    }
}

fn corrected(row: &Row, law: TemperatureLaw) -> f64 {
    let celsius = |column: &str| Temperature::from_celsius(row.number(column)).unwrap();
    let reading = Resistance::from_megohms(row.number("read_mohm")).unwrap();
    reading.scaled(law.correction(celsius("at_c"), celsius("to_c")).factor()).as_megohms()
}

#[test]
fn readings_come_out_as_worked() {
    examples().check(|row| corrected(row, named(row.text("law"))));
}

/// A site gets each of these laws through its register or through a key of its policy.
#[test]
fn the_policy_and_the_register_choose_the_same_laws() {
    examples().check(|row| {
        let mut policy = Policy::default();
        let mut nameplate = Nameplate { insulation: Insulation::Thermosetting, ..Nameplate::default() };
        match row.text("law") {
            "thermosetting" => {}
            "halving-10" => nameplate.insulation = Insulation::Thermoplastic,
            other => {
                policy.law = LawChoice::Halving;
                let kelvins = other.trim_start_matches("halving-").parse().unwrap();
                let key = Key::find("temperature", "halving_k").unwrap();
                key.set(&mut policy, &Value::Number(kelvins)).unwrap();
            }
        }
        corrected(row, TemperatureLaw::choose(&nameplate, &policy))
    });
}

/// The law says which document it comes from; one whose constants are from memory says that too.
#[test]
fn a_law_names_its_source() {
    for row in examples().iter() {
        let source = named(row.text("law")).source();
        let expected = match row.text("law") {
            "halving-10" => "IEEE Std 43 cl. 6.3, thermoplastic",
            "thermosetting" => "IEEE Std 43-2013 cl. 6.3, constants from memory",
            _ => "the site's own law",
        };
        assert_eq!(source, expected, "{}", row.cite());
    }
}
