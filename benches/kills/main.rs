//! Kills `add` at random instants, and runs several at once: the master is always the old one or the new one.
//!
//! ```text
//! cargo build --release -p groundwall-cli
//! cargo run --release -p groundwall-cli --example kills -- --kills 200 --seed 1
//! ```
//!
//! Needs a system with signals that cannot be caught (`SIGKILL`, or what stands for it). See `benches/README.md`.

#![allow(clippy::print_stdout, reason = "the account is what this program is for")]

#[path = "../dice.rs"]
mod dice;
mod trial;

use dice::Dice;
use std::error::Error;
use std::path::PathBuf;
use std::time::Duration;
use trial::{Killed, Left, Scene};

/// Rows of the master and of the sheet: enough that most instants fall into reading, proving or writing.
const ROWS: usize = 30_000;
const ADDED: usize = 3000;

fn main() -> Result<(), Box<dyn Error>> {
    let (mut kills, mut seed, mut binary) = (200_u32, 1_u64, None);
    let mut arguments = std::env::args().skip(1);
    while let Some(argument) = arguments.next() {
        let mut value = || arguments.next().ok_or(format!("{argument} needs a value"));
        match argument.as_str() {
            "--kills" => kills = value()?.parse()?,
            "--seed" => seed = value()?.parse()?,
            "--binary" => binary = Some(PathBuf::from(value()?)),
            other => return Err(format!("unknown argument {other}: --kills, --seed or --binary").into()),
        }
    }
    // Beside the folder of the examples stands the program itself.
    let beside = std::env::current_exe()?
        .with_file_name("")
        .join("../groundwall")
        .with_extension(std::env::consts::EXE_EXTENSION);
    let binary = std::fs::canonicalize(binary.unwrap_or(beside))?;
    let folder = tempfile::tempdir()?;
    let scene = Scene::build(&binary, folder.path(), ROWS, ADDED)?;
    println!("an undisturbed run takes {:.0} ms", scene.usual.as_secs_f64() * 1000.0);
    let mut dice = Dice::new(seed, 0);
    let (mut old, mut new, mut late, mut failures) = (0, 0, 0, 0);
    while old + new + failures < kills && late < 10 * kills {
        // The last quarter of a run is where it writes; half of the kills fall there.
        let share = dice.below(1000) as f64 / 1000.0;
        let share = if dice.one_in(2) { 0.75 + 0.35 * share } else { share };
        let delay = Duration::from_secs_f64(scene.usual.as_secs_f64() * share);
        match scene.kill_after(delay) {
            Ok(Killed { in_time: false, .. }) => late += 1,
            Ok(Killed { left: Left::Old, .. }) => old += 1,
            Ok(Killed { left: Left::New, .. }) => new += 1,
            Err(damage) => {
                failures += 1;
                println!("killed after {delay:?}: {damage}");
            }
        }
    }
    println!(
        "{} runs killed, seed {seed}: {old} left the old master, {new} the new one, {failures} anything else",
        old + new + failures
    );
    println!("{late} more runs had ended by themselves before they were to be killed");
    if failures > 0 { Err("a master was damaged".into()) } else { Ok(()) }
}
