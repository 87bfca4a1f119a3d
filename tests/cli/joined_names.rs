//! Windings with several names: joined by the register or the settings only, said once, and no row lost.

use crate::world::{Outcome, World};

const HISTORY: &str = "winding,tested_on,r_60s,winding_temp_c\n\
    P-01,2026-01-05,200,20\nP01,2026-04-05,210,20\nP 1,2026-07-05,190,20\nP-01,2026-07-05,190,20\n\
    P-01,2026-10-05,180,20\nP01,2026-10-05,0.2,20\nK-2,2026-10-05,500,20\n";
const REGISTER: &str = "winding,rated_volts,construction,insulation,aliases\n\
    P-01,400,random-wound,thermosetting,P01; P 1\nK-2,400,random-wound,thermosetting,\n";

fn world(register: &str, settings: Option<&str>) -> World {
    let mut files = vec![("h.csv", HISTORY), ("r.csv", register)];
    files.extend(settings.map(|settings| ("groundwall.toml", settings)));
    World::new(&files)
}

fn assess(world: &World, more: &[&str]) -> Outcome {
    world.run(&[&["assess", "h.csv", "--as-of", "2026-11-25", "--format", "json"], more].concat())
}

/// Windings with their action and the number of their tests, and the counts of the rows.
fn found(run: &Outcome) -> (Vec<(String, String, u64)>, [u64; 4]) {
    let result: serde_json::Value = serde_json::from_str(&run.out).unwrap();
    let text = |value: &serde_json::Value| value.as_str().unwrap().to_owned();
    let series = result["series"].as_array().unwrap();
    let series = series
        .iter()
        .map(|one| (text(&one["winding"]), text(&one["action"]), one["trend"]["tests"].as_u64().unwrap_or_default()));
    let count = |name: &str| result["input"][0][name].as_u64().unwrap();
    (series.collect(), ["rows", "accepted", "repeated", "rejected"].map(count))
}

/// Of seven rows one repeats another under another name. Rows of one day follow each other, so the low one is the latest.
#[test]
fn the_register_joins_names_and_no_row_is_lost() {
    let world = world(REGISTER, None);
    let run = assess(&world, &["-r", "r.csv"]);
    let said = "r.csv: windings with several names are judged as one: P 1 is P-01, P01 is P-01\n";
    assert_eq!(run.words.matches(said).count(), 1, "{}", run.words);
    assert!(!run.words.contains("one winding written in several ways"), "{}", run.words);
    let (series, counts) = found(&run);
    assert_eq!(counts, [7, 6, 1, 0]);
    assert_eq!(series.len(), 2, "{series:?}");
    assert_eq!((series[0].0.as_str(), series[0].1.as_str(), series[0].2), ("P-01", "hold", 5));
    assert!(run.words.contains("h.csv: 7 rows: 6 accepted, 1 repeated, 0 rejected\n"), "{}", run.words);
}

#[test]
fn without_a_word_of_the_register_names_are_asked_about() {
    let world = world(&REGISTER.replace("P01; P 1", ""), None);
    let run = assess(&world, &["-r", "r.csv"]);
    assert!(
        run.words.contains(
            "P 1, P-01, P01: one winding written in several ways? each is judged by its own tests\n\
             hint: write the name alike in all rows, or name the others under aliases in the register or [names] in groundwall.toml\n"
        ),
        "{}",
        run.words
    );
    assert!(
        run.words.contains(
            "r.csv: winding P01 is not in the register; it is judged with what is known\n\
             hint: the register has P-01; write the name alike in both files, or name P01 beside it under aliases\n"
        ),
        "{}",
        run.words
    );
    assert_eq!(found(&run).0.len(), 4);
}

#[test]
fn the_settings_join_names_as_the_register_does() {
    let by_register = world(REGISTER, None);
    let settings = "register = \"r.csv\"\n\n[names]\n\"P01\" = \"P-01\"\n\"P 1\" = \"P01\"\n";
    let by_settings = world(&REGISTER.replace("P01; P 1", ""), Some(settings));
    let run = assess(&by_settings, &[]);
    assert_eq!(found(&run), found(&assess(&by_register, &["-r", "r.csv"])));
    assert!(
        run.words
            .contains("groundwall.toml: windings with several names are judged as one: P 1 is P-01, P01 is P-01\n"),
        "{}",
        run.words
    );
    assert!(
        run.words.starts_with("groundwall.toml: register, names are taken from here; --no-config leaves it unread\n"),
        "{}",
        run.words
    );
    let explained = by_settings.run(&["explain", "h.csv", "--winding", "P01", "--as-of", "2026-11-25", "--quiet"]);
    assert!(explained.out.starts_with("P-01, as of 2026-11-25\n"), "{}", explained.out);
}

#[test]
fn two_rows_of_one_winding_say_the_same_or_nothing() {
    let same = format!("{REGISTER}P01,400,random-wound,thermosetting,\nP 1,,,,\n");
    let run = assess(&world(&same, None), &["-r", "r.csv"]);
    assert_eq!((run.status, found(&run).0.len()), (0, 2));
    let other = format!("{REGISTER}P01,6600,form-wound,thermosetting,\n");
    assert_eq!(
        assess(&world(&other, None), &["-r", "r.csv"]),
        Outcome::refused(
            2,
            "r.csv:2: P01 is another name of P-01; the register r.csv has both, with different data\n\
             hint: leave one of the two rows out, or write the same into both\n"
        )
    );
}

#[test]
fn circles_and_names_of_nobody_are_refused_with_their_lines() {
    let circle = format!("{REGISTER}P01,400,random-wound,thermosetting,P-01\n");
    assert_eq!(
        assess(&world(&circle, None), &["-r", "r.csv"]),
        Outcome::refused(
            2,
            "r.csv:4: other names lead from P-01 to P01 to P-01 and on without end; one of the names is the winding's own\n\
             hint: write the others beside that one, and no name beside them\n"
        )
    );
    let unknown = world(REGISTER, Some("[names]\n\"K2\" = \"K-3\"\n"));
    assert_eq!(
        assess(&unknown, &["-r", "r.csv", "-q"]),
        Outcome::refused(
            2,
            "groundwall.toml:2: K2 is another name of K-3; the register r.csv has no such winding\n\
             hint: enter it there, or write its name as it is there; the closest there is K-2\n"
        )
    );
    let two = format!("{REGISTER}M-3,400,random-wound,thermosetting,P01\n");
    assert_eq!(
        assess(&world(&two, None), &["-r", "r.csv"]),
        Outcome::refused(
            2,
            "r.csv:4: P01 is another name of M-3 here, and of P-01 at r.csv:2; a name belongs to one winding\n\
             hint: take the name out where it is wrong\n"
        )
    );
    assert_eq!(
        assess(&world(REGISTER, Some("[names]\n\"K2\" = 7\n")), &["-q"]),
        Outcome::refused(
            2,
            "groundwall.toml:1: names: K2 must be the name of a winding between quotes, at most 120 characters\n\
             hint: correct it, or use --no-config\n"
        )
    );
}

/// A sheet that calls a winding by its other name is filed under the name of the master, and known again.
#[test]
fn new_tests_are_filed_under_the_name_of_the_winding() {
    let world = World::new(&[
        ("m.csv", "winding,tested_on,r_60s\nP-01,2026-01-05,200\n"),
        ("new.csv", "winding,tested_on,r_60s\nP01,2026-01-05,200\nP01,2026-04-05,210\n"),
        ("groundwall.toml", "[names]\n\"P01\" = \"P-01\"\n"),
    ]);
    let run = world.run(&["add", "new.csv", "--to", "m.csv"]);
    assert_eq!(run.status, 0, "{}", run.words);
    assert_eq!(world.read("m.csv"), "winding,tested_on,r_60s\nP-01,2026-01-05,200\nP-01,2026-04-05,210\n");
}
