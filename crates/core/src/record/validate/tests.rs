//! Tests of `validate`.
#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]

use super::*;
use crate::record::Event;

fn validate(cells: &[(&str, &str)]) -> Result<TestRecord, Faults> {
    TestRules::default().validate(cells.iter().map(|(h, t)| (Column::read(h).unwrap(), *t)), Origin::default())
}

fn fault_of(header: &str, text: &str) -> Fault {
    let mut cells = vec![("winding", "P-1"), ("tested_on", "2026-01-05"), ("r_60s", "100")];
    cells.retain(|(h, _)| *h != header);
    cells.push((header, text));
    validate(&cells).unwrap_err()[0].clone()
}

#[test]
fn a_full_row_is_read() {
    let test = validate(&[
        ("r_10min", "980"),
        ("winding", " P-101 stator "),
        ("tested_on", "2026-01-05T07:30"),
        ("connection", "L1-PE"),
        ("scope", "winding+cable"),
        ("test_volts", "500 V"),
        ("r_60s", "OL"),
        ("full_scale", "2 GΩ"),
        ("winding_temp_f", "68"),
        ("rh_percent", "55 %"),
        ("lead_check", "OK"),
        ("event", "Dried"),
    ])
    .unwrap();
    assert_eq!(test.winding, "P-101 stator");
    assert_eq!(test.tested_on.to_string(), "2026-01-05T07:30");
    assert_eq!(test.connection.to_string(), "U-earth");
    assert_eq!(test.winding_temp.unwrap().to_string(), "20 °C");
    assert_eq!(test.event, Some(Event::Dried));
    let shown: Vec<String> = test.readings.iter().map(|r| format!("{} {}", r.elapsed, r.value)).collect();
    assert_eq!(shown, ["60 s > 2 GΩ", "600 s 980 MΩ"]);
}

#[test]
fn each_bad_cell_is_named_with_its_rule() {
    for (header, text, rule) in [
        ("r_60s", "-4", "a resistance must be greater than 0 MΩ"),
        ("r_60s", "NaN", "a resistance is a number, with `>` or `<` before it and a unit after it if needed, or OL"),
        ("winding_temp_c", "700", "a temperature lies between −60 and 250 °C"),
        ("rh_percent", "140", "a relative humidity lies between 0 and 100 %"),
        ("tested_on", "2025-02-30", "this day is not in the calendar"),
        (
            "tested_on",
            "03/04/2025",
            "a date is written year-month-day, such as 2026-04-03; day and month are never guessed",
        ),
        ("tested_on", "0025-03-04", "the year of a test lies between 1950 and 2199"),
        (
            "event",
            "inspected",
            "an event is one of commissioned, cleaned, dried, repaired, rewound, replaced, flooded, drying",
        ),
        ("scope", "pipe", "a scope is winding, winding+cable, cable or circuit"),
        ("lead_check", "maybe", "a lead check is ok or failed"),
        ("test_volts", "1,000", "the decimal mark of this file is the point"),
        ("full_scale", ">1000", "a full scale is a plain resistance"),
    ] {
        let fault = fault_of(header, text);
        assert_eq!((fault.value.as_str(), fault.rule.as_str()), (text, rule));
        assert!(!fault.hint.is_empty());
    }
}

#[test]
fn all_faults_of_a_row_are_reported() {
    let faults = validate(&[("winding", ""), ("tested_on", "soon"), ("r_60s", "wet")]).unwrap_err();
    let columns: Vec<&str> = faults.iter().map(|fault| fault.column.as_str()).collect();
    assert_eq!(columns, ["tested_on", "r_60s", "winding"]);
}

#[test]
fn a_row_without_any_reading_is_refused() {
    let faults = validate(&[("winding", "P-1"), ("tested_on", "2026-01-05"), ("r_60s", "")]).unwrap_err();
    assert_eq!(faults[0].rule, "a row has at least one resistance or an event");
}

#[test]
fn work_without_a_test_after_it_is_a_row_of_its_own() {
    let work = validate(&[("winding", "P-1"), ("tested_on", "2026-01-05"), ("event", "rewound")]).unwrap();
    assert_eq!((work.event, work.readings.len()), (Some(Event::Rewound), 0));
}

#[test]
fn the_given_form_of_date_is_used_and_no_other() {
    let rules = TestRules { date_format: Some("%d/%m/%Y".to_owned()), ..TestRules::default() };
    assert_eq!(rules.tested_on("03/04/2025").unwrap().to_string(), "2025-04-03");
    assert_eq!(
        rules.tested_on("2025-04-03").unwrap_err().rule,
        "a date here has the form `%d/%m/%Y` given by --date-format"
    );
    assert_eq!(
        rules.tested_on("2025-04-03").unwrap_err().hint,
        "it is written year-month-day, which needs no form: leave out --date-format, or put rows with another form of \
         date into a file of their own"
    );
    assert_eq!(
        rules.tested_on("30/02/2025").unwrap_err().hint,
        "correct the date, or put rows with another form of date into a file of their own"
    );
}

#[test]
fn a_form_with_another_year_or_month_is_named() {
    for (given, text, hint) in [
        ("%d/%m/%Y", "3/4/25", "a year of two digits is %y: give --date-format %d/%m/%y"),
        ("%d/%m/%y", "3/4/2025", "it has the form `%d/%m/%Y`: give --date-format %d/%m/%Y"),
        ("%d-%m-%Y", "8-Jul-25", "it has the form `%d-%b-%y`: give --date-format %d-%b-%y"),
        ("%d %m %Y", "8 Jul 2025", "it has the form `%d %b %Y`: give --date-format \"%d %b %Y\""),
        ("%d/%m/%Y", "3/4/1025", "check the digits of the year"),
    ] {
        let rules = TestRules { date_format: Some(given.to_owned()), ..TestRules::default() };
        assert_eq!(rules.tested_on(text).unwrap_err().hint, hint, "{text} as {given}");
    }
}

#[test]
fn the_form_that_a_hint_names_reads_the_date() {
    let said = "specify the date format: --date-format ";
    for (text, form, day) in [
        ("8-Jul-25", "%d-%b-%y", "2025-07-08"),
        ("8-Jul-2025", "%d-%b-%Y", "2025-07-08"),
        ("8 July 2025", "\"%d %B %Y\"", "2025-07-08"),
        ("Jul/8/2025", "%b/%d/%Y", "2025-07-08"),
        ("2025-Jul-08", "%Y-%b-%d", "2025-07-08"),
        ("2025/07/08", "%Y/%m/%d", "2025-07-08"),
        ("8-Jul-25 14:30", "\"%d-%b-%y %H:%M\"", "2025-07-08T14:30"),
    ] {
        let hint = TestRules::default().tested_on(text).unwrap_err().hint;
        assert_eq!(hint, format!("{said}{form}"));
        let rules = TestRules { date_format: Some(form.replace('"', "")), ..TestRules::default() };
        assert_eq!(rules.tested_on(text).unwrap().to_string(), day);
    }
    assert_eq!(
        TestRules::default().tested_on("8-Okt-25").unwrap_err().hint,
        "write the date in numbers, such as 2026-04-03; the name of its month is not understood"
    );
}

#[test]
fn a_date_with_day_and_month_exchanged_says_so() {
    let rules = TestRules { date_format: Some("%m/%d/%Y".to_owned()), ..TestRules::default() };
    assert_eq!(
        rules.tested_on("19/11/2023").unwrap_err().hint,
        "it has the form `%d/%m/%Y`; if the file has that form throughout, its other dates were read with day and month \
         exchanged: give --date-format %d/%m/%Y"
    );
    assert_eq!(rules.exchanged_form("19/11/2023"), Some("%d/%m/%Y".to_owned()));
    for either_or_neither in ["11/12/2023", "11/19/2023", "19/19/2023", "2023-11-19"] {
        assert_eq!(rules.exchanged_form(either_or_neither), None);
    }
}

#[test]
fn what_is_no_name_of_a_winding_is_rejected() {
    let rule = |name: &str| {
        let cells = [("winding", name), ("tested_on", "2026-01-05"), ("r_60s", "412")];
        let cells = cells.map(|(header, text)| (Column::read(header).unwrap(), text));
        TestRules::default()
            .validate(cells, Origin::default())
            .err()
            .and_then(|faults| faults.first().map(|fault| fault.rule.clone()))
    };
    for (name, unit) in [("B-1 kΩ", "kΩ"), ("B-1 (kOhm)", "kOhm"), ("B-1 °C", "°C"), ("Pump [MΩ]", "MΩ")] {
        assert_eq!(
            rule(name),
            Some(format!("a name of a winding has no unit in it, and this one has {unit}")),
            "{name}"
        );
    }
    for ditto in ["dto.", "do", "same", "\u{201d}", "\"", "wie oben"] {
        assert_eq!(rule(ditto).as_deref(), Some("a mark for the line above names no winding"), "{ditto}");
    }
    assert_eq!(rule("--").as_deref(), Some("a dash names no winding"));
    for name in ["B-1", "Do-1", "Ohmmeter 3", "Pump C", "kOhm", "DTO-7"] {
        assert_eq!(rule(name), None, "{name}");
    }
}
