//! `ratios`: what the timed readings of one test say, without any temperature.

use crate::args::{RatiosArgs, TextFormat};
use crate::console::Console;
use crate::settings::readings_in_order;
use crate::values::Reading;
use groundwall::absorption::{
    Ratio, absorption_curve, absorption_ratio, one_minute_resistance, polarization_index, ratio, sixty_to_fifteen,
};
use groundwall::policy::Policy;
use groundwall::resistance::{Bound, Measured, TimedReading};
use groundwall::steps::{self, Step};
use groundwall::units::{Elapsed, three_digits};
use groundwall_engine::error::{Failure, Status};
use groundwall_engine::output::columns::bound_word;
use groundwall_engine::program::write_json;
use serde::Serialize;
use std::io::{self, Write};

#[derive(Serialize)]
struct Answer {
    pi: Option<f64>,
    dar: Option<f64>,
    r60_r15: Option<f64>,
    ratios: Vec<Row>,
    exponent: Option<f64>,
    exponent_error: Option<f64>,
    leakage_mohm: Option<f64>,
    leakage_low_mohm: Option<f64>,
    leakage_high_mohm: Option<f64>,
    dielectric_discharge: Option<f64>,
    notes: Vec<String>,
}

#[derive(Serialize)]
struct Row {
    longer_s: f64,
    shorter_s: f64,
    ratio: f64,
    bound: &'static str,
}

/// Works out the ratios.
///
/// # Errors
///
/// A [`Failure`] when a time is given twice or the output cannot be written.
pub fn run(args: &RatiosArgs, console: &mut Console<'_>) -> Result<Status, Failure> {
    let (timed, steps) = apart(&args.readings)?;
    let readings = readings_in_order(&timed)?;
    let discharge = dielectric_discharge(args);
    if !steps.is_empty() || (readings.is_empty() && discharge.is_some()) {
        return of_steps(args, &steps, discharge, console);
    }
    let named = [
        ("PI   R600/R60", polarization_index(&readings)),
        ("DAR  R60/R30", absorption_ratio(&readings)),
        ("     R60/R15", sixty_to_fifteen(&readings)),
    ];
    let all = neighbours(&readings);
    let curve = absorption_curve(&readings);
    let leakage = curve.and_then(|curve| curve.leakage);
    let notes = notes(&readings, &named);
    match args.format {
        TextFormat::Json => {
            let exact = |found: Option<Ratio>| found.filter(|r| r.bound == Bound::Exact).map(|r| r.value);
            let answer = Answer {
                pi: exact(named[0].1),
                dar: exact(named[1].1),
                r60_r15: exact(named[2].1),
                ratios: all.iter().map(row).collect(),
                exponent: curve.map(|curve| curve.exponent),
                exponent_error: curve.map(|curve| curve.exponent_error),
                leakage_mohm: leakage.map(|leakage| leakage.resistance.as_megohms()),
                leakage_low_mohm: leakage.map(|leakage| leakage.low.as_megohms()),
                leakage_high_mohm: leakage.map(|leakage| leakage.high.as_megohms()),
                dielectric_discharge: discharge,
                notes,
            };
            console.print_data(|out| write_json(out, &answer))?;
        }
        TextFormat::Text => console.print(|out| {
            for (name, found) in &named {
                writeln!(out, "{name}   {}", found.map_or_else(|| "–".to_owned(), in_words))?;
            }
            for found in all.iter().filter(|found| !named.iter().any(|(_, known)| known.as_ref() == Some(*found))) {
                writeln!(
                    out,
                    "     R{}/R{}   {}",
                    found.longer.as_seconds(),
                    found.shorter.as_seconds(),
                    in_words(*found)
                )?;
            }
            if let Some(curve) = &curve {
                let leakage = leakage.map_or_else(
                    || "no leakage can be told from the absorption".to_owned(),
                    |leakage| {
                        format!("leakage resistance {} ({} to {})", leakage.resistance, leakage.low, leakage.high)
                    },
                );
                let exponent = three_digits(curve.exponent);
                writeln!(out, "absorption exponent {exponent} ± {}, {leakage}", three_digits(curve.exponent_error))?;
            }
            write_discharge(out, discharge)?;
            for note in &notes {
                writeln!(out, "note: {note}")?;
            }
            Ok(())
        })?,
    }
    Ok(Status::Done)
}

/// Timed readings, and steps of the voltage in rising order.
fn apart(given: &[Reading]) -> Result<(Vec<TimedReading>, Vec<Step>), Failure> {
    let (mut timed, mut steps) = (Vec::new(), Vec::new());
    for reading in given {
        match reading {
            Reading::Timed(reading) => timed.push(*reading),
            Reading::Step(step) => steps.push(*step),
        }
    }
    if !timed.is_empty() && !steps.is_empty() {
        return Err(Failure::usage(
            "times and voltages are given together; one test has either timed readings or steps of the voltage",
        )
        .hint("call ratios once for each"));
    }
    steps.sort_by(|a, b| a.volts.as_volts().total_cmp(&b.volts.as_volts()));
    match steps.windows(2).find(|pair| pair[0].volts == pair[1].volts) {
        Some(pair) => Err(Failure::usage(format!(
            "{} is given twice, as {} and as {}; each step has one reading",
            pair[0].volts, pair[0].read, pair[1].read
        ))
        .hint("leave out the one that does not belong to this test")),
        None if steps.len() == 1 => Err(Failure::usage("one step tells no fall with the voltage")
            .hint("give two or more, such as 500V=900 1000V=850")),
        None => Ok((timed, steps)),
    }
}

/// I / (U · C): nA over V and µF is mA over V and F.
fn dielectric_discharge(args: &RatiosArgs) -> Option<f64> {
    Some(args.discharge_na? / (args.test_volts?.as_volts() * args.capacitance_uf?))
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

#[derive(Serialize)]
struct StepsAnswer {
    steps: Vec<StepRow>,
    overall: Option<f64>,
    worst_step: Option<f64>,
    dielectric_discharge: Option<f64>,
    notes: Vec<String>,
}

#[derive(Serialize)]
struct StepRow {
    volts: f64,
    r_mohm: Option<f64>,
    bound: &'static str,
    current_ua: Option<f64>,
}

/// One test at several voltages.
fn of_steps(
    args: &RatiosArgs,
    steps: &[Step],
    discharge: Option<f64>,
    console: &mut Console<'_>,
) -> Result<Status, Failure> {
    let fall = steps::fall(steps);
    let source =
        "common practice: step-voltage test, three quarters from one step to the next and half from first to last";
    let note = match fall {
        Some(fall) if fall.is_more_than_common() => {
            format!("the resistance falls more with the voltage than sound insulation does ({source})")
        }
        Some(_) => format!("the resistance falls no more with the voltage than sound insulation does ({source})"),
        None if steps.is_empty() => String::new(),
        None => "a reading that is only a bound tells no fall".to_owned(),
    };
    let notes: Vec<String> = Some(note).filter(|note| !note.is_empty()).into_iter().collect();
    match args.format {
        TextFormat::Json => {
            let answer = StepsAnswer {
                steps: steps
                    .iter()
                    .map(|step| StepRow {
                        volts: step.volts.as_volts(),
                        r_mohm: step.read.resistance().map(|r| r.as_megohms()),
                        bound: bound_word(step.read.bound()),
                        current_ua: step.microamperes(),
                    })
                    .collect(),
                overall: fall.map(|fall| fall.overall),
                worst_step: fall.map(|fall| fall.worst_step),
                dielectric_discharge: discharge,
                notes,
            };
            console.print_data(|out| write_json(out, &answer))?;
        }
        TextFormat::Text => console.print(|out| {
            if !steps.is_empty() {
                writeln!(out, "voltage    resistance   current")?;
            }
            for step in steps {
                let current =
                    step.microamperes().map_or_else(|| "–".to_owned(), |ua| format!("{} µA", three_digits(ua)));
                writeln!(out, "{:<10} {:<12} {current}", step.volts.to_string(), step.read.to_string())?;
            }
            if let (Some(fall), [first, .., last]) = (fall, steps) {
                writeln!(
                    out,
                    "left from {} to {}: {} %; at the worst step {} %",
                    first.volts,
                    last.volts,
                    three_digits(100.0 * fall.overall),
                    three_digits(100.0 * fall.worst_step)
                )?;
            }
            write_discharge(out, discharge)?;
            for note in &notes {
                writeln!(out, "note: {note}")?;
            }
            Ok(())
        })?,
    }
    Ok(Status::Done)
}

fn in_words(ratio: Ratio) -> String {
    let sign = match ratio.bound {
        Bound::Exact => "",
        Bound::Above => "> ",
        Bound::Below => "< ",
    };
    format!("{sign}{}", three_digits(ratio.value))
}

fn row(ratio: &Ratio) -> Row {
    Row {
        longer_s: ratio.longer.as_seconds(),
        shorter_s: ratio.shorter.as_seconds(),
        ratio: ratio.value,
        bound: bound_word(ratio.bound),
    }
}

/// Each reading against every earlier one.
fn neighbours(readings: &[TimedReading]) -> Vec<Ratio> {
    let times: Vec<Elapsed> = readings.iter().map(|reading| reading.elapsed).collect();
    let pairs =
        times.iter().enumerate().flat_map(|(i, longer)| times[..i].iter().map(move |shorter| (*longer, *shorter)));
    pairs.filter_map(|(longer, shorter)| ratio(readings, longer, shorter)).collect()
}

fn notes(readings: &[TimedReading], named: &[(&str, Option<Ratio>)]) -> Vec<String> {
    let mut notes = Vec::new();
    let limit = Policy::default().pi_not_meaningful_above;
    if let Some(Measured::Exact(r) | Measured::Above(r)) = one_minute_resistance(readings)
        && r > limit
    {
        notes.push(format!(
            "R60 is {r}, above {limit}: the polarization index is no measure of condition (IEEE Std 43-2000 cl. 12.2)"
        ));
    }
    if named[0].1.is_none() {
        notes.push("no polarization index: it needs readings at, or on both sides of, 1 and 10 minutes".to_owned());
    } else {
        notes.push("a random-wound stator is not judged by its polarization index (IEEE Std 43 cl. 5.4)".to_owned());
    }
    if readings.windows(2).any(|pair| falls(pair[0].value, pair[1].value)) {
        notes.push(
            "the resistance falls while the voltage is on: look for damp, dirt, or a charge left from an earlier test"
                .to_owned(),
        );
    }
    notes
}

fn falls(earlier: Measured, later: Measured) -> bool {
    matches!((earlier, later), (Measured::Exact(a), Measured::Exact(b)) if b < a)
}
