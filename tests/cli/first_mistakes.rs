//! The first file of a newcomer: each message says what to do next.

use crate::world::{Outcome, World};

pub(crate) const CAUTIONS: &str = "This does not release a machine. Before any test or work: isolate, lock out,\n\
    prove dead, disconnect drives, transformers, arresters and capacitors, earth\n\
    detectors and heaters; after a test discharge at least four times the charging\n\
    time. Local codes and licensed people decide.\n";

fn assess(text: &str, more: &[&str]) -> Outcome {
    World::new(&[("h.csv", text)]).run(&[&["assess", "h.csv", "--as-of", "2026-11-25"], more].concat())
}

const ALL_DATES_WRONG: &str = "h.csv:2: tested_on is 04/01/2026; a date is written year-month-day, such as 2026-04-03; day \
    and month are never guessed (2 of the 2 rows)\n\
    hint: specify the date format: --date-format %d/%m/%Y if the day comes first, %m/%d/%Y if the month does\n\
    all 2 rows were rejected, so nothing is judged\n\
    hint: `groundwall check` says why each row was rejected\n";

#[test]
fn dates_with_the_day_first() {
    let text = "winding,tested_on,r_60s,winding_temp_c\nPump 1,04/01/2026,350,25\nPump 1,05/04/2026,320,27\n";
    assert_eq!(
        assess(text, &[]),
        Outcome::refused(2, &format!("h.csv: 2 rows: 0 accepted, 0 repeated, 2 rejected\n{ALL_DATES_WRONG}"))
    );
    // Standard output stays empty, and the reason is printed even with --quiet.
    let quiet = assess(text, &["-q", "--format", "json", "--out", "result.json"]);
    assert_eq!(quiet, Outcome::refused(2, ALL_DATES_WRONG));
    assert_eq!(assess(text, &["-q", "--strict"]), Outcome::refused(3, ALL_DATES_WRONG));
    let world = World::new(&[("h.csv", text), ("good.csv", "winding,tested_on,r_60s\nP,2026-01-05,5\n")]);
    for command in [&["round"][..], &["replay"], &["report", "--out", "r"], &["explain", "--winding", "Pump 1"]] {
        let run = world.run(&[command, &["h.csv", "--as-of", "2026-11-25", "-q"]].concat());
        assert_eq!(run, Outcome::refused(2, ALL_DATES_WRONG), "{command:?}");
    }
    assert!(!world.path("r/index.html").exists());
    // One file that can be read is something to judge, and to say what was rejected is what `check` is asked for.
    assert_eq!(world.run(&["assess", "h.csv", "good.csv", "--as-of", "2026-11-25"]).status, 0);
    assert_eq!(world.run(&["check", "h.csv"]).status, 0);
    let again = assess(text, &["--date-format", "%d/%m/%Y", "-q"]);
    assert_eq!((again.status, again.words.as_str()), (0, ""));
    assert!(again.out.contains("\ngather  Pump 1 "), "{}", again.out);
}

/// The second and the fourth row would be tests of 11 December and 5 August on which nothing was tested.
#[test]
fn dates_with_day_and_month_exchanged_are_not_judged() {
    let rows = "P,19/11/2025,350,25\nP,12/11/2025,340,25\nP,14/05/2026,330,25\nP,05/08/2026,320,25\n";
    let text = format!("winding,tested_on,r_60s,winding_temp_c\n{rows}");
    let exchanged = ["--date-format", "%m/%d/%Y"];
    let refused = Outcome {
        status: 2,
        out: String::new(),
        words: "h.csv:2: tested_on is 19/11/2025; 2 dates fit only with day and month exchanged, and no accepted date lies \
                after the 12th of a month: the file was read the wrong way round\n\
                hint: give --date-format %d/%m/%Y; if the other dates are right all the same, leave these rows out of the \
                file\n"
            .to_owned(),
    };
    assert_eq!(assess(&text, &exchanged), refused);
    let world = World::new(&[("h.csv", &text)]);
    let filed = ["add", "h.csv", "--to", "master.csv", "--create", "--skip-rejected", "--date-format", "%m/%d/%Y"];
    assert_eq!(world.run(&filed), refused);
    assert_eq!(world.names(), [".master.csv.lock", "h.csv"]);
    // It is listed all the same, and what the hint says leads to a judgement.
    assert_eq!(world.run(&["check", "h.csv", "--date-format", "%m/%d/%Y"]).status, 0);
    let again = assess(&text, &["--date-format", "%d/%m/%Y", "-q"]);
    assert_eq!((again.status, again.words.as_str()), (0, ""));
    // One date after the twelfth shows that the form is right, and the other row is a slip.
    let mended = format!("{text}P,08/21/2026,310,25\n");
    assert_eq!(assess(&mended, &exchanged).status, 0);
}

#[test]
fn the_form_proposed_for_dates_has_their_own_marks() {
    for (day, form) in [
        ("03.11.2026", "%d.%m.%Y if the day comes first, %m.%d.%Y if the month does"),
        ("3-11-2026", "%d-%m-%Y if the day comes first, %m-%d-%Y if the month does"),
        ("03/11/26", "%d/%m/%y if the day comes first, %m/%d/%y if the month does, %y/%m/%d if the year does"),
    ] {
        let text = format!("winding,tested_on,r_60s,winding_temp_c\nP,{day},350,25\n");
        let run = assess(&text, &[]);
        let hint = format!("\nhint: specify the date format: --date-format {form}\n");
        assert!(run.words.contains(&hint), "{}", run.words);
        // Doing what is said leads to a judgement.
        let again = assess(&text, &["--date-format", form.split(' ').next().unwrap(), "-q"]);
        assert_eq!((again.status, again.words.as_str()), (0, ""), "{day}");
        assert!(again.out.contains("\ngather  P "), "{}", again.out);
    }
    // With the year first or the month in letters there is no doubt.
    for day in ["2026/11/3", "3-Nov-26", "3/Nov/2026"] {
        let text = format!("winding,tested_on,r_60s,winding_temp_c\nP,{day},350,25\n");
        let run = assess(&text, &["-q"]);
        assert!(run.out.contains("\ngather  P "), "{}", run.out);
    }
}

#[test]
fn rows_that_are_wrong_in_different_ways_are_left_to_check() {
    let text = "winding,tested_on,r_60s,winding_temp_c\nP,2026-01-05,wet,25\nP,2026-02-30,5,25\n,2026-01-05,5,25\nP,2026-04-05,5,25\n";
    let run = assess(text, &[]);
    let said = "h.csv: 4 rows: 1 accepted, 0 repeated, 3 rejected\nhint: `groundwall check` says why each row was rejected\n\
                there is no register";
    assert!(run.words.starts_with(said), "{}", run.words);
}

#[test]
fn no_register_and_no_temperatures() {
    let text = "winding,tested_on,r_60s\nPump 1,2026-10-14,350\n";
    let run = assess(text, &[]);
    assert_eq!(run.status, 0);
    assert_eq!(
        run.words,
        format!(
            "h.csv: there is no column of winding temperatures, so its readings cannot be brought to one temperature\n\
             hint: add a column winding_temp_c, or winding_temp_f\n\
             there is no register, so the minimum of every winding is assumed\n\
             hint: list them in a CSV file with the columns winding, rated_volts, construction, insulation, year_made, \
             and name it with --register\n{CAUTIONS}"
        )
    );
    // The hints are true: with both, neither is said again.
    let world = World::new(&[
        ("h.csv", "winding,tested_on,r_60s,winding_temp_f\nPump 1,2026-10-14,350,77\n"),
        (
            "r.csv",
            "winding,rated_volts,construction,insulation,year_made\nPump 1,400,random-wound,thermosetting,2004\n",
        ),
    ]);
    let run = world.run(&["assess", "h.csv", "--register", "r.csv", "--as-of", "2026-11-25"]);
    assert_eq!((run.status, run.words.as_str()), (0, CAUTIONS));
    assert!(run.out.contains(" 5 MΩ "), "{}", run.out);
}

/// Whoever reads the value reads that it is assumed: 100 MΩ for 6 kV of unknown construction, 5 MΩ where nothing is known.
#[test]
fn a_minimum_that_is_assumed_says_so_beside_the_value() {
    let world = World::new(&[
        ("h.csv", "winding,tested_on,r_60s,winding_temp_c\nA,2026-10-14,350,25\nB,2026-10-14,350,25\n"),
        ("r.csv", "winding,rated_volts\nA,6000\n"),
    ]);
    let history = ["h.csv", "--register", "r.csv", "--as-of", "2026-11-25", "-q"];
    let run = |command: &str, more: &[&str]| world.run(&[&[command], &history[..], more].concat()).out;
    let table = run("assess", &[]);
    let row = |text: &str, name: &str| text.lines().find(|line| line.contains(name)).unwrap().to_owned();
    assert!(row(&table, " A ").contains("  100 MΩ assumed  "), "{table}");
    assert!(row(&table, " B ").contains("  5 MΩ assumed  "), "{table}");
    let said = "2 minima are assumed, on the strict side: enter ratings\nand constructions into the register.\n";
    assert!(table.ends_with(said), "{table}");
    let rule = "assumed for want of a rated voltage and a construction: winding below 1 kV, IEEE Std 43 cl. 12.3";
    assert!(run("assess", &["--format", "csv"]).contains(&format!(",\"{rule}\",")));
    assert!(run("assess", &["--format", "json"]).contains(rule));
    assert!(
        run("explain", &["--winding", "B"]).contains("5 MΩ after one minute at 40 °C: assumed for want of a rated")
    );
    let round = run("round", &[]);
    assert!(row(&round, " B ").ends_with(" MΩ ?") && row(&round, " A ").ends_with(" MΩ ?"), "{round}");
    assert!(
        round.contains(
            "\n\n? assumed: rated voltage or construction is not known, so the strict side is taken. Read the\n  \
             nameplate before the test.\n"
        ),
        "{round}"
    );
    assert!(run("chart", &["--winding", "B", "--out", "b.svg"]).is_empty());
    assert!(world.read("b.svg").contains("assumed minimum"));
}

#[test]
fn another_mark_between_the_cells() {
    let refused = |text, args: &[&str], hint: &str| {
        let header = str::lines(text).next().unwrap();
        assert_eq!(
            assess(text, args),
            Outcome::refused(
                2,
                &format!(
                    "h.csv:1: the columns winding, tested_on, r_60s are missing; the header has {header}\nhint: {hint}\n"
                )
            )
        );
    };
    refused(
        "winding|tested_on|r_60s\nP|2026-01-05|5\n",
        &[],
        "`|` is not a supported delimiter; save the file with commas, semicolons or tabs between them",
    );
    refused(
        "winding,tested_on,r_60s\nP,2026-01-05,5\n",
        &["--delimiter", "semicolon"],
        "the file seems to be separated by `,`: leave out --delimiter, or use --delimiter comma",
    );
    // A title with commas in it is not a reason to rename columns.
    assert_eq!(
        assess("Tests of the plant, north, 2026\n\nMotor;Date;IR 1 min\nP;2026-01-05;5\n", &["--delimiter", ","]),
        Outcome::refused(
            2,
            "h.csv:1: the columns winding, tested_on, r_60s are missing; the header has Tests of the plant, north, 2026\n\
             hint: the file seems to be separated by `;`: leave out --delimiter, or use --delimiter semicolon\n"
        )
    );
}

#[test]
fn headers_of_their_own() {
    let text = "Motor,Date,Reading at noon,Temp\nPump 1,2026-10-14,350,25\n";
    let world = World::new(&[("h.csv", text)]);
    assert_eq!(
        world.run(&["assess", "h.csv"]),
        Outcome::refused(
            2,
            "h.csv:1: the column r_60s is missing; the header has Motor, Date, Reading at noon, Temp\n\
             hint: say under [columns] in the policy file which column holds it; \
             `groundwall check --suggest` writes that section; a reading after one minute is r_60s in MΩ, r_60s_kohm in kΩ, r_60s_gohm in GΩ; after ten it is r_600s\n"
        )
    );
    let suggested = world.run(&["check", "h.csv", "--suggest"]).out;
    assert!(
        suggested.ends_with(
            "# still missing: r_60s; take away the # before every line that holds it, and write what it holds; a column of readings without a line is not read\n"
        ),
        "{suggested}"
    );
    // Doing what is said leads to a judgement.
    let mended = suggested.replace("# \"Reading at noon\" = \"-\"", "\"Reading at noon\" = \"r_60s\"");
    assert_ne!(mended, suggested);
    std::fs::write(world.path("p.toml"), mended).unwrap();
    let run = world.run(&["assess", "h.csv", "--policy", "p.toml", "--as-of", "2026-11-25", "-q"]);
    assert_eq!((run.status, run.words.as_str()), (0, ""));
    assert!(run.out.contains("Pump 1"), "{}", run.out);
}

#[test]
fn units_in_cells() {
    let text = "winding,tested_on,r_60s,winding_temp_c\nA,2026-10-14,0.35 GOhm,25 °C\nB,2026-10-14,350000k,25\nC,2026-10-14,350,25 °C\n";
    let run = assess(text, &["--format", "json", "-q"]);
    assert_eq!((run.status, run.words.as_str()), (0, ""));
    let result: serde_json::Value = serde_json::from_str(&run.out).unwrap();
    let series = result["series"].as_array().unwrap();
    let read: Vec<f64> = series.iter().map(|one| one["latest"]["r60_mohm"].as_f64().unwrap()).collect();
    assert_eq!(read.len(), 3, "{}", run.out);
    assert!(read.iter().all(|mohm| (mohm - 350.0).abs() < 1e-9), "{read:?}");
}

#[test]
fn a_register_that_is_not_quite_one() {
    let world = World::new(&[
        ("h.csv", "winding,tested_on,r_60s,winding_temp_c\npump-1,2026-10-14,350,25\n"),
        ("other.csv", "Pumpe,Spannung\nPump 1,400\n"),
        ("r.csv", "winding,rated_volts,construction\nPump 1,6.6 kV,form-wound\n"),
    ]);
    assert_eq!(
        world.run(&["assess", "h.csv", "--register", "other.csv"]),
        Outcome::refused(
            2,
            "other.csv:1: the column winding is missing; the header has Pumpe, Spannung\n\
             hint: name the column that holds the windings; the columns of a register are winding, site, area, \
             description, rated_volts, rated_kw, construction, drive_fed, insulation, thermal_class, year_made, year_rewound, \
             interval_days, minimum_mohm, minimum_basis, group, criticality, work_order, maker, aliases\n"
        )
    );
    let run = world.run(&["assess", "h.csv", "--register", "r.csv", "--as-of", "2026-11-25"]);
    assert_eq!(
        run.words,
        format!(
            "r.csv: winding pump-1 is not in the register; it is judged with what is known\n\
             hint: the register has Pump 1; write the name alike in both files, or name pump-1 beside it under aliases\n\
             r.csv: 1 winding of the register has no test and is not judged: Pump 1\n{CAUTIONS}"
        )
    );
    std::fs::write(world.path("h.csv"), "winding,tested_on,r_60s,winding_temp_c\nPump 1,2026-10-14,350,25\n").unwrap();
    let run = world.run(&["assess", "h.csv", "--register", "r.csv", "--as-of", "2026-11-25"]);
    assert_eq!(run.words, CAUTIONS);
    assert!(run.out.contains(" 100 MΩ "), "{}", run.out);
}

/// Read in °F, 21 °C would be 70 °F, and every reading would be corrected the wrong way.
#[test]
fn no_scale_of_temperatures_is_guessed() {
    let text = "Motor ID,Date,IR 1 min,Wdg temp,Amb. temp,Wndng tmp\nA,2026-10-14,400,21,18,21\n";
    let world = World::new(&[("h.csv", text)]);
    assert_eq!(
        world.run(&["check", "h.csv", "--suggest"]).out,
        "# h.csv:1: look it over and paste it into the policy file\n[columns]\n\"Motor ID\" = \"winding\"\n\
         \"Date\" = \"tested_on\"  # assumed: check it\n\"IR 1 min\" = \"r_60s\"\n\
         \"Wdg temp\" = \"winding_temp_c\"  # assumed: check it\n\"Amb. temp\" = \"air_temp_c\"  # assumed: check it\n\
         # \"Wndng tmp\" = \"-\"  # not understood\n"
    );
    let read = world.run(&["check", "h.csv"]);
    assert!(
        read.out.contains(
            "h.csv:1: column Wdg temp is taken for winding_temp_c; [columns] in the policy file says otherwise\n"
        ),
        "{}",
        read.out
    );
    for (header, guess) in
        [("Winding tmp", "winding_temp_c\"  # a guess, 9"), ("Winding tmp °F", "winding_temp_f\"  # a guess, ")]
    {
        let world = World::new(&[("h.csv", &format!("winding,tested_on,r_60s,{header}\nA,2026-10-14,400,21\n"))]);
        let suggested = world.run(&["check", "h.csv", "--suggest"]).out;
        assert!(suggested.contains(&format!("\"{header}\" = \"{guess}")), "{suggested}");
    }
}
