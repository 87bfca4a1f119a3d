//! Whole jobs: the record of each test from the cell to every output, and the jobs of the demo.

use super::world::{Outcome, World, demo};
use std::collections::BTreeMap;

fn json(world: &World, args: &[&str]) -> serde_json::Value {
    let run = world.run(args);
    assert_eq!(run.status, 0, "{}", run.words);
    serde_json::from_str(&run.out).unwrap()
}

#[test]
fn the_jobs_of_the_demo_are_judged_as_a_crew_would() {
    let world = World::new(&[]);
    let (history, register) = (demo("jobs.csv"), demo("jobs-register.csv"));
    let args = ["assess", &history, "--register", &register, "--as-of", "2026-11-25", "--format", "json", "-q"];
    let result = json(&world, &args);
    let mut found: BTreeMap<String, (String, String)> = BTreeMap::new();
    for series in result["series"].as_array().unwrap() {
        let text = |key: &str| series[key].as_str().unwrap().to_owned();
        let first = series["findings"]
            .as_array()
            .unwrap()
            .first()
            .map_or(String::new(), |f| f["code"].as_str().unwrap().to_owned());
        found.insert(format!("{} {}", text("winding"), text("connection")), (text("action"), first));
    }
    let expected = [
        ("LP-3 way 7 L1-pipe", "hold", "below-minimum"),
        ("LP-3 way 7 L2-pipe", "gather", "few-readings"),
        ("LP-3 way 7 U-V", "gather", "few-readings"),
        ("P-104 cable all-earth", "keep", ""),
        ("P-106 stator N-earth", "keep", "temperature-missing"),
        ("P-106 stator U-earth", "keep", "temperature-missing"),
        ("P-106 stator V-earth", "keep", "temperature-missing"),
        ("P-106 stator W-earth", "keep", "temperature-missing"),
        ("P-107 stator all-earth", "hold", "drying"),
        ("P-108 stator all-earth", "keep", "temperature-missing"),
        ("R-204 stator all-earth", "hold", "falls-with-voltage"),
        ("SP-2 stator all-earth", "keep", "in-store"),
    ];
    let expected = expected.map(|(name, action, code)| (name.to_owned(), (action.to_owned(), code.to_owned())));
    assert_eq!(found, BTreeMap::from(expected));
    let short = result["series"].as_array().unwrap().iter().find(|series| series["connection"] == "L1-pipe").unwrap();
    assert_eq!(
        short["findings"][0]["message"],
        "The latest reading, < 0.1 MΩ as read on 2026-11-24, is at or below the minimum of 1 MΩ. A conductor is in contact with earthed \
         metal: shock hazard."
    );
}

const SHEET: &str = "Motor,Date,R60 (MΩ),Winding temp °C,Phases not tested,Tester S/N,Cal. due,Battery check,Zero check,Leads open,\
                     Output check,Dead test,Discharge time (min),DD,Tested by,Work order,Machine state,Hours standing\n\
                     P-1,2026-10-13,300,40,grounded,T-417,2027-03-31,good,ok,pass,512 V,done,4,1.2,crew 2,WO-8,spare,30\n";
const OURS: &str = "winding,tested_on,r_60s,winding_temp_c,other_phases,serial,calibration_due,battery,zero_check,open_check,source_check,\
                    proved_dead,discharged_min,dielectric_discharge,tested_by,work_order,equipment_state,standing_h\n\
                    P-1,2026-10-13,300,40,earthed,T-417,2027-03-31,ok,ok,ok,512,yes,4,1.2,crew 2,WO-8,store,30\n";

#[test]
fn usual_words_for_the_record_are_understood_and_filed_as_ours() {
    let master = "winding,tested_on,r_60s,winding_temp_c\nP-1,2026-07-14,305,40\n";
    let world = World::new(&[("sheet.csv", SHEET), ("master.csv", master)]);
    let run = world.run(&["add", "sheet.csv", "--to", "master.csv", "--extend"]);
    assert_eq!(run.status, 0, "{}", run.words);
    let mut rows = OURS.lines();
    let (header, row) = (rows.next().unwrap(), rows.next().unwrap());
    let filed = world.read("master.csv");
    assert!(filed.starts_with(header) && filed.ends_with(&format!("{row}\n")), "{filed}");
    // Filed once more it is there already.
    let again = world.run(&["add", "sheet.csv", "--to", "master.csv"]);
    assert!(
        again.words.contains("has 1 of the tests already") || again.out.contains("has 1 of the tests already"),
        "{again:?}"
    );
}

#[test]
fn the_record_is_in_every_output() {
    let world = World::new(&[("h.csv", OURS)]);
    let result = json(&world, &["assess", "h.csv", "--as-of", "2026-11-25", "--format", "json", "-q"]);
    let latest = &result["series"][0]["latest"];
    for (key, value) in
        [("other_phases", "earthed"), ("serial", "T-417"), ("calibration_due", "2027-03-31"), ("tested_by", "crew 2")]
    {
        assert_eq!(latest[key], value);
    }
    assert_eq!((&latest["discharged_min"], &latest["source_check"]), (&4.0.into(), &512.0.into()));
    let csv = world.run(&["assess", "h.csv", "--as-of", "2026-11-25", "--format", "csv", "-q"]).out;
    assert!(csv.contains("latest_work_order") && csv.contains("WO-8"), "{csv}");
    let account = world.run(&["explain", "h.csv", "--as-of", "2026-11-25", "--winding", "P-1"]).out;
    assert!(
        account.contains("dielectric discharge     1.2\n") && account.contains("equipment state          store\n"),
        "{account}"
    );
    let run = world.run(&["report", "h.csv", "--as-of", "2026-11-25", "--pages", "all", "--out", "pages", "-q"]);
    assert_eq!(run.status, 0, "{}", run.words);
    let page = world.read("pages/series/P-1.html");
    for text in
        ["<th scope=\"col\">Tested by</th>", "<td>crew 2</td>", "<td>WO-8</td>", "<td>4 min</td>", "<td>earthed</td>"]
    {
        assert!(page.contains(text), "{text} is missing");
    }
    let sheet =
        world.run(&["round", "h.csv", "--as-of", "2026-11-25", "--until", "2027-12-31", "--format", "csv", "-q"]).out;
    assert!(
        sheet.contains("serial,calibration_due,battery,zero_check,open_check,source_check,proved_dead,discharged_min"),
        "{sheet}"
    );
}

#[test]
fn what_cannot_be_read_of_the_record_becomes_a_note_and_no_row_is_lost() {
    let world = World::new(&[(
        "h.csv",
        "winding,tested_on,r_60s,battery,calibration_due,lead_check\nP-1,2026-10-13,300,12.4 V,next spring,ok\n",
    )]);
    assert_eq!(
        world.run(&["check", "h.csv"]),
        Outcome::printed(
            0,
            "h.csv: 1 row: 1 accepted, 0 repeated, 0 rejected\n\
             h.csv:2: battery is 12.4 V; it cannot be read there and is kept as a note (2 cells like this)\n\
             h.csv: there is no column of winding temperatures, so its readings cannot be brought to one temperature\n\
             hint: add a column winding_temp_c, or winding_temp_f\n"
        )
    );
    let account = world.run(&["explain", "h.csv", "--as-of", "2026-11-25", "--winding", "P-1"]).out;
    assert!(account.contains("“battery: 12.4 V; calibration due: next spring”"), "{account}");
}

#[test]
fn a_file_that_records_no_check_is_said_once() {
    let rows: String = (1..=10).map(|i| format!("P-{i},2026-10-13,30{i},20\n")).collect();
    let history = format!("winding,tested_on,r_60s,winding_temp_c\n{rows}");
    let world = World::new(&[("h.csv", &history)]);
    assert_eq!(
        world.run(&["check", "h.csv"]).out,
        "h.csv: 10 rows: 10 accepted, 0 repeated, 0 rejected\n\
         h.csv: no column says whether leads, tester and circuit were checked before the tests, so the readings are believed as they \
         are\n\
         hint: columns that say it: lead_check, zero_check, open_check, battery, calibration_due, source_check, proved_dead\n"
    );
}

#[test]
fn steps_and_the_dielectric_discharge_are_worked_out() {
    let world = World::new(&[]);
    // W15 of the worked examples, common definition from memory: 100 nA, 500 V, 0.1 µF are 2.
    let found = json(
        &world,
        &[
            "ratios",
            "500V=900",
            "1kV=850",
            "2500V=300",
            "--discharge-na",
            "100",
            "--test-volts",
            "500",
            "--capacitance-uf",
            "0.1",
            "--format",
            "json",
        ],
    );
    assert!((found["dielectric_discharge"].as_f64().unwrap() - 2.0).abs() < 1e-12);
    assert!((found["overall"].as_f64().unwrap() - 1.0 / 3.0).abs() < 1e-12);
    assert!((found["steps"][1]["current_ua"].as_f64().unwrap() - 1000.0 / 850.0).abs() < 1e-12);
    assert_eq!(
        world.run(&["ratios", "500V=900", "60s=400"]),
        Outcome::refused(
            2,
            "times and voltages are given together; one test has either timed readings or steps of the voltage\n\
             hint: call ratios once for each\n"
        )
    );
    assert_eq!(
        world.run(&["ratios", "500V=900"]),
        Outcome::refused(
            2,
            "one step tells no fall with the voltage\nhint: give two or more, such as 500V=900 1000V=850\n"
        )
    );
}

#[test]
fn pictures_of_steps_and_of_drying_need_such_tests() {
    let world = World::new(&[("h.csv", OURS)]);
    for (kind, said) in [
        ("steps", "no test was made at rising voltages on one day"),
        ("drying", "no rows with readings tell of drying out"),
    ] {
        let run = world.run(&[
            "chart",
            "h.csv",
            "--winding",
            "P-1",
            "--kind",
            kind,
            "--as-of",
            "2026-11-25",
            "--out",
            "p.png",
        ]);
        assert!(run.status == 2 && run.words.contains(said), "{}", run.words);
    }
    let (history, register) = (demo("jobs.csv"), demo("jobs-register.csv"));
    for (kind, winding) in [("steps", "R-204 stator"), ("drying", "P-107 stator")] {
        let name = format!("{kind}.svg");
        let args = [
            "chart",
            &history,
            "--register",
            &register,
            "--winding",
            winding,
            "--kind",
            kind,
            "--as-of",
            "2026-11-25",
            "--out",
            &name,
        ];
        assert_eq!(world.run(&args).status, 0);
        assert!(world.read(&name).contains("<svg"));
    }
}
