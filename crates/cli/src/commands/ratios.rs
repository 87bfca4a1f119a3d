//! `ratios`: what the timed readings of one test say, without any temperature.

use crate::args::{RatiosArgs, TextFormat};
use crate::console::Console;
use groundwall::units::three_digits;
use groundwall_engine::calculators::ratios::{self, Discharge, Found, Ratios, Steps};
use groundwall_engine::error::{Failure, Status};
use groundwall_engine::program::write_json;
use std::io::{self, Write};

/// Works out the ratios.
///
/// # Errors
///
/// A [`Failure`] when a time is given twice or the output cannot be written.
pub fn run(args: &RatiosArgs, console: &mut Console<'_>) -> Result<Status, Failure> {
    let found = ratios::ratios(&args.readings, discharge(args))?;
    match args.format {
        TextFormat::Json => console.print_data(|out| write_json(out, &found.answer()))?,
        TextFormat::Text => console.print(|out| match &found {
            Found::Ratios(found) => write_ratios(out, found),
            Found::Steps(found) => write_steps(out, found),
        })?,
    }
    Ok(Status::Done)
}

fn discharge(args: &RatiosArgs) -> Option<Discharge> {
    Some(Discharge { nanoamperes: args.discharge_na?, test_volts: args.test_volts?, microfarads: args.capacitance_uf? })
}

fn write_ratios(out: &mut dyn Write, found: &Ratios) -> io::Result<()> {
    let named = [
        ("PI   R600/R60", found.polarization_index),
        ("DAR  R60/R30", found.absorption_ratio),
        ("     R60/R15", found.sixty_to_fifteen),
    ];
    for (name, ratio) in &named {
        writeln!(out, "{name}   {}", ratio.map_or_else(|| "–".to_owned(), |ratio| ratio.to_string()))?;
    }
    for ratio in found.all.iter().filter(|ratio| !named.iter().any(|(_, known)| known.as_ref() == Some(*ratio))) {
        writeln!(out, "     R{}/R{}   {ratio}", ratio.longer.as_seconds(), ratio.shorter.as_seconds())?;
    }
    if let Some(curve) = &found.curve {
        let leakage = curve.leakage.map_or_else(
            || "no leakage could be estimated from the absorption".to_owned(),
            |leakage| format!("leakage resistance {} ({} to {})", leakage.resistance, leakage.low, leakage.high),
        );
        let exponent = three_digits(curve.exponent);
        writeln!(out, "absorption exponent {exponent} ± {}, {leakage}", three_digits(curve.exponent_error))?;
    }
    write_discharge(out, found.dielectric_discharge)?;
    write_notes(out, &found.notes)
}

fn write_steps(out: &mut dyn Write, found: &Steps) -> io::Result<()> {
    let steps = found.steps.as_slice();
    if !steps.is_empty() {
        writeln!(out, "voltage    resistance   current")?;
    }
    for step in steps {
        let current = step.microamperes().map_or_else(|| "–".to_owned(), |ua| format!("{} µA", three_digits(ua)));
        writeln!(out, "{:<10} {:<12} {current}", step.volts.to_string(), step.read.to_string())?;
    }
    if let (Some(fall), [first, .., last]) = (found.fall, steps) {
        writeln!(
            out,
            "left from {} to {}: {} %; at the worst step {} %",
            first.volts,
            last.volts,
            three_digits(100.0 * fall.overall),
            three_digits(100.0 * fall.worst_step)
        )?;
    }
    write_discharge(out, found.dielectric_discharge)?;
    write_notes(out, &found.notes)
}

fn write_notes(out: &mut dyn Write, notes: &[String]) -> io::Result<()> {
    notes.iter().try_for_each(|note| writeln!(out, "note: {note}"))
}

fn write_discharge(out: &mut dyn Write, discharge: Option<f64>) -> io::Result<()> {
    let Some(found) = discharge else { return Ok(()) };
    let band = match found {
        found if found < 2.0 => "good",
        found if found < 4.0 => "questionable",
        found if found < 7.0 => "poor",
        _ => "bad",
    };
    writeln!(
        out,
        "dielectric discharge {}: {band} (bands in common use from 2, 4 and 7 on, from memory)",
        three_digits(found)
    )
}
