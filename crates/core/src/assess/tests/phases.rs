//! Phases tested together: the spread at its limit, rounds in a row, bounds, and a phase that drifts.
//!
//! All at 40 °C, where the correction is 1 and ratios are those of the cells. GB 50150-2006 cl. 3.0.2: limit of 2.

use super::*;
use crate::assess::{CorrectedTest, Judgement, PhaseRatio, phase_ratios};
use crate::record::Phase;
use crate::resistance::Bound;

/// Rounds every 91 days up to 20 October 2026: cells of U, V and W to earth; an empty cell is not a test.
fn judged<S: AsRef<str>>(cells: &[[S; 3]]) -> Vec<Judgement> {
    let mut tests = Vec::new();
    for (i, round) in cells.iter().enumerate() {
        let before = 91 * (cells.len() - 1 - i) as u64;
        let on = day("2026-10-20").checked_sub_days(Days::new(before)).unwrap().to_string();
        for (phase, r60) in ["U-earth", "V-earth", "W-earth"].into_iter().zip(round) {
            if !r60.as_ref().is_empty() {
                let row = [("tested_on", on.as_str()), ("connection", phase), ("winding_temp_c", "40")];
                tests.push(test(&[&row[..], &[("r_60s", r60.as_ref())]].concat()));
            }
        }
    }
    judge_all(tests, nameplate())
}

fn rounds<S: AsRef<str>>(cells: &[[S; 3]]) -> Vec<SeriesAssessment> {
    judged(cells).into_iter().map(|judgement| judgement.assessment).collect()
}

/// Day, highest and lowest phase, ratio, and whether it is exact.
fn ratios(judged: &[Judgement]) -> Vec<PhaseRatio> {
    let phases = [Phase::U, Phase::V, Phase::W].into_iter().zip(judged);
    let tests: Vec<(Phase, &[CorrectedTest])> =
        phases.map(|(phase, judgement)| (phase, &judgement.tests[..])).collect();
    phase_ratios(&tests)
}

#[test]
fn every_day_with_two_phases_has_its_ratio() {
    let judged = judged(&[
        ["250", "100", "150"],
        ["", "90", ""],
        [">500", "100", "150"],
        ["<500", "100", "150"],
        ["<500", ">300", ""],
        ["150", "", "150"],
    ]);
    let found: Vec<(String, Phase, Phase, f64, Bound)> =
        ratios(&judged).into_iter().map(|r| (r.on.to_string(), r.highest, r.lowest, r.ratio, r.bound)).collect();
    let expected = [
        ("2025-07-22", Phase::U, Phase::V, 2.5, Bound::Exact),
        ("2026-01-20", Phase::U, Phase::V, 5.0, Bound::Above),
        ("2026-04-21", Phase::W, Phase::V, 1.5, Bound::Above),
        ("2026-10-20", Phase::W, Phase::U, 1.0, Bound::Exact),
    ];
    assert_eq!(
        found,
        expected.map(|(on, highest, lowest, ratio, bound)| (on.to_owned(), highest, lowest, ratio, bound))
    );
}

/// Two rounds, and work done before the second of one phase.
#[test]
fn a_ratio_from_before_the_stretch_of_one_phase_is_marked() {
    let mut tests = Vec::new();
    for (on, event) in [("2026-07-21", ""), ("2026-10-20", "cleaned")] {
        for (phase, r60) in [("U-earth", "200"), ("V-earth", "100")] {
            let event = if phase == "U-earth" { event } else { "" };
            let row = [("tested_on", on), ("connection", phase), ("winding_temp_c", "40"), ("r_60s", r60)];
            tests.push(test(&[&row[..], &[("event", event)]].concat()));
        }
    }
    let marked: Vec<bool> = ratios(&judge_all(tests, nameplate())).iter().map(|ratio| ratio.before_stretch).collect();
    assert_eq!(marked, [true, false]);
}

/// What is said of each phase in turn.
fn said(cells: &[[&str; 3]]) -> Vec<String> {
    rounds(cells).iter().map(|result| message(result, Code::PhaseSpread).to_owned()).collect()
}

const NOTHING: [&str; 3] = ["", "", ""];

#[test]
fn a_ratio_of_two_is_allowed_and_more_is_said_of_the_lowest_phase() {
    assert_eq!(said(&[["200", "100", "150"]]), NOTHING);
    let sentence = "On 2026-10-20 phase U read 2.01 times as much as phase V, more than the limit of 2.";
    assert_eq!(said(&[["201", "100", "150"]]), ["", sentence, ""]);
    let results = rounds(&[["201", "100", "150"]]);
    assert_eq!(results[1].action, Action::Recheck);
    assert_ne!(results[0].action, Action::Recheck);
}

#[test]
fn rounds_in_a_row_are_counted_while_the_same_phase_is_lowest() {
    let twice = [["250", "100", "150"], ["250", "100", "150"]];
    let sentence = "On 2026-10-20 phase U read 2.5 times as much as phase V, more than the limit of 2";
    assert_eq!(said(&twice)[1], format!("{sentence}, as in the round before."));
    assert_eq!(rounds(&twice)[1].action, Action::Shorten);
    let thrice = [["250", "100", "150"]; 3];
    assert_eq!(said(&thrice)[1], format!("{sentence}, as in the 2 rounds before."));
    let another = [["100", "250", "150"], ["250", "100", "150"]];
    assert_eq!(said(&another), ["", &format!("{sentence}."), ""]);
    let interrupted = [["250", "100", "150"], ["150", "100", "150"], ["250", "100", "150"]];
    assert_eq!(said(&interrupted)[1], format!("{sentence}."));
    let over = [["250", "100", "150"], ["150", "100", "150"]];
    assert_eq!(said(&over), NOTHING);
}

/// Three times and more in two rounds is not a slow drift: something happened to that phase.
#[test]
fn phases_far_apart_in_two_rounds_are_looked_into_before_use() {
    for (low, ratio, action) in
        [("30", "10", Action::Plan), ("100", "3", Action::Plan), ("101", "2.97", Action::Shorten)]
    {
        let results = rounds(&[["300", "310", low], ["300", "290", low]]);
        assert_eq!((results[2].action, results[2].must_not_be_energised()), (action, action == Action::Plan), "{low}");
        assert_eq!(
            message(&results[2], Code::PhaseSpread),
            format!(
                "On 2026-10-20 phase U read {ratio} times as much as phase W, more than the limit of 2, as in the round before."
            )
        );
    }
}

/// A phase, or a winding without its cable, cannot read less than the whole that it is a part of.
#[test]
fn a_part_that_reads_less_than_the_whole_did_is_repeated() {
    let whole = |cells: &[(&str, &str)]| {
        test(&[&[("tested_on", "2026-07-21"), ("r_60s", "300"), ("winding_temp_c", "40")], cells].concat())
    };
    let part = |on: &str, r60: &str, cells: &[(&str, &str)]| {
        test(&[&[("tested_on", on), ("r_60s", r60), ("winding_temp_c", "40")], cells].concat())
    };
    let said = |tests: Vec<TestRecord>, which: &str| {
        let all = judge_all(tests, nameplate());
        let part = all
            .into_iter()
            .map(|judged| judged.assessment)
            .find(|part| format!("{} {}", part.connection, part.scope) == which)
            .unwrap();
        (part.action, part.must_not_be_energised(), message(&part, Code::FallSinceLast).to_owned())
    };
    let (phase, alone) = ([("connection", "U-earth"), ("other_phases", "earthed")], [("scope", "winding")]);
    let (all, cable) = ([("connection", "all-earth")], [("scope", "winding+cable")]);
    let sentence = |value: &str, what: &str, times: &str| {
        format!(
            "On 2026-10-20 it read {value} MΩ, and {what} read 300 MΩ on 2026-07-21, {times} times as much at one temperature; a part cannot \
             read less than the whole: do not start it until the test is repeated."
        )
    };
    assert_eq!(
        said(vec![whole(&all), part("2026-10-20", "60", &phase)], "U-earth winding"),
        (Action::Recheck, true, sentence("60", "all phases together", "5"))
    );
    assert_eq!(
        said(vec![whole(&cable), part("2026-10-20", "100", &alone)], "all-earth winding"),
        (Action::Recheck, true, sentence("100", "winding and cable together", "3"))
    );
    // Nor shortly before the whole was read.
    let before = said(vec![part("2026-07-10", "100", &alone), whole(&cable)], "all-earth winding");
    assert_eq!((before.0, before.1), (Action::Recheck, true), "{}", before.2);
    for (tests, which) in [
        (vec![whole(&cable), part("2026-10-20", "200", &alone)], "all-earth winding"),
        (vec![whole(&cable), part("2026-10-20", "100", &[("event", "rewound")])], "all-earth winding"),
        (vec![whole(&cable), part("2026-04-20", "100", &alone)], "all-earth winding"),
        // What is more than the part may read less.
        (vec![whole(&alone), part("2026-10-20", "100", &cable)], "all-earth winding+cable"),
    ] {
        assert_eq!(said(tests, which).2, "", "{which}");
    }
}

#[test]
fn a_round_with_one_phase_is_no_comparison() {
    let sentence = "On 2026-07-21 phase U read 2.5 times as much as phase V, more than the limit of 2.";
    assert_eq!(said(&[["250", "100", "150"], ["", "90", ""]])[1], sentence);
    assert_eq!(said(&[["250", "", ""], ["", "100", ""]]), ["", ""]);
    assert_eq!(said(&[["250", "", ""]]), [""]);
}

/// A bound above cannot be the lowest, one below cannot be the highest, and over range without a scale is neither.
#[test]
fn bounds_are_compared_only_where_they_prove_something() {
    let more =
        |ratio: &str| format!("On 2026-10-20 phase U read {ratio} times as much as phase V, more than the limit of 2.");
    assert_eq!(said(&[[">500", "100", "150"]])[1], more("5"));
    assert_eq!(said(&[["250", "<100", "150"]])[1], more("2.5"));
    assert_eq!(said(&[["<500", "100", "150"]]), NOTHING);
    assert_eq!(said(&[["250", ">100", "150"]]), NOTHING);
    assert_eq!(said(&[["OL", "100", "150"]]), NOTHING);
}

/// W against its sisters, in decades; U and V change together through a factor of 100 meanwhile, which cancels.
fn against_sisters(decades: &[f64]) -> Vec<SeriesAssessment> {
    let cells: Vec<[String; 3]> = decades
        .iter()
        .enumerate()
        .map(|(i, decade)| {
            let base = [1000.0, 7000.0, 400.0, 30_000.0, 2500.0][i % 5];
            [base, base, base * 10f64.powf(*decade)].map(|mohm| format!("{mohm}"))
        })
        .collect();
    rounds(&cells)
}

fn falling(total: f64, n: usize, scatter: f64) -> Vec<f64> {
    let wobble = |i: usize| if i.is_multiple_of(2) { scatter } else { -scatter };
    (0..n).map(|i| -total * i as f64 / (n - 1) as f64 + wobble(i)).collect()
}

/// 0.15 decades in five intervals of 91 days, 1.246 years, are 0.12 decades or a factor of 1.32 a year.
#[test]
fn six_rounds_show_a_drift_and_five_do_not() {
    let six = against_sisters(&falling(0.15, 6, 0.002));
    assert_eq!(
        message(&six[2], Code::PhaseSpread),
        "This phase falls away from the others by a factor of 1.32 a year, in 6 rounds since 2025-07-22; temperature and damp cancel in the ratio."
    );
    assert_eq!([message(&six[0], Code::PhaseSpread), message(&six[1], Code::PhaseSpread)], ["", ""]);
    let finding = six[2].findings.iter().find(|finding| finding.code == Code::PhaseSpread).unwrap();
    let Evidence::Number(p) = finding.evidence[1].1 else { unreachable!() };
    assert!(p > 0.0 && p < 0.001, "{p}");
    assert_eq!(message(&against_sisters(&falling(0.15, 5, 0.002))[2], Code::PhaseSpread), "");
}

#[test]
fn a_drift_of_less_than_a_tenth_of_a_decade_or_within_the_scatter_is_not_said() {
    let said =
        |total, scatter| !message(&against_sisters(&falling(total, 12, scatter))[2], Code::PhaseSpread).is_empty();
    assert!(said(0.105, 0.001));
    assert!(!said(0.095, 0.001));
    assert!(!said(0.15, 0.09), "chance");
    assert!(!said(-0.2, 0.001), "a phase that rises");
}

/// Rows of one day: time, phase, reading at 40 °C.
fn one_day(rows: &[(&str, &str, &str)]) -> Vec<Judgement> {
    let tests = rows.iter().map(|(time, phase, r60)| {
        let on = format!("2026-10-20{time}");
        test(&[("tested_on", &on), ("connection", phase), ("winding_temp_c", "40"), ("r_60s", r60)])
    });
    judge_all(tests.collect(), nameplate())
}

/// Before and after wiping the terminals: each round agrees with itself.
#[test]
fn two_rounds_on_one_day_are_not_compared_with_each_other() {
    for times in [["", ""], ["T08:00", "T15:00"]] {
        let [before, after] = times;
        let judged = one_day(&[
            (before, "U-earth", "25"),
            (before, "V-earth", "26"),
            (before, "W-earth", "24"),
            (after, "U-earth", "300"),
            (after, "V-earth", "310"),
            (after, "W-earth", "290"),
        ]);
        for one in &judged {
            assert_eq!(message(&one.assessment, Code::PhaseSpread), "", "{times:?}");
        }
        let found: Vec<String> = ratios(&judged).iter().map(|ratio| format!("{:.3}", ratio.ratio)).collect();
        // Without times the round with the lowest readings is read as the last.
        assert_eq!(found, if before.is_empty() { ["1.069", "1.083"] } else { ["1.083", "1.069"] });
    }
}

/// Tested before and after drying, which one row alone mentions, and each phase before and after wiping its terminal.
#[test]
fn phases_are_compared_within_one_round_whatever_the_order_of_their_tests() {
    let dried = |event: &str| {
        let rows = [
            ("U", "40", ""),
            ("V", "42", ""),
            ("W", "41", ""),
            ("U", "480", ""),
            ("V", "490", ""),
            ("W", "500", event),
        ];
        let tests = rows.map(|(phase, r60, event)| {
            let phase = format!("{phase}-earth");
            let cells = [("tested_on", "2026-10-20"), ("winding_temp_c", "40"), ("r_60s", r60), ("event", event)];
            test(&[&cells[..], &[("connection", &phase)]].concat())
        });
        judge_all(tests.to_vec(), nameplate())
    };
    let interleaved = one_day(&[
        ("T08:00", "U-earth", "40"),
        ("T08:05", "U-earth", "480"),
        ("T08:10", "V-earth", "42"),
        ("T08:15", "V-earth", "490"),
        ("T08:20", "W-earth", "500"),
    ]);
    for judged in [dried(""), dried("dried"), interleaved] {
        for one in &judged {
            assert_eq!(message(&one.assessment, Code::PhaseSpread), "");
        }
    }
}

#[test]
fn a_phase_is_never_compared_with_itself() {
    let judged =
        one_day(&[("", "U-earth", "100"), ("", "U-earth", "300"), ("", "V-earth", "110"), ("", "W-earth", "105")]);
    for one in &judged {
        assert_eq!(message(&one.assessment, Code::PhaseSpread), "");
    }
    let alone = one_day(&[("T08:00", "U-earth", "100"), ("T09:00", "U-earth", "300")]);
    assert!(ratios(&alone).is_empty());
}

/// The phases of one winding are compared wherever its series are in the list.
#[test]
fn series_out_of_the_order_of_their_keys_keep_their_spread() {
    let cells = [("U-earth", "500"), ("V-earth", "100"), ("W-earth", "450")];
    let tests = cells.map(|(phase, r60)| {
        test(&[("tested_on", "2026-10-20"), ("connection", phase), ("winding_temp_c", "40"), ("r_60s", r60)])
    });
    let other = test(&[("winding", "Q-1"), ("tested_on", "2026-10-20"), ("winding_temp_c", "40"), ("r_60s", "600")]);
    let mut series = Series::collect(tests.into_iter().chain([other]));
    let register = Register::from([("P-1".to_owned(), nameplate()), ("Q-1".to_owned(), nameplate())]);
    let terms =
        Terms { policy: Policy::default(), as_of: day(AS_OF), confidence: Confidence::from_fraction(0.9).unwrap() };
    let judge = |series: &[Series]| assess_fleet(series, &register, &terms, &InTurn, |judgement| judgement.assessment);
    let in_order = judge(&series);
    assert!(!message(&in_order[1], Code::PhaseSpread).is_empty());
    series.swap(1, 3);
    series.swap(0, 2);
    let mut shuffled = judge(&series);
    assert_eq!(shuffled[1].winding, "Q-1");
    shuffled.sort_by(|a, b| (&a.winding, &a.connection).cmp(&(&b.winding, &b.connection)));
    assert_eq!(shuffled, in_order);
}
