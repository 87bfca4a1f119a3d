//! Two results, or two days of the same histories, beside each other.

use crate::world::{Outcome, World, demo};

const HISTORY: &str = "winding,tested_on,r_60s,winding_temp_c\n\
    P-1,2026-01-05,200,40\nP-1,2026-04-05,210,40\nP-1,2026-07-05,190,40\nP-1,2026-10-05,0.5,40\n\
    P-2,2026-10-05,300,40\n\
    P-3,2026-01-05,300,40\nP-3,2026-04-05,300,40\nP-3,2026-07-05,310,40\n";

#[test]
fn two_days_of_a_history_are_compared() {
    let world = World::new(&[("h.csv", HISTORY)]);
    let run = world.run(&["compare", "h.csv", "--since", "2026-08-01", "--as-of", "2026-11-25", "-q"]);
    assert_eq!(run.status, 0, "{}", run.words);
    let expected = [
        "From 2026-08-01 to 2026-11-25: 1 more urgent, 0 less urgent, 1 new, 0 gone; 1 tested",
        "More urgent than before\n  P-1: keep → hold. The latest reading, 0.5 MΩ at 40 °C on 2026-10-05, is at or below the minimum of",
        "New\n  P-2: gather.",
        "  keep: P-3 (overdue).",
    ];
    for part in expected {
        assert!(run.out.contains(part), "{part}\n{}", run.out);
    }
}

/// The days of one history, and the results of these days as files, say the same.
#[test]
fn two_files_say_the_same_as_two_days() {
    let world = World::new(&[("h.csv", HISTORY)]);
    let (history, register) = (demo("history.csv"), demo("register.csv"));
    for (day, file) in [("2026-08-25", "old.json"), ("2026-11-25", "new.json")] {
        let args =
            ["assess", &history, "--register", &register, "--as-of", day, "--format", "json", "--out", file, "-q"];
        assert_eq!(world.run(&args).status, 0);
    }
    let days = ["compare", &history, "--register", &register, "--since", "2026-08-25", "--as-of", "2026-11-25", "-q"];
    let by_days = world.run(&[&days[..], &["--format", "json"]].concat());
    let by_files = world.run(&["compare", "old.json", "new.json", "--format", "json", "-q"]);
    assert_eq!(
        world.run(&["compare", "new.json", "old.json"]),
        Outcome::refused(
            2,
            "new.json is as of 2026-11-25, later than old.json, as of 2026-08-25: the older result comes first\n\
             hint: write compare old.json new.json\n"
        )
    );
    let read = |run: &Outcome| -> serde_json::Value { serde_json::from_str(&run.out).unwrap() };
    let (by_days, by_files) = (read(&by_days), read(&by_files));
    assert_eq!(by_days["schema"], "groundwall/comparison/1");
    let moved = |result: &serde_json::Value| -> Vec<(String, String)> {
        let all = result["series"].as_array().unwrap().iter();
        let up = all.filter(|one| one["course"] == "more-urgent");
        up.map(|one| (one["winding"].to_string(), one["now"]["action"].to_string())).collect()
    };
    assert_eq!(moved(&by_days), moved(&by_files));
    assert!(moved(&by_days).len() > 3);
}

#[test]
fn it_must_be_clear_what_is_compared() {
    let world = World::new(&[("h.csv", HISTORY)]);
    assert_eq!(
        world.run(&["compare", "h.csv"]),
        Outcome::refused(
            2,
            "two result files are compared, an older and a newer one; named here: 1\n\
             hint: to compare two days of the same histories, name the earlier one: --since 2026-08-25\n"
        )
    );
    assert_eq!(
        world.run(&["compare", "h.csv", "--since", "2026-12-01", "--as-of", "2026-11-25"]),
        Outcome::refused(
            2,
            "--since is 2026-12-01, and the newer day is 2026-11-25; the older one must lie before it\n\
             hint: name an earlier day with --since, or a later one with --as-of\n"
        )
    );
    let run = world.run(&["compare", "h.csv", "h.csv"]);
    assert_eq!(run.status, 2);
    assert!(run.words.contains("h.csv: no result file: expected value at line 1 column 1"), "{}", run.words);
}

/// A report says what changed since the one it replaces.
#[test]
fn a_report_says_what_changed_since_the_one_before() {
    let world = World::new(&[("h.csv", HISTORY)]);
    let report = |day: &str| {
        let run = world.run(&["report", "h.csv", "--as-of", day, "--out", "r", "-q"]);
        assert_eq!(run.status, 0, "{}", run.words);
        world.read("r/index.html")
    };
    assert!(!report("2026-08-01").contains("What changed since"));
    let page = report("2026-11-25");
    assert!(page.contains("<h2>What changed since 2026-08-01</h2>"), "{page}");
    assert!(page.contains("<a href=\"series&#x2f;P-1.html\">P-1</a>: <strong>keep → hold</strong>."), "{page}");
}
