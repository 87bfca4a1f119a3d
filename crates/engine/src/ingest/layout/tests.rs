//! Sheets of every kind as the plain table that they stand for.

use super::*;
use crate::ingest::aliases;
use crate::ingest::sheet::Merged;
use chrono::NaiveDate;

/// A sheet drawn with `|` between its cells, arranged: the rows of the plain table, their cells delimited by blanks.
fn arranged(sheet: &str, named: Option<&str>) -> (Vec<String>, Vec<String>) {
    arranged_within(sheet, named, &mut Limits::of_bytes(0, 8))
}

/// As [`arranged`], by a layout that is described.
fn by_layout(sheet: &str, layout: &str) -> (Vec<String>, Vec<String>) {
    let table: toml_edit::DocumentMut = layout.parse().unwrap_or_default();
    let layouts = Description::read(table.as_table()).into_iter().collect();
    let rules = ReadingRules { layouts, ..ReadingRules::default() };
    arranged_by(sheet, None, &mut Limits::of_bytes(0, 8), rules)
}

fn arranged_within(sheet: &str, named: Option<&str>, limits: &mut Limits) -> (Vec<String>, Vec<String>) {
    arranged_by(sheet, named, limits, ReadingRules::default())
}

fn arranged_by(
    sheet: &str,
    named: Option<&str>,
    limits: &mut Limits,
    rules: ReadingRules,
) -> (Vec<String>, Vec<String>) {
    let text = sheet.lines().map(str::trim).collect::<Vec<_>>().join("\n");
    let document = Document::of_text(text.into_bytes(), Layout { delimiter: b'|', crlf: false, bom: false });
    let rules = ReadingRules { as_of: NaiveDate::from_ymd_opt(2026, 12, 31), ..rules };
    let name = SheetName { place: "sheet", sheet: named, several: named.is_some() };
    match arrange(&document, &rules, &limits.label_reader(&rules.mapping), name, limits) {
        Ok(Some(arranged)) => {
            let text = String::from_utf8_lossy(&arranged.text).into_owned();
            let rows =
                text.lines().map(|line| line.split('|').filter(|cell| !cell.is_empty()).collect::<Vec<_>>().join(" "));
            (
                rows.collect(),
                arranged
                    .unplaced
                    .into_iter()
                    .map(|cell| format!("{}: {}", cell.place.name(), cell.fault.rule))
                    .collect(),
            )
        }
        Ok(None) => (vec!["plain".to_owned()], Vec::new()),
        Err(refused) => (vec![refused.failure.to_string()], Vec::new()),
    }
}

fn must_be(sheet: &str, rows: &[&str]) {
    let (found, unplaced) = arranged(sheet, None);
    assert_eq!(
        (found.iter().map(String::as_str).collect::<Vec<_>>(), unplaced),
        (rows.to_vec(), Vec::new()),
        "{sheet}"
    );
}

/// Units in other words than `kΩ`, and units that are not clear, wherever they are: none is read as MΩ.
#[test]
fn units_around_a_table_are_understood_or_asked_about() {
    let table =
        "Motor | Fecha | Aislamiento | Temp. devanado (°C)\n P-1 | 2025-01-13 | 900 | 30\n P-2 | 2025-01-13 | 800 | 30";
    for above in ["kiloohmios", "kohmios", "quilohms", "chiloohm", "kilo", "k"] {
        let found = arranged(&format!(" | | {above} | °C\n {table}"), None).0;
        assert!(found[0].contains("r_60s_kohm") && found[1].contains(" 900 "), "{above}: {found:?}");
    }
    for title in ["Aislamiento de motores en kiloohmios", "Isolamento em quiloohms", "Aislamiento en k"] {
        let found = arranged(&format!("{title} | | |\n {table}"), None).0;
        assert!(found[0].contains("r_60s_kohm") && found[1].contains(" 900 "), "{title}: {found:?}");
    }
    let asked = |place: &str, text: &str, unit: &str, example: &str, bare: &str| {
        vec![format!(
            "sheet:{place}: “{text}” names {unit}, and nothing gives the reading at {bare} a unit; it would be read in MΩ\n\
             hint: write the unit into the header of the readings, or above the table: all readings in {example}; or take the text out \
             if it speaks of something else"
        )]
    };
    // Two tests in a row make it no plain table.
    let wide = "Motor | 2025-02-12 | 2025-05-14\n P-1 | 840 | 835\n P-2 | 95 | 80";
    for text in ["Valores en 1000 ohmios", "x 1000 ohm", "10^3 ohm", "Werte in Tausend Ohm", "values in milliohm"] {
        assert_eq!(
            arranged(&format!("{wide}\n{text}"), None).0,
            asked("A4", text, "an unclear unit", "MΩ", "B2"),
            "{text}"
        );
    }
    assert_eq!(arranged(&format!(" | GΩ | \n{wide}"), None).0, asked("B1", "GΩ", "GΩ", "GΩ", "B3"));
}

/// The message names what cannot be a reading of the winding alone, and never proposes it as one.
#[test]
fn readings_with_a_cable_are_not_proposed_as_those_of_the_winding() {
    assert_eq!(
        arranged(
            "Motor | Date | IR (MΩ) | Motor + cable (MΩ)\n P-1 | 2025-01-13 | 900 | 1\n P-2 | 2025-01-13 | 800 | 30",
            None
        )
        .0,
        ["sheet: column Motor + cable (MΩ) seems to hold readings, and it is not understood which\n\
             hint: readings of a winding with its cable need rows of their own with winding+cable in a column scope; what holds no readings \
             of the insulation is left out under [columns] in groundwall.toml or the policy file: \"Motor + cable (MΩ)\" = \"-\""]
    );
    let temperatures =
        "Motor | Date | IR (MΩ) | Oven °F (set/read)\n P-1 | 2025-01-13 | 900 | 70/95\n P-1 | 2026-01-13 | 800 | 71/96";
    assert_eq!(arranged(temperatures, None).0, ["plain"], "no machine is named by what has a unit");
}

#[test]
fn a_plain_table_is_left_as_it_is() {
    must_be("winding | tested_on  | r_60s\n P-1 | 2025-02-12 | 410", &["plain"]);
    must_be("Location | Motor | Date | MΩ\n Mill | P-1 | 2025-02-12 | 410\n Mill | P-2 | 2025-02-12 | 95", &["plain"]);
}

#[test]
fn a_unit_beside_an_arranged_sheet_is_never_left_unread() {
    let said = |place: &str, text: &str, cell: &str| {
        vec![format!(
            "sheet{place}: “{text}” names kΩ, and nothing gives the reading at {cell} a unit; it would be read in MΩ\n\
             hint: write the unit into the header of the readings, or above the table: all readings in kΩ; or take the text out if it \
             speaks of something else"
        )]
    };
    let wide = "Motor | 2025-02-12 | 2025-05-14\n P-1 | 840 | 835\n P-2 | 95 | 80";
    assert_eq!(arranged(&format!("{wide}\nAll readings in kΩ"), None).0, said(":A4", "All readings in kΩ", "B2"));
    // A greater unit above it may be that of a range.
    assert_eq!(
        arranged(&format!("GΩ range\n{wide}"), None).0[..2],
        ["winding tested_on connection r_60s", "P-1 2025-02-12 840"]
    );
    assert_eq!(arranged(wide, Some("IR kOhm")).0, said("", "IR kOhm", "B2"));
    // Above the table it says all that is needed.
    assert_eq!(
        arranged(&format!("# kOhm\n{wide}"), None).0[..2],
        ["winding tested_on connection r_60s_kohm", "P-1 2025-02-12 840"]
    );
}

#[test]
fn a_blank_unit_beside_measuring_points_is_no_megohm() {
    let sheet = "Asset | Date | Point | Value | UM
                 P-1 | 2025-02-12 | Insulation resistance | 840 | kΩ
                 P-1 | 2025-02-12 | Winding temperature | 22 | °C
                 P-1 | 2025-05-14 | Insulation resistance | 835 |";
    let (rows, unplaced) = arranged(sheet, None);
    assert_eq!(rows[1], "P-1 2025-02-12 840 22");
    assert_eq!(unplaced, ["D4: other rows name kΩ, and this one names no unit"]);
}

#[test]
fn day_month_and_year_in_three_columns_are_a_date() {
    for (day, month, year) in [
        ("Day", "Month", "Year"),
        ("Tag", "Monat", "Jahr"),
        ("Jour", "Mois", "Année"),
        ("Día", "Mes", "Año"),
        ("Giorno", "Mese", "Anno"),
        ("Dia", "Mês", "Ano"),
        ("Dag", "Maand", "Jaar"),
    ] {
        let sheet =
            format!("Motor | {day} | {month} | {year} | MΩ\n B1 | 10 | 1 | 2025 | 300\n B2 | 9 | 4 | 2025 | 30");
        must_be(&sheet, &["winding tested_on connection r_60s", "B1 2025-01-10 300", "B2 2025-04-09 30"]);
    }
}

#[test]
fn a_voltage_in_a_title_is_that_of_the_test_only_where_it_says_so() {
    let table = "Motor No: P-1 | Voltage: 6600\n Test date | MΩ\n 2025-02-12 | 840\n 2025-05-14 | 835";
    must_be(table, &["winding tested_on connection r_60s", "P-1 2025-02-12 840", "P-1 2025-05-14 835"]);
    let table = table.replace("Voltage: 6600", "Test voltage: 500");
    must_be(
        &table,
        &["winding tested_on connection r_60s test_volts", "P-1 2025-02-12 840 500", "P-1 2025-05-14 835 500"],
    );
}

#[test]
fn a_unit_in_brackets_is_no_phase() {
    must_be(
        "Motor | Date | U [V] | R-E | S-E | T-E
         P-1 | 2025-06-24 | 500 | 452 | 440 | 430",
        &[
            "winding tested_on connection r_60s test_volts",
            "P-1 2025-06-24 U-earth 452 500",
            "P-1 2025-06-24 V-earth 440 500",
            "P-1 2025-06-24 W-earth 430 500",
        ],
    );
    must_be("Motor | Date | IR [MOhm] | U [V] | t [s] | T [C]\n P-1 | 2025-06-24 | 452 | 500 | 60 | 22", &["plain"]);
    must_be(
        "Motor | Date | U set [V] | U meas (V) | R [MΩ] | t (s)\n P-1 | 2025-06-24 | 500 | 526 | 452 | 60",
        &["plain"],
    );
    // The same with the units in a row of their own.
    must_be(
        "Motor | Date | R | U | t | I
                |      | MΩ | V | s | µA
         P-1 | 2025-06-24 | 452 | 500 | 60 | 1",
        &["winding tested_on connection r_60s test_volts", "P-1 2025-06-24 452 500"],
    );
    let reading = |header: &str| {
        Label::read(header, &Mapping::default()).column().filter(|c| crate::ingest::kinds::is_reading(*c))
    };
    for header in ["U [V]", "t [s]", "W (V)", "U-V [V]", "I [µA]", "n [rpm]", "P [kW]", "f [Hz]", "dT [K]", "V-W (A)"]
    {
        assert_eq!(reading(header), None, "{header}");
        assert!(aliases::has_unit_of_something_else(header), "{header}");
    }
    for header in ["IR (V)", "Phase 2 (V)", "R 60 (s)", "R (S)", "MΩ (min)", "IR 1 min (MΩ)", "R (K)"] {
        assert!(!aliases::has_unit_of_something_else(header), "{header}");
    }
}

#[test]
fn names_above_dates_are_motors_whatever_the_corner_says() {
    // Where a title names the motor, or the corner is no word for a list of checks, they may be permits, meters or rounds.
    for (title, corner) in [("Motor: P-101", "Check"), ("Motor: P-101", "Permit"), ("Pumps", "Ref")] {
        let (found, _) = arranged(
            &format!("{title} | | \n {corner} | T-001 | T-002\n Date | 2025-01-13 | 2025-04-14\n IR (MΩ) | 420 | 2"),
            None,
        );
        assert!(!found.iter().any(|row| row.starts_with("T-001")), "{title} {corner}: {found:?}");
    }
    for corner in ["Check", "Task", "Beschreibung"] {
        must_be(
            &format!(
                "Shutdown 2026 | | |
                 {corner} | CV-101 | CV-102 | EL-201
                 Date done | 2025-03-10 | 2025-03-11 | 2025-03-12
                 Terminal box clean | Y | Y | N
                 Bearings quiet | Y | Y | Y
                 IR (MΩ) | 1.2 | 750 | 880
                 Done by | PW | PW | SN"
            ),
            &[
                "winding tested_on connection r_60s tested_by",
                "CV-101 2025-03-10 1.2 PW",
                "CV-102 2025-03-11 750 PW",
                "EL-201 2025-03-12 880 SN",
            ],
        );
    }
    assert_eq!(
        arranged(
            "PM-7 | | |
             Round | North belt | South belt | Elevator
             Date | 2025-03-10 | 2025-03-11 | 2025-03-12
             IR (MΩ) | 1.2 | 750 | 880",
            None
        )
        .0,
        ["sheet: row 2 has Elevator, North belt, South belt above dates, and it is not understood what they name\n\
          hint: write Motor before them if they are motors, or take that row out"]
    );
}

#[test]
fn names_under_an_unknown_header_go_with_all_tests_of_their_row() {
    must_be(
        "Cell | HP | Date | 60 sec (MΩ) | Date | 60 sec (MΩ)
         CT-A | 50 | 2025-04-06 | 205 | 2025-10-05 | 200
         CT-B | 50 | 2025-04-06 | 190 | 2025-10-05 | 0.44",
        &[
            "winding tested_on connection r_60s",
            "CT-A 2025-04-06 205",
            "CT-A 2025-10-05 200",
            "CT-B 2025-04-06 190",
            "CT-B 2025-10-05 0.44",
        ],
    );
    assert_eq!(
        arranged(
            "Cell | HP | Spring | Spring | Autumn | Autumn
             Cell | HP | Date | 60 sec (MΩ) | Date | 60 sec (MΩ)
             CT-A | 50 | 2025-04-06 | 205 | 2025-10-05 | 200
             CT-B | 50 | 2025-04-06 | 190 | 2025-10-05 | 0.44",
            None
        )
        .0,
        ["sheet: column Cell names CT-A, and its tests are called Autumn, Spring: which are the motors?\n\
          hint: under [columns] in groundwall.toml or the policy file, say \"Cell\" = \"winding\" if that column names them, and \
          \"Cell\" = \"-\" if not"]
    );
}

#[test]
fn a_column_of_days_goes_before_the_year_of_the_title() {
    for header in ["Visited", "Last test", "Keuring"] {
        assert_eq!(
            arranged(
                &format!(
                    "Motor tests 2025 | | \n Motor | {header} | IR (MΩ)\n P-1 | 2025-02-10 | 900\n P-2 | 2025-03-10 | 3"
                ),
                None
            )
            .0,
            [format!(
                "sheet: column {header} holds days, and it is not understood whether of the tests\n\
                 hint: under [columns] in groundwall.toml or the policy file, say \"{header}\" = \"tested_on\" if they are, and \
                 \"{header}\" = \"-\" if not"
            )]
        );
    }
}

#[test]
fn phases_and_quantities_below_dates_are_of_the_motor_of_their_sheet() {
    let phases = "Insulation MΩ | |\n Date | 2024-06-11 | 2025-06-10\n U | 1000 | 3\n V | 1000 | 980\n W | 990 | 970";
    assert_eq!(
        arranged(phases, Some("BFP-A")).0,
        [
            "winding tested_on connection r_60s",
            "BFP-A 2024-06-11 U-earth 1000",
            "BFP-A 2025-06-10 U-earth 3",
            "BFP-A 2024-06-11 V-earth 1000",
            "BFP-A 2025-06-10 V-earth 980",
            "BFP-A 2024-06-11 W-earth 990",
            "BFP-A 2025-06-10 W-earth 970",
        ]
    );
    let (rows, unplaced) = arranged(
        "BFP-A | |\n Date | 2024-06-11 | 2025-06-10\n IR | 1000 | 3\n Leakage µA | 4.5 | 4.7\n Capacitance nF | 120 | 121",
        Some("BFP-A"),
    );
    assert_eq!(rows, ["winding tested_on connection r_60s", "BFP-A 2024-06-11 1000", "BFP-A 2025-06-10 3"]);
    assert_eq!(unplaced, [""; 0]);
}

#[test]
fn the_parts_of_a_table_on_several_pages_have_names_in_one_column() {
    must_be(
        "Machine | Motor | Date | IR (MΩ)
         Dryer | TR-M1 | 2025-02-03 | 2100
         Dryer | TR-M2 | 2025-02-03 | 0.9
         Machine | Motor | Date | IR (MΩ)
         Press | PR-M1 | 2025-02-04 | 1300
         Dryer | TR-M1 | 2025-02-17 | 1880",
        &[
            "winding tested_on connection r_60s",
            "TR-M1 2025-02-03 2100",
            "TR-M2 2025-02-03 0.9",
            "PR-M1 2025-02-04 1300",
            "TR-M1 2025-02-17 1880",
        ],
    );
}

#[test]
fn a_text_beside_motors_in_columns_is_asked_about() {
    assert_eq!(
        arranged(
            "Fans, MΩ | | |\n Line | Date | P-101 | P-102\n A | 2025-01-13 | 120 | 3\n B | 2025-04-14 | 118 | 86",
            None
        )
        .0,
        [
            "sheet: column Line has A beside motors in columns: do its texts name machines whose motors have the same names?\n\
          hint: if they are, write one row per test with the whole name of the motor; if not, leave the column out under [columns] in \
          groundwall.toml or the policy file: \"Line\" = \"-\""
        ]
    );
}

#[test]
fn rows_after_the_as_of_date_raise_no_question() {
    let sheet = |day: &str| {
        format!(
            "Motor | Date | IR (MΩ)\n P-1 | 2025-02-10 | 900\n P-2 | 2025-02-10 | 800\n (retest) | {day} | 4\n P-1 | 2025-08-10 | 880"
        )
    };
    must_be(&sheet("2027-03-10"), &["plain"]);
    assert_eq!(
        arranged(&sheet("2025-03-10"), None).0,
        ["sheet: row 4 has (retest) in the place of a motor's name\n\
          hint: write the name of the motor there, and the remark into a column of notes; a test made again is a row of its own with its date"]
    );
}

#[test]
fn rounds_with_a_date_each_keep_it() {
    let sheet = |second: &str| {
        format!(
            "Spring round | Date: | 2025-04-07 | Air temp (°C): | 9
             Motor | IR (MΩ) | Remarks
             GP-1 | 140 |

             Autumn round | {second} | |
             Motor | IR (MΩ) | Remarks
             GP-1 | 0.9 |"
        )
    };
    must_be(
        &sheet("Date: | 2025-10-06"),
        &["winding tested_on connection air_temp_c r_60s", "GP-1 2025-04-07 9 140", "GP-1 2025-10-06 0.9"],
    );
}

#[test]
fn a_round_without_a_date_has_not_that_of_another() {
    let (found, _) = arranged(
        "Date: 2024-02-15 |
         Motor | IR (MΩ)
         P-102 | 400

         Date: 2024-08-15 |
         Motor | IR (MΩ)
         P-102 | 390

         Last round |
         Motor | IR (MΩ)
         P-102 | 1",
        None,
    );
    assert!(!found.iter().any(|row| row.starts_with("P-102 2024") && row.ends_with(" 1")), "{found:?}");
}

#[test]
fn a_rating_is_no_name_of_a_motor() {
    for title in ["90 kW, 400 V", "Leistung 90 kW", "75 HP 1480 rpm"] {
        assert!(!context::is_name(title), "{title}");
    }
    for name in ["P-101", "Pump 3 V", "Pump 101 A", "M4711"] {
        assert!(context::is_name(name), "{name}");
    }
}

#[test]
fn another_motor_beside_motors_in_columns_is_asked_about() {
    for (title, headers) in [
        ("Motors, MΩ", "Pump 1 | Pump 2 | Line 1"),
        ("Motors", "Pump 1 (MΩ) | Pump 2 (MΩ) | Mixer"),
        ("Motors, MΩ", "Pump 1 | Pump 2 | Speed winder"),
    ] {
        let found = arranged(
            &format!("{title} | | |\n Date | {headers}\n 2025-01-13 | 120 | 88 | 0.5\n 2025-04-14 | 118 | 86 | 0.4"),
            None,
        )
        .0;
        let last = headers.rsplit(" | ").next().unwrap_or_default();
        assert!(
            found[0]
                .starts_with(&format!("sheet: column {last} seems to hold readings, and it is not understood which")),
            "{found:?}"
        );
    }
}

#[test]
fn numbers_of_rows_beside_motors_in_columns_are_none() {
    for header in ["No.", "Nr.", "#", "Pos"] {
        let (found, _) = arranged(
            &format!(
                "Motors, MΩ | | |\n {header} | Date | P-101 | P-102\n 1 | 2025-01-13 | 120 | 88\n 2 | 2025-04-14 | 118 | 86"
            ),
            None,
        );
        assert_eq!(found.len(), 5, "{header}: {found:?}");
    }
}

#[test]
fn a_unit_that_is_written_once_is_asked_about() {
    for (sheet, with, without) in [
        (
            "Motor | Date | U-E | V-E | W-E (kOhm)\n P-1 | 2025-01-13 | 1200 | 880 | 300",
            "column W-E (kOhm)",
            "column U-E",
        ),
        (
            "Motor | Date | IR 1 min | IR 10 min (kΩ)\n P-1 | 2025-01-13 | 850,5 | 900,5",
            "column IR 10 min (kΩ)",
            "column IR 1 min",
        ),
        ("Motor | 2024-11-05 (kΩ) | 2025-05-05\n P-1 | 1200 | 880", "column 2024-11-05 (kΩ)", "column 2025-05-05"),
        (
            "Motor | Date | IR 1 min | IR 10 min (kΩ)\n P-1 | 2025-01-13 | 1200 | 880",
            "column IR 10 min (kΩ)",
            "column IR 1 min",
        ),
    ] {
        assert_eq!(
            arranged(sheet, None).0,
            [format!(
                "sheet: {with} is in kΩ, and {without} names no unit\n\
                 hint: write the unit into the header of each column of readings, such as IR 1 min (MΩ)"
            )]
        );
    }
}

#[test]
fn red_yellow_and_blue_in_rows_are_three_phases() {
    must_be(
        "Motor | Date | Phase | IR (MΩ)\n P-1 | 2025-01-13 | R | 120\n P-1 | 2025-01-13 | Y | 110\n P-1 | 2025-01-13 | B-E | 90\n P-1 | 2025-01-13 | B-R | 80",
        &[
            "winding tested_on connection r_60s",
            "P-1 2025-01-13 U-earth 120",
            "P-1 2025-01-13 V-earth 110",
            "P-1 2025-01-13 W-earth 90",
            "P-1 2025-01-13 W-U 80",
        ],
    );
    must_be(
        "Motor | Date | R | Y | B\n P-1 | 2025-01-13 | 120 | 110 | 90\n P-2 | 2025-01-13 | 12 | 11 | 9",
        &[
            "winding tested_on connection r_60s",
            "P-1 2025-01-13 U-earth 120",
            "P-1 2025-01-13 V-earth 110",
            "P-1 2025-01-13 W-earth 90",
            "P-2 2025-01-13 U-earth 12",
            "P-2 2025-01-13 V-earth 11",
            "P-2 2025-01-13 W-earth 9",
        ],
    );
    must_be(
        "Motors, MΩ | | |\n Date | Phase | M-1 | M-2\n 2025-01-13 | R | 120 | 10\n 2025-01-13 | Y | 110 | 11\n 2025-01-13 | B | 90 | 12",
        &[
            "winding tested_on connection r_60s",
            "M-1 2025-01-13 U-earth 120",
            "M-2 2025-01-13 U-earth 10",
            "M-1 2025-01-13 V-earth 110",
            "M-2 2025-01-13 V-earth 11",
            "M-1 2025-01-13 W-earth 90",
            "M-2 2025-01-13 W-earth 12",
        ],
    );
}

#[test]
fn a_factor_in_a_title_is_asked_about() {
    for factor in ["(÷1000)", "x 0.001", "/ 1000", "x10-3", "mal 0,001", "× 100"] {
        let title = format!("Insulation MΩ {factor}");
        assert_eq!(
            arranged(&format!("{title} |\n Motor | 2025-01-13 | 2025-07-14\n P-1 | 1200 | 880"), None).0,
            [format!(
                "sheet: a title says {title}, and the readings below it may have to be multiplied or divided\n\
                 hint: write the readings in MΩ, and take the factor out of the title"
            )]
        );
    }
    for title in [
        "Insulation MΩ - 1 min / 10 min",
        "IR in MΩ at 500 V / 1000 V",
        "(MΩ) Sheet 1 / 10",
        "Insulation MΩ, 10/2025",
        "MΩ at 500 V / 1 min",
        "Insulation resistance (MΩ) - 3 x 400 V motors",
    ] {
        assert_eq!(
            arranged(&format!("{title} |\n Motor | 2025-01-13 | 2025-07-14\n P-1 | 1200 | 880"), None).0.len(),
            3,
            "{title}"
        );
    }
}

#[test]
fn a_column_after_dates_that_holds_one_reading_is_asked_about() {
    for header in ["20.11.", "?", "Date"] {
        let found = arranged(
            &format!("Insulation MΩ | | |\n Motor | 2025-01-13 | 2025-07-14 | {header}\n P-1 | 1200 | 880 | 0.5\n P-2 | 1100 | 980 |"),
            None,
        )
        .0;
        assert!(found[0].starts_with("sheet: column"), "{header}: {found:?}");
    }
}

#[test]
fn a_pivot_table_has_names_totals_and_dates() {
    must_be(
        "Average of Megohms | Column Labels | | |
         Row Labels | 1/14/2025 | 4/15/2025 | 7/16/2025 | Grand Total
         AHU-1 Supply | 210 | 205 | 198 | 204.3
         AHU-1 Return | 185 | 180 | | 182.5
         Grand Total | 197.5 | 192.5 | 198 | 193.4",
        &[
            "winding tested_on connection r_60s",
            "AHU-1 Supply 2025-01-14 210",
            "AHU-1 Supply 2025-04-15 205",
            "AHU-1 Supply 2025-07-16 198",
            "AHU-1 Return 2025-01-14 185",
            "AHU-1 Return 2025-04-15 180",
        ],
    );
    must_be(
        "Moteur | Date | Ph1/T (GΩ) | Ph2/T (GΩ) | Ph3/T (GΩ)\n M-1 | 2025-02-10 | 1.2 | 1.1 | 0.9",
        &[
            "winding tested_on connection r_60s_gohm",
            "M-1 2025-02-10 U-earth 1.2",
            "M-1 2025-02-10 V-earth 1.1",
            "M-1 2025-02-10 W-earth 0.9",
        ],
    );
}

#[test]
fn a_form_of_one_motor_is_turned() {
    must_be(
        "Retest record |
         Motor | RG Dorp
         Date | 20/10/2026
         IR (MΩ) | 1.4",
        &["winding tested_on connection r_60s", "RG Dorp 2026-10-20 1.4"],
    );
    // With units in a column of their own, notes that are no measurement, and several forms on a sheet.
    must_be(
        "Motor no. | RG Dorp |
         Date | 20/10/2026 |
         Tested by | AB |
         Insulation resistance 1 min | 1400 | kΩ
         Insulation resistance 10 min | 1.9 | MΩ
         Winding temp | 20 | °C

         Motor no. | RG Haven |
         Date | 21/10/2026 |
         Insulation resistance 1 min | 0.6 | GΩ",
        &[
            "winding tested_on connection r_600s r_60s_gohm r_60s_kohm tested_by winding_temp_c",
            "RG Dorp 2026-10-20 1.9 1400 AB 20",
            "RG Haven 2026-10-21 0.6",
        ],
    );
    // Phases are no motors, however they are written.
    for corner in ["Point", "Motor"] {
        let (found, _) = arranged(
            &format!(
                "Motor: P-101 | |\n {corner} | U to earth | V - E\n Date | 2025-01-13 | 2025-01-13\n IR (MΩ) | 420 | 7"
            ),
            None,
        );
        assert!(!found.iter().any(|row| row.starts_with("U to earth")), "{corner}: {found:?}");
    }
    // A unit in the label and another beside it.
    let (found, _) = arranged("Motor | P-1 |\n Date | 2025-01-13 |\n IR (MΩ) | 4 | GΩ", None);
    assert!(!found.iter().any(|row| row.starts_with("P-1")), "{found:?}");
    // Several days of one motor.
    must_be(
        "Motor | P-1 | |
         Date | 2025-01-21 | 2026-01-21 | 2026-07-21
         1 min | 300 | 310 | 95",
        &["winding tested_on connection r_60s", "P-1 2025-01-21 300", "P-1 2026-01-21 310", "P-1 2026-07-21 95"],
    );
    // A table below a title is none.
    must_be(
        "Motor | P-1 |
         Date | 2025-01-21 |
         Phase | IR 1 min (MΩ) | IR 10 min (MΩ)
         U-E | 300 | 900
         V-E | 310 | 920",
        &[
            "winding tested_on connection r_600s r_60s",
            "P-1 2025-01-21 U-earth 900 300",
            "P-1 2025-01-21 V-earth 920 310",
        ],
    );
}

#[test]
fn motors_in_columns_and_quantities_in_rows_are_turned() {
    must_be(
        "Motor | RM-1 | RM-2
         Date | 2026-10-21 | 2026-10-22
         IR (MΩ) | 2 | 160
         Winding temp (°C) | 26 | 27
         Humidity % | 45 | 60",
        &[
            "winding tested_on connection r_60s rh_percent winding_temp_c",
            "RM-1 2026-10-21 2 45 26",
            "RM-2 2026-10-22 160 60 27",
        ],
    );
    let curves = "Polarisation curves, MΩ, 500 V DC\n\n\
                  Motor | RM-1 | RM-2 | RM-3\n\
                  Date | 2025-01-21 | 2025-01-21 | 2025-01-22\n\
                  Winding temp (°C) | 26 | 27 | 25\n\
                  0:15 | 300 | 110 | 800\n\
                  1:00 | 560 | <160 | 1500\n\
                  10:00 | 1750 | 260 |\n\
                  PI | 3.1 | 1.6 | 3.4";
    must_be(
        curves,
        &[
            "winding tested_on connection r_15s r_600s r_60s winding_temp_c",
            "RM-1 2025-01-21 300 1750 560 26",
            "RM-2 2025-01-21 110 260 <160 27",
            "RM-3 2025-01-22 800 1500 25",
        ],
    );
    // The cell of a reading is that of the sheet.
    assert_eq!(
        arranged("Motor | P-1 | P-2\n Date | 2025-01-21 | 2025-01-22\n 1:00 | 300 | 95\n 1 min | 310 | 95", None).1,
        [
            "B3: the cell B4 holds the same reading of this test and says something else",
            "B4: the cell B3 holds the same reading of this test and says something else"
        ]
    );
    // Two tests of a motor, a name once for both, and a table below it.
    must_be(
        "Parameter | P-1 | | P-2
         Date | 2025-01-21 | 2026-01-21 | 2025-01-21
         1 min | 300 | 310 | 95

         Parameter | P-3 | P-4 |
         Date | 2025-01-22 | 2026-01-23 |
         1 min | 30 | 31 |",
        &[
            "winding tested_on connection r_60s",
            "P-1 2025-01-21 300",
            "P-1 2026-01-21 310",
            "P-2 2025-01-21 95",
            "P-3 2025-01-22 30",
            "P-4 2026-01-23 31",
        ],
    );
    // No row with the day.
    assert_eq!(
        arranged("Motor | P-1 | P-2\n 1 min | 300 | 310\n Winding temp (°C) | 26 | 27", None).0,
        [
            "sheet: the motors are in columns and what was measured is in rows, and no test has a motor, a date and a resistance\n\
          hint: give each column its date in a row that begins with Date, and each resistance a row such as IR 1 min (MΩ)"
        ]
    );
}

#[test]
fn a_row_that_says_it_measures_something_else_is_no_resistance() {
    assert_eq!(
        arranged(
            "Motor | P-1 | P-2\n Date | 2026-10-21 | 2026-10-21\n IR (MΩ) | 2 | 160\n Drive end | 3 | 4\n Feet | 5 | 6\n Bolts | 7 | 8\n \
             Belt | 9 | 9\n Winding temp (°C) | 26 | 27",
            None
        )
        .0,
        ["sheet: row 8 says that it measures Winding temp (°C), and its numbers would be read as resistances\n\
          hint: write one row per test, with the motor, the date and the readings in columns, or call the column that says what each row \
          measures Quantity"]
    );
    must_be(
        "Equipo | Fecha | U1-T | V1-T | U1-V1\n P-1 | 2025-06-24 | 150 | 148 | 290",
        &[
            "winding tested_on connection r_60s",
            "P-1 2025-06-24 U-earth 150",
            "P-1 2025-06-24 V-earth 148",
            "P-1 2025-06-24 U-V 290",
        ],
    );
}

#[test]
fn a_cell_may_hold_a_reading_and_its_date() {
    must_be(
        "Motor | kW | Measurement 1 | Measurement 2
         P-1   | 11 | 450 MΩ (14.03.2023) | 2024-03-18: 440 MΩ
         P-2   | 5  | <95 (14.03.2023)     |",
        &["winding tested_on connection r_60s", "P-1 2023-03-14 450 MΩ", "P-1 2024-03-18 440 MΩ", "P-2 2023-03-14 <95"],
    );
}

#[test]
fn what_is_required_or_planned_is_never_proposed() {
    let status = "Motor | V | Min. MΩ | Next due | Last checked | MΩ
                  P-1 | 690 | 1.7 | 2027-03-01 | 2026-03-03 | 540
                  P-2 | 690 | 1.7 | 2027-03-01 | 2026-03-03 | 44
                  P-3 | 400 | 1.4 | 2027-03-01 | 2026-03-03 | 1.1";
    let mut mapping = Mapping::default();
    assert_eq!(mapping.add("Last checked", "tested_on"), Ok(()));
    let rules = ReadingRules { mapping, ..ReadingRules::default() };
    assert_eq!(arranged_by(status, None, &mut Limits::of_bytes(0, 8), rules.clone()).0, ["plain"]);
    // Where it may be the lowest of three readings it is asked about.
    let lowest = status.replace("1.7 | 2027", "12 | 2027").replacen("12 |", "530 |", 1);
    assert_eq!(
        arranged_by(&lowest, None, &mut Limits::of_bytes(0, 8), rules).0,
        ["sheet: column Min. MΩ seems to hold readings, and it is not understood which\n\
          hint: a limit is left out by \"Min. MΩ\" = \"-\" under [columns] in groundwall.toml or the policy file; of the lowest of several \
          readings, write all of them, each with its connection"]
    );
}

#[test]
fn dates_stand_above_columns_with_what_belongs_to_a_round() {
    must_be(
        "Motor      | 2025-02-12 | 2025-05-14
         Ambient °C | 18         | 21
         Tested by  | AB         | CD
         P-1        | 410        | 395
         P-2        | 95         | 80
         Min. value | 95         | 80",
        &[
            "winding tested_on connection air_temp_c r_60s tested_by",
            "P-1 2025-02-12 18 410 AB",
            "P-1 2025-05-14 21 395 CD",
            "P-2 2025-02-12 18 95 AB",
            "P-2 2025-05-14 21 80 CD",
        ],
    );
    must_be(
        "Motor | IR 12/02/2025 (MΩ) | Temp 12/02/2025 °C | IR 14/05/2025 (MΩ) | Temp 14/05/2025 °C
         P-1   | 410                | 22                 | 395                | 24",
        &["winding tested_on connection r_60s winding_temp_c", "P-1 2025-02-12 410 22", "P-1 2025-05-14 395 24"],
    );
}

#[test]
fn motors_above_groups_of_columns_stay_apart() {
    let rows = [
        "winding tested_on connection r_60s winding_temp_c",
        "P-1 2025-02-12 410 22",
        "P-2 2025-02-12 95 21",
        "P-1 2025-05-14 395 24",
        "P-2 2025-05-14 80 25",
    ];
    must_be(
        "           | P-1 |    | P-2 |
         Date       | MΩ  | °C | MΩ  | °C
         2025-02-12 | 410 | 22 | 95  | 21
         2025-05-14 | 395 | 24 | 80  | 25",
        &rows,
    );
    must_be(
        "Motor | Date       | Stator |    | Rotor |
               |            | MΩ     | °C | MΩ    | °C
         P-1   | 2025-02-12 | 410    | 22 | 95    | 21",
        &[
            "winding tested_on connection r_60s winding_temp_c",
            "P-1 Stator 2025-02-12 410 22",
            "P-1 Rotor 2025-02-12 95 21",
        ],
    );
}

#[test]
fn windings_of_one_machine_stay_apart() {
    let rows = ["winding tested_on connection r_60s", "P-1 Stator 2025-02-12 410", "P-1 Rotor 2025-02-12 95"];
    for header in ["Motor | Winding", "Asset | Component"] {
        must_be(
            &format!(
                "{header} | Date | MΩ
                 P-1 | Stator | 2025-02-12 | 410
                 P-1 | Rotor  | 2025-02-12 | 95
                 P-2 | Stator | 2025-02-12 | 300
                 P-2 | Rotor  | 2025-02-12 | 200"
            ),
            &[&rows[..], &["P-2 Stator 2025-02-12 300", "P-2 Rotor 2025-02-12 200"]].concat(),
        );
    }
    // The winding of all machines is called the same, so the machine names it.
    must_be(
        "Winding | Motor | Date | R60\n Stator | P-1 | 2025-02-12 | 410\n Stator | P-2 | 2025-02-12 | 95",
        &["winding tested_on connection r_60s", "P-1 2025-02-12 410", "P-2 2025-02-12 95"],
    );
}

#[test]
fn two_columns_that_say_different_things_of_one_reading_are_rejected() {
    let (rows, unplaced) = arranged(
        "Motor | 2025-02-12 | 2025-05-14 | 2025-02-12
         P-1   | 410        | 395        | 95
         P-2   | 300        | 310        | 300",
        None,
    );
    assert_eq!(
        rows,
        [
            "winding tested_on connection r_60s",
            "P-1 2025-05-14 395",
            "P-2 2025-02-12 300",
            "P-2 2025-05-14 310",
            // The same twice: a repeated test.
            "P-2 2025-02-12 300"
        ]
    );
    assert_eq!(
        unplaced,
        [
            "B2: the cell D2 holds the same reading of this test and says something else",
            "D2: the cell B2 holds the same reading of this test and says something else"
        ]
    );
}

#[test]
fn rows_of_units_and_times_of_day_belong_to_what_they_stand_beside() {
    must_be(
        "Motor | Date       | IR   | Temp
               |            | GΩ   | °F
         P-1   | 2025-02-12 | 0.41 | 68",
        &["winding tested_on connection r_60s_gohm winding_temp_f", "P-1 2025-02-12 0.41 68"],
    );
    must_be(
        "Motor | Date       | Time  | MΩ
         P-1   | 2025-02-12 | 16:30 | 38
         P-1   | 2025-02-12 | 08:00 | 410",
        &["winding tested_on connection r_60s", "P-1 2025-02-12T16:30:00 38", "P-1 2025-02-12T08:00:00 410"],
    );
    must_be(
        "Motor | Day | Month | Year | MΩ
         P-1   | 12  | 2     | 2025 | 410",
        &["winding tested_on connection r_60s", "P-1 2025-02-12 410"],
    );
}

#[test]
fn names_and_dates_in_rows_of_their_own_hold_for_the_rows_below() {
    must_be(
        "Date       | MΩ
         P-1        |
         2025-02-12 | 410
         P-2        |
         2025-02-12 | 95",
        &["winding tested_on connection r_60s", "P-1 2025-02-12 410", "P-2 2025-02-12 95"],
    );
    must_be(
        "Motor      | MΩ
         2025-02-12 |
         P-1        | 410
         2025-05-14 |
         P-1        | 395",
        &["winding tested_on connection r_60s", "P-1 2025-02-12 410", "P-1 2025-05-14 395"],
    );
}

#[test]
fn motors_stand_above_columns_also_as_numbers() {
    for (names, expected) in [("101 | 102", ["101", "102"]), ("U-1 | V-2", ["U-1", "V-2"])] {
        let [one, other] = expected;
        must_be(
            &format!("Quarter | {names}\n Q1 2025 | 410 | 95"),
            &[
                "winding tested_on connection r_60s",
                &format!("{one} 2025-02-15 410"),
                &format!("{other} 2025-02-15 95"),
            ],
        );
    }
}

#[test]
fn a_point_that_is_no_winding_is_no_reading() {
    let (rows, unplaced) = arranged(
        "Asset | Date       | Measuring point    | Reading | Unit
         P-1   | 2025-02-12 | IR 1 MIN           | 410     | MOHM
         P-1   | 2025-02-12 | BEARING INSULATION | 9999    | MOHM
         P-1   | 2025-02-12 | SURGE ARRESTER     | 9999    | MOHM
         P-1   | 2025-02-12 | Motor winding temp | 22      | DEGC",
        None,
    );
    assert_eq!(rows, ["winding tested_on connection r_60s winding_temp_c", "P-1 2025-02-12 410 22"]);
    assert_eq!(unplaced, ["D4: the name of the measuring point does not tell what was measured"]);
}

#[test]
fn timed_readings_of_draft_belong_together() {
    must_be(
        "Motor: | P-1
         Date:  | 2025-02-12
         Time (min) | MΩ
         0.5        | 380
         1          | 410
         10         | 900",
        &["winding tested_on connection r_30s r_600s r_60s", "P-1 2025-02-12 380 900 410"],
    );
}

#[test]
fn the_name_of_a_sheet_counts_where_nothing_else_names_the_motor() {
    let (rows, _) = arranged("Date | MΩ\n 2025-02-12 | 410", Some("T1"));
    assert_eq!(rows, ["winding tested_on connection r_60s", "T1 2025-02-12 410"]);
}

#[test]
fn titles_say_what_the_values_of_a_block_are() {
    must_be(
        "Insulation resistance MΩ
         Motor | 2025-02-12 | 2025-05-14
         P-1   | 410        | 395
         Winding temperature °C
         Motor | 2025-02-12 | 2025-05-14
         P-1   | 22         | 24
         Polarization index
         Motor | 2025-02-12 | 2025-05-14
         P-1   | 2.1        | 2.0",
        &["winding tested_on connection r_60s winding_temp_c", "P-1 2025-02-12 410 22", "P-1 2025-05-14 395 24"],
    );
    must_be(
        "Vibration mm/s\n Motor | 2025-02-12 | 2025-05-14\n P-1 | 2.3 | 2.4",
        &["sheet: Vibration mm/s says that the values below it are no resistances, and there are no others\n\
           hint: if they are resistances, name their unit in the header or in that title, such as MΩ"],
    );
    for header in
        ["Motor | 2025-02-12 | 2025-05-14\n P-1 | 410 | 395", "Motor | Date | Reading\n P-1 | 2025-02-12 | 410"]
    {
        must_be(
            &format!("Insulation resistance, corrected to 40 °C\n {header}"),
            &[
                "sheet: Insulation resistance, corrected to 40 °C says that the resistances are brought to another temperature; \
               such are not read\n\
               hint: write the readings as they were taken, and the temperature of the winding beside them",
            ],
        );
    }
    must_be(
        "Motor | IR (MΩ)    |            | PI         |
               | 2025-02-12 | 2025-05-14 | 2025-02-12 | 2025-05-14
         P-1   | 410        | 395        | 2.1        | 2.0",
        &["winding tested_on connection r_60s", "P-1 2025-02-12 410", "P-1 2025-05-14 395"],
    );
}

#[test]
fn readings_that_look_like_years_are_no_header() {
    must_be(
        "Motor | 2025-02-12 | 2025-05-14 | 2025-08-13
         P-1   | 2000       | 2000       | 1960
         P-2   | 1995       | 2000       | 2000",
        &[
            "winding tested_on connection r_60s",
            "P-1 2025-02-12 2000",
            "P-1 2025-05-14 2000",
            "P-1 2025-08-13 1960",
            "P-2 2025-02-12 1995",
            "P-2 2025-05-14 2000",
            "P-2 2025-08-13 2000",
        ],
    );
    must_be(
        "Motor | 2023 | 2024 | 2025\n P-1 | 410 | 395 | 2000",
        &["winding tested_on connection r_60s", "P-1 2023-07-02 410", "P-1 2024-07-02 395", "P-1 2025-07-02 2000"],
    );
}

#[test]
fn numbers_of_rows_name_no_motor() {
    must_be("ID | Motor | Date | MΩ\n 1 | P-1 | 2025-02-12 | 410\n 2 | P-1 | 2025-05-14 | 395", &["plain"]);
}

#[test]
fn a_second_row_of_a_motor_that_says_not_what_it_measures_is_rejected() {
    let (rows, unplaced) =
        arranged("Motor | Item | 2025-02-12 | 2025-05-14\n P-1 | a | 410 | 395\n | b | 22 | 24", None);
    assert_eq!(
        rows,
        ["sheet:C2: r_60s is 410; the cell C3 holds the same reading of this test and says something else\n\
          hint: say under [columns] in the policy file what each of the columns holds, or - to leave one out"]
    );
    assert!(unplaced.is_empty());
    let (rows, _) = arranged("Day | | 2025-02-12 | 2025-05-14\n P-1 | a | 410 | 395\n | b | 22 | 24", None);
    assert_eq!(rows.len(), 1);
}

#[test]
fn a_sheet_that_would_take_memory_or_time_out_of_proportion_is_refused() {
    let across = "Motor | 2025-02-12 | 2025-05-14\n P-1 | 410 | 395\n P-2 | 95 | 80";
    // A temperature of one test of several that are alike belongs to each of them.
    let alike = "Motor | Date | Point | Value\n".to_owned()
        + &"P-1 | 2025-02-12 | R60 | 41\n P-1 | 2025-02-12 | Temp | 22\n".repeat(9);
    let blocks = "Motor | Date | MΩ\n P-1 | 2025-02-12 | 410\n".repeat(9);
    let times = "Motor | Date | Point | Value\n".to_owned()
        + &(1..10).map(|second| format!("P-{second} | 2025-02-12 | R {second} s | 41\n")).collect::<String>();
    let limits = Limits { cells: 100, values: 500, of_file: 500, shared: 100, arranged: 81, labels: 500 };
    for sheet in [across, &alike, &blocks, &times] {
        assert_ne!(arranged_within(sheet, None, &mut limits.clone()).0.len(), 1, "{sheet}");
    }
    for (sheet, limits) in [
        (across, Limits { cells: 8, ..limits }),
        (across, Limits { values: 43, ..limits }),
        (&alike, Limits { shared: 80, ..limits }),
        (&blocks, Limits { values: 368, ..limits }),
        (&times, Limits { arranged: 80, ..limits }),
        (across, Limits { labels: 30, ..limits }),
    ] {
        let message = format!(
            "sheet: this is no plain table of one row per test, and it has more than {} cells, its file has more than {} readings, it has readings at \
             too many different times, too much text where names stand, or values that belong to too many of them; larger ones are read only as plain tables\n\
             hint: save it in parts, such as one file a year",
            limits.cells, limits.of_file
        );
        assert_eq!(arranged_within(sheet, None, &mut limits.clone()).0, [message], "{sheet}");
    }
    // The readings of all sheets of a file count together.
    let mut of_file = Limits { values: 90, ..limits };
    assert_ne!(arranged_within(across, Some("a"), &mut of_file).0.len(), 1);
    assert_ne!(arranged_within(across, Some("b"), &mut of_file).0.len(), 1);
    assert_eq!(arranged_within(across, Some("c"), &mut of_file).0.len(), 1);
    assert_eq!([0, 4_000_000].map(|length| Limits::of_bytes(length, 8).values), [150_000, 500_000]);
}

#[test]
fn letters_of_phases_are_no_quantities_and_no_units() {
    let header = "winding tested_on connection r_60s";
    must_be(
        "Motor | Date | R | S | T\n P-1 | 2025-02-12 | 410 | 420 | 0.9",
        &[header, "P-1 2025-02-12 U-earth 410", "P-1 2025-02-12 V-earth 420", "P-1 2025-02-12 W-earth 0.9"],
    );
    must_be(
        "Motor | 2025-02-12 |   |     | 2025-05-14 |   |
               | R          | S | T   | R          | S | T
         P-1   | 410        | 420 | 400 | 405      | 415 | 0.9",
        &[
            header,
            "P-1 2025-02-12 U-earth 410",
            "P-1 2025-02-12 V-earth 420",
            "P-1 2025-02-12 W-earth 400",
            "P-1 2025-05-14 U-earth 405",
            "P-1 2025-05-14 V-earth 415",
            "P-1 2025-05-14 W-earth 0.9",
        ],
    );
    must_be(
        "Motor | Date       | Resistance (GΩ) |     |
               |            | R               | S   | T
         P-1   | 2025-02-12 | 0.41            | 0.4 | 0.009",
        &[
            "winding tested_on connection r_60s_gohm",
            "P-1 2025-02-12 U-earth 0.41",
            "P-1 2025-02-12 V-earth 0.4",
            "P-1 2025-02-12 W-earth 0.009",
        ],
    );
    // Without the others it is a temperature.
    must_be(
        "Motor | Date | U-E | V-E | T\n P-1 | 2025-02-12 | 410 | 420 | 22",
        &[
            "winding tested_on connection r_60s winding_temp_c",
            "P-1 2025-02-12 U-earth 410 22",
            "P-1 2025-02-12 V-earth 420 22",
        ],
    );
}

#[test]
fn a_unit_alone_below_a_header_is_that_of_the_readings() {
    let rows = ["winding tested_on connection r_60s_kohm", "P-1 2025-02-12 900", "P-1 2025-05-14 800"];
    for (unit, place) in [("kΩ", "| | kΩ"), ("k", "| | k"), ("(kOhm)", "(kOhm) | | ")] {
        must_be(&format!("Motor | Date | Reading\n {place}\n P-1 | 2025-02-12 | 900\n P-1 | 2025-05-14 | 800"), &rows);
        must_be(
            &format!("Motor | 2025-02-12 | 2025-05-14\n {unit} | | \n P-1 | 900 | 800").replace("\n k |", "\n kΩ |"),
            &rows,
        );
    }
    // A letter in the first column is the name of an area.
    must_be(
        "Motor | 2025-02-12 | 2025-05-14\n G | | \n P-1 | 900 | 800",
        &["winding tested_on connection r_60s", "P-1 2025-02-12 900", "P-1 2025-05-14 800"],
    );
}

#[test]
fn several_tests_of_a_row_have_each_its_own_date() {
    let rows = ["winding tested_on connection r_60s", "P-1 2025-05-14 395", "P-1 2025-02-12 410", "P-2 2025-05-14 80"];
    for header in [
        "Motor | Last date | Last reading | Previous date | Previous reading",
        "Motor | Date | IR (MΩ) | Last date | Last IR (MΩ)",
        "Motor | Test 2 date | Test 2 MΩ | Test 1 date | Test 1 MΩ",
        "Motor | Date | MΩ | Retest date | Retest MΩ",
    ] {
        must_be(&format!("{header}\n P-1 | 2025-05-14 | 395 | 2025-02-12 | 410\n P-2 | 2025-05-14 | 80 | | "), &rows);
    }
    // A reading without a date of its own belongs to no test, and what belongs to one of two tests to neither.
    must_be("Motor | Date | Reading | Previous reading\n P-1 | 2025-05-14 | 395 | 410", &["plain"]);
    let text = "Motor | Last date | Last MΩ | Previous date | Previous MΩ | Temp °C\n P-1 | 2025-05-14 | 395 | 2025-02-12 | 410 | 22";
    must_be(text, &["winding tested_on connection r_60s", "P-1 2025-05-14 395", "P-1 2025-02-12 410"]);
    let document =
        Document::of_text(text.replace(" | ", "|").into_bytes(), Layout { delimiter: b'|', crlf: false, bom: false });
    let name = SheetName { place: "sheet", sheet: None, several: false };
    let (rules, mut limits) = (ReadingRules::default(), Limits::of_bytes(0, 8));
    let reader = limits.label_reader(&rules.mapping);
    let arranged = arrange(&document, &rules, &reader, name, &mut limits);
    assert_eq!(arranged.ok().flatten().map(|arranged| arranged.ignored), Some(vec!["Temp °C".to_owned()]));
}

#[test]
fn windings_of_a_machine_stand_side_by_side() {
    must_be(
        "Motor | Date | Stator to earth | Rotor (kΩ) | Temp °C\n P-1 | 2025-02-12 | 410 | 800 | 22",
        &[
            "winding tested_on connection r_60s r_60s_kohm winding_temp_c",
            "P-1 Stator 2025-02-12 410 22",
            "P-1 Rotor 2025-02-12 800 22",
        ],
    );
}

#[test]
fn rows_of_other_quantities_are_no_tests() {
    must_be(
        "Motor | Item | Q1 2025 | Q2 2025
         P-1 | Insulation | 410 | 395
         P-1 | Temp | 22 | 24
         P-1 | Vibration | 2.1 | 2.2",
        &["winding tested_on connection r_60s winding_temp_c", "P-1 2025-02-15 410 22", "P-1 2025-05-16 395 24"],
    );
}

/// A header of a mebibyte is no label of a test, however often it says `last`.
#[test]
fn long_headers_end() {
    let long = "last ".repeat(200_000);
    must_be(&format!("Motor | Date | MΩ | {long}\n P-1 | 2025-02-12 | 410 | 1"), &["plain"]);
    let many: Vec<String> = (0..99).map(|i| format!("Test {i} date | Test {i} MΩ")).collect();
    let (rows, _) = arranged(&format!("Motor | {}\n P-1{}", many.join(" | "), " | 2025-02-12 | 410".repeat(99)), None);
    assert!(!rows.is_empty());
}

#[test]
fn words_beside_a_date_or_a_connection_do_not_hide_its_readings() {
    must_be(
        "Motor | 2026-07-10 | 2026-10-10 (retest)
         P-1   | 845        | 0.8",
        &["winding tested_on connection r_60s", "P-1 2026-07-10 845", "P-1 2026-10-10 0.8"],
    );
    for phases in [
        "R-E | S-E | T-E at 1000V",
        "R_E | S_E | T_E",
        "L1-chassis | L2-chassis | L3-chassis",
        "R-tierra | S-tierra | T-tierra",
        "U-PE 500 V DC | V-PE 500 V DC | W -PE *",
        "L1PE | L2PE | L3PE",
        "Fase R | Fase S | Fase T",
        "Phase 1 | Phase 2 | Phase 3",
        "Wdg U | Wdg V | Wdg W",
        "Red | Yellow | Blue",
    ] {
        must_be(
            &format!(
                "Motor | Date | {phases}
                 P-1 | 2026-10-10 | 838 | 847 | 0.8"
            ),
            &[
                "winding tested_on connection r_60s",
                "P-1 2026-10-10 U-earth 838",
                "P-1 2026-10-10 V-earth 847",
                "P-1 2026-10-10 W-earth 0.8",
            ],
        );
    }
}

#[test]
fn a_column_that_seems_to_hold_readings_is_never_left_alone_in_silence() {
    for (sheet, column) in [
        ("Motor | 2026-07-10 | 2026-10-10 repaired\n P-1 | 845 | 0.8", "2026-10-10 repaired"),
        ("Motor | Date | R-E | S-E | T-E (repaired)\n P-1 | 2026-10-10 | 838 | 847 | 0.8", "T-E (repaired)"),
        ("Motor | Date | IR (MΩ) | IR rotor (MΩ)\n P-1 | 2026-10-10 | 838 | 0.8", "IR rotor (MΩ)"),
        ("Motor | Date | U-PE | V-PE | W-PEE\n P-1 | 2026-10-10 | 838 | 847 | 0.8", "W-PEE"),
        ("Motor | Date | IR (MΩ) | Exciter MΩ\n P-1 | 2026-10-10 | 838 | 0.8", "Exciter MΩ"),
    ] {
        let (found, _) = arranged(sheet, None);
        assert_eq!(
            found,
            [format!(
                "sheet: column {column} seems to hold readings, and it is not understood which\n\
                 hint: say what they hold under [columns] in groundwall.toml or the policy file, such as \"{column}\" = \"r_60s\"; \
                 a date or a connection in the header still counts, and readings of another winding need rows of their own; what holds no readings of the insulation is left out: \"{column}\" = \"-\""
            )]
        );
    }
    // What follows from readings beside it, what measures something else, and what is allowed are no readings.
    must_be(
        "Motor | Date | MΩ | Corrected MΩ | IR at 40 °C (MΩ) | Bearing MΩ | Limit MΩ | Winding resistance Ω
         P-1 | 2026-10-10 | 838 | 640 | 640 | 50 | 5 | 1.2",
        &["plain"],
    );
}

#[test]
fn phases_stand_in_rows_under_any_header_beside_temperatures() {
    for header in ["Phase", "Item", "", "Messung"] {
        must_be(
            &format!(
                "Motor | {header} | 2026-07-10 | 2026-10-10
                 P-1 | R    | 845 | 838
                 P-1 | S    | 846 | 839
                 P-1 | T    | 845 | 0.8
                 P-1 | Temp | 22  | 21"
            ),
            &[
                "winding tested_on connection r_60s winding_temp_c",
                "P-1 2026-07-10 U-earth 845 22",
                "P-1 2026-10-10 U-earth 838 21",
                "P-1 2026-07-10 V-earth 846 22",
                "P-1 2026-10-10 V-earth 839 21",
                "P-1 2026-07-10 W-earth 845 22",
                "P-1 2026-10-10 W-earth 0.8 21",
            ],
        );
    }
}

#[test]
fn rows_beside_resistances_that_are_not_understood_are_rejected() {
    let (rows, unplaced) = arranged(
        "Asset | Date       | Task     | Reading
         P-1   | 2026-10-10 | IR 1 MIN | 0.8
         P-1   | 2026-10-10 | Torque   | 1480",
        None,
    );
    assert_eq!(rows, ["winding tested_on connection r_60s", "P-1 2026-10-10 0.8"]);
    assert_eq!(unplaced, ["D3: the name of the measuring point does not tell what was measured"]);
}

#[test]
fn a_second_header_with_another_unit_begins_a_block_of_its_own() {
    must_be(
        "Motor | Date       | IR MΩ
         P-2   | 2026-10-10 | 938
         Motor | Date       | IR kΩ
         P-1   | 2026-10-10 | 838",
        &["winding tested_on connection r_60s r_60s_kohm", "P-2 2026-10-10 938", "P-1 2026-10-10 838"],
    );
}

#[test]
fn windings_of_the_one_machine_of_a_file_stay_apart() {
    must_be(
        "Motor | Winding | Date | MΩ\n P-1 | Stator | 2026-07-14 | 838\n P-1 | Rotor | 2026-07-14 | 0.8",
        &["winding tested_on connection r_60s", "P-1 Stator 2026-07-14 838", "P-1 Rotor 2026-07-14 0.8"],
    );
}

#[test]
fn one_name_at_two_places_is_asked_about() {
    let (found, _) = arranged(
        "Line | Motor | Date       | MΩ
         L1   | M1    | 2026-10-10 | 838
         L2   | M1    | 2026-09-01 | 0.8",
        None,
    );
    assert_eq!(
        found,
        ["sheet: M1 has L2 and L1 in column Line: one machine or several?\n\
          hint: under [columns] in groundwall.toml or the policy file, make one name of the columns that are parts of it, such as \
          \"Motor\" = \"winding\" and \"Line\" = \"winding\", and leave out those that are not: \"Line\" = \"-\""]
    );
    let asks = |sheet: &str, question: &str| {
        let found = arranged(sheet, None).0.swap_remove(0);
        let question = format!("sheet: {question}: one machine or several?\nhint: ");
        assert!(found.starts_with(&question), "{sheet}\n{found}");
    };
    // Whatever the header, one after the other, by turns, under a number.
    asks(
        "Station | Motor | Date | MΩ
         Elm | M1 | 2024-04-09 | 120
         Elm | M1 | 2024-10-09 | 3
         Oak | M1 | 2025-10-10 | 1900
         Oak | M1 | 2026-04-10 | 1890",
        "M1 has Elm and Oak in column Station",
    );
    asks(
        "Pool | Motor | Date | MΩ\n Elm | M1 | 2024-04-09 | 3\n Oak | M1 | 2025-10-10 | 1900",
        "M1 has Elm and Oak in column Pool",
    );
    asks(
        "Motor | Pos. | Date | MΩ
         CW pump | 1 | 2024-06-03 | 30
         CW pump | 2 | 2024-06-11 | 30
         CW pump | 1 | 2024-11-20 | 28
         CW pump | 2 | 2024-11-28 | 31",
        "CW pump has 1 and 2 in column Pos.",
    );
    asks(
        "Motor | Tank | Date | MΩ
         CW pump | 1 | 2024-06-03 | 30
         CW pump | 2 | 2024-06-11 | 30
         CW pump | 1 | 2024-11-20 | 28
         CW pump | 2 | 2024-11-28 | 31",
        "CW pump has 1 and 2 in column Tank",
    );
    asks(
        "Pump | Unit | Test date | MΩ
         CW | 1 | 2024-06-03 | 30
         BFP | 1 | 2024-06-11 | 30",
        "1 has CW and BFP in column Pump",
    );
    asks(
        "Site | Motor | 2024-04-09 | 2024-10-09\n Elm | M1 | 3 | \n Oak | M1 | | 1900",
        "M1 has Elm and Oak in column Site",
    );
    asks(
        "Code | Motor | 2024-04-09 | 2024-10-09\n 72010 | spare | 3 | \n 72011 | spare | | 1900",
        "spare has 72010 and 72011 in column Code",
    );
    // However far down.
    let of = |station: &str, motor: usize| format!("\n {station} | M{motor} | 2024-04-09 | 120");
    let elm: String = (0..3000).map(|motor| of("Elm", motor)).collect();
    let oak: String = (2999..6000).map(|motor| of("Oak", motor)).collect();
    asks(&format!("Station | Motor | Date | MΩ{elm}{oak}"), "M2999 has Elm and Oak in column Station");
    // How the test went, who made it, a number of the row or of the test, a note.
    for (header, texts) in [
        ("Result", ["pass", "fail", "pass"]),
        ("Looks", ["good", "fair", "good"]),
        ("Shift", ["Early", "Late", "Early"]),
        ("Initials", ["KD", "PM", "KD"]),
        ("Row", ["1", "2", "3"]),
        ("Test no", ["1", "2", "3"]),
        ("Load", ["50", "70", "50"]),
        ("Seen", ["bearing noisy", "as before", "greased"]),
        ("Brush gear", ["ok", "brushes changed", "ok"]),
    ] {
        let row = |at: usize| format!("B-1 | 2025-0{}-13 | {} | {}", at + 1, 840 + at, texts[at]);
        must_be(&format!("Motor | Date | MΩ | {header}\n {}\n {}\n {}", row(0), row(1), row(2)), &["plain"]);
    }
}

#[test]
fn columns_that_the_site_says_are_names_become_one_name() {
    let mapping = |headers: &[&str]| {
        let mut mapping = Mapping::default();
        for header in headers {
            assert_eq!(mapping.add(header, "winding"), Ok(()));
        }
        mapping
    };
    let sheet = "Station | Motor | Date | MΩ\n Elm | M1 | 2024-04-09 | 3\n Oak | M1 | 2025-10-10 | 1900";
    let named = |sheet: &str, headers: &[&str]| {
        let rules = ReadingRules { mapping: mapping(headers), ..ReadingRules::default() };
        arranged_by(sheet, None, &mut Limits::of_bytes(0, 8), rules).0
    };
    assert_eq!(
        named(sheet, &["Station", "Motor"]),
        ["winding tested_on connection r_60s", "Elm M1 2024-04-09 3", "Oak M1 2025-10-10 1900"]
    );
    let wide = "Site | Motor | No | 2024-04-09 | 2024-10-09\n Elm | Pump | 1 | 3 | 4\n Oak | Pump | 1 | | 1900";
    assert_eq!(
        named(wide, &["Site", "Motor", "No"]),
        [
            "winding tested_on connection r_60s",
            "Elm Pump 1 2024-04-09 3",
            "Elm Pump 1 2024-10-09 4",
            "Oak Pump 1 2024-10-09 1900"
        ]
    );
}

#[test]
fn a_voltage_in_the_header_of_the_only_reading_is_no_other_reading() {
    must_be(
        "Tag No. | P-3301A\n |\n Date | IR @ 500 V DC, 1 min (MΩ) | Winding temp (°C)\n 2025-01-02 | 400 | 20\n 2025-07-02 | 390 | 21",
        &[
            "winding tested_on connection r_60s winding_temp_c",
            "P-3301A 2025-01-02 400 20",
            "P-3301A 2025-07-02 390 21",
        ],
    );
}

#[test]
fn sheets_that_were_read_falsely_are_asked_about() {
    let asked = |sheet: &str| arranged(sheet, Some("Intake")).0.swap_remove(0);
    for (sheet, question) in [
        (
            "Pump | Date | MΩ | °C\n 1 | 2024-06-18 | 300 | 20\n 1 | 2025-06-18 | 2 | 20\n 2 | 2026-01-20 | 400 | 20\n 2 | 2026-07-20 | 410 | 20",
            "sheet: Intake has 1 and 2 in column Pump: one machine or several?",
        ),
        (
            "Item | Description | Date | MΩ\n 1 | CV1 | 2024-06-18 | 300\n 2 | CV2 | 2024-06-18 | 305\n 3 | CV1 | 2025-06-18 | 150\n 4 | CV2 | 2025-06-18 | 300",
            "sheet: column Item counts the rows from 1 to 4, and column Description may name the motors",
        ),
        (
            "Insulation tests (MΩ) | | | Initials\n Motor | 2024-03-01 | 2025-03-01 | 2026-03-01\n P1 | 300 | 290 | 2\n P2 | 300 | 290 | 280",
            "sheet: column Initials 2026-03-01 seems to hold readings, and it is not understood which",
        ),
        (
            "Motor | Last test date | R-E | S-E | T-E | Date\n P-1 | 2024-02-03 | 300 | 310 | 305 | 2025-02-03\n P-1 | 2025-02-03 | 4 | 300 | 305 | 2025-06-03",
            "sheet: columns Last test date and Date both hold days: on which were the tests made?",
        ),
        (
            "IR test results 2026 (MΩ) | | |\n Motor | Jan | Mar | Rotor (MΩ)\n P-1 | 4.2 | 4.1 | 1600\n P-2 | 300 | 310 | 900",
            "sheet: column Rotor (MΩ) holds readings without a date, beside columns of dates: on which day were they made?",
        ),
        (
            "Motor | Date | MΩ\n P1 | 14/03/2023 | 300\n P1 | 20/06/2023 | 290\n P1 | 2024-07-02 | 310\n P1 | 20/06/2025 | 280\n P1 | 2025-03-11 | 2",
            "plain",
        ),
        (
            "Motor No: P1 | |\n When | MΩ | °C\n 2025-01-10 | 900 | 30\n 2026-10-10 | 1 | 32\n | |\n Motor No: P2 | |\n Date | MΩ | °C\n 2025-01-10 | 700 | 30",
            "sheet: row 3 looks like a test, and no header above it is understood; the next is in row 7",
        ),
        (
            "Motor | 2025-01-10 | 2025-04-10 | void\n P1 | 900 | 905 | 90\n P2 | 700 | 725 | 717",
            "sheet: column void seems to hold readings, and it is not understood which",
        ),
        (
            "Motor | Date 1 | IR 1 (MΩ) | Date 2 | IR 2 (MΩ) | tbc | IR 3 (MΩ)\n P1 | 2025-01-10 | 900 | 2025-04-10 | 905 | 2026-10-10 | 1",
            "sheet: column IR 3 (MΩ) seems to hold readings, and it is not understood which",
        ),
        (
            "Motor | Date | IR corrected (MΩ) | IR after drying (MΩ) | Remarks\n KP-1 | 2025-08-03 | 26 | 380 | dried\n KP-2 | 2025-08-03 | 3.1 | |",
            "sheet: column IR corrected (MΩ) seems to hold readings, and it is not understood which",
        ),
        (
            "Motor | Date | MΩ\n P-1 | 2024-09-03 | 410\n P-1 | 2025-09-03 | 411\n P-1 earth fault | |",
            "sheet: row 4 holds no test, and it says P-1 earth fault",
        ),
        (
            "Motor | Date | MΩ\n P-1 | 2024-09-03 | 48\n P-1 | 2025-09-03 | 46\n Divide by 10 | |",
            "sheet: row 4 says Divide by 10, so the readings are not those of the tester",
        ),
    ] {
        assert!(asked(sheet).starts_with(question), "{sheet}\n{}", asked(sheet));
    }
}

#[test]
fn lists_that_go_on_and_words_of_other_sites_are_read() {
    must_be(
        "Motor | Date | L1-E | L2-E | L3-E\n CV2 | 2024-08-06 | 80 | 150 | 160\n | 2025-08-05 | 50 | 148 | 155\n Cont. | | | |\n | 2026-08-04 | 4 | 150 | 152",
        &[
            "winding tested_on connection r_60s",
            "CV2 2024-08-06 U-earth 80",
            "CV2 2024-08-06 V-earth 150",
            "CV2 2024-08-06 W-earth 160",
            "CV2 2025-08-05 U-earth 50",
            "CV2 2025-08-05 V-earth 148",
            "CV2 2025-08-05 W-earth 155",
            "CV2 2026-08-04 U-earth 4",
            "CV2 2026-08-04 V-earth 150",
            "CV2 2026-08-04 W-earth 152",
        ],
    );
    must_be(
        "Motor | Date | MΩ\n P1 | 2023-03-01 | 300\n | 2024-03-01 | 305\n | 2025-03-01 | 298\n Motor | Date | MΩ\n | 2026-03-01 | 2\n P2 | 2026-03-01 | 400",
        &[
            "winding tested_on connection r_60s",
            "P1 2023-03-01 300",
            "P1 2024-03-01 305",
            "P1 2025-03-01 298",
            "P1 2026-03-01 2",
            "P2 2026-03-01 400",
        ],
    );
    must_be(
        "Asset | Measuring point | Previous date | Value | Unit | Date\n P-1 | IR 1 MIN | 2023-02-03 | 300 | MOHM | 2024-02-03\n P-1 | IR 1 MIN | 2024-02-03 | 4 | MOHM | 2025-06-03",
        &["winding tested_on connection r_60s", "P-1 2024-02-03 300", "P-1 2025-06-03 4"],
    );
    must_be(
        "Motor | Date | R-E | W-E | B-E\n CV1 | 2026-08-05 | 30 | 500 | 512",
        &[
            "winding tested_on connection r_60s",
            "CV1 2026-08-05 U-earth 30",
            "CV1 2026-08-05 V-earth 500",
            "CV1 2026-08-05 W-earth 512",
        ],
    );
    must_be(
        "Drive (MΩ) | w/c 13 Jan 2025 | w/c 14 Jul 2025\n Elevator A | 95 | 94\n Elevator B | 60 | 50",
        &[
            "winding tested_on connection r_60s",
            "Elevator A 2025-01-13 95",
            "Elevator A 2025-07-14 94",
            "Elevator B 2025-01-13 60",
            "Elevator B 2025-07-14 50",
        ],
    );
}

#[test]
fn titles_give_the_dates_of_numbered_tests() {
    must_be(
        "Test 1 = 2025-01-11\n Test 2: | 2025-04-11\n\n Motor | Test 1 | Test 2\n A-1 | 100 MΩ | 90 MΩ\n B-1 | 400 MΩ | 4 MΩ",
        &[
            "winding tested_on connection r_60s",
            "A-1 2025-01-11 100 MΩ",
            "A-1 2025-04-11 90 MΩ",
            "B-1 2025-01-11 400 MΩ",
            "B-1 2025-04-11 4 MΩ",
        ],
    );
}

#[test]
fn columns_of_two_voltages_are_tests_at_two_voltages() {
    must_be(
        "Tag No. | P-3301A\n |\n Date | IR @ 500 V (MΩ) | IR @ 1000 V (MΩ)\n 2025-01-02 | 400 | 4\n 2025-07-02 | 390 | 3",
        &[
            "winding tested_on connection r_60s test_volts",
            "P-3301A 2025-01-02 400 500 V",
            "P-3301A 2025-01-02 4 1000 V",
            "P-3301A 2025-07-02 390 500 V",
            "P-3301A 2025-07-02 3 1000 V",
        ],
    );
    must_be(
        "Motor | Date | 500 V R60 (GΩ) | 500 V R600 (GΩ) | 1 kV R60 (MΩ) | Temp °C\n A | 2025-01-02 | 2 | 3 | 4 | 20",
        &[
            "winding tested_on connection r_600s_gohm r_60s r_60s_gohm test_volts winding_temp_c",
            "A 2025-01-02 3 2 500 V 20",
            "A 2025-01-02 4 1000 V 20",
        ],
    );
    // Another reading, or a column of voltages, leaves open what each is.
    let beside = |other: &str| {
        let sheet =
            format!("Motor | Date | IR @ 500 V (MΩ) | IR @ 1000 V (MΩ) | {other}\n A | 2025-01-02 | 400 | 4 | 500");
        arranged(&sheet, None).0.swap_remove(0)
    };
    let question =
        "sheet: columns IR @ 500 V (MΩ), IR @ 1000 V (MΩ) seem to hold readings, and it is not understood which";
    assert!(beside("IR (MΩ)").starts_with(question), "{}", beside("IR (MΩ)"));
    assert_eq!(beside("Test V"), "plain");
}

#[test]
fn numbered_motors_across_are_those_of_the_machine_in_the_row() {
    let mut mapping = Mapping::default();
    assert_eq!(mapping.add("Car", "winding"), Ok(()));
    let rules = ReadingRules { mapping, ..ReadingRules::default() };
    let sheet = "Car | Date | Motor 1 | Motor 2\n 401 | 2025-01-02 | 40 | 41\n 402 | 2025-01-03 | 42 | 4.3";
    assert_eq!(
        arranged_by(sheet, None, &mut Limits::of_bytes(0, 8), rules).0,
        [
            "winding tested_on connection r_60s",
            "401 Motor 1 2025-01-02 40",
            "401 Motor 2 2025-01-02 41",
            "402 Motor 1 2025-01-03 42",
            "402 Motor 2 2025-01-03 4.3"
        ]
    );
}

#[test]
fn a_title_of_several_cells_above_a_card_names_one_motor() {
    for title in ["Motor: | ID fan 2 | | Rated: | 6 kV", "Motor | ID fan 2 | | Rated | 6 kV"] {
        must_be(
            &format!(
                "Test card\n {title}\n\n Test date | 2023-05-09 | 2024-05-14 | 2025-05-13 |\n Winding temperature (°C) | 27 | 26 | 29 |\n \
                 R 1 min (MΩ) | 2150 | 2080 | 1120 |\n Tested by | crew | crew | contractor |"
            ),
            &[
                "winding tested_on connection r_60s tested_by winding_temp_c",
                "ID fan 2 2023-05-09 2150 crew 27",
                "ID fan 2 2024-05-14 2080 crew 26",
                "ID fan 2 2025-05-13 1120 contractor 29",
            ],
        );
    }
}

#[test]
fn a_head_above_phases_is_no_column_of_its_own() {
    for (to_earth, between) in [
        ("Phase to earth", "Phase to phase"),
        ("Phase", "Pair"),
        ("Winding to earth", "Winding to winding"),
        ("Measuring point", "Measuring point 2"),
    ] {
        must_be(
            &format!(
                "Motor | Date | {to_earth} | | | {between} | | | Winding temp °C\n | | U | V | W | U-V | V-W | W-U |\n \
                 P-1 | 2025-04-02 | 210 | 0.3 | 208 | 400 | 405 | 398 | 24\n P-2 | 2025-04-02 | 190 | 12 | 188 | 377 | 30 | 370 | 25"
            ),
            &[
                "winding tested_on connection r_60s winding_temp_c",
                "P-1 2025-04-02 U-earth 210 24",
                "P-1 2025-04-02 V-earth 0.3 24",
                "P-1 2025-04-02 W-earth 208 24",
                "P-1 2025-04-02 U-V 400 24",
                "P-1 2025-04-02 V-W 405 24",
                "P-1 2025-04-02 W-U 398 24",
                "P-2 2025-04-02 U-earth 190 25",
                "P-2 2025-04-02 V-earth 12 25",
                "P-2 2025-04-02 W-earth 188 25",
                "P-2 2025-04-02 U-V 377 25",
                "P-2 2025-04-02 V-W 30 25",
                "P-2 2025-04-02 W-U 370 25",
            ],
        );
    }
}

#[test]
fn a_connection_written_once_is_that_of_one_winding() {
    // A blank connection is that of the default, all to earth, where the first tests of the windings have none.
    let rows = [
        "W1 | 2024-03-01 | | 400",
        "W0 | 2024-03-02 | | 1400",
        "W0 | 2024-06-02 | U-V | 1450",
        "W1 | 2024-06-03 | | 60",
    ];
    must_be(&format!("Motor | Date | Connection | MΩ\n {}\n W1 | 2024-09-03 | | 61", rows.join("\n ")), &["plain"]);
    must_be(
        "Motor | Connection | Date | MΩ\n A | U-V | 2024-03-01 | 400\n A | | 2024-06-01 | 390\n B | V-W | 2024-03-01 | 41\n B | | 2024-06-01 | 40\n C | U-V | 2024-03-01 | 9\n C | | 2024-06-01 | 8",
        &[
            "winding tested_on connection r_60s",
            "A 2024-03-01 U-V 400",
            "A 2024-06-01 U-V 390",
            "B 2024-03-01 V-W 41",
            "B 2024-06-01 V-W 40",
            "C 2024-03-01 U-V 9",
            "C 2024-06-01 U-V 8",
        ],
    );
}

#[test]
fn rows_after_the_as_of_date_decide_nothing_about_those_before() {
    let before = "Motor | Date | MΩ\n A | 2024-01-05 | 500\n | 2024-02-05 | 400\n | 2024-03-05 | 300\n B | 2024-01-05 | 500\n | 2025-01-05 | 5";
    let after = "\n B | 2027-01-05 | 500\n A | 2027-01-06 | 500\n B | 2027-01-07 | 500\n A | 2027-01-08 | 500";
    let (found, _) = arranged(&format!("{before}{after}"), None);
    assert_eq!(found[..6], arranged(before, None).0);
    assert_eq!(found[5], "B 2025-01-05 5");
}

#[test]
fn work_in_a_row_was_done_before_its_later_test() {
    must_be(
        "Job | Motor | Date in | IR as received (MΩ) | Work done | Date out | IR as left (MΩ) | Winding temp out (°C)
         1187 | SL-21 | 2025-03-03 | 4.2 | dried | 2025-03-06 | 310 | 31
         1203 | SL-07 | 2025-05-19 | 0.3 | rewound | | |",
        &[
            "winding tested_on connection event r_60s winding_temp_c work_order",
            "SL-21 2025-03-03 4.2 1187",
            "SL-21 2025-03-06T23:59 dried 310 31 1187",
            "SL-07 2025-05-19 0.3 1203",
        ],
    );
    must_be(
        "Data | Motor | Isolamento antes da limpeza (MΩ) | Isolamento após limpeza (MΩ)
         14/05/2025 | MB-07 | 12,5 | 310
         15/05/2025 | MB-08 | 45 |",
        &[
            "winding tested_on connection event r_60s",
            "MB-07 2025-05-14T00:00 12,5",
            "MB-07 2025-05-14T23:59 cleaned 310",
            "MB-08 2025-05-15 45",
        ],
    );
}

#[test]
fn of_several_columns_that_may_be_names_none_is_taken() {
    let (found, _) = arranged(
        "Bin | Description | kW | 2024-04-09 | 2024-10-09
         A-03 | cooling fan | 5.5 | 3 | 4
         A-04 | cooling fan | 7.5 | 840 | 841",
        None,
    );
    assert_eq!(
        found,
        ["sheet: no header says which column names the windings: column Bin, column Description\n\
          hint: say which under [columns] in groundwall.toml or the policy file, such as \"Bin\" = \"winding\""]
    );
}

#[test]
fn a_sheet_with_the_title_of_another_is_asked_about() {
    let sheet = "Motor No: | P-1\n Date | MΩ\n 2026-07-14 | 838\n 2026-10-10 | 0.8";
    assert_eq!(
        arranged(sheet, Some("P-2")).0,
        ["sheet: the sheet is called P-2 and its title names P-1: which motor was tested?\n\
          hint: correct the one that is wrong, in the title or in the name of the sheet"]
    );
    for name in ["P-1", "p - 1", "Pump house 2"] {
        assert_eq!(arranged(sheet, Some(name)).0.len(), 3, "{name}");
    }
}

#[test]
fn names_of_motors_are_no_pairs_of_conductors() {
    must_be(
        "Motor | 2025-01-10 | 2025-04-10
         N-1   | 300        | 310
         N-2   | 30         | 31
         Motor | 2026-01-10 | 2026-04-10
         N-1   | 3          | 0.8",
        &[
            "winding tested_on connection r_60s",
            "N-1 2025-01-10 300",
            "N-1 2025-04-10 310",
            "N-2 2025-01-10 30",
            "N-2 2025-04-10 31",
            "N-1 2026-01-10 3",
            "N-1 2026-04-10 0.8",
        ],
    );
    must_be(
        "Motor: K-7   Potencia: 75 kW\n Date | MΩ\n 2026-01-10 | 300",
        &["winding tested_on connection r_60s", "K-7 2026-01-10 300"],
    );
}

#[test]
fn quarters_are_numbered_in_roman_and_ordinal_numerals() {
    let rows = ["winding tested_on connection r_60s", "P-1 2024-02-15 410", "P-1 2024-05-16 395"];
    for header in ["1st qtr 2024 | 2nd qtr 2024", "I. Quartal 2024 | II. Quartal 2024"] {
        must_be(&format!("Motor | {header}\n P-1 | 410 | 395"), &rows);
    }
    assert_eq!(arranged("Motor | 1st qtr | 2nd qtr\n P-1 | 410 | 395", Some("2024")).0, rows);
    must_be("Motor | Anno | Trimestre | MΩ\n P-1 | 2024 | I | 410\n P-1 | 2024 | II | 395", &rows);
}

#[test]
fn tables_side_by_side_are_read_one_by_one() {
    must_be(
        "Motor | Date       | MΩ  | | Motor | Date       | kΩ
         P-1   | 2024-02-15 | 410 | | P-2   | 2024-02-16 | 800
         P-1   | 2024-05-16 | 395",
        &[
            "winding tested_on connection r_60s r_60s_kohm",
            "P-1 2024-02-15 410",
            "P-2 2024-02-16 800",
            "P-1 2024-05-16 395",
        ],
    );
    // Two names, and one date for both readings, are no two tables.
    let (found, _) = arranged("Motor | Date | IR 1 min | Asset | IR 10 min\n P-1 | 2024-02-15 | 410 | A-1 | 820", None);
    assert_eq!(found, ["plain"]);
}

#[test]
fn one_date_above_all_readings_is_that_of_a_round() {
    must_be(
        "Motor | 2024-02-15\n P-1 | 410\n P-2 | 0.8",
        &["winding tested_on connection r_60s", "P-1 2024-02-15 410", "P-2 2024-02-15 0.8"],
    );
    // A year may be a number, and a date beside a column of readings is not theirs.
    for sheet in ["Motor | 2024\n P-1 | 410", "Motor | MΩ | 2024-02-15\n P-1 | 410 | 3"] {
        assert_eq!(arranged(sheet, None).0, ["plain"], "{sheet}");
    }
}

#[test]
fn a_month_alone_takes_the_year_of_the_title() {
    let rows = ["winding tested_on connection r_60s", "P-1 2024-01-16 410"];
    for title in ["Year: | 2024", "Insulation readings 2024"] {
        assert_eq!(arranged(&format!("{title}\n Motor | MΩ\n P-1 | 410"), Some("January")).0, rows, "{title}");
    }
    assert_eq!(arranged("Motor | MΩ\n P-1 | 410", Some("January")).0, ["plain"]);
}

#[test]
fn a_title_names_its_motor_in_a_sentence_or_beside_its_place() {
    let rows = ["winding tested_on connection r_60s", "K-7 2026-01-10 300"];
    for title in [
        "Insulation test record: motor K-7",
        "Insulation test record: motor K-7 (raw water pump)",
        "Motor No. K-7",
        "Anlage: | Kraftwerk Ost | | Motor-Nr.: | K-7",
        "Equipment: | Pump house\n Motor: | K-7",
    ] {
        must_be(&format!("{title}\n Date | MΩ\n 2026-01-10 | 300"), &rows);
    }
}

#[test]
fn tests_are_counted_by_ordinal_numerals() {
    let rows = ["winding tested_on connection r_60s", "P-1 2024-02-15 410", "P-1 2024-05-16 395"];
    for words in [
        "1st test |  | 2nd test",
        "First reading |  | Second reading",
        "1. Messung | | 2. Messung",
        "1er essai | | 2e essai",
    ] {
        must_be(
            &format!("Motor | {words} |\n  | Date | MΩ | Date | MΩ\n P-1 | 2024-02-15 | 410 | 2024-05-16 | 395"),
            &rows,
        );
    }
}

const LAYOUT: &str =
    "rows = \"2:3\"\nvalues = \"C:C\"\nholds = \"r_60s\"\nwinding = \"column A\"\ntested_on = \"column B\"\n";

#[test]
fn a_layout_reads_no_number_in_another_unit_than_the_sheet_says() {
    let sheet = "Pos | Tag | Wert | ME\n B-1 | 2025-05-13 | 844 | kOhm\n B-2 | 2025-05-13 | 1.2 | GOhm";
    assert_eq!(
        by_layout(sheet, LAYOUT).0,
        ["sheet:D2: “kOhm” names kΩ, and [[layout]] reads the number at C2 as r_60s\n\
          hint: say where the units stand, such as unit = \"column D\", or what the values are, such as holds = \"r_60s_kohm\"; or take the text \
          out if it speaks of something else"]
    );
    assert_eq!(
        by_layout(sheet, &format!("{LAYOUT}unit = \"column D\"\n")).0,
        ["winding tested_on connection r_60s_gohm r_60s_kohm", "B-1 2025-05-13 844", "B-2 2025-05-13 1.2"]
    );
    let (rows, unplaced) = by_layout(&sheet.replace("GOhm", "?"), &format!("{LAYOUT}unit = \"column D\"\n"));
    assert_eq!(
        (rows.len(), unplaced),
        (2, vec!["C3: this column holds units, and the unit of a resistance is Ω, kΩ, MΩ, GΩ or TΩ".to_owned()])
    );
    for titled in ["Pos | Tag | Wert kΩ", "alles in kOhm | | "] {
        let sheet = format!("{titled}\n B-1 | 2025-05-13 | 844\n B-2 | 2025-05-13 | 812");
        assert!(
            by_layout(&sheet, LAYOUT).0[0].contains("names kΩ, and [[layout]] reads the number at C2 as r_60s"),
            "{titled}"
        );
        let kilohms = LAYOUT.replace("r_60s", "r_60s_kohm");
        assert_eq!(by_layout(&sheet, &kilohms).0[1], "B-1 2025-05-13 844");
    }
}

#[test]
fn a_layout_leaves_no_test_out() {
    let rows = "Pos | Tag | Wert\n B-1 | 2025-05-13 | 844\n B-1 | 2025-08-13 | 840\n B-2 | 2025-08-13 | 0.9";
    let hint = "\nhint: let rows and values take in all tests; \"4:\" and \"C:\" reach to the end of the sheet, and a column that is no reading gets a \
                line of its own";
    assert_eq!(
        by_layout(rows, LAYOUT).0,
        [format!("sheet:C4: 0.9 is outside of the rows that [[layout]] names{hint}")]
    );
    assert_eq!(by_layout(rows, &LAYOUT.replace("2:3", "2:")).0.len(), 4);
    let across = "Motor | 2025-05-13 | 2025-08-13\n B-1 | 844 | 0.9";
    let layout = "rows = \"2:\"\nvalues = \"B:B\"\nholds = \"r_60s\"\nwinding = \"column A\"\ntested_on = \"row 1\"\n";
    assert_eq!(
        by_layout(across, layout).0,
        [format!("sheet:C2: 0.9 is outside of the columns that [[layout]] names as values{hint}")]
    );
    assert_eq!(by_layout(across, &layout.replace("B:B", "B:")).0.len(), 3);
    let footer = format!("{}\n Average | | 842", rows.replace("\n B-2 | 2025-08-13 | 0.9", ""));
    assert_eq!(by_layout(&footer, LAYOUT).0.len(), 3, "a row that sums up others is no test");
}

#[test]
fn a_column_that_tells_the_tests_of_a_day_apart_is_understood_or_asked_about() {
    let sheet = |header: &str, names: [&str; 3]| {
        let days = ["2025-05-13", "2025-08-13"];
        let row = |day: &&str| names.map(|name| format!(" B-1 | {day} | {name} | 300")).join("\n");
        format!("Motor | Date | {header} | Reading\n{}", days.iter().map(row).collect::<Vec<_>>().join("\n"))
    };
    for names in [["L1", "L2", "L3"], ["U", "V", "W"], ["R-E", "S-E", "T-E"], ["Fase R", "Fase S", "Fase T"]] {
        for header in ["Zzz", "Description"] {
            assert_eq!(arranged(&sheet(header, names), None).0.len(), 7, "{header}: {names:?}");
        }
        for header in
            ["Fase", "Strang", "Klemme", "Bornes", "Morsetti", "Anschluß", "Terminal", "Lead", "Winding end", "Phases"]
        {
            assert_eq!(arranged(&sheet(header, names), None).0, ["plain"], "{header}: {names:?}");
        }
    }
    let hint = |header: &str| {
        format!(
            "hint: if it is part of the motor's name, or names windings of one machine, say so under [columns] in groundwall.toml or the policy \
             file: \"{header}\" = \"winding\" and that of the motors likewise; if it says between what was measured, \"{header}\" = \
             \"connection\"; if it says what was measured, name resistances IR 1 MIN and temperatures WDG TEMP there; \"{header}\" = \"-\" leaves it out, and the rows of a day are then tests made again"
        )
    };
    assert_eq!(
        arranged(&sheet("Description", ["alpha", "beta", "gamma"]), None).0,
        [format!(
            "sheet: column Description tells rows of one motor and day apart, such as alpha and beta, and it is not understood what it says\n{}",
            hint("Description")
        )]
    );
    // Notes come once, and numbers are no names.
    must_be(
        "Motor | Date | Remark by | MΩ\n P-1 | 2025-05-13 | a | 300\n P-1 | 2025-05-13 | b | 310\n P-1 | 2025-08-13 | hot | 300\n P-1 | 2025-08-13 | x | 310",
        &["plain"],
    );
    must_be(
        "Motor | Date | Load | MΩ\n P-1 | 2025-05-13 | 50 | 300\n P-1 | 2025-05-13 | 70 | 310\n P-1 | 2025-08-13 | 50 | 300\n P-1 | 2025-08-13 | 70 | 310",
        &["plain"],
    );
    // `Item` beside `Asset` says what was measured.
    must_be(
        "Asset | Date | Item | Reading\n B-1 | 2025-05-13 | IR 1 MIN | 2.6\n B-1 | 2025-05-13 | WDG TEMP | 44\n B-2 | 2025-05-13 | BRG TEMP | 50",
        &["winding tested_on connection r_60s winding_temp_c", "B-1 2025-05-13 2.6 44"],
    );
}

#[test]
fn temperatures_of_either_scale_are_asked_about() {
    let sheet = |header: &str| {
        format!(
            "Motor | Date | MΩ | {header}\n B-1 | 2025-05-13 | 8 | 72\n B-1 | 2025-08-13 | 8.4 | 76\n B-1 | 2025-11-13 | 8.2 | 22"
        )
    };
    assert_eq!(
        arranged(&sheet("Temp"), None).0,
        ["sheet: half of the temperatures under Temp are 72 or more, which may be °C or °F\n\
          hint: write °C or °F into that header, or say which under [columns] in groundwall.toml or the policy file: \"Temp\" = \"winding_temp_f\""]
    );
    assert_eq!(arranged(&sheet("Temp °C"), None).0, ["plain"]);
    assert_eq!(arranged(&sheet("winding_temp_c"), None).0, ["plain"]);
    assert_eq!(arranged(&sheet("Temp").replace("72", "42"), None).0, ["plain"]);
}

#[test]
fn a_second_column_of_readings_is_never_left_alone() {
    for header in [
        "N-E",
        "Rotor",
        "Exciter field",
        "2nd reading",
        "Value 2",
        "Final",
        "Low speed",
        "Aux winding",
        "Lowest",
        "Min",
        "IR after 2nd test (MΩ)",
    ] {
        let (found, _) = arranged(
            &format!("Motor | Date | MΩ | {header}\n B-1 | 2025-05-13 | 840 | 0.58\n B-1 | 2025-08-13 | 838 | 0.61"),
            None,
        );
        assert!(
            found[0]
                .starts_with(&format!("sheet: column {header} seems to hold readings, and it is not understood which")),
            "{found:?}"
        );
    }
    // A limit is the same in every row.
    for header in ["Min", "Limit", "Rotor temp", "Winding resistance (Ω)", "Load", "Rotor current (A)"] {
        must_be(
            &format!("Motor | Date | MΩ | {header}\n B-1 | 2025-05-13 | 840 | 5\n B-1 | 2025-08-13 | 838 | 5"),
            &["plain"],
        );
    }
}

#[test]
fn every_block_has_its_motor() {
    let block = |title: &str, r60: &str| format!("{title}\n Date | MΩ\n 2025-05-13 | {r60}\n 2025-08-13 | {r60}");
    for name in ["Raw pump", "HD-Pumpe", "K", "Kiln ID fan motor, north end"] {
        let (found, unplaced) = arranged(&format!("{}\n{}", block("P-1", "599"), block(name, "1.5")), None);
        assert_eq!((found.len(), unplaced.len()), (5, 0), "{name}: {found:?}");
        assert!(found[3].starts_with(name), "{found:?}");
    }
    assert_eq!(
        arranged(&format!("{}\n{}", block("P-1", "599"), block("Test results", "1.5")), None).0,
        [
            "sheet: no motor is named for the tests in row 7 and below\nhint: write its name above their header, such as Motor: P-101"
        ]
    );
}

#[test]
fn the_card_of_a_motor_names_it_in_its_title() {
    for title in ["SCHEDA MOTORE: EP-31", "MOTOR CARD: EP-31", "Insulation record for EP-31", "Insulation log - EP-31"]
    {
        let (found, _) = arranged(&format!("{title}\n Date | MΩ\n 2025-05-13 | 4.0"), Some("Scheda 1"));
        assert_eq!(found[1], "EP-31 2025-05-13 4.0", "{title}");
    }
}

#[test]
fn marks_for_the_line_above_are_no_motors() {
    for ditto in ["dto.", "ditto", "\u{201d}", "idem"] {
        must_be(
            &format!(
                "Motor | Date | MΩ\n B-1 | 2025-05-13 | 300\n {ditto} | 2025-08-13 | 0.9\n B-2 | 2025-05-13 | 310"
            ),
            &["winding tested_on connection r_60s", "B-1 2025-05-13 300", "B-1 2025-08-13 0.9", "B-2 2025-05-13 310"],
        );
    }
}

#[test]
fn several_tests_of_a_row_are_told_apart_by_their_dates_or_years() {
    let rows = ["winding tested_on connection r_60s", "P-1 2024-02-15 410", "P-1 2024-05-16 395"];
    must_be("Motor | Test date | IR | Test date | IR\n P-1 | 2024-02-15 | 410 | 2024-05-16 | 395", &rows);
    must_be("Motor | Year | Q1 | Q2\n P-1 | 2024 | 410 | 395", &rows);
    must_be(
        "Motor | Date | Pre-clean | Post-clean\n P-1 | 2024-02-15 | 41 | 395",
        &["winding tested_on connection event r_60s", "P-1 2024-02-15T00:00 41", "P-1 2024-02-15T23:59 cleaned 395"],
    );
}

#[test]
fn blocks_side_by_side_have_the_names_above_them() {
    let rows = ["winding tested_on connection r_60s", "PU 11 2024-02-15 420", "Raw pump 2024-02-15 0.9"];
    let below = "Datum | MΩ | | Datum | MΩ\n 2024-02-15 | 420 | | 2024-02-15 | 0.9";
    must_be(&format!("Motor: | PU 11 | | Motor: | Raw pump\n {below}"), &rows);
    must_be(&format!("PU 11 | | | Raw pump |\n {below}"), &rows);
}

#[test]
fn rows_of_quantities_under_a_word_for_readings_are_no_readings_themselves() {
    must_be(
        "Equipo | Medida | 2025-02-12 | 2025-05-20\n P-1 | R 1 min (MΩ) | 420 | 410\n | R 10 min (MΩ) | 840 | 830\n | T dev. (°C) | 22 | 24\n | Técnico | JR | LM",
        &[
            "winding tested_on connection r_600s r_60s tested_by winding_temp_c",
            "P-1 2025-02-12 840 420 JR 22",
            "P-1 2025-05-20 830 410 LM 24",
        ],
    );
}

#[test]
fn usual_words_of_seven_languages_head_their_columns() {
    let rows = ["winding tested_on connection r_60s winding_temp_c", "P-1 2024-02-15 420 22"];
    must_be(
        "Messobjekt | Meßdatum | Meßpunkt-Bez. | Meßwert | Maßeinheit\n P-1 | 2024-02-15 | Isolationswiderstand | 420 | MOhm\n P-1 | 2024-02-15 | Wicklungstemp. | 22 | °C",
        &rows,
    );
    must_be(
        "Équipement | Date de relevé | Point de mesure | Valeur | Unité\n P-1 | 2024-02-15 | Isolement 1 mn | 420 | MOhm\n P-1 | 2024-02-15 | Température bobinage | 22 | °C",
        &rows,
    );
    must_be(
        "Activo | Fecha de cierre | Punto de medida | Lectura | U.M.\n P-1 | 2024-02-15 | Resist. aislamiento | 420 | MOhm\n P-1 | 2024-02-15 | Temp. devanado | 22 | °C",
        &rows,
    );
    must_be(
        "Anlage | Größe | 2024-02-15\n P-1 | Isowert (MOhm) | 420\n | Wicklungstemp. (°C) | 22\n | geprüft durch | Hu",
        &["winding tested_on connection r_60s tested_by winding_temp_c", "P-1 2024-02-15 420 Hu 22"],
    );
    must_be(
        "Año | Trim. | Equipo | Aislamiento (MΩ) | Temp. devanado (°C)\n 2024 | 1 | P-1 | 420 | 22",
        &["winding tested_on connection r_60s winding_temp_c", "P-1 2024-02-15 420 22"],
    );
    must_be("Inventarnr. | Bezeichnung | Datum | Prüfer | MΩ\n P-1 | Pumpe | 2024-02-15 | Hu | 420", &["plain"]);
    must_be(
        "Macchina | Data e ora | Dopo il lavaggio (MΩ)\n P-1 | 2024-02-15 08:00 | 420",
        &["winding tested_on connection event r_60s", "P-1 2024-02-15T08:00:00 cleaned 420"],
    );
    must_be(
        "Datum | Pomp 1 | Pomp 2 | Temp buiten (°C)\n 2024-02-15 | 420 | 0.9 | 12",
        &["winding tested_on connection air_temp_c r_60s", "Pomp 1 2024-02-15 12 420", "Pomp 2 2024-02-15 12 0.9"],
    );
    must_be(
        "Equipo | Medida | 2024 |\n | | Ene | Abr\n P-1 | Lectura (MΩ) | 420 | 410\n | Temperatura (°C) | 22 | 24",
        &["winding tested_on connection r_60s winding_temp_c", "P-1 2024-01-16 420 22", "P-1 2024-04-16 410 24"],
    );
    must_be(
        "Motor | Fecha | F1-Tierra | F2-Tierra | F3-Tierra\n P-1 | 2024-02-15 | 420 | 421 | 422",
        &[
            "winding tested_on connection r_60s",
            "P-1 2024-02-15 U-earth 420",
            "P-1 2024-02-15 V-earth 421",
            "P-1 2024-02-15 W-earth 422",
        ],
    );
}

#[test]
fn what_would_make_an_answer_milder_is_asked_about() {
    let first = |sheet: &str| arranged(sheet, None).0.swap_remove(0);
    let starts = |sheet: &str, start: &str| assert!(first(sheet).starts_with(start), "{}", first(sheet));
    assert_eq!(
        first("Motor | Date | MΩ | Wording\n B-1 | 2025-05-13 | 840 |\n B-1 | 2025-08-13 | 838 | stand unter Wasser"),
        "sheet: column Wording is not read, and it says stand unter Wasser\n\
         hint: if it holds notes, say so under [columns] in groundwall.toml or the policy file: \"Wording\" = \"note\"; \"Wording\" = \"-\" leaves it out"
    );
    assert_eq!(
        first(
            "Zone | Motor | Date | MΩ\n S | Pump | 2025-05-13 | 0.9\n N | Pump | 2025-05-14 | 840\n S | Pump | 2025-08-13 | 0.8\n N | Pump | 2025-08-14 | 838"
        ),
        "sheet: Pump has S and N in column Zone: one machine or several?\n\
         hint: under [columns] in groundwall.toml or the policy file, make one name of the columns that are parts of it, such as \
         \"Motor\" = \"winding\" and \"Zone\" = \"winding\", and leave out those that are not: \"Zone\" = \"-\""
    );
    assert_eq!(
        first("Motor | Year | MΩ\n B-1 | 2025 | 167\n B-1 | 2025 | 152"),
        "sheet: B-1 has several tests in 2025, and no column says in which quarter or month\n\
         hint: name the column of periods Quarter, Month or Week, or give each test its date"
    );
    starts(
        "Motor | Date | IR | Multiplier\n B-1 | 2025-05-13 | 840 | 0.001",
        "sheet: column Multiplier seems to hold readings",
    );
    starts(
        "Motor | Date | MΩ | Re-test\n B-1 | 2025-05-13 | 840 | 0.9",
        "sheet: column Re-test seems to hold readings",
    );
    // What describes a motor is the same in all its rows.
    must_be(
        "Motor | Date | MΩ | Description\n B-1 | 2025-05-13 | 840 | burner fan\n B-1 | 2025-08-13 | 838 | burner fan",
        &["plain"],
    );
    // One that was moved, a crew, a number of the test.
    for header in ["Zone", "Crew", "Test"] {
        must_be(
            &format!(
                "Motor | Date | MΩ | {header}\n B-1 | 2025-05-13 | 840 | 1\n B-1 | 2025-08-13 | 838 | 2\n B-1 | 2025-11-13 | 835 | 1"
            ),
            &["plain"],
        );
    }
}

#[test]
fn what_an_earlier_test_read_is_no_reading_of_today() {
    let (rows, _) = arranged(
        "Asset | Date | Measuring point | Reading | Unit\n B-1 | 2025-02-12 | IR 1 MIN | 9.1 | MOHM\n B-1 | 2025-02-12 | IR PREVIOUS | 840 | MOHM",
        None,
    );
    assert_eq!(rows, ["winding tested_on connection r_60s", "B-1 2025-02-12 9.1"]);
}

#[test]
fn a_phase_or_a_temperature_is_read_wherever_its_name_is_written() {
    must_be(
        "Motor | Date | Phase | MΩ\n B-1 | 2025-02-12 | U | 300\n B-1 | 2025-05-12 | \u{201d} | 301\n B-1 | 2025-02-12 | V | 310\n B-1 | 2025-05-12 | | 311\n B-1 | 2025-02-12 | W | 9.4\n B-1 | 2025-05-12 | | 9.5",
        &[
            "winding tested_on connection r_60s",
            "B-1 2025-02-12 U-earth 300",
            "B-1 2025-05-12 U-earth 301",
            "B-1 2025-02-12 V-earth 310",
            "B-1 2025-05-12 V-earth 311",
            "B-1 2025-02-12 W-earth 9.4",
            "B-1 2025-05-12 W-earth 9.5",
        ],
    );
    must_be(
        "Motor | Date | IR | Temperature °C |\n | | MΩ | Winding | Air\n B-1 | 2025-02-12 | 300 | 40 | 12",
        &["winding tested_on connection air_temp_c r_60s winding_temp_c", "B-1 2025-02-12 12 300 40"],
    );
}

/// Rules with `[columns]`.
fn with_columns(columns: &[(&str, &str)]) -> ReadingRules {
    let mut mapping = Mapping::default();
    for (header, name) in columns {
        assert_eq!(mapping.add(header, name), Ok(()));
    }
    ReadingRules { mapping, ..ReadingRules::default() }
}

fn arranged_with(sheet: &str, columns: &[(&str, &str)]) -> Vec<String> {
    arranged_by(sheet, None, &mut Limits::of_bytes(0, 8), with_columns(columns)).0
}

/// The question about a column that may hold phases.
fn phases_asked(header: &str, letters: &str, motor: &str) -> Vec<String> {
    vec![format!(
        "sheet: column {header} has {letters} for {motor}: phases, several machines, or something else?\n\
         hint: of phases, say so under [columns] in groundwall.toml or the policy file: \"{header}\" = \"connection\"; of several machines, make \
         one name of that column and the names, \"{header}\" = \"winding\"; if it says something else of one machine, leave the column out: \
         \"{header}\" = \"-\""
    )]
}

#[test]
fn letters_that_may_be_anything_are_phases_only_where_their_header_says_so() {
    let sheet = |header: &str, letters: [&str; 3]| {
        let row =
            |letter: &&str| format!(" CW pump | {letter} | 2025-01-20 | 420\n CW pump | {letter} | 2026-01-20 | 400\n");
        format!("Motor | {header} | Test date | IR (MΩ)\n{}", letters.iter().map(row).collect::<String>())
    };
    for (header, letters) in [
        ("Train", ["A", "B", "C"]),
        ("Cell", ["1", "2", "3"]),
        ("Pos.", ["1", "2", "1"]),
        ("Suffix", ["A", "B", "A"]),
        ("Unit part", ["T1", "T2", "T3"]),
        ("Section", ["A-B", "B-C", "A-B"]),
        ("Zzz", ["U", "V", "U"]),
        ("Zzz", ["R", "S", "R"]),
    ] {
        let all = letters.iter().copied().collect::<std::collections::BTreeSet<_>>();
        let all = all.into_iter().collect::<Vec<_>>().join(", ");
        let sheet = sheet(header, letters);
        assert_eq!(arranged(&sheet, None).0, phases_asked(header, &all, "CW pump"), "{sheet}");
        for answer in ["connection", "-"] {
            assert_eq!(arranged_with(&sheet, &[(header, answer)]), ["plain"], "{sheet}");
        }
    }
    for (header, letters) in [("Phase", ["A", "B", "C"]), ("Lead", ["1", "2", "3"]), ("Fase", ["U", "V", "U"])] {
        assert_eq!(arranged(&sheet(header, letters), None).0, ["plain"], "{header}");
    }
    for letters in
        [["R", "S", "T"], ["U", "V", "W"], ["L1", "L2", "L3"], ["A-G", "B-G", "C-G"], ["Phase A", "Phase B", "Phase C"]]
    {
        let rows = arranged(&sheet("Zzz", letters), None).0;
        assert_eq!(
            (rows.len(), rows.last().map(String::as_str)),
            (7, Some("CW pump 2026-01-20 W-earth 400")),
            "{letters:?}"
        );
    }
    // Letters that no motor has several of are left alone, and no quantities.
    for letters in [["B", "C", "A"], ["A", "C", "C"], ["2", "3", "1"], ["V", "U", "V"]] {
        let [x, y, z] = letters;
        must_be(
            &format!(
                "Motor | Test date | IR (MΩ) | Winding °C | Priority\n X1 | 2026-04-20 | 520 | 24 | {x}\n X2 | 2026-04-20 | 1900 | 24 | {y}\n \
                 X3 | 2026-05-06 | 22 | 24 | {z}"
            ),
            &["plain"],
        );
        must_be(
            &format!(
                "Motor | Criticality | 2025-04-22 | 2026-04-20\n X1 | {x} | 520 | 560\n X2 | {y} | 1900 | 1950\n X3 | {z} | 22 | 41"
            ),
            &[
                "winding tested_on connection r_60s",
                "X1 2025-04-22 520",
                "X1 2026-04-20 560",
                "X2 2025-04-22 1900",
                "X2 2026-04-20 1950",
                "X3 2025-04-22 22",
                "X3 2026-04-20 41",
            ],
        );
    }
    // Quantities beside letters of phases say that the column is one of measuring points.
    must_be(
        "Motor | Zzz | 2025-02-12 | 2025-05-14\n P-1 | A | 410 | 395\n P-1 | B | 411 | 396\n P-1 | C | 412 | 397\n P-1 | Temp °C | 22 | 24",
        &[
            "winding tested_on connection r_60s winding_temp_c",
            "P-1 2025-02-12 U-earth 410 22",
            "P-1 2025-05-14 U-earth 395 24",
            "P-1 2025-02-12 V-earth 411 22",
            "P-1 2025-05-14 V-earth 396 24",
            "P-1 2025-02-12 W-earth 412 22",
            "P-1 2025-05-14 W-earth 397 24",
        ],
    );
    // Machines beside dates across.
    let across = "Motor | Train | 2025-01-20 | 2026-01-20\n CW pump | A | 420 | 400\n CW pump | B | 410 | 395\n BFP | A | 900 | 880";
    assert_eq!(arranged(across, None).0, phases_asked("Train", "A, B", "CW pump"));
    // Numbers of rows and ratios are not asked about.
    must_be("No. | Motor | Date | MΩ\n 1 | P-1 | 2025-02-12 | 410\n 2 | P-1 | 2025-05-14 | 395", &["plain"]);
    must_be("Motor | Date | MΩ | PI\n P-1 | 2025-02-12 | 410 | 2\n P-1 | 2025-05-14 | 395 | 3", &["plain"]);
}

#[test]
fn a_column_that_the_site_leaves_out_is_read_in_no_layout() {
    let last = "Motor | Priority | Last date | Last IR (MΩ) | Previous date | Previous IR (MΩ)\n X1 | A | 2026-04-20 | 520 | 2025-04-22 | 560\n \
                X2 | B | 2026-04-20 | 1900 | 2025-04-22 | 1950\n X3 | C | 2026-05-06 | 22 | 2025-05-13 | 41";
    let rows = [
        "winding tested_on connection r_60s",
        "X1 2026-04-20 520",
        "X1 2025-04-22 560",
        "X2 2026-04-20 1900",
        "X2 2025-04-22 1950",
        "X3 2026-05-06 22",
        "X3 2025-05-13 41",
    ];
    assert_eq!(arranged_with(last, &[]), rows);
    assert_eq!(arranged_with(last, &[("Priority", "-")]), rows);
    let across = "Motor | Zzz | 2025-02-12 | 2025-05-14\n P-1 | U | 410 | 395\n P-2 | V | 95 | 80\n P-3 | W | 9 | 8";
    assert_eq!(arranged_with(across, &[])[1], "P-1 2025-02-12 U-earth 410");
    assert_eq!(arranged_with(across, &[("zzz", "-")])[1], "P-1 2025-02-12 410");
    let headers = "Motor | Date | Stator (MΩ) | Rotor (MΩ) | Exciter (MΩ)\n P-1 | 2025-02-12 | 410 | 44 | 9";
    assert_eq!(
        arranged_with(headers, &[])[1..],
        ["P-1 Stator 2025-02-12 410", "P-1 Rotor 2025-02-12 44", "P-1 Exciter 2025-02-12 9"]
    );
    assert_eq!(
        arranged_with(headers, &[("Exciter (MΩ)", "-")])[1..],
        ["P-1 Stator 2025-02-12 410", "P-1 Rotor 2025-02-12 44"]
    );
    // Of two rows of headers, either or both together.
    let two = "| | 2025-02-12 | | 2025-05-14 |\n Motor | Zzz | MΩ | °C | MΩ | °C\n P-1 | U | 410 | 22 | 395 | 24\n P-1 | V | 411 | 22 | 396 | 24";
    assert_eq!(arranged_with(two, &[]), phases_asked("Zzz", "U, V", "P-1"));
    let all = arranged_with(two, &[("Zzz", "connection"), ("2025-05-14 MΩ", "-"), ("2025-05-14 °C", "-")]);
    assert_eq!(all[1..], ["P-1 2025-02-12 U-earth 410 22", "P-1 2025-02-12 V-earth 411 22"]);
}

#[test]
fn the_year_of_a_sheet_is_that_of_its_tests_or_asked_about() {
    let sheet = |title: &str| format!("{title}\n Motor | Jan | Apr\n P-1 | 420 | 410");
    let read = |title: &str, name: Option<&str>| arranged(&sheet(title), name).0;
    let of = |year: &str| {
        vec![
            "winding tested_on connection r_60s".to_owned(),
            format!("P-1 {year}-01-16 420"),
            format!("P-1 {year}-04-16 410"),
        ]
    };
    let half = "Insulation log 2024 - first half (readings in megohms, 500 V, 1 min)";
    let issue = "Boiler house motors, form E-17, issue of 2019";
    for (title, name) in [
        (half, Some("2024")),
        (issue, Some("2024")),
        ("Motor P house, built 1987", Some("2024")),
        ("Pump house 2024", Some("2024")),
        ("2024", None),
        ("Year: | 2024", None),
        ("Insulation readings 2024", None),
        ("Insulation readings 2024", Some("Pumps")),
    ] {
        assert_eq!(read(title, name), of("2024"), "{title} {name:?}");
    }
    assert_eq!(read(&format!("{half}\n Year: 2023"), None), of("2023"));
    let which = "in which year were the tests made?";
    let wrong = "hint: correct the one that is wrong, in the title or in the name of the sheet, or take it out";
    assert_eq!(
        read("Pump house 2023", Some("2024")),
        [format!("sheet: the name of the sheet, 2024, says 2024 and Pump house 2023 says 2023: {which}\n{wrong}")]
    );
    assert_eq!(
        read("Insulation tests 2023\n Insulation tests 2024", None),
        [format!("sheet: Insulation tests 2023 says 2023 and Insulation tests 2024 says 2024: {which}\n{wrong}")]
    );
    let alone =
        "hint: write the year alone into a cell above the table, such as 2024, or into each header, such as Q1 2024";
    for title in [half, "Pump house 2024"] {
        let shown = shown(title);
        assert_eq!(
            read(title, None),
            [format!(
                "sheet: {shown} is the only text that names a year, which may be that of something else: {which}\n{alone}"
            )]
        );
    }
    // `Year` beside a rating.
    assert!(
        read("Rated kW: | 75\n Year: | 1987", None)[0]
            .starts_with("sheet: Year: 1987 is the only text that names a year")
    );
    for title in ["Form rev. 2019", issue, "Insulation readings"] {
        assert_eq!(
            read(title, None),
            ["sheet: Jan is a part of a year, and nothing says of which\n\
              hint: write the year alone into a cell above the table, such as 2024, or into each header, such as Q1 2024; the year of a form, an \
              issue or a standard is not taken"],
            "{title}"
        );
    }
    // Where all dates have their years, titles do not matter.
    assert_eq!(arranged("Pump house 2023\n Motor | Date | MΩ\n P-1 | 2025-02-12 | 410", Some("2024")).0, ["plain"]);
    assert_eq!(
        arranged("Pump house 2023\n Motor | 2025-02-12 | 2025-05-14\n P-1 | 410 | 395", Some("2024")).0[1],
        "P-1 2025-02-12 410"
    );
}

#[test]
fn single_letters_beside_readings_are_no_units_and_no_quantities() {
    for letters in [["G", "R", "A"], ["G", "A", "V"], ["K", "M", "G"], ["C", "F", "B"], ["A", "B", "A"]] {
        let row = |at: usize| format!("M-{at} | 2025-03-10 | 0.{} | {} | 36", at + 1, letters[at]);
        let sheet = format!("Motor | Date | Riso (MΩ) | Mark | Winding °C\n {}\n {}\n {}", row(0), row(1), row(2));
        must_be(&sheet, &["plain"]);
    }
    // Across dates too.
    must_be(
        "Motor | RAG | 2025-01-10 | 2025-03-10\n M-1 | G | 0.8 | 0.7\n M-2 | A | 0.7 | 8\n M-3 | G | 120 | 110",
        &[
            "winding tested_on connection r_60s",
            "M-1 2025-01-10 0.8",
            "M-1 2025-03-10 0.7",
            "M-2 2025-01-10 0.7",
            "M-2 2025-03-10 8",
            "M-3 2025-01-10 120",
            "M-3 2025-03-10 110",
        ],
    );
    // `S1` is no reading after a second.
    must_be(
        "Motor | Shaft | 2024-03-10 | 2025-03-10\n M-1 | S1 | 0.6 | 0.61\n M-2 | S2 | 70 | 71",
        &[
            "winding tested_on connection r_60s",
            "M-1 2024-03-10 0.6",
            "M-1 2025-03-10 0.61",
            "M-2 2024-03-10 70",
            "M-2 2025-03-10 71",
        ],
    );
}

#[test]
fn days_take_the_year_and_the_month_from_where_they_are_written() {
    let header = "winding tested_on connection r_60s";
    let expected = [header, "W-1 2024-03-12 480", "W-1 2024-06-11 470", "W-1 2025-03-18 450"];
    must_be(
        "Year | Date | Motor | MΩ\n 2024 | 12-Mar | W-1 | 480\n | 11-Jun | W-1 | 470\n 2025 | 18-Mar | W-1 | 450",
        &expected,
    );
    must_be(
        "Month | Day | Motor | MΩ\n Mar 2024 | 12 | W-1 | 480\n Jun 2024 | 11 | W-1 | 470\n Mar 2025 | 18 | W-1 | 450",
        &expected,
    );
    must_be(
        "Date | Motor | MΩ\n March 2024\n 12 | W-1 | 480\n June 2024\n 11 | W-1 | 470\n March 2025\n 18 | W-1 | 450",
        &expected,
    );
    must_be(
        "Insulation tests 2025\n Date | Motor | MΩ\n 12-Mar | W-1 | 480\n 11-Jun | W-1 | 470",
        &[header, "W-1 2025-03-12 480", "W-1 2025-06-11 470"],
    );
    must_be(
        "Motor | Round 1 (14 Jan 2025) | 2. Runde 15.04.2025\n FB01 | 120 | 118\n FB02 | 45 | 47",
        &[header, "FB01 2025-01-14 120", "FB01 2025-04-15 118", "FB02 2025-01-14 45", "FB02 2025-04-15 47"],
    );
    must_be(
        "Motor | Date | MΩ | Date repaired | MΩ after\n M-1 | 2025-03-10 | 0.6 | 2025-03-20 | 550\n M-2 | 2025-03-11 | 70 | |",
        &[header, "M-1 2025-03-10 0.6", "M-1 2025-03-20T23:59 550", "M-2 2025-03-11 70"],
    );
}

#[test]
fn dates_below_their_readings_are_asked_for_above_them() {
    for sheet in [
        "TF-1 | IR MΩ | 640 | 611\n | Date | 12.02.2024 | 13.08.2024\n TF-2 | IR MΩ | 51 | 46\n | Date | 13.02.2024 | 14.08.2024",
        "Motor | TF-1 | \n MΩ | 640 | 611\n Date | 12.02.2024 | 13.08.2024\n Motor | TF-2 | \n MΩ | 51 | 46\n Date | 13.02.2024 | 14.08.2024",
    ] {
        let (found, _) = arranged(sheet, None);
        let (readings, dates) = if sheet.starts_with("TF") { (1, 2) } else { (2, 3) };
        let message = format!(
            "sheet: row {readings} has readings and no dates above them, and row {dates} below it has dates\n\
             hint: write the dates of each motor in a row above its readings"
        );
        assert_eq!(found, [message], "{sheet}");
    }
}

#[test]
fn machines_with_several_windings_are_named_by_both_columns() {
    must_be(
        "Fan | Winding | Date | MΩ
         JF-1 | low speed | 2025-03-10 | 44
         JF-1 | high speed | 2025-03-10 | 90
         JF-2 | low speed | 2025-03-10 | 0.9",
        &[
            "winding tested_on connection r_60s",
            "JF-1 low speed 2025-03-10 44",
            "JF-1 high speed 2025-03-10 90",
            "JF-2 low speed 2025-03-10 0.9",
        ],
    );
}

#[test]
fn a_date_below_a_period_is_the_date_of_the_test() {
    for heading in ["Campaign 2024", "2024", "Outage 2024", "Q2 2024", "FY 2024"] {
        let other = heading.replace("2024", "2025");
        must_be(
            &format!(
                "Motor | {heading} | | | {other} | |\n | Date | MΩ | °C | Date | MΩ | °C\n ESC-01 | 2024-09-03 | 0.6 | 24 | 2025-06-02 | 800 \
                 | 23\n ESC-02 | 2024-06-03 | 880 | 25 | 2025-06-02 | 875 | 23"
            ),
            &[
                "winding tested_on connection r_60s winding_temp_c",
                "ESC-01 2024-09-03 0.6 24",
                "ESC-01 2025-06-02 800 23",
                "ESC-02 2024-06-03 880 25",
                "ESC-02 2025-06-02 875 23",
            ],
        );
    }
    let asked = arranged("Motor | MΩ 2023 | Date | MΩ 2024 | Date\n P-1 | 8 | 2023-06-05 | 0.6 | 2024-09-03", None).0;
    assert_eq!(
        asked,
        [
            "sheet: column Date has days, such as 2023-06-05, and the readings are headed by dates or periods: which are those of the tests?\n\
          hint: if the days are those of the tests, write one row per test, or put the name of each test in a row above its date and its \
          readings; if they are of something else, leave them out under [columns] in groundwall.toml or the policy file: \"Date\" = \"-\""
        ]
    );
    // The life of a machine is another matter.
    must_be(
        "Motor | Commissioned | 2024-03-01 | 2025-03-01\n P-1 | 1998-05-01 | 8 | 7",
        &["winding tested_on connection r_60s", "P-1 2024-03-01 8", "P-1 2025-03-01 7"],
    );
}

#[test]
fn what_stands_beside_dates_is_asked_about_where_it_may_be_worse() {
    let wide = |header: &str, cell: &str, other: &str| {
        let sheet = format!(
            "Motor | 2023-03-01 | 2024-03-01 | 2025-03-01 | {header}\n P-1 | 800 | 790 | 795 | {cell}\n P-2 | 700 | 690 | 680 | {other}"
        );
        arranged(&sheet, None).0.swap_remove(0)
    };
    for note in
        ["flooded in November", "earth fault 20 Nov, motor tripped", "burnt out 15 Nov", "abgesoffen", "Erdschluss"]
    {
        assert_eq!(wide("Comment", note, ""), "winding tested_on connection note r_60s", "{note}");
        assert_eq!(wide("Outcome", note, ""), "winding tested_on connection note r_60s", "{note}");
    }
    for (header, cell, other) in [
        ("Nov check", "0.4 MΩ", "650 MΩ"),
        ("Whatever", "0.4 MΩ", "650 MΩ"),
        ("", "0.4", "650"),
        ("Recheck", "0.4", "650"),
        ("Spot check", "0.4", "650"),
        ("Last visit", "0.4", "650"),
        ("Storm", "0.4", "650"),
    ] {
        let found = wide(header, cell, other);
        assert!(found.contains("seems to hold readings"), "{header}: {found}");
    }
    for (header, cell, other) in
        [("Whatever", "bearing noisy", ""), ("kW", "75", "11"), ("Priority", "1", "2"), ("Status", "ok", "ok")]
    {
        assert_eq!(wide(header, cell, other), "winding tested_on connection r_60s", "{header}");
    }
}

#[test]
fn one_name_below_two_stations_is_asked_about_and_one_below_two_rounds_is_not() {
    let sheet = |first: &str, second: &str, days: [&str; 4]| {
        format!(
            "Motor | Date | MΩ\n {first}\n P-1 | {} | 100\n P-1 | {} | 101\n {second}\n P-1 | {} | 2\n P-1 | {} | 3",
            days[0], days[1], days[2], days[3]
        )
    };
    let found = arranged(
        &sheet("EAST STATION", "WEST STATION", ["2020-03-01", "2025-03-01", "2019-09-01", "2021-03-01"]),
        None,
    )
    .0;
    assert_eq!(
        found,
        ["sheet: P-1 has tests below EAST STATION and below WEST STATION: one machine or several?\n\
          hint: if they are several, write those lines into a column of their own, such as Station, and make one name of both columns under \
          [columns] in groundwall.toml or the policy file: \"Station\" = \"winding\" and that of the motors likewise; if it is one, take the \
          lines out"]
    );
    let found = arranged(&sheet("EAST", "WEST", ["2020-03-01", "2025-03-01", "2019-09-01", "2019-09-02"]), None).0;
    assert!(found[0].starts_with("sheet: P-1 has tests below EAST and below WEST"), "{found:?}");
    let blocks = |first: &str, second: &str| {
        let block = |title: &str, rows: &str| format!("{title}\n Motor | Date | MΩ\n {rows}\n");
        let one = block(first, "P-1 | 2020-03-01 | 100\n P-1 | 2025-03-01 | 101");
        arranged(&(one + &block(second, "P-1 | 2019-09-01 | 2\n P-1 | 2021-09-01 | 3")), None).0.swap_remove(0)
    };
    assert!(
        blocks("EAST", "WEST").starts_with("sheet: P-1 has tests below EAST and below WEST"),
        "{}",
        blocks("EAST", "WEST")
    );
    // Tests after the as-of date ask nothing.
    must_be(&sheet("EAST", "WEST", ["2020-03-01", "2027-05-01", "2027-03-01", "2027-04-01"]), &["plain"]);
    // Two places are two, whenever each was visited.
    for (first, second) in [("Lock 12", "Lock 13"), ("North", "South - visited by boat")] {
        let found = arranged(&sheet(first, second, ["2023-04-09", "2024-04-08", "2025-10-14", "2026-04-14"]), None).0;
        assert!(found[0].starts_with(&format!("sheet: P-1 has tests below {first} and below {second}")), "{found:?}");
    }
    must_be(&sheet("Report 4711", "Report 4801", ["2023-04-09", "2024-04-08", "2025-10-14", "2026-04-14"]), &["plain"]);
    must_be(&sheet("Newest", "Older", ["2021-03-02", "2021-03-01", "2020-03-02", "2020-03-01"]), &["plain"]);
    must_be(&sheet("Round one", "Round two", ["2020-03-01", "2020-03-02", "2021-03-01", "2021-03-02"]), &["plain"]);
}

#[test]
fn a_plain_table_with_readings_of_another_look_or_tests_that_do_not_hold_is_asked_about() {
    let plain = |header: &str, cells: [&str; 2]| {
        let sheet = format!(
            "Motor | Date | MΩ | {header}\n P-1 | 2024-03-01 | 800 | {}\n P-1 | 2025-03-01 | 790 | {}",
            cells[0], cells[1]
        );
        arranged(&sheet, None).0.swap_remove(0)
    };
    for (header, cells) in
        [("Recheck", ["790", "0.4"]), ("Whatever", ["790 MΩ", "0.4 MΩ"]), ("Spot check", ["", "0.4"])]
    {
        let found = plain(header, cells);
        assert!(found.starts_with(&format!("sheet: column {header} seems to hold readings")), "{found}");
    }
    assert!(
        plain("Whatever", ["fine", "NOT OK"])
            .starts_with("sheet: column Whatever is not read, and it says NOT OK\nhint: ")
    );
    for (header, cells) in [("Range", ["x1k", "x1"]), ("Exp", ["E-3", "E0"])] {
        let found = plain(header, cells);
        assert!(
            found.starts_with(&format!("sheet: column {header} has factors, such as {}, and", cells[0])),
            "{found}"
        );
    }
    for (header, cells) in
        [("Valid", ["yes", "no"]), ("Priority", ["1", "2"]), ("kW", ["75", "75"]), ("Checked by", ["AB", "CD"])]
    {
        assert_eq!(plain(header, cells), "plain", "{header}");
    }
}

#[test]
fn motors_above_their_parts_and_rounds_above_their_dates_are_read() {
    must_be(
        "Insulation in megohms
                    | Valley chair |     | Summit gondola |
         Date       | Main         | Aux | Main           | Aux
         2024-11-20 | 420          | 9   | 1100           | 760
         2025-01-15 | 395          | 0.4 | 1050           | 740",
        &[
            "winding tested_on connection r_60s",
            "Valley chair Main 2024-11-20 420",
            "Valley chair Aux 2024-11-20 9",
            "Summit gondola Main 2024-11-20 1100",
            "Summit gondola Aux 2024-11-20 760",
            "Valley chair Main 2025-01-15 395",
            "Valley chair Aux 2025-01-15 0.4",
            "Summit gondola Main 2025-01-15 1050",
            "Summit gondola Aux 2025-01-15 740",
        ],
    );
    must_be(
        "Loco | Date       | Mileage km | TM1 | TM2
         1401 | 2025-07-08 | 812000     | 55  | 61
         1402 | 2025-07-09 | 640500     | 120 | 1.1",
        &[
            "winding tested_on connection r_60s",
            "1401 TM1 2025-07-08 55",
            "1401 TM2 2025-07-08 61",
            "1402 TM1 2025-07-09 120",
            "1402 TM2 2025-07-09 1.1",
        ],
    );
    must_be(
        "              |        |     | Spring round |     |    | Autumn round |     |
         Motor         | Feeder | kW  | Date         | MΩ  | °C | Date         | MΩ  | °C
         Mixer 1       | MCC2/4 | 11  | 2025-04-08   | 240 | 22 | 2025-10-07   | 225 | 23
         Freezer fan 2 | MCC3/2 | 5.5 | 2025-04-09   | 19  | -4 | 2025-10-08   | 1.1 | -2",
        &[
            "winding tested_on connection r_60s winding_temp_c",
            "Mixer 1 2025-04-08 240 22",
            "Mixer 1 2025-10-07 225 23",
            "Freezer fan 2 2025-04-09 19 -4",
            "Freezer fan 2 2025-10-08 1.1 -2",
        ],
    );
}

#[test]
fn a_verdict_that_a_test_failed_is_noted_with_every_test_of_its_row() {
    must_be(
        "Motor | Date       | U-E | V-E | Ergebnis
         P-1   | 2025-05-14 | 410 | 400 | i.O.
         P-2   | 2025-05-14 | 420 | 410 | n.i.O.",
        &[
            "winding tested_on connection note r_60s",
            "P-1 2025-05-14 U-earth 410",
            "P-1 2025-05-14 V-earth 400",
            "P-2 2025-05-14 U-earth verdict failed 420",
            "P-2 2025-05-14 V-earth verdict failed 410",
        ],
    );
}

#[test]
fn a_row_of_a_plain_table_is_no_header_whatever_its_words_are() {
    must_be(
        "winding | tested_on | r_60s | winding_temp_c | scope | calibration_due
         M1 | 2024-01-02 | 900 | 40 | winding | 2030-01-01
         M0 | 2024-01-03 | OL | 20 °C | winding | 2030-01-01
         M1 | 2024-02-02 | 3 | 40 | winding | 2030-01-01",
        &["plain"],
    );
}

#[test]
fn numbers_under_a_header_that_nobody_understands_are_asked_about() {
    let found = arranged(
        "Motor: P-1\n Date | MΩ | Brake | Temp °C\n 2024-03-01 | 420 | 9 | 22\n 2024-09-01 | 415 | 3 | 23\n 2025-03-01 | 418 | 0.4 | 22",
        None,
    )
    .0;
    assert_eq!(
        found,
        ["sheet: column Brake seems to hold readings, and it is not understood which\n\
          hint: say what they hold under [columns] in groundwall.toml or the policy file, such as \"Brake\" = \"r_60s\"; a date or a \
          connection in the header still counts, and readings of another winding need rows of their own; what holds no readings of the \
          insulation is left out: \"Brake\" = \"-\""]
    );
}

#[test]
fn a_header_below_another_is_no_reading_of_the_whole_winding_where_phases_stand_beside_it() {
    let found = arranged(
        "Motor | Date       | Insulation (MΩ) | Insulation (MΩ) | Insulation (MΩ) | Insulation (MΩ)
         Motor | Date       | U               | V   | W   | IP
         P-1   | 2025-05-14 | 410             | 400 | 405 | 3.1
         P-2   | 2025-05-14 | 510             | 500 | 505 | 2.9",
        None,
    )
    .0;
    assert!(found[0].starts_with("sheet: column Insulation (MΩ) IP seems to hold readings"), "{found:?}");
    let found = arranged(
        "Motor | Date       | Insulation (MΩ) |
               |            | Actual          | Last year
         M1    | 2025-05-14 | 0.4             | 304
         M2    | 2025-05-14 | 500             | 510",
        None,
    )
    .0;
    assert!(found[0].starts_with("sheet: column Insulation (MΩ) Last year seems to hold readings"), "{found:?}");
}

#[test]
fn a_note_of_trouble_in_a_row_of_several_motors_is_asked_about() {
    let found = arranged(
        "Date       | M1  | M2  | Remarks
         2026-03-02 | 300 | 207 |
         2026-09-02 | 310 | 210 |
         2026-11-02 |     | 207 | M1 earth fault",
        None,
    )
    .0;
    assert_eq!(
        found,
        ["sheet: row 4 has tests of several motors, and column Remarks says M1 earth fault: of which?\n\
          hint: write that test into a list with one row per test and its note beside it; what is settled is left out under [columns] in \
          groundwall.toml or the policy file: \"Remarks\" = \"-\""]
    );
}

#[test]
fn the_day_of_a_print_or_a_calibration_is_none_of_tests() {
    for title in [
        "Printed: 1 November 2026",
        "Meter calibrated: 9 February 2026",
        "Kalibriert am 9.2.2026",
        "Bearings greased 9 Feb 2026",
    ] {
        let found = arranged(&format!("{title}\n Motor | U-E | V-E | W-E\n P-1 | 410 | 400 | 405"), None).0;
        assert!(!found.iter().any(|row| row.contains("2026")), "{title}: {found:?}");
    }
}

#[test]
fn means_and_sums_of_other_languages_are_no_motors() {
    must_be(
        "Motor | 2025-02-12 | 2025-05-14
         P-1   | 410        | 395
         Gemiddeld | 410    | 395
         Ø     | 410        | 395
         Durchschnitt | 410 | 395",
        &["winding tested_on connection r_60s", "P-1 2025-02-12 410", "P-1 2025-05-14 395"],
    );
}

#[test]
fn a_word_under_connection_makes_no_measuring_points_of_readings_after_a_minute() {
    for word in ["phase", "temp", "lead", "volts", "humidity"] {
        must_be(
            &format!(
                "winding | tested_on | r_60s | connection\n A | 2026-01-01 | 300 |\n A | 2026-04-01 | 310 |\n A | 2026-11-01 | 3 | {word}"
            ),
            &["plain"],
        );
    }
}

#[test]
fn a_card_ends_where_the_next_motor_is_named_whatever_follows() {
    let card = |name: &str, line: &str, read: &str| {
        format!(
            "Motor: | {name}\n {line}\n Date | Megohms | By\n 2024-10-15 | {read} | HJ\n 2025-04-10 | {read}1 | HJ\n"
        )
    };
    for line in ["HP: | 150", "S/N: | 4711-B", "Starter | DOL"] {
        must_be(
            &(card("Blower A", line, "42") + &card("Debarker", line, "7")),
            &[
                "winding tested_on connection r_60s tested_by",
                "Blower A 2024-10-15 42 HJ",
                "Blower A 2025-04-10 421 HJ",
                "Debarker 2024-10-15 7 HJ",
                "Debarker 2025-04-10 71 HJ",
            ],
        );
    }
}

#[test]
fn a_year_with_its_word_heads_readings_and_weather_is_no_note() {
    must_be(
        "Motor   | kW | Año 2022 | Año 2023 | Mínimo (MΩ)
         Molino 1 | 30 | 320     | 315      | 1
         Bomba 2  | 11 | 14      | 5.1      | 1",
        &[
            "winding tested_on connection r_60s",
            "Molino 1 2022-07-02 320",
            "Molino 1 2023-07-02 315",
            "Bomba 2 2022-07-02 14",
            "Bomba 2 2023-07-02 5.1",
        ],
    );
    must_be(
        "Motor | 2025-02-18 | 2025-09-30
         P-1   | 210        | 195
         Weather | dry      | wet",
        &["winding tested_on connection r_60s", "P-1 2025-02-18 210", "P-1 2025-09-30 195"],
    );
}

/// A header of several rows says of each column what it holds, in whichever of them.
#[test]
fn what_upper_headers_say_of_units_and_conductors_counts() {
    let rows = |sheet: &str| arranged(sheet, None).0;
    // Units that cannot be told.
    for unit in ["mΩ", "mOhm", "µΩ", "k"] {
        let found = rows(&format!(
            "Motor | Date | Insulation resistance ({unit}) | | Winding temp (°C)
              | | 1 min | 10 min |
             TM-1 | 2026-11-16 | 401 | 1203 | 34"
        ));
        assert!(!found[0].starts_with("winding"), "{unit}: {found:?}");
        if unit == "k" {
            continue;
        }
        let below = rows(&format!("Motor | Date | IR | Winding temp\n | | {unit} | °C\n TM-1 | 2026-11-16 | 401 | 34"));
        let refused = below[0].contains(" below the header says ") || below[0].contains("seems to hold readings");
        assert!(refused, "{unit}: {below:?}");
    }
    for units in [" | | kΩ | -", " | | (kΩ) | (-)", " | | k | °C"] {
        must_be(
            &format!("Motor | Date | R 1 min | Winding C\n {units}\n P-1 | 2024-03-01 | 840 | 25"),
            &["winding tested_on connection r_60s_kohm winding_temp_c", "P-1 2024-03-01 840 25"],
        );
    }
    // Copper beside insulation.
    for copper in ["Winding resistance (mΩ)", "Winding resistance (Ω)", "Wicklungswiderstand (mΩ)"] {
        must_be(
            &format!(
                "Motor | Date | {copper} | | | Insulation resistance (MΩ) | |
                  | | U-V | V-W | W-U | U-PE | V-PE | W-PE
                 TM-1 | 2026-11-16 | 401 | 410 | 396 | 248 | 229 | 264"
            ),
            &[
                "winding tested_on connection r_60s",
                "TM-1 2026-11-16 U-earth 248",
                "TM-1 2026-11-16 V-earth 229",
                "TM-1 2026-11-16 W-earth 264",
            ],
        );
    }
    must_be(
        "Motor | Date | U-E (MΩ) | V-E (MΩ) | Ohms U-V | Result\n M-1 | 2026-05-11 | 610 | 455 | 0.31 | Pass",
        &["winding tested_on connection r_60s", "M-1 2026-05-11 U-earth 610", "M-1 2026-05-11 V-earth 455"],
    );
    // The scale above belongs to all temperatures below it.
    must_be(
        "Motor | Date | IR (MΩ) | Temperature (°F) |\n | | | Winding | Room\n P-1 | 2026-05-11 | 20 | 104 | 77",
        &["winding tested_on connection air_temp_f r_60s winding_temp_f", "P-1 2026-05-11 77 20 104"],
    );
    // A, B and C beside T: earth.
    must_be(
        "Motor | Date | A-T (MΩ) | B-T (MΩ) | C-T (MΩ) | A-B (MΩ)\n M-1 | 2026-05-11 | 610 | 455 | 0.3 | 900",
        &[
            "winding tested_on connection r_60s",
            "M-1 2026-05-11 U-earth 610",
            "M-1 2026-05-11 V-earth 455",
            "M-1 2026-05-11 W-earth 0.3",
            "M-1 2026-05-11 U-V 900",
        ],
    );
}

/// Text beside a table that says in which unit or scale its numbers are.
#[test]
fn units_and_scales_in_titles_count_wherever_they_are() {
    for title in ["Motor insulation, Ω | | |", "Motors [Ω] | | |", " | | Ω | °C"] {
        must_be(
            &format!("{title}\n Motor | Date | IR | Winding temp\n P-1 | 2026-05-11 | 840000 | 25"),
            &["winding tested_on connection r_60s_ohm winding_temp_c", "P-1 2026-05-11 840000 25"],
        );
    }
    for title in ["Motor tests | | | kΩ", "Motor tests | | | Values in kΩ"] {
        must_be(
            &format!("{title}\n Motor | Date | IR | Winding temp (°C)\n P-1 | 2026-05-11 | 840 | 25"),
            &["winding tested_on connection r_60s_kohm winding_temp_c", "P-1 2026-05-11 840 25"],
        );
    }
    for sheet in [
        "All temperatures in deg F\n Motor | Date | IR (MΩ) | Winding temp\n P-1 | 2026-05-11 | 20 | 40",
        "Motor | Date | IR (MΩ) | Winding temp\n P-1 | 2026-05-11 | 20 | 40\n P-1 | 2026-08-11 | 20 | 41 °F",
    ] {
        let found = arranged(sheet, None).0;
        assert!(
            found[0].contains(" names °F, and nothing gives the temperatures under Winding temp a scale"),
            "{found:?}"
        );
    }
}

/// Where rows have dates, one without is rejected, and not dated by the sheet.
#[test]
fn a_row_without_a_date_beside_others_is_not_dated_by_the_sheet() {
    let (found, _) =
        arranged("Motor | Date | U-E (MΩ) | V-E (MΩ)\n P-1 | 2025-01-20 | 410 | 420\n P-1 | | 0.8 | 0.9", Some("2025"));
    assert_eq!(found[3..], ["P-1 U-earth 0.8", "P-1 V-earth 0.9"], "{found:?}");
    must_be(
        "Insulation tests, janeiro de 2026\n\n Motor | Dia | U-E (MΩ) | V-E (MΩ)\n P-1 | 12 | 410 | 420",
        &["winding tested_on connection r_60s", "P-1 2026-01-12 U-earth 410", "P-1 2026-01-12 V-earth 420"],
    );
}

/// Lines of a form below its table of phases are no tests.
#[test]
fn lines_of_a_form_below_its_phases_are_no_tests() {
    let sheet = |footer: &str| {
        format!(
            "Motor: P-7\n Date: 2026-05-11\n\n Phase | 1 min (MΩ) | 10 min (MΩ)\n U-E | 410 | 900\n V-E | 420 | 910\n {footer} |"
        )
    };
    for footer in ["Result: | passed", "Tester: | JR", "Remarks: | none"] {
        assert_eq!(arranged(&sheet(footer), None).0.len(), 3, "{footer}");
    }
    let failed = arranged(&sheet("Result: | failed, earth fault"), None).0;
    assert_eq!(
        failed[0],
        "sheet: row 7 holds no test, and it says Result: failed, earth fault\nhint: write it into a column of notes beside the test that it \
         speaks of, or take it out if it speaks of something else"
    );
}

#[test]
fn a_day_written_out_is_no_reading_of_its_month() {
    must_be("Moteur | Fait le | Isolement\n E1 | 3 mars 2026 | 145 MΩ\n E2 | 4 mars 2026 | 132 MΩ", &["plain"]);
}

/// Cars that have motors of the same names.
#[test]
fn numbers_of_cars_beside_names_of_motors_are_asked_about() {
    let found = arranged(
        "Wagen | Aggregat | Datum | L1-PE (MΩ) | L2-PE (MΩ)
         2014 | Lüfter | 23.02.2026 | 145 | 150
         2014 | Kompressor | 23.02.2026 | 88 | 86
         2017 | Lüfter | 24.02.2026 | 6.1 | 72
         2017 | Kompressor | 24.02.2026 | 95 | 96",
        None,
    )
    .0;
    assert!(found[0].contains("one machine or several?") && found[0].contains("\"Wagen\" = \"winding\""), "{found:?}");
}

#[test]
fn a_third_letter_alone_is_a_phase_beside_a_temperature() {
    must_be(
        "Motor | Date | A-G | B-G | C | Winding temp (°C)\n P-1 | 2025-02-12 | 410 | 420 | 1.4 | 22",
        &[
            "winding tested_on connection r_60s winding_temp_c",
            "P-1 2025-02-12 U-earth 410 22",
            "P-1 2025-02-12 V-earth 420 22",
            "P-1 2025-02-12 W-earth 1.4 22",
        ],
    );
    let found = arranged("Motor | Date | A-G | B-G | C\n P-1 | 2025-02-12 | 410 | 420 | 1.4", None).0.swap_remove(0);
    assert!(found.starts_with("sheet: column C seems to hold readings, and it is not understood which\n"), "{found}");
}

#[test]
fn a_block_with_another_title_is_not_of_the_first_motor() {
    for (title, named) in [
        ("RG Dorp", true),
        ("Retest RG Dorp", true),
        ("Spare", true),
        ("RG Dorp:", false),
        ("Pump: RG Dorp", false),
        ("Moter: RG Dorp", false),
    ] {
        let block = |title: &str, r60: &str| format!("{title}\n Date | MΩ\n 2025-01-13 | {r60}\n\n");
        let sheet = block("Motor: RG Haven", "550") + &block("Motor: RG Molen", "540") + &block(title, "1.4");
        let last = arranged(&sheet, None).0.pop().unwrap_or_default();
        if named {
            assert_eq!(last, format!("{title} 2025-01-13 1.4"));
        } else {
            assert_eq!(
                last,
                "sheet: no motor is named for the tests in row 11 and below\n\
                 hint: write its name above their header, such as Motor: P-101"
            );
        }
    }
}

#[test]
fn numbers_after_dates_are_asked_about_whatever_their_header_says() {
    for header in ["13/10", "~13/10/2026", "Herbst", "aktuell", "this time", "8th", "Follow-up", "2nd", "Special"] {
        let sheet = format!(
            "Motor | 2025-01-13 | 2025-04-14 | {header}\n P-1 | 550 | 551 | 552\n P-2 | 540 | 541 | 1.4\n P-3 | 530 | 531 | 532"
        );
        let found = arranged(&sheet, None).0;
        assert!(found[0].starts_with("sheet: ") && found[0].contains(header), "{header}: {found:?}");
    }
    let found = arranged("Motor | 2025-01-13 | 2025-04-14 | Oct 13\n P-1 | 550 | 551 | 1.4", None).0;
    assert_eq!(
        found,
        ["sheet: the header Oct 13 may be a day or a year\nhint: write the date with its year, such as 2026-10-13"]
    );
    // What is no reading stays out.
    must_be(
        "Motor | 2025-01-13 | 2025-04-14 | kW | Limit\n P-1 | 550 | 551 | 75 | 5\n P-2 | 540 | 541 | 11 | 100",
        &[
            "winding tested_on connection r_60s",
            "P-1 2025-01-13 550",
            "P-1 2025-04-14 551",
            "P-2 2025-01-13 540",
            "P-2 2025-04-14 541",
        ],
    );
}

#[test]
fn a_test_made_again_without_a_date_of_its_own_is_asked_about() {
    let sheet = "Motor | Date | Spot test (MΩ) | | Retest (MΩ) |
                 | | 1 min | 10 min | 1 min | 10 min
                 P-1 | 2025-02-12 | 550 | 900 | 1.4 | 2
                 P-1 | 2025-03-12 | 551 | 910 | 540 | 890";
    let found = arranged(sheet, None).0.swap_remove(0);
    assert!(found.contains("Retest (MΩ) 1 min") && found.starts_with("sheet: column"), "{found}");
}

#[test]
fn a_remark_in_the_place_of_a_name_is_asked_about() {
    for remark in ["retest", "after rain", "Nachmessung", "(2)", "MΩ", "with cable"] {
        let sheet = format!(
            "Motor | Date | MΩ\n P-1 | 2025-02-12 | 550\n {remark} | 2025-02-13 | 1.4\n P-2 | 2025-02-12 | 540"
        );
        assert_eq!(
            arranged(&sheet, None).0,
            [format!(
                "sheet: row 3 has {remark} in the place of a motor's name\n\
                 hint: write the name of the motor there, and the remark into a column of notes; a test made again is a row of its own with its date"
            )]
        );
    }
}

#[test]
fn a_line_of_trouble_outside_the_tests_is_asked_about() {
    let said = |row: u64| {
        format!(
            "sheet: row {row} holds no test, and it says P-1 flooded on 2025-10-20\n\
             hint: write it into a column of notes beside the test that it speaks of, or take it out if it speaks of something else"
        )
    };
    let line = "P-1 flooded on 2025-10-20";
    assert_eq!(arranged(&format!("Motor | Date | MΩ\n P-1 | 2025-02-12 | 550\n {line}"), None).0, [said(3)]);
    let block = |title: &str| format!("Motor: {title}\n Date | MΩ\n 2025-02-12 | 550\n");
    let blocks = block("P-1") + line + "\n\n" + &block("P-2");
    assert_eq!(arranged(&blocks, None).0, [said(4)]);
}

/// Source of the forms: sheets with several rounds side by side, as planners keep them.
#[test]
fn dates_and_readings_of_one_number_are_one_test() {
    let rows = [
        "winding tested_on connection r_60s winding_temp_c",
        "P-1 2024-03-12 850 21",
        "P-1 2024-09-10 790 22",
        "P-2 2024-03-12 450 21",
    ];
    must_be(
        "Motor | Date 1 | IR 1 (MΩ) | Temp 1 | Date 2 | IR 2 (MΩ) | Temp 2
         P-1 | 2024-03-12 | 850 | 21 | 2024-09-10 | 790 | 22
         P-2 | 2024-03-12 | 450 | 21 | | |",
        &rows,
    );
    must_be(
        "Motor | Visit 1 date | Visit 2 date | Visit 1 MΩ | Visit 2 MΩ | Visit 1 temp | Visit 2 temp
         P-1 | 2024-03-12 | 2024-09-10 | 850 | 790 | 21 | 22
         P-2 | 2024-03-12 | | 450 | | 21 |",
        &rows,
    );
}

#[test]
fn one_name_below_two_areas_is_asked_about_whatever_else_is_above_it() {
    let tests = |days: [&str; 2], level: &str| format!("P-1 | {level}\n{}\nP-1 | {level}\n", days[1]);
    let (north, south) = (["2025-01-13", "2025-04-14"], ["2025-01-15", "2025-04-16"]);
    let dates_inside = format!(
        "Motor | MΩ\n North |\n {}\n{} South |\n {}\n{}",
        north[0],
        tests(north, "300"),
        south[0],
        tests(south, "550")
    );
    let block = |title: &str, day: &str, level: &str| format!("{title}\nRound {day}\nMotor | MΩ\nP-1 | {level}\n");
    let rounds: String = (0..2)
        .map(|at| block("North", north[at], "300") + &block("South", south[at], "550"))
        .collect::<Vec<_>>()
        .join("");
    let titles: String = (0..2)
        .map(|at| {
            format!(
                "North - round of {}\nMotor | MΩ\nP-1 | 300\nSouth - round of {}\nMotor | MΩ\nP-1 | 550\n",
                north[at], south[at]
            )
        })
        .collect();
    let nested = format!(
        "Motor | Date | MΩ\n North\n Line 1\n P-1 | {} | 300\n P-1 | {} | 280\n South\n Line 1\n P-1 | {} | 550\n P-1 | {} | 551",
        north[0], north[1], south[0], south[1]
    );
    for (sheet, headings) in [
        (dates_inside, "below North and below South"),
        (rounds, "below North and below South"),
        (titles, "below North - round and below South - round"),
        (nested, "below North, Line 1 and below South, Line 1"),
    ] {
        let found = arranged(&sheet, None).0.swap_remove(0);
        assert!(found.starts_with(&format!("sheet: P-1 has tests {headings}: one machine or several?\n")), "{found}");
    }
}

#[test]
fn readings_beside_a_word_in_every_third_row_are_readings_still() {
    for text in
        ["n/a", "-", "N/T", "k.A.", "open", "out", "2000+", "~600", "600*", "580/620", "1 200", "?", "ok", "TBC"]
    {
        for header in ["Recheck", "Pump 2 (MΩ)", "Rotor", "With cable (MΩ)", "Motor + Kabel (MΩ)"] {
            let row = |day: &str, last: &str| {
                format!("P-1 | {day} | 551 | 601\n P-2 | {day} | 550 | {text}\n P-3 | {day} | 552 | {last}\n")
            };
            let rows = row("2025-01-13", "640") + &row("2025-04-14", "1.4");
            let found = arranged(&format!("Motor | Date | IR (MΩ) | {header}\n{rows}"), None).0.swap_remove(0);
            let is_asked = found.starts_with(&format!("sheet: column {header} seems to hold readings"));
            assert!(is_asked, "{header}, {text}: {found}");
        }
    }
}

#[test]
fn a_sign_in_a_column_of_its_own_is_put_before_its_reading() {
    for (header, below, above) in [
        ("Sign", "<", ">"),
        ("Prefix", "<", ">"),
        ("Note", "≤", "≥"),
        ("Operator", "below", "above"),
        ("x", "<=", ">="),
    ] {
        must_be(
            &format!(
                "Motor | Date | {header} | IR (MΩ)
                 P-1 | 2025-01-13 | | 550
                 P-1 | 2025-04-14 | {below} | 500
                 P-2 | 2025-04-14 | {above} | 2000"
            ),
            &[
                "winding tested_on connection r_60s",
                "P-1 2025-01-13 550",
                "P-1 2025-04-14 <500",
                "P-2 2025-04-14 >2000",
            ],
        );
    }
    let two = "Motor | Date | Sign | Weather | IR 1 min (MΩ) | IR 10 min (MΩ)\n P-1 | 2025-04-14 | < | dry | 500 | 900";
    assert_eq!(
        arranged(two, None).0,
        ["sheet: row 2 has < in column 3, and it is not understood of which reading\n\
          hint: write the sign before the number that it belongs to, such as >1000 or <0.5"]
    );
}

#[test]
fn a_cell_with_several_readings_is_divided() {
    let phases = [
        "winding tested_on connection r_60s",
        "P-1 2025-02-12 U-earth 210",
        "P-1 2025-02-12 V-earth 205 MΩ",
        "P-1 2025-02-12 W-earth >2000",
    ];
    for cell in ["L1-E 210, L2-E 205 MΩ, L3-E >2000", "U: 210 V: 205 MΩ W: >2000", "U=210; V=205 MΩ; W=>2000"] {
        must_be(&format!("Motor | Date | IR (MΩ)\n P-1 | 2025-02-12 | {cell}"), &phases);
    }
    must_be("Motor | Date | U/V/W (MΩ)\n P-1 | 2025-02-12 | 210 / 205 MΩ / >2000", &phases);
    for header in ["1 min / 10 min (MΩ)", "IR 1 / 10 min (MΩ)"] {
        must_be(
            &format!("Motor | Date | {header}\n P-1 | 2025-02-12 | 410 / 1180\n P-2 | 2025-02-12 | 55/-"),
            &["winding tested_on connection r_600s r_60s", "P-1 2025-02-12 1180 410", "P-2 2025-02-12 - 55"],
        );
    }
    // Of two readings under a header of one the lower counts, which the plain reader says.
    must_be("Motor | Date | IR (MΩ)\n P-1 | 2025-02-12 | 580/620", &["plain"]);
}

#[test]
fn days_without_a_year_are_those_of_the_tests_whatever_their_header() {
    let rows = ["winding tested_on connection r_60s", "P-1 2025-03-12 33", "P-2 2025-03-14 18.5"];
    for (header, one, other) in [("When", "12 Mar", "14 Mar"), ("Tag", "12.3.", "14.3."), ("Visit", "12-Mar", "14-Mar")]
    {
        must_be(&format!("Year: 2025\n Motor | {header} | IR (MΩ)\n P-1 | {one} | 33\n P-2 | {other} | 18.5"), &rows);
    }
    must_be("Motor | J | M | A | MΩ\n P-1 | 12 | 3 | 2025 | 33\n P-2 | 14 | 3 | 2025 | 18.5", &rows);
    let two = "Year: 2025\n Motor | Done | Due | IR (MΩ)\n P-1 | 12 Mar | 14 Apr | 33\n P-2 | 14 Mar | 16 Apr | 18.5";
    assert_eq!(
        arranged(two, None).0,
        ["sheet: column Done holds days, and it is not understood whether of the tests\n\
          hint: under [columns] in groundwall.toml or the policy file, say \"Done\" = \"tested_on\" if they are, and \"Done\" = \"-\" if not"]
    );
}

#[test]
fn pumps_of_a_station_in_columns_are_windings_of_their_own() {
    must_be(
        "Machine | Date | Pump 1 (MΩ) | Pump 2 (MΩ)\n East | 2025-01-13 | 55 | 61\n West | 2025-01-14 | 38 | n/a",
        &[
            "winding tested_on connection r_60s",
            "East Pump 1 2025-01-13 55",
            "East Pump 2 2025-01-13 61",
            "West Pump 1 2025-01-14 38",
            "West Pump 2 2025-01-14 n/a",
        ],
    );
}

#[test]
fn a_machine_that_heads_readings_heads_no_names() {
    for (machine, cell) in [("Hauptmotor", ">500"), ("Ölpumpe", "0.5"), ("Motor", "0.5")] {
        must_be(
            &format!(
                "Insulation MΩ | | |\n Date | Fan 1 | {machine} | Fan 2\n 2025-01-13 | 800 | {cell} | 700\n 2025-07-14 | 790 | 0.7 | 690"
            ),
            &[
                "winding tested_on connection r_60s",
                "Fan 1 2025-01-13 800",
                &format!("{machine} 2025-01-13 {cell}"),
                "Fan 2 2025-01-13 700",
                "Fan 1 2025-07-14 790",
                &format!("{machine} 2025-07-14 0.7"),
                "Fan 2 2025-07-14 690",
            ],
        );
    }
    assert_eq!(
        arranged("Insulation MΩ | | |\n Date | Fan 1 | Motor | Fan 2\n 2025-01-13 | 800 | 500 | 700\n 2025-07-14 | 790 | 480 | 690", None).0,
        [
            "sheet: column Motor holds numbers beside columns headed by motors: are they names of motors, or readings?\n\
             hint: if they are names, write them with a letter, such as M-101; if they are readings, head the column with the name of its motor, \
             such as Motor 1"
        ]
    );
}

#[test]
fn several_readings_of_a_motor_are_no_motors() {
    // The plain reading says then that there is no column of readings.
    for headers in ["Reading 1 | Reading 2", "Messwert 1 | Messwert 2"] {
        must_be(
            &format!("Motor | Date | {headers}\n A | 2025-01-13 | 800 | 0.5\n A | 2025-07-14 | 790 | 0.4"),
            &["plain"],
        );
    }
    let found = arranged("Insulation MΩ | | |\n Date | Fan 1 | Fan 2 | Fan 1 retest\n 2025-01-13 | 800 | 700 |\n 2025-07-14 | 790 | 690 | 0.5", None).0;
    assert!(found[0].starts_with("sheet: column Fan 1 retest seems to hold readings"), "{found:?}");
}

#[test]
fn a_date_on_a_line_of_its_own_dates_the_tests_below_it() {
    let last = ["M1 2025-07-14 0.5", "M2 2025-07-14 0.4"];
    for line in ["2025-07-14 | |", " | 2025-07-14 | ", "2025-07-14 | second round |"] {
        must_be(
            &format!(
                "Date | Motor | IR (MΩ)\n 2024-01-13 | M1 | 800\n  | M2 | 700\n 2025-01-13 | M1 | 800\n  | M2 | 700\n{line}\n  | M1 | 0.5\n  | M2 | 0.4"
            ),
            &[
                "winding tested_on connection r_60s",
                "M1 2024-01-13 800",
                "M2 2024-01-13 700",
                "M1 2025-01-13 800",
                "M2 2025-01-13 700",
                last[0],
                last[1],
            ],
        );
    }
}

#[test]
fn weeks_in_a_column_beside_years_are_read_or_asked_about() {
    for week in ["Week", "Woche", "Semaine"] {
        must_be(
            &format!("Year | {week} | Motor | IR (MΩ)\n 2024 | 11 | A | 800\n 2025 | KW 11 | A | 790"),
            &["winding tested_on connection r_60s", "A 2024-03-14 800", "A 2025-03-13 790"],
        );
    }
    for column in ["KW", "Sett.", "Period", "Hj.", "Month no", "Mon", "Round"] {
        assert_eq!(
            arranged(&format!("Year | {column} | Motor | IR (MΩ)\n 2024 | 11 | A | 800\n 2025 | 11 | A | 790"), None).0,
            [format!(
                "sheet: the tests have a year, and column {column} may say in which part of it\n\
                 hint: name that column Quarter, Month or Week, or give each test its date; if it says something else, leave the column out \
                 under [columns] in groundwall.toml or the policy file: \"{column}\" = \"-\""
            )]
        );
    }
}

#[test]
fn the_last_day_of_a_range_dates_a_sheet() {
    let sheet = "Motor | IR (MΩ)\n A | 800\n B | 700";
    for (name, day) in [
        ("Nov 14-16 26", "2026-11-16"),
        ("Nov 14 & 15 26", "2026-11-15"),
        ("Nov 3-5, 2026", "2026-11-05"),
        ("Oct 30-Nov 2 2026", "2026-11-02"),
        ("28-30 Sep 2026", "2026-09-30"),
        ("Shut 1st/2nd November 2026", "2026-11-02"),
    ] {
        for (sheet, named) in [(sheet.to_owned(), Some(name)), (format!("Insulation tests {name} |\n{sheet}"), None)] {
            let (found, _) = arranged(&sheet, named);
            assert_eq!(found[1..], [format!("A {day} 800"), format!("B {day} 700")], "{name}");
        }
    }
    must_be(
        "Insulation MΩ | |\n Motor | 1-3 Nov 2026 | 5 May 2026\n A | 0.5 | 800",
        &["winding tested_on connection r_60s", "A 2026-11-03 0.5", "A 2026-05-05 800"],
    );
}

#[test]
fn a_date_that_is_understood_in_part_is_asked_about() {
    for (name, says) in [
        ("November shut 2026", "2026"),
        ("Round 3 2026", "2026"),
        ("Hall 7 2026", "2026"),
        ("Autumn 2026", "2026"),
        ("14.11 2026", "2026"),
        ("Outage 2026 (Nov 14)", "2026"),
    ] {
        assert_eq!(
            arranged("Motor | IR (MΩ)\n A | 800\n B | 700", Some(name)).0,
            [format!(
                "sheet: the name of the sheet, {name}, says {says} and more that may be a part of the date: when were the tests made?\n\
                 hint: write the date into a cell above the table, Date: and beside it such as 2026-05-14, or give the table a column Date"
            )]
        );
    }
    let dated = "Date: 2026-11-14 |\n Motor | IR (MΩ)\n A | 800\n B | 700";
    assert_eq!(arranged(dated, Some("Autumn 2026")).0[1], "A 2026-11-14 800");
    let own = "Motor | Date | IR (MΩ)\n A | 2026-11-14 | 800\n B | 2026-11-14 | 700";
    assert_eq!(arranged(own, Some("Autumn 2026")).0, ["plain"]);
    let months = "Motor | Jan | Mar\n A | 800 | 790";
    assert_eq!(arranged(months, Some("Hall 7 2026")).0[1], "A 2026-01-16 800");
    for paper in ["Report no. 7/2026", "Bericht Nr. 3/2026"] {
        let found = arranged(&format!("{paper} |\n Motor | IR (MΩ)\n A | 800\n B | 700"), None).0;
        assert!(!found.iter().any(|row| row.contains("2026-0")), "{paper}: {found:?}");
    }
}

#[test]
fn quantities_in_rows_below_motors_across_are_read() {
    must_be(
        "Datum | Grootheid | Koelwaterpomp 1 | Spoelband\n 2026-01-13 | Isolatie (MΩ) | 140 | 12\n  | Wikkeling (°C) | 19 | 17\n 2026-05-12 | Isolatie (MΩ) | 133 | 9.5\n  | Wikkeling (°C) | 24 | 22",
        &[
            "winding tested_on connection r_60s winding_temp_c",
            "Koelwaterpomp 1 2026-01-13 140 19",
            "Spoelband 2026-01-13 12 17",
            "Koelwaterpomp 1 2026-05-12 133 24",
            "Spoelband 2026-05-12 9.5 22",
        ],
    );
}

#[test]
fn tests_of_a_cold_and_a_hot_winding_are_two() {
    must_be(
        "Motor | Test date | Cold | | Hot |\n  | | MΩ | Winding °C | MΩ | Winding °C\n Pump A | 2026-03-10 | 310 | 18 | 88 | 61\n Fan 1 | 2026-03-11 | 46 | 12 | 15 | 48",
        &[
            "winding tested_on connection r_60s winding_temp_c",
            "Pump A 2026-03-10T00:00 310 18",
            "Pump A 2026-03-10T23:59 88 61",
            "Fan 1 2026-03-11T00:00 46 12",
            "Fan 1 2026-03-11T23:59 15 48",
        ],
    );
    for headers in ["IR cold (MΩ) | IR hot (MΩ)", "Cold (MΩ) | Hot (MΩ)"] {
        must_be(
            &format!("Motor | Date | {headers} | Winding temp (°C)\n B | 2025-02-15 | 310 | 88 | 61"),
            &[
                "winding tested_on connection r_60s winding_temp_c",
                "B 2025-02-15T00:00 310",
                "B 2025-02-15T23:59 88 61",
            ],
        );
    }
    must_be(
        "Insulation MΩ | |\n Date | Hot well pump 1 | Cold well pump 1\n 2026-01-13 | 140 | 12\n 2026-05-12 | 133 | 9.5",
        &[
            "winding tested_on connection r_60s",
            "Hot well pump 1 2026-01-13 140",
            "Cold well pump 1 2026-01-13 12",
            "Hot well pump 1 2026-05-12 133",
            "Cold well pump 1 2026-05-12 9.5",
        ],
    );
}

#[test]
fn acceptance_and_annual_tests_have_dates_of_their_own() {
    must_be(
        "Equipment | Acceptance test date | Acceptance IR (MΩ) | Annual test date | Annual IR (MΩ)\n CT-FAN-2 | 2025-03-12 | 720 | 2026-03-12 | 0.7",
        &["winding tested_on connection r_60s", "CT-FAN-2 2025-03-12 720", "CT-FAN-2 2026-03-12 0.7"],
    );
}

#[test]
fn a_reading_and_a_temperature_in_one_cell_are_divided() {
    for (header, cell) in [("Isolement / T° bobinage (MΩ / °C)", "420 / 23"), ("IR / winding temp (MΩ/°C)", "420/23")]
    {
        must_be(
            &format!("Pompe | Date | {header}\n F-1 | 2026-03-05 | {cell}\n F-2 | 2026-03-05 | {cell}"),
            &["winding tested_on connection r_60s winding_temp_c", "F-1 2026-03-05 420 23", "F-2 2026-03-05 420 23"],
        );
    }
    must_be(
        "Equip | Date | Megohms | Temp °F (amb/wdg)\n W-1 | 2026-01-20 | 85 | 72/95\n W-2 | 2026-01-20 | 1.8 | 72/90",
        &[
            "winding tested_on connection air_temp_f r_60s winding_temp_f",
            "W-1 2026-01-20 72 85 95",
            "W-2 2026-01-20 72 1.8 90",
        ],
    );
}

#[test]
fn kw_beside_years_holds_weeks_where_it_changes() {
    must_be(
        "Jahr | KW | Motor | MΩ\n 2026 | 8 | A | 410\n 2026 | 8 | B | 77\n 2026 | 34 | A | 395\n 2026 | 34 | B | 70",
        &[
            "winding tested_on connection r_60s",
            "A 2026-02-19 410",
            "B 2026-02-19 77",
            "A 2026-08-20 395",
            "B 2026-08-20 70",
        ],
    );
}

#[test]
fn rows_that_say_what_they_name_name_the_tests_below_them() {
    must_be(
        "| Data | R isol. (MΩ) | Temp. enrol. (°C)\n Equipamento: MO-201 Moenda 1 | | |\n | 2026-01-14 | 95 | 38\n | 2026-07-15 | 92.5 | 35\n Qtd. de ensaios: 2 | | |\n Equipamento: MO-202 | | |\n | 2026-07-15 | 1.7 | 33\n Qtd. de ensaios: 1 | | |\n Total geral: 3 | | |",
        &[
            "winding tested_on connection r_60s winding_temp_c",
            "MO-201 Moenda 1 2026-01-14 95 38",
            "MO-201 Moenda 1 2026-07-15 92.5 35",
            "MO-202 2026-07-15 1.7 33",
        ],
    );
}

#[test]
fn a_total_that_is_lower_than_all_its_parts_is_asked_about() {
    for (sheet, row, number, called) in [
        ("Motor | 2025-01-13 | 2025-07-14\n A | 800 | 790\n B | 700 | 690\n Gesamt | 750 | 0.5", 4, "0.5", "Gesamt"),
        ("Motor | 2025-01-13 | 2025-07-14 | Average\n A | 800 | 790 | 795\n B | 700 | 690 | 0.5", 3, "0.5", "Average"),
    ] {
        assert_eq!(
            arranged(&format!("Insulation MΩ | | |\n {sheet}"), None).0,
            [format!(
                "sheet: row {} has {number} under {called}, and it is lower than all the readings that it may be made of\n\
                 hint: if it is a reading, give it the name of its motor and its date; if it is none, take it out",
                row + 1
            )]
        );
    }
    let found = arranged(
        "Insulation MΩ | | |\n Motor | 2025-01-13 | 2025-07-14 | Mean\n A | 800 | 790 | 795\n Mean | 800 | 790 | 795",
        None,
    )
    .0;
    assert_eq!(found[1..], ["A 2025-01-13 800", "A 2025-07-14 790"]);
}

#[test]
fn a_column_for_each_of_two_units_is_read() {
    must_be(
        "Tag | Date | IR (MΩ) | IR (GΩ) | Winding (°C)\n A | 2025-03-11 | | 1.5 | 20\n A | 2026-03-11 | 850 | | 21",
        &["winding tested_on connection r_60s r_60s_gohm winding_temp_c", "A 2025-03-11 1.5 20", "A 2026-03-11 850 21"],
    );
    must_be("Tag | Date | IR (MΩ) | IR (GΩ)\n A | 2025-03-11 | 1500 | 1.5\n A | 2026-03-11 | 850 |", &["plain"]);
}

#[test]
fn parts_of_two_years_below_one_year_are_asked_about() {
    let asked = |whose: &str, first: &str, last: &str| {
        [format!(
            "sheet: {whose} from {first} to {last} are not in the order of one year, and only 2025 is named: of which years are they?\n\
             hint: write the year to each of them, such as Feb 2026"
        )]
    };
    for (columns, first, last) in [
        ("Apr | Oct | Jan", "Apr", "Jan"),
        ("Q2 | Q4 | Q1", "Q2", "Q1"),
        ("5 Oct | 5 Dec | 5 Feb", "5 Oct", "5 Feb"),
        ("Nov | Feb", "Nov", "Feb"),
    ] {
        let cells = columns.split('|').map(|_| "800").collect::<Vec<_>>().join(" | ");
        let sheet = format!("IR MΩ 2025 | |\n Motor | {columns}\n A | {cells}\n B | {cells}");
        assert_eq!(arranged(&sheet, None).0, asked("the columns", first, last), "{columns}");
    }
    for rows in ["A | 5 Oct | 800\n A | 5 Dec | 790\n A | 5 Feb | 0.5", "A | 5 Oct | 800\n A | 5 Feb | 0.5"] {
        let sheet = format!("IR tests 2025 | |\n Motor | Date | MΩ\n {rows}");
        assert_eq!(arranged(&sheet, None).0, asked("the tests of A", "5 Oct", "5 Feb"), "{rows}");
    }
    assert_eq!(
        arranged("Motor | Year | Month | MΩ\n A | 2025 | Oct | 800\n | | Jan | 790\n | | Apr | 0.5", None).0,
        asked("the tests of A", "Oct", "Apr")
    );
    for title in ["Financial year 2025", "FY 2025", "Geschäftsjahr 2025"] {
        let found = arranged(&format!("{title} | |\n Motor | Q1 | Q2\n A | 800 | 790"), None).0;
        assert!(
            found[0].ends_with(
                "write the year alone into a cell above the table, such as 2025, or into each header, such as Q1 2025"
            ),
            "{found:?}"
        );
    }
    let newest_first = "IR MΩ 2025 | |\n Motor | Dec | Aug | Jan\n A | 800 | 790 | 780";
    assert_eq!(arranged(newest_first, None).0.len(), 4);
}

#[test]
fn a_sheet_of_one_row_or_a_lowest_column_is_no_less_than_a_test() {
    let found = arranged(
        "Insulation MΩ | | |\n Motor | 2025-01-13 | 2025-07-14 | Min\n A | 800 | 790 | 790\n B | 700 | 690 | 0.5",
        None,
    )
    .0;
    assert!(
        found[0].starts_with(
            "sheet: row 4 has 0.5 under Min, and it is lower than all the readings that it may be made of"
        ),
        "{found:?}"
    );
    let allowed = arranged(
        "Insulation MΩ | | |\n Motor | 2025-01-13 | 2025-07-14 | Min\n A | 800 | 790 | 5\n B | 700 | 690 | 5",
        None,
    )
    .0;
    assert_eq!(allowed.len(), 5);
}

#[test]
fn lines_below_the_tests_that_tell_of_a_test_are_asked_about() {
    for line in [
        "A retested 20 Nov 2026: 0.4",
        "20/11/2026 A 0.4",
        "Retest A 0.4",
        "Readings of 5/11/2026 void",
        "A and B swapped",
    ] {
        let sheet = format!("Motor | Date | IR (MΩ)\n A | 2025-01-13 | 800\n B | 2025-01-13 | 700\n {line} | |");
        assert_eq!(
            arranged(&sheet, None).0,
            [format!(
                "sheet: row 4 holds no test, and it says {line}\n\
                 hint: write it into a column of notes beside the test that it speaks of, or take it out if it speaks of something else"
            )]
        );
    }
    for line in ["Printed 20/11/2026", "Tested by NB, 20 Nov 2026", "Page 1 of 2", "500 V d.c., 1 min"] {
        let sheet = format!("Motor | Date | IR (MΩ)\n A | 2025-01-13 | 800\n B | 2025-01-13 | 700\n {line} | |");
        must_be(&sheet, &["plain"]);
    }
}

#[test]
fn a_header_that_is_merged_over_different_columns_is_asked_about() {
    let asked = |sheet: &str, merged: &[Merged]| {
        let text = sheet.lines().map(str::trim).collect::<Vec<_>>().join("\n");
        let mut document = Document::of_text(text.into_bytes(), Layout { delimiter: b'|', crlf: false, bom: false });
        document.merged = merged.to_vec();
        let rules = ReadingRules { as_of: NaiveDate::from_ymd_opt(2026, 12, 31), ..ReadingRules::default() };
        let name = SheetName { place: "sheet", sheet: None, several: false };
        let limits = &mut Limits::of_bytes(0, 8);
        let found = arrange(&document, &rules, &limits.label_reader(&rules.mapping), name, limits);
        found.err().map(|refused| refused.failure.to_string())
    };
    let over = |columns| Merged { rows: (1, 1), columns };
    let down = |column| Merged { rows: (1, 2), columns: (column, column) };
    let message = |header: &str, cells: &str| {
        Some(format!(
            "sheet: the header {header} is merged over {cells}, and it is not understood what each of these columns holds\n\
             hint: undo the merge and give each column a header of its own, such as R (MΩ), S (MΩ) and T (MΩ), or Test date and Due date"
        ))
    };
    let three = "A | 2025-01-13 | 894 | 884 | 0.5\n A | 2025-07-14 | 893 | 883 | 0.4";
    assert_eq!(
        asked(&format!("Motor | Date | IR (MΩ) | |\n {three}"), &[over((2, 4))]),
        message("IR (MΩ)", "C1 to E1")
    );
    assert_eq!(
        asked(&format!("Motor | Date | IR (MΩ) | |\n  | | I | II | III\n {three}"), &[down(0), down(1), over((2, 4))]),
        message("IR (MΩ)", "C1 to E1")
    );
    assert_eq!(
        asked("Motor | Date | | IR (MΩ)\n A | 2024-12-13 | 2025-01-13 | 0.5", &[over((1, 2))]),
        message("Date", "B1 to C1")
    );
    assert_eq!(asked("Motor | Date | IR (MΩ) | \n A | 2025-01-13 | 894 |", &[over((2, 3))]), None);
}

#[test]
fn between_phases_and_phases_to_earth_are_two_connections() {
    for (pair, earth) in [
        ("Entre phases (MΩ)", "Phases / masse (MΩ)"),
        ("Ph-Ph (MΩ)", "Ph-E (MΩ)"),
        ("Phase to phase (MΩ)", "Phase to earth (MΩ)"),
        ("Leiter-Leiter (MΩ)", "Leiter gegen Erde (MΩ)"),
    ] {
        must_be(
            &format!("Moteur | Date | {pair} | {earth} | T° enroulement (°C)\n P-1 | 2025-01-13 | 900 | 0.7 | 24"),
            &[
                "winding tested_on connection r_60s winding_temp_c",
                "P-1 2025-01-13 phase-phase 900 24",
                "P-1 2025-01-13 all-earth 0.7 24",
            ],
        );
    }
}

#[test]
fn numbered_machines_across_are_no_names() {
    must_be(
        "Widerstände in MΩ (Revision) | | |\n Jahr | Maschine 1 | Maschine 2 | Eigenbedarf\n 2025 | 410 | 395 | 88\n 2026 | 400 | 380 | 0.9",
        &[
            "winding tested_on connection r_60s",
            "Maschine 1 2025-07-02 410",
            "Maschine 2 2025-07-02 395",
            "Eigenbedarf 2025-07-02 88",
            "Maschine 1 2026-07-02 400",
            "Maschine 2 2026-07-02 380",
            "Eigenbedarf 2026-07-02 0.9",
        ],
    );
}

#[test]
fn no_reading_of_a_divided_column_is_lost() {
    must_be(
        "Pump | Date | IR / winding temp (MΩ / °C)\n F-1 | 2025-03-05 | 820 / 30\n F-1 | 2025-09-05 | 815 / 31\n F-1 | 2026-03-05 | 812 / 30\n F-1 | 2026-11-20 | 0.4",
        &[
            "winding tested_on connection r_60s winding_temp_c",
            "F-1 2025-03-05 820 30",
            "F-1 2025-09-05 815 31",
            "F-1 2026-03-05 812 30",
            "F-1 2026-11-20 0.4",
        ],
    );
}

#[test]
fn rows_that_may_name_another_motor_are_asked_about() {
    for (heading, says) in [("P-102 | Feed pump | |", "P-102"), ("Agitator: AG-102 | | |", "Agitator: AG-102")] {
        let sheet = format!(
            "| Date | IR (MΩ) | °C\n Motor: P-101 | | |\n | 2026-01-14 | 28 | 38\n {heading}\n | 2026-07-15 | 502 | 33"
        );
        assert_eq!(
            arranged(&sheet, None).0,
            [format!(
                "sheet: row 4 says {says} above tests of P-101: another motor, or a remark?\n\
                 hint: put the tests of another motor below a header of their own, with its name above it such as Motor: P-102; write a remark \
                 into a column of notes"
            )]
        );
    }
}

#[test]
fn what_is_read_as_before() {
    for (sheet, rows) in [
        // A week beside a month is one of the month.
        (
            "Motor | Year | Month | Week | MΩ\n A | 2026 | Nov | 1 | 3\n A | 2026 | Sep | 2 | 800",
            &["A 2026-11-16 3", "A 2026-09-16 800"][..],
        ),
        (
            "Motor | Date | IR cold (MΩ)\n A | 2026-11-02 | 3\n A | 2026-09-02 | 800",
            &["A 2026-11-02 3", "A 2026-09-02 800"],
        ),
        (
            "Generator insulation tests 14 Nov 2026 | |\n Motor | MΩ\n A | 3\n B | 4",
            &["A 2026-11-14 3", "B 2026-11-14 4"],
        ),
        ("Planned outage 14 Nov 2026 | |\n Motor | MΩ\n A | 3\n B | 4", &["A 2026-11-14 3", "B 2026-11-14 4"]),
        (
            "Date | Motor | MΩ\n 2026-11-02 | A | 3\n | B | 4\n continued | |\n | C | 5\n 2026-11-03 | A | 3\n | B | 4\n | C | 5",
            &[
                "A 2026-11-02 3",
                "B 2026-11-02 4",
                "C 2026-11-02 5",
                "A 2026-11-03 3",
                "B 2026-11-03 4",
                "C 2026-11-03 5",
            ],
        ),
        ("Motor | Month | MΩ\n A | 2026-03 | 3\n A | 2025-09 | 4", &["A 2026-03-16 3", "A 2025-09-16 4"]),
        (
            "Motor | Year | Month | MΩ\n A | 2025 | Nov | 3\n A | | May | 4\n A | 2024 | Nov | 5\n A | | May | 6",
            &["A 2025-11-16 3", "A 2025-05-16 4", "A 2024-11-16 5", "A 2024-05-16 6"],
        ),
        ("Motor | kW | Year | MΩ\n A | 11 | 2025 | 3\n A | 15 | 2026 | 4", &["A 2025-07-02 3", "A 2026-07-02 4"]),
        (
            "Insulation MΩ | | |\n Motor | 2025-01-13 | 2025-07-14 | Total\n A | 800 | 790 | 2\n B | 700 | 690 | 2",
            &["A 2025-01-13 800", "A 2025-07-14 790", "B 2025-01-13 700", "B 2025-07-14 690"],
        ),
    ] {
        let (found, unplaced) = arranged(sheet, None);
        assert_eq!(
            (&found[1.min(found.len())..], unplaced.len()),
            (&rows.iter().map(|row| (*row).to_owned()).collect::<Vec<_>>()[..], 0),
            "{sheet}"
        );
    }
    for name in ["Nov 2026 Hall 3", "Area 2 - Nov 2026"] {
        assert_eq!(arranged("Motor | IR (MΩ)\n A | 800\n B | 700", Some(name)).0[1], "A 2026-11-16 800", "{name}");
    }
    assert_eq!(arranged("Motor | IR (MΩ)\n A | 800\n B | 700", Some("Tests 2026 (2)")).0[1], "A 2026-07-02 800");
    for line in [
        "Stand: 11.2026",
        "Rev 2.1 14 May 2026",
        "Ambient 22.5 °C on 14 Nov 2026",
        "Next test 14 May 2027, limit 1.0 MΩ",
        "Test voltage 0.5 kV; Nov 2026",
        "Retest after 12 months",
    ] {
        must_be(
            &format!("Motor | Date | IR (MΩ)\n A | 2025-01-13 | 800\n B | 2025-01-13 | 700\n {line} | |"),
            &["plain"],
        );
    }
}

#[test]
fn red_and_blue_without_yellow_are_the_first_and_the_last() {
    must_be(
        "Motor | Date | Phase | IR (MΩ)\n P-1 | 2025-01-13 | R | 120\n P-1 | 2025-01-13 | B | 90",
        &["winding tested_on connection r_60s", "P-1 2025-01-13 U-earth 120", "P-1 2025-01-13 W-earth 90"],
    );
}
