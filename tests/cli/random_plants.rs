//! Random plants through every command of the program: documented status, no panic, readable data, and the same bytes for one
//! thread and for two.

#[path = "../../benches/mutation/dice.rs"]
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
