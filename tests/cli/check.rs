use super::world::{Outcome, World, demo};

const HEADER: &str = "winding,tested_on,r_60s\n";

/// What is said of a file without a column of temperatures.
fn without_temperatures(file: &str) -> String {
    format!(
        "{file}: there is no column of winding temperatures, so its readings cannot be brought to one temperature\n\
         hint: add a column winding_temp_c, or winding_temp_f\n"
    )
}

#[test]
fn files_that_cannot_be_read_as_histories_are_one_sentence_each() {
    let world = World::new(&[
        ("plant.csv", "winding,tested_on,r_60s\nP-1,2026-01-05,5\n"),
        ("empty.csv", ""),
        ("header.csv", HEADER),
        ("renamed.csv", "windings,test date,R60\nP-1,2026-01-05,5\n"),
    ]);
    std::fs::create_dir(world.path("folder")).unwrap();
    for (file, words) in [
        ("none.txt", "none.txt: there is no such file\nhint: check the spelling and the folder\n"),
        ("plnt.csv", "plnt.csv: there is no such file\nhint: the most similar name in that folder is plant.csv\n"),
        ("folder", "folder: this is a folder, not a file\nhint: name the files inside it\n"),
        (
            "empty.csv",
            "empty.csv: the file is empty\n\
             hint: the first line names the columns, such as winding,tested_on,r_60s; one row per test follows\n",
        ),
        (
            "header.csv",
            "header.csv: there is a header but no row below it\nhint: one row per test follows the header\n",
        ),
        (
            "renamed.csv",
            "renamed.csv:1: the column winding is missing; the header has windings, test date, R60\n\
             hint: say under [columns] in the policy file which column holds it; \
             `groundwall check --suggest` writes that section (closest to winding: windings); if all tests are of one motor, write its name above the header, such as Motor: P-101\n",
        ),
    ] {
        assert_eq!(world.run(&["check", "plant.csv", file]), Outcome::refused(2, words));
    }
    let all = world.run(&["check", "empty.csv", "header.csv"]);
    assert_eq!((all.status, all.words.lines().count()), (2, 4));
}

#[cfg(unix)]
#[test]
fn a_file_without_permission_is_said_so() {
    use std::os::unix::fs::PermissionsExt;
    let world = World::new(&[("plant.csv", HEADER)]);
    std::fs::set_permissions(world.path("plant.csv"), std::fs::Permissions::from_mode(0o000)).unwrap();
    // Whoever may read everything cannot see this refusal; the sentence itself is tested beside the code.
    if std::fs::read(world.path("plant.csv")).is_err() {
        assert_eq!(
            world.run(&["check", "plant.csv"]),
            Outcome::refused(
                2,
                "plant.csv: this file may not be read by you\n\
                 hint: ask its owner for permission to read it, or work on a copy\n"
            )
        );
    }
}

#[test]
fn bad_cells_reject_their_row_and_the_rest_goes_on() {
    let world = World::new(&[(
        "plant.csv",
        "winding,tested_on,r_60s,winding_temp_c,rh_percent\n\
         P-1,2026-01-05,-3.1,,\n\
         P-1,2026-01-06,NaN,,\n\
         P-1,2026-01-07,123456789012,,\n\
         P-1,2026-01-08,5 mho,,\n\
         P-1,2026-01-09,5,700,\n\
         P-1,2026-01-10,5,,140\n\
         P-1,2025-02-30,5,,\n\
         P-1,03/04/2025,5,,\n\
         P-1,2026-01-11,5,20,60\n",
    )]);
    let outcome = world.run(&["check", "plant.csv"]);
    let expected = "plant.csv: 9 rows: 1 accepted, 0 repeated, 8 rejected\n\
        plant.csv:2: resistance r_60s is -3.1; a resistance must be greater than 0 MΩ\n\
        hint: if the tester showed over-range, write `>` before the largest value it can show\n\
        plant.csv:3: resistance r_60s is NaN; a resistance is a number, with `>` or `<` before it and a unit after it if needed, or OL\n\
        hint: write the megohms the tester showed, `>1000` where its scale ended at 1000 MΩ, or leave the cell empty\n\
        plant.csv:4: resistance r_60s is 123456789012; a resistance must lie between 0.000001 and 100000000 MΩ\n\
        hint: check the unit and the digits against the test sheet\n\
        plant.csv:5: resistance r_60s is 5 mho; what follows the number is neither a unit of resistance nor a remark that is understood\n\
        hint: write the number with Ω, kΩ, MΩ, GΩ or TΩ, and any text into the note or between brackets\n\
        plant.csv:6: winding_temp_c is 700; a temperature lies between −60 and 250 °C\n\
        plant.csv:7: rh_percent is 140; a relative humidity lies between 0 and 100 %\n\
        hint: check the digits and the unit against the test sheet\n\
        plant.csv:8: tested_on is 2025-02-30; this day is not in the calendar\n\
        hint: check the date against the test sheet\n\
        plant.csv:9: tested_on is 03/04/2025; a date is written year-month-day, such as 2026-04-03; day and month are never guessed\n\
        hint: specify the date format: --date-format %d/%m/%Y if the day comes first, %m/%d/%Y if the month does\n";
    assert_eq!(outcome, Outcome::printed(0, expected));
    assert_eq!(world.run(&["check", "--strict", "plant.csv"]), Outcome::printed(3, expected));
}

/// Fifty times the same sentence hides the one that is another.
#[test]
fn rows_rejected_alike_are_told_by_the_first_of_them() {
    let rows: String = (1..=9).map(|month| format!("P-1,0{month}/04/2025,5\n")).collect();
    let text = format!("{HEADER}{rows}P-1,2026-01-05,wet\nP-1,10/04/2025,5\n");
    let world = World::new(&[("a.csv", &text)]);
    let date =
        "hint: specify the date format: --date-format %d/%m/%Y if the day comes first, %m/%d/%Y if the month does\n";
    assert_eq!(
        world.run(&["check", "a.csv", "--rejects", "out.csv"]),
        Outcome::printed(
            0,
            &format!(
                "a.csv: 11 rows: 0 accepted, 0 repeated, 11 rejected\n\
                 a.csv:2: tested_on is 01/04/2025; a date is written year-month-day, such as 2026-04-03; day and month are \
                 never guessed (10 rows alike, from line 2 to 12)\n{date}\
                 a.csv:11: resistance r_60s is wet; a resistance is a number, with `>` or `<` before it and a unit after it \
                 if needed, or OL\n\
                 hint: write the megohms the tester showed, `>1000` where its scale ended at 1000 MΩ, or leave the cell \
                 empty\n\
                 hint: --rejects FILE writes every rejected row with its reason, --format json lists them\n"
            )
        )
    );
    // Files for programs and for mending are complete.
    assert_eq!(world.read("out.csv").lines().count(), 12);
    let report: serde_json::Value =
        serde_json::from_str(&world.run(&["check", "a.csv", "--format", "json"]).out).unwrap();
    assert_eq!(report["rejected"].as_array().unwrap().len(), 11);
    // Three are few enough to be named.
    let few = format!("{HEADER}P-1,01/04/2025,5\nP-1,02/04/2025,5\nP-1,03/04/2025,5\nP-1,2026-01-05,5\n");
    std::fs::write(world.path("a.csv"), few).unwrap();
    let run = world.run(&["check", "a.csv"]);
    assert_eq!((run.out.matches("a.csv:").count(), run.out.contains("alike")), (5, false), "{}", run.out);
}

#[test]
fn options_say_what_is_not_guessed() {
    let world = World::new(&[("a.csv", "winding,tested_on,r_60s\nP-1,03/04/2025,\"3,4\"\nP-2,03/04/2025,OL\n")]);
    let outcome =
        world.run(&["check", "--date-format", "%d/%m/%Y", "--decimal-comma", "--full-scale", "2 GΩ", "a.csv"]);
    assert_eq!(
        outcome,
        Outcome::printed(
            0,
            &format!("a.csv: 2 rows: 2 accepted, 0 repeated, 0 rejected\n{}", without_temperatures("a.csv"))
        )
    );
    let outcome = world.run(&["check", "--date-format", "dd/mm/yyyy", "a.csv"]);
    assert_eq!(outcome.status, 2);
    assert!(outcome.words.starts_with(
        "error: invalid value 'dd/mm/yyyy' for '--date-format <FORM>': \
         a form of date holds day, month and year as in %d/%m/%Y or %m/%d/%Y or %d.%m.%y, or month and year as in %Y%m\n"
    ));
}

#[test]
fn standard_input_is_an_input() {
    let world = World::new(&[]);
    assert_eq!(
        world.run_with(&["check", "-"], b"winding;tested_on;r_60s\nP-1;2026-01-05;0,5\n"),
        Outcome::printed(
            0,
            &format!(
                "standard input: 1 row: 1 accepted, 0 repeated, 0 rejected\n{}",
                without_temperatures("standard input")
            )
        )
    );
}

#[test]
fn repeats_are_counted_and_contradictions_kept_out_across_files() {
    let world = World::new(&[
        ("a.csv", "winding,tested_on,r_60s\nP-1,2026-01-05,5\nP-2,2026-01-05,7\n"),
        ("b.csv", "winding,tested_on,r_60s\nP-1,2026-01-05,5\nP-2,2026-01-05,8\n"),
    ]);
    // It holds for both rows and is given once.
    let hint = "hint: keep the right row and delete the other; if there were two tests, write the time of day too\n";
    assert_eq!(
        world.run(&["check", "a.csv", "b.csv"]),
        Outcome::printed(
            0,
            &format!(
                "a.csv: 2 rows: 1 accepted, 0 repeated, 1 rejected\n{}\
                 b.csv: 2 rows: 0 accepted, 1 repeated, 1 rejected\n\
                 a.csv:3: tested_on is 2026-01-05; b.csv:3 says something else about the same test of P-2, all-earth \
                 (r_60s is 7 MΩ here and 8 MΩ there), so neither is used\n\
                 b.csv:3: tested_on is 2026-01-05; a.csv:3 says something else about the same test of P-2, all-earth \
                 (r_60s is 8 MΩ here and 7 MΩ there), so neither is used\n{hint}",
                without_temperatures("a.csv")
            )
        )
    );
}

#[test]
fn rejects_can_be_mended_and_read_again() {
    let world = World::new(&[(
        "a.csv",
        "\u{feff}note;winding;tested_on;r_60s\r\n\"damp; cold\";P-1;2026-01-05;wet\r\n;P-1;2026-01-06;5\r\n",
    )]);
    let outcome = world.run(&["check", "a.csv", "--rejects", "out.csv"]);
    assert_eq!(outcome.status, 0);
    let rejects = world.read("out.csv");
    assert_eq!(
        rejects,
        "\u{feff}note;winding;tested_on;r_60s;\"rejected_at\";\"rejected_because\"\r\n\
         \"damp; cold\";P-1;2026-01-05;wet;\"a.csv:2\";\"a.csv:2: resistance r_60s is wet; a resistance is a number, \
         with `>` or `<` before it and a unit after it if needed, or OL (write the megohms the tester showed, `>1000` \
         where its scale ended at 1000 MΩ, or leave the cell empty)\"\r\n"
    );
    std::fs::write(world.path("mended.csv"), rejects.replacen(";wet;", ";4,5;", 1)).unwrap();
    let outcome = world.run(&["check", "mended.csv"]);
    assert!(outcome.out.starts_with("mended.csv: 1 row: 1 accepted, 0 repeated, 0 rejected\n"), "{}", outcome.out);
}

#[test]
fn rejects_of_different_headers_need_two_runs() {
    let world = World::new(&[
        ("a.csv", "winding,tested_on,r_60s\nP-1,2026-01-05,wet\n"),
        ("b.csv", "tested_on,winding,r_60s\n2026-01-05,P-2,wet\n"),
    ]);
    let outcome = world.run(&["check", "a.csv", "b.csv", "--rejects", "out.csv"]);
    assert_eq!(
        (outcome.status, outcome.words.as_str()),
        (
            2,
            "the headers of a.csv and b.csv differ, so their rejected rows cannot be written to one file\n\
             hint: run check --rejects once for each of them\n"
        )
    );
    assert_eq!(world.names(), ["a.csv", "b.csv"]);
}

#[test]
fn unregistered_windings_are_reported_once_each() {
    let world = World::new(&[
        ("a.csv", "winding,tested_on,r_60s,crew\nX-9,2026-01-05,5,1\nX-9,2026-02-05,5,1\nP-1,2026-01-05,5,1\n"),
        ("r.csv", "winding,paint\nP-1,red\n"),
    ]);
    assert_eq!(
        world.run(&["check", "a.csv", "--register", "r.csv", "--as-of", "2026-01-31"]),
        Outcome::printed(
            0,
            &format!(
                "a.csv: 3 rows: 3 accepted, 0 repeated, 0 rejected\n\
                 a.csv: ignored column: crew\n{}\
                 r.csv: ignored column: paint\n\
                 r.csv: no column of rated voltages is understood, so minimums that follow from them are assumed\n\
                 hint: add a column rated_volts with the voltages of the nameplates, in V\n\
                 r.csv: winding X-9 is not in the register; it is judged with what is known\n\
                 1 test is later than 2026-01-31 and would not be judged\n",
                without_temperatures("a.csv")
            )
        )
    );
}

#[test]
fn a_register_that_cannot_be_read_does_not_stop_the_check() {
    let register = "winding,rated_volts,drive_fed\nP-1,4OO,perhaps\nP-2,400,\n";
    let world = World::new(&[
        ("a.csv", "winding,tested_on,r_60s,winding_temp_c\nP-1,2026-01-05,5,40\n"),
        ("r.csv", register),
        ("twice.csv", &format!("{register}P-2,690,\n")),
    ]);
    let check = |register: &str, more: &[&str]| {
        world.run(&[&["check", "a.csv", "--as-of", "2026-11-25", "--register", register], more].concat())
    };
    let counts = "a.csv: 1 row: 1 accepted, 0 repeated, 0 rejected\n";
    let cells = "r.csv:2: rated_volts is 4OO; this column holds numbers, optionally followed by V or kV\n\
                 hint: write digits only, such as 6600, with no mark between thousands\n\
                 r.csv: 1 cell cannot be read; its value is treated as unknown, so its winding is judged on the strict side\n\
                 r.csv:2: drive_fed is perhaps; drive_fed is yes or no, and is read as yes\n\
                 hint: yes for a machine that a frequency converter feeds\n\
                 r.csv: 1 cell cannot be read; no rule reads this column, so the answers are the same\n";
    let untested = "r.csv: 1 winding of the register has no test and is not judged: P-2\n";
    assert_eq!(check("r.csv", &[]), Outcome::printed(0, &format!("{counts}{cells}{untested}")));
    assert_eq!(check("r.csv", &["--strict"]), Outcome::printed(3, &format!("{counts}{cells}{untested}")));
    assert_eq!(
        check("twice.csv", &[]),
        Outcome {
            status: 2,
            out: counts.to_owned(),
            words:
                "twice.csv:4: winding is P-2, as on line 3, with other data; a winding has one row in the register\n\
                    hint: delete the row that is wrong\n"
                    .to_owned()
        }
    );
    // The winding concerned is not judged mildly, the other one is judged as ever.
    let judged =
        world.run(&["assess", "a.csv", "--as-of", "2026-01-10", "--register", "r.csv", "--format", "csv", "--strict"]);
    assert_eq!(judged.status, 3);
    assert!(judged.out.contains("register-unread") && judged.words.contains(cells), "{}{}", judged.out, judged.words);
}

#[test]
fn json_has_every_count_and_every_fault() {
    let world = World::new(&[("a.csv", "winding,tested_on,r_60s,crew\nP-1,2026-01-05,-1,1\nP-1,2026-01-06,5,1\n")]);
    let outcome = world.run(&["check", "a.csv", "--format", "json", "--as-of", "2026-11-25"]);
    let report: serde_json::Value = serde_json::from_str(&outcome.out).unwrap();
    assert_eq!(report["schema"], "groundwall/check/1");
    let input = &report["input"][0];
    assert_eq!(
        (&input["file"], &input["rows"], &input["accepted"], &input["repeated"], &input["rejected"]),
        (&"a.csv".into(), &2.into(), &1.into(), &0.into(), &1.into())
    );
    assert_eq!(input["columns_left_alone"][0], "crew");
    assert_eq!(input["sha256"].as_str().map(str::len), Some(64));
    assert_eq!(
        report["rejected"][0]["faults"][0]["message"],
        "a.csv:2: resistance r_60s is -1; a resistance must be greater than 0 MΩ"
    );
    assert!(report["not_in_register"].is_null());
}

#[test]
fn the_dirty_demo_adds_up() {
    let world = World::new(&[]);
    let outcome = world.run(&["check", &demo("history-dirty.csv"), "--format", "json", "--as-of", "2026-11-25"]);
    let report: serde_json::Value = serde_json::from_str(&outcome.out).unwrap();
    let count = |key: &str| report["input"][0][key].as_u64().unwrap();
    assert_eq!(count("rows"), count("accepted") + count("repeated") + count("rejected"));
    assert_eq!(report["rejected"].as_array().unwrap().len() as u64, count("rejected"));
    assert!(count("accepted") > 0 && count("repeated") > 0 && count("rejected") > 0);
}

#[test]
fn names_that_differ_by_their_unicode_form_are_asked_about() {
    let world = World::new(&[
        ("h.csv", "winding,tested_on,r_60s,winding_temp_c\nPömp-1,2026-01-05,50,40\nPo\u{308}mp-1,2026-02-05,40,40\n"),
        ("r.csv", "winding,rated_volts\nPömp-1,400\n"),
    ]);
    let run = world.run(&["check", "h.csv", "--register", "r.csv"]);
    assert!(
        run.out.contains(
            "Po\u{308}mp-1, Pömp-1: one winding written in several ways? each is judged by its own tests\n\
             hint: write the name alike in all rows, or name the others under aliases in the register or [names] in groundwall.toml\n"
        ),
        "{}",
        run.out
    );
    assert!(
        run.out.contains(
            "r.csv: winding Po\u{308}mp-1 is not in the register; it is judged with what is known\n\
             hint: the register has Pömp-1; write the name alike in both files, or name Po\u{308}mp-1 beside it under aliases\n"
        ),
        "{}",
        run.out
    );
}

/// Of two rules that as many rows break, the same is always shown: that of the first fault.
#[test]
fn the_commonest_reason_is_always_the_same() {
    let world = World::new(&[("h.csv", "winding,tested_on,r_60s\nP-1,2026-01-05,5\n,2026-01-06,x\n,2026-01-07,x\n")]);
    for _ in 0..6 {
        let run = world.run(&["assess", "h.csv", "--as-of", "2026-11-25"]);
        assert!(
            run.words.contains(
                "h.csv:3: resistance r_60s is x; a resistance is a number, with `>` or `<` before it and a unit after it if needed, or OL \
                 (2 of the 2 rows)\nhint: write the megohms the tester showed, "
            ),
            "{}",
            run.words
        );
    }
}
