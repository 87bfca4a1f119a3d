//! Cells that say nothing as they stand: over range without a scale, letters among digits, dates in another form.

use crate::world::{Outcome, World};

/// A reading over range whose scale nobody knows is accepted and is not used: that is said once for each file.
#[test]
fn readings_over_range_without_a_scale_are_counted_aloud() {
    let text = "winding,tested_on,r_60s,winding_temp_c\nP,2025-11-05,OL,25\nP,2026-02-05,900,25\nP,2026-05-05,OL,25\n";
    let world =
        World::new(&[("h.csv", text), ("one.csv", "winding,tested_on,r_60s,winding_temp_c\nQ,2026-01-05,OL,25\n")]);
    let remarks = "h.csv: 2 readings are over range and nobody wrote where the scale ends, so they count for nothing\n\
        hint: name the largest value that the tester can show: --full-scale 1000 (MΩ), or a column full_scale\n";
    let one = "one.csv: 1 reading is over range and nobody wrote where the scale ends, so it counts for nothing\n\
        hint: name the largest value that the tester can show: --full-scale 1000 (MΩ), or a column full_scale\n";
    assert_eq!(
        world.run(&["check", "h.csv", "one.csv"]),
        Outcome::printed(
            0,
            &format!(
                "h.csv: 3 rows: 3 accepted, 0 repeated, 0 rejected\n{remarks}\
                 one.csv: 1 row: 1 accepted, 0 repeated, 0 rejected\n{one}"
            )
        )
    );
    let assessed = world.run(&["assess", "h.csv", "--as-of", "2026-11-25"]);
    assert!(assessed.words.starts_with(remarks), "{}", assessed.words);
    for command in ["check", "assess"] {
        let known = world.run(&[command, "h.csv", "--full-scale", "1000", "--as-of", "2026-11-25"]);
        assert!(!format!("{}{}", known.out, known.words).contains("over range and nobody"), "{command}");
    }
}

#[test]
fn letters_among_digits_are_no_unit() {
    let world = World::new(&[("h.csv", "winding,tested_on,r_60s\nP,2026-01-05,1o4\n")]);
    assert_eq!(
        world.run(&["check", "h.csv"]).out,
        "h.csv: 1 row: 0 accepted, 0 repeated, 1 rejected\n\
         h.csv:2: resistance r_60s is 1o4; a resistance is a number, with `>` or `<` before it and a unit after it if \
         needed, or OL\n\
         hint: write the megohms the tester showed, `>1000` where its scale ended at 1000 MΩ, or leave the cell empty\n"
    );
}

/// A sheet in another form and a master year-month-day, read with one form for both.
#[test]
fn a_form_of_date_that_the_file_does_not_have_leads_to_the_right_one() {
    let check = |day: &str, form: &str| {
        let text = format!("winding,tested_on,r_60s\nP,{day},350\n");
        World::new(&[("h.csv", &text)]).run(&["check", "h.csv", "--date-format", form]).out
    };
    let counts = "h.csv: 1 row: 0 accepted, 0 repeated, 1 rejected\n";
    let plain = check("2026-01-05", "%d.%m.%Y");
    assert!(plain.starts_with("h.csv: 1 row: 1 accepted, 0 repeated, 0 rejected\n"), "{plain}");
    // No day is made of the digits of a year.
    let month = check("May 2023", "%b %d %y");
    assert!(
        month.contains("h.csv:2: tested_on is May 2023; it names no day, so the middle of it is taken\n"),
        "{month}"
    );
    assert_eq!(
        check("3/4/25", "%d/%m/%Y"),
        format!(
            "{counts}h.csv:2: tested_on is 3/4/25; the year of a test lies between 1950 and 2199\n\
             hint: a year of two digits is %y: give --date-format %d/%m/%y\n"
        )
    );
}

/// A row that says the same again is not a second reading, and does not hide one after it.
#[test]
fn a_repeated_row_is_not_counted_again() {
    let text = "winding,tested_on,r_60s,winding_temp_c\nP,2025-11-05,900,25\nP,2025-11-05,900,25\nP,2026-05-05,OL,25\n\
                P,2026-05-05,OL,25\n";
    let checked = World::new(&[("h.csv", text)]).run(&["check", "h.csv"]);
    assert_eq!(
        checked.out,
        "h.csv: 4 rows: 2 accepted, 2 repeated, 0 rejected\n\
         h.csv: 1 reading is over range and nobody wrote where the scale ends, so it counts for nothing\n\
         hint: name the largest value that the tester can show: --full-scale 1000 (MΩ), or a column full_scale\n"
    );
}

/// A rejected row never makes an answer less urgent, even where its date or its reading cannot be read; a footer of the sheet changes nothing.
#[test]
fn a_row_without_a_date_or_a_reading_counts_by_the_worst_it_may_say() {
    let judged = |last: &str| {
        let good = ["2026-01-14,360", "2026-04-15,350", "2026-07-16,365", "2026-10-14,355"];
        let rows: String = good.iter().map(|row| format!("P,{row},40\n")).collect();
        let world = World::new(&[
            ("h.csv", &format!("winding,tested_on,r_60s,winding_temp_c\n{rows}{last}\n")),
            ("r.csv", "winding,rated_volts,construction,insulation,year_made\nP,400,random-wound,thermosetting,2009\n"),
        ]);
        let run = world.run(&["assess", "h.csv", "-r", "r.csv", "--as-of", "2026-11-25", "--format", "json", "-q"]);
        let result: serde_json::Value = serde_json::from_str(&run.out).unwrap();
        let series = result["series"].as_array().unwrap();
        assert_eq!(series.len(), 1, "{last}");
        let first = series[0]["findings"][0]["message"].as_str().unwrap_or_default();
        (series[0]["action"].as_str().unwrap_or_default().to_owned(), first.to_owned())
    };
    let (action, why) = judged("P,2026-13-02,2.4,40");
    assert_eq!(action, "hold");
    assert_eq!(
        why,
        "Rows whose date cannot be read are not used, and may be the latest; the lowest reads 2.4 MΩ, at or below the minimum of \
         5 MΩ: hold it until the row is corrected or the test repeated."
    );
    let (action, why) = judged("P,2026-11-20,1o4,40");
    assert_eq!(action, "recheck");
    assert_eq!(
        why,
        "The latest row was rejected and its reading is unknown, so it could be anything (its date is 2026-11-20 or \
         cannot be read): correct it from the test sheet, or repeat the test before the winding is energised."
    );
    for (row, action) in [
        ("P,someday,1o4,40", "recheck"),
        // A decimal comma makes one cell too many, so that no cell after the date can be trusted.
        ("P,2026-11-20,2,1,40", "recheck"),
        // The rest of a row that cannot be dated may say anything, and it may be the latest.
        ("P,2026-13-02,340,40", "recheck"),
        ("P,2026-08-20,1o4,40", "keep"),
        ("Average,,357,40", "keep"),
        ("Printed on 3 November,,see sheet 2,40", "keep"),
        (",2026-11-20,2.4,40", "keep"),
    ] {
        assert_eq!(judged(row).0, action, "{row}");
    }
}

/// A slip of the year must not put a bad test out of the way. Judged as of a given day, later tests are left out whenever they were made.
#[test]
fn a_date_after_today_may_be_the_latest_test() {
    let history =
        "winding,tested_on,r_60s,winding_temp_c\nP,2025-07-15,900,30\nP,2025-10-15,880,30\nP,2126-01-15,2,30\n";
    let register = "winding,rated_volts,construction,insulation,year_made\nP,400,random-wound,thermosetting,2005\n";
    let world = World::new(&[("h.csv", history), ("r.csv", register)]);
    let judged = world.run(&["assess", "h.csv", "--register", "r.csv", "--format", "json"]);
    assert!(judged.out.contains("\"action\": \"hold\""), "{}", judged.out);
    let sentence = "Rows dated after today are not used, and may be the latest; the lowest reads 2 MΩ, at or below the minimum of 5 MΩ: \
                    hold it until the row is corrected or the test repeated.";
    assert!(judged.out.contains(sentence), "{}", judged.out);
    assert!(judged.words.contains("tested_on is 2126-01-15; no test can have been made after "), "{}", judged.words);
    let earlier = world.run(&["assess", "h.csv", "--register", "r.csv", "--format", "json", "--as-of", "2025-11-25"]);
    assert!(earlier.out.contains("1 test is dated after 2025-11-25 and was left out."), "{}", earlier.out);
    assert!(earlier.out.contains("\"action\": \"gather\""), "{}", earlier.out);
}

/// What kept a test from being made may be what the winding suffers from.
#[test]
fn a_row_without_a_reading_that_tells_of_trouble_is_not_passed_over() {
    for (reading, note, action) in [
        ("NT", "motor under water", "recheck"),
        ("", "could not test, earth fault", "recheck"),
        ("not tested", "winding burnt", "recheck"),
        ("NT", "motor running", "gather"),
    ] {
        let history = format!(
            "winding,tested_on,r_60s,winding_temp_c,note\nP,2025-07-15,900,30,\nP,2025-10-15,880,30,\nP,2026-07-15,{reading},,\"{note}\"\n"
        );
        let register = "winding,rated_volts,construction,insulation,year_made\nP,400,random-wound,thermosetting,2005\n";
        let world = World::new(&[("h.csv", history.as_str()), ("r.csv", register)]);
        let judged =
            world.run(&["assess", "h.csv", "--register", "r.csv", "--format", "json", "--as-of", "2026-11-25"]);
        assert!(judged.out.contains(&format!("\"action\": \"{action}\"")), "{note}: {}", judged.out);
    }
}

/// A value that its reader gives up, or that does not say where it is, costs its row; no cell beside it is taken for another. Where it may have
/// been in the row before as well, both are rejected.
#[test]
fn an_odd_cell_of_a_workbook_rejects_its_row_and_not_the_workbook() {
    let data = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/cli/data/odd-cells.xlsx");
    let world = World::new(&[]);
    std::fs::copy(data, world.path("h.xlsx")).unwrap();
    let checked = world.run(&["check", "h.xlsx"]);
    assert_eq!(checked.status, 0, "{}", checked.words);
    assert!(checked.out.starts_with("h.xlsx:Tests: 10 rows: 5 accepted, 0 repeated, 5 rejected\n"), "{}", checked.out);
    assert!(
        checked.out.contains(
            "\nh.xlsx:Tests:4: winding is unreadable; an identifier has no line breaks or control characters \
             (4 rows alike, from line 4 to 10)\n"
        ),
        "{}",
        checked.out
    );
}
