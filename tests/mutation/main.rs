//! A short seeded run of mutated histories: whatever the bytes, every row is accounted for and nothing panics.
//!
//! The long run is `cargo run --release -p groundwall-engine --example mutation -- --inputs 1000000 --seed 1`; its figures stand
//! in `benches/README.md`.

#[path = "../../benches/mutation/archive.rs"]
mod archive;
#[path = "../../benches/dice.rs"]
mod dice;
#[path = "../../benches/mutation/mutate.rs"]
mod mutate;
#[path = "../../benches/mutation/seeds.rs"]
mod seeds;
#[path = "../../benches/mutation/trial.rs"]
mod trial;

use dice::Dice;

/// Another seed than that of the published run.
const SEED: u64 = 20_261_125;
const INPUTS: u64 = 4000;

#[test]
fn whatever_the_bytes_every_row_is_accounted_for() {
    let seeds = seeds::seeds();
    let (mut rows, mut judged, mut filed, mut recounted, mut arranged) = (0, 0, 0, 0, 0);
    for number in 0..INPUTS {
        let mut dice = Dice::new(SEED, number);
        let mut bytes = mutate::input(&seeds, &mut dice);
        if number == INPUTS - 1 {
            mutate::enlarge(&mut bytes, 1 << 18);
        }
        let outcome = trial::trial(&bytes, &mut dice);
        assert!(outcome.is_ok(), "input {number}: {outcome:?}");
        if let Ok(outcome) = outcome {
            rows += outcome.rows;
            judged += outcome.series_judged;
            filed += outcome.filed;
            recounted += outcome.recounted;
            arranged += outcome.arranged;
        }
    }
    // The run says something only if most inputs still are histories.
    assert!(
        rows > INPUTS && judged > 100 && filed > 50 && recounted > INPUTS / 20 && arranged > INPUTS / 20,
        "{rows} {judged} {filed} {recounted} {arranged}"
    );
}

#[test]
fn archives_put_together_again_are_read_as_before() {
    for seed in seeds::seeds() {
        if let seeds::Seed::Parts(parts) = seed {
            let bytes = archive::stored(&parts);
            assert!(parts.len() > 2 && archive::parts(&bytes) == parts);
            let outcome = trial::trial(&bytes, &mut Dice::new(1, 6));
            assert!(outcome.is_ok_and(|outcome| outcome.rows > 0 && !outcome.refused));
        }
    }
}
