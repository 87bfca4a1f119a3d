//! What a winding owes where little is known of it, after a rewind, by a limit of the site, and what its insulation is taken for.
//!
//! IEEE Std 43 cl. 12.3: 100 MΩ form-wound, 5 MΩ below 1 kV, rated kV + 1 before about 1970. Cl. 6.3: K at 20 °C is 0.25
//! thermoplastic and 0.762 thermosetting (constants from memory).

use super::*;
use crate::nameplate::{LimitBasis, ThermalClass};

fn volts(value: f64) -> Option<Voltage> {
    Voltage::from_volts(value).ok()
}

fn judged(tests: Vec<TestRecord>, nameplate: Nameplate) -> SeriesAssessment {
    judge_all(tests, nameplate).remove(0).assessment
}

/// One test in October 2026.
fn one(r60: &str, cells: &[(&str, &str)]) -> Vec<TestRecord> {
    vec![test(&[&[("tested_on", "2026-10-20"), ("r_60s", r60)], cells].concat())]
}

fn not_registered(tests: Vec<TestRecord>) -> SeriesAssessment {
    let terms =
        Terms { policy: Policy::default(), as_of: day(AS_OF), confidence: Confidence::from_fraction(0.9).unwrap() };
    let register = Register::new();
    assess_fleet(Series::collect(tests), &register, &terms, &InTurn, |judgement| judgement.assessment).remove(0)
}

/// 4160 V of 1966 owes 5.16 MΩ; rewound, 100 MΩ. The event may stand in a series of its own connection.
#[test]
fn a_rewind_told_by_a_row_counts_for_every_series_of_the_winding() {
    let nameplate = Nameplate {
        construction: Some(Construction::FormWound),
        insulation: Insulation::Thermosetting,
        rated_voltage: volts(4160.0),
        year_made: Some(1966),
        ..Nameplate::default()
    };
    let tests = |event: &'static str, on: &'static str| {
        let mut tests = one("40", &[("winding_temp_c", "40")]);
        tests.push(test(&[
            ("tested_on", "2026-10-20"),
            ("r_60s", "300"),
            ("connection", "U-earth"),
            ("winding_temp_c", "40"),
        ]));
        tests.push(test(&[("tested_on", on), ("r_60s", "9000"), ("winding_temp_c", "40"), ("event", event)]));
        judge_all(tests, nameplate.clone()).into_iter().map(|judgement| judgement.assessment).collect::<Vec<_>>()
    };
    for event in ["rewound", "replaced"] {
        let found = tests(event, "2019-03-02");
        let minima: Vec<String> = found.iter().map(|series| series.minimum.as_ref().unwrap().to_string()).collect();
        assert_eq!(minima, ["100 MΩ", "200 MΩ"], "{event}");
        assert_eq!(found[0].action, Action::Hold);
        assert_eq!(
            message(&found[0], Code::BelowMinimum),
            "The latest reading, 40 MΩ at 40 °C on 2026-10-20, is at or below the minimum of 100 MΩ."
        );
    }
    // Cleaning makes no new winding, and a rewind after the as-of date has not happened yet.
    for (event, on) in [("cleaned", "2019-03-02"), ("rewound", "2027-03-02")] {
        let found = tests(event, on);
        assert_eq!(found[0].minimum.as_ref().unwrap().to_string(), "5.16 MΩ", "{event} on {on}");
    }
}

/// A rewind in the register makes it a new winding; before about 1970 every kind owes rated kV + 1.
#[test]
fn the_year_of_the_winding_decides_what_it_owes() {
    use Construction::{DcArmature, FormWound, RandomWound};
    for (construction, rated, made, rewound, owes) in [
        (FormWound, 4160.0, 1966, None, 5.16),
        (FormWound, 4160.0, 1966, Some(2019), 100.0),
        (FormWound, 11_000.0, 1958, Some(1969), 12.0),
        (FormWound, 3300.0, 1931, Some(1988), 100.0),
        (RandomWound, 2300.0, 1960, None, 3.3),
        (DcArmature, 600.0, 1955, None, 1.6),
        (DcArmature, 600.0, 1955, Some(2001), 5.0),
    ] {
        let nameplate = Nameplate {
            construction: Some(construction),
            rated_voltage: volts(rated),
            year_made: Some(made),
            year_rewound: rewound,
            ..nameplate()
        };
        let of = |share: f64| judged(one(&format!("{}", share * owes), &[("winding_temp_c", "40")]), nameplate.clone());
        let low = of(1.0);
        assert_eq!(low.action, Action::Hold, "{construction} {rated} {made} {rewound:?}");
        assert_eq!(
            message(&low, Code::BelowMinimum),
            format!("The latest reading, {owes} MΩ at 40 °C on 2026-10-20, is at or below the minimum of {owes} MΩ.")
        );
        assert_eq!(message(&of(1.1), Code::BelowMinimum), "", "{construction} {rated} {made} {rewound:?}");
    }
}

/// 6.6 kV of 2010 with a blank construction owed 7.6 MΩ.
#[test]
fn a_blank_construction_is_judged_on_the_strict_side_and_marked() {
    let of = |rated: f64, r60: &str| {
        let nameplate = Nameplate { rated_voltage: volts(rated), year_made: Some(2010), ..Nameplate::default() };
        judged(one(r60, &[("winding_temp_c", "40")]), nameplate)
    };
    let high = of(6600.0, "60");
    assert_eq!(high.action, Action::Hold);
    assert_eq!(
        message(&high, Code::MinimumUnknown),
        "The construction is not known, so the winding is judged against 100 MΩ; enter it into the register before relying on this."
    );
    let low = of(690.0, "60");
    assert_eq!(low.action, Action::Gather);
    assert_eq!(
        message(&low, Code::MinimumUnknown),
        "The construction is not known, so the winding is judged against 5 MΩ; enter it into the register before relying on this."
    );
    assert_eq!(of(690.0, "4.9").action, Action::Hold);
}

/// Common practice: a wet winding of any rating is first tested at 500 V, and nobody tests one below 1 kV with 2500 V.
#[test]
fn a_winding_of_which_nothing_is_known_passes_only_what_any_rule_would_pass() {
    let of =
        |r60: &str, tested_at: &str| not_registered(one(r60, &[("winding_temp_c", "40"), ("test_volts", tested_at)]));
    let open = of("40", "");
    assert_eq!(open.action, Action::Recheck);
    assert_eq!(
        message(&open, Code::MinimumUnknown),
        "The winding is not in the register, so the winding is judged against 5 MΩ; enter it with rated voltage and construction before relying on this. A winding of 1 kV and above may need 100 MΩ, which 40 MΩ would not pass: do not energise it on this answer."
    );
    for tested_at in ["500", "1000"] {
        assert_eq!(
            of("40", tested_at).action,
            Action::Recheck,
            "{tested_at} V: wet windings of any rating are tested so"
        );
    }
    assert_eq!(of("120", "500").action, Action::Gather);
    assert_eq!(of("120", "").action, Action::Gather);
    assert_eq!(of("40", "2500").action, Action::Hold);
    assert_eq!(of("4", "500").action, Action::Hold);
    assert_eq!(of("3.1", "").action, Action::Hold);
}

/// 12 MΩ at 20 °C are 9.1 MΩ at 40 °C by the thermosetting law and 3 MΩ by the thermoplastic one.
#[test]
fn a_blank_insulation_is_inferred_where_that_is_safe_and_else_the_stricter_law_counts() {
    let of = |class: &str, year: i32, r60: &str, celsius: &str| {
        let nameplate = Nameplate {
            insulation: Insulation::Unknown,
            thermal_class: ThermalClass::read(class),
            year_made: Some(year),
            ..nameplate()
        };
        judged(one(r60, &[("winding_temp_c", celsius), ("test_volts", "500")]), nameplate)
    };
    let inferred = of("F", 2008, "12", "20");
    assert_eq!(inferred.action, Action::Gather);
    assert_eq!(
        message(&inferred, Code::InsulationUnknown),
        "The insulation family is not in the register and was assumed to be thermosetting, from thermal class F."
    );
    assert_eq!(
        message(&of("", 1996, "12", "20"), Code::InsulationUnknown),
        "The insulation family is not in the register and was assumed to be thermosetting, from the year 1996."
    );
    let stricter = of("B", 1978, "12", "20");
    assert_eq!(stricter.action, Action::Hold);
    assert_eq!(
        message(&stricter, Code::BelowMinimum),
        "The latest reading, 3 MΩ at 40 °C on 2026-10-20, is at or below the minimum of 5 MΩ."
    );
    assert_eq!(
        message(&stricter, Code::InsulationUnknown),
        "The insulation family is not known: the stricter of both temperature laws was used; the other gives 3.05 times as much for the latest reading."
    );
    // 2 MΩ at 60 °C are 4.5 MΩ by the thermosetting law and 8 MΩ by the thermoplastic one.
    assert_eq!(of("B", 1978, "2", "60").action, Action::Hold);
    assert_eq!(of("B", 1978, "4", "60").action, Action::Gather);
}

fn own(basis: Option<LimitBasis>) -> Nameplate {
    Nameplate { minimum: Resistance::from_megohms(100.0).ok(), minimum_basis: basis, ..nameplate() }
}

/// "200 against our 100: good": without a temperature, and at 20 °C where the reference value would be 152 MΩ.
#[test]
fn a_limit_of_the_site_is_held_against_the_reading_as_read() {
    let bare = judged(one("200", &[]), own(None));
    assert_eq!(bare.action, Action::Gather);
    assert_eq!(
        message(&bare, Code::TemperatureMissing),
        "The latest test, on 2026-10-20, has no winding temperature, so 200 MΩ is held as read against the limit of 100 MΩ; write the temperature next time."
    );
    assert_eq!(bare.minimum.as_ref().unwrap().to_string(), "100 MΩ as read");
    assert_eq!(judged(one("200", &[("winding_temp_c", "20")]), own(None)).action, Action::Gather);
    let low = judged(one("96", &[]), own(Some(LimitBasis::AsRead)));
    assert_eq!(low.action, Action::Hold);
    assert_eq!(
        message(&low, Code::BelowMinimum),
        "The latest reading, 96 MΩ as read on 2026-10-20, is at or below the minimum of 100 MΩ."
    );
    // Hot, 80 MΩ at 60 °C would be 180 MΩ at 40 °C: as read it is below all the same.
    assert_eq!(judged(one("80", &[("winding_temp_c", "60")]), own(Some(LimitBasis::AsRead))).action, Action::Hold);
    assert_eq!(judged(one("80", &[("winding_temp_c", "60")]), own(Some(LimitBasis::Reference))).action, Action::Gather);
}

/// 120 MΩ at 20 °C are 91.5 MΩ at 40 °C.
#[test]
fn a_limit_of_which_nobody_said_the_basis_is_doubted_where_the_two_ways_disagree() {
    let cold = one("120", &[("winding_temp_c", "20")]);
    let open = judged(cold.clone(), own(None));
    assert_eq!(open.action, Action::Recheck);
    assert_eq!(
        message(&open, Code::LimitBasis),
        "The latest reading, 120 MΩ as read on 2026-10-20, is above the site's limit of 100 MΩ, but at 40 °C it is 91.5 MΩ, which is not: set minimum_basis in the register to as-read or reference."
    );
    assert_eq!(judged(cold.clone(), own(Some(LimitBasis::AsRead))).action, Action::Gather);
    assert_eq!(judged(cold, own(Some(LimitBasis::Reference))).action, Action::Hold);
}

/// Steady as read through the seasons: the forecast has the limit at the usual temperature, and nothing to say.
#[test]
fn a_history_without_temperatures_is_judged_as_read_throughout() {
    let without = |values: &[f64]| -> Vec<TestRecord> {
        quarterly(values).into_iter().map(|test| TestRecord { winding_temp: None, ..test }).collect()
    };
    let steady = judged(without(&steady(400.0, 12)), own(None));
    assert_eq!(steady.action, Action::Keep, "{:?}", steady.findings);
    assert!(steady.forecast.p_below_in_horizon.unwrap() < 0.01);
    let falling: Vec<f64> = (0..12).map(|i| 900.0 * 0.84_f64.powi(i)).collect();
    assert_eq!(judged(without(&falling), own(None)).action, Action::Plan);
}

/// What a winding and its cable owe together is written nowhere.
#[test]
fn winding_and_cable_together_below_the_minimum_are_tested_apart() {
    let low = judged(one("3", &[("winding_temp_c", "40"), ("scope", "winding+cable")]), nameplate());
    assert_eq!(low.action, Action::Recheck);
    assert_eq!(
        message(&low, Code::TestApart),
        "Winding and cable together read 3 MΩ at 40 °C on 2026-10-20; the minimum for the winding alone is 5 MΩ: disconnect the cable and test both separately. Do not energise them until then."
    );
    assert_eq!(message(&low, Code::BelowMinimum), "");
    let fine = judged(one("30", &[("winding_temp_c", "40"), ("scope", "winding+cable")]), nameplate());
    assert_eq!((fine.action, message(&fine, Code::TestApart)), (Action::Gather, ""));
}

/// IEC 60364-6 Table 6.1: 1 MΩ up to 500 V, as read. A line at 0 is in contact with earth.
#[test]
fn a_circuit_with_one_line_at_zero_is_a_hazard_and_is_called_one() {
    let nameplate =
        Nameplate { construction: Some(Construction::Circuit), rated_voltage: volts(400.0), ..Nameplate::default() };
    let line = |connection: &str, r60: &str| {
        judged(one(r60, &[("connection", connection), ("scope", "circuit")]), nameplate.clone())
    };
    let sound = line("L1-PE", "180");
    assert_eq!(sound.action, Action::Gather);
    assert_eq!(sound.minimum.as_ref().unwrap().to_string(), "1 MΩ as read");
    let short = line("L2-PE", "0");
    assert_eq!(short.action, Action::Hold);
    assert_eq!(
        message(&short, Code::BelowMinimum),
        "The latest reading, < 0.1 MΩ as read on 2026-10-20, is at or below the minimum of 1 MΩ. A conductor is in contact with earthed metal: shock hazard."
    );
    assert!(!message(&line("L1-L2", "0"), Code::BelowMinimum).contains("shock hazard"));
    // A value of its own is as dead as a zero; 20 kΩ is poor insulation.
    assert!(message(&line("L1-PE", "0.001"), Code::BelowMinimum).ends_with("shock hazard."));
    assert!(!message(&line("L1-PE", "0.02"), Code::BelowMinimum).contains("shock hazard"));
}

/// ANSI/NETA MTS-2019 Table 100.1: 100 MΩ at 20 °C for 600 V, halving every 15 K (Table 100.14, from memory).
#[test]
fn the_cable_of_a_machine_owes_what_a_cable_owes() {
    let of =
        |r60: &str, celsius: &str| judged(one(r60, &[("scope", "cable"), ("winding_temp_c", celsius)]), nameplate());
    assert_eq!(of("180", "20").action, Action::Gather);
    assert_eq!(of("90", "20").action, Action::Hold);
    // 360 MΩ at 5 °C are 180 MΩ at 20 °C, and 190 MΩ are 95 MΩ.
    assert_eq!(of("360", "5").action, Action::Gather);
    assert_eq!(of("190", "5").action, Action::Hold);
}

/// 150 MΩ are 5 % of 3000 MΩ; the rewind begins again, and a row of the rewind without a reading takes the next test.
#[test]
fn what_is_left_of_the_commissioning_value_is_said_below_the_policy_share() {
    let at = |on: &str, r60: &str, event: &str| {
        test(&[("tested_on", on), ("r_60s", r60), ("winding_temp_c", "40"), ("event", event)])
    };
    let said = |tests: Vec<TestRecord>| message(&judged(tests, nameplate()), Code::BelowCommissioning).to_owned();
    let new = at("2020-01-10", "3000", "commissioned");
    assert_eq!(
        said(vec![new.clone(), at("2023-01-10", "900", ""), at("2026-10-20", "150", "")]),
        "The latest reading, 150 MΩ at 40 °C, is 5 % of the 3 GΩ with which the winding was commissioned on 2020-01-10."
    );
    assert_eq!(said(vec![new.clone(), at("2026-10-20", "310", "")]), "");
    assert_eq!(said(vec![at("2020-01-10", "3000", ""), at("2026-10-20", "150", "")]), "");
    let rewound = at("2024-05-01", "", "rewound");
    assert_eq!(said(vec![new.clone(), rewound.clone(), at("2024-06-01", "900", ""), at("2026-10-20", "150", "")]), "");
    assert_eq!(
        said(vec![new, rewound, at("2024-06-01", ">2000", ""), at("2026-10-20", "150", "")]),
        "The latest reading, 150 MΩ at 40 °C, is 7.5 % of the > 2 GΩ with which the winding was rewound on 2024-06-01."
    );
}

/// 60 MΩ pass the 5.16 MΩ of a winding of 1966 and fail the 100 MΩ of its rewind.
#[test]
fn a_note_that_tells_of_a_rewind_is_asked_about() {
    let old = Nameplate { rated_voltage: volts(4160.0), year_made: Some(1966), ..form_wound() };
    let of = |nameplate: &Nameplate, note: &str| {
        let mut tests = quarterly(&steady(60.0, 8));
        tests[2].note = Some(note.to_owned());
        for test in &mut tests {
            test.test_volts = None;
        }
        judge_all(tests, nameplate.clone()).remove(0).assessment
    };
    for note in ["rewound in 2019", "back from workshop, stator rewound", "neu gewickelt? rewind 2019"] {
        let asked = of(&old, note);
        assert_eq!((asked.action, asked.must_not_be_energised()), (Action::Recheck, true), "{note}");
        assert_eq!(
            message(&asked, Code::MinimumUnknown),
            format!(
                "The note for 2025-07-22 mentions a rewind: “{note}”. A rewound winding must meet the minimum for its rewind year, \
                 and this one is judged against 5.16 MΩ, for the year it was made: write rewound under event in the row of that work, or year_rewound into the \
                 register, and do not start it on this answer."
            )
        );
    }
    for note in ["never rewound", "rewind planned for 2027", "wound up the cable", "bearing replaced"] {
        assert_eq!(message(&of(&old, note), Code::MinimumUnknown), "", "{note}");
    }
    let modern = Nameplate { year_made: Some(1995), ..old };
    assert_eq!(message(&of(&modern, "rewound in 2019"), Code::MinimumUnknown), "");
}
