//! Ratios of timed readings at their limits.
//!
//! IEEE Std 43-2000 cl. 12.2 and 5.4: least polarization index 1.5 for class A, 2 above; of no meaning above 5 GΩ.

use super::*;
use crate::nameplate::ThermalClass;

fn form_wound(class: Option<&str>) -> Nameplate {
    Nameplate {
        construction: Some(Construction::FormWound),
        rated_voltage: Some(Voltage::from_volts(6600.0).unwrap()),
        thermal_class: class.and_then(ThermalClass::read),
        ..nameplate()
    }
}

fn one_test(cells: &[(&str, &str)]) -> Vec<TestRecord> {
    vec![test(&[&[("tested_on", "2026-10-20"), ("winding_temp_c", "40")], cells].concat())]
}

fn index(class: Option<&str>, r60: &str, r600: &str) -> SeriesAssessment {
    judge_all(one_test(&[("r_60s", r60), ("r_600s", r600)]), form_wound(class)).remove(0).assessment
}

#[test]
fn an_index_below_the_least_of_its_thermal_class_is_repeated() {
    assert_eq!(message(&index(None, "300", "600"), Code::LowAbsorption), "");
    let low = index(None, "300", "590");
    assert_eq!(low.action, Action::Recheck);
    assert_eq!(
        message(&low, Code::LowAbsorption),
        "On 2026-10-20 the polarization index R600/R60 was 1.97, below the least value of 2: damp or dirt is likely."
    );
    assert_eq!(message(&index(Some("A"), "300", "450"), Code::LowAbsorption), "");
    for (class, r600, pi, least) in [("A", "440", "1.47", "1.5"), ("B", "590", "1.97", "2"), ("F", "320", "1.07", "2")]
    {
        assert_eq!(
            message(&index(Some(class), "300", r600), Code::LowAbsorption),
            format!(
                "On 2026-10-20 the polarization index R600/R60 was {pi}, below the least value of {least}: damp or dirt is likely."
            )
        );
    }
}

#[test]
fn a_bound_counts_as_low_only_from_above() {
    assert_eq!(message(&index(None, "300", ">400"), Code::LowAbsorption), "");
    assert!(
        message(&index(None, "300", "<500"), Code::LowAbsorption).contains(" was 1.67, below the least value of 2:")
    );
}

#[test]
fn above_five_gigohms_and_in_random_wound_stators_the_index_says_nothing() {
    let at_limit = index(None, "5000", "6000");
    assert!(message(&at_limit, Code::LowAbsorption).contains(" was 1.2, "));
    assert_eq!(message(&at_limit, Code::RatioNotMeaningful), "");
    for (r60, mark) in [("6000", ""), (">6000", "")] {
        let beyond = index(None, r60, "7200");
        assert_eq!(message(&beyond, Code::LowAbsorption), mark);
        assert_eq!(
            message(&beyond, Code::RatioNotMeaningful),
            "The polarization index of 2026-10-20, 1.2, is not a measure of condition here: the one-minute resistance, 6 GΩ, is above 5 GΩ."
        );
    }
    for (construction, why) in [
        (Construction::DcArmature, "the armature of a commutator machine absorbs little, however sound it is"),
        (Construction::Field, "a field winding absorbs little, however sound it is"),
        (Construction::BareField, "bare conductors have next to nothing that could absorb"),
        (Construction::WaterCooled, "the water in the hoses carries a current that does not die away"),
    ] {
        for pi in ["1.1", "1.2", "1.3"] {
            let r600 = (300.0 * pi.parse::<f64>().unwrap()).to_string();
            let tests = one_test(&[("r_60s", "300"), ("r_600s", &r600)]);
            let nameplate = Nameplate { construction: Some(construction), ..form_wound(None) };
            let found = judge_all(tests, nameplate).remove(0).assessment;
            assert_eq!(found.action, Action::Gather, "{construction}: {:?}", found.findings);
            assert_eq!(
                message(&found, Code::RatioNotMeaningful),
                format!("The polarization index of 2026-10-20, {pi}, is not a measure of condition here: {why}.")
            );
        }
    }
    let random = judge_all(one_test(&[("r_60s", "300"), ("r_600s", "360")]), nameplate()).remove(0).assessment;
    assert_eq!(message(&random, Code::LowAbsorption), "");
    assert_eq!(
        message(&random, Code::RatioNotMeaningful),
        "The polarization index of 2026-10-20, 1.2, is not a measure of condition here: in a random-wound stator absorption is over within seconds."
    );
}

#[test]
fn the_absorption_ratio_is_judged_where_the_site_has_a_least_value() {
    let ratio = |dar_minimum, r60: &str| {
        let register = Register::from([("P-1".to_owned(), nameplate())]);
        let policy = Policy { dar_minimum, ..Policy::default() };
        let terms = Terms { policy, as_of: day(AS_OF), confidence: Confidence::from_fraction(0.9).unwrap() };
        let tests = one_test(&[("r_30s", "200"), ("r_60s", r60)]);
        assess_fleet(Series::collect(tests), &register, &terms, &InTurn, |judgement| judgement.assessment).remove(0)
    };
    assert_eq!(message(&ratio(None, "210"), Code::LowAbsorption), "");
    assert_eq!(message(&ratio(Some(1.25), "250"), Code::LowAbsorption), "");
    let low = ratio(Some(1.25), "240");
    assert_eq!(low.action, Action::Recheck);
    assert_eq!(
        message(&low, Code::LowAbsorption),
        "On 2026-10-20 the absorption ratio R60/R30 was 1.2, below the site's own least value of 1.25: damp or dirt is likely."
    );
    assert_eq!(low.latest.unwrap().dar, Some(1.2));
}

/// Tests at quarters until October 2026, each with its one-minute reading and its polarization index.
fn with_index(tests: &[(f64, f64)]) -> Vec<TestRecord> {
    let mut rows = quarterly(&tests.iter().map(|(r60, _)| *r60).collect::<Vec<_>>());
    for (row, (r60, pi)) in rows.iter_mut().zip(tests).filter(|(_, (_, pi))| *pi > 0.0) {
        let on = row.tested_on.date.to_string();
        let event = row.event.map_or("", crate::record::Event::word).to_owned();
        let (r60, r600) = (r60.to_string(), (r60 * pi).to_string());
        *row = test(&[
            ("tested_on", &on),
            ("r_60s", &r60),
            ("r_600s", &r600),
            ("winding_temp_c", "25"),
            ("event", &event),
        ]);
    }
    rows
}

fn judged(tests: Vec<TestRecord>, nameplate: Nameplate) -> SeriesAssessment {
    judge_all(tests, nameplate).remove(0).assessment
}

#[test]
fn an_index_that_is_low_again_needs_work_and_no_further_test() {
    let again = judged(with_index(&[(900.0, 2.6), (950.0, 2.5), (900.0, 1.7), (930.0, 1.6)]), form_wound(None));
    assert_eq!(again.action, Action::Plan);
    assert_eq!(
        message(&again, Code::LowAbsorption),
        "On 2026-10-20 the polarization index R600/R60 was 1.6, below the least value of 2, as at all 2 tests with it since 2026-07-21: the repeat has been made; clean and dry the winding."
    );
    // Tests of one minute between and after take nothing back, and a good index does.
    let later = judged(with_index(&[(900.0, 1.7), (950.0, 0.0), (900.0, 1.6), (930.0, 0.0)]), form_wound(None));
    assert_eq!(later.action, Action::Plan);
    assert_eq!(
        message(&later, Code::LowAbsorption),
        "On 2026-07-21 the polarization index R600/R60 was 1.6, below the least value of 2, as at all 2 tests with it since 2026-01-20: the \
         repeat has been made; clean and dry the winding."
    );
    let once = judged(with_index(&[(900.0, 1.7), (950.0, 2.4), (900.0, 1.7)]), form_wound(None));
    assert_eq!(once.action, Action::Recheck);
    let cleaned = judged(with_index(&[(900.0, 1.7), (950.0, 1.6), (900.0, 2.1)]), form_wound(None));
    assert_eq!((cleaned.action, message(&cleaned, Code::LowAbsorption)), (Action::Keep, ""));
    // Cleaning in between begins the count again.
    let mut cleaned = with_index(&[(900.0, 1.7), (950.0, 1.6)]);
    cleaned[1].event = Some(crate::record::Event::Cleaned);
    assert_eq!(judged(cleaned, form_wound(None)).action, Action::Recheck);
}

/// From memory: TM 5-683 ch. 14 calls an index below 1 dangerous.
#[test]
fn an_index_below_one_holds_the_winding() {
    for (r60, r600, pi) in [("400", "340", "0.85"), ("1200", "1188", "0.99"), ("80", "20", "0.25")] {
        let falls = index(None, r60, r600);
        assert_eq!(falls.action, Action::Hold, "{r60} {r600}");
        let [from, to] = [r60, r600].map(|mohm| Resistance::from_megohms(mohm.parse().unwrap()).unwrap());
        assert_eq!(
            message(&falls, Code::IndexBelowOne),
            format!(
                "On 2026-10-20 the resistance fell while the voltage was on, from {from} after one minute to {to} after ten (polarization index {pi}): the leakage grows under voltage, as in wet or tracking insulation. Do not energise it; clean and dry it, then test again."
            )
        );
    }
    assert_eq!(message(&index(None, "300", "300"), Code::IndexBelowOne), "");
    // Where absorption is small by construction 0.96 is two equal readings, and 0.7 is none.
    let armature = |r600: &str| {
        let nameplate = Nameplate { construction: Some(Construction::DcArmature), ..form_wound(None) };
        judged(one_test(&[("r_60s", "300"), ("r_600s", r600)]), nameplate).action
    };
    assert_eq!([armature("288"), armature("210")], [Action::Gather, Action::Hold]);
    // Beyond 5 GΩ after ten minutes too it is the tester's last digit; down from there it is not.
    assert_eq!(message(&index(None, "20000", "18000"), Code::IndexBelowOne), "");
    assert_ne!(message(&index(None, "6000", "900"), Code::IndexBelowOne), "");
    // A test of one minute later does not take it back.
    let later = judged(with_index(&[(900.0, 2.4), (900.0, 0.8), (950.0, 0.0)]), form_wound(None));
    assert_eq!(later.action, Action::Hold);
}

/// IEEE Std 43 cl. 12.1 (from memory): above 10 MVA both must pass.
#[test]
fn a_large_machine_must_pass_by_both() {
    use crate::units::Power;
    let of = |kilowatts: f64, cells: &[(&str, &str)]| {
        let nameplate = Nameplate { rated_power: Power::from_kilowatts(kilowatts).ok(), ..form_wound(None) };
        judged(one_test(cells), nameplate)
    };
    let low = [("r_60s", "900"), ("r_600s", "1620")];
    let large = of(12_000.0, &low);
    assert_eq!(large.action, Action::Hold);
    assert_eq!(large.next_test.why, "before the winding is energised: its polarization index does not let it run");
    assert_eq!(
        message(&large, Code::LowAbsorption),
        "On 2026-10-20 the polarization index R600/R60 was 1.8, below the least value of 2: damp or dirt is likely. A machine of this size must pass by resistance and by index before it runs."
    );
    assert_eq!(of(4000.0, &low).action, Action::Recheck);
    let missing = of(8500.0, &[("r_60s", "900")]);
    assert_eq!(missing.action, Action::Recheck);
    assert_eq!(
        message(&missing, Code::IndexMissing),
        "A machine of 8500 kW must pass by resistance and by polarization index, and no test of ten minutes was made in the year up to 2026-10-20: hold the voltage for ten minutes."
    );
    assert_eq!(of(8500.0, &[("r_60s", "7000")]).action, Action::Gather);
    assert_eq!(of(4000.0, &[("r_60s", "900")]).action, Action::Gather);
    assert_eq!(of(12_000.0, &[("r_60s", "900"), ("r_600s", "2700")]).action, Action::Gather);
}

/// IEEE Std 43-2000 cl. 12.2: above 8 the insulation may be dry and brittle.
#[test]
fn a_very_high_index_is_said_of_old_insulation() {
    let of = |year: Option<i32>, insulation, r600: &str| {
        let nameplate = Nameplate { year_made: year, insulation, ..form_wound(None) };
        let found = judged(one_test(&[("r_60s", "400"), ("r_600s", r600)]), nameplate);
        message(&found, Code::HighIndex).to_owned()
    };
    assert_eq!(
        of(Some(1961), Insulation::Thermoplastic, "3800"),
        "On 2026-10-20 the polarization index R600/R60 was 9.5, above 8: insulation of this age may be dry and brittle. Look at it before it is cleaned or moved."
    );
    for (year, insulation, r600) in
        [(None, Insulation::Unknown, ">3600"), (Some(1984), Insulation::Thermosetting, "3600")]
    {
        assert_eq!(
            of(year, insulation, r600),
            "On 2026-10-20 the polarization index R600/R60 was 9, above 8: insulation of this age may be dry and brittle. Look at it before it is cleaned or moved."
        );
    }
    assert_eq!(of(Some(1961), Insulation::Thermoplastic, "3200"), "");
    assert_eq!(of(Some(2004), Insulation::Thermosetting, "3800"), "");
}

#[test]
fn a_ratio_that_falls_by_a_third_of_its_own_level_is_said() {
    let of = |indices: &[f64]| {
        let tests: Vec<(f64, f64)> = indices.iter().zip(steady(1000.0, 5)).map(|(pi, r60)| (r60, *pi)).collect();
        judged(with_index(&tests), form_wound(None))
    };
    let fallen = of(&[4.8, 5.2, 5.0, 5.1, 3.1]);
    assert_eq!(fallen.action, Action::Shorten);
    assert_eq!(
        message(&fallen, Code::RatioFallen),
        "The polarization index R600/R60 of 2026-10-20 was 3.1, 39 % below its own usual 5.05 of 4 tests since 2025-10-21."
    );
    assert_eq!(message(&of(&[4.8, 5.2, 5.0, 5.1, 3.5]), Code::RatioFallen), "");
    assert_eq!(message(&of(&[5.0, 3.0]), Code::RatioFallen), "");
    let dar = |last: &str| {
        let mut rows: Vec<TestRecord> = quarterly(&[300.0; 4]);
        for (row, r30) in rows.iter_mut().zip(["200", "205", "198", last]) {
            let on = row.tested_on.date.to_string();
            *row = test(&[("tested_on", &on), ("r_30s", r30), ("r_60s", "300"), ("winding_temp_c", "25")]);
        }
        judged(rows, nameplate())
    };
    assert_eq!(
        message(&dar("300"), Code::RatioFallen),
        "The absorption ratio R60/R30 of 2026-10-20 was 1, 33 % below its own usual 1.5 of 3 tests since 2026-01-20."
    );
    assert_eq!(message(&dar("270"), Code::RatioFallen), "");
}
