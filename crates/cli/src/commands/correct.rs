//! `correct`: one resistance from the temperature it was measured at to another.

use crate::args::{CorrectArgs, TextFormat};
use crate::console::Console;
use groundwall::temperature::TemperatureLaw;
use groundwall::units::three_digits;
use groundwall_engine::calculators::correct::{LawGiven, correct};
use groundwall_engine::error::{Failure, Status};
use groundwall_engine::program::write_json;

/// Corrects one resistance.
///
/// # Errors
///
/// A [`Failure`] when the output cannot be written.
pub fn run(args: &CorrectArgs, console: &mut Console<'_>) -> Result<Status, Failure> {
    let given = LawGiven { insulation: args.insulation, halving: args.halving, activation: args.activation_kelvin };
    let corrected = correct(args.resistance, args.at, args.to, given.law());
    corrected.must_be_true()?;
    match args.format {
        TextFormat::Json => console.print_data(|out| write_json(out, &corrected.answer()))?,
        TextFormat::Text => console.print(|out| {
            let (law, correction) = (corrected.law, corrected.correction);
            writeln!(out, "{} at {} is {} at {}", args.resistance, args.at, corrected.value, args.to)?;
            writeln!(out, "factor   {} (the reading times this)", three_digits(correction.factor()))?;
            writeln!(out, "law      {}", law.name())?;
            writeln!(out, "source   {}", law.source())?;
            if correction.log10_doubt > 0.0 {
                let factor = three_digits(corrected.doubt_factor());
                writeln!(out, "doubt    a factor of {factor} either way: {}", why(law, correction.outside))?;
            }
            Ok(())
        })?,
    }
    Ok(Status::Done)
}

fn why(law: TemperatureLaw, outside: bool) -> &'static str {
    match (law, outside) {
        (TemperatureLaw::Either, false) => "the insulation is not known",
        (TemperatureLaw::Either, true) => "the insulation is not known, and the law holds only from 10 to 85 °C",
        _ => "the law holds only from 10 to 85 °C",
    }
}
