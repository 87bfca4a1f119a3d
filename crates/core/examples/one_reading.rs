//! One reading at the machine: corrected to 40 °C and compared with its minimum.
//!
//! ```text
//! cargo run --release -p groundwall --example one_reading
//! ```
#![allow(clippy::print_stdout, reason = "an example shows what it finds")]

use groundwall::minimum::minimum_of;
use groundwall::nameplate::{Construction, Insulation, Nameplate};
use groundwall::policy::Policy;
use groundwall::record::Connection;
use groundwall::resistance::CellRules;
use groundwall::temperature::TemperatureLaw;
use groundwall::units::{Temperature, Voltage};
use std::error::Error;

fn main() -> Result<(), Box<dyn Error>> {
    let policy = Policy::default();
    let nameplate = Nameplate {
        construction: Some(Construction::RandomWound),
        insulation: Insulation::Thermosetting,
        rated_voltage: Some(Voltage::from_volts(480.0)?),
        ..Nameplate::default()
    };
    // What the tester showed, in the words of a test sheet: "> 2 GΩ" and "OL" stay bounds.
    let read = CellRules::default().read("200 MΩ").map_err(|fault| fault.rule())?.ok_or("nothing was read")?;
    let winding = Temperature::from_celsius(28.0)?;

    let correction = TemperatureLaw::choose(&nameplate, &policy).correction(winding, policy.reference_temp);
    let corrected = read.scaled(correction.factor());
    let minimum = minimum_of(&nameplate, &Connection::AllEarth, None, None, &policy);

    println!("{read} at {winding} is {corrected} at {}", policy.reference_temp);
    println!("the minimum is {} ({})", minimum.resistance, minimum.rule);
    let verdict = if corrected.at_or_below(minimum.resistance) { "at or below" } else { "above" };
    println!("the reading is {verdict} it; that alone releases no machine");
    assert_eq!((corrected.to_string().as_str(), verdict), ("171 MΩ", "above"));
    Ok(())
}
