//! Milliseconds that one chart of each kind takes as a PNG of 1200 by 800 pixels, on one core, from the judgement to the
//! bytes of the file.
//!
//! ```text
//! cargo run --release -p groundwall-engine --example chart-timing
//! ```
//!
//! Charts of the demo plant; the median of seven rounds of forty charts, with the least and the greatest. Where the system tells
//! it (Linux), time spent on the core counts, so that other programs do not; elsewhere time on the clock. A file that is not
//! the same every time ends the program.

#![allow(clippy::print_stdout, reason = "the table is what this program is for")]

use groundwall::assess::{InTurn, Judgement, Terms, assess_fleet};
use groundwall::policy::Policy;
use groundwall::units::Confidence;
use groundwall_engine::chart::absorption::AbsorptionPicture;
use groundwall_engine::chart::fleet::{self, FleetPicture, Row};
use groundwall_engine::chart::phases::PhasesPicture;
use groundwall_engine::chart::trend::TrendPicture;
use groundwall_engine::chart::{ChartContext, ChartError, DEFAULT_DPI, Size, render_png};
use groundwall_engine::ingest::mapping::Mapping;
use groundwall_engine::ingest::register::Register;
use groundwall_engine::ingest::{Reading, ReadingRules};
use std::error::Error;
use std::time::Instant;

const ROUNDS: usize = 7;
/// Charts of a round: the system counts time on a core in steps of some milliseconds.
const CHARTS: usize = 40;

fn demo(name: &str) -> std::io::Result<Vec<u8>> {
    std::fs::read(std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../data-demo").join(name))
}

/// Milliseconds that this thread has spent on a core; on the clock where the system does not tell.
fn spent(start: Instant) -> f64 {
    let on_core = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let nanoseconds = on_core.and_then(|text| text.split_whitespace().next()?.parse::<f64>().ok());
    nanoseconds.map_or_else(|| start.elapsed().as_secs_f64() * 1e3, |nanoseconds| nanoseconds / 1e6)
}

/// Times one kind of chart and prints its line.
fn time(kind: &str, mut draw: impl FnMut() -> Result<Vec<u8>, Box<dyn Error>>) -> Result<(), Box<dyn Error>> {
    let first = draw()?;
    let (mut rounds, start) = (Vec::new(), Instant::now());
    for _ in 0..ROUNDS {
        let before = spent(start);
        for _ in 0..CHARTS {
            if draw()? != first {
                return Err(format!("{kind}: the file is not the same every time").into());
            }
        }
        rounds.push((spent(start) - before) / CHARTS as f64);
    }
    rounds.sort_by(f64::total_cmp);
    let (least, median, greatest) = (rounds[0], rounds[ROUNDS / 2], rounds[ROUNDS - 1]);
    println!("| {kind} | {median:.2} ms | {least:.2} to {greatest:.2} | {} kB |", first.len() / 1000);
    Ok(())
}

fn main() -> Result<(), Box<dyn Error>> {
    let terms =
        Terms { policy: Policy::default(), as_of: "2026-11-25".parse()?, confidence: Confidence::from_fraction(0.9)? };
    let register = Register::parse("register.csv", &demo("register.csv")?, None, false, &Mapping::default())?;
    let rules = ReadingRules::default();
    let mut reading = Reading::new(&rules);
    reading.add("history.csv", demo("history.csv")?)?;
    let series = reading.finish().series.to_vec();
    let rows = series.iter().find(|one| one.key().winding == "R-201 stator").cloned().ok_or("no R-201")?;
    let judged = assess_fleet(series, register.nameplates(), &terms, &InTurn, |judgement| judgement);
    let of = |name: &str| -> Vec<&Judgement> { judged.iter().filter(|one| one.assessment.winding == name).collect() };
    let (falling, refiner, phases) = (of("A-212 stator"), of("R-201 stator"), of("R-203 stator"));
    let (context, size) = (ChartContext::default(), Size::default());
    println!("| kind | 1200 × 800 | least to greatest | file |");
    println!("| --- | --- | --- | --- |");
    time("trend", || Ok(render_png(&TrendPicture::new(falling[0], &context), size, DEFAULT_DPI)?))?;
    time("absorption, 27 tests", || {
        let picture = AbsorptionPicture::new(refiner[0], rows.tests(), &context).ok_or("no ten-minute test")?;
        Ok(render_png(&picture, size, DEFAULT_DPI)?)
    })?;
    time("phases", || {
        let picture = PhasesPicture::new(&phases, 2.0, &context).ok_or("no phases")?;
        Ok(render_png(&picture, size, DEFAULT_DPI)?)
    })?;
    let lines: Vec<Row> = judged.iter().map(Row::of).collect();
    let works =
        fleet::Terms { as_of: terms.as_of, confidence: terms.confidence, reference: terms.policy.reference_temp };
    let fleet = |lines: &[Row]| -> Result<Vec<u8>, Box<dyn Error>> {
        let pages: Result<Vec<FleetPicture>, ChartError> =
            FleetPicture::pages(lines, &works, &context, size, DEFAULT_DPI);
        Ok(render_png(&pages?[0], size, DEFAULT_DPI)?)
    };
    time("fleet, 50 series", || fleet(&lines))?;
    time("fleet, 500 series", || fleet(&lines.iter().cycle().take(500).cloned().collect::<Vec<Row>>()))?;
    Ok(())
}
