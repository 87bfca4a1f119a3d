//! What all commands share: help, exit statuses, outputs that are whole or not there.

use super::world::{Outcome, World, demo};
use std::io::Read as _;
use std::process::Stdio;

const COMMANDS: [&str; 8] = ["assess", "chart", "check", "correct", "explain", "policy", "ratios", "spot"];

#[test]
fn every_command_teaches_itself() {
    let world = World::new(&[]);
    for command in COMMANDS {
        for flag in ["-h", "--help"] {
            let outcome = world.run(&[command, flag]);
            assert_eq!((outcome.status, outcome.words.as_str()), (0, ""), "{command}");
            assert!(outcome.out.contains(&format!("groundwall {command} ")), "{command} {flag}: {}", outcome.out);
            assert!(outcome.out.contains("Example"), "{command} {flag}");
        }
    }
}

#[test]
fn help_tells_the_exit_statuses_and_what_to_do_before_a_reading() {
    let world = World::new(&[]);
    for args in [&["--help"][..], &["spot", "--help"], &["ratios", "--help"]] {
        let help = world.run(args).out.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(help.contains("isolate the machine, lock it out and prove it dead"), "{args:?}");
        assert!(help.contains("at least four times as long as it was charged"), "{args:?}");
        assert!(help.contains("Local codes and licensed people decide"), "{args:?}");
    }
    let help = world.run(&["--help"]).out;
    for line in ["2  wrong usage or unreadable input", "3  --strict found rejected rows", "4  --fail-on was met"] {
        assert!(help.contains(line));
    }
}

#[test]
fn wrong_usage_has_status_2() {
    let world = World::new(&[]);
    for args in [&[][..], &["inspect"], &["check"], &["check", "--wat", "a.csv"], &["correct", "200"]] {
        let outcome = world.run(args);
        assert_eq!((outcome.status, outcome.out.as_str()), (2, ""), "{args:?}");
        assert!(!outcome.words.is_empty());
    }
}

#[test]
fn standard_input_is_named_once() {
    let world = World::new(&[]);
    assert_eq!(
        world.run(&["check", "-", "--register", "-"]),
        Outcome::refused(
            2,
            "standard input (-) is named more than once; it can be read only once\n\
             hint: save one of the inputs to a file and name that\n"
        )
    );
}

#[test]
fn an_output_whose_folder_is_missing_is_refused() {
    let world = World::new(&[]);
    let words = "no/out.txt: cannot be written: the folder no does not exist\n\
                 hint: make the folder first, or give another path\n";
    let history = demo("history.csv");
    assert_eq!(world.run(&["policy", "--out", "no/out.txt"]), Outcome::refused(2, words));
    let assess = world.run(&["assess", &history, "-q", "--out", "no/out.txt"]);
    assert_eq!(assess, Outcome::refused(2, words));
    let check = world.run(&["check", &demo("history-dirty.csv"), "--rejects", "no/out.txt"]);
    assert_eq!((check.status, check.words.as_str()), (2, words));
    std::fs::create_dir(world.path("folder")).unwrap();
    assert_eq!(
        world.run(&["policy", "--out", "folder"]),
        Outcome::refused(2, "folder: cannot be written: this is a folder\nhint: add a file name to the path\n")
    );
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_a_sentence_and_status_1() {
    let world = World::new(&[]);
    assert_eq!(
        world.run(&["policy", "--out", "/dev/full"]),
        Outcome::refused(
            1,
            "/dev/full: cannot be written: the disk is full\n\
             hint: make room or give a path on another disk; nothing was left half-written\n"
        )
    );
    let full = std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let output = world.command(&["policy"]).stdout(full).output().unwrap();
    assert_eq!(output.status.code(), Some(1));
    assert!(output.stderr.starts_with(b"standard output: cannot be written: the disk is full\n"));
}

#[test]
fn a_reader_that_goes_away_ends_the_run_quietly() {
    let world = World::new(&[]);
    let history = demo("history.csv");
    for args in [&["policy"][..], &["assess", "-q", "--format", "json", &history], &["check", &history]] {
        let mut child = world.command(args).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        drop(child.stdout.take());
        let mut words = String::new();
        child.stderr.take().unwrap().read_to_string(&mut words).unwrap();
        assert_eq!((child.wait().unwrap().code(), words.as_str()), (Some(0), ""), "{args:?}");
    }
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    let world = World::new(&[]);
    let (history, register) = (demo("history.csv"), demo("register.csv"));
    let args = ["assess", &history, "--register", &register, "--as-of", "2026-11-25", "--format", "json", "--no-color"];
    let first = world.run(&args);
    assert_eq!(first.status, 0);
    for threads in ["1", "2", "7"] {
        let output = world.command(&args).env("RAYON_NUM_THREADS", threads).output().unwrap();
        assert_eq!(String::from_utf8(output.stdout).unwrap(), first.out, "{threads} threads");
    }
}

#[test]
fn the_order_of_the_rows_changes_nothing() {
    let text = std::fs::read_to_string(demo("history.csv")).unwrap();
    let (header, rows) = text.split_once('\n').unwrap();
    let mut rows: Vec<&str> = rows.lines().collect();
    // Every seventh row first, then every seventh from the next one on: far from any order by date or winding.
    let mixed: Vec<&str> =
        (0..7).flat_map(|start| rows.iter().skip(start).step_by(7).copied().collect::<Vec<_>>()).collect();
    rows.reverse();
    let file = |rows: &[&str]| format!("{header}\n{}\n", rows.join("\n"));
    let world = World::new(&[("as-it-is.csv", &text), ("reversed.csv", &file(&rows)), ("mixed.csv", &file(&mixed))]);
    let judged = |name: &str| {
        let register = demo("register.csv");
        world.run(&["assess", name, "--register", &register, "--as-of", "2026-11-25", "--format", "csv", "-q"])
    };
    let first = judged("as-it-is.csv");
    assert_eq!(first.status, 0);
    assert_eq!(judged("reversed.csv"), first);
    assert_eq!(judged("mixed.csv"), first);
}
