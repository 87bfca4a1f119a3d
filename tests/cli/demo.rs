//! The demo plant: every winding was made with a known truth, and the judgement must be the one a competent person makes.

use crate::world::{World, demo};
use std::collections::BTreeMap;

/// Where the judgement differs from what the dataset card expects, with the reason.
const DIFFERENT: [(&str, &str, &str, &str); 1] = [(
    "S-501 stator",
    "all-earth",
    "plan",
    "two years from its minimum in truth; there is one chance in six that it comes within the year, and nine in ten within three",
)];

#[test]
fn every_winding_gets_the_action_that_its_truth_asks_for() {
    let truth = std::fs::read_to_string(demo("truth.csv")).unwrap();
    let mut lines = truth.lines();
    let header: Vec<&str> = lines.next().unwrap().split(',').collect();
    let column = |name: &str| header.iter().position(|h| *h == name).unwrap();
    let (winding, connection, scope, expected) =
        (column("winding"), column("connection"), column("scope"), column("expected_action"));
    let mut wanted: BTreeMap<[String; 3], String> = BTreeMap::new();
    for line in lines {
        let cells: Vec<&str> = line.split(',').collect();
        let key = [winding, connection, scope].map(|i| cells[i].to_owned());
        wanted.insert(key, cells[expected].to_owned());
    }
    for (name, connection, action, _) in DIFFERENT {
        wanted.insert([name.to_owned(), connection.to_owned(), "winding".to_owned()], action.to_owned());
    }
    let world = World::new(&[]);
    let run = world.run(&[
        "assess",
        &demo("history.csv"),
        "--register",
        &demo("register.csv"),
        "--policy",
        &demo("policy.toml"),
        "--as-of",
        "2026-11-25",
        "--format",
        "json",
        "-q",
    ]);
    assert_eq!(run.status, 0, "{}", run.words);
    let result: serde_json::Value = serde_json::from_str(&run.out).unwrap();
    let mut found: BTreeMap<[String; 3], String> = BTreeMap::new();
    for series in result["series"].as_array().unwrap() {
        let key = ["winding", "connection", "scope"].map(|name| series[name].as_str().unwrap().to_owned());
        found.insert(key, series["action"].as_str().unwrap().to_owned());
    }
    assert_eq!(found, wanted);
}

/// The head of the README shows the real list.
#[test]
fn the_readme_shows_the_list_as_it_is() {
    let world = World::new(&[]);
    let run = world.run(&[
        "assess",
        &demo("history.csv"),
        "--register",
        &demo("register.csv"),
        "--policy",
        &demo("policy.toml"),
        "--as-of",
        "2026-11-25",
        "-q",
    ]);
    let readme = std::fs::read_to_string(demo("../README.md")).unwrap();
    let head: Vec<&str> = run.out.lines().take(15).collect();
    assert!(readme.contains(&head.join("\n")), "{}", head.join("\n"));
}

/// The card lists every row of the dirty file that is not accepted; the program finds these and no others.
#[test]
fn the_dirty_file_is_rejected_where_its_card_says() {
    let card = std::fs::read_to_string(demo("README.md")).unwrap();
    let table = card.split("| line | winding | column | rule |\n").nth(1).unwrap();
    let listed: Vec<(u64, &str)> = table
        .lines()
        .skip(1)
        .take_while(|line| line.starts_with('|'))
        .map(|line| {
            let cells: Vec<&str> = line.split('|').map(str::trim).collect();
            (cells[1].parse().unwrap(), cells[4])
        })
        .collect();
    let (repeated, rejected): (Vec<_>, Vec<_>) = listed.iter().partition(|(_, rule)| rule.contains("identical"));
    let world = World::new(&[]);
    let run = world.run(&["check", &demo("history-dirty.csv"), "--format", "json", "--as-of", "2026-11-25"]);
    let report: serde_json::Value = serde_json::from_str(&run.out).unwrap();
    let found: Vec<u64> =
        report["rejected"].as_array().unwrap().iter().map(|row| row["line"].as_u64().unwrap()).collect();
    assert_eq!(found, rejected.iter().map(|(line, _)| *line).collect::<Vec<_>>());
    assert_eq!(report["input"][0]["repeated"], repeated.len());
    assert_eq!(report["input"][0]["accepted"], 67 - listed.len());
}

/// Each winding of the cautions is given the action that its card expects; the rules are those of the tests in `crates/core`.
#[test]
fn the_cautions_are_judged_as_their_card_says() {
    let card = std::fs::read_to_string(demo("README.md")).unwrap();
    let table = card.split("| winding | what happens | expected | conclusion |\n").nth(1).unwrap();
    let listed = table.lines().skip(1).take_while(|line| line.starts_with('|')).map(|line| {
        let cells: Vec<&str> = line.split('|').map(str::trim).collect();
        (cells[1].to_owned(), cells[3].trim_matches('`').to_owned())
    });
    let history = demo("history-cautions.csv");
    let register = demo("register-cautions.csv");
    let arguments = ["assess", &history, "--register", &register, "--as-of", "2026-11-25", "--format", "json", "-q"];
    let result: serde_json::Value = serde_json::from_str(&World::new(&[]).run(&arguments).out).unwrap();
    let text = |value: &serde_json::Value| value.as_str().unwrap_or_default().to_owned();
    let mut found: Vec<(String, String)> =
        result["series"].as_array().unwrap().iter().map(|one| (text(&one["winding"]), text(&one["action"]))).collect();
    found.sort();
    assert_eq!(found, listed.collect::<Vec<_>>());
}
