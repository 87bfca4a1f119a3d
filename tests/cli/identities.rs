//! What must be so whatever the readings are.

use crate::world::World;
use serde_json::Value;

/// Four years of quarterly tests of three windings: one falls, one is steady, one is beyond the scale at times.
fn rows() -> Vec<(&'static str, String, Option<f64>, f64)> {
    let mut rows = Vec::new();
    for quarter in 0..16_u32 {
        let day = format!("{}-{:02}-{:02}", 2022 + quarter / 4, 2 + 3 * (quarter % 4), 3 + (quarter * 7) % 20);
        // A scatter of at most 0.08 decades that repeats nowhere in sixteen quarters.
        let scatter = |of: u32| 0.08 * (f64::from((quarter * 37 + of * 11) % 17) / 8.0 - 1.0);
        let decades = f64::from(quarter) / 4.0;
        rows.push((
            "falls",
            day.clone(),
            Some(10f64.powf(2.4 - 0.3 * decades + scatter(1))),
            20.0 + f64::from(quarter % 4) * 5.0,
        ));
        rows.push(("steady", day.clone(), Some(10f64.powf(2.1 + scatter(2))), 25.0));
        let over = quarter % 5 == 0;
        rows.push(("scale", day, (!over).then(|| 10f64.powf(2.9 + scatter(3))), 30.0));
    }
    rows
}

/// The series of these rows with every resistance, limit and scale times `k`.
fn judged(k: f64, more: &str) -> Vec<Value> {
    let mut text = "winding,tested_on,r_60s,winding_temp_c,full_scale\n".to_owned();
    for (winding, day, value, temp) in rows() {
        let cell = value.map_or_else(|| "OL".to_owned(), |value| format!("{}", value * k));
        text += &format!("{winding},{day},{cell},{temp},{}\n", 1000.0 * k);
    }
    let register =
        ["falls", "steady", "scale"].map(|name| format!("{name},random-wound,thermosetting,{}\n", 5.0 * k)).concat();
    let world = World::new(&[
        ("h.csv", &(text + more)),
        ("r.csv", &format!("winding,construction,insulation,minimum_mohm\n{register}")),
    ]);
    let run = world.run(&["assess", "h.csv", "--register", "r.csv", "--as-of", "2026-01-15", "--format", "json", "-q"]);
    assert_eq!(run.status, 0, "{}", run.words);
    let result: Value = serde_json::from_str(&run.out).unwrap();
    let mut series = result["series"].as_array().unwrap().clone();
    series.sort_by_key(|one| one["winding"].as_str().unwrap().to_owned());
    series
}

fn at(value: &Value, path: [&str; 2]) -> f64 {
    value[path[0]][path[1]].as_f64().unwrap_or_else(|| unreachable!("{path:?} of {value}"))
}

#[test]
fn scaling_every_resistance_shifts_the_level_and_leaves_the_rest() {
    let before = judged(1.0, "");
    assert_eq!(before.len(), 3);
    for k in [0.25, 3.0, 16.0] {
        for (here, there) in before.iter().zip(judged(k, "")) {
            let name = &here["winding"];
            let level = at(&there, ["trend", "level_mohm"]) / at(here, ["trend", "level_mohm"]);
            assert!((level / k - 1.0).abs() < 2e-3, "{name} × {k}: the level is {level} times as high");
            for path in [["trend", "slope_log10_per_year"], ["trend", "p_falling"], ["forecast", "p_below_in_horizon"]]
            {
                let (one, other) = (at(here, path), at(&there, path));
                assert!((one - other).abs() < 2e-3, "{name} × {k}: {path:?} is {one} and {other}");
            }
            assert_eq!(here["action"], there["action"], "{name} × {k}");
        }
    }
}

#[test]
fn a_bound_far_away_carries_no_information() {
    let before = judged(1.0, "");
    let after = judged(1.0, "steady,2024-03-17,>0.00001,25,1000\n");
    let (here, there) = (&before[2], &after[2]);
    assert_eq!(there["winding"], "steady");
    assert_eq!((&here["trend"]["above"], &there["trend"]["above"]), (&Value::from(0), &Value::from(1)));
    let moved = (at(there, ["trend", "level_mohm"]) / at(here, ["trend", "level_mohm"])).log10();
    let turned = at(there, ["trend", "slope_log10_per_year"]) - at(here, ["trend", "slope_log10_per_year"]);
    assert!(moved.abs() < 0.01 && turned.abs() < 0.01, "level {moved}, slope {turned} decades");
    assert_eq!(here["action"], there["action"]);
}

/// Without this the two tests above could pass on figures that never move.
#[test]
fn a_bound_that_is_near_does_carry_some() {
    let before = judged(1.0, "");
    let more: String = (1..=6).map(|day| format!("steady,2025-12-{:02},>1000,25,1000\n", 3 * day)).collect();
    let after = judged(1.0, &more);
    let moved = (at(&after[2], ["trend", "level_mohm"]) / at(&before[2], ["trend", "level_mohm"])).log10();
    assert!(moved > 0.05, "{moved}");
}
