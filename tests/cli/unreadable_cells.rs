//! Cells that say nothing as they stand: over range without a scale, letters among digits, dates in another form.

use crate::world::{Outcome, World};

/// A reading over range whose scale nobody knows is accepted and counts for nothing: that is said once for each file.
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
            "{counts}h.csv:2: tested_on is 3/4/25; the year of a test lies between 1900 and 2199\n\
             hint: a year of two digits is %y: give --date-format %d/%m/%y\n"
        )
    );
}

/// A row that says the same again is no second reading, and does not hide one behind it.
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
