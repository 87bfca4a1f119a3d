//! The same tests in every layout that planners keep give the same list, number for number; data/sheets/make.py wrote them.

use crate::files::path;
use std::process::Command;

/// Each sheet, and the plain table that holds the same tests.
const SHEETS: [(&str, &str); 77] = [
    ("dates-across.csv", "plain"),
    ("dates-across-day-first.csv", "plain"),
    ("quarters-across.csv", "plain"),
    ("quarters-across-titled.csv", "plain"),
    ("months-across.csv", "plain"),
    ("months-across-year-sheet.xlsx", "plain"),
    ("dates-across-areas.csv", "plain"),
    ("dates-across-two-years.xlsx", "plain"),
    ("dates-across-quantities.csv", "plain-temp"),
    ("dates-across-merged.xlsx", "plain-temp"),
    ("names-merged.xlsx", "plain-temp"),
    ("dates-across-two-rows.csv", "plain-temp"),
    ("blocks-by-half.csv", "plain"),
    ("sheet-per-motor.xlsx", "plain-temp"),
    ("sheet-per-motor-titled.xlsx", "plain-temp"),
    ("sheet-per-motor-across.xlsx", "plain-temp"),
    ("sheet-per-quarter.xlsx", "plain-temp"),
    ("sheet-per-area.xlsx", "plain"),
    ("phases.csv", "plain-phases"),
    ("phases-and-pairs.csv", "plain-pairs"),
    ("phases-two-times.csv", "plain-two-times"),
    ("phases-ground.csv", "plain-phases"),
    ("phases-letters.csv", "plain-phases"),
    ("phases-colours.csv", "plain-phases"),
    ("phases-lines.csv", "plain-phases"),
    ("phases-two-rows.xlsx", "plain-phases-temp"),
    ("before-after.csv", "plain-dried"),
    ("before-after-two-rows.csv", "plain-cleaned"),
    ("points.csv", "plain-temp"),
    ("points-named.csv", "plain-temp"),
    ("units.csv", "plain"),
    ("units-mixed.csv", "plain-temp"),
    ("unit-in-title.csv", "plain"),
    ("year-quarter.csv", "plain"),
    ("year-quarter-once.csv", "plain"),
    ("export.csv", "plain-fahrenheit"),
    ("month-in-letters.csv", "plain"),
    ("blocks.csv", "plain-temp"),
    ("blocks-side-by-side.csv", "plain-temp"),
    ("motors-across.csv", "plain"),
    ("forms.csv", "plain-temp"),
    ("checks.csv", "plain"),
    ("pivot.csv", "plain"),
    ("german.csv", "plain-temp"),
    ("french.csv", "plain-temp"),
    ("spanish.csv", "plain-temp"),
    ("italian.csv", "plain-temp"),
    ("portuguese.csv", "plain-temp"),
    ("dutch.csv", "plain-temp"),
    ("machine-and-winding.csv", "plain-components"),
    ("round-temperature.csv", "plain-air"),
    ("motors-grouped.xlsx", "plain-temp"),
    ("dates-once.csv", "plain-temp"),
    ("motor-above.csv", "plain-temp"),
    ("date-above.csv", "plain-temp"),
    ("time-of-day.csv", "plain-time"),
    ("quarters-down.csv", "plain"),
    ("day-month-year.csv", "plain"),
    ("timed-blocks.csv", "plain-ten"),
    ("units-unnamed.csv", "plain"),
    ("units-below.csv", "plain-temp"),
    ("thousands.csv", "plain"),
    ("dates-above-phases.xlsx", "plain-phases"),
    ("dates-above-phases.csv", "plain-phases"),
    ("phases-above-dates.csv", "plain-phases"),
    ("phases-beside-temperature.csv", "plain-phases-temp"),
    ("last-and-previous.csv", "plain"),
    ("present-beside-last.csv", "plain"),
    ("last-test-above.csv", "plain"),
    ("tests-numbered.csv", "plain"),
    ("export-points.csv", "plain-temp"),
    ("windings-beside.csv", "plain-components"),
    ("tables-beside.csv", "plain-temp"),
    ("tests-grouped.csv", "plain-temp"),
    ("sheet-per-month.xlsx", "plain-temp"),
    ("sheet-per-round.xlsx", "plain"),
    ("sheet-per-record.xlsx", "plain-temp"),
];

fn groundwall(args: &[&str]) -> (String, String) {
    match Command::new(env!("CARGO_BIN_EXE_groundwall")).args(args).output() {
        Ok(done) => {
            (String::from_utf8_lossy(&done.stdout).into_owned(), String::from_utf8_lossy(&done.stderr).into_owned())
        }
        Err(error) => (String::new(), error.to_string()),
    }
}

/// The list without the record of the latest test: sheets have work orders that plain tables lack.
fn list(name: &str) -> (String, String) {
    let (list, words) =
        groundwall(&["assess", &path(&format!("sheets/{name}")), "--as-of", "2025-01-10", "--format", "csv"]);
    (without_record(&list), words)
}

/// A list without the columns of the record of the test, which the plain tables lack.
fn without_record(list: &str) -> String {
    let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(list.as_bytes());
    let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.unwrap()).collect();
    let at = |name: &str| rows[0].iter().position(|header| header == name).unwrap();
    let record = at("latest_other_phases")..=at("latest_standing_h");
    let bare = rows.iter().map(|row| {
        let cells = row.iter().enumerate().filter(|(place, _)| !record.contains(place));
        cells.map(|(_, cell)| cell.to_owned()).collect::<Vec<_>>().join("|")
    });
    bare.collect::<Vec<_>>().join("\n")
}

#[test]
fn every_layout_gives_the_list_of_the_plain_table() {
    for (sheet, plain) in SHEETS {
        let (expected, _) = list(&format!("{plain}.csv"));
        assert!(expected.lines().count() > 4, "{plain}: {expected}");
        let (found, words) = list(sheet);
        assert_eq!(found, expected, "{sheet}: {words}");
    }
}

#[test]
fn how_a_sheet_was_read_is_said() {
    for (sheet, sentence) in [
        ("dates-across.csv", "read as: one row per motor, one column per date"),
        ("phases.csv", "read as: one row per test, one column per connection"),
        ("points.csv", "read as: one row per measuring point, units in a column"),
        ("points.csv", "16 rows measure something else and no resistance: VIB DE"),
        ("before-after.csv", "read as: one row per test, columns before and after work"),
        (
            "thousands.csv",
            "thousands.csv:15: MΩ is 1.450; as 1.500,0 shows, this mark separates thousands here (3 cells like this)",
        ),
        (
            "machine-and-winding.csv",
            "read as: one row per test, the windings of a motor told apart by a column or header of their own",
        ),
        ("last-and-previous.csv", "read as: one row per test, columns of several tests of a motor, each with its date"),
        ("sheet-per-area.xlsx", "sheet-per-area.xlsx:Notes: this sheet holds no tests and is passed over"),
        ("dates-across-areas.csv", "1 row that sums up others is not read"),
        (
            "quarters-across.csv",
            "16 tests are dated by a period, such as Q1 2024 at B2, and no day; the middle of it is taken",
        ),
        (
            "export.csv",
            "Completed Date is 02/15/2024, so the dates of this column are read month before day; --date-format says otherwise",
        ),
    ] {
        let (_, words) = list(sheet);
        assert!(words.contains(sentence), "{sheet}: {words}");
    }
}

#[test]
fn sheets_are_chosen_and_left_out_by_name_or_pattern() {
    let book = path("sheets/sheet-per-area.xlsx");
    let count = |args: &[&str]| {
        let (out, words) = groundwall(&[&["assess", &book, "--as-of", "2025-01-10", "--format", "csv"], args].concat());
        (out.lines().count().saturating_sub(1), words)
    };
    assert_eq!(count(&[]).0, 4);
    assert_eq!(count(&["--sheet", "*house"]).0, 3);
    assert_eq!(count(&["--sheet", "Fan house", "--sheet", "compressors"]).0, 2);
    let (series, words) = count(&["--skip-sheet", "Fan*"]);
    assert_eq!(series, 3);
    assert!(words.contains("sheet Fan house is left out as asked"), "{words}");
    let (_, words) = count(&["--sheet", "Boilers"]);
    assert!(
        words.contains("there is no sheet Boilers\nhint: the sheets are Pump house, Fan house, Compressors, Notes"),
        "{words}"
    );
}

#[test]
fn a_rejected_test_of_another_layout_is_told_by_its_cell() {
    let sheet = "Motor,2024-02-15,2024-05-16\nP-101,420,ok\n";
    let file = tempfile::Builder::new().suffix(".csv").tempfile();
    let written = file.and_then(|file| std::fs::write(file.path(), sheet).map(|()| file));
    assert!(written.is_ok());
    let Ok(file) = written else { return };
    let name = file.path().display().to_string();
    let (out, _) = groundwall(&["check", &name, "--as-of", "2025-01-10"]);
    assert!(out.contains(": 2 rows: 1 accepted, 0 repeated, 1 rejected"), "{out}");
    assert!(
        out.contains(&format!("{name}:C2: resistance r_60s is ok; the cell holds a verdict and no reading")),
        "{out}"
    );
}

/// A sheet that nothing but its owner can tell, described beside it.
#[test]
fn a_layout_that_is_described_is_read_so() {
    let (expected, _) = list("plain-temp.csv");
    let folder = tempfile::tempdir();
    assert!(folder.is_ok());
    let Ok(folder) = folder else { return };
    let sheet = folder.path().join("described.csv");
    assert!(std::fs::copy(path("sheets/described.csv"), &sheet).is_ok());
    let sheet = sheet.display().to_string();
    let assess = || groundwall(&["assess", &sheet, "--as-of", "2025-01-10", "--format", "csv"]);
    let (_, words) = assess();
    assert!(
        words.contains(": no header says which column names the windings: column Day, column 2 (no name)"),
        "{words}"
    );
    let (suggested, _) = groundwall(&["check", &sheet, "--suggest", "--as-of", "2025-01-10"]);
    for line in ["# [[layout]]\n", "# rows = \"4:\"", "# values = \"C:\"", "# winding = \"column A\""] {
        assert!(suggested.contains(line), "{suggested}");
    }
    let settings = "[columns]\na = \"r_60s\"\nb = \"winding_temp_c\"\n\n[[layout]]\nrows = \"4:11\"\nvalues = \"C:F\"\n\
                    holds = \"column B\"\nwinding = \"column A\"\ntested_on = \"row 2\"\n";
    let file = folder.path().join("groundwall.toml");
    assert!(std::fs::write(&file, settings).is_ok());
    let (found, words) = assess();
    assert_eq!(without_record(&found), expected, "{words}");
    assert!(
        words.contains("groundwall.toml: columns, layout are taken from here; --no-config leaves it unread"),
        "{words}"
    );
    assert!(words.contains("described.csv: read as: the layout that [[layout]] describes"), "{words}");
    assert!(std::fs::write(&file, settings.replace("4:11", "40:")).is_ok());
    let (_, words) = assess();
    assert!(
        words.contains(
            "described.csv:C4: 420 is outside of the rows that [[layout]] names\nhint: let rows and values take in"
        ),
        "{words}"
    );
    assert!(std::fs::write(&file, settings.replace("\"row 2\"", "\"2\"")).is_ok());
    let (_, words) = assess();
    assert!(
        words.contains(
            "layout: of tested_on, it is where it stands: \"column A\", \"row 5\", \"cell B2\", \"sheet\" or \"text …\""
        ),
        "{words}"
    );
}
