//! `add`: what is filed, what is refused, and that the master is the old one or the new one whatever happens.

use super::world::{Outcome, World, demo};
use std::process::{Child, Stdio};

const MASTER: &str = "order,winding,tested_on,r_60s\nA-1,P-1,2026-01-05,5\nA-2,P-2,2026-01-05,7\n";
const SHEET: &str = "winding,tested_on,r_60s,Order,crew\nP-1,2026-04-05,6,B-1,x\nP-2,2026-01-05,7,,\n";

#[test]
fn new_tests_go_behind_the_rows_and_the_previous_master_is_kept() {
    let world = World::new(&[("m.csv", MASTER), ("s.csv", SHEET)]);
    let counts = "s.csv: 2 rows: 2 accepted, 0 repeated, 0 rejected\n\
                  m.csv: has no column crew; those cells are left out, --extend adds them\n\
                  m.csv: already has 1 of these tests; skipped\n";
    assert_eq!(
        world.run(&["add", "s.csv", "--to", "m.csv", "--dry-run"]),
        Outcome::printed(0, &format!("{counts}m.csv: 1 test would be added after its 2 rows; nothing was written\n"))
    );
    assert_eq!(world.names(), ["m.csv", "s.csv"]);
    assert_eq!(
        world.run(&["add", "s.csv", "--to", "m.csv"]),
        Outcome::printed(
            0,
            &format!("{counts}m.csv: 1 test was added after its 2 rows; the previous master is m.csv.bak\n")
        )
    );
    assert_eq!(world.read("m.csv"), format!("{MASTER}B-1,P-1,2026-04-05,6\n"));
    assert_eq!(world.read("m.csv.bak"), MASTER);
    assert_eq!(world.names(), [".m.csv.lock", "m.csv", "m.csv.bak", "s.csv"]);
    assert_eq!(
        world.run(&["add", "s.csv", "--to", "m.csv"]),
        Outcome::printed(
            0,
            "s.csv: 2 rows: 2 accepted, 0 repeated, 0 rejected\n\
             m.csv: already has 2 of these tests; skipped\n\
             m.csv: nothing new; it stays as it is\n"
        )
    );
    assert_eq!(world.read("m.csv.bak"), MASTER);
}

#[test]
fn contradictions_and_bad_rows_keep_everything_out_unless_they_are_to_be_left_out() {
    let sheet = "winding,tested_on,r_60s\nP-2,2026-01-05,8\nP-1,2026-02-30,6\nP-1,2026-04-05,6\n";
    let world = World::new(&[("m.csv", MASTER), ("s.csv", sheet)]);
    let reasons = "s.csv:3: tested_on is 2026-02-30; this day is not in the calendar\n\
                   hint: check the date against the test sheet\n\
                   s.csv:2: m.csv:3 says something else about the test of P-2, all-earth on 2026-01-05: \
                   r_60s is 8 MΩ here and 7 MΩ there\n\
                   hint: correct the row that is wrong; if there were two tests, write the time of day too\n";
    assert_eq!(
        world.run(&["add", "s.csv", "--to", "m.csv"]),
        Outcome::refused(
            2,
            &format!(
                "m.csv: nothing was added: 1 row is rejected and 1 test contradicts the master\n\
                 hint: fix the problems listed below, or file the rest with --skip-rejected\n{reasons}"
            )
        )
    );
    assert_eq!(world.read("m.csv"), MASTER);
    let outcome = world.run(&["add", "s.csv", "--to", "m.csv", "--skip-rejected", "--strict"]);
    assert_eq!(
        outcome,
        Outcome::printed(
            3,
            &format!(
                "s.csv: 3 rows: 2 accepted, 0 repeated, 1 rejected\n{reasons}\
                 m.csv: 1 test was added after its 2 rows; the previous master is m.csv.bak\n"
            )
        )
    );
    assert_eq!(world.read("m.csv"), format!("{MASTER},P-1,2026-04-05,6\n"));
}

#[test]
fn a_master_is_made_only_when_that_is_said() {
    let world = World::new(&[("s.csv", SHEET)]);
    assert_eq!(
        world.run(&["add", "s.csv", "--to", "m.csv"]),
        Outcome::refused(
            2,
            "m.csv: there is no such master\n\
             hint: check the spelling and the folder, or use --create to begin a new one\n"
        )
    );
    assert_eq!(world.names(), ["s.csv"]);
    assert_eq!(
        world.run_with(&["add", "-", "--to", "m.csv", "--create"], SHEET.as_bytes()),
        Outcome::printed(
            0,
            "standard input: 2 rows: 2 accepted, 0 repeated, 0 rejected\nm.csv: 2 tests were added to a new master\n"
        )
    );
    assert_eq!(world.read("m.csv"), "winding,tested_on,r_60s,Order,crew\nP-1,2026-04-05,6,B-1,x\nP-2,2026-01-05,7,,\n");
    assert_eq!(
        world.run(&["add", "s.csv", "--to", "none/m.csv", "--create"]),
        Outcome::refused(
            2,
            "none/m.csv: cannot be written: the folder none does not exist\n\
             hint: make the folder first, or give another path\n"
        )
    );
    assert_eq!(
        world.run(&["add", "s.csv", "--to", "-"]),
        Outcome::refused(2, "--to is -; the master is a file that rows are put into\nhint: name a file\n")
    );
    assert_eq!(
        world.run(&["add", "s.csv", "--to", "."]),
        Outcome::refused(2, ".: this is a folder, not a file\nhint: name the files inside it\n")
    );
}

#[test]
fn tests_of_the_future_and_unregistered_windings_are_said() {
    let world = World::new(&[("m.csv", MASTER), ("s.csv", SHEET), ("r.csv", "winding\nP-2\n")]);
    let outcome =
        world.run(&["add", "s.csv", "--to", "m.csv", "--as-of", "2026-03-01", "--register", "r.csv", "--extend"]);
    assert_eq!(
        outcome.out,
        "s.csv: 2 rows: 2 accepted, 0 repeated, 0 rejected\n\
         r.csv: winding P-1 is not in the register; it is judged with what is known\n\
         1 new test is later than 2026-03-01; check its date\n\
         m.csv: already has 1 of these tests; skipped\n\
         m.csv: 1 test was added after its 2 rows, with the new column crew; the previous master is m.csv.bak\n"
    );
    assert_eq!(
        world.read("m.csv"),
        "order,winding,tested_on,r_60s,crew\nA-1,P-1,2026-01-05,5,\nA-2,P-2,2026-01-05,7,\nB-1,P-1,2026-04-05,6,x\n"
    );
}

#[test]
fn the_cells_of_people_are_never_altered() {
    let sheet = "winding,tested_on,r_60s,order\n=1+1,2026-04-05,6,@x\n";
    let world = World::new(&[("m.csv", MASTER), ("s.csv", sheet)]);
    assert_eq!(world.run(&["add", "s.csv", "--to", "m.csv"]).status, 0);
    assert_eq!(world.read("m.csv"), format!("{MASTER}@x,=1+1,2026-04-05,6\n"));
}

#[test]
fn the_demo_goes_into_a_master_piece_by_piece() {
    let text = std::fs::read_to_string(demo("history.csv")).unwrap();
    let half = text.match_indices('\n').nth(600).unwrap().0 + 1;
    let world = World::new(&[("m.csv", &text[..half])]);
    let outcome = world.run(&["add", &demo("history.csv"), "--to", "m.csv", "--as-of", "2026-11-25"]);
    assert_eq!((outcome.status, outcome.words.as_str()), (0, ""));
    assert!(outcome.out.contains("m.csv: 639 tests were added after its 600 rows;"), "{}", outcome.out);
    assert!(world.read("m.csv").starts_with(&text[..half]));
    let whole = world.run(&["assess", &demo("history.csv"), "--as-of", "2026-11-25", "--format", "csv"]).out;
    assert_eq!(world.run(&["assess", "m.csv", "--as-of", "2026-11-25", "--format", "csv"]).out, whole);
}

#[test]
fn two_at_once_both_end_in_the_master() {
    let sheet = |name: &str| {
        let rows = (0..200).map(|i| format!("{name}-{i},2026-04-05,6\n"));
        std::iter::once("winding,tested_on,r_60s\n".to_owned()).chain(rows).collect::<String>()
    };
    let names = ["a", "b", "c", "d"];
    let world = World::new(&[("m.csv", MASTER)]);
    for name in names {
        std::fs::write(world.path(&format!("{name}.csv")), sheet(name)).unwrap();
    }
    let runs: Vec<Child> = names
        .iter()
        .map(|name| {
            let sheet = format!("{name}.csv");
            let mut command = world.command(&["add", &sheet, "--to", "m.csv", "--wait", "60"]);
            command.stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap()
        })
        .collect();
    for mut run in runs {
        assert_eq!(run.wait().unwrap().code(), Some(0));
    }
    let text = world.read("m.csv");
    assert_eq!(text.lines().count(), 3 + 4 * 200);
    assert!(names.iter().all(|name| text.contains(&format!(",{name}-199,"))));
}

#[test]
fn whoever_cannot_wait_is_told_and_nothing_is_written() {
    let world = World::new(&[("m.csv", MASTER), ("s.csv", SHEET)]);
    let place = world.path("m.csv").canonicalize().unwrap();
    let lock = std::fs::File::create(world.path(".m.csv.lock")).unwrap();
    lock.lock().unwrap();
    assert_eq!(
        world.run(&["add", "s.csv", "--to", "m.csv", "--wait", "0"]),
        Outcome::refused(
            1,
            &format!(
                "{}: somebody else is adding to it; nothing was written after waiting 0 s\n\
                 hint: try again, or wait longer with --wait SECONDS\n",
                place.display()
            )
        )
    );
    assert_eq!(world.read("m.csv"), MASTER);
    drop(lock);
    assert_eq!(world.run(&["add", "s.csv", "--to", "m.csv", "--wait", "0"]).status, 0);
}

#[cfg(unix)]
#[test]
fn links_and_modes_stay() {
    use std::os::unix::fs::PermissionsExt;
    let world = World::new(&[("m.csv", MASTER), ("s.csv", SHEET)]);
    std::fs::set_permissions(world.path("m.csv"), std::fs::Permissions::from_mode(0o640)).unwrap();
    std::fs::create_dir(world.path("links")).unwrap();
    std::os::unix::fs::symlink("../m.csv", world.path("links/l.csv")).unwrap();
    let outcome = world.run(&["add", "s.csv", "--to", "links/l.csv"]);
    assert_eq!(outcome.status, 0, "{}", outcome.words);
    assert!(std::fs::symlink_metadata(world.path("links/l.csv")).unwrap().is_symlink());
    assert_eq!(std::fs::metadata(world.path("m.csv")).unwrap().permissions().mode() & 0o777, 0o640);
    assert_eq!(std::fs::metadata(world.path("m.csv.bak")).unwrap().permissions().mode() & 0o777, 0o640);
    assert_eq!(world.read("m.csv").lines().count(), 4);
}

/// A column of units is known by its cells: in the sheet it is that of the reading, in the master it is filled.
#[test]
fn units_in_a_column_are_filed_in_the_unit_of_the_master() {
    let world = World::new(&[
        ("m.csv", "winding,tested_on,IR,Dim\nP-1,2025-10-10,840,MOhm\nP-1,2026-01-13,835,MOhm\n"),
        ("s.csv", "Motor,Date,IR,Dim\nP-1,2026-10-13,840,kOhm\nP-2,2026-10-13,84,MOhm\n"),
    ]);
    let run = world.run(&["add", "s.csv", "--to", "m.csv", "--as-of", "2026-11-29"]);
    assert_eq!(run.status, 0, "{}", run.words);
    assert_eq!(
        std::fs::read_to_string(world.path("m.csv")).unwrap(),
        "winding,tested_on,IR,Dim\nP-1,2025-10-10,840,MOhm\nP-1,2026-01-13,835,MOhm\n\
         P-1,2026-10-13,0.84,MOhm\nP-2,2026-10-13,84,MOhm\n"
    );
    let plain = World::new(&[
        ("m.csv", "winding,tested_on,r_60s\nP-1,2025-10-10,840\n"),
        ("s.csv", "Motor,Date,IR,Dim\nP-1,2026-10-13,840,kOhm\n"),
    ]);
    let run = plain.run(&["add", "s.csv", "--to", "m.csv", "--extend", "--as-of", "2026-11-29"]);
    assert_eq!(run.status, 0, "{}", run.words);
    assert_eq!(
        std::fs::read_to_string(plain.path("m.csv")).unwrap(),
        "winding,tested_on,r_60s\nP-1,2025-10-10,840\nP-1,2026-10-13,0.84\n"
    );
}

#[test]
fn what_a_layout_says_of_its_tests_is_no_foreign_column() {
    let rows = ["U;1250", "V;1310", "W;1190"]
        .map(|row| format!("2025-01-15;P-1;{row};hot;x\n2025-07-22;P-1;{row};;x\n"))
        .concat();
    let world = World::new(&[("s.csv", &format!("Date;Motor;Zzz;IR (MΩ);Note;Crew\n{rows}"))]);
    let done = world.run(&["add", "s.csv", "--to", "m.csv", "--create"]);
    assert_eq!(
        done,
        Outcome::printed(
            0,
            "s.csv: 6 rows: 6 accepted, 0 repeated, 0 rejected\n\
             s.csv: read as: one row per measuring point\n\
             m.csv: 6 tests were added to a new master\n"
        )
    );
    let master = "winding,tested_on,connection,r_60s,note,Crew\n\
                  P-1,2025-01-15,U-earth,1250,hot,x\nP-1,2025-07-22,U-earth,1250,,x\n\
                  P-1,2025-01-15,V-earth,1310,hot,x\nP-1,2025-07-22,V-earth,1310,,x\n\
                  P-1,2025-01-15,W-earth,1190,hot,x\nP-1,2025-07-22,W-earth,1190,,x\n";
    assert_eq!(world.read("m.csv"), master);
}

/// The lock holds nothing, and whoever may write the master must be able to open it.
#[cfg(unix)]
#[test]
fn a_lock_made_under_a_strict_mask_shuts_nobody_out() {
    use std::os::unix::fs::PermissionsExt;
    let rows = "winding,tested_on,r_60s\nP-1,2026-01-05,500\n";
    let world = World::new(&[("m.csv", rows), ("n.csv", &rows.replace("2026-01", "2026-04"))]);
    let script = "umask 077; exec \"$0\" add n.csv --to m.csv --as-of 2026-11-25";
    let program = env!("CARGO_BIN_EXE_groundwall");
    let output =
        std::process::Command::new("sh").args(["-c", script, program]).current_dir(world.path("")).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let mode = std::fs::metadata(world.path(".m.csv.lock")).unwrap().permissions().mode();
    assert_eq!(mode & 0o444, 0o444, "{mode:o}");
}
