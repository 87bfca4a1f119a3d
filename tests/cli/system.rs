//! What the system grants or does: rights, signals, threads, closed streams.
#![cfg(unix)]

use crate::world::World;
use std::fs;
use std::io::Write as _;
use std::os::unix::fs::{MetadataExt, PermissionsExt, chown};
use std::os::unix::process::ExitStatusExt;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

const HISTORY: &str = "winding,tested_on,r_60s,winding_temp_c\nP-1,2026-08-05,0.2,40\n";
const MASTER: &str = "winding,tested_on,r_60s,winding_temp_c\nP-2,2026-01-05,5,40\n";
/// The user and the group of nobody.
const NOBODY: u32 = 65_534;

/// A run by somebody without any rights of root; none where that cannot be arranged.
fn by_nobody(world: &World, args: &[&str]) -> Option<(i32, String)> {
    if fs::metadata("/proc/self").ok()?.uid() != 0 {
        return None;
    }
    let output = Command::new("setpriv")
        .args(["--reuid=65534", "--regid=65534", "--clear-groups", env!("CARGO_BIN_EXE_groundwall")])
        .args(args)
        .current_dir(world.path(""))
        .output()
        .ok()?;
    Some((output.status.code()?, String::from_utf8(output.stderr).unwrap()))
}

#[test]
fn who_may_write_the_folder_but_not_the_file_cannot_replace_it() {
    let world = World::new(&[("s.csv", HISTORY), ("m.csv", MASTER)]);
    fs::set_permissions(world.path(""), fs::Permissions::from_mode(0o777)).unwrap();
    let Some((status, words)) = by_nobody(&world, &["add", "s.csv", "--to", "m.csv"]) else { return };
    assert_eq!(status, 2, "{words}");
    assert!(
        words.ends_with(
            "m.csv: cannot be written: you may not write there\nhint: give a path in a folder of your own\n"
        )
    );
    // Writable by all, but the new file would belong to somebody else.
    fs::set_permissions(world.path("m.csv"), fs::Permissions::from_mode(0o666)).unwrap();
    for args in [&["add", "s.csv", "--to", "m.csv"][..], &["assess", "s.csv", "-q", "--out", "m.csv", "--force"]] {
        let (status, words) = by_nobody(&world, args).unwrap();
        assert_eq!(status, 2, "{words}");
        assert!(
            words.ends_with(
                "m.csv: cannot be replaced: it belongs to another user or group, and the new file would not\n\
                 hint: ask its owner to run this, or give another path\n"
            ),
            "{words}"
        );
    }
    assert_eq!(world.read("m.csv"), MASTER);
    assert_eq!(world.names(), [".m.csv.lock", "m.csv", "s.csv"]);
}

#[test]
fn what_is_replaced_keeps_its_owner_group_and_mode() {
    let world = World::new(&[("s.csv", HISTORY), ("m.csv", MASTER)]);
    let assess = ["assess", "s.csv", "-q", "--format", "csv", "--out", "out.csv"];
    assert_eq!(world.run(&assess).status, 0);
    for name in ["m.csv", "out.csv"] {
        fs::set_permissions(world.path(name), fs::Permissions::from_mode(0o620)).unwrap();
        // Only root may give a file to somebody else.
        let _ = chown(world.path(name), Some(NOBODY), Some(NOBODY));
    }
    let rights = |name: &str| {
        let found = fs::metadata(world.path(name)).unwrap();
        (found.permissions().mode() & 0o7777, found.uid(), found.gid())
    };
    let before = rights("m.csv");
    assert_eq!(world.run(&["add", "s.csv", "--to", "m.csv"]).status, 0);
    assert_eq!(world.run(&assess).status, 0);
    assert_eq!([rights("m.csv"), rights("m.csv.bak"), rights("out.csv")], [before; 3]);
}

#[test]
fn a_run_that_is_ended_by_a_signal_leaves_nothing_behind() {
    // Shells have work in the background ignore interrupts, and the program keeps to that: then there is nothing to see.
    let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
    let ignored = status.lines().find_map(|line| u64::from_str_radix(line.strip_prefix("SigIgn:")?.trim(), 16).ok());
    for signal in [1, 2, 3, 15].into_iter().filter(|signal| ignored.unwrap_or(0) >> (signal - 1) & 1 == 0) {
        let world = World::new(&[]);
        let mut command = world.command(&["report", "-", "--out", "r"]);
        let mut child = command.stdin(Stdio::piped()).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
        let mut input = child.stdin.take().unwrap();
        input.write_all(HISTORY.as_bytes()).unwrap();
        let part = world.path(".r.groundwall-part");
        let limit = Instant::now() + Duration::from_secs(60);
        while !part.exists() && Instant::now() < limit {
            std::thread::sleep(Duration::from_millis(5));
        }
        assert!(part.exists());
        let sent = Command::new("kill").args([format!("-{signal}"), child.id().to_string()]).status().unwrap();
        assert!(sent.success());
        assert_eq!(child.wait().unwrap().signal(), Some(signal));
        assert_eq!(world.names(), [".r.lock"]);
        drop(input);
    }
}

#[test]
fn where_no_thread_is_to_be_had_one_does_the_work() {
    let world = World::new(&[("h.csv", HISTORY)]);
    let args = ["assess", "h.csv", "--as-of", "2026-11-25", "--format", "csv"];
    // No address space has room for such a stack, so no thread can be started.
    let alone = world.command(&args).env("RUST_MIN_STACK", "70368744177664").output().unwrap();
    let usual = world.command(&args).output().unwrap();
    assert_eq!((alone.status.code(), alone.stdout), (Some(0), usual.stdout));
    // The writer of workbooks cannot do without.
    let none =
        "a workbook takes a thread for each sheet, and the system grants none (a limit on processes or memory)\n";
    for (args, place) in [
        (&["assess", "h.csv", "--format", "xlsx", "--out", "o.xlsx"][..], "o.xlsx: cannot be written: "),
        (&["round", "h.csv", "--format", "xlsx", "--out", "o.xlsx", "--threads", "1"], "o.xlsx: cannot be written: "),
        (&["report", "h.csv", "--out", "r"], ""),
    ] {
        let args = [args, &["--as-of", "2026-11-25", "-q"]].concat();
        let run = world.command(&args).env("RUST_MIN_STACK", "70368744177664").output().unwrap();
        let words = String::from_utf8_lossy(&run.stderr);
        assert_eq!((run.status.code(), words.as_ref()), (Some(1), format!("{place}{none}").as_str()), "{args:?}");
    }
    assert_eq!(world.names(), ["h.csv"]);
}

/// Threads that are still writing while the run is ended make nothing that stays.
#[test]
fn a_report_that_is_ended_while_it_is_written_leaves_nothing() {
    let mut history = "winding,tested_on,r_60s,winding_temp_c\n".to_owned();
    for winding in 0..40 {
        (1..=9).for_each(|month| history.push_str(&format!("P-{winding},2025-{month:02}-05,{},40\n", 500 - 9 * month)));
    }
    let world = World::new(&[("h.csv", &history)]);
    let args = ["report", "h.csv", "--as-of", "2026-11-25", "--pages", "all", "--out", "r"];
    for round in 0..3 {
        let mut child = world.command(&args).stdout(Stdio::null()).stderr(Stdio::piped()).spawn().unwrap();
        let written = || fs::read_dir(world.path(".r.groundwall-part/series")).map_or(0, Iterator::count);
        let limit = Instant::now() + Duration::from_secs(60);
        while written() <= round && child.try_wait().unwrap().is_none() && Instant::now() < limit {
            std::thread::sleep(Duration::from_millis(1));
        }
        assert!(Command::new("kill").args(["-15", &child.id().to_string()]).status().unwrap().success());
        let output = child.wait_with_output().unwrap();
        assert_eq!(output.status.signal(), Some(15), "{}", String::from_utf8_lossy(&output.stderr));
        assert_eq!(world.names(), [".r.lock", "h.csv"]);
    }
}

#[test]
fn what_lies_under_the_name_of_a_lock_is_neither_followed_nor_waited_for() {
    let words = |place: &str, lock: &str| {
        format!("{place}: cannot be written: {lock} is in the way and is not a file\nhint: move it elsewhere\n")
    };
    let world = World::new(&[("s.csv", HISTORY), ("m.csv", MASTER)]);
    let lock = |name: &str| world.path("").canonicalize().unwrap().join(name).display().to_string();
    let add = || world.run(&["add", "s.csv", "--to", "m.csv"]);
    let refused = |name: &str, run: crate::world::Outcome| {
        assert_eq!(run.status, 2);
        assert!(run.words.ends_with(&words(name, &lock(&format!(".{name}.lock")))), "{}", run.words);
    };
    std::os::unix::fs::symlink("made", world.path(".m.csv.lock")).unwrap();
    refused("m.csv", add());
    fs::remove_file(world.path(".m.csv.lock")).unwrap();
    for name in [".m.csv.lock", ".r.lock"] {
        assert!(Command::new("mkfifo").arg(world.path(name)).status().unwrap().success());
    }
    refused("m.csv", add());
    refused("r", world.run(&["report", "s.csv", "--out", "r"]));
    assert_eq!(world.names(), [".m.csv.lock", ".r.lock", "m.csv", "s.csv"]);
}

#[test]
fn a_report_whose_pages_may_not_be_removed_is_not_replaced() {
    let world = World::new(&[("s.csv", HISTORY)]);
    let report = || world.run(&["report", "s.csv", "--as-of", "2026-11-25", "-q", "--out", "r"]);
    assert_eq!(report().status, 0);
    let before = world.read("r/manifest.json");
    fs::set_permissions(world.path("r/series"), fs::Permissions::from_mode(0o555)).unwrap();
    let run = report();
    assert_eq!(run.status, 2);
    let words = "r/series: cannot be written: you may not write there\nhint: give a path in a folder of your own\n";
    assert!(run.words.ends_with(words), "{}", run.words);
    fs::set_permissions(world.path("r/series"), fs::Permissions::from_mode(0o755)).unwrap();
    assert_eq!(
        (world.names(), world.read("r/manifest.json")),
        (vec![".r.lock".to_owned(), "r".to_owned(), "s.csv".to_owned()], before)
    );
    assert_eq!(report().status, 0);
}

#[test]
fn a_file_of_nothing_but_a_hole_is_refused_after_its_first_bytes() {
    let world = World::new(&[]);
    // Larger than any memory, and without a single block on the disk.
    fs::File::create(world.path("hole.csv")).unwrap().set_len(1 << 42).unwrap();
    let run = world.run(&["check", "hole.csv"]);
    assert_eq!(
        (run.status, run.words.as_str()),
        (
            2,
            "hole.csv: this file is not text and not a workbook\n\
             hint: give a CSV file or a workbook (.xlsx, .xls, .ods); --encoding names the encoding of unusual text\n"
        )
    );
}

#[test]
fn a_file_with_a_hole_behind_its_header_is_refused_too() {
    let world = World::new(&[("hole.csv", "winding,tested_on,r_60s\nP-1,2026-01-05,5\n"), ("s.csv", HISTORY)]);
    fs::OpenOptions::new().write(true).open(world.path("hole.csv")).unwrap().set_len(1 << 42).unwrap();
    for args in [&["check", "hole.csv"][..], &["add", "s.csv", "--to", "hole.csv"]] {
        let run = world.run(args);
        assert_eq!(
            (run.status, run.words.as_str()),
            (
                2,
                "hole.csv: this file is not text and not a workbook\n\
                 hint: give a CSV file or a workbook (.xlsx, .xls, .ods); --encoding names the encoding of unusual text\n"
            )
        );
    }
}
