//! What a fleet taught, written down: its parts have the answers of the whole, and nothing else is judged under it.

use super::world::{World, demo};

const DAY: [&str; 2] = ["--as-of", "2026-11-25"];
const ANEW: &str = "learn from the fleet again, or judge with the same settings";

/// A world with the demo's history in two parts, and what the whole of it taught in `priors.json`.
fn learnt() -> (World, String) {
    let history = std::fs::read_to_string(demo("history.csv")).unwrap();
    let (header, rows) = history.split_once('\n').unwrap();
    // Whole windings: by the letter that their names begin with, in the second column.
    let (one, other): (Vec<&str>, Vec<&str>) = rows.lines().partition(|row| row.split(',').nth(1) < Some("D"));
    let part = |rows: &[&str]| format!("{header}\n{}\n", rows.join("\n"));
    let world = World::new(&[("one.csv", &part(&one)), ("other.csv", &part(&other))]);
    let whole = assess(&world, &[&demo("history.csv"), "--save-priors", "priors.json"]);
    (world, whole)
}

fn args<'a>(more: &[&'a str], register: &'a str, policy: &'a str) -> Vec<&'a str> {
    [&["assess", "-q", "--no-config", "-f", "csv", "-r", register, "-p", policy], more].concat()
}

fn assess(world: &World, more: &[&str]) -> String {
    let (register, policy) = (demo("register.csv"), demo("policy.toml"));
    let outcome = world.run(&[&args(more, &register, &policy)[..], &DAY].concat());
    assert_eq!((outcome.status, outcome.words.as_str()), (0, ""), "{more:?}");
    outcome.out
}

fn refused(world: &World, args: &[&str]) -> String {
    let outcome = world.run(args);
    assert_eq!((outcome.status, outcome.out.as_str()), (2, ""), "{args:?}");
    outcome.words
}

fn sorted<'t>(texts: &[&'t str]) -> Vec<&'t str> {
    let mut rows: Vec<&str> = texts.iter().flat_map(|text| text.lines().skip(1)).collect();
    rows.sort_unstable();
    rows
}

#[test]
fn the_parts_of_a_fleet_have_the_answers_of_the_whole() {
    let (world, whole) = learnt();
    assert_eq!(whole, assess(&world, &[&demo("history.csv")]));
    assert_eq!(whole, assess(&world, &[&demo("history.csv"), "--priors", "priors.json"]));
    let parts = ["one.csv", "other.csv"].map(|part| assess(&world, &[part, "--priors", "priors.json"]));
    assert_eq!(sorted(&[&parts[0], &parts[1]]), sorted(&[&whole]));
    assert!(parts.iter().all(|part| part.lines().count() > 10));
    // Alone, a part learns from itself, and that is another answer.
    assert!(parts[0] != assess(&world, &["one.csv"]), "learnt from its own windings alone");
}

#[test]
fn another_day_policy_or_history_is_refused() {
    let (world, _) = learnt();
    let (register, policy) = (demo("register.csv"), demo("policy.toml"));
    let with = |more: &[&'static str]| refused(&world, &args(more, &register, &policy));
    assert_eq!(
        with(&["one.csv", "--priors", "priors.json", "--as-of", "2026-11-26"]),
        format!(
            "priors.json: the as-of date was 2026-11-25 when the fleet was surveyed and is 2026-11-26; both must be the same\n\
             hint: {ANEW}\n"
        )
    );
    assert_eq!(
        with(&["one.csv", "--priors", "priors.json", "--as-of", "2026-11-25", "--confidence", "0.8"]),
        format!(
            "priors.json: the confidence was 0.9 when the priors were learnt and is 0.8; both must be the same\nhint: {ANEW}\n"
        )
    );
    std::fs::write(world.path("strict.toml"), "[decision]\nhorizon_days = 400\n").unwrap();
    let strict = ["assess", "-q", "--no-config", "one.csv", "-p", "strict.toml", "--priors", "priors.json"];
    assert_eq!(
        refused(&world, &[&strict[..], &DAY].concat()),
        format!(
            "priors.json: decision.horizon_days of the policy was 365 when the priors were learnt and is 400; both must be the \
             same\nhint: {ANEW}\n"
        )
    );
    std::fs::write(world.path("foreign.csv"), "winding,tested_on,r_60s\nQ-1,2026-10-12,371\n").unwrap();
    assert_eq!(
        with(&["foreign.csv", "--priors", "priors.json", "--as-of", "2026-11-25"]),
        "priors.json: winding Q-1 has 1 test and was not in the fleet that was surveyed\n\
         hint: learn from the fleet again, with the histories and the register that are judged, and judge whole windings\n"
    );
}

#[test]
fn the_file_is_replaced_by_force_alone_and_not_used_once_it_was_changed() {
    let (world, _) = learnt();
    let (register, policy) = (demo("register.csv"), demo("policy.toml"));
    let saving = args(&["one.csv", "--save-priors", "priors.json"], &register, &policy);
    let before = world.read("priors.json");
    assert!(refused(&world, &[&saving[..], &DAY].concat()).contains("priors.json"));
    assert_eq!(world.read("priors.json"), before);
    let outcome = world.run(&[&saving[..], &DAY, &["--force"]].concat());
    assert_eq!(outcome.status, 0, "{}", outcome.words);
    assert_eq!(world.read("priors.json.bak"), before);
    assert_ne!(world.read("priors.json"), before);

    let spot = ["spot", "-q", "--r60", "40", "--priors"];
    let anew = "hint: write it again with `groundwall assess --save-priors`\n";
    std::fs::write(world.path("changed.json"), before.replacen("\"scatter\": \"0", "\"scatter\": \"1", 1)).unwrap();
    let words = refused(&world, &[&spot[..], &["changed.json"]].concat());
    assert!(words.starts_with("changed.json: sha256 is ") && words.ends_with(anew), "{words}");
    std::fs::write(world.path("later.json"), before.replace("groundwall/priors/1", "groundwall/priors/2")).unwrap();
    assert_eq!(
        refused(&world, &[&spot[..], &["later.json"]].concat()),
        format!("later.json: schema is groundwall/priors/2; this version reads groundwall/priors/1\n{anew}")
    );
    std::fs::write(world.path("cut.json"), &before[..before.len() / 2]).unwrap();
    let words = refused(&world, &[&spot[..], &["cut.json"]].concat());
    assert!(words.starts_with("cut.json: these priors cannot be read: ") && words.ends_with(anew), "{words}");
    assert!(
        refused(
            &world,
            &args(&["one.csv", "--priors", "priors.json", "--save-priors", "more.json"], &register, &policy)
        )
        .contains("--save-priors")
    );
}

#[test]
fn spot_is_told_of_the_group_and_gets_no_milder() {
    let (world, _) = learnt();
    let policy = demo("policy.toml");
    let spot = |more: &[&str]| {
        let args = [
            "spot",
            "-q",
            "--r60",
            "40",
            "--at",
            "20",
            "--rated-volts",
            "400",
            "--construction",
            "random-wound",
            "-p",
            &policy,
        ];
        world.run(&[&args[..], more].concat())
    };
    let of_group = spot(&["--priors", "priors.json", "--group", "intake pumps 400 V"]);
    assert_eq!(of_group.status, 0, "{}", of_group.words);
    let line = of_group.out.lines().find(|line| line.starts_with("priors")).unwrap();
    assert_eq!(
        line,
        "priors    priors.json: intake pumps 400 V: 5 series as of 2026-11-25; they never make an answer less urgent"
    );
    assert!(spot(&["--priors", "priors.json"]).out.contains("priors    priors.json: the fleet had no such winding\n"));
    let action = |outcome: &str| outcome.split(':').next().unwrap_or_default().to_owned();
    assert_eq!(action(&of_group.out), action(&spot(&[]).out));
    let unknown = spot(&["--priors", "priors.json", "--group", "sirens"]);
    assert!(
        unknown.words.starts_with(
            "priors.json: the group is sirens; the fleet had no such group\nhint: its groups were agitators 690 V; "
        ),
        "{}",
        unknown.words
    );
    let answer = spot(&["--priors", "priors.json", "--group", "intake pumps 400 V", "-f", "json"]).out;
    let answer: serde_json::Value = serde_json::from_str(&answer).unwrap();
    assert_eq!(answer["priors"]["as_of"], "2026-11-25");
}
