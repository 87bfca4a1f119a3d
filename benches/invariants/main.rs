//! Random plants through everything that the commands do, in this process: what must hold of every answer, holds.
//!
//! ```text
//! cargo run --release -p groundwall-engine --example invariants -- --runs 100000 --seed 1
//! cargo run --release -p groundwall-engine --example invariants -- --runs 1 --from 4711 --seed 1
//! ```
//!
//! `--print` writes the files of the first plant, and those of the plant whose readings are scaled, instead.
//!
//! Each plant depends on the seed and its number only, so any of them can be tried again alone. See `benches/README.md`.

#![allow(clippy::print_stdout, reason = "the account is what this program is for")]

#[path = "../dice.rs"]
mod dice;
mod plant;
mod trial;

use dice::Dice;
use plant::{Manner, Plant};
use rayon::iter::{IntoParallelIterator, ParallelIterator};
use std::error::Error;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::time::Instant;

/// At most so many broken rules are listed.
const TOLD: usize = 20;

fn main() -> Result<(), Box<dyn Error>> {
    let (mut runs, mut from, mut seed) = (100_000_u64, 0_u64, 1_u64);
    let mut arguments = std::env::args().skip(1);
    let mut print = false;
    while let Some(argument) = arguments.next() {
        if argument == "--print" {
            print = true;
            continue;
        }
        let mut value = || arguments.next().ok_or(format!("{argument} needs a value"));
        match argument.as_str() {
            "--runs" => runs = value()?.parse()?,
            "--from" => from = value()?.parse()?,
            "--seed" => seed = value()?.parse()?,
            other => return Err(format!("unknown argument {other}: --runs, --from or --seed").into()),
        }
    }
    if print {
        for (register, history) in files(seed, from) {
            println!("{register}\n{history}");
        }
        return Ok(());
    }
    let began = Instant::now();
    std::panic::set_hook(Box::new(|_| {}));
    let tried = |number| {
        let outcome = catch_unwind(AssertUnwindSafe(|| trial::trial(seed, number)));
        (number, outcome.unwrap_or_else(|_| Err("panicked".to_owned())))
    };
    let outcomes: Vec<_> = (from..from + runs).into_par_iter().map(tried).collect();
    let (mut refused, mut rows, mut series, mut replayed, mut scaled) = (0_u64, 0_u64, 0_u64, 0_u64, 0_u64);
    let mut broken = Vec::new();
    for (number, outcome) in outcomes {
        match outcome {
            Ok(outcome) => {
                refused += u64::from(outcome.refused);
                rows += outcome.rows;
                series += outcome.series;
                replayed += outcome.replayed;
                scaled += outcome.scaled;
            }
            Err(rule) => broken.push((number, rule)),
        }
    }
    println!("{runs} plants from number {from}, seed {seed}, in {:.0} s", began.elapsed().as_secs_f64());
    println!("{refused} refused with a sentence, {rows} rows read, {series} series judged");
    println!("{replayed} plants replayed, {scaled} series judged twice as high");
    for (number, rule) in broken.iter().take(TOLD) {
        println!("plant {number}: {rule}");
    }
    println!("{} broken rules", broken.len());
    if broken.is_empty() { Ok(()) } else { Err("a rule was broken".into()) }
}

/// The register and the history of a plant, and of the one whose readings are scaled.
fn files(seed: u64, number: u64) -> [(String, String); 2] {
    let manners =
        [(seed, Manner { plain: false, factor: 1.0 }), (seed ^ trial::SCALED, Manner { plain: true, factor: 1.0 })];
    manners.map(|(seed, manner)| {
        let plant = Plant::new(&mut Dice::new(seed, number), &manner);
        let order: Vec<usize> = (0..plant.rows.len()).collect();
        (plant.register.clone(), plant.history(&order))
    })
}
