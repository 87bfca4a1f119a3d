//! Standard output and the files beside it: a reader that goes away, a full disk, and text that would control a terminal.

use crate::world::World;
use std::fs;
use std::process::Stdio;

const LOW: &str = "winding,tested_on,r_60s,winding_temp_c\nP-1,2026-08-05,0.2,40\n";
const BAD: &str = "winding,tested_on,r_60s,winding_temp_c\nP-1,2026-08-05,200,40\nP-1,soon,200,40\n";

/// The status and the words of a run whose output nobody reads.
#[cfg(unix)]
fn unread(world: &World, args: &[&str]) -> (Option<i32>, String) {
    let (reader, writer) = std::io::pipe().unwrap();
    drop(reader);
    let output = world.command(args).stdout(writer).stderr(Stdio::piped()).output().unwrap();
    (output.status.code(), String::from_utf8(output.stderr).unwrap())
}

/// Whoever reads only the head of a list gets the status of the whole, and every file that was asked for.
#[cfg(unix)]
#[test]
fn a_reader_that_went_away_changes_neither_the_status_nor_the_files() {
    let mut long = "winding,tested_on,r_60s,winding_temp_c\n".to_owned();
    for month in 1..=12 {
        for year in 2020..2026 {
            long.push_str(&format!("P-1,{year}-{month:02}-05,{},40\n", 300 - month));
        }
    }
    let world = World::new(&[("low.csv", LOW), ("bad.csv", BAD), ("long.csv", &long)]);
    let day = ["--as-of", "2026-11-25", "-q"];
    let run = |args: &[&str]| unread(&world, &[args, &day].concat());
    let quiet = |status: i32| (Some(status), String::new());
    for format in ["table", "csv", "json", "xlsx", "html"] {
        assert_eq!(run(&["assess", "low.csv", "--fail-on", "hold", "--format", format]), quiet(4), "{format}");
    }
    assert_eq!(run(&["check", "bad.csv", "--strict"]), quiet(3));
    assert_eq!(run(&["check", "bad.csv", "--rejects", "rj.csv", "--register-template", "t.csv"]), quiet(0));
    assert!(world.read("rj.csv").contains("P-1,soon,200,40,"));
    assert!(world.read("t.csv").ends_with("\nP-1,,,,,\n"));
    assert_eq!(run(&["replay", "long.csv", "--chart", "c.png"]), quiet(0));
    assert!(world.path("c.png").exists());
    assert_eq!(run(&["add", "bad.csv", "--to", "m.csv", "--create", "--skip-rejected", "--strict"]), quiet(3));
    assert!(world.read("m.csv").contains("P-1,2026-08-05,200"));
    assert_eq!(run(&["report", "bad.csv", "--out", "r", "--strict"]), quiet(3));
    assert_eq!(unread(&world, &["assess", "--help"]), quiet(0));
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_said_of_every_kind_of_output() {
    let world = World::new(&[("h.csv", LOW)]);
    let full = "standard output: cannot be written: the disk is full\n\
                hint: what was printed is incomplete; free some space, or print to another place\n";
    for args in [
        &["--help"][..],
        &["--version"],
        &["assess", "--help"],
        &["round", "h.csv", "--as-of", "2026-11-25", "-q", "--format", "csv"],
        &["check", "h.csv", "--as-of", "2026-11-25", "-q", "--register-template", "-"],
    ] {
        let out = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
        let output = world.command(args).stdout(out).output().unwrap();
        assert_eq!(
            (output.status.code(), String::from_utf8_lossy(&output.stderr).as_ref()),
            (Some(1), full),
            "{args:?}"
        );
    }
    for args in
        ["round h.csv --as-of 2026-11-25 -q --format csv --out o.csv", "check h.csv -q --register-template o.csv"]
    {
        let run = world.run_on_a_full_disk(0, &format!("{args} >/dev/null"));
        let words = "o.csv: cannot be written: it would be larger than files may be\n\
                     hint: raise the limit for the size of files; nothing was left half-written\n";
        assert_eq!((run.status, run.words.as_str()), (1, words), "{args}");
        assert_eq!(world.names(), ["h.csv"]);
    }
}

/// What the system grants depends on the machine, so only the smallest of the limits surely is too small.
#[cfg(target_os = "linux")]
#[test]
fn a_program_without_memory_says_so_and_fails() {
    let rows: String = (0..20_000).map(|row| format!("P-{row},2026-08-05,{row},40\n")).collect();
    let world = World::new(&[("h.csv", &format!("winding,tested_on,r_60s,winding_temp_c\n{rows}"))]);
    for kilobytes in [80_000, 100_000, 140_000, 200_000] {
        let run = world.run_within('v', kilobytes, "assess h.csv --as-of 2026-11-25 -q >/dev/null");
        let is_short = run.status == 1 && run.words.contains("memory allocation of ");
        assert!(is_short || (run.status == 0 && kilobytes > 80_000), "{kilobytes}: {} {}", run.status, run.words);
    }
}

#[test]
fn what_an_option_holds_is_shown_as_text() {
    let world = World::new(&[("h.csv", LOW)]);
    for args in
        [&["assess", "h.csv", "--as-of", "x\u{1b}[2J\u{202e}"][..], &["assess", "h.csv", "--x\u{1b}[2J\u{202e}"]]
    {
        let run = world.run(args);
        assert_eq!(run.status, 2);
        assert!(!run.words.contains(groundwall_engine::legible::steers), "{:?}", run.words);
        assert!(run.words.contains("\\u{202e}"), "{}", run.words);
    }
}

#[test]
fn characters_that_nobody_sees_are_shown_on_pages_and_by_compare() {
    let name = "P\u{200b}-\u{2066}1\u{fe0f}\u{3164}";
    let row = |day: &str, mohm: f64| format!("\"{name}\",{day},{mohm},40\n");
    let history =
        format!("winding,tested_on,r_60s,winding_temp_c\n{}{}", row("2025-08-05", 200.0), row("2026-08-05", 0.2));
    let world = World::new(&[("h.csv", &history)]);
    let day = ["--as-of", "2026-11-25", "-q"];
    let seen = "P\\u{200b}-\\u{2066}1\\u{fe0f}\\u{3164}";
    assert_eq!(world.run(&[&["report", "h.csv", "--out", "r"], &day[..]].concat()).status, 0);
    let list = world.run(&[&["assess", "h.csv", "--format", "html"], &day[..]].concat()).out;
    let round = world.run(&[&["round", "h.csv", "--format", "html"], &day[..]].concat()).out;
    let pages = fs::read_dir(world.path("r/series")).unwrap().filter_map(|entry| {
        let path = entry.unwrap().path();
        path.extension().is_some_and(|ending| ending == "html").then(|| fs::read_to_string(path).unwrap())
    });
    for page in pages.chain([world.read("r/index.html"), list, round]) {
        assert!(page.contains(seen) && !page.contains(groundwall_engine::legible::steers), "{page}");
    }
    let compare = world.run(&[&["compare", "h.csv", "--since", "2025-12-01"], &day[..]].concat());
    assert!(compare.out.contains(seen) && !compare.out.contains(groundwall_engine::legible::steers), "{}", compare.out);
}
