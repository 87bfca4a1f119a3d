//! Short runs of the calibration bench and of the simulated plant with fixed seeds: guard what the forecasts were measured to keep.
//!
//! The full tables, with many more histories, are printed by the examples `calibration` and `plant`; their figures are
//! in `benches/README.md`. The limits here allow for the smaller number of histories; kinds that fall short are named.

#[path = "../../benches/calibration/baseline.rs"]
mod baseline;
#[path = "../../benches/calibration/chance.rs"]
mod chance;
#[path = "../../benches/calibration/conductances.rs"]
mod conductances;
#[path = "../../benches/calibration/curves.rs"]
mod curves;
#[path = "../../benches/dice.rs"]
mod dice;
#[path = "../../benches/calibration/history.rs"]
mod history;
#[path = "../../benches/calibration/kind.rs"]
mod kind;
#[path = "../../benches/calibration/run.rs"]
mod run;
#[path = "../../benches/calibration/scoring.rs"]
mod scoring;

#[path = "../../benches/plant/cold.rs"]
#[allow(dead_code, reason = "the names of the collapses are for the table")]
mod cold;
#[path = "../../benches/plant/life.rs"]
mod life;
#[path = "../../benches/plant/replay.rs"]
#[allow(dead_code, reason = "what only the table tells")]
mod replay;
#[path = "../../benches/plant/tally.rs"]
#[allow(dead_code, reason = "what only the table tells")]
mod tally;
#[path = "../../benches/plant/winding.rs"]
mod winding;

use groundwall::assess::Action;
use kind::Simulator;
use run::Company;
use scoring::Tally;

const SEED: u64 = 271_828;
const HISTORIES: usize = 100;

/// Least share of a kind's crossings that lie in their intervals.
const LEAST_OF_A_KIND: f64 = 0.85;

/// Kinds that fall short of it, as `benches/README.md` says, with the least that each may hold. This seed gives 0.80, 0.81 and 0.84; a hundred
/// histories vary by 0.04.
const SHORT_OF_IT: [(&str, f64); 3] =
    [("moisture from an onset", 0.75), ("large drops", 0.77), ("changing rate", 0.80)];

fn total(simulators: &[&Simulator]) -> Tally {
    let mut sum = Tally::default();
    for simulator in simulators {
        for tally in run::run(simulator, SEED, HISTORIES, Company::Fleet) {
            sum.add(&tally);
        }
    }
    sum
}

#[test]
fn intervals_hold_the_truth_and_no_kind_is_left_out() {
    for (simulator, least) in [(&curves::CURVES, 0.92), (&conductances::CONDUCTANCES, 0.87), (&chance::CHANCE, 0.84)] {
        let tallies = run::run(simulator, SEED, HISTORIES, Company::Fleet);
        let all = run::total(&tallies);
        let held = all.covered / all.dated;
        assert!(held >= least, "{}: {held}", simulator.name);
        for (kind, tally) in simulator.kinds.iter().zip(&tallies).filter(|(_, tally)| tally.dated > 0.0) {
            let held = tally.covered / tally.dated;
            let least =
                SHORT_OF_IT.iter().find(|(name, _)| *name == kind.name).map_or(LEAST_OF_A_KIND, |(_, least)| *least);
            assert!(held >= least, "{}, {}: {held}", simulator.name, kind.name);
        }
    }
}

#[test]
fn the_score_stays_under_a_third_of_the_plain_lines() {
    let all = total(&[&curves::CURVES, &conductances::CONDUCTANCES, &chance::CHANCE]);
    assert!(all.score <= 0.33 * all.baseline_score, "{} of {}", all.score, all.baseline_score);
    assert!(all.covered / all.dated <= 0.96, "wider than they need to be: {}", all.covered / all.dated);
}

#[test]
fn steady_windings_raise_no_alarm_and_declining_ones_are_flagged_in_time() {
    let all = total(&[&curves::CURVES, &conductances::CONDUCTANCES, &chance::CHANCE]);
    assert!(all.false_alarms <= 0.01 * all.steady, "{} of {}", all.false_alarms, all.steady);
    assert!(all.flagged >= 0.97 * all.ahead, "{} of {}", all.flagged, all.ahead);
}

#[test]
fn sudden_falls_are_found() {
    let all = total(&[&curves::CURVES]);
    assert!(all.falls > 150.0);
    assert!(all.falls_found >= 0.97 * all.falls, "{} of {}", all.falls_found, all.falls);
}

#[test]
fn a_winding_on_its_own_is_held_too() {
    let mut all = Tally::default();
    for simulator in [&curves::CURVES, &conductances::CONDUCTANCES, &chance::CHANCE] {
        all.add(&run::total(&run::run(simulator, SEED, HISTORIES, Company::Lone)));
    }
    let held = all.covered / all.dated;
    assert!((0.87..0.97).contains(&held), "{held}");
    assert!(all.median_error() < 1.2, "median error of the date, years: {}", all.median_error());
}

#[test]
fn a_winding_that_reads_less_though_it_is_colder_is_never_left_alone() {
    for collapse in &cold::COLLAPSES {
        for seed in 0..6 {
            let action = cold::judge(collapse, seed).expect("a valid history");
            assert!(action < Action::Keep, "{}, seed {seed}: {action}", collapse.name);
        }
    }
}

#[test]
fn a_plant_is_warned_in_time_for_little_needless_work() {
    let looks = replay::replay_all(SEED, 4, 120).expect("a valid plant");
    let work = tally::alarm(&looks, |look| matches!(look.action, Action::Plan | Action::Hold));
    // Judging once more without rows that may hide a fall took this from 1.99 to 2.68, and what is warned in time from 81 to 84 %.
    assert!(work.false_per_100 <= 2.9 && work.missed <= 0.15 && work.warned >= 0.6, "{work:?}");
    let repeats = tally::alarm(&looks, replay::Look::newly_rechecked);
    assert!(repeats.false_per_100 <= 6.0, "{repeats:?}");
    let held = tally::Intervals::of(&looks).held[2].value();
    assert!(held >= 0.65, "{held}");
    let unknown = tally::Chances::of(&looks).unknown_said;
    assert!(unknown < 1e-12, "a probability without an exact reading: {unknown}");
}
