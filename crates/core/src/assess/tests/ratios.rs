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
        ..plate()
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
    assert!(
        message(&index(Some("A"), "300", "440"), Code::LowAbsorption)
            .contains(" was 1.47, below the least value of 1.5:")
    );
    assert!(
        message(&index(Some("B"), "300", "590"), Code::LowAbsorption)
            .contains(" was 1.97, below the least value of 2:")
    );
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
            "The polarization index of 2026-10-20, 1.2, is no measure of condition here: the one-minute resistance, 6 GΩ, is above 5 GΩ."
        );
    }
    let random = judge_all(one_test(&[("r_60s", "300"), ("r_600s", "360")]), plate()).remove(0).assessment;
    assert_eq!(message(&random, Code::LowAbsorption), "");
    assert_eq!(
        message(&random, Code::RatioNotMeaningful),
        "The polarization index of 2026-10-20, 1.2, is no measure of condition here: in a random-wound stator absorption is over within seconds."
    );
}

#[test]
fn the_absorption_ratio_is_judged_where_the_site_has_a_least_value() {
    let ratio = |dar_minimum, r60: &str| {
        let register = Register::from([("P-1".to_owned(), plate())]);
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
        "On 2026-10-20 the absorption ratio R60/R30 was 1.2, below the site's own least value of 1.25."
    );
    assert_eq!(low.latest.unwrap().dar, Some(1.2));
}
