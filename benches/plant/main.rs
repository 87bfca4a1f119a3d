//! A whole simulated plant, judged quarter by quarter: what a planner would have been told, against what came.
//!
//! ```text
//! cargo run --release -p groundwall --example plant
//! cargo run --release -p groundwall --example plant -- --seed 7 --plants 4
//! ```
//!
//! Prints the plant's table and the table of cold collapses. `benches/README.md` has what the lines mean and what was reached.

#![allow(clippy::print_stdout, reason = "the tables are what this program is for")]

#[path = "../dice.rs"]
mod dice;

mod cold;
mod life;
mod replay;
mod table;
mod tally;
mod winding;

/// Seed of the published figures; figures are chosen by other seeds.
const SEED: u64 = 27_182_818;
/// Plants, and windings in each.
const PLANTS: usize = 20;
const WINDINGS: usize = 250;

fn main() -> Result<(), winding::Failure> {
    let (mut seed, mut plants) = (SEED, PLANTS);
    let mut arguments = std::env::args().skip(1);
    while let Some(argument) = arguments.next() {
        let mut value = || arguments.next().ok_or(format!("{argument} needs a value"));
        match argument.as_str() {
            "--seed" => seed = value()?.parse()?,
            "--plants" => plants = value()?.parse()?,
            // Cargo passes this to every bench.
            "--bench" => {}
            other => return Err(format!("unknown argument {other}: --seed or --plants").into()),
        }
    }
    println!("{plants} plants of {WINDINGS} windings, seed {seed}\n");
    println!("{}", table::Plants(&replay::replay_all(seed, plants, WINDINGS)?));
    println!("{}", table::Cold(seed));
    Ok(())
}
