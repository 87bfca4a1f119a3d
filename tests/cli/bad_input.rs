//! What bad input and bad outputs get, whichever command meets them: one sentence, what to do, the status, and no half-written
//! file. What rows and policies are told is in `check` and `policy`.

use crate::world::{Outcome, World, demo};
use proptest::prelude::*;
use std::io::Read as _;
use std::process::Stdio;

/// Every command that reads histories, with what it needs besides.
const READERS: [&[&str]; 5] = [
    &["assess"],
    &["check"],
    &["replay"],
    &["explain", "--winding", "P-1"],
    &["chart", "--winding", "P-1", "--out", "p-1.png"],
];

#[test]
fn no_command_starts_on_a_history_that_cannot_be_read() {
    let world = World::new(&[
        ("plant.csv", "winding,tested_on,r_60s\nP-1,2026-01-05,5\n"),
        ("empty.csv", ""),
        ("header.csv", "winding,tested_on,r_60s\n"),
        ("renamed.csv", "winding,testd_on,r_60s\nP-1,2026-01-05,5\n"),
    ]);
    std::fs::create_dir(world.path("folder")).unwrap();
    let before = world.names();
    for (file, words) in [
        ("none.txt", "none.txt: there is no such file\nhint: check the spelling and the folder\n"),
        ("folder", "folder: this is a folder, not a file\nhint: name the files inside it\n"),
        (
            "empty.csv",
            "empty.csv: the file is empty\n\
             hint: the first line names the columns, such as winding,tested_on,r_60s; one row per test follows\n",
        ),
        (
            "header.csv",
            "header.csv: there is a header but no row below it\nhint: one row per test follows the header\n",
        ),
        (
            "renamed.csv",
            "renamed.csv:1: the column tested_on is missing; the header has winding, testd_on, r_60s\n\
             hint: say under [columns] in the policy file which column holds it; \
             `groundwall check --suggest` writes that section (closest to tested_on: testd_on); by their cells these may be right, so check them \
             and write them there: \"testd_on\" = \"tested_on\"\n",
        ),
    ] {
        for reader in READERS {
            assert_eq!(world.run(&[reader, &["plant.csv", file]].concat()), Outcome::refused(2, words), "{reader:?}");
        }
    }
    assert_eq!(world.names(), before);
}

#[test]
fn no_command_starts_on_a_register_or_policy_that_is_wrong() {
    let world = World::new(&[
        ("plant.csv", "winding,tested_on,r_60s\nP-1,2026-01-05,5\n"),
        ("r.csv", "winding,rated_volts\nP-1,400\nP-1,690\n"),
        ("p.toml", "[decision]\nplan_probability = 30\n"),
    ]);
    for reader in READERS {
        assert_eq!(
            world.run(&[reader, &["plant.csv", "--register", "r.csv", "--policy", "p.toml"]].concat()),
            Outcome::refused(
                2,
                "p.toml:2: decision.plan_probability is 30; it must be a number from 0.01 to 0.99\n\
                 hint: the default is 0.3 (plan: the level gets below the minimum inside the horizon with at least this \
                 probability)\n\
                 r.csv:3: winding is P-1, as on line 2, with other data; a winding has one row in the register\n\
                 hint: delete the row that is wrong\n"
            ),
            "{reader:?}"
        );
    }
}

/// A run that writes a file, on the demo.
fn writer(command: &str, out: &str) -> Vec<String> {
    let mut args: Vec<String> = command.split_whitespace().map(str::to_owned).collect();
    if command != "policy" {
        args.extend([demo("history.csv"), "--as-of".to_owned(), "2026-11-25".to_owned(), "-q".to_owned()]);
    }
    if command == "explain" || command == "chart" {
        args.extend(["--winding".to_owned(), "P-101 stator".to_owned()]);
    }
    args.extend(["--out".to_owned(), out.to_owned()]);
    args
}

const WRITERS: [&str; 6] = ["assess", "assess --format json", "assess --format csv", "explain", "policy", "chart"];

fn run(world: &World, args: &[String]) -> Outcome {
    world.run(&args.iter().map(String::as_str).collect::<Vec<_>>())
}

#[test]
fn an_output_is_written_whole_or_not_at_all() {
    for command in WRITERS {
        let world = World::new(&[("out.svg", "old")]);
        std::fs::create_dir(world.path("folder.svg")).unwrap();
        for (out, words) in [
            (
                "no/out.svg",
                "no/out.svg: cannot be written: the folder no does not exist\n\
                 hint: make the folder first, or give another path\n",
            ),
            ("folder.svg", "folder.svg: cannot be written: this is a folder\nhint: add a file name to the path\n"),
            (
                "out.svg/out.svg",
                "out.svg/out.svg: cannot be written: a part of the path is a file, not a folder\n\
                 hint: give another path\n",
            ),
        ] {
            if command == "chart" && out == "folder.svg" {
                // A chart in a folder gets a name of its own.
                continue;
            }
            assert_eq!(run(&world, &writer(command, out)), Outcome::refused(2, words), "{command}");
        }
        assert_eq!(
            (world.read("out.svg").as_str(), world.names()),
            ("old", vec!["folder.svg".into(), "out.svg".into()])
        );
        // What is not a result is not replaced, nor is a policy that somebody has edited.
        std::fs::remove_file(world.path("out.svg")).unwrap();
        for _ in 0..2 {
            assert_eq!(run(&world, &writer(command, "out.svg")), Outcome::printed(0, ""), "{command}");
        }
        assert!(world.read("out.svg").len() > 100, "{command}");
        assert_eq!(world.names(), ["folder.svg", "out.svg"], "{command}");
    }
}

#[test]
fn a_result_is_never_written_over_what_it_is_made_from() {
    let history = "winding,tested_on,r_60s\nP-1,2026-01-05,5\n";
    let files = [("h.csv", history), ("h.svg", history), ("r.csv", "winding\nP-1\n"), ("p.toml", "[decision]\n")];
    for (args, out) in [
        (&["assess", "h.csv", "--out", "h.csv"][..], "h.csv"),
        (&["assess", "h.csv", "--register", "r.csv", "--out", "./r.csv"], "./r.csv"),
        (&["explain", "h.csv", "--winding", "P-1", "--policy", "p.toml", "--out", "p.toml"], "p.toml"),
        (&["check", "h.csv", "--rejects", "h.csv"], "h.csv"),
        (&["chart", "h.svg", "--winding", "P-1", "--out", "h.svg"], "h.svg"),
        (&["replay", "h.csv", "--out", "h.csv"], "h.csv"),
        (&["replay", "h.svg", "--chart", "h.svg"], "h.svg"),
        (&["assess", "*.csv", "--out", "r.csv"], "r.csv"),
    ] {
        let world = World::new(&files);
        let words = format!(
            "{out}: this is an input file; the result would overwrite it\nhint: give the result a name of its own\n"
        );
        assert_eq!(world.run(args), Outcome::refused(2, &words), "{args:?}");
        for (name, text) in files {
            assert_eq!(world.read(name), text, "{args:?}");
        }
    }
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_told_by_every_command_that_prints() {
    let world = World::new(&[]);
    let history = demo("history.csv");
    let explain = ["explain", &history, "--winding", "P-101 stator", "-q"];
    for args in [
        &["assess", &history, "-q"][..],
        &["assess", &history, "-q", "--format", "json"],
        &["check", &history],
        &explain,
        &["spot", "--r60", "200", "-q"],
        &["correct", "200", "--at", "20", "--halving", "10"],
        &["ratios", "60s=420", "10min=980"],
    ] {
        let full = std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
        let output = world.command(args).stdout(full).output().unwrap();
        assert_eq!(
            (output.status.code(), String::from_utf8_lossy(&output.stderr).as_ref()),
            (
                Some(1),
                "standard output: cannot be written: the disk is full\n\
                 hint: what was printed is incomplete; free some space, or print to another place\n"
            ),
            "{args:?}"
        );
    }
}

#[test]
fn a_reader_that_goes_away_is_no_failure_of_any_command() {
    let world = World::new(&[]);
    let history = demo("history.csv");
    for args in [
        &["--help"][..],
        &["assess", "--help"],
        &["assess", "-q", &history],
        &["assess", "-q", "--format", "csv", &history],
        &["explain", "-q", "--winding", "P-101 stator", &history],
        &["spot", "--r60", "200", "-q"],
        &["correct", "200", "--at", "20", "--halving", "10"],
        &["ratios", "60s=420", "10min=980"],
        &["policy", "--out", "/dev/stdout"],
    ] {
        let mut child = world.command(args).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        drop(child.stdout.take());
        let mut words = String::new();
        child.stderr.take().unwrap().read_to_string(&mut words).unwrap();
        assert_eq!((child.wait().unwrap().code(), words.as_str()), (Some(0), ""), "{args:?}");
    }
}

/// A small history, damaged: bytes changed, taken away or doubled.
fn damaged() -> impl Strategy<Value = Vec<u8>> {
    let text = "winding,tested_on,r_60s,winding_temp_c,note\nP-1,2025-01-05,410 MΩ,20,\nP-1,2025-04-05,>1000,25,\"a, b\"\n\
                P-1,2025-07-05,OL,31,\nP-2,2025-07-05,0.4 GΩ,31,x\nP-2,2025-10-05,390,22,\n";
    let harm = (any::<prop::sample::Index>(), 0..4_u8, any::<u8>());
    prop::collection::vec(harm, 1..12).prop_map(move |harms| {
        let mut bytes = text.as_bytes().to_vec();
        for (place, kind, byte) in harms {
            let at = place.index(bytes.len());
            match kind {
                0 => bytes[at] = byte,
                1 => bytes.insert(at, byte),
                2 if bytes.len() > 1 => drop(bytes.remove(at)),
                _ => bytes.extend_from_within(at..(at + 40).min(bytes.len())),
            }
        }
        bytes
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_damaged_history_is_refused_with_a_hint_or_every_row_is_accounted_for(bytes in damaged()) {
        let world = World::new(&[]);
        std::fs::write(world.path("h.csv"), bytes).unwrap();
        let check = world.run(&["check", "h.csv", "--format", "json"]);
        let assess = world.run(&["assess", "h.csv", "--format", "json", "-q", "--as-of", "2026-11-25"]);
        let all_rejected = check.status == 0 && check.out.contains("\"accepted\": 0,") && !check.out.contains("\"rejected\": 0,");
        if all_rejected {
            prop_assert_eq!((assess.status, assess.out.as_str()), (2, ""));
            prop_assert!(assess.words.contains(" rejected, so nothing is judged\nhint: "), "{}", assess.words);
            return Ok(());
        }
        prop_assert_eq!(check.status, assess.status);
        if check.status == 2 {
            prop_assert_eq!(&check, &assess);
            prop_assert!(check.out.is_empty() && check.words.starts_with("h.csv"), "{}", check.words);
            prop_assert!(check.words.contains("\nhint: "), "{}", check.words);
        } else {
            let [report, result] = [&check.out, &assess.out].map(|text| serde_json::from_str::<serde_json::Value>(text).unwrap());
            let count = |key: &str| report["input"][0][key].as_u64().unwrap();
            prop_assert_eq!(count("accepted") + count("repeated") + count("rejected"), count("rows"));
            prop_assert_eq!(report["rejected"].as_array().unwrap().len() as u64, count("rejected"));
            prop_assert_eq!(&result["input"][0]["accepted"], &report["input"][0]["accepted"]);
            prop_assert_eq!(result["series"].as_array().unwrap().is_empty(), count("accepted") == 0);
        }
    }
}
