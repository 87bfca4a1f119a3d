//! `replay` on the demo plant, whose truth is known.

use crate::world::{World, demo};

#[test]
fn the_demo_keeps_its_word_and_its_past_crossings_are_found() {
    let world = World::new(&[]);
    let run = world.run(&[
        "replay",
        &demo("history.csv"),
        "--register",
        &demo("register.csv"),
        "--as-of",
        "2026-11-25",
        "-q",
    ]);
    assert_eq!(run.status, 0, "{}", run.words);
    assert!(run.out.contains("fell inside their 90 % interval"), "{}", run.out);
    for winding in [
        "D-321 armature: at or below its minimum on 2021",
        "K-432 stator: at or below its minimum on 2022",
        "K-431 stator: at or below its minimum on 2026",
    ] {
        assert!(run.out.contains(winding), "{winding}\n{}", run.out);
    }
}

#[test]
fn the_result_file_counts_every_forecast_and_the_picture_is_drawn() {
    let world = World::new(&[]);
    let run = world.run(&[
        "replay",
        &demo("history.csv"),
        "--register",
        &demo("register.csv"),
        "--as-of",
        "2026-11-25",
        "--format",
        "json",
        "--chart",
        "calibration.svg",
        "-q",
    ]);
    assert_eq!(run.status, 0, "{}", run.words);
    let found: serde_json::Value = serde_json::from_str(&run.out).expect("JSON");
    assert_eq!(found["schema"], "groundwall/replay/1");
    let next = &found["overall"]["next_readings"];
    let inside = &next["inside"];
    let (hits, cases) = (inside["hits"].as_u64().expect("hits"), inside["cases"].as_u64().expect("cases"));
    let outside = next["below"].as_u64().expect("below") + next["above"].as_u64().expect("above");
    assert_eq!(hits + outside, cases);
    assert!((0.87..0.97).contains(&(hits as f64 / cases as f64)), "{hits} of {cases}");
    assert!(world.read("calibration.svg").contains("Where readings fell"));
}

#[test]
fn a_history_too_short_to_replay_says_so() {
    let world = World::new(&[("short.csv", "winding,tested_on,r_60s\nP-1,2026-01-05,100\n")]);
    let run = world.run(&["replay", "short.csv", "--as-of", "2026-11-25", "-q"]);
    assert_eq!(run.status, 2);
    assert_eq!(
        run.words,
        "no series has five tests and one more, so there is nothing to replay\n\
         hint: replay needs a history of some years; assess judges a short one\n"
    );
}
