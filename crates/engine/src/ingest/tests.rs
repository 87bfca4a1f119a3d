use super::*;
use chrono::NaiveDate;
use groundwall::record::{Origin, TestRecord};
use proptest::prelude::*;

fn read(files: &[(&str, &str)]) -> Ingested {
    let rules = ReadingRules::default();
    let mut reading = Reading::new(&rules);
    for (name, text) in files {
        assert_eq!(reading.add(name, text.as_bytes().to_vec()), Ok(()), "{name}");
    }
    reading.finish()
}

fn refusal(bytes: &[u8]) -> String {
    let rules = ReadingRules::default();
    Reading::new(&rules).add("a.csv", bytes.to_vec()).err().map(|failure| failure.to_string()).unwrap_or_default()
}

fn messages(ingested: &Ingested) -> Vec<String> {
    ingested.rejections.iter().flat_map(|row| ingested.reasons(&row)).map(|(message, _)| message).collect()
}

fn counts(ingested: &Ingested) -> Vec<(u64, u64, u64, u64)> {
    ingested.inputs.iter().map(|l| (l.rows, l.accepted, l.repeated, l.rejected)).collect()
}

#[test]
fn columns_come_in_any_order_behind_a_byte_order_mark_and_with_any_delimiter() {
    for text in [
        "\u{feff}r_60s,tested_on,winding\r\n0.5,2026-01-05,P-1\r\n",
        "Winding;Tested On;R_60s;\n\nP-1;2026-01-05;0,5;\n",
        "winding\ttested_on\tr_60s\nP-1\t2026-01-05\t\"0.5\"",
    ] {
        let ingested = read(&[("a.csv", text)]);
        assert_eq!(counts(&ingested), [(1, 1, 0, 0)], "{text}: {:?}", messages(&ingested));
        assert_eq!(ingested.tests()[0].readings()[0].value.to_string(), "0.5 MΩ", "{text}");
    }
}

#[test]
fn a_comma_that_can_only_be_the_decimal_mark_is_read_so() {
    let values = |text: &str| {
        let ingested = read(&[("a.csv", text)]);
        let values =
            ingested.tests().iter().map(|test| test.readings()[0].value.to_string()).collect::<Vec<_>>().join("; ");
        (
            values,
            ingested.rejections.len(),
            ingested.inputs[0]
                .remarks
                .iter()
                .any(|remark| remark.contains("shows that the comma is the decimal mark here")),
        )
    };
    let table = |cells: [&str; 3]| {
        let row = |(at, cell): (usize, &str)| format!("P-1\t2026-01-0{}\t{cell}\t22,5\n", at + 1);
        format!(
            "winding\ttested_on\tr_60s\twinding_temp_c\n{}",
            cells.into_iter().enumerate().map(row).collect::<String>()
        )
    };
    assert_eq!(values(&table(["30,5", "1,200", "0,85"])), ("30.5 MΩ; 1.2 MΩ; 0.85 MΩ".to_owned(), 0, true));
    // Thousands prove nothing, and a point among the numbers contradicts it.
    assert!(!values(&table(["1,200", "12,500", "300"]).replace("22,5", "22")).2);
    for text in [table(["300,5", "0.85", "3"]), table(["300,5", "0,85", "3"]).replace("22,5", "22.5")] {
        assert!(!values(&text).2, "{text}");
    }
}

#[test]
fn a_rejected_row_has_place_value_and_rule_under_the_header_of_the_file() {
    let text = "winding,tested_on,R_1min,winding_temp_c\n\nP-1,2026-01-05,-3.1,700\nP-1,2026-01-06,5,\n";
    let ingested = read(&[("plant.csv", text)]);
    assert_eq!(
        messages(&ingested),
        [
            "plant.csv:3: resistance R_1min is -3.1; a resistance must be greater than 0 MΩ",
            "plant.csv:3: winding_temp_c is 700; a temperature lies between −60 and 250 °C",
        ]
    );
    assert_eq!(ingested.rejections.first().map(|row| row.raw), Some(&b"P-1,2026-01-05,-3.1,700"[..]));
    assert_eq!(counts(&ingested), [(2, 1, 0, 1)]);
}

#[test]
fn rows_of_tests_not_done_are_no_rows() {
    let text = "winding,tested_on,connection,scope,r_60s,winding_temp_c,event,note,site\n\
                P-1,,all-earth,winding,,,,,North\n\
                P-1,2026-01-06,,,5,,,,North\n\
                P-2, ,,,  ,,,,\n\
                P-3,,,,,20,,,North\n\
                P-4,,,,,,cleaned,,North\n\
                P-5,,,,,,,not reached,North\n\
                ,,all-earth,,,,,,North\n\
                P-6,,,\n";
    let ingested = read(&[("plan.csv", text)]);
    assert_eq!(counts(&ingested), [(6, 1, 0, 5)]);
    assert_eq!(ingested.inputs[0].not_done, 2);
    assert_eq!(ingested.inputs[0].remarks, ["plan.csv: 2 rows have no reading and are left out as not done"]);
    let lines: Vec<u64> = ingested.rejections.iter().map(|rejection| rejection.origin.line).collect();
    assert_eq!(lines, [5, 6, 7, 8, 9]);
    assert_eq!(messages(&ingested)[0], "plan.csv:5: tested_on is empty; every test has a date");
}

#[test]
fn a_sheet_of_which_nothing_was_done_is_a_history_without_rows() {
    let ingested = read(&[("plan.csv", "winding,tested_on,r_60s\nP-1,,\n")]);
    assert_eq!(counts(&ingested), [(0, 0, 0, 0)]);
    assert_eq!(ingested.inputs[0].remarks, ["plan.csv: 1 row has no reading and is left out as not done"]);
}

#[test]
fn a_row_of_another_shape_is_rejected_and_the_rest_goes_on() {
    let text = "winding,tested_on,r_60s\nP-1,2026-01-05\nP-1,2026-01-06,5,6\nP-1,2026-01-07,5,,\nP-1,\"2026-01-08,5\nP-2,2026-01-09,5\n";
    let ingested = read(&[("a.csv", text)]);
    assert_eq!(
        messages(&ingested),
        [
            "a.csv:2: the row has 2 cells; the header has 3",
            "a.csv:3: the row has 4 cells; the header has 3",
            "a.csv:5: the row has a quote that is opened and never closed; a quoted cell ends with a quote",
        ]
    );
    assert_eq!(counts(&ingested), [(5, 2, 0, 3)]);
}

#[test]
fn bytes_that_are_not_utf_8_reject_their_row_only() {
    let rules = ReadingRules { encoding: Some(encoding_rs::UTF_8), ..ReadingRules::default() };
    let mut reading = Reading::new(&rules);
    let bytes = b"winding,tested_on,r_60s,note\nP-1,2026-01-05,5,Br\xfccke\nP-1,2026-01-06,\xb5,\nP-1,2026-01-07,5,\n";
    assert_eq!(reading.add("a.csv", bytes.to_vec()), Ok(()));
    let ingested = reading.finish();
    assert_eq!(
        messages(&ingested),
        [
            "a.csv:2: note is Br\u{fffd}cke; text is written in UTF-8",
            "a.csv:3: resistance r_60s is \u{fffd}; text is written in UTF-8",
        ]
    );
    assert_eq!(ingested.rejections.first().map(|row| row.raw), Some(&b"P-1,2026-01-05,5,Br\xfccke"[..]));
}

#[test]
fn repeats_are_counted_and_contradictions_are_shown_on_both_sides() {
    let ingested = read(&[
        (
            "a.csv",
            "winding,tested_on,r_60s\nP-1,2026-01-05,5\nP-1,2026-01-05,5.0\nP-2,2026-01-05,7\nP-3,2026-01-05,7\n",
        ),
        ("b.csv", "r_60s,tested_on,winding\n8,2026-01-05,P-2\n8,2026-01-05,P-2\n9,2026-01-05,P-2\n7,2026-01-05,P-3\n"),
    ]);
    assert_eq!(counts(&ingested), [(4, 2, 1, 1), (4, 0, 2, 2)]);
    let windings: Vec<&str> = ingested.series.windings().collect();
    // P-2 is not forgotten, though none of its rows counts.
    assert_eq!(windings, ["P-1", "P-2", "P-3"]);
    assert!(ingested.tests().iter().all(|test| test.winding() != "P-2"));
    let text = |here, there, a, b| {
        format!(
            "{here}: tested_on is 2026-01-05; {there} says something else about the same test of P-2, all-earth \
             (r_60s is {a} MΩ here and {b} MΩ there), so neither is used"
        )
    };
    assert_eq!(
        messages(&ingested),
        [text("a.csv:4", "b.csv:2", 7, 8), text("b.csv:2", "a.csv:4", 8, 7), text("b.csv:4", "a.csv:4", 9, 7)]
    );
    assert_eq!(ingested.rejections.iter().nth(2).map(|row| row.raw), Some(&b"9,2026-01-05,P-2"[..]));
}

#[test]
fn two_tests_of_one_day_are_told_apart_by_the_hour() {
    let text = "winding,tested_on,r_60s\nP-1,2026-01-05T08:00,5\nP-1,2026-01-05T14:00,7\n";
    assert_eq!(counts(&read(&[("a.csv", text)])), [(2, 2, 0, 0)]);
}

/// Without a time of day the rows of one file follow each other; with the same time, or from two files, they contradict.
#[test]
fn rows_of_one_day_are_two_tests_where_their_order_or_voltage_tells_them_apart() {
    let header = "winding,tested_on,test_volts,r_60s\n";
    let file = |rows: &str| format!("{header}{rows}");
    let in_order = file("P-1,2026-01-05,500,2.1\nP-1,2026-01-05,500,310\n");
    assert_eq!(counts(&read(&[("a.csv", &in_order)])), [(2, 2, 0, 0)]);
    let at_one_time = file("P-1,2026-01-05T08:00,500,2.1\nP-1,2026-01-05T08:00,534,310\n");
    assert_eq!(counts(&read(&[("a.csv", &at_one_time)])), [(2, 0, 0, 2)]);
    let steps = file("P-1,2026-01-05T08:00,500,400\nP-1,2026-01-05T08:00,1000,310\n");
    assert_eq!(counts(&read(&[("a.csv", &steps)])), [(2, 2, 0, 0)]);
    let (one, other) = (file("P-1,2026-01-05,500,2.1\n"), file("P-1,2026-01-05,500,310\n"));
    assert_eq!(counts(&read(&[("a.csv", &one), ("b.csv", &other)])), [(1, 0, 0, 1), (1, 0, 0, 1)]);
}

/// A rejected row is not a test, and what can be read of it is known all the same.
#[test]
fn what_can_be_read_of_a_rejected_row_is_kept_beside_the_tests() {
    let text = "winding,tested_on,r_60s,winding_temp_c\nP-1,2026-01-05,300,20\nP-1,2026-04-05,2.1,warm\n";
    let ingested = read(&[("a.csv", text)]);
    assert_eq!(counts(&ingested), [(2, 1, 0, 1)]);
    assert_eq!(ingested.tests().len(), 1);
    assert_eq!(ingested.series.series(0).tests().len(), 2);
}

#[test]
fn one_test_claimed_by_every_row_does_not_cost_the_square_of_the_file() {
    let rows: String = (1..20_000).map(|i| format!("P-1,2026-01-05,{i}\n")).collect();
    let ingested = read(&[("a.csv", &format!("winding,tested_on,r_60s\n{rows}"))]);
    assert_eq!(counts(&ingested), [(19_999, 0, 0, 19_999)]);
}

#[test]
fn a_row_of_too_many_cells_is_rejected_and_one_of_delimiters_alone_is_none() {
    let many = ",".repeat(20_000);
    let quoted = "\"\",".repeat(20_000);
    let text = format!(
        "winding,tested_on,r_60s\n{many}\n{quoted}\nP-1,2026-01-06,5{many}\nP-1,2026-01-07,\"5\"{quoted}\"a\"\"b\"\nP-2,2026-01-09,5\n"
    );
    let ingested = read(&[("a.csv", &text)]);
    let rejected = |line: u64| format!("a.csv:{line}: the row has more than 16384 cells; a row has at most 16384");
    assert_eq!(messages(&ingested), [rejected(4), rejected(5)]);
    assert_eq!(counts(&ingested), [(3, 1, 0, 2)]);
    assert_eq!(
        refusal(format!("winding,tested_on,r_60s{many}\nP-1,2026-01-06,5\n").as_bytes()),
        "a.csv:1: the header has more than 16384 cells; a row has at most 16384\n\
         hint: take out the delimiters that follow the last cell, or divide the row"
    );
}

#[test]
fn what_is_no_history_is_refused_with_what_to_do() {
    for (bytes, message) in [
        (&b"\xef\xbb\xbf"[..], "a.csv: the file has no header"),
        (
            b"winding,tested_on,r_60s\n\n,,\n",
            "a.csv: there is a header but no row below it\nhint: one row per test follows the header",
        ),
        (
            b"\"winding,tested_on,r_60s\nP-1,2026-01-05,5\n",
            "a.csv:1: the header has a quote that is opened and never closed; a quoted cell ends with a quote\nhint: close the quote or take it out",
        ),
    ] {
        assert_eq!(refusal(bytes), message);
    }
}

#[test]
fn rows_of_timed_readings_become_tests_and_are_all_counted() {
    let ingested = read(&[
        (
            "a.csv",
            "winding,tested_on,elapsed_s,resistance_gohm,note\nP-1,2026-01-05,600,1.5,\nP-1,2026-01-05,60,0.5,dry\n\
             P-1,2026-01-05,60,500 MΩ,\nP-2,2026-01-05,60,1,\nP-2,2026-01-05,60,2,\nP-2,2026-01-05,600,3,\n\
             P-3,2026-01-05,,3,\nP-4,2026-01-05,60,4,\n",
        ),
        ("b.csv", "winding,tested_on,r_60s\nP-4,2026-01-05,4000\nP-5,2026-01-05,1\n"),
    ]);
    assert_eq!(counts(&ingested), [(8, 3, 1, 4), (2, 1, 1, 0)], "{:?}", messages(&ingested));
    let shown: Vec<String> =
        ingested.tests()[0].readings().iter().map(|r| format!("{} {}", r.elapsed, r.value)).collect();
    assert_eq!((shown.join(", ").as_str(), ingested.tests()[0].note()), ("60 s 500 MΩ, 600 s 1.5 GΩ", Some("dry")));
    let text = |here: u64, there, a, b| {
        format!(
            "a.csv:{here}: tested_on is 2026-01-05; a.csv:{there} says something else about the same test of P-2, \
             all-earth (r_60s is {a} GΩ here and {b} GΩ there), so neither is used"
        )
    };
    assert_eq!(
        messages(&ingested),
        [
            text(5, 6, 1, 2),
            text(6, 5, 2, 1),
            text(7, 6, 1, 2),
            "a.csv:8: elapsed_s is empty; a timed reading has the time at which it was taken".to_owned(),
        ]
    );
}

#[test]
fn a_title_block_and_usual_words_are_understood_and_said() {
    let text = "Tests of building 7;;;;\nby hand\n\nMotor;Date;R60 (GΩ);Temp;PI;\nP-1;2026-01-05;1,5;20;2;\n";
    let ingested = read(&[("a.csv", text)]);
    assert_eq!(counts(&ingested), [(1, 1, 0, 0)], "{:?}", messages(&ingested));
    assert_eq!(ingested.tests()[0].readings()[0].value.to_string(), "1.5 GΩ");
    assert_eq!(
        ingested.inputs[0].remarks,
        [
            "a.csv:4: the header is here; what stands above it is not read",
            "a.csv:4: column Date is taken for tested_on; [columns] in the policy file says otherwise",
            "a.csv:4: column Temp is taken for winding_temp_c; [columns] in the policy file says otherwise",
        ]
    );
    assert_eq!(ingested.inputs[0].columns.left_alone, ["PI"]);
}

#[test]
fn a_header_of_two_units_and_a_cell_of_the_other_scale_are_not_guessed() {
    assert_eq!(
        refusal("winding,tested_on,R60 MΩ GΩ\nP-1,2026-01-05,5\n".as_bytes()),
        "a.csv:1: the header R60 MΩ GΩ names two units\n\
         hint: say which it is under [columns] in the policy file, such as \"R60 MΩ GΩ\" = \"r_60s_gohm\""
    );
    let ingested = read(&[("a.csv", "winding,tested_on,r_60s_gohm,winding_temp_c\nP-1,2026-01-05,5 MΩ,68 °F\n")]);
    let reasons: Vec<_> = ingested.rejections.iter().flat_map(|row| ingested.reasons(&row)).collect();
    assert_eq!(
        reasons,
        [(
            "a.csv:2: winding_temp_c is 68 °F; the cell says °F and its column holds the other scale".to_owned(),
            "if the whole column is in °F, name it winding_temp_f, or give its header that name under [columns] in the \
             policy file; if only this cell is, convert it"
                .to_owned()
        )]
    );
}

/// All rows that are judged, those rejected among them: the reading and the event of each.
fn kept(text: &str) -> Vec<String> {
    let ingested = read(&[("a.csv", text)]);
    let series = ingested.series.series(0);
    let said = series.tests().iter().map(|test| {
        let reading = test.readings().first().map_or("none".to_owned(), |reading| reading.value.to_string());
        test.event().map_or_else(|| reading.clone(), |event| format!("{reading} {}", event.word()))
    });
    said.collect()
}

#[test]
fn what_a_cell_seems_to_say_counts_against_the_winding() {
    let of = |cell: &str| {
        kept(&format!("winding,tested_on,r_60s\nP-1,2025-01-05,300\nP-1,2026-01-05,{cell}\n")).split_off(1)
    };
    for cell in ["(2.9)", "2.9 (1)", "2.9 @500V", "2.9 ?", "2.9 DAR 1.2", "2.9 KO"] {
        assert_eq!(of(cell), ["2.9 MΩ"], "{cell}");
    }
    // A time, a date and another unit are no megohms.
    for cell in ["5 min", "1.8.2026 ok?", "2.9 mΩ"] {
        assert_eq!(of(cell), ["none"], "{cell}");
    }
    for cell in ["2.9 Earth fault", "2.9 - burnt"] {
        assert_eq!(of(cell), ["2.9 MΩ"], "{cell}");
    }
    for cell in ["Earth fault", "E/F", "down to earth", "a tierra"] {
        assert_eq!(of(cell), ["< 0.1 MΩ"], "{cell}");
    }
    // In the unit beside it, and after one minute where the time cannot be read.
    assert_eq!(
        kept("winding,tested_on,r_60s,unit\nP-1,2026-01-05,800,kΩ\nP-1,2026-02-05,900?,kΩ\n"),
        ["0.8 MΩ", "0.9 MΩ"]
    );
    assert_eq!(
        kept("winding,tested_on,elapsed_s,resistance\nP-1,2026-01-05,60,800\nP-1,2026-02-05,6O,1\n"),
        ["800 MΩ", "1 MΩ"]
    );
}

#[test]
fn a_misspelt_flood_is_one() {
    let of = |event: &str| kept(&format!("winding,tested_on,r_60s,event\nP-1,2026-01-05,900,{event}\n"));
    for event in ["floodedd", "flod"] {
        assert_eq!(of(event), ["900 MΩ flooded"], "{event}");
    }
    for event in ["dryed", "clened", "rewond", "greased"] {
        assert_eq!(of(event), ["900 MΩ"], "{event}");
    }
}

/// The readings of a file that is read, and its remarks that do not say what a header is taken for.
fn readings(text: &str) -> (Vec<String>, Vec<String>) {
    let ingested = read(&[("a.csv", text)]);
    let values = ingested.tests().iter().map(|test| test.readings()[0].value.to_string()).collect();
    let remarks = ingested.inputs[0].remarks.iter().filter(|remark| !remark.contains("is taken for"));
    (values, messages(&ingested).into_iter().chain(remarks.cloned()).collect())
}

#[test]
fn units_written_once_or_not_at_all_are_never_megohms_by_chance() {
    let (values, said) = readings("Motor,Date,IR,Unit\nP-1,2025-10-10,840,kOhm\nP-1,2026-01-13,835,\n");
    assert_eq!(values, ["0.84 MΩ", "0.835 MΩ"]);
    assert_eq!(
        said,
        ["a.csv: column Unit has kOhm in its first row and nothing below, so the rows below are read in that unit too"]
    );
    let (values, said) =
        readings("Motor,Date,IR,Unit\nP-1,2025-10-10,84,\nP-1,2026-01-13,835,kOhm\nP-1,2026-02-13,1 GΩ,\n");
    assert_eq!(values, ["0.835 MΩ", "1 GΩ"]);
    assert_eq!(said, ["a.csv:2: Unit is empty; other rows name kOhm, and this one names no unit"]);
    assert_eq!(readings("Motor;Data;Valore;UM\nP-1;2025-10-10;840;kΩ\n").0, ["0.84 MΩ"]);
}

#[test]
fn a_unit_far_below_blank_ones_is_found_too() {
    let mut text = "Motor,Date,IR,Unit\nP-1,2025-10-10,840,\n".to_owned();
    while text.len() < sample::SAMPLE + 100 {
        text.push_str("P-2,2025-10-11,500,MΩ\n");
    }
    let line = text.lines().count() + 1;
    text.push_str("P-1,2026-10-10,835,kOhm\n");
    assert_eq!(
        refusal(text.as_bytes()),
        format!(
            "a.csv:{line}: Unit is kOhm, and the reading at a.csv:2 has no unit; it would be read in MΩ\n\
             hint: write the unit of each reading"
        )
    );
}

#[test]
fn a_note_that_names_another_unit_rejects_the_bare_number_beside_it() {
    let (values, said) = readings(
        "Motor,Date,IR MΩ,Note\nP-1,2026-10-10,450,in kOhm\nP-1,2026-10-11,450 kΩ,in kOhm\nP-1,2026-10-12,450,840 kΩ before\n",
    );
    assert_eq!(values, ["0.45 MΩ", "450 MΩ"]);
    assert_eq!(
        said,
        [
            "a.csv:2: resistance IR MΩ is 450; the note beside it names kΩ, and a number without a unit would be read in MΩ"
        ]
    );
}

#[test]
fn a_text_beside_the_table_that_names_a_unit_stops_a_file_whose_readings_have_none() {
    let table = "Motor,Date,Reading,Temp °C\nP-1,2025-10-10,840,22\nP-1,2026-01-13,835,22\n";
    let said = |place: &str, text: &str| {
        format!(
            "a.csv{place}: “{text}” names kΩ, and nothing gives the readings under Reading a unit; they would be read in MΩ\n\
             hint: write the unit into the header, such as Reading (kΩ); or take the text out if it speaks of something else"
        )
    };
    let footer = format!("{table},,,\nAll readings in kΩ,,,\n");
    assert_eq!(refusal(footer.as_bytes()), said(":5", "All readings in kΩ"));
    let above = format!("All readings in kΩ,,,\n{table}");
    assert_eq!(readings(&above).0, ["0.84 MΩ", "0.835 MΩ"]);
    let beside = table.replace(",22\n", ",22,All in kΩ\n").replace("Temp °C\n", "Temp °C,\n");
    assert_eq!(refusal(beside.as_bytes()), said(":2", "All in kΩ"));
    let header = table.replace("Temp °C\n", "Temp °C,All readings in kΩ\n").replace(",22\n", ",22,\n");
    assert_eq!(refusal(header.as_bytes()), said("", "All readings in kΩ"));
    // Where the readings name their unit, the text agrees or mentions something else.
    for named in [footer.replace("Reading,", "Reading kΩ,"), footer.replace("840", "840 kΩ").replace("835", "835 kΩ")]
    {
        assert_eq!(refusal(named.as_bytes()), "", "{named}");
    }
    assert_eq!(refusal(footer.replace("kΩ", "MΩ").as_bytes()), "");
    let own = "winding,tested_on,r_60s\nP-1,2025-10-10,840\nin kOhm,,\n";
    assert_eq!(
        refusal(own.as_bytes()),
        "a.csv:3: “in kOhm” names kΩ, and nothing gives the readings under r_60s a unit; they would be read in MΩ\n\
         hint: write the unit into the header, such as r_60s_kohm; or take the text out if it speaks of something else"
    );
}

#[test]
fn dates_that_only_their_column_could_settle_are_asked_for() {
    let (values, said) = readings("Motor,Date,IR MΩ\nP-1,25/07/26,8\nP-1,26/10/13,0.8\n");
    assert_eq!(values, [""; 0]);
    assert_eq!(
        said[1],
        "a.csv:3: Date is 26/10/13; the year may be first or last, and the other dates do \
         not settle it"
    );
    let (values, said) = readings("Motor,Date,IR MΩ\nP-1,May 12,8\nP-1,Jun 30,0.8\n");
    assert_eq!(values, [""; 0]);
    assert_eq!(
        said[0],
        "a.csv:2: Date is May 12; the number beside the month may be a day or a year, and the other dates do not tell"
    );
}

#[test]
fn a_rejected_unit_still_counts_for_its_winding() {
    let ingested = read(&[("a.csv", "winding,tested_on,IR,Unit\nP-1,2025-10-10,840,MΩ\nP-1,2026-01-13,0.8,furlong\n")]);
    assert_eq!(messages(&ingested).len(), 1);
    assert_eq!(ingested.series.len(), 1);
}

#[test]
fn a_name_with_a_unit_in_it_still_counts_for_its_winding() {
    let ingested = read(&[("a.csv", "winding,tested_on,r_60s\nP-1,2025-10-10,840\nP-1 MΩ,2026-01-13,0.8\n")]);
    assert_eq!(messages(&ingested).len(), 1);
    let series = ingested.series.series(0);
    assert_eq!((ingested.series.len(), series.tests().len()), (1, 2), "the rejected row is kept in mind");
}

#[test]
fn a_temperature_beside_a_reading_must_be_that_of_its_row() {
    let of = |cell: &str| {
        messages(&read(&[("a.csv", &format!("winding,tested_on,r_60s,winding_temp_c\nP-1,2025-10-10,{cell},40\n"))]))
    };
    for cell in ["9.5 MΩ at 10 °C", "9.5 at 50 F"] {
        let found = of(cell);
        let rule = "the text beside the number names another temperature than the 40 of its row";
        assert!(found.len() == 1 && found[0].contains(rule), "{cell}: {found:?}");
    }
    for cell in ["9.5 MΩ at 40 °C", "9.5 at 104 F"] {
        assert_eq!(of(cell).len(), 0, "{cell}");
    }
}

/// Pieces that histories, good and bad, are made of.
const PIECES: [&[u8]; 27] = [
    b"P-1",
    b"P-2",
    b"2026-01-05",
    b"2026-01-06",
    b"2026-02-30",
    b"5",
    b"7",
    b">1000",
    b"OL",
    b"-3",
    b"",
    b",",
    b",",
    b",",
    b",",
    b";",
    b"\t",
    b"\n",
    b"\n",
    b"\n",
    b"\r\n",
    b"\r",
    b"\"",
    b"\"\"",
    b"\xff",
    b" ",
    b"\xce\xa9",
];

fn piece() -> impl Strategy<Value = &'static [u8]> {
    prop::sample::select(&PIECES[..])
}

proptest! {
    #[test]
    fn every_row_ends_in_exactly_one_place(
        files in prop::collection::vec(prop::collection::vec(piece(), 0..120), 1..4),
    ) {
        let rules = ReadingRules::default();
        let mut reading = Reading::new(&rules);
        for (i, pieces) in files.iter().enumerate() {
            let bytes = [b"winding,tested_on,r_60s\nP-1,2026-01-05,5\n".to_vec(), pieces.concat()].concat();
            if let Err(failure) = reading.add(&format!("{i}.csv"), bytes) {
                // A line of units stops the run.
                prop_assert!(failure.to_string().contains(" for readings, and the rows below are read"));
                return Ok(());
            }
        }
        let ingested = reading.finish();
        for (input, ledger) in ingested.inputs.iter().enumerate() {
            prop_assert_eq!(ledger.accepted + ledger.repeated + ledger.rejected, ledger.rows);
            let here = |origin: Origin| origin.input as usize == input;
            let tests = ingested.tests().iter().filter(|test| here(test.origin())).count() as u64;
            let rejected = ingested.rejections.iter().filter(|row| here(row.origin)).count() as u64;
            prop_assert_eq!((tests, rejected), (ledger.accepted, ledger.rejected));
        }
        for rejection in &ingested.rejections {
            prop_assert!(!rejection.faults.is_empty() && !rejection.raw.is_empty());
        }
    }

    #[test]
    fn every_row_of_a_timed_reading_ends_in_exactly_one_place(
        rows in prop::collection::vec((0_u32..3, 0_u32..3, 0_u32..3, prop::bool::weighted(0.1)), 1..40),
        wide: bool,
    ) {
        let rules = ReadingRules::default();
        let mut reading = Reading::new(&rules);
        let mut text = "winding,tested_on,elapsed_s,resistance,winding_temp_c\n".to_owned();
        for (winding, time, value, damaged) in rows {
            let value = if damaged { "wet".to_owned() } else { (1 + value / 2).to_string() };
            text.push_str(&format!("P-{winding},2026-01-05,{},{value},\n", 60 * (1 + time)));
        }
        prop_assert_eq!(reading.add("a.csv", text.into_bytes()), Ok(()));
        if wide {
            let other = b"winding,tested_on,r_60s\nP-1,2026-01-05,1\n".to_vec();
            prop_assert_eq!(reading.add("b.csv", other), Ok(()));
        }
        let ingested = reading.finish();
        for (input, ledger) in ingested.inputs.iter().enumerate() {
            let rejected = ingested.rejections.iter().filter(|row| row.origin.input as usize == input).count() as u64;
            prop_assert_eq!(rejected, ledger.rejected);
            prop_assert_eq!(ledger.accepted + ledger.repeated + ledger.rejected, ledger.rows);
        }
        prop_assert!(ingested.rejections.iter().all(|row| !row.raw.is_empty()));
    }

    #[test]
    fn any_bytes_are_read_or_refused(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let rules = ReadingRules::default();
        let mut reading = Reading::new(&rules);
        if let Err(failure) = reading.add("a.csv", bytes) {
            prop_assert!(failure.to_string().starts_with("a.csv:"));
        }
        let ingested = reading.finish();
        prop_assert!(ingested.inputs.iter().all(|l| l.accepted + l.repeated + l.rejected == l.rows));
    }

    #[test]
    fn neither_the_size_of_the_pieces_nor_the_way_of_reading_changes_anything(
        pieces in prop::collection::vec(piece(), 0..400),
        size in 1usize..2000,
    ) {
        let rows = pieces.concat();
        let bytes = [b"winding,tested_on,r_60s\nP-1,2026-01-05,5\n".to_vec(), b"\n-,x,\n".repeat(40), b"P-2,,\n".repeat(9), rows].concat();
        let rules = ReadingRules::default();
        let read = |size: Option<usize>| {
            let mut reading = size.map_or_else(|| Reading::new(&rules), |size| Reading::in_pieces(&rules, size));
            reading.add("h.csv", bytes.clone()).map(|()| everything(reading.finish()))
        };
        let whole = read(None);
        prop_assert_eq!(&read(Some(size)), &whole);
        // A line of units stops the run, whatever the size.
        let Ok(whole) = whole else { return Ok(()) };
        if std::str::from_utf8(&bytes).is_ok() {
            let open = || -> std::io::Result<Box<dyn std::io::Read + Send>> { Ok(Box::new(std::io::Cursor::new(bytes.clone()))) };
            let mut reading = Reading::in_pieces(&rules, size);
            match reading.add_large("h.csv", Box::new(open)) {
                // A ditto in the column of names makes it a sheet of another layout, which is arranged as a whole.
                Err(Halted::NotPlain) => prop_assert!(bytes.contains(&b'"')),
                other => {
                    prop_assert_eq!(other.err().map(|_| "refused"), None);
                    prop_assert_eq!(everything(reading.finish()), whole);
                }
            }
        }
    }
}

fn everything(ingested: Ingested) -> (Vec<TestRecord>, Vec<InputLedger>, Rejections) {
    (ingested.tests(), ingested.inputs, ingested.rejections)
}

/// What comes after the as-of date may be added or removed, and the rows before it are read as before.
#[test]
fn rows_after_the_as_of_date_decide_nothing_of_those_before() {
    let rules = ReadingRules { as_of: NaiveDate::from_ymd_opt(2026, 6, 30), ..ReadingRules::default() };
    let read = |text: &str| {
        let mut reading = Reading::new(&rules);
        assert_eq!(reading.add("a.csv", text.as_bytes().to_vec()), Ok(()), "{text}");
        let ingested = reading.finish();
        let until = |test: &TestRecord| Some(test.tested_on().date) <= NaiveDate::from_ymd_opt(2026, 6, 30);
        let tests: Vec<String> = ingested
            .tests()
            .iter()
            .filter(|test| until(test))
            .map(|test| format!("{} {}", test.tested_on(), test.readings()[0].value))
            .collect();
        // The later row is the fourth line, or the third.
        let is_before = |message: &String| !message.starts_with("a.csv:4:") && !message.contains("2026-07-25");
        let problems: Vec<String> = messages(&ingested).into_iter().filter(is_before).collect();
        (tests, problems)
    };
    // The order of day and month, the place of the year, the decimal mark and the mark of thousands.
    for (before, later) in [
        ("winding,tested_on,r_60s\nP-1,05/04/2026,5\nP-1,06/05/2026,6\n", "P-1,25/07/2026,7\n"),
        ("winding,tested_on,r_60s\nP-1,25/06/26,5\nP-1,26/05/25,6\n", "P-1,27/07/31,7\n"),
        ("winding;tested_on;r_60s\nP-1;2026-04-05;1.200\n", "P-1;2026-07-25;1.250,5\n"),
        ("winding,tested_on,r_60s\nP-1,2026-04-05,\"1,200\"\n", "P-1,2026-07-25,\"1,250.5\"\n"),
        ("winding,tested_on,r_60s\nP-1,2026-04-05,\"1,200\"\n", "P-1,2026-07-25,\"9,3\"\n"),
    ] {
        assert_eq!(read(&format!("{before}{later}")), read(before), "{before}");
    }
    // Until the as-of date they do.
    let proof = "winding,tested_on,r_60s\nP-1,05/04/2026,5\nP-1,25/05/2026,7\n";
    assert_eq!(read(proof).0, ["2026-04-05 5 MΩ", "2026-05-25 7 MΩ"]);
}

#[test]
fn letters_beside_readings_change_no_reading() {
    for letters in [["G", "R", "A"], ["G", "A", "V"], ["K", "M", "G"], ["G", "G", "G"], ["C", "F", "B"]] {
        let row = |at: usize| format!("M-{at},2026-03-10,0.{},{}\n", at + 1, letters[at]);
        let text = format!("Motor,Date,Riso (MΩ),Mark\n{}{}{}", row(0), row(1), row(2));
        assert_eq!(readings(&text).0, ["0.1 MΩ", "0.2 MΩ", "0.3 MΩ"], "{letters:?}");
    }
}

#[test]
fn a_line_in_the_table_that_names_another_unit_stops_the_run() {
    let refusal = |line: &str| {
        let text = format!("Motor,Date,MΩ,Winding C\nP-1,2024-03-01,790,25\n{line},,,\nP-1,2025-03-01,805,25\n");
        let rules = ReadingRules::default();
        Reading::new(&rules).add("a.csv", text.into_bytes()).err().map(|failure| failure.to_string())
    };
    for line in ["readings below in kΩ", "kΩ", "(kilohms)", "from here on k-ohms", "NEW TESTER - values in kOhm"] {
        let message = format!(
            "a.csv:3: “{line}” names kΩ for readings, and the rows below are read in the unit of the header\n\
             hint: give each row its unit in a column Unit, or put the rows below this line into a file of their own with their unit in the \
             header; take the text out if it speaks of something else"
        );
        assert_eq!(refusal(line), Some(message), "{line}");
    }
    assert_eq!(refusal("readings below in MΩ"), None);
    // A row of units with something else in it, wherever it is.
    assert_eq!(
        readings("Motor,Date,R 1 min,Winding C\nunit,,kΩ,°C\nP-1,2024-03-01,840,25\nP-1,2025-03-01,835,25\n").0,
        ["0.84 MΩ", "0.835 MΩ"]
    );
    for rows in ["P-1,2023-03-01,840,25\nunit,,kΩ,°C", ",yyyy-mm-dd,kOhm,°C"] {
        let text = format!("Motor,Date,R 1 min,Winding C\n{rows}\nP-1,2024-03-01,840,25\nP-1,2025-03-01,835,25\n");
        let rules = ReadingRules::default();
        let found = Reading::new(&rules).add("a.csv", text.into_bytes()).err().map(|failure| failure.to_string());
        assert!(
            found.as_ref().is_some_and(|found| { found.contains(" for readings, and the rows below are read") }),
            "{rows}: {found:?}"
        );
    }
}
