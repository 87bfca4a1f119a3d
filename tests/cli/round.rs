//! The next round: planned, filled in, filed and judged again without a hand on the sheet.

use crate::in_process;
use crate::world::{Outcome, World, demo};
use groundwall::assess::InTurn;
use groundwall::round::plan_round;
use groundwall_engine::output::round::{Planned, table};
use groundwall_engine::output::table::Shape;

const HISTORY: &str = "winding,tested_on,test_volts,r_60s,winding_temp_c,instrument\n\
    P-1,2025-10-01,500,200,20,tester 1\n\
    P-1,2026-01-02,500,210,20,tester 1\n\
    P-1,2026-04-03,500,190,20,tester 1\n\
    P-1,2026-07-01,500,205,20,tester 1\n\
    P-1,2026-10-01,500,>2000,20,tester 1\n\
    P-2,2026-11-20,500,300,20,tester 1\n";
const REGISTER: &str = "winding,site,area,rated_volts,construction,insulation\n\
    P-1,North,mill,400,random-wound,thermoplastic\n\
    P-2,North,mill,400,random-wound,thermoplastic\n\
    P-3,North,kiln,6600,form-wound,thermosetting\n";

fn plan<'a>(rest: &[&'a str]) -> Vec<&'a str> {
    [&["round", "h.csv", "--register", "r.csv", "--as-of", "2026-11-25"], rest].concat()
}

fn world() -> World {
    World::new(&[("h.csv", HISTORY), ("r.csv", REGISTER)])
}

/// Cells of the rows of a CSV, by the names of the columns.
fn rows(text: &str) -> Vec<std::collections::HashMap<String, String>> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    reader.deserialize().map(|row| row.unwrap()).collect()
}

/// A sheet with cells filled in: for every row of a winding, these.
fn filled(sheet: &str, cells: &[(&str, &[(&str, &str)])]) -> String {
    let mut reader = csv::Reader::from_reader(sheet.as_bytes());
    let header = reader.headers().unwrap().clone();
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(&header).unwrap();
    for row in reader.records() {
        let row = row.unwrap();
        let ours = cells.iter().find(|(winding, _)| *winding == row[0].trim()).map_or(&[][..], |(_, cells)| cells);
        writer
            .write_record(header.iter().zip(&row).map(|(name, cell)| {
                ours.iter().find(|(column, _)| *column == name).map_or(cell, |(_, written)| written)
            }))
            .unwrap();
    }
    String::from_utf8(writer.into_inner().unwrap()).unwrap()
}

#[test]
fn the_sheet_names_the_tests_and_fills_in_nothing_that_is_measured() {
    let run = world().run(&plan(&["--format", "csv"]));
    assert_eq!((run.status, run.words.as_str()), (0, ""));
    let header = run.out.lines().next().unwrap();
    assert!(header.starts_with(
        "winding,tested_on,connection,scope,test_volts,r_60s,r_600s,winding_temp_c,air_temp_c,rh_percent,instrument,\
         full_scale,lead_check,serial,calibration_due,battery,zero_check,open_check,source_check,proved_dead,discharged_min,\
         tested_by,work_order,equipment_state,standing_h,event,note,site,area,due_by,"
    ));
    let rows = rows(&run.out);
    let names: Vec<&str> = rows.iter().map(|row| row["winding"].as_str()).collect();
    assert_eq!(names, ["P-3", "P-1", "P-2"]);
    for row in &rows {
        assert_eq!((row["connection"].as_str(), row["scope"].as_str()), ("all-earth", "winding"));
        for column in
            ["tested_on", "test_volts", "r_60s", "r_600s", "winding_temp_c", "instrument", "lead_check", "event"]
        {
            assert_eq!(row[column], "", "{column}");
        }
        assert!(row["cautions"].contains("prove it dead") && row["cautions"].contains("four times"));
    }
    let cell = |row: usize, column: &str| rows[row][column].clone();
    assert_eq!(cell(0, "why"), "now: it was never tested");
    assert_eq!((cell(0, "apply_volts"), cell(0, "hold_minutes")), ("2500".to_owned(), "10".to_owned()));
    assert_eq!((cell(1, "apply_volts"), cell(1, "hold_minutes")), ("500".to_owned(), "1".to_owned()));
    assert_eq!((cell(0, "discharge_minutes"), cell(1, "discharge_minutes")), ("40".to_owned(), "4".to_owned()));
    // Thermoplastic: 5 MΩ at 40 °C reads 20 MΩ at 20 °C, 40 MΩ at 10 °C and 10 MΩ at 30 °C.
    assert_eq!(cell(1, "likely_winding_temp_c"), "20");
    let stops = ["stop_below_mohm", "stop_below_10_k_colder_mohm", "stop_below_10_k_warmer_mohm"];
    assert_eq!(stops.map(|column| cell(1, column)), ["20", "40", "10"]);
    assert_eq!((cell(1, "last_tested_on"), cell(1, "last_as_read")), ("2026-10-01".to_owned(), "> 2 GΩ".to_owned()));
    assert_eq!(cell(1, "instrument_last_used"), "tester 1");
}

#[test]
fn what_was_filled_in_is_filed_and_judged_without_editing() {
    let world = world();
    let sheet = world.run(&plan(&["--format", "csv"])).out;
    let done = [
        ("P-1", &[("tested_on", "2026-12-01"), ("test_volts", "500"), ("r_60s", "199"), ("winding_temp_c", "21")][..]),
        ("P-3", &[("tested_on", "2026-12-02"), ("test_volts", "2500"), ("r_60s", "1.2 GΩ"), ("winding_temp_c", "19")]),
    ];
    std::fs::write(world.path("plan.csv"), filled(&sheet, &done)).unwrap();
    let run = world.run(&["add", "plan.csv", "--to", "h.csv", "--as-of", "2026-12-31", "--register", "r.csv"]);
    assert_eq!(
        run,
        Outcome::printed(
            0,
            "plan.csv: 2 rows: 2 accepted, 0 repeated, 0 rejected\n\
             plan.csv: 1 row has no reading and is left out as not done\n\
             h.csv: 2 tests were added after its 6 rows; the previous master is h.csv.bak\n"
        )
    );
    assert_eq!(world.read("h.csv"), format!("{HISTORY}P-3,2026-12-02,2500,1200,19,\nP-1,2026-12-01,500,199,21,\n"));
    let run = world.run(&["assess", "h.csv", "plan.csv", "--register", "r.csv", "--as-of", "2026-12-31", "--strict"]);
    assert_eq!(run.status, 0, "{}", run.words);
    assert!(run.words.contains("plan.csv: 2 rows: 0 accepted, 2 repeated, 0 rejected\n"), "{}", run.words);
    let again = world.run(&["round", "h.csv", "--register", "r.csv", "--as-of", "2026-12-31", "--format", "csv"]);
    let next = rows(&again.out);
    assert_eq!(next.iter().find(|row| row["winding"] == "P-3").unwrap()["last_tested_on"], "2026-12-02");
}

#[test]
fn a_sheet_that_nobody_filled_in_stops_nothing() {
    let world = world();
    assert_eq!(world.run(&plan(&["--format", "csv", "--out", "plan.csv"])), Outcome::printed(0, ""));
    assert_eq!(
        world.run(&["add", "plan.csv", "--to", "h.csv", "--as-of", "2026-11-25"]),
        Outcome::printed(
            0,
            "plan.csv: 0 rows: 0 accepted, 0 repeated, 0 rejected\n\
             plan.csv: 3 rows have no reading and are left out as not done\n\
             h.csv: nothing new; it stays as it is\n"
        )
    );
    assert_eq!(world.read("h.csv"), HISTORY);
}

#[test]
fn guidance_is_never_filed_and_columns_of_the_site_are() {
    let world = world();
    let sheet = world.run(&plan(&["--format", "csv"])).out;
    let done: [(&str, &[(&str, &str)]); 1] =
        [("P-1", &[("tested_on", "2026-12-01"), ("r_60s", "199"), ("lead_check", "ok")])];
    let sheet = filled(&sheet, &done);
    let sheet: String = sheet
        .lines()
        .map(|line| format!("{line},{}\n", if line.starts_with("winding") { "crew" } else { "b" }))
        .collect();
    std::fs::write(world.path("plan.csv"), sheet).unwrap();
    let run = world.run(&["add", "plan.csv", "--to", "h.csv", "--as-of", "2026-12-31", "--extend"]);
    assert_eq!(run.status, 0, "{}", run.words);
    assert!(
        run.out.ends_with(
            "h.csv: 1 test was added after its 6 rows, with the new columns lead_check, crew; the previous master is \
         h.csv.bak\n"
        ),
        "{}",
        run.out
    );
}

#[test]
fn a_name_that_a_spreadsheet_would_run_comes_back_as_it_was() {
    let name = "=HYPERLINK(\"\"x\"\")";
    let history = format!("winding,tested_on,r_60s\n\"{name}\",2026-01-05,200\n-7,2026-01-05,300\n");
    let world = World::new(&[("h.csv", &history)]);
    let run = world.run(&["round", "h.csv", "--as-of", "2026-11-25", "--format", "csv", "--quiet"]);
    for line in run.out.lines().skip(1) {
        let cells = csv::ReaderBuilder::new().has_headers(false).from_reader(line.as_bytes()).records().next().unwrap();
        assert!(cells.unwrap().iter().all(|cell| !cell.starts_with(['=', '+', '-', '@'])), "{line}");
    }
    let done: [(&str, &[(&str, &str)]); 2] = [
        ("=HYPERLINK(\"x\")", &[("tested_on", "2026-12-01"), ("r_60s", "199")]),
        ("-7", &[("tested_on", "2026-12-01"), ("r_60s", "299")]),
    ];
    std::fs::write(world.path("plan.csv"), filled(&run.out, &done)).unwrap();
    assert_eq!(world.run(&["add", "plan.csv", "--to", "h.csv", "--as-of", "2026-12-31"]).status, 0);
    let mut filed: Vec<String> = world.read("h.csv").lines().skip(3).map(str::to_owned).collect();
    filed.sort();
    assert_eq!(filed, [format!("\"{name}\",2026-12-01,199"), "-7,2026-12-01,299".to_owned()]);
}

#[test]
fn temperatures_are_asked_for_in_the_scale_of_the_history() {
    let world =
        World::new(&[("h.csv", "winding,tested_on,r_30s,r_60s_gohm,winding_temp_f\nP-1,2026-01-05,150,0.2,70\n")]);
    let sheet = world.run(&["round", "h.csv", "--as-of", "2026-11-25", "--format", "csv"]).out;
    assert!(
        sheet.starts_with(
            "winding,tested_on,connection,scope,test_volts,r_30s,r_60s,winding_temp_f,air_temp_f,rh_percent,"
        ),
        "{sheet}"
    );
}

#[test]
fn a_hostile_name_is_text_on_the_page() {
    let name = "<script>alert('x')</script> \u{202e}⚡";
    let world = World::new(&[("h.csv", &format!("winding,tested_on,r_60s\n{name},2026-01-05,200\n"))]);
    let run = |format: &str| world.run(&["round", "h.csv", "--as-of", "2026-11-25", "--quiet", "--format", format]).out;
    let page = run("html");
    assert_eq!((page.matches("<script").count(), page.contains('\u{202e}')), (0, false));
    assert!(page.contains("&lt;script&gt;alert(&#x27;x&#x27;)&lt;&#x2f;script&gt; \\u{202e}⚡"), "{page}");
    assert!(run("table").contains("<script>alert('x')</script> \\u{202e}⚡"));
    assert_eq!(rows(&run("csv"))[0]["winding"], name);
}

#[test]
fn the_workbook_comes_back_like_the_text() {
    let world = world();
    assert_eq!(world.run(&plan(&["--format", "xlsx", "--out", "plan.xlsx"])), Outcome::printed(0, ""));
    assert_eq!(
        world.run(&["check", "plan.xlsx"]).out.lines().take(3).collect::<Vec<_>>(),
        [
            "plan.xlsx:round: 0 rows: 0 accepted, 0 repeated, 0 rejected",
            "plan.xlsx:before the test: this sheet holds no tests and is passed over",
            "plan.xlsx:round: 3 rows have no reading and are left out as not done",
        ]
    );
}

#[test]
fn a_round_ends_when_it_is_said_or_after_ninety_one_days() {
    let world = world();
    let due = |rest: &[&str]| world.run(&plan(rest)).out.lines().last().unwrap().to_owned();
    assert_eq!(due(&[]), "As of 2026-11-25, 3 tests are due until 2027-02-24; none is due later.");
    assert_eq!(
        due(&["--until", "2026-12-31"]),
        "As of 2026-11-25, 2 tests are due until 2026-12-31; 1 series is due later."
    );
    assert_eq!(
        world.run(&plan(&["--until", "2026-11-24"])),
        Outcome::refused(
            2,
            "--until is 2026-11-24, before the as-of date 2026-11-25; a round is about the days to come\n\
             hint: name a later day with --until, or an earlier one with --as-of\n"
        )
    );
}

#[test]
fn no_line_of_the_table_is_longer_than_the_terminal() {
    let register = in_process::register(&demo("register.csv"));
    let fleet = in_process::fleet(&demo("history.csv"), Some(&register));
    let until = "2027-02-24".parse().unwrap();
    let round = plan_round(fleet.series.to_vec(), &fleet.register, &fleet.terms, until, &InTurn);
    let planned = Planned { round: &round, inputs: &fleet.ingested.inputs };
    for width in [80, 93, 120, 200] {
        let mut text = Vec::new();
        table::write(&mut text, &planned, &Shape { width, color: false }).unwrap();
        let text = String::from_utf8(text).unwrap();
        let longest = text.lines().map(|line| line.chars().count()).max().unwrap_or(0);
        assert!(longest <= width, "{longest} at {width}");
        assert_eq!(
            text.lines().filter(|line| ["2026-", "2027-", "overdue "].iter().any(|due| line.starts_with(due))).count(),
            round.lines.len()
        );
    }
}

#[test]
fn every_form_of_the_demo_is_the_same_round() {
    let world = World::new(&[]);
    let (history, register, policy) = (demo("history.csv"), demo("register.csv"), demo("policy.toml"));
    let run = |format: &str| {
        let args = [
            "round",
            &history,
            "--register",
            &register,
            "--policy",
            &policy,
            "--as-of",
            "2026-11-25",
            "--format",
            format,
        ];
        let run = world.run(&args);
        assert_eq!(run.status, 0, "{}", run.words);
        run.out
    };
    let json: serde_json::Value = serde_json::from_str(&run("json")).unwrap();
    assert_eq!(json["schema"], "groundwall/round/1");
    let tests = json["tests"].as_array().unwrap();
    assert_eq!(tests.len() as u64, json["due"].as_u64().unwrap());
    let csv = run("csv");
    let rows = rows(&csv);
    let page = run("html");
    let table = run("table");
    // One line for each test, and the full form of those that are special.
    assert_eq!((rows.len(), page.matches("<tr><th scope=\"row\">").count()), (tests.len(), tests.len()));
    let special =
        tests.iter().filter(|test| matches!(test["action"].as_str(), None | Some("hold" | "plan" | "recheck")));
    assert_eq!(page.matches("<article").count(), special.count());
    for (test, row) in tests.iter().zip(&rows) {
        assert_eq!(test["winding"], row["winding"].as_str());
        assert_eq!(test["due"]["by"], row["due_by"].as_str());
        assert!(
            page.contains(test["winding"].as_str().unwrap()) && table.contains(test["due"]["by"].as_str().unwrap())
        );
    }
    assert!(page.contains("isolate the machine, lock it out and prove it dead"));
    assert!(page.contains("This does not release a machine."));
    assert_eq!(page.matches("Local codes and licensed people decide").count(), 1, "the cautions are said once");
    assert_eq!(run("html"), page);
}
