//! A short run of the bench that kills `add`: the master is the old one or the new one at every instant.
//!
//! The long run is `cargo run --release -p groundwall-cli --example kills -- --kills 200 --seed 1`.

#![cfg(unix)]
#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]

#[path = "../../benches/dice.rs"]
mod dice;
#[path = "../../benches/kills/trial.rs"]
mod trial;

use dice::Dice;
use std::path::Path;
use trial::{Left, Scene};

const KILLS: usize = 24;

#[test]
fn a_killed_run_leaves_the_old_master_or_the_new_one() {
    let folder = tempfile::tempdir().unwrap();
    let binary = Path::new(env!("CARGO_BIN_EXE_groundwall"));
    let scene = Scene::build(binary, folder.path(), 4000, 400).unwrap();
    let mut dice = Dice::new(20_261_125, 0);
    let mut left = Vec::new();
    for kill in 0..KILLS {
        // One at once and one long after the end; the others anywhere between.
        let share = match kill {
            0 => 0.0,
            1 => 20.0,
            _ => dice.below(1300) as f64 / 1000.0,
        };
        left.push(scene.kill_after(scene.usual.mul_f64(share)).unwrap());
    }
    assert_eq!((left[0].left, left[1].left), (Left::Old, Left::New));
    assert!(left[0].in_time && !left[1].in_time);
}
