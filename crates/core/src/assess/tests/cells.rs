//! Cells that could not be read and notes of water; common practice throughout.

use super::*;
use crate::record::UnreadCell;

/// Four good quarters; the row given by its number has a cell that could not be read.
fn with_unread(at: usize, column: &str, text: &str) -> SeriesAssessment {
    let mut tests = quarterly(&[300.0, 310.0, 295.0, 305.0]);
    let cell = UnreadCell::new(Column::read(column).unwrap(), text);
    tests[at].procedure.get_or_insert_default().unread.push(cell);
    judge(tests)
}

#[test]
fn a_cell_of_the_latest_test_that_cannot_be_read_asks_for_a_repeat() {
    for (column, text) in [
        ("lead_check", "so-so"),
        ("battery", "3 bars"),
        ("other_phases", "gaurded"),
        ("event", "rewnd"),
        ("event", "water"),
        ("event", "cooling water leak"),
        ("event", "rain"),
        ("event", "test void"),
        ("event", "not valid"),
        ("event", "tracking"),
        ("equipment_state", "n.i.O."),
    ] {
        let result = with_unread(3, column, text);
        assert_eq!(result.action, Action::Recheck, "{column}");
        assert!(
            result.findings.iter().any(|finding| finding.code == Code::CellUnread && finding.before_use),
            "{column}"
        );
    }
    // These ask for nothing when they are read.
    for (column, text) in [("discharged_min", "x"), ("equipment_state", "shed"), ("event", "bearing greased")] {
        assert_eq!(with_unread(3, column, text).action, Action::Keep, "{column}");
    }
}

#[test]
fn a_later_test_answers_a_check_and_not_a_rewind() {
    assert_eq!(with_unread(1, "lead_check", "so-so").action, Action::Keep);
    assert_eq!(with_unread(1, "event", "fl00ded").action, Action::Keep);
    let rewound = with_unread(1, "event", "new wdg");
    assert_eq!(rewound.action, Action::Recheck);
    assert_eq!(
        message(&rewound, Code::CellUnread),
        "Under event the row of 2026-04-21 says “new wdg”, which is not understood: write rewound, replaced or flooded there if that is \
         what happened to the winding, and anything else into the note."
    );
}

#[test]
fn a_note_of_water_is_answered_by_the_event() {
    let judged = |event: &str| {
        let mut tests = quarterly(&[300.0, 310.0, 295.0]);
        let last = [
            ("tested_on", "2026-10-20"),
            ("r_60s", "305"),
            ("winding_temp_c", "25"),
            ("note", "stood in water"),
            ("event", event),
        ];
        tests.push(test(&last));
        judge(tests)
    };
    let noted = judged("");
    assert_eq!(noted.action, Action::Recheck);
    assert_eq!(
        message(&noted, Code::NoteOfWater),
        "The note for 2026-10-20 mentions water: “stood in water”. If the winding was flooded, write flooded under event; do not \
         start it until it is known to be dry and the test is repeated."
    );
    let flooded = judged("flooded");
    assert_eq!((flooded.action, message(&flooded, Code::NoteOfWater)), (Action::Hold, ""));
}

#[test]
fn a_note_of_a_failure_or_of_a_lower_reading_is_not_passed_over() {
    let judged = |note: &str, event: &str| {
        let mut tests = quarterly(&[300.0, 310.0, 295.0]);
        tests.push(test(&[
            ("tested_on", "2026-10-20"),
            ("r_60s", "305"),
            ("winding_temp_c", "25"),
            ("note", note),
            ("event", event),
        ]));
        judge(tests)
    };
    for note in [
        "earth fault 20 Nov, motor tripped",
        "burnt out 15 Nov",
        "Erdschluss",
        "défaut de terre le 12",
        "failed",
        "would not hold voltage",
        "in massa",
        "0.4 MOhm on 20 Nov",
        "now only 0.4 MΩ",
        "350 kΩ after rain",
        "now only 0.4",
        "reads 0.4 after wash down",
        "dropped to 3",
        "then 0.5",
        "recheck 0.5",
        "0.5 on recheck",
        "0.5 M next day",
        "L3 0.5",
        "T3-E 500k",
        "n.i.O.",
        "fail",
        "NON OK",
        "verdict failed, Pass?: No",
        "phase V à la masse",
        "bobinage brûlé",
        "motor failed",
        "Isolationsfehler",
        "kortsluiting",
        "motor tripped on dead short",
        "Durchschlag bei 400 V",
        "claquage",
        "en corto",
        "doorslag bij 500 V",
        "ligt aan aarde",
        "tripped",
        "u/s",
        "wrong motor",
        "void",
        "ok; not ok",
    ] {
        let found = judged(note, "");
        assert_eq!((found.action, message(&found, Code::NoteOfFailure).is_empty()), (Action::Recheck, false), "{note}");
    }
    assert_eq!(
        message(&judged("earth fault 20 Nov, motor tripped", ""), Code::NoteOfFailure),
        "The note for 2026-10-20 mentions a failure: “earth fault 20 Nov, motor tripped”. The reading may be from before it, or \
         another one: write what was read into a row of its own, and repeat the test before the winding is energised."
    );
    for note in [
        "no earth fault found",
        "failed bearing replaced",
        "minimum 5 MΩ",
        "305 MΩ at 25 °C",
        "limit 1 MOhm",
        "L3 500 V",
        "L3 tightened to 12.5 Nm",
        "Recheck 2",
        "1.5 M cable",
        "5.0 M from door",
        "burnt 2019",
        "short test",
        "R phase, 5 m cable",
        "was 0.4 MΩ in May",
        "only 2 phases",
        "other phases grounded",
        "tested while out of service",
        "scarica eseguita",
        "now at 25 °C",
        "OK",
    ] {
        assert_eq!(message(&judged(note, ""), Code::NoteOfFailure), "", "{note}");
    }
    assert_eq!(message(&judged("burnt out 15 Nov", "rewound"), Code::NoteOfFailure), "");
}

/// One or two tests under an odd word beside a long series may be of that series.
#[test]
fn a_connection_that_is_a_slip_hides_no_low_reading() {
    for (connection, action) in [
        ("sideways", Action::Recheck),
        ("#REF!", Action::Recheck),
        ("rotor", Action::Keep),
        ("star point", Action::Keep),
    ] {
        let mut tests = quarterly(&steady(300.0, 12));
        let row = [("tested_on", "2026-11-02"), ("r_60s", "40"), ("winding_temp_c", "25"), ("connection", connection)];
        tests.push(test(&row));
        let judged: Vec<SeriesAssessment> =
            judge_all(tests, nameplate()).into_iter().map(|judged| judged.assessment).collect();
        let all_earth = judged.iter().find(|series| series.connection == "all-earth").unwrap();
        assert_eq!(all_earth.action, action, "{connection}: {:?}", all_earth.findings);
    }
}

#[test]
fn a_reading_under_event_is_looked_at_as_one_in_a_note() {
    let text = "0.5 MΩ on recheck";
    let mut tests = quarterly(&[300.0, 310.0, 295.0, 305.0]);
    tests[3].note = Some(text.to_owned());
    tests[3].procedure.get_or_insert_default().unread.push(UnreadCell::new(Column::Event, text));
    let found = judge(tests);
    assert_eq!(
        (found.action, message(&found, Code::NoteOfFailure)),
        (
            Action::Recheck,
            "The note for 2026-10-20 mentions a lower resistance: “0.5 MΩ on recheck”. The reading may be from before it, or another one: \
             write what was read into a row of its own, and repeat the test before the winding is energised."
        )
    );
}
