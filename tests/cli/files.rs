//! Files as other programs write them, read to the same numbers; see data/NOTE.md for how they were made.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

struct Run {
    out: String,
    words: String,
    status: i32,
}

fn run(args: &[&str], input: &[u8]) -> Run {
    let started = Command::new(env!("CARGO_BIN_EXE_groundwall"))
        .args(args)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn();
    let Ok(mut child) = started else { return Run { out: String::new(), words: "not started".to_owned(), status: -1 } };
    if let Some(mut stdin) = child.stdin.take() {
        let _ = stdin.write_all(input);
    }
    match child.wait_with_output() {
        Ok(done) => Run {
            out: String::from_utf8_lossy(&done.stdout).into_owned(),
            words: String::from_utf8_lossy(&done.stderr).into_owned(),
            status: done.status.code().unwrap_or(-1),
        },
        Err(error) => Run { out: String::new(), words: error.to_string(), status: -1 },
    }
}

fn data(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/cli/data").join(name)
}

pub(crate) fn path(name: &str) -> String {
    data(name).display().to_string()
}

/// The judgement without the ledger, which names the file.
fn judged(file: &str, input: &[u8]) -> String {
    let done = run(&["assess", file, "--format", "json", "--as-of", "2026-11-25"], input);
    assert_eq!(done.status, 0, "{file}: {}", done.words);
    let series = done.out.find("\"summary\"").unwrap_or_default();
    done.out[series..].to_owned()
}

const FILES: [&str; 19] = [
    "crlf-bom.csv",
    "semicolon.csv",
    "tab.tsv",
    "utf16le.csv",
    "utf16be.csv",
    "windows-1252.csv",
    "titled.csv",
    "packed.csv.gz",
    "timed.csv",
    "usual-words.csv",
    "pandas.csv",
    "pandas.xlsx",
    "openpyxl.xlsx",
    "xlwt.xls",
    "odfpy.ods",
    "office.xlsx",
    "office.ods",
    "office.xls",
    "comma.csv",
];

#[test]
fn files_of_every_program_are_read_to_the_same_numbers() {
    let expected = judged(&path("comma.csv"), b"");
    assert!(expected.contains("G-2 Läufer"), "{expected}");
    for file in FILES {
        assert_eq!(judged(&path(file), b""), expected, "{file}");
        // All forms come through standard input as well.
        let bytes = std::fs::read(data(file)).unwrap_or_default();
        assert_eq!(judged("-", &bytes), expected, "{file} through standard input");
    }
}

/// A spreadsheet shows `840 kΩ` where it holds 840.
#[test]
fn numbers_have_the_unit_that_their_format_shows() {
    for file in ["shown.xlsx", "shown.xls", "shown.ods"] {
        let file = path(file);
        let done = run(&["check", &file], b"");
        let said = format!("{file}:Shown:C2: numbers are shown in kΩ by their number format, and are read so\n");
        assert!(done.out.contains(&said), "{}", done.out);
        let list = judged(&file, b"");
        assert!(list.contains("\"r60_mohm\": 0.838,"), "{file}: {list}");
    }
}

/// A spreadsheet shows `00410012` where it holds 410012, and `P-007` where it holds 7.
#[test]
fn names_are_read_as_their_format_shows_them() {
    for file in ["named.xlsx", "named.xls", "named.ods"] {
        let file = path(file);
        let done = run(&["check", &file], b"");
        let said = format!(
            "{file}:Named:A2: 410012 is shown as 00410012 by its number format, and such cells are read as they are shown\n"
        );
        assert!(done.out.contains(&said), "{}", done.out);
        let list = judged(&file, b"");
        for said in
            ["\"winding\": \"00410012\",", "\"winding\": \"P-007\",", "\"r60_mohm\": 840.0,", "\"r60_mohm\": 838.0,"]
        {
            assert!(list.contains(said), "{file}: {said}: {list}");
        }
    }
}

#[test]
fn patterns_are_expanded_and_one_that_fits_nothing_ends_with_a_sentence() {
    let done = run(&["check", &path("utf16?e.csv")], b"");
    let repeated = format!(
        "{0}: 6 rows: 6 accepted, 0 repeated, 0 rejected\n{0}: read as UTF-16BE; --encoding says otherwise\n\
         {1}: 6 rows: 0 accepted, 6 repeated, 0 rejected\n{1}: read as UTF-16LE; --encoding says otherwise\n",
        path("utf16be.csv"),
        path("utf16le.csv")
    );
    assert_eq!((done.out, done.status), (repeated, 0));
    let done = run(&["check", "no-such-*.csv"], b"");
    assert_eq!(
        done.words,
        "no-such-*.csv: no file fits this pattern\n\
        hint: check the folder and the ending; * stands for any part of a name\n"
    );
    assert_eq!(done.status, 2);
}

#[test]
fn a_sheet_is_chosen_by_name_and_a_missing_one_is_said() {
    let file = path("openpyxl.xlsx");
    let done = run(&["check", &file, "--sheet", "tests"], b"");
    assert!(
        done.out.starts_with(&format!("{file}:Tests: 6 rows: 6 accepted, 0 repeated, 0 rejected\n")),
        "{}",
        done.out
    );
    let done = run(&["check", &file, "--sheet", "Data"], b"");
    assert_eq!(done.words, format!("{file}: there is no sheet Data\nhint: the sheets are Cover, Tests\n"));
    assert_eq!(done.status, 2);
}

#[test]
fn rejected_rows_are_mended_by_taking_the_reasons_away() {
    let folder = tempfile::tempdir().map(|folder| folder.path().to_owned()).unwrap_or_default();
    let _ = std::fs::create_dir_all(&folder);
    let rejects = folder.join("rejects.csv").display().to_string();
    for (text, args) in [
        (
            "winding;tested_on;r_60s;;\nP-1;2026-01-05;1.200\nP-1;2026-01-06;5;;\nP-1;03/04/2026;\"7\";\n",
            &["--decimal-comma"][..],
        ),
        ("winding,tested_on,r_60s,note\r\nP-1,03/04/2026,5,\"a\r\nb\"\r\n", &[]),
    ] {
        let done = run(&[&["check", "-", "--rejects", &rejects, "--force"], args].concat(), text.as_bytes());
        assert_eq!(done.status, 0, "{}", done.words);
        let written = std::fs::read_to_string(&rejects).unwrap_or_default();
        let again = run(&["check", &rejects, "--format", "json"], b"");
        assert_eq!(again.status, 0, "{}", again.words);
        let first = run(&["check", "-", "--format", "json"], text.as_bytes());
        let faults = |text: &str| -> Vec<String> {
            text.lines().filter(|line| line.trim().starts_with("\"rule\"")).map(str::to_owned).collect()
        };
        assert_eq!(faults(&again.out), faults(&first.out), "{written}");
        for row in text.split_inclusive('\n').filter(|row| row.contains("1.200") || row.starts_with("P-1,03")) {
            assert!(written.contains(row.trim_end_matches(['\r', '\n'])), "{written}");
        }
    }
    let _ = std::fs::remove_dir_all(&folder);
}

#[test]
fn a_mapping_is_suggested_and_read_back() {
    let text = "Kone,Päivä,Arvo 60 s,Temp,Work Order\nP-1,2026-01-05,5,20,7\n";
    let done = run(&["check", "-", "--suggest"], text.as_bytes());
    assert_eq!(
        done.out,
        "# standard input:1: look it over and paste it into the policy file\n[columns]\n\
         # \"Kone\" = \"-\"  # not understood\n# \"Päivä\" = \"-\"  # not understood\n\
         # \"Arvo 60 s\" = \"r_60s\"  # a guess, 50 % alike\n\"Temp\" = \"winding_temp_c\"  # assumed: check it\n\
         \"Work Order\" = \"work_order\"\n\
         # still missing: winding, tested_on, r_60s; take away the # before every line that holds it, and write what it holds; \
         a column of readings without a line is not read\n"
    );
    let policy = std::env::temp_dir().join(format!("groundwall-columns-{}.toml", std::process::id()));
    let columns = "[columns]\nKone = \"winding\"\n\"Päivä\" = \"tested_on\"\n\
                   \"arvo 60 s\" = \"r_60s_gohm\"\nTemp = \"-\"\n";
    assert!(std::fs::write(&policy, columns).is_ok());
    let done = run(&["check", "-", "--policy", &policy.display().to_string()], text.as_bytes());
    let _ = std::fs::remove_file(&policy);
    assert_eq!(
        done.out,
        "standard input: 1 row: 1 accepted, 0 repeated, 0 rejected\nstandard input: ignored column: Temp\n\
         standard input: there is no column of winding temperatures, so its readings cannot be brought to one temperature\n\
         hint: add a column winding_temp_c, or winding_temp_f\n"
    );
}

#[test]
fn what_cannot_be_known_shows_the_option() {
    for (text, message) in [
        (
            "winding;tested_on;r_60s\nP-1;2026-01-05;1.200\n",
            "standard input:2: resistance r_60s is 1.200; the decimal mark of this file is the comma, and the point could \
             be a thousands separator\nhint: if the point is the decimal mark of the file, use --decimal-point; if it separates \
             thousands, use --decimal-comma or take it out\n",
        ),
        (
            "winding,tested_on,r_60s\nP-1,2026-01-05,\"1,200\"\n",
            "standard input:2: resistance r_60s is 1,200; the decimal mark of this file is the point\nhint: if the comma is \
             the decimal mark, use --decimal-comma; if it separates thousands, use --decimal-point or take it out\n",
        ),
        (
            "winding,tested_on,r_60s\nP-1,03/04/2026,5\n",
            "standard input:2: tested_on is 03/04/2026; a date is written year-month-day, such as 2026-04-03; day and month \
             are never guessed\nhint: specify the date format: --date-format %d/%m/%Y if the day comes first, %m/%d/%Y if the month does\n",
        ),
    ] {
        let done = run(&["check", "-"], text.as_bytes());
        assert_eq!(done.out, format!("standard input: 1 row: 0 accepted, 0 repeated, 1 rejected\n{message}"));
    }
}
