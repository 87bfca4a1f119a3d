//! The words of findings and actions, and what is said of results in words.

use super::*;
use crate::resistance::Measured;
use std::collections::BTreeSet;

#[test]
fn every_code_has_its_own_word() {
    for (code, word) in Code::WORDS {
        assert_eq!(code.word(), *word);
        assert_eq!(code.to_string(), *word);
        assert!(word.chars().all(|letter| letter.is_ascii_lowercase() || letter == '-'), "{word}");
    }
    let words: BTreeSet<&str> = Code::WORDS.iter().map(|(_, word)| *word).collect();
    assert_eq!(words.len(), Code::WORDS.len());
    assert_eq!(Code::BelowMinimum.to_string(), "below-minimum");
    assert!(Code::BelowMinimum < Code::Overdue, "weightiest first");
}

#[test]
fn actions_are_read_back_from_their_words() {
    for action in Action::ALL {
        assert_eq!(Action::read(&format!(" {} ", action.to_string().to_uppercase())), Some(action));
        assert!(!action.meaning().ends_with('.'));
    }
    assert_eq!(Action::read("wait"), None);
    assert_eq!(Action::Hold.word(), "hold");
    assert_eq!(Action::Hold.meaning(), "keep out of service until a qualified person has decided");
    assert_eq!(
        Action::ALL.map(Action::word),
        ["hold", "plan", "recheck", "shorten", "keep", "gather"],
        "most urgent first"
    );
}

#[test]
fn a_number_that_is_not_finite_is_unknown() {
    assert_eq!(Evidence::from(2.5), Evidence::Number(2.5));
    assert_eq!(Evidence::from(f64::NAN), Evidence::Unknown);
    assert_eq!(Evidence::from(f64::INFINITY), Evidence::Unknown);
    assert_eq!(Evidence::from("said"), Evidence::from("said".to_owned()));
}

#[test]
fn a_series_is_named_by_what_is_unusual_about_it() {
    let named = |cells: &[(&str, &str)]| {
        let row = [("tested_on", "2026-10-20"), ("r_60s", "100"), ("winding_temp_c", "40")];
        judge(vec![test(&[&row[..], cells].concat())]).name()
    };
    assert_eq!(named(&[]), "P-1");
    assert_eq!(named(&[("connection", "U-earth")]), "P-1 U-earth");
    assert_eq!(named(&[("scope", "winding+cable")]), "P-1 with cable");
    assert_eq!(named(&[("scope", "cable"), ("connection", "U-earth")]), "P-1 U-earth cable alone");
    assert_eq!(named(&[("scope", "circuit"), ("connection", "L1-PE")]), "P-1 L1-PE");
    assert_eq!(named(&[("scope", "circuit"), ("connection", "L2-L1")]), "P-1 L1-L2");
}

/// At 40 °C the correction is 1, so the value at the reference temperature is the cell.
#[test]
fn the_latest_value_stays_the_bound_it_was() {
    let latest = |cell: &str| {
        judge(vec![test(&[("tested_on", "2026-10-20"), ("r_60s", cell), ("winding_temp_c", "40")])])
            .latest_at_reference()
    };
    let hundred = Resistance::from_megohms(100.0).unwrap();
    assert_eq!(latest("100"), Some(Measured::Exact(hundred)));
    assert_eq!(latest(">100"), Some(Measured::Above(hundred)));
    assert_eq!(latest("<100"), Some(Measured::Below(hundred)));
    assert_eq!(latest("OL"), Some(Measured::OffScale));
    let unread = judge(vec![test(&[("tested_on", "2026-10-20"), ("r_30s", "300")])]);
    assert_eq!(unread.latest_at_reference(), None);
}

#[test]
fn why_a_stretch_begins_has_a_word() {
    let words = [SinceReason::FirstTest, SinceReason::Event, SinceReason::LevelShift].map(SinceReason::word);
    assert_eq!(words, ["first-test", "event", "level-shift"]);
}

#[test]
fn the_level_is_known_from_the_beginning_of_the_stretch_on() {
    let judgement = judge_all(quarterly(&steady(200.0, 12)), nameplate()).remove(0);
    let since = judgement.assessment.trend.as_ref().unwrap().since;
    assert_eq!(judgement.level_at(since.pred_opt().unwrap()), None);
    for on in [since, day(AS_OF)] {
        let level = judgement.level_at(on).unwrap();
        assert!(level.low < level.median && level.median < level.high, "{level:?}");
    }
    let median = judgement.level_at(day(AS_OF)).unwrap().median.as_megohms();
    let summary = judgement.assessment.trend.as_ref().unwrap().level_mohm.unwrap();
    assert!((median / summary - 1.0).abs() < 1e-9, "{median} {summary}");
    assert_eq!(judgement.law_used(), crate::temperature::TemperatureLaw::Thermosetting.into());
}
