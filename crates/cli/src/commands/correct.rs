//! `correct`: one resistance from the temperature it was measured at to another.

use crate::args::{CorrectArgs, TextFormat};
use crate::console::Console;
use groundwall::nameplate::Nameplate;
use groundwall::policy::Policy;
use groundwall::resistance::Measured;
use groundwall::temperature::TemperatureLaw;
use groundwall::units::three_digits;
use groundwall_engine::error::{Failure, Status};
use groundwall_engine::output::columns::bound_word;
use groundwall_engine::program::write_json;
use serde::Serialize;

#[derive(Serialize)]
struct Answer {
    r_mohm: Option<f64>,
    bound: &'static str,
    at_c: f64,
    to_c: f64,
    kt: f64,
    r_ref_mohm: Option<f64>,
    law: String,
    source: String,
    outside_range: bool,
    doubt_factor: f64,
}

/// Corrects one resistance.
///
/// # Errors
///
/// A [`Failure`] when the output cannot be written.
pub fn run(args: &CorrectArgs, console: &mut Console<'_>) -> Result<Status, Failure> {
    let law = law(args);
    let correction = law.correction(args.at, args.to);
    let corrected = args.resistance.scaled(correction.factor());
    let megohms = |value: Measured| value.resistance().map(|r| r.as_megohms());
    match args.format {
        TextFormat::Json => {
            let answer = Answer {
                r_mohm: megohms(args.resistance),
                bound: bound_word(corrected.bound()),
                at_c: args.at.as_celsius(),
                to_c: args.to.as_celsius(),
                kt: correction.factor(),
                r_ref_mohm: megohms(corrected),
                law: law.name(),
                source: law.source().to_owned(),
                outside_range: correction.outside,
                doubt_factor: 10f64.powf(correction.log10_doubt),
            };
            console.print_data(|out| write_json(out, &answer))?;
        }
        TextFormat::Text => console.print(|out| {
            writeln!(out, "{} at {} is {corrected} at {}", args.resistance, args.at, args.to)?;
            writeln!(out, "factor   {} (the reading times this)", three_digits(correction.factor()))?;
            writeln!(out, "law      {}", law.name())?;
            writeln!(out, "source   {}", law.source())?;
            if correction.log10_doubt > 0.0 {
                let factor = three_digits(10f64.powf(correction.log10_doubt));
                writeln!(out, "doubt    a factor of {factor} either way: {}", why(law, correction.outside))?;
            }
            Ok(())
        })?,
    }
    Ok(Status::Done)
}

fn law(args: &CorrectArgs) -> TemperatureLaw {
    if let Some(interval) = args.halving {
        return TemperatureLaw::Halving(interval);
    }
    if let Some(kelvins) = args.activation_kelvin {
        return TemperatureLaw::Activation(kelvins);
    }
    let nameplate = Nameplate { insulation: args.insulation.unwrap_or_default(), ..Nameplate::default() };
    TemperatureLaw::choose(&nameplate, &Policy::default())
}

fn why(law: TemperatureLaw, outside: bool) -> &'static str {
    match (law, outside) {
        (TemperatureLaw::Either, false) => "the insulation is not known",
        (TemperatureLaw::Either, true) => "the insulation is not known, and the law holds only from 10 to 85 °C",
        _ => "the law holds only from 10 to 85 °C",
    }
}
