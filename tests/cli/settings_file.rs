//! `groundwall.toml` beside a history: what it sets, what goes before it, and that it is said.

use crate::world::{Outcome, World};
use std::fs;

const HISTORY: &str = "winding,tested_on,r_60s,winding_temp_c\n\
    P-1,05/01/2026,200,20\nP-1,05/04/2026,200,20\nP-1,05/07/2026,200,20\nP-1,05/10/2026,200,20\n";
const REGISTER: &str = "winding,rated_volts,construction,insulation\nP-1,400,random-wound,thermosetting\n";
const SETTINGS: &str = "register = \"register.csv\"\ndate_format = \"%d/%m/%Y\"\n";

/// An office that keeps its files in a folder below the settings.
fn office(settings: &str) -> World {
    let world = World::new(&[("groundwall.toml", settings), ("register.csv", REGISTER)]);
    std::fs::create_dir(world.path("pumps")).unwrap();
    std::fs::write(world.path("pumps/h.csv"), HISTORY).unwrap();
    world
}

fn assess(world: &World, more: &[&str]) -> Outcome {
    let args = ["assess", "pumps/h.csv", "--as-of", "2026-11-25", "--format", "csv"];
    world.run(&[&args, more].concat())
}

#[test]
fn what_options_leave_open_comes_from_the_file_above_the_history_and_is_said() {
    let world = office(SETTINGS);
    let found = assess(&world, &[]);
    assert_eq!(
        (found.status, found.words.as_str()),
        (0, "groundwall.toml: register, date_format are taken from here; --no-config leaves it unread\n")
    );
    let by_options = ["--no-config", "--register", "register.csv", "--date-format", "%d/%m/%Y"];
    let given = assess(&world, &by_options);
    assert_eq!((given.status, given.words.as_str()), (0, ""));
    assert_eq!(found.out, given.out);
}

#[test]
fn without_the_file_nothing_is_taken() {
    let run = assess(&office(SETTINGS), &["--no-config"]);
    assert_eq!(run.status, 2, "{}", run.words);
    assert!(run.words.contains("all 4 rows were rejected"), "{}", run.words);
}

#[test]
fn an_option_goes_before_the_file() {
    let world = office(&format!("{SETTINGS}confidence = 0.8\ndecimal_comma = true\n"));
    std::fs::write(world.path("other.csv"), REGISTER.replace("400", "6600")).unwrap();
    let run = assess(&world, &["-r", "other.csv", "--confidence", "0.9", "--decimal-point"]);
    assert_eq!(
        (run.status, run.words.as_str()),
        (0, "groundwall.toml: date_format is taken from here; --no-config leaves it unread\n")
    );
}

#[test]
fn everything_wrong_with_the_file_is_told_at_once() {
    let world =
        office("register = \"register.csv\"\n\nconfidence = 90\nregistr = \"x\"\nstrict = \"yes\"\nsheet = []\n");
    assert_eq!(
        assess(&world, &[]),
        Outcome::refused(
            2,
            "groundwall.toml:3: confidence is 90; 90 is outside what a confidence can be: 0.5 to 0.999\n\
             hint: correct it, or use --no-config\n\
             groundwall.toml:4: registr is not a setting\n\
             hint: did you mean register?\n\
             groundwall.toml:5: strict is \"yes\"; it is true or false\n\
             hint: correct it, or use --no-config\n\
             groundwall.toml:6: sheet is []; it is a text between quotes or a number\n\
             hint: correct it, or use --no-config\n"
        )
    );
}

#[test]
fn histories_below_different_files_are_judged_apart() {
    let world = office(SETTINGS);
    std::fs::write(world.path("pumps/groundwall.toml"), "strict = true\n").unwrap();
    std::fs::write(world.path("h.csv"), HISTORY).unwrap();
    assert_eq!(
        world.run(&["check", "h.csv", "pumps/h.csv"]),
        Outcome::refused(
            2,
            "pumps/h.csv: its settings are in pumps/groundwall.toml, and those of another history in groundwall.toml\n\
             hint: judge them separately, or use --no-config and pass the settings as options\n"
        )
    );
    // The nearer file stands alone.
    let run = world.run(&["check", "pumps/h.csv"]);
    assert_eq!(
        (run.status, run.words.as_str()),
        (3, "pumps/groundwall.toml: strict is taken from here; --no-config leaves it unread\n")
    );
}

#[test]
fn sheets_below_the_settings_of_the_master_are_read_by_them() {
    let world = office(SETTINGS);
    std::fs::write(world.path("sheet.csv"), "winding,tested_on,r_60s\nP-1,2026-11-20,190\n").unwrap();
    std::fs::write(world.path("pumps/h.csv"), HISTORY.replace("05/0", "2026-0").replace("/2026", "-05")).unwrap();
    let run = world.run(&["add", "sheet.csv", "--to", "pumps/h.csv", "--dry-run", "--as-of", "2026-11-25"]);
    assert!(
        run.words
            .starts_with("groundwall.toml: register, date_format are taken from here; --no-config leaves it unread\n"),
        "{run:?}"
    );
}

/// Sheets are filed as they are judged: by the settings beside them, whichever those of the master are.
#[test]
fn sheets_are_filed_by_the_settings_that_they_are_judged_by() {
    let world = World::new(&[("m.csv", "winding,tested_on,r_60s\nP-1,2025-10-10,840\n")]);
    std::fs::create_dir(world.path("new")).unwrap();
    std::fs::write(world.path("new/s.csv"), "Motor,Date,Reading,Old\nP-1,2026-10-13,840,900\n").unwrap();
    std::fs::write(world.path("new/groundwall.toml"), "[columns]\n\"Reading\" = \"r_60s_kohm\"\n").unwrap();
    let run = world.run(&["add", "new/s.csv", "--to", "m.csv", "--as-of", "2026-11-29"]);
    assert_eq!(run.status, 0, "{}", run.words);
    assert!(run.words.starts_with("new/groundwall.toml: columns is taken from here; --no-config leaves it unread\n"));
    assert_eq!(
        std::fs::read_to_string(world.path("m.csv")).unwrap(),
        "winding,tested_on,r_60s\nP-1,2025-10-10,840\nP-1,2026-10-13,0.84\n"
    );
}

/// A header that names a unit stands for a column of that unit.
#[test]
fn a_mapping_against_the_unit_of_the_header_is_refused() {
    let world = World::new(&[
        ("a.csv", "Motor,Date,IR kΩ\nP-1,2025-10-10,840\n"),
        ("groundwall.toml", "[columns]\n\"IR kΩ\" = \"r_60s\"\n"),
    ]);
    let run = world.run(&["assess", "a.csv"]);
    assert_eq!(
        (run.status, run.words.as_str()),
        (
            2,
            "groundwall.toml:1: columns: of IR kΩ, the header names kΩ, and r_60s is in MΩ; write \"r_60s_kohm\"\n\
             hint: correct it, or use --no-config\n"
        )
    );
}

/// However a history is named, the settings beside it are read.
#[test]
fn settings_are_found_through_patterns_and_standard_input() {
    let world = office(SETTINGS);
    fs::rename(world.path("register.csv"), world.path("pumps/register.csv")).unwrap();
    fs::rename(world.path("groundwall.toml"), world.path("pumps/groundwall.toml")).unwrap();
    let words = "pumps/groundwall.toml: register, date_format are taken from here; --no-config leaves it unread\n";
    let assess = |input: &str| world.run(&["assess", input, "--as-of", "2026-11-25", "--format", "csv"]);
    let plain = assess("pumps/h.csv");
    assert_eq!((plain.status, plain.words.as_str()), (0, words));
    for pattern in ["*/h.csv", "pump?/h.csv", "**/h*.csv"] {
        assert_eq!(assess(pattern), plain, "{pattern}");
    }
    // Standard input has no folder but the working directory.
    let mut command = world.command(&["assess", "-", "--as-of", "2026-11-25", "--format", "csv"]);
    command.current_dir(world.path("pumps")).stdin(fs::File::open(world.path("pumps/h.csv")).unwrap());
    let words = "groundwall.toml: register, date_format are taken from here; --no-config leaves it unread\n";
    assert_eq!(String::from_utf8(command.output().unwrap().stderr).unwrap(), words);
    // Files that a pattern fits are judged by one file of settings, as those that are named.
    fs::create_dir(world.path("fans")).unwrap();
    fs::write(world.path("fans/h.csv"), HISTORY).unwrap();
    fs::write(world.path("fans/groundwall.toml"), "").unwrap();
    assert_eq!(
        assess("*/h.csv"),
        Outcome::refused(
            2,
            "pumps/h.csv: its settings are in pumps/groundwall.toml, and those of another history in fans/groundwall.toml\n\
             hint: judge them separately, or use --no-config and pass the settings as options\n"
        )
    );
    // A folder that the path leaves again is not above the file.
    fs::remove_file(world.path("fans/groundwall.toml")).unwrap();
    assert_eq!(world.run(&["check", "pumps/../fans/h.csv"]).words, "");
}

#[cfg(unix)]
#[test]
fn settings_are_found_where_links_lead() {
    use std::os::unix::fs::symlink;
    let world = office(SETTINGS);
    fs::rename(world.path("register.csv"), world.path("pumps/register.csv")).unwrap();
    fs::rename(world.path("groundwall.toml"), world.path("pumps/groundwall.toml")).unwrap();
    fs::create_dir(world.path("links")).unwrap();
    symlink("../pumps/h.csv", world.path("links/one.csv")).unwrap();
    symlink("links/one.csv", world.path("two.csv")).unwrap();
    symlink("pumps", world.path("folder")).unwrap();
    let check = |input: &str| world.run(&["check", input, "--as-of", "2026-11-25"]);
    let words = "pumps/groundwall.toml: register, date_format are taken from here; --no-config leaves it unread\n";
    for (input, words) in
        [("two.csv", words), ("links/*.csv", words), ("folder/h.csv", &words.replace("pumps", "folder"))]
    {
        let run = check(input);
        assert_eq!((run.status, run.words.as_str()), (0, words), "{input}");
    }
    fs::write(world.path("links/groundwall.toml"), "strict = true\n").unwrap();
    assert_eq!(
        check("two.csv"),
        Outcome::refused(
            2,
            "two.csv: this name leads to a file elsewhere; settings are in links/groundwall.toml for the name, and in \
             pumps/groundwall.toml for the file\n\
             hint: give the path of the file itself, or use --no-config and pass the settings as options\n"
        )
    );
    // A link to no settings is not taken for none.
    fs::remove_file(world.path("links/groundwall.toml")).unwrap();
    symlink("nowhere.toml", world.path("groundwall.toml")).unwrap();
    fs::write(world.path("h.csv"), HISTORY).unwrap();
    assert_eq!(
        check("h.csv"),
        Outcome::refused(
            2,
            "groundwall.toml: cannot be read: this is a link to nowhere.toml, which does not exist\n\
             hint: make what it leads to, or use --no-config\n"
        )
    );
}
