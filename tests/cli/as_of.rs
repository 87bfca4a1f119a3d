//! What was tested after the as-of date, and rows that say again what others say, change no answer.

use crate::world::{Outcome, World};

const HEADER: &str = "winding,tested_on,connection,r_60s,winding_temp_c\n";

fn before() -> String {
    let rows = (1..=8).map(|month| format!("M-0,2024-{month:02}-17,U-earth,{},22\n", 921 + month));
    HEADER.to_owned() + &rows.collect::<String>()
}

/// A connection, and a winding, whose first test comes after the as-of date: on that day nothing was known of them.
#[test]
fn a_series_without_a_test_until_the_as_of_date_is_none() {
    let later = "M-0,2025-08-10,all-earth,3,25\nM-0,2025-09-10,all-earth,2,25\nM-1,2025-08-10,all-earth,3,25\n";
    let register = "winding,rated_volts,construction,insulation,year_made\nM-0,400,random-wound,thermosetting,2005\n\
                    M-1,400,random-wound,thermosetting,2005\n";
    let files = [("r.csv", register), ("h.csv", &before())];
    let (known, all) = (World::new(&files), World::new(&[files[0], ("h.csv", &(before() + later))]));
    let day = ["h.csv", "--register", "r.csv", "--as-of", "2025-06-30"];
    let said = "2 series have no test until 2025-06-30 and are not judged: 3 later tests\n";
    // Results name the bytes of their inputs.
    let without_digests = |text: &str| -> String {
        text.lines()
            .filter(|line| !line.contains("sha256") && !line.contains("rows\"") && !line.contains("accepted"))
            .collect()
    };
    for args in [
        &["assess", "--format", "csv"][..],
        &["assess", "--format", "json"],
        &["assess"],
        &["round", "--format", "csv", "--until", "2026-06-30"],
        &["explain", "--winding", "M-0"],
        &["replay"],
        &["compare", "--since", "2024-12-31"],
        &["chart", "--winding", "M-0", "--out", "c.svg"],
        &["chart", "--kind", "fleet", "--out", "f.svg"],
        &["report", "--out", "rep"],
    ] {
        let run = |world: &World| world.run(&[&args[..1], &day, &args[1..]].concat());
        let (one, two) = (run(&known), run(&all));
        assert_eq!((one.status, two.status), (0, 0), "{args:?} {} {}", one.words, two.words);
        assert_eq!(without_digests(&one.out), without_digests(&two.out), "{args:?}");
        assert!(!one.words.contains("have no test until"), "{}", one.words);
        assert_eq!(two.words.replacen(said, "", 1), one.words, "{args:?}");
        assert_ne!(two.words, one.words, "{args:?}");
    }
    for name in ["c.svg", "f.svg", "rep/assessment.csv", "rep/index.html"] {
        assert_eq!(without_digests(&known.read(name)), without_digests(&all.read(name)), "{name}");
    }
    let nothing = all.run(&["assess", "h.csv", "--as-of", "2016-06-30", "--no-config"]);
    assert_eq!(
        nothing,
        Outcome::refused(
            2,
            "every test is later than 2016-06-30, so nothing is judged\nhint: name a later day with --as-of\n"
        )
    );
}

/// Rejected rows that are alike are one piece of evidence, whatever their order and their files; the account counts each of them.
#[test]
fn equal_rejected_rows_count_once_whatever_their_order_and_file() {
    let header = "winding,tested_on,r_60s,winding_temp_c\n";
    let (good, bad) = ("M-3,2021-03-10,1039,27\n", "M-3,2022-04-11,514,hot\n");
    let other = "M-3,2022-05-11,514,cold\n";
    let world = World::new(&[
        ("once.csv", &[header, good, bad, other].concat()),
        ("together.csv", &[header, good, bad, bad, other].concat()),
        ("apart.csv", &[header, bad, good, other, bad].concat()),
        ("more.csv", &[header, bad].concat()),
    ]);
    for command in [&["assess", "--format", "csv"][..], &["round", "--format", "csv"], &["explain", "--winding", "M-3"]]
    {
        let run = |files: &[&str]| {
            let args = [&command[..1], files, &command[1..], &["--as-of", "2026-11-25", "-q"]].concat();
            let run = world.run(&args);
            assert_eq!(run.status, 0, "{}", run.words);
            // The account names the row of the file.
            run.out.lines().filter(|line| !line.contains(".csv")).collect::<Vec<_>>().join("\n")
        };
        let once = run(&["once.csv"]);
        for files in [&["together.csv"][..], &["apart.csv"], &["once.csv", "more.csv"], &["apart.csv", "apart.csv"]] {
            assert_eq!(run(files), once, "{command:?} {files:?}");
        }
    }
    let check = world.run(&["check", "apart.csv", "more.csv", "--as-of", "2026-11-25"]).out;
    assert!(check.contains("apart.csv: 4 rows: 1 accepted, 0 repeated, 3 rejected\n"), "{check}");
    assert!(check.contains("more.csv: 1 row: 0 accepted, 0 repeated, 1 rejected\n"), "{check}");
}

/// Beyond what a resistance can be, the corrected value is a bound (1e-6 to 1e8 MΩ, `units`).
#[test]
fn a_corrected_value_beyond_all_range_is_a_bound() {
    let world = World::new(&[(
        "h.csv",
        "winding,tested_on,r_60s_mohm,winding_temp_c\nP-1,2026-08-05,1e8,120\nP-2,2026-08-05,0.000001,10\n",
    )]);
    let hot = ["spot", "--r60", "1e8", "--at", "120", "--insulation", "thermosetting", "-q"];
    let text = world.run(&hot).out;
    assert!(text.contains(" at 120 °C, > 100 TΩ at 40 °C\n"), "{text}");
    let json = |run: Outcome| serde_json::from_str::<serde_json::Value>(&run.out).unwrap();
    let spot = json(world.run(&[&hot[..], &["--format", "json"]].concat()));
    assert_eq!((spot["bound"].as_str(), spot["r60_ref_mohm"].as_f64()), (Some("above"), Some(1e8)));
    let result = json(world.run(&["assess", "h.csv", "--as-of", "2026-11-25", "-q", "--format", "json"]));
    for series in result["series"].as_array().unwrap() {
        let (bound, value) = if series["winding"] == "P-1" { ("above", 1e8) } else { ("below", 1e-6) };
        let latest = &series["latest"];
        assert_eq!((latest["bound"].as_str(), latest["r60_ref_mohm"].as_f64()), (Some(bound), Some(value)), "{latest}");
    }
}
