//! Writes the invented plant of `data-demo/`: histories, registers, the hidden truth and the dataset card.
//!
//! ```text
//! cargo run -p groundwall --example make-demo            rewrites data-demo/, and the copies in crates/cli/demo/, byte for byte
//! cargo run -p groundwall --example make-demo -- DIR     writes the same files into DIR
//! ```
//!
//! Nothing here uses the library: what is generated must not depend on what judges it.

#[path = "make/board_machine.rs"]
mod board_machine;
#[path = "make/build.rs"]
mod build;
#[path = "make/card.rs"]
mod card;
#[path = "make/cautions.rs"]
mod cautions;
#[path = "../benches/dice.rs"]
mod dice;
#[path = "make/dirty.rs"]
mod dirty;
#[path = "make/finishing_and_power.rs"]
mod finishing_and_power;
#[path = "make/physics.rs"]
mod physics;
#[path = "make/plant.rs"]
mod plant;
#[path = "make/simulate.rs"]
mod simulate;
#[path = "make/tables.rs"]
mod tables;
#[path = "make/water_and_pulp.rs"]
mod water_and_pulp;

use std::error::Error;
use std::path::PathBuf;

/// Seed of every random number. Each winding and each area draws from its own stream of it.
pub(crate) const SEED: u64 = 20_261_125;

fn main() -> Result<(), Box<dyn Error>> {
    let out = std::env::args_os()
        .nth(1)
        .map_or_else(|| PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/../../data-demo")), PathBuf::from);
    let mut windings = water_and_pulp::windings();
    windings.extend(board_machine::windings());
    windings.extend(finishing_and_power::windings());

    let tests = simulate::history(&windings);
    std::fs::write(out.join("history.csv"), tables::history(&tests))?;
    std::fs::write(out.join("register.csv"), tables::register(&windings))?;
    std::fs::write(out.join("truth.csv"), tables::truth(&windings))?;
    std::fs::write(out.join("history-dirty.csv"), dirty::history())?;
    std::fs::write(out.join("register-dirty.csv"), dirty::REGISTER)?;
    std::fs::write(out.join("history-cautions.csv"), cautions::history())?;
    std::fs::write(out.join("register-cautions.csv"), cautions::register())?;
    std::fs::write(out.join("README.md"), card::card(&windings, &tests))?;
    if std::env::args_os().len() < 2 {
        // What the program carries for `groundwall demo`: inside its crate, so that its package has it too.
        let carried = PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/../cli/demo"));
        for name in ["history.csv", "register.csv", "policy.toml", "jobs.csv", "jobs-register.csv"] {
            std::fs::copy(out.join(name), carried.join(name))?;
        }
    }
    Ok(())
}
