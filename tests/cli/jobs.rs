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
        again.words.contains("already has 1 of these tests") || again.out.contains("already has 1 of these tests"),
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
    for text in [
        "<th scope=\"col\">Tested by</th>",
        "<td>crew 2</td>",
        "<td>WO-8</td>",
        "<td>4 min</td>",
        "<td>earthed</td>",
        "<td>2027-03-31</td>",
        "<td>512 V</td>",
        "<td>store</td>",
        "<td>30 h</td>",
    ] {
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
    assert!(account.contains("Under battery the row of 2026-10-13 says “12.4 V”"), "{account}");
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
            "one step cannot show a drop with voltage\nhint: give two or more, such as 500V=900 1000V=850\n"
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

/// In every layout the work order and who tested are a record of the test: they go into the master with it.
#[test]
fn work_orders_of_other_layouts_are_filed_with_their_tests() {
    let points = "Motor,Date,Work order,Measuring point,Value,Unit\n\
                  P-1,2026-07-14,WO-1,Insulation resistance 1 min,300,MOhm\nP-1,2026-07-14,,Winding temperature,30,°C\n\
                  P-1,2026-10-13,WO-2,Insulation resistance 1 min,310,MOhm\nP-1,2026-10-13,WO-2,Winding temperature,28,°C\n";
    let dates =
        "Motor,2026-07-14,2026-10-13\nP-1,300,310\nP-2,200,210\nWork order,WO-1,WO-2\nTested by,crew 1,crew 2\n";
    let two_rows = "Motor,2026-07-14,,2026-10-13,\n,R60,Work order,R60,Work order\nP-1,300,WO-1,310,WO-2\n";
    let phases = "Motor,Date,WO,Scope,Tested by,U-PE,V-PE\nP-1,2026-10-13,WO-8,circuit,crew 2,300,310\n";
    let titled = "Insulation test record,,\nWork order: WO-77,,Tested by: crew 3\nDate: 2026-10-13,,\nMotor,U-PE,V-PE\nP-1,300,310\n";
    let cases = [
        (points, "winding_temp_c,work_order\n", "P-1,2026-07-14,300,30,WO-1\nP-1,2026-10-13,310,28,WO-2\n"),
        (
            dates,
            "winding_temp_c,tested_by,work_order\n",
            "P-1,2026-07-14,300,,crew 1,WO-1\nP-1,2026-10-13,310,,crew 2,WO-2\n\
             P-2,2026-07-14,200,,crew 1,WO-1\nP-2,2026-10-13,210,,crew 2,WO-2\n",
        ),
        (two_rows, "winding_temp_c,work_order\n", "P-1,2026-07-14,300,,WO-1\nP-1,2026-10-13,310,,WO-2\n"),
        (
            phases,
            "winding_temp_c,connection,scope,tested_by,work_order\n",
            "P-1,2026-10-13,300,,U-earth,circuit,crew 2,WO-8\nP-1,2026-10-13,310,,V-earth,circuit,crew 2,WO-8\n",
        ),
        (
            titled,
            "winding_temp_c,connection,tested_by,work_order\n",
            "P-1,2026-10-13,300,,U-earth,crew 3,WO-77\nP-1,2026-10-13,310,,V-earth,crew 3,WO-77\n",
        ),
    ];
    for (sheet, header, rows) in cases {
        let master = "winding,tested_on,r_60s,winding_temp_c\n";
        let world = World::new(&[("sheet.csv", sheet), ("master.csv", &format!("{master}P-9,2020-01-01,300,20\n"))]);
        let run = world.run(&["add", "sheet.csv", "--to", "master.csv", "--extend"]);
        assert_eq!(run.status, 0, "{sheet}{}", run.words);
        let filed = world.read("master.csv");
        assert!(filed.lines().next().is_some_and(|line| format!("{line}\n").ends_with(header)), "{filed}");
        assert!(filed.ends_with(rows), "{filed}");
    }
    // Beside a motor it belongs to one of its dates, and nobody knows to which.
    let world = World::new(&[("sheet.csv", "Motor,Work order,2026-07-14,2026-10-13\nP-1,WO-1,300,310\n")]);
    assert!(world.run(&["check", "sheet.csv"]).out.contains("sheet.csv: ignored column: Work order\n"));
}

#[test]
fn all_lines_of_a_circuit_are_in_one_table_on_the_page_of_each() {
    let world = World::new(&[]);
    let (history, register) = (demo("jobs.csv"), demo("jobs-register.csv"));
    let args =
        ["report", &history, "--register", &register, "--as-of", "2026-11-25", "--pages", "all", "--out", "pages"];
    let run = world.run(&[&args[..], &["--pdf", "pack.pdf", "-q"]].concat());
    assert_eq!(run.status, 0, "{}", run.words);
    for line in ["L1-L2", "L1-pipe", "L2-pipe"] {
        let page = world.read(&format!("pages/series/LP-3_way_7_{line}.html"));
        let (_, table) = page.split_once("<h2>All lines of LP-3 way 7</h2>").unwrap();
        let (table, _) = table.split_once("</table>").unwrap();
        for cells in [
            r#"L1-L2</th><td><span class="action action-gather">gather</span></td><td class="day">2026-11-24</td><td class="number">340 MΩ</td>"#,
            r#"L1-pipe</th><td><span class="action action-hold">hold</span></td><td class="day">2026-11-24</td><td class="number">&lt; 0.1 MΩ</td>"#,
            r#"<td class="number wider">320 MΩ on 2025-11-20</td>"#,
        ] {
            let table: String = table.lines().map(str::trim).collect();
            assert!(table.contains(cells), "{cells} is missing on the page of {line}: {table}");
        }
        assert!(
            table.contains(&format!(r#"<tr class="here" aria-current="true"><th scope="row" class="day">{line}<"#))
        );
        assert!(!table.contains("At 40"), "limits of circuits belong to no temperature");
    }
    let motor = world.read("pages/series/P-106_stator_U-earth.html");
    assert!(motor.contains("<h2>All connections of P-106 stator</h2>") && motor.contains("N-earth"));
    assert!(!world.read("pages/series/SP-2_stator.html").contains("All connections"));
}

/// 62 MΩ at 84 °C would be 328 MΩ at 40 °C and look like a pass.
#[test]
fn a_hot_reading_while_drying_is_shown_as_read_and_as_hot() {
    let world = World::new(&[]);
    let (history, register) = (demo("jobs.csv"), demo("jobs-register.csv"));
    let common = [history.as_str(), "--register", &register, "--as-of", "2026-11-25"];
    let list = world.run(&[&["assess"][..], &common].concat()).out;
    assert!(list.contains("hold    P-107 stator          62 MΩ, hot (84 °C)"), "{list}");
    let result = json(&world, &[&["assess"][..], &common, &["--format", "json", "-q"]].concat());
    let series = result["series"].as_array().unwrap();
    let latest = &series.iter().find(|series| series["winding"] == "P-107 stator").unwrap()["latest"];
    assert_eq!((&latest["r60_mohm"], &latest["kt"], &latest["r60_ref_mohm"]), (&62.0.into(), &().into(), &().into()));
    let account = world.run(&[&["explain"][..], &common, &["--winding", "P-107 stator"]].concat()).out;
    assert!(
        account.contains("corrected                not: a hot reading while drying out passes nothing\n"),
        "{account}"
    );
    let run = world.run(&[&["report"][..], &common, &["--out", "pages", "-q"]].concat());
    assert_eq!(run.status, 0, "{}", run.words);
    let page = world.read("pages/series/P-107_stator.html");
    assert!(page.contains("<dt>Latest test while drying out</dt><dd><span class=\"value\">62 MΩ, hot (84 °C)</span>"));
    assert!(!page.contains("328 MΩ") && !page.contains("Fitted level"), "{page}");
}
