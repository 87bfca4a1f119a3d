//! Masters of every form: the old bytes stay, the new rows look like them, and both read back.

#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]

use super::compare::Compared;
use super::foreign::Foreign;
use super::merge::{Merged, New, merge};
use super::*;
use groundwall::record::TestRecord;
use proptest::prelude::*;

fn tests_of(text: &str) -> Vec<TestRecord> {
    let rules = ReadingRules::default();
    let ingested = read_rows("sheet.csv", text.as_bytes().to_vec(), &rules).unwrap();
    assert!(ingested.rejections.is_empty());
    ingested.tests()
}

fn filed(master: &[u8], rules: &ReadingRules, sheet: &str, extend: bool) -> Result<Merged, String> {
    let tests = tests_of(sheet);
    let place = |origin: groundwall::record::Origin| format!("sheet.csv:{}", origin.line);
    let new = New { tests: &tests, foreign: &|_| None, place: &place, extend };
    Master::read("m.csv", master.to_vec(), rules)
        .and_then(|master| merge(&master, &new))
        .map_err(|failure| failure.to_string())
}

/// What is put after the old bytes.
fn tail(master: &[u8], sheet: &str) -> Vec<u8> {
    let merged = filed(master, &ReadingRules::default(), sheet, false).unwrap();
    merged.bytes.strip_prefix(master).unwrap().to_vec()
}

const SHEET: &str = "winding,tested_on,connection,r_60s_gohm,winding_temp_f\n\
                     P-1,2026-04-05T08:30,U-earth,1.0051,68\nP-2,2026-04-06,,>2,\n";

#[test]
fn new_rows_look_like_the_old_ones() {
    let cases: [(&str, &str); 5] = [
        (
            "note,winding,tested_on,connection,r_1min,winding_temp_c\n,P-9,2026-01-05 09:00,L1-PE,5,20\n",
            ",P-1,2026-04-05 08:30,L1-PE,1005.1,20\n,P-2,2026-04-06,all-earth,>2000,\n",
        ),
        (
            "winding;tested_on;connection;r_60s;winding_temp_c\r\nP-9;2026-01-05;all;5;20,5\r\n",
            "P-1;2026-04-05T08:30;U-earth;1005,1;20\r\nP-2;2026-04-06;all;>2000;\r\n",
        ),
        (
            "winding\ttested_on\tconnection\tr_60s_gohm\twinding_temp_f\rP-9\t2026-01-05\t\t5\t70",
            "\rP-1\t2026-04-05T08:30\tU-earth\t1.0051\t68\rP-2\t2026-04-06\tall-earth\t>2\t\r",
        ),
        (
            "\"winding\",\"tested_on\",\"connection\",\"r_60s\",\"winding_temp_c\"\n\"P-9\",\"2026-01-05\",\"\",\"5\",\"\"\n",
            "\"P-1\",\"2026-04-05T08:30\",\"U-earth\",\"1005.1\",\"20\"\n\"P-2\",\"2026-04-06\",\"all-earth\",\">2000\",\"\"\n",
        ),
        (
            "Tests of the mill\n\nMotor,Date,Connection,R60 (GΩ),Winding temp (°F),\nP-9,2026-01-05,,5,70,\n\n",
            "P-1,2026-04-05T08:30,U-earth,1.0051,68,\nP-2,2026-04-06,all-earth,>2,,\n",
        ),
    ];
    for (master, expected) in cases {
        assert_eq!(String::from_utf8(tail(master.as_bytes(), SHEET)).unwrap(), expected, "{master}");
    }
}

/// A sheet of another layout leaves a column alone that a plain table would read.
#[test]
fn a_column_that_the_master_would_not_leave_alone_is_left_out() {
    let tests = tests_of("winding,tested_on,r_60s\nP-1,2026-04-05,6\n");
    let place = |origin: groundwall::record::Origin| format!("sheet.csv:{}", origin.line);
    let sheet = Foreign {
        headers: vec!["Trolley".to_owned(), "IR 10 min".to_owned(), "U-E".to_owned()],
        rows: std::collections::BTreeMap::from([(2, vec!["T-4".to_owned(), "9".to_owned(), "7".to_owned()])]),
    };
    let new = New { tests: &tests, foreign: &|_| Some(&sheet), place: &place, extend: true };
    let merged = merge(&Master::new("m.csv", &ReadingRules::default()).unwrap(), &new).unwrap();
    assert_eq!(String::from_utf8(merged.bytes).unwrap(), "winding,tested_on,r_60s,Trolley\nP-1,2026-04-05,6,T-4\n");
    assert_eq!((merged.added.len(), merged.misread), (4, vec!["IR 10 min".to_owned(), "U-E".to_owned()]));
}

#[test]
fn a_header_alone_and_a_row_per_reading_are_masters_too() {
    let sheet = "winding,tested_on,r_30s,r_60s,note\nP-1,2026-04-05,310,420,\"a, b\"\n";
    assert_eq!(tail(b"winding,tested_on,r_60s,r_30s,note", sheet), b"\nP-1,2026-04-05,420,310,\"a, b\"\n");
    let timed = b"winding,tested_on,elapsed_min,resistance,note\nP-9,2026-01-05,1,5,\n";
    assert_eq!(
        String::from_utf8(tail(timed, sheet)).unwrap(),
        "P-1,2026-04-05,0.5,310,\"a, b\"\nP-1,2026-04-05,1,420,\"a, b\"\n"
    );
}

#[test]
fn other_encodings_stay_what_they_are() {
    let text = "Motor,tested_on,r_60s\nBrücke,2026-01-05,5\n";
    let sheet = "winding,tested_on,r_60s\nRührer,2026-04-05,6\n";
    let row = "Rührer,2026-04-05,6\n";
    let narrow: Vec<u8> = text.chars().map(|c| c as u8).collect();
    assert_eq!(tail(&narrow, sheet), row.chars().map(|c| c as u8).collect::<Vec<u8>>());
    let wide = |text: &str| text.encode_utf16().flat_map(u16::to_le_bytes).collect::<Vec<u8>>();
    let master = [b"\xff\xfe".to_vec(), wide(text)].concat();
    assert_eq!(tail(&master, sheet), wide(row));
    let extended = "winding,tested_on,r_60s,r_30s\nRührer,2026-04-05,6,5\n";
    let merged = filed(&master, &ReadingRules::default(), extended, true).unwrap();
    let expected = "Motor,tested_on,r_60s,r_30s\nBrücke,2026-01-05,5,\nRührer,2026-04-05,6,5\n";
    assert_eq!(merged.bytes, [b"\xff\xfe".to_vec(), wide(expected)].concat());
    assert_eq!(
        filed(&narrow, &ReadingRules::default(), "winding,tested_on,r_60s\nПомпа,2026-04-05,6\n", false),
        Err("m.csv: the master is written in windows-1252, which has no П\n\
             hint: save the master as CSV in UTF-8 first, or write the cell with other letters"
            .to_owned())
    );
}

#[test]
fn new_columns_go_to_the_end_and_every_row_gets_its_empty_cells() {
    let master = "title\n\nwinding,tested_on,r_60s,\nP-9,2026-01-05,5,\n\nP-8,2026-01-05,5,,,,\nP-7,2026-01-05,5";
    let sheet = "winding,tested_on,r_60s,r_30s,event\nP-1,2026-04-05,6,5,dried\n";
    assert_eq!(
        filed(master.as_bytes(), &ReadingRules::default(), sheet, false),
        Err("m.csv:3: the new tests fill the columns r_30s, event, which are missing in the master\n\
             hint: --extend adds what is missing at the end, with empty cells in the rows that are there"
            .to_owned())
    );
    let merged = filed(master.as_bytes(), &ReadingRules::default(), sheet, true).unwrap();
    assert_eq!(
        String::from_utf8(merged.bytes).unwrap(),
        "title\n\nwinding,tested_on,r_60s,,r_30s,event\nP-9,2026-01-05,5,,,\n\nP-8,2026-01-05,5,,,,\n\
         P-7,2026-01-05,5,,,\nP-1,2026-04-05,6,,5,dried\n"
    );
    assert_eq!(merged.added, ["r_30s", "event"]);
    let damaged = "winding,tested_on,r_60s\nP-9,2026-01-05,5,what\n";
    assert_eq!(
        filed(damaged.as_bytes(), &ReadingRules::default(), sheet, true),
        Err("m.csv:2: the row cannot be parsed, so the new cells cannot be placed\n\
             hint: fix the rejected rows before adding columns; `groundwall check` lists them"
            .to_owned())
    );
}

#[test]
fn the_options_of_the_sheets_do_not_bend_the_master() {
    let mut rules = ReadingRules::default();
    rules.tests.date_format = Some("%d/%m/%Y".to_owned());
    rules.tests.decimal_comma = true;
    let sheet = "winding,tested_on,r_60s\nP-1,2026-04-05,6.5\n";
    let iso = b"winding,tested_on,r_60s\nP-9,2026-01-05,5.5\n";
    assert!(filed(iso, &rules, sheet, false).unwrap().bytes.ends_with(b"\nP-1,2026-04-05,6.5\n"));
    let own = b"winding,tested_on,r_60s\nP-9,05/01/2026,\"5,5\"\n";
    assert!(filed(own, &rules, sheet, false).unwrap().bytes.ends_with(b"\nP-1,05/04/2026,\"6,5\"\n"));
    let at_an_hour = "winding,tested_on,r_60s\nP-1,2026-04-05T08:30,6.5\n";
    assert_eq!(
        filed(own, &rules, at_an_hour, false),
        Err("sheet.csv:2: this test cannot be written as m.csv writes its rows: \
             tested_on is 2026-04-05T08:30 in the sheet and 2026-04-05 in the master\n\
             hint: nothing was written; fix the problems that `groundwall check` reports \
             in the master, or save it with ISO dates as CSV in UTF-8"
            .to_owned())
    );
}

#[test]
fn an_open_quote_in_the_master_cannot_swallow_new_rows() {
    let master = b"winding,tested_on,r_60s,note\nP-9,2026-01-05,5,\"open\nP-8,2026-01-05,5,\n";
    let merged =
        filed(master, &ReadingRules::default(), "winding,tested_on,r_60s,note\nP-1,2026-04-05,6,\"a\"\"b\"\n", false);
    match merged {
        Ok(merged) => {
            let read = read_rows("m.csv", merged.bytes, &ReadingRules::default()).unwrap();
            assert_eq!((read.tests().len(), read.rejections.len()), (2, 1));
        }
        Err(message) => assert!(message.starts_with("m.csv: "), "{message}"),
    }
}

#[test]
fn packed_files_and_workbooks_are_no_masters() {
    let sheet = "winding,tested_on,r_60s\nP-1,2026-04-05,6\n";
    for (bytes, what) in [(&b"\x1f\x8b\x08"[..], "packed with gzip"), (b"PK\x03\x04", "a workbook")] {
        assert_eq!(
            filed(bytes, &ReadingRules::default(), sheet, false),
            Err(format!(
                "m.csv: the master is {what}, and rows are filed only into text\n\
                 hint: save it as CSV in UTF-8 and name that file; the sheets to be filed can be of any kind"
            ))
        );
    }
}

#[test]
fn a_test_that_a_rejected_row_of_the_master_is_about_is_not_filed() {
    let master = b"winding,tested_on,r_60s\nP-1,2026-01-05T10:00,5\nP-1,2026-01-05T10:00,6\n";
    for mohm in ["5", "7"] {
        let sheet = format!("winding,tested_on,r_60s\nP-1,2026-01-05T10:00,{mohm}\n");
        let message = filed(master, &ReadingRules::default(), &sheet, false).unwrap_err();
        assert!(message.starts_with("m.csv: the new rows would not be read back: "), "{message}");
    }
}

#[test]
fn a_temperature_near_the_zero_of_one_scale_is_a_repeat_in_the_other() {
    for (sheet, master) in [("f", "c"), ("c", "f")] {
        for degrees in ["32.000465", "31.9999", "0.00012345", "-17.77771", "-0.000031"] {
            let sheet = format!(
                "winding,tested_on,r_60s,winding_temp_{sheet},air_temp_{sheet}\nP-1,2026-01-05,6,{degrees},{degrees}\n"
            );
            let master = format!("winding,tested_on,r_60s,winding_temp_{master},air_temp_{master}\n");
            let merged = filed(master.as_bytes(), &ReadingRules::default(), &sheet, false).unwrap();
            let read = read_rows("m.csv", merged.bytes, &ReadingRules::default()).unwrap();
            let compared = compare::compare(&read.tests(), tests_of(&sheet));
            assert_eq!(compared, Compared { there: 1, ..Compared::default() }, "{sheet}");
        }
    }
}

proptest! {
    /// Whatever a sheet says can be filed into a master of any layout, is found again there, and is a repeat ever after.
    #[test]
    fn what_is_filed_is_a_repeat_ever_after(
        rows in prop::collection::vec(
            ("[A-Za-z\"=;, ]{0,6}[a-z]", 0u32..2000, 2e-3f64..1e10, 0usize..4, -40f64..200.0, "[a-z\n\",;é]{0,9}"), 1..6),
        layout in 0usize..4,
    ) {
        let mut sheet = String::from("winding,tested_on,r_60s_kohm,winding_temp_f,note\n");
        for (i, (winding, day, r, kind, temp, note)) in rows.iter().enumerate() {
            let day = chrono::NaiveDate::from_ymd_opt(2020, 1, 1).unwrap() + chrono::Days::new(u64::from(*day));
            let sign = ["", ">", "<", ""][*kind];
            let r = if *kind == 3 { "OL".to_owned() } else { format!("{sign}{r}") };
            let quoted = |text: &str| format!("\"{}\"", text.replace('"', "\"\""));
            sheet += &format!("{},{day},{r},{temp},{}\n", quoted(&format!("{i} {winding}")), quoted(note));
        }
        let master = [
            "winding,tested_on,r_60s,winding_temp_c,note\n",
            "\u{feff}note;winding;tested_on;r_60s_gohm;winding_temp_f\r\nx;P-9;2026-01-05;5,5;20\r\n",
            "\"note\"\t\"tested_on\"\t\"winding\"\t\"R60 (TΩ)\"\t\"winding_temp_c\"\r\n",
            "winding,tested_on,elapsed_s,resistance,winding_temp_c,note\nP-9,2026-01-05,60,5,20,\n",
        ][layout];
        let merged = filed(master.as_bytes(), &ReadingRules::default(), &sheet, false);
        let merged = merged.map_err(|message| TestCaseError::fail(format!("{message}\n{sheet}")))?;
        prop_assert!(merged.bytes.starts_with(master.as_bytes()));
        let rules = ReadingRules::default();
        let read = read_rows("m.csv", merged.bytes, &rules).unwrap();
        let compared = compare::compare(&read.tests(), tests_of(&sheet));
        prop_assert_eq!(compared, Compared { there: rows.len(), ..Compared::default() }, "{}", sheet);
    }
}
