//! `explain`: every step is there, in the order a foreman would ask.

use crate::world::{Outcome, World, demo};

#[test]
fn the_account_follows_a_judgement_from_cell_to_action() {
    let world = World::new(&[]);
    let run = world.run(&[
        "explain",
        &demo("history.csv"),
        "--register",
        &demo("register.csv"),
        "--as-of",
        "2026-11-25",
        "--winding",
        "F-402 stator",
        "-q",
    ]);
    assert_eq!(run.status, 0, "{}", run.words);
    let mut rest = run.out.as_str();
    for step in [
        "F-402 stator, as of 2026-11-25",
        "What is known of the winding",
        "The least it may read",
        "5 MΩ after one minute at 40 °C: random-wound stator, IEEE Std 43 cl. 12.3.",
        "How readings are brought to one temperature",
        "halves every 17 K",
        "The latest test that counts",
        "The stretch that the trend is fitted to",
        "What similar windings lend",
        "Which models explain the readings",
        "What the trend says",
        "What was noticed",
        "law-learnt",
        "What to do",
        "So the action is keep: carry on with the usual interval.",
    ] {
        let at = rest.find(step).unwrap_or_else(|| unreachable!("{step} is missing, or out of order, in\n{}", run.out));
        rest = &rest[at..];
    }
    assert!(run.out.lines().all(|line| line.chars().count() <= 100), "{}", run.out);
}

#[test]
fn a_winding_that_is_not_there_leads_to_those_that_are() {
    let world = World::new(&[("h.csv", "winding,tested_on,r_60s\nP-101,2026-01-05,100\nP-102,2026-01-05,100\n")]);
    let run = world.run(&["explain", "h.csv", "--winding", "P-10", "--as-of", "2026-11-25"]);
    assert_eq!(run, Outcome::refused(2, "h.csv: no series of winding P-10 fits\nhint: the nearest are P-101, P-102\n"));
}
