//! A short seeded run of random plants: what must hold of every answer, holds.
//!
//! The long run is `cargo run --release -p groundwall-engine --example invariants -- --runs 100000 --seed 1`; its figures are in
//! `benches/README.md`.

#[path = "../../benches/dice.rs"]
mod dice;
#[path = "../../benches/invariants/plant.rs"]
mod plant;
#[path = "../../benches/invariants/trial.rs"]
mod trial;

use rayon::iter::{IntoParallelIterator, ParallelIterator};

/// Another seed than that of the published run.
const SEED: u64 = 20_261_128;
const PLANTS: u64 = 2000;

#[test]
fn what_must_hold_of_every_answer_holds() {
    let outcomes: Vec<_> = (0..PLANTS).into_par_iter().map(|number| (number, trial::trial(SEED, number))).collect();
    let (mut series, mut replayed, mut scaled, mut refused) = (0, 0, 0, 0);
    for (number, outcome) in outcomes {
        assert!(outcome.is_ok(), "plant {number}: {outcome:?}");
        if let Ok(outcome) = outcome {
            refused += u64::from(outcome.refused);
            series += outcome.series;
            replayed += outcome.replayed;
            scaled += outcome.scaled;
        }
    }
    // The run says something only if most plants are judged.
    assert!(
        refused < PLANTS / 4 && series > PLANTS && replayed > 50 && scaled > 100,
        "{refused} {series} {replayed} {scaled}"
    );
}
