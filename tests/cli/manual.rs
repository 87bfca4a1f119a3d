//! Manual pages: one for the program and one for each command, with its options and what the help says after them.

use crate::help::commands;
use crate::world::{Outcome, World};

#[test]
fn every_command_has_a_page() {
    let world = World::new(&[]);
    let mut names: Vec<String> = commands(&world).iter().map(|command| format!("groundwall-{command}.1")).collect();
    names.push("groundwall.1".to_owned());
    names.sort();
    let count = names.len();
    assert_eq!(
        world.run(&["manual", "--out", "man1"]),
        Outcome::printed(0, &format!("{count} manual pages in man1; read the first with: man -l man1/groundwall.1\n"))
    );
    let entries = std::fs::read_dir(world.path("man1")).unwrap();
    let mut written: Vec<String> = entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    written.sort();
    assert_eq!(written, names);
    let round = world.read("man1/groundwall-round.1");
    for text in [".TH groundwall-round 1", "\\-\\-until", "lock it out and prove it dead"] {
        assert!(round.contains(text), "{text}\n{round}");
    }
    assert!(world.read("man1/groundwall.1").contains("Exit status:"));
}

#[test]
fn pages_replace_pages_alone() {
    let world = World::new(&[
        ("groundwall-add.1", "my notes"),
        ("groundwall.1", ".ie x\n.TH groundwall 1  \"groundwall 0.0.9\"\n"),
    ]);
    let run = world.run(&["manual", "--out", "."]);
    let words = "./groundwall-add.1: this file exists and is not a result of the same kind; nothing was written\n\
                 hint: give another folder, or use --force, which keeps a copy of the old file\n";
    assert_eq!(run, Outcome::refused(2, words));
    assert_eq!(world.names(), ["groundwall-add.1", "groundwall.1"]);
    let run = world.run(&["manual", "--out", ".", "--force"]);
    let words = "./groundwall-add.1: written; the previous file is now ./groundwall-add.1.bak\n";
    assert_eq!((run.status, run.words.as_str()), (0, words));
    assert_eq!(world.read("groundwall-add.1.bak"), "my notes");
    assert!(world.read("groundwall.1").contains("SYNOPSIS") && !world.names().contains(&"groundwall.1.bak".to_owned()));
}

#[cfg(unix)]
#[test]
fn pages_that_do_not_fit_on_the_disk_leave_nothing_behind() {
    let world = World::new(&[]);
    // Files may have 2 kB: the first page does not fit.
    let outcome = world.run_on_a_full_disk(2, "manual --out share/man1");
    assert_eq!(outcome.status, 1, "{}", outcome.words);
    assert!(outcome.words.contains("cannot be written: it would be larger than files may be"), "{}", outcome.words);
    assert!(world.names().is_empty(), "{:?}", world.names());
}
