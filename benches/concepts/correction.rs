//! A reading brought to the reference temperature.

use std::error::Error;

use groundwall::temperature::TemperatureLaw;
use groundwall::units::Temperature;

use crate::rounds;

/// A law by its name, as the library has it and as a formula.
type Case<'a> = (&'a str, TemperatureLaw, &'a dyn Fn(f64) -> f64);

/// Each law over 10 to 40 °C, in three lengths of a column.
pub(crate) fn time() -> Result<(), Box<dyn Error>> {
    let reference = Temperature::from_celsius(40.0)?;
    // K to 40 °C by the formulas as IEEE Std 43-2013 cl. 6.3 writes them (from memory).
    let halving = |celsius: f64| 0.5_f64.powf((40.0 - celsius) / 10.0);
    let activation = |celsius: f64| (-1245.0 * (1.0 / (celsius + 273.0) - 1.0 / 313.0)).exp();
    let either = |celsius: f64| (halving(celsius) * activation(celsius)).sqrt();
    let laws: [Case<'_>; 3] = [
        ("thermoplastic", TemperatureLaw::thermoplastic(), &halving),
        ("thermosetting", TemperatureLaw::Thermosetting, &activation),
        ("unknown insulation", TemperatureLaw::Either, &either),
    ];
    for (name, law, formula) in laws {
        for number in [1_000_usize, 10_000, 100_000] {
            let celsius = |i: usize| 10.0 + (i % 301) as f64 / 10.0;
            let warmths =
                (0..number).map(|i| Temperature::from_celsius(celsius(i))).collect::<Result<Vec<Temperature>, _>>()?;
            let expected: f64 = (0..number).map(|i| formula(celsius(i))).sum();
            let correct = |()| {
                let sum: f64 = warmths.iter().map(|at| law.correction(*at, reference).factor()).sum();
                (sum / expected - 1.0).abs() < 1e-9
            };
            rounds::line("correction", &format!("{number} readings, {name}"), number, || (), correct, &true)?;
        }
    }
    Ok(())
}
