//! Rows that hide nothing: work that did not help, low readings of old, several rows of a day, temperatures and readings that are not
//! known. Source: the principle itself, on numbers of our own.

use super::*;
use crate::record::{Event, KeptOut};
use crate::resistance::TimedReadings;

/// Three tests that agree on a fall to a fifth, after nine steady ones.
fn fallen() -> Vec<TestRecord> {
    quarterly(&[steady(300.0, 9), vec![61.0, 56.0, 62.0]].concat())
}

#[test]
fn work_after_which_a_winding_reads_no_better_hides_no_fall() {
    for (at, event) in [
        (8, Event::Flooded),
        (9, Event::Flooded),
        (10, Event::Flooded),
        (8, Event::Cleaned),
        (9, Event::Cleaned),
        (9, Event::Repaired),
    ] {
        let mut tests = fallen();
        tests[at].event = Some(event);
        let result = judge(tests);
        assert_eq!(result.action, Action::Plan, "{event:?} at {at}: {:?}", result.findings);
    }
    let mut tests = fallen();
    tests[9].event = Some(Event::Flooded);
    assert_eq!(
        message(&judge(tests), Code::FallSinceLast),
        "The winding was flooded on 2026-04-21, and on 2026-10-20 it read less than before that, so the earlier readings still count; with \
         them the answer is plan. The latest 3 readings are lower by a factor of 5.08 than the earlier ones led to expect, far beyond the \
         scatter of single tests; as they agree, the fall is real; before it is started again, look for the cause: water, a heater that \
         failed, a leaking cooler, dirt, or the terminal box."
    );
    // Work that helped begins the stretch, and so does another winding.
    for (event, level) in [(Event::Cleaned, 900.0), (Event::Rewound, 280.0)] {
        let mut tests = quarterly(&[steady(300.0, 8), steady(level, 4)].concat());
        tests[8].event = Some(event);
        assert_eq!(judge(tests).action, Action::Keep, "{event:?}");
    }
}

/// 400 MΩ that fall to 29 MΩ in three years.
const DECLINE: [f64; 12] = [400.0, 336.0, 234.0, 199.0, 140.0, 126.0, 92.3, 79.8, 55.7, 46.5, 33.6, 29.2];

#[test]
fn a_low_reading_of_old_hides_no_decline() {
    assert_eq!(judge(quarterly(&DECLINE)).action, Action::Plan);
    let with_first = |text: &str| {
        let first =
            test(&[("tested_on", "2023-10-12"), ("r_60s", text), ("winding_temp_c", "25"), ("test_volts", "500")]);
        judge([vec![first], quarterly(&DECLINE)].concat())
    };
    for text in ["0", "<0.1", "<1", "<10", "2"] {
        assert_eq!(with_first(text).action, Action::Plan, "{text}");
    }
    assert_eq!(
        message(&with_first("<10"), Code::ReachesMinimum),
        "The test of 2023-10-12 read far less than the latest one; without it the answer is plan. The level may reach the minimum of 5 MΩ \
         inside 3 planning horizons of 365 days (almost certain, over 99 in 100): between 2027-08-20 and 2028-12-09, most likely about \
         2028-04-17."
    );
    // A steady winding that read little once stays one.
    let once = test(&[("tested_on", "2023-10-12"), ("r_60s", "<10"), ("winding_temp_c", "25"), ("test_volts", "500")]);
    assert_eq!(judge([vec![once], quarterly(&steady(300.0, 12))].concat()).action, Action::Keep);
}

#[test]
fn of_several_rows_of_a_day_none_hides_the_others() {
    let of_first_day = |more: Option<&str>| {
        let mut tests = quarterly(&[150.0, 87.5, 68.0, 49.7, 57.5]);
        for (test, celsius) in tests.iter_mut().zip([18.0, 38.0, 18.0, 45.0, 22.0]) {
            test.winding_temp = Some(Temperature::from_celsius(celsius).unwrap());
        }
        let on = tests[0].tested_on.date.to_string();
        let row =
            |r60| test(&[("tested_on", &on[..]), ("r_60s", r60), ("winding_temp_c", "18"), ("test_volts", "500")]);
        tests.extend(more.map(row));
        judge(tests)
    };
    let (alone, both) = (of_first_day(None), of_first_day(Some("120")));
    assert_eq!((alone.action, both.action), (Action::Shorten, Action::Shorten));
    assert_eq!(
        message(&both, Code::TestedTwice),
        "On 2025-10-21 the winding was tested more than once; with the highest of its readings alone the answer is shorten. The level may \
         reach the minimum of 5 MΩ inside 3 planning horizons of 365 days (likely, about 6 in 10): may be reached from 2027-08-22 on, most \
         likely about 2029-05-07, perhaps never."
    );
    // Three readings on two days are two tests.
    let mut two_days = quarterly(&[300.0, 310.0]);
    two_days.push(test(&[
        ("tested_on", "2026-10-20"),
        ("r_60s", "290"),
        ("winding_temp_c", "25"),
        ("test_volts", "500"),
    ]));
    let result = judge(two_days);
    assert_eq!(
        (result.action, message(&result, Code::FewReadings)),
        (
            Action::Gather,
            "The 3 exact readings of the stretch were taken on 2 days; a trend needs those of at least 3 days."
        )
    );
}

#[test]
fn a_test_of_unknown_temperature_hides_no_fall() {
    let of = |first: Option<f64>, kept_out: Option<KeptOut>| {
        let mut tests = quarterly(&[703.0, 975.0, 1020.0, 895.0, 304.0]);
        for (test, celsius) in tests.iter_mut().zip([first, Some(22.0), Some(25.0), Some(22.0), Some(45.0)]) {
            test.winding_temp = celsius.map(|celsius| Temperature::from_celsius(celsius).unwrap());
        }
        tests[0].kept_out = kept_out;
        judge(tests)
    };
    assert_eq!(of(Some(45.0), None).action, Action::Recheck);
    assert_eq!(of(None, None).action, Action::Recheck);
    let rejected = of(None, Some(KeptOut::Rejected));
    assert_eq!(
        (rejected.action, message(&rejected, Code::FallSinceLast)),
        (
            Action::Recheck,
            "The temperature of the test of 2025-10-21 is not known; without that test the answer is recheck. The latest reading, 304 MΩ on \
             2026-10-20, is lower by a factor of 2.03 at one temperature than usual before it, and clearly below the lowest of the 3 before: \
             do not start it until the test is repeated."
        )
    );
}

#[test]
fn a_reading_that_cannot_be_read_may_be_as_the_one_beside_it() {
    let of = |unread: usize| {
        let mut tests = quarterly(&[900.0, 920.0, 880.0, 400.0]);
        tests[unread].readings = TimedReadings::default();
        tests[unread].kept_out = Some(KeptOut::Unread);
        judge(tests)
    };
    let result = of(1);
    assert_eq!(
        (result.action, message(&result, Code::RowKeptOut)),
        (
            Action::Recheck,
            "The reading of 2026-04-21 cannot be read; had it been that of the test beside it, the answer is recheck. The latest reading, \
             400 MΩ on 2026-10-20, is lower by a factor of 2.25 at one temperature than usual before it, and clearly below the lowest of the \
             3 before: do not start it until the test is repeated."
        )
    );
}

/// After a flood, and after a reading below the minimum, a good reading that cannot be relied on clears nothing.
#[test]
fn a_doubtful_test_clears_neither_water_nor_a_low_reading() {
    let then = |event: &str, cells: &[(&str, &str)]| {
        let wet = [("tested_on", "2026-10-27"), ("r_60s", "1.2"), ("winding_temp_c", "25"), ("event", event)];
        let dry = [("tested_on", "2026-11-10"), ("r_60s", "900"), ("winding_temp_c", "25"), ("air_temp_c", "24")];
        let dry: Vec<_> =
            dry.iter().filter(|(header, _)| cells.iter().all(|(own, _)| own != header)).chain(cells).copied().collect();
        judge([quarterly(&steady(300.0, 8)), vec![test(&wet), test(&dry)]].concat())
    };
    for cells in [
        &[("battery", "low")][..],
        &[("source_check", "failed")],
        &[("proved_dead", "no")],
        &[("calibration_due", "2025-01-01")],
        &[("note", "earth fault tripped")],
        &[("winding_temp_c", "-4"), ("air_temp_c", "-4")],
    ] {
        for event in ["flooded", ""] {
            assert_eq!(then(event, cells).action, Action::Hold, "{event} {cells:?}");
        }
    }
    assert_eq!(
        message(&then("flooded", &[("battery", "low")]), Code::Drying),
        "The winding was flooded on 2026-10-27, and the test of 2026-11-10 does not clear it (battery low): hold it until a test that can be \
         relied on shows that it is dry."
    );
    assert_ne!(then("flooded", &[]).action, Action::Hold);
}

#[test]
fn a_test_without_its_voltage_is_taken_to_be_made_as_those_before_it() {
    let at_6600_volts = || Nameplate { rated_voltage: Some(Voltage::from_volts(6600.0).unwrap()), ..nameplate() };
    let mut tests = quarterly(&steady(900.0, 12));
    let before = judge_all(tests.clone(), at_6600_volts()).remove(0).assessment;
    tests[11].test_volts = None;
    let result = judge_all(tests, at_6600_volts()).remove(0).assessment;
    assert_eq!((result.action, before.action), (Action::Recheck, Action::Recheck));
    assert_eq!(
        message(&result, Code::VoltageOutsideGuide),
        "The test of 2026-10-20 has no voltage, and those before it were made at 500 V; the guide for a winding rated 6600 V is 2500 V to \
         5000 V; so far below that a test proves little: do not start it until the test is repeated at the guide's voltage."
    );
}

#[test]
fn bounds_repeats_and_older_readings_hide_no_fall() {
    let row = |on: &str, r60: &str, celsius: &str| {
        test(&[("tested_on", on), ("r_60s", r60), ("winding_temp_c", celsius), ("test_volts", "500")])
    };
    let of = |tests: Vec<TestRecord>| judge(tests).action;
    // A row above the scale among readings that fall.
    let decline = quarterly(&DECLINE);
    for at in [4, 5, 8, 10] {
        let mut tests = decline.clone();
        let on = tests[at].tested_on.date.to_string();
        tests[at] = row(&on, ">2000", "25");
        assert_eq!(of(tests), Action::Plan, "{at}");
    }
    // A bound below among three tests before a fall.
    let mut tests = quarterly(&[92.0, 92.0, 90.0, 21.8, 21.9]);
    tests[2] = row(&tests[2].tested_on.date.to_string(), "<81.7", "25");
    assert_eq!(of(tests), Action::Plan);
    // The test of a fall made again on the next day.
    let fallen = || quarterly(&[steady(5400.0, 9), vec![1680.0, 1580.0, 1640.0]].concat());
    assert_eq!(of(fallen()), Action::Plan);
    assert_eq!(of([fallen(), vec![row("2026-10-21", "1600", "25")]].concat()), Action::Plan);
    // One more test in front.
    assert_eq!(of(quarterly(&[101.0, 26.3, 21.9])), Action::Plan);
    for more in [30.0, 20.0] {
        assert_eq!(of(quarterly(&[more, 101.0, 26.3, 21.9])), Action::Plan, "{more}");
    }
}

/// What was found before a test that cannot be relied on is not taken back by it.
#[test]
fn a_doubtful_latest_test_takes_no_fall_back() {
    let later = [("tested_on", "2026-11-10"), ("r_60s", "320"), ("winding_temp_c", "25"), ("battery", "low")];
    let result = judge([quarterly(&DECLINE), vec![test(&later)]].concat());
    assert_eq!(
        (result.action, message(&result, Code::ReachesMinimum)),
        (
            Action::Plan,
            "The test of 2026-11-10 cannot be relied on (battery low); without it the answer is plan. The level may reach the minimum of 5 MΩ \
             inside 3 planning horizons of 365 days (almost certain, over 99 in 100): between 2027-08-20 and 2028-12-09, most likely about \
             2028-04-17."
        )
    );
}
