//! Files that are not quite what they are given for: each message says what they seem to be, and what to do.

use crate::first_mistakes::CAUTIONS;
use crate::world::{Outcome, World};

const HISTORY: &str = "winding,tested_on,r_60s,winding_temp_c\nA,2026-07-14,350,25\nA,2026-10-14,350,25\n";

/// Left alone without a word, the minimum of a form-wound winding of 6.6 kV would be assumed: 1 MΩ in place of 100.
#[test]
fn headers_of_a_register_are_understood_or_what_is_meant_is_asked() {
    let register = "winding,rated_vlots,constuction,insulation,year_made\nA,6600,form-wound,thermosetting,1996\n";
    let world = World::new(&[("h.csv", HISTORY), ("r.csv", register)]);
    let said = "r.csv: ignored columns: rated_vlots, constuction\n\
        hint: did you mean rated_volts for rated_vlots, construction for constuction? rename it, or say what it holds under \
        [columns] in the policy file\n\
        r.csv: no column of rated voltages is understood, so minimums that follow from them are assumed\n\
        hint: add a column rated_volts with the voltages of the nameplates, in V\n";
    let run = world.run(&["assess", "h.csv", "--register", "r.csv", "--as-of", "2026-11-25"]);
    assert_eq!((run.status, run.words), (0, format!("{said}{CAUTIONS}")));
    let check = world.run(&["check", "h.csv", "--register", "r.csv", "--as-of", "2026-11-25"]);
    assert_eq!(
        check,
        Outcome {
            status: 0,
            out: format!("h.csv: 2 rows: 2 accepted, 0 repeated, 0 rejected\n{said}"),
            words: String::new()
        }
    );
    // Doing what is said, in either way, gives the minimum of the nameplate; so do the usual words.
    let columns = "[columns]\nrated_vlots = \"rated_volts\"\nconstuction = \"construction\"\n";
    let mended = register.replace("rated_vlots,constuction", "rated_volts,construction");
    let usual = register.replace("winding,rated_vlots,constuction", "Motor no.,Rated voltage,Winding type");
    for (register, policy) in [(register, columns), (&mended, ""), (&usual, "")] {
        let world = World::new(&[("h.csv", HISTORY), ("r.csv", register), ("p.toml", policy)]);
        let run = world.run(&["assess", "h.csv", "--register", "r.csv", "--policy", "p.toml", "--as-of", "2026-11-25"]);
        assert_eq!((run.status, run.words.as_str()), (0, CAUTIONS), "{register}");
        assert!(run.out.contains(" 100 MΩ "), "{}", run.out);
    }
}

#[test]
fn temperatures_under_a_header_of_their_own() {
    let text = "winding,tested_on,r_60s,Tmp of copper,Bearing temp\nA,2026-10-14,350,25,40\n";
    let world = World::new(&[("h.csv", text)]);
    let said = "h.csv: there is no column of winding temperatures, so its readings cannot be brought to one temperature; is it \
        Tmp of copper?\n\
        hint: if it is that of the winding, say so under [columns] in groundwall.toml or the policy file: \"Tmp of copper\" = \
        \"winding_temp_c\"; if it is that of the air, say air_temp_c there\n";
    assert_eq!(
        world.run(&["check", "h.csv"]).out,
        format!(
            "h.csv: 1 row: 1 accepted, 0 repeated, 0 rejected\nh.csv: ignored columns: Tmp of copper, Bearing temp\n{said}"
        )
    );
    let run = world.run(&["assess", "h.csv", "--as-of", "2026-11-25"]);
    assert!(run.words.contains(said), "{}", run.words);
}

#[test]
fn a_history_and_a_register_that_are_exchanged() {
    // Insulation may also be a resistance, but not here.
    let register = "winding,rated_volts,construction,insulation\nA,6600,form-wound,thermosetting\n";
    let world = World::new(&[("h.csv", HISTORY), ("r.csv", register)]);
    assert_eq!(
        world.run(&["assess", "h.csv", "--register", "h.csv"]),
        Outcome::refused(
            2,
            "h.csv:1: 1 of 1 windings are listed here several times and tested_on is a column of days; this looks like a history, \
             not a register\n\
             hint: give it as a history, without --register; a register has one row per winding, with what is on its \
             nameplate\n"
        )
    );
    assert_eq!(
        world.run(&["check", "r.csv"]),
        Outcome::refused(
            2,
            "r.csv:1: the header has rated_volts, construction and neither a day nor a reading; this looks like a register, not \
             a history\n\
             hint: name it with --register; a history has one row per test, with winding, tested_on and r_60s\n"
        )
    );
}

/// A voltage may be that of the test, so that it was read as the rated one is said.
#[test]
fn what_a_register_is_taken_to_say_is_said() {
    let register = "winding,Voltage [V],construction,insulation\nA,6600,form-wound,thermosetting\n";
    let world = World::new(&[("h.csv", HISTORY), ("r.csv", register)]);
    assert_eq!(
        world.run(&["check", "h.csv", "--register", "r.csv"]).out,
        "h.csv: 2 rows: 2 accepted, 0 repeated, 0 rejected\n\
         r.csv:1: column Voltage [V] is taken for rated_volts; [columns] in the policy file says otherwise\n"
    );
}

#[test]
fn files_that_are_no_tables() {
    let table = "give the table itself, as a CSV file or a workbook (.xlsx, .xls, .ods)";
    let rows = "give the rows as a CSV file or a workbook (.xlsx, .xls, .ods), one row per test";
    let page = "open it with a spreadsheet program and save the table as CSV or as a workbook (.xlsx, .ods)";
    let png: &[u8] = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR";
    for (bytes, what, hint) in [
        (png, "a picture", table),
        (b"{\n  \"schema\": \"groundwall/assessment/1\"\n}\n", "JSON", rows),
        (b"<!DOCTYPE html>\n<html lang=\"en\"><p class=\"a\">", "a web page", page),
    ] {
        let world = World::new(&[("h.csv", HISTORY)]);
        std::fs::write(world.path("f"), bytes).unwrap();
        let words = format!("f: this is {what}, no table\nhint: {hint}\n");
        assert_eq!(world.run(&["check", "f"]), Outcome::refused(2, &words));
        assert_eq!(world.run(&["assess", "h.csv", "--register", "f"]), Outcome::refused(2, &words));
    }
}

#[test]
fn another_mark_than_that_of_the_register() {
    let history = HISTORY.replace(',', "\t");
    let world =
        World::new(&[("h.tsv", history.as_str()), ("r.csv", "winding,rated_volts,construction\nA,6600,form-wound\n")]);
    assert_eq!(
        world.run(&["assess", "h.tsv", "--register", "r.csv", "--delimiter", "tab"]),
        Outcome::refused(
            2,
            "r.csv:1: the column winding is missing; the header has winding,rated_volts,construction\n\
             hint: the file seems to be separated by `,`: leave out --delimiter, or use --delimiter comma\n"
        )
    );
}
