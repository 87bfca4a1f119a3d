//! Measures whether forecasts keep their word: simulated windings with a known date, and a table of what the method
//! said of them beside what a spreadsheet would.
//!
//! ```text
//! cargo run --release -p groundwall --example calibration
//! cargo run --release -p groundwall --example calibration -- --seed 7 --number 50 --lone
//! ```
//!
//! The truth is the date on which the underlying level first reaches the minimum; the method sees tests of it. See
//! `benches/README.md` for what the columns mean and for the figures reached.

#![allow(clippy::print_stdout, reason = "the table is what this program is for")]

mod baseline;
mod chance;
mod conductances;
mod curves;
#[path = "../dice.rs"]
mod dice;
mod history;
mod kind;
mod run;
mod scoring;
mod second_opinion;
mod table;

use std::error::Error;

use run::Company;

/// Seed of the published figures; figures are chosen by other seeds.
const SEED: u64 = 31_415_926;
/// Histories of each kind.
const NUMBER: usize = 300;

fn main() -> Result<(), Box<dyn Error>> {
    let (mut seed, mut number, mut company) = (SEED, NUMBER, vec![Company::Fleet, Company::Lone]);
    let mut arguments = std::env::args().skip(1);
    while let Some(argument) = arguments.next() {
        let mut value = || arguments.next().ok_or(format!("{argument} needs a value"));
        match argument.as_str() {
            "--seed" => seed = value()?.parse()?,
            "--number" => number = value()?.parse()?,
            "--lone" => company = vec![Company::Lone],
            "--fleet" => company = vec![Company::Fleet],
            // Cargo passes this to every bench.
            "--bench" => {}
            other => return Err(format!("unknown argument {other}: --seed, --number, --fleet or --lone").into()),
        }
    }
    for company in company {
        println!(
            "\n{}, seed {seed}, {number} histories of each kind\n",
            match company {
                Company::Fleet => "In fleets of forty mixed windings",
                Company::Lone => "Each winding on its own",
            }
        );
        for simulator in [&curves::CURVES, &conductances::CONDUCTANCES, &chance::CHANCE] {
            let tallies = run::run(simulator, seed, number, company);
            println!("{}", table::Table { simulator, tallies: &tallies });
        }
    }
    println!("\nThe second opinion of `explain`, {number} straight declines of each length\n");
    println!("{}", second_opinion::SecondOpinion::measure(seed, number)?);
    Ok(())
}
