//! Reads mutated histories in this process: no panic, no hang, no row unaccounted for, memory bounded.
//!
//! ```text
//! cargo run --release -p groundwall-engine --example mutation -- --inputs 1000000 --seed 1
//! cargo run --release -p groundwall-engine --example mutation -- --inputs 1 --from 4711 --seed 1 --write input.bin
//! ```
//!
//! Each input depends on the seed and its number only, so any of them can be tried again alone. See `benches/README.md` for
//! the figures.

#![allow(clippy::print_stdout, clippy::print_stderr, reason = "the account is what this program is for")]

mod archive;
#[path = "../dice.rs"]
mod dice;
mod mutate;
mod seeds;
mod trial;

use dice::Dice;
use std::error::Error;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};
use trial::Outcome;

/// No input may take longer, on a machine that does other work beside it: the largest are read up to three times and judged.
const LONGEST: Duration = Duration::from_secs(30);
/// One in so many inputs is made large.
const LARGE: u64 = 5000;
/// Length of the large ones.
const LARGE_BYTES: usize = 2 << 20;
/// Memory beside the inputs, and how many times the largest input it may be: rows become tests with all their fields, and
/// the judgement of as many series stands beside them, or the same rows once more, read in small pieces.
const MEMORY_BASE: u64 = 64 << 20;
const MEMORY_TIMES: u64 = 96;

/// The number of the input being read and its start in milliseconds, for the watchdog.
static NOW: [AtomicU64; 2] = [AtomicU64::new(u64::MAX), AtomicU64::new(0)];

fn main() -> Result<(), Box<dyn Error>> {
    let (mut inputs, mut from, mut seed) = (100_000_u64, 0_u64, 1_u64);
    let mut write = None;
    let mut arguments = std::env::args().skip(1);
    while let Some(argument) = arguments.next() {
        let mut value = || arguments.next().ok_or(format!("{argument} needs a value"));
        match argument.as_str() {
            "--inputs" => inputs = value()?.parse()?,
            "--from" => from = value()?.parse()?,
            "--seed" => seed = value()?.parse()?,
            "--write" => write = Some(value()?),
            other => return Err(format!("unknown argument {other}: --inputs, --from, --seed or --write").into()),
        }
    }
    let start = Instant::now();
    std::thread::spawn(move || watch(start));
    std::panic::set_hook(Box::new(|_| {}));
    let seeds = seeds::seeds();
    let mut all = Outcome::default();
    let (mut refused, mut failures, mut largest) = (0_u64, 0_u64, 0_usize);
    let mut slowest = (Duration::ZERO, 0_u64, 0_usize);
    for number in from..from + inputs {
        let mut dice = Dice::new(seed, number);
        let mut bytes = mutate::input(&seeds, &mut dice);
        if number % LARGE == LARGE - 1 {
            mutate::enlarge(&mut bytes, LARGE_BYTES);
        }
        largest = largest.max(bytes.len());
        if let Some(path) = &write {
            std::fs::write(path, &bytes)?;
        }
        let began = Instant::now();
        NOW[1].store(began.duration_since(start).as_millis() as u64, Ordering::Relaxed);
        NOW[0].store(number, Ordering::Relaxed);
        let outcome = catch_unwind(AssertUnwindSafe(|| trial::trial(&bytes, &mut dice)));
        NOW[0].store(u64::MAX, Ordering::Relaxed);
        let took = began.elapsed();
        if took > slowest.0 {
            slowest = (took, number, bytes.len());
        }
        match outcome {
            Ok(Ok(outcome)) => {
                refused += u64::from(outcome.refused);
                all.rows += outcome.rows;
                all.accepted += outcome.accepted;
                all.repeated += outcome.repeated;
                all.rejected += outcome.rejected;
                all.recounted += outcome.recounted;
                all.arranged += outcome.arranged;
                all.series_judged += outcome.series_judged;
                all.filed += outcome.filed;
            }
            Ok(Err(rule)) => {
                failures += 1;
                println!("input {number}: {rule}");
            }
            Err(_) => {
                failures += 1;
                println!("input {number}: panicked");
            }
        }
        if failures > 20 {
            break;
        }
    }
    println!("{inputs} inputs from number {from}, seed {seed}, in {:.0} s", start.elapsed().as_secs_f64());
    println!("{refused} refused as a whole with a sentence");
    println!(
        "{} rows read: {} accepted, {} repeated, {} rejected; rows of {} inputs counted again by hand, {} sheets \
         arranged as plain tables",
        all.rows, all.accepted, all.repeated, all.rejected, all.recounted, all.arranged
    );
    println!("{} series judged, {} inputs filed into a master or taken for one", all.series_judged, all.filed);
    println!("slowest: input {} of {} bytes, {:.3} s", slowest.1, slowest.2, slowest.0.as_secs_f64());
    if let Some(peak) = peak_memory() {
        let allowed = MEMORY_BASE + MEMORY_TIMES * largest as u64;
        println!("peak memory {} MiB, largest input {:.1} MiB", peak >> 20, largest as f64 / f64::from(1 << 20));
        if peak > allowed {
            failures += 1;
            println!("that is more than {} MiB", allowed >> 20);
        }
    }
    println!("{failures} failures");
    if failures > 0 { Err("something broke".into()) } else { Ok(()) }
}

/// Ends the program when one input takes too long.
fn watch(start: Instant) {
    loop {
        std::thread::sleep(Duration::from_millis(200));
        let number = NOW[0].load(Ordering::Relaxed);
        let began = Duration::from_millis(NOW[1].load(Ordering::Relaxed));
        if number != u64::MAX && start.elapsed().saturating_sub(began) > LONGEST {
            println!("input {number}: takes more than {} s", LONGEST.as_secs());
            std::process::exit(1);
        }
    }
}

/// The most memory this process has had, where the system tells.
fn peak_memory() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    Some(line.trim().trim_end_matches("kB").trim().parse::<u64>().ok()? << 10)
}
