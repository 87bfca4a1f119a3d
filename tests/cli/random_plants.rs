//! Random plants through every command of the program: documented status, no panic, readable data, and the same bytes for one
//! thread and for two.

#[path = "../../benches/dice.rs"]
mod dice;
#[path = "../../benches/invariants/plant.rs"]
mod plant;

use crate::world::{Outcome, World};
use dice::Dice;
use plant::{Manner, Plant};

const SEED: u64 = 20_261_129;
const PLANTS: u64 = 24;

/// Commands with their output on standard output, all on `h.csv`.
const PRINTING: [&[&str]; 13] = [
    &["assess", "h.csv"],
    &["assess", "h.csv", "--format", "csv"],
    &["assess", "h.csv", "--format", "json", "--strict"],
    &["assess", "h.csv", "--fail-on", "plan"],
    &["check", "h.csv"],
    &["check", "h.csv", "--format", "json"],
    &["check", "h.csv", "--suggest"],
    &["round", "h.csv", "--until", "2027-06-01"],
    &["round", "h.csv", "--until", "2027-06-01", "--format", "json"],
    &["replay", "h.csv"],
    &["explain", "h.csv", "--winding", "P-0"],
    &["explain", "h.csv", "--winding", "P-0", "--format", "json"],
    &["compare", "h.csv", "--since", "2024-01-01"],
];
/// Commands that write files.
const WRITING: [&[&str]; 4] = [
    &["chart", "h.csv", "--winding", "P-0", "--out", "p.svg"],
    &["chart", "h.csv", "--kind", "fleet", "--out", "f.svg"],
    &["report", "h.csv", "--out", "r"],
    &["add", "h.csv", "--to", "m.csv", "--create", "--skip-rejected"],
];

#[test]
fn every_command_answers_every_plant() {
    for number in 0..PLANTS {
        let plant = Plant::new(&mut Dice::new(SEED, number), &Manner { plain: false, factor: 1.0 });
        let order: Vec<usize> = (0..plant.rows.len()).collect();
        let world = World::new(&[("h.csv", &plant.history(&order)), ("register.csv", &plant.register)]);
        let mut common = vec!["--as-of", "2026-11-25"];
        if !plant.register.is_empty() {
            common.extend(["--register", "register.csv"]);
        }
        let run = |command: &[&str], threads: &str| {
            let run = world.run(&[command, &common, &["--threads", threads]].concat());
            let said = format!("plant {number}, {command:?}: {run:?}");
            assert!((0..=4).contains(&run.status), "{said}");
            assert!(!run.words.contains("panicked"), "{said}");
            // A run that stops says why.
            assert!(run.status != 2 || !run.words.is_empty(), "{said}");
            run
        };
        for command in PRINTING {
            let Outcome { status, out, words } = run(command, "1");
            assert_eq!(run(command, "2"), Outcome { status, out: out.clone(), words }, "plant {number}, {command:?}");
            if command.contains(&"json") && !out.is_empty() {
                let parsed: Result<serde_json::Value, _> = serde_json::from_str(&out);
                assert!(parsed.is_ok(), "plant {number}, {command:?}: {out}");
            }
        }
        for command in WRITING {
            run(command, "2");
        }
    }
}

/// Actions by urgency, most urgent first.
const ACTIONS: [&str; 6] = ["hold", "plan", "recheck", "shorten", "gather", "keep"];
const QUESTIONS: u64 = 60;

/// The commands that read no history: JSON and status as documented, half a reading is never judged more mildly, and a correction there and
/// back gives the reading again.
#[test]
fn the_calculators_answer_every_question() {
    let world = World::new(&[]);
    let asked = |args: &[&str]| {
        let run = world.run(&[args, &["--format", "json"]].concat());
        let said = format!("{args:?}: {run:?}");
        assert!(matches!(run.status, 0 | 2) && !run.words.contains("panicked"), "{said}");
        assert!(run.status == 0 || !run.words.is_empty(), "{said}");
        let answer: Option<serde_json::Value> = serde_json::from_str(&run.out).ok();
        assert_eq!(answer.is_some(), run.status == 0, "{said}");
        answer.unwrap_or_default()
    };
    let (mut judged, mut corrected, mut ratios) = (0, 0, 0);
    for number in 0..QUESTIONS {
        let mut dice = Dice::new(SEED, number);
        let mut number = |from: i64, to: u32| (from + dice.below(to as usize) as i64).to_string();
        let (reading, at, to) = (number(1, 4000), number(-5, 100), number(-5, 100));
        let (volts, year, applied) = (number(100, 13_000), number(1950, 75), number(200, 5000));
        let (air, humidity, digits) = (number(-5, 45), number(5, 110), number(0, 1000));
        let half = (reading.parse::<f64>().unwrap() / 2.0).to_string();
        let insulation = *dice.pick(&["thermosetting", "thermoplastic", "unknown"]);
        let construction = *dice.pick(&["random-wound", "form-wound", "dc-armature", "field", "cable", "wire"]);
        let mut actions = Vec::new();
        for reading in [&reading, &half] {
            let answer = asked(&[
                "spot",
                "--r60",
                reading,
                "--at",
                &at,
                "--rated-volts",
                &volts,
                "--construction",
                construction,
                "--insulation",
                insulation,
                "--year",
                &year,
                "--test-volts",
                &applied,
                "--air",
                &air,
                "--rh",
                &humidity,
            ]);
            actions.extend(ACTIONS.iter().position(|action| answer["action"] == *action));
        }
        judged += usize::from(actions.len() == 2);
        assert!(actions.is_sorted_by(|whole, half| half <= whole), "{reading}, {at}, {volts}: {actions:?}");
        // Of an insulation that is not known the lower of two laws counts, there as back.
        let law = ["--insulation", insulation];
        let there = asked(&[&["correct", &reading, "--at", &at, "--to", &to], &law[..]].concat());
        if let Some(found) =
            there["r_ref_mohm"].as_f64().filter(|_| there["bound"] == "exact" && insulation != "unknown")
        {
            let back = asked(&[&["correct", &found.to_string(), "--at", &to, "--to", &at], &law[..]].concat());
            let back = back["r_ref_mohm"].as_f64().unwrap();
            assert!((back / reading.parse::<f64>().unwrap() - 1.0).abs() < 1e-9, "{reading} at {at}, {to}: {back}");
            corrected += 1;
        }
        let pairs = [format!("30s={half}"), format!("60s={reading}"), format!("10min=>{digits}")];
        ratios += usize::from(asked(&["ratios", &pairs[0], &pairs[1], &pairs[2]]).is_object());
    }
    // The run says something only if most questions are answered.
    assert!(judged > 30 && corrected > 15 && ratios > 50, "{judged} {corrected} {ratios}");
    for (args, made) in
        [(&["policy", "--out", "p.toml"][..], "p.toml"), (&["manual", "--out", "m"], "m"), (&["demo", "d"], "d")]
    {
        let run = world.run(args);
        assert!(run.status == 0 && world.path(made).exists(), "{args:?}: {run:?}");
        let again = world.run(args);
        // Equal bytes are no replacement; anything else is refused with a sentence.
        assert!(again.status == 0 || (again.status == 2 && !again.words.is_empty()), "{args:?}: {again:?}");
    }
}
