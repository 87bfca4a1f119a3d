//! Cells of the register and of the history that cannot be read, and notes of water: none makes an answer less urgent. Common practice throughout.

use crate::world::World;
use serde_json::Value;

const RANDOM_WOUND: &str = "M1,400,random-wound,thermosetting,2005,,";
/// 4160 V of 1962: 5.16 MΩ, and 100 MΩ once it is rewound (IEEE Std 43 cl. 12.3).
const FORM_WOUND: &str = "M1,4160,form-wound,thermoplastic,1962,,";

/// The series of a winding with four good quarters and one row more; `column` is the last cell of that row.
fn judged(register: &str, readings: [&str; 4], column: &str, latest: &str) -> Vec<Value> {
    let days = ["2025-10-16", "2026-01-15", "2026-04-16", "2026-07-16"];
    let rows: String = days.iter().zip(readings).map(|(day, r60)| format!("M1,{day},{r60},30,\n")).collect();
    let world = World::new(&[
        ("h.csv", &format!("winding,tested_on,r_60s,winding_temp_c,{column}\n{rows}{latest}\n")),
        (
            "r.csv",
            &format!("winding,rated_volts,construction,insulation,year_made,year_rewound,rated_kw\n{register}\n"),
        ),
    ]);
    let run = world.run(&["assess", "h.csv", "-r", "r.csv", "--as-of", "2026-11-25", "--format", "json", "-q"]);
    let result: Value = serde_json::from_str(&run.out).unwrap();
    result["series"].as_array().unwrap().clone()
}

/// Its action and first finding, with a good latest row.
fn answer(column: &str, cell: &str) -> (String, String) {
    let latest = format!("M1,2026-10-15,905,30,\"{cell}\"");
    let series = judged(RANDOM_WOUND, ["900", "930", "880", "910"], column, &latest);
    let first = &series[0]["findings"][0];
    (series[0]["action"].as_str().unwrap().to_owned(), first["code"].as_str().unwrap_or_default().to_owned())
}

fn message(column: &str, cell: &str) -> String {
    let latest = format!("M1,2026-10-15,905,30,\"{cell}\"");
    let series = judged(RANDOM_WOUND, ["900", "930", "880", "910"], column, &latest);
    series[0]["findings"][0]["message"].as_str().unwrap_or_default().to_owned()
}

#[test]
fn checks_are_read_as_people_write_them() {
    for (column, code, cells) in [
        ("lead_check", "lead-check-failed", &["failed", "false", "N", "no", "Bad!", "not ok"][..]),
        ("lead_check", "cell-unread", &["failed?", "x", "bad?"]),
        ("source_check", "check-failed", &["failed", "0 V", "0", "fail!"]),
        ("open_check", "lead-check-failed", &["failed", "FAIL.", "no"]),
        ("zero_check", "lead-check-failed", &["failed", "bad?", "faulty"]),
        ("battery", "battery-low", &["low", "LOW!", "empty", "flat", "Dead"]),
        ("proved_dead", "not-proved-dead", &["no", "NO!", "false", "n"]),
    ] {
        for cell in cells {
            assert_eq!(answer(column, cell), ("recheck".to_owned(), code.to_owned()), "{column} {cell}");
        }
    }
    for (column, cell) in [
        ("lead_check", "true"),
        ("lead_check", ""),
        ("open_check", "OL"),
        ("open_check", ">2 GΩ"),
        ("open_check", "infinite"),
        ("zero_check", "0 MΩ"),
        // What shorted leads read.
        ("zero_check", "0"),
        ("zero_check", "Yes"),
        ("battery", "80 %"),
        ("proved_dead", "proven"),
        ("source_check", "passed!"),
    ] {
        assert_eq!(answer(column, cell), ("keep".to_owned(), String::new()), "{column} {cell}");
    }
}

#[test]
fn a_check_that_cannot_be_read_is_not_passed_over() {
    for (column, cells) in [
        ("lead_check", &["ok?", "xx", "fa1led"][..]),
        ("source_check", &["180 of 500", "5O0", "-3"]),
        ("open_check", &["200 MΩ", "leak"]),
        ("zero_check", &["0.5 MΩ", "3"]),
        ("battery", &["3 bars", "5 %", "l0w"]),
        ("proved_dead", &["n0", "yes?"]),
        ("calibration_due", &["2026-13-01", "expired"]),
        ("other_phases", &["gaurded", "?"]),
        ("dielectric_discharge", &["5x"]),
    ] {
        for cell in cells {
            assert_eq!(answer(column, cell), ("recheck".to_owned(), "cell-unread".to_owned()), "{column} {cell}");
        }
    }
    assert_eq!(
        message("open_check", "200 MΩ"),
        "Under open_check the row of 2026-10-15 says “200 MΩ”, which is not understood: write ok or failed from the test sheet, or repeat \
         the test before the winding is energised."
    );
    assert_eq!(
        message("calibration_due", "expired"),
        "Under calibration_due the row of 2026-10-15 says “expired”, which is not understood: write a day such as 2027-03-31 from the test \
         sheet, or repeat the test before the winding is energised."
    );
}

/// A row that is rejected for such a cell is judged no more mildly than one that is kept.
#[test]
fn a_rejected_latest_row_is_not_passed_over() {
    for (column, cell) in [("output_volts", "18O"), ("test_volts", "5O"), ("full_scale", "5OO"), ("rh_percent", "9O")] {
        assert_eq!(answer(column, cell), ("recheck".to_owned(), "row-kept-out".to_owned()), "{column} {cell}");
    }
}

/// 840 kΩ are not 840 MΩ because the temperature of the row cannot be.
#[test]
fn what_a_rejected_row_says_is_in_its_own_unit() {
    let rows: String = (1..5).map(|month| format!("P-1,2026-0{month}-10,840,MOhm,22\n")).collect();
    for (unit, action) in [("kOhm", "hold"), ("MOhm", "recheck"), ("furlong", "recheck")] {
        let history = format!("Motor,Date,Reading,Unit,Temp °C\n{rows}P-1,2026-05-10,840,{unit},3000\n");
        let world = World::new(&[("h.csv", &history)]);
        let result = world.run(&["assess", "h.csv", "--as-of", "2026-06-01", "--format", "json"]).out;
        let result: serde_json::Value = serde_json::from_str(&result).unwrap();
        assert_eq!(result["series"][0]["action"], action, "{unit}");
        assert_eq!(result["series"][0]["findings"][0]["code"], "row-kept-out", "{unit}");
    }
}

#[test]
fn floods_are_read_under_event_and_in_notes() {
    for cell in ["flooded", "flooded!", "flood", "submerged", "under water", "Flooded?", "Hochwasser", "floded"] {
        assert_eq!(answer("event", cell), ("hold".to_owned(), "drying".to_owned()), "{cell}");
    }
    for cell in ["fl00ded", "1", "yes"] {
        assert_eq!(answer("event", cell), ("recheck".to_owned(), "cell-unread".to_owned()), "{cell}");
    }
    for cell in ["inspected", "bearing replaced", "routine test", "none", "-"] {
        assert_eq!(answer("event", cell).0, "keep", "{cell}");
    }
    for cell in ["motor stood in water", "Motor stand unter Wasser", "moteur inondé", "water in terminal box"] {
        assert_eq!(answer("note", cell), ("recheck".to_owned(), "note-of-water".to_owned()), "{cell}");
    }
    for cell in ["water pump", "cooling water ok", "watertight", "no water found", "not flooded"] {
        assert_eq!(answer("note", cell).0, "keep", "{cell}");
    }
    assert_eq!(
        message("note", "motor stood in water"),
        "The note for 2026-10-15 mentions water: “motor stood in water”. If the winding was flooded, write flooded under event; do \
         not start it until it is known to be dry and the test is repeated."
    );
}

/// A rewind owes 100 MΩ, where a winding of 1962 owes 5.16 MΩ.
#[test]
fn a_rewind_is_read_under_event_and_in_the_register() {
    let answer = |cell: &str| {
        // The work was done before the test before the latest one.
        let rows = format!("M1,2026-07-17,60,30,{cell}\nM1,2026-10-15,60,30,");
        let series = judged(FORM_WOUND, ["60", "61", "59", "60"], "event", &rows);
        (series[0]["action"].as_str().unwrap().to_owned(), series[0]["findings"].to_string())
    };
    for cell in
        ["rewound", "rewind", "re-wound", "Rewound.", "rewound?", "replace", "replaced", "new stator", "New windings"]
    {
        let (action, findings) = answer(cell);
        assert_eq!(action, "hold", "{cell}");
        assert_eq!(findings.contains("cell-unread"), cell.ends_with('?'), "{cell}: {findings}");
    }
    for cell in ["rewnd", "stator swapped", "rewinding done", "motor exchanged", "new wdg"] {
        let (action, findings) = answer(cell);
        assert_eq!(action, "recheck", "{cell}");
        let said = format!(
            "Under event the row of 2026-07-17 says “{cell}”, which is not understood: write rewound, replaced or flooded there if that is \
             what happened to the winding, and anything else into the note."
        );
        assert!(findings.contains(&said), "{findings}");
    }
    // A row of work alone is rejected where its word is not understood, and not skipped.
    let alone = judged(FORM_WOUND, ["60", "61", "59", "60"], "event", "M1,2026-08-01,,,new wdg\nM1,2026-10-15,60,30,");
    assert_eq!(alone[0]["action"], "recheck");
    assert!(alone[0]["findings"].to_string().contains("the row of 2026-08-01 says “new wdg”"));
    for cell in ["", "bearing replaced", "inspected"] {
        assert_eq!(answer(cell).0, "keep", "{cell}");
    }
    for (year, action) in
        [("2019", "hold"), ("2019?", "hold"), ("2O19", "hold"), ("yes", "hold"), ("", "keep"), ("?", "keep")]
    {
        let register = format!("M1,4160,form-wound,thermoplastic,1966,{year},");
        let series = judged(&register, ["60", "61", "59", "60"], "note", "M1,2026-10-15,60,30,");
        assert_eq!(series[0]["action"], action, "{year}");
    }
    for (power, action) in [("25000", "recheck"), ("25 MVA", "recheck"), ("25O00", "recheck"), ("250", "keep")] {
        let register = format!("M1,4160,form-wound,thermoplastic,1966,,{power}");
        let series = judged(&register, ["60", "61", "59", "60"], "note", "M1,2026-10-15,60,30,");
        assert_eq!(series[0]["action"], action, "{power}");
    }
}

#[test]
fn a_connection_that_is_misspelt_is_not_taken_for_another_one() {
    let latest = "M1,2026-10-15,905,30,al-earth";
    let series = judged(RANDOM_WOUND, ["900", "930", "880", "910"], "connection", latest);
    assert_eq!((series.len(), &series[0]["action"]), (2, &"recheck".into()));
    assert_eq!(
        series[0]["findings"][0]["message"],
        "The connection “al-earth” was not recognised, so these tests form a separate series and are not compared \
         with any other: write all-earth, U-earth or what was tested, and judge it again before the winding is energised."
    );
}

/// What could not be read goes into the master as it was written, and is no more mildly judged from there.
#[test]
fn a_cell_that_cannot_be_read_outlives_its_filing() {
    let world = World::new(&[
        ("master.csv", "winding,tested_on,r_60s,winding_temp_c\nM1,2026-07-16,900,30\n"),
        (
            "sheet.csv",
            "winding,tested_on,r_60s,winding_temp_c,lead_check,event,note\nM1,2026-10-15,905,30,ok?,rewnd,calm\n",
        ),
    ]);
    let added = world.run(&["add", "sheet.csv", "--to", "master.csv", "--extend"]);
    assert_eq!(added.status, 0, "{}", added.words);
    assert_eq!(
        world.read("master.csv"),
        "winding,tested_on,r_60s,winding_temp_c,lead_check,event,note\nM1,2026-07-16,900,30,,,\n\
         M1,2026-10-15,905,30,ok?,rewnd,calm; lead check: ok?; rewnd\n"
    );
    let findings = |file: &str| {
        let run = world.run(&["assess", file, "--as-of", "2026-11-25", "--format", "json", "-q"]);
        let result: Value = serde_json::from_str(&run.out).unwrap();
        let all = result["series"][0]["findings"].as_array().unwrap().clone();
        all.into_iter().find(|finding| finding["code"] == "cell-unread").unwrap()["evidence"].clone()
    };
    assert_eq!(findings("master.csv"), findings("sheet.csv"));
}

/// Two rows that differ in a check alone are not one row written twice.
#[test]
fn a_failed_check_is_not_dropped_as_a_repeat() {
    for cell in ["low", "3 bars"] {
        let rows = format!("M1,2026-10-15,905,30,\nM1,2026-10-15,905,30,{cell}");
        let series = judged(RANDOM_WOUND, ["900", "930", "880", "910"], "battery", &rows);
        assert_eq!(series[0]["action"], "recheck", "{cell}");
    }
}
