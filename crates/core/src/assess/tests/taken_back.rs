//! What a good reading does not take back, and what a low one says although something speaks for the winding. Sources: common practice.

use super::*;

/// Quarterly tests at 30 °C up to 20 October 2026, then rows of their own.
fn then(nameplate: Nameplate, before: &[&str], rows: &[&[(&str, &str)]]) -> SeriesAssessment {
    let usual = quarterly(&vec![1.0; before.len()]);
    let on = usual.iter().map(|row| row.tested_on.date.to_string());
    let usual = on.zip(before).map(|(on, r60)| test(&[("tested_on", &on), ("r_60s", r60), ("winding_temp_c", "30")]));
    let rows = rows.iter().map(|cells| {
        let at_30 = [("winding_temp_c", "30")];
        let temp: &[_] = if cells.iter().any(|(name, _)| *name == "winding_temp_c") { &[] } else { &at_30 };
        test(&[cells, temp].concat())
    });
    judge_all(usual.chain(rows).collect(), nameplate).remove(0).assessment
}

const USUAL: [&str; 4] = ["900", "930", "880", "910"];
/// 3 MΩ at 30 °C are 2.63 MΩ at 40 °C, below the minimum of 5 MΩ (exp(−1245·(1/303 − 1/313)) = 0.877).
const LOW: &[(&str, &str)] = &[("tested_on", "2026-11-01"), ("r_60s", "3"), ("test_volts", "500")];

/// The winding was below its minimum, and the later good test proves nothing: it stays held.
#[test]
fn a_low_reading_is_taken_back_only_by_a_test_that_proves_something() {
    let later = |more: &[(&str, &str)]| {
        let row = [("tested_on", "2026-11-15"), ("r_60s", "900"), ("test_volts", "500")];
        let row: Vec<_> = row.into_iter().filter(|(name, _)| more.iter().all(|(other, _)| other != name)).collect();
        then(nameplate(), &USUAL, &[LOW, &[&row[..], more].concat()])
    };
    let proven = later(&[]);
    assert_eq!(message(&proven, Code::BelowMinimum), "");
    for (why, code) in [
        ([("test_volts", "250")], "voltage-changed"),
        ([("test_volts", "100")], "voltage-outside-guide"),
        ([("r_60s", "<2000")], "off-scale"),
        ([("source_check", "failed")], "check-failed"),
        ([("battery", "low")], "battery-low"),
        ([("proved_dead", "no")], "not-proved-dead"),
        ([("calibration_due", "2026-11-01")], "calibration-expired"),
        ([("output_volts", "180")], "tester-output"),
        ([("winding_temp_c", "-3")], "frozen-winding"),
    ] {
        let held = later(&why);
        assert_eq!((held.action, held.must_not_be_energised()), (Action::Hold, true), "{why:?}: {:?}", held.findings);
        assert_eq!(
            message(&held, Code::BelowMinimum),
            format!(
                "The reading of 2026-11-01, 2.63 MΩ at 40 °C, is at or below the minimum of 5 MΩ, and the test of 2026-11-15 does \
                 not clear it ({}).",
                code.replace('-', " ")
            )
        );
    }
}

/// An upper bound above the minimum is not a pass.
#[test]
fn an_upper_bound_passes_nothing() {
    for (before, bound, minimum, nameplate) in [
        (&USUAL[..], "<200", "5 MΩ", nameplate()),
        (&[], "<200", "100 MΩ", form_wound()),
        (&["4700", "4800"], "<5000", "100 MΩ", form_wound()),
    ] {
        let result = then(nameplate, before, &[&[("tested_on", "2026-11-15"), ("r_60s", bound)]]);
        assert!(result.action <= Action::Recheck && result.must_not_be_energised(), "{:?}", result.findings);
        let limit = if bound == "<200" { "200 MΩ" } else { "5 GΩ" };
        assert_eq!(
            message(&result, Code::OffScale),
            format!(
                "All that the test of 2026-11-15 shows is less than {limit}, which may be below the minimum of {minimum}: repeat it on a \
                 range that shows the value before the winding is energised."
            )
        );
    }
}

/// What fails at the higher voltage may pass at the lower one.
#[test]
fn a_reading_that_rises_at_a_lower_voltage_is_repeated() {
    let at = |volts: &str, r60: &str| {
        let high = [("tested_on", "2026-11-01"), ("r_60s", "600"), ("test_volts", "2500")];
        let low = [("tested_on", "2026-11-15"), ("r_60s", r60), ("test_volts", volts)];
        then(form_wound(), &["640", "610", "620", "600"], &[&high, &low])
    };
    let rose = at("1000", "4700");
    assert!(rose.must_not_be_energised(), "{:?}", rose.findings);
    assert_eq!(
        message(&rose, Code::VoltageChanged),
        "The test of 2026-11-15 was made at 1000 V, the one of 2026-11-01 at 2500 V: part of any difference may come from the voltage; the \
         lower voltage may hide a fault: repeat the test at the higher one before it is started."
    );
    assert_eq!(at("1000", "640").action, Action::Keep);
}

/// A fall with the voltage counts until a test at its highest voltage answers it.
#[test]
fn a_step_test_is_answered_only_at_its_highest_voltage() {
    let steps: [&[(&str, &str)]; 3] = [
        &[("tested_on", "2026-11-10"), ("r_60s", "4900"), ("test_volts", "500")],
        &[("tested_on", "2026-11-10"), ("r_60s", "4000"), ("test_volts", "1000")],
        &[("tested_on", "2026-11-10"), ("r_60s", "2100"), ("test_volts", "2500")],
    ];
    let later = |volts: &str, r60: &str| {
        let row = [("tested_on", "2026-11-20"), ("r_60s", r60), ("test_volts", volts)];
        then(form_wound(), &["4800", "4900", "4700", "4850"], &[&steps[..], &[&row[..]]].concat())
    };
    for (volts, r60) in [("500", "4700"), ("1000", "4700"), ("2500", "2200")] {
        let held = later(volts, r60);
        assert_eq!(held.action, Action::Hold, "{volts} V: {:?}", held.findings);
        assert_eq!(
            message(&held, Code::FallsWithVoltage),
            "On 2026-11-10 the resistance fell as the voltage rose: 4.9 GΩ at 500 V and 2.1 GΩ at 2500 V, 0.429 of it; no test at 2500 V has \
             answered that since; it lost more than half on the way, as cracked or dirty insulation does: keep it out of service until it \
             was looked at."
        );
    }
    assert_eq!(message(&later("2500", "4700"), Code::FallsWithVoltage), "");
}

/// One step of a test at or below the minimum holds the winding, whichever step joins the trend; a step far above the guide does not.
#[test]
fn the_lowest_step_is_held_against_the_minimum() {
    let of = |steps: &[(&str, &str)]| {
        let rows: Vec<Vec<(&str, &str)>> = steps
            .iter()
            .map(|(volts, r60)| {
                vec![("tested_on", "2026-11-10"), ("r_60s", *r60), ("test_volts", *volts), ("winding_temp_c", "40")]
            })
            .collect();
        let rows: Vec<&[(&str, &str)]> = rows.iter().map(Vec::as_slice).collect();
        then(form_wound(), &[], &rows)
    };
    let held = of(&[("1000", "120"), ("2500", "95")]);
    assert_eq!(held.action, Action::Hold, "{:?}", held.findings);
    assert_eq!(
        message(&held, Code::BelowMinimum),
        "The latest reading, 95 MΩ at 40 °C on 2026-11-10, is at or below the minimum of 100 MΩ."
    );
    assert_eq!(message(&of(&[("1000", "120"), ("2500", "105")]), Code::BelowMinimum), "");
    assert_eq!(message(&of(&[("1000", "120"), ("5000", "95")]), Code::BelowMinimum), "", "far above the guide");
}

/// Of two rows of a day only one has a time: the lower one may be the later one.
#[test]
fn where_the_order_of_a_day_is_not_known_the_lower_row_counts_too() {
    let of = |r60: &str| {
        let timed = [("tested_on", "2026-11-01T08:00"), ("r_60s", "900")];
        let untimed = [("tested_on", "2026-11-01"), ("r_60s", r60)];
        then(nameplate(), &USUAL, &[&timed, &untimed])
    };
    for (r60, action) in [("2.1", Action::Hold), ("300", Action::Recheck)] {
        let result = of(r60);
        assert_eq!((result.action, result.must_not_be_energised()), (action, true), "{:?}", result.findings);
        assert_eq!(
            message(&result, Code::TestedTwice),
            format!(
                "On 2026-11-01 the winding was tested more than once, {r60} MΩ and 900 MΩ, and only one of the rows has a time, so which came \
                 last is not known: write the time of the other, and until then do not start it."
            )
        );
    }
    assert_eq!(
        of("2.1").next_test.why,
        "before the winding is energised: in which order the tests of one day were made is not known, and in one of the orders it is held"
    );
    assert_eq!(of("880").action, Action::Keep);
}

/// A connection that is a letter away from that of a series: its low test may be the latest of the series.
#[test]
fn a_test_under_a_connection_that_is_not_understood_makes_no_series_milder() {
    let of = |r60: &'static str, on: &'static str| -> SeriesAssessment {
        let days = ["2026-01-10", "2026-04-10", "2026-07-10", "2026-10-10"];
        let rows = USUAL.into_iter().zip(days).map(|(r60, on)| {
            test(&[("tested_on", on), ("r_60s", r60), ("winding_temp_c", "40"), ("connection", "U-earth")])
        });
        let odd = test(&[("tested_on", on), ("r_60s", r60), ("winding_temp_c", "40"), ("connection", "U-erth")]);
        let judged = judge_all(rows.chain([odd]).collect(), nameplate());
        let series = judged.into_iter().map(|one| one.assessment);
        series.into_iter().find(|one| one.connection == "U-earth").unwrap()
    };
    let held = of("7", "2026-11-02");
    assert_eq!((held.action, held.must_not_be_energised()), (Action::Hold, true), "{:?}", held.findings);
    assert_eq!(
        message(&held, Code::CellUnread),
        "The test of 2026-11-02 under “U-erth”, a connection that is not understood, may be of this series; with that the answer is hold. The latest \
         reading, 7 MΩ at 40 °C on 2026-11-02, is at or below the minimum of 10 MΩ. Correct the connection, or repeat the test before the \
         winding is energised."
    );
    assert_eq!(
        held.next_test.why,
        "before the winding is energised: a test under a connection that is not understood may be its latest"
    );
    let fell = of("50", "2026-11-02");
    assert_eq!((fell.action, fell.must_not_be_energised()), (Action::Recheck, true), "{:?}", fell.findings);
    assert_eq!(
        message(&fell, Code::CellUnread),
        "The test of 2026-11-02 under “U-erth”, a connection that is not understood, may be of this series; with that the answer is recheck. The latest \
         reading is lower by a factor of 17.3 than the earlier ones led to expect, well beyond the scatter of single tests; do not start it \
         until the test is repeated. Correct the connection, or repeat the test before the winding is energised."
    );
    assert_eq!(message(&of("880", "2026-11-02"), Code::CellUnread), "");
    // Words that name no connection, beside a longer series.
    for connection in ["leads wrong", "not valid", "l000"] {
        let rows = quarterly(&steady(300.0, 12)).into_iter();
        let odd = [("tested_on", "2026-11-02"), ("r_60s", "30"), ("winding_temp_c", "25"), ("connection", connection)];
        let judged = judge_all(rows.chain([test(&odd)]).collect(), nameplate());
        let series = judged.into_iter().map(|one| one.assessment).find(|one| one.connection == "all-earth").unwrap();
        assert_eq!((series.action, series.must_not_be_energised()), (Action::Recheck, true), "{connection}");
    }
    assert_eq!(message(&of("7", "2025-01-02"), Code::CellUnread), "", "a later test answers it");
}

/// Cleaning, drying and repairs do not lower a sound winding.
#[test]
fn a_fall_is_not_hidden_by_work() {
    let after = |event: &str, readings: &[&str]| {
        let rows: Vec<Vec<(&str, &str)>> = readings
            .iter()
            .zip(["2026-11-01", "2026-11-08", "2026-11-15"])
            .map(|(r60, on)| {
                vec![("tested_on", on), ("r_60s", *r60), ("event", if on == "2026-11-01" { event } else { "" })]
            })
            .collect();
        let rows: Vec<&[(&str, &str)]> = rows.iter().map(Vec::as_slice).collect();
        then(nameplate(), &USUAL, &rows)
    };
    let said = |word: &str, factor: &str, value: &str, on: &str, so: &str| {
        format!(
            "Since the winding was {word} on 2026-11-01, it reads lower by a factor of {factor} than before that, {value} on {on}; such work \
             does not lower a sound winding; {so}."
        )
    };
    let repeat = "do not start it until the test is repeated";
    let look = "before it is started again, look for the cause: water, a heater that failed, a leaking cooler, dirt, or the terminal box";
    let fall = |result: &SeriesAssessment| message(result, Code::FallSinceLast).to_owned();
    for (event, r60, factor) in [("cleaned", "220", "4.11"), ("dried", "150", "6.03"), ("repaired", "350", "2.59")] {
        let once = after(event, &[r60]);
        assert_eq!((once.action, once.must_not_be_energised()), (Action::Recheck, true), "{event} {r60}");
        assert_eq!(fall(&once), said(event, factor, &format!("{r60} MΩ"), "2026-11-01", repeat));
    }
    // A winding that was not known to be wet before it was dried.
    let drying = then(
        nameplate(),
        &USUAL,
        &[&[
            ("tested_on", "2026-11-01"),
            ("r_60s", "150"),
            ("event", "drying"),
            ("winding_temp_c", "22"),
            ("air_temp_c", "20"),
        ]],
    );
    assert_eq!((drying.action, drying.must_not_be_energised()), (Action::Recheck, true), "{:?}", drying.findings);
    assert!(fall(&drying).starts_with("Since the winding was dried on 2026-11-01, it reads lower by a factor of "));
    let agreed = after("cleaned", &["220", "215", "210"]);
    assert_eq!(agreed.action, Action::Plan);
    assert_eq!(fall(&agreed), said("cleaned", "4.21", "210 MΩ", "2026-11-15", look));
    for (event, r60) in [("cleaned", "500"), ("rewound", "220"), ("replaced", "220")] {
        assert_eq!(fall(&after(event, &[r60])), "", "{event} {r60}");
    }
}

/// A winding that was going down to its minimum does not come back by itself.
#[test]
fn a_reading_twice_as_high_close_to_the_minimum_is_repeated() {
    for (before, now, factor) in [
        (&["60", "44", "31", "22", "15.7", "11.2", "8"][..], "32", "2.86"),
        (&["60", "44", "31", "22", "15.7", "11.2", "8"], "64", "5.71"),
        (&["24", "17", "12", "8.4", "7.1"], "29.3", "3.49"),
    ] {
        let result = then(nameplate(), before, &[&[("tested_on", "2026-11-15"), ("r_60s", now)]]);
        assert!(result.must_not_be_energised() && result.action <= Action::Recheck, "{now}: {:?}", result.findings);
        assert_eq!(
            message(&result, Code::LevelShift),
            format!(
                "The latest reading, {now} MΩ on 2026-11-15, is {factor} times as high at one temperature as the two before it, close to the minimum, and no work \
                 was written down: open leads and a wrong range read high too. Prove the leads, repeat the test before it is started, and write down what was \
                 done."
            )
        );
        let worked = [("tested_on", "2026-11-15"), ("r_60s", now), ("event", "cleaned")];
        assert_eq!(message(&then(nameplate(), before, &[&worked]), Code::LevelShift), "");
    }
}

/// Two readings that agree on a fall to a third, and then came back by themselves.
#[test]
fn a_fall_that_came_back_by_itself_is_remembered_for_a_year() {
    let rows: [&[(&str, &str)]; 3] = [
        &[("tested_on", "2026-10-28"), ("r_60s", "600")],
        &[("tested_on", "2026-11-04"), ("r_60s", "620")],
        &[("tested_on", "2026-11-15"), ("r_60s", "4800")],
    ];
    let before = ["4800", "4900", "4700", "4850"];
    let result = then(form_wound(), &before, &rows);
    assert_eq!(
        message(&result, Code::RecoveredWithoutWork),
        "On 2026-10-28 and 2026-11-04 the winding read 600 MΩ and 620 MΩ, a third and less of what it read before, and came back to \
         4.8 GΩ on 2026-11-15 with no work written down: water or dirt that comes and goes is likely; look for it."
    );
    assert!(result.action <= Action::Shorten, "{:?}", result.findings);
    for partly in ["1000", "1700", "2600"] {
        let row = [("tested_on", "2026-11-15"), ("r_60s", partly)];
        let result = then(form_wound(), &before, &[rows[0], rows[1], &row]);
        assert!(result.action <= Action::Shorten, "{partly}: {:?}", result.findings);
    }
    assert_eq!(
        message(&then(form_wound(), &before, &[rows[0], rows[2]]), Code::RecoveredWithoutWork),
        "",
        "one may be wrong"
    );
}

/// A test ended before ten minutes shows it too when the resistance falls while the voltage is on.
#[test]
fn a_resistance_that_falls_under_voltage_is_held_in_a_shorter_test_too() {
    let of = |later: &[(&str, &str)]| {
        let row = [("tested_on", "2026-11-15"), ("r_60s", "2000")];
        then(form_wound(), &["2000", "2050", "1980", "2010"], &[&[&row[..], later].concat()])
    };
    for (later, last, after) in [
        (&[("r_120s", "1200"), ("r_300s", "900")][..], "900 MΩ", "300 s"),
        (&[("r_180s", "1700")], "1.7 GΩ", "180 s"),
        (&[("r_300s", "<1500")], "< 1.5 GΩ", "300 s"),
    ] {
        let held = of(later);
        assert_eq!(held.action, Action::Hold, "{later:?}: {:?}", held.findings);
        assert_eq!(held.next_test.why, "before the winding is energised: its resistance falls while the voltage is on");
        assert_eq!(
            message(&held, Code::IndexBelowOne),
            format!(
                "On 2026-11-15 the resistance fell while the voltage was on, from 2 GΩ after one minute to {last} after {after}: the leakage \
                 grows under voltage, as in wet or tracking insulation. Do not energise it; clean and dry it, then test again."
            )
        );
    }
    for good in ["2100", "1900", ">1500"] {
        assert_eq!(message(&of(&[("r_300s", good)]), Code::IndexBelowOne), "", "{good}");
    }
}
