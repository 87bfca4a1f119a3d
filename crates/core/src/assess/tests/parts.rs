//! A fleet surveyed, learnt from and judged in parts gives what it gives in one piece, and what does not fit together is refused.

use super::*;
use crate::series::SeriesKey;
use proptest::prelude::*;
use std::collections::BTreeMap;

fn terms() -> Terms {
    Terms { policy: Policy::default(), as_of: day(AS_OF), confidence: Confidence::from_fraction(0.9).unwrap() }
}

/// One winding of a random fleet.
#[derive(Clone, Debug)]
struct Random {
    tests: usize,
    level: f64,
    yearly: f64,
    scatter: Vec<f64>,
    celsius: Vec<u8>,
    group: usize,
    has_phases: bool,
    has_cable: bool,
    rewound: bool,
    copies_last: bool,
    tested_later: bool,
}

fn winding() -> impl Strategy<Value = Random> {
    let readings = (0_usize..12, prop::collection::vec(-0.1..0.1, 12), prop::collection::vec(10_u8..45, 12));
    let trend = (0.5..3.5, -0.4..0.1, 0_usize..4);
    let kinds = (prop::bool::weighted(0.2), prop::bool::weighted(0.1), prop::bool::weighted(0.1));
    let last = (prop::bool::weighted(0.15), prop::bool::weighted(0.2));
    (readings, trend, kinds, last).prop_map(|(readings, trend, kinds, last)| Random {
        tests: readings.0,
        scatter: readings.1,
        celsius: readings.2,
        level: trend.0,
        yearly: trend.1,
        group: trend.2,
        has_phases: kinds.0,
        has_cable: kinds.1,
        rewound: kinds.2,
        copies_last: last.0,
        tested_later: last.1,
    })
}

/// Series of the fleet, in the order of their keys, and its register.
fn fleet(windings: &[Random]) -> (Vec<Series>, Register) {
    let groups = [Some("pumps"), Some("fans"), None, None];
    let (mut tests, mut register) = (Vec::new(), Register::new());
    for (number, random) in windings.iter().enumerate() {
        let name = format!("P-{number:02}");
        let values_of = if random.copies_last && number > 0 { &windings[number - 1] } else { random };
        let connections: &[&str] = if random.has_phases { &["U-earth", "V-earth", "W-earth"] } else { &["all-earth"] };
        if random.group < 3 {
            let group = groups[random.group].map(str::to_owned);
            register.insert(
                name.clone(),
                Nameplate { group, insulation: Insulation::Unknown, year_made: None, ..nameplate() },
            );
        }
        for (at, connection) in connections.iter().enumerate() {
            for k in 0..random.tests.max(1) {
                let on =
                    day("2026-10-20").checked_sub_days(Days::new(91 * (random.tests.max(1) - 1 - k) as u64)).unwrap();
                let level =
                    values_of.level + values_of.yearly * k as f64 / 4.0 + values_of.scatter[k] + 0.02 * at as f64;
                let rewound = random.rewound && k == random.tests / 2 && at == 0;
                tests.push(test(&[
                    ("winding", &name),
                    ("tested_on", &on.to_string()),
                    ("connection", connection),
                    ("scope", if random.has_cable { "cable" } else { "" }),
                    ("r_60s", &format!("{:.3}", 10f64.powf(level))),
                    ("r_10min", &format!("{:.3}", 10f64.powf(level + 0.3))),
                    ("winding_temp_c", &values_of.celsius[k].to_string()),
                    ("event", if rewound { "rewound" } else { "" }),
                ]));
            }
            if random.tested_later {
                tests.push(test(&[
                    ("winding", &name),
                    ("tested_on", "2026-12-20"),
                    ("connection", connection),
                    ("r_60s", "1"),
                ]));
            }
        }
    }
    (Series::collect(tests), register)
}

/// A judgement with everything in it.
fn in_full(judgement: Judgement) -> (SeriesKey, String) {
    let series = &judgement.assessment;
    let key = SeriesKey {
        winding: series.winding.clone(),
        connection: Connection::read(&series.connection),
        scope: Scope::read(&series.scope).unwrap(),
    };
    (key, format!("{judgement:?}"))
}

fn in_parts(series: &[Series], part_of: impl Fn(&str) -> usize) -> Vec<Vec<Series>> {
    let mut parts: BTreeMap<usize, Vec<Series>> = BTreeMap::new();
    for one in series {
        parts.entry(part_of(&one.key.winding)).or_default().push(one.clone());
    }
    parts.into_values().collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    /// Debug writes the shortest digits that give the same bits again, so equal texts are equal to the last bit.
    #[test]
    fn parts_are_judged_as_the_whole(windings in prop::collection::vec(winding(), 1..40), parts in prop::collection::vec(0_usize..4, 40)) {
        let (series, register) = fleet(&windings);
        let terms = terms();
        let whole: BTreeMap<_, _> = assess_fleet(&series, &register, &terms, &InTurn, in_full).into_iter().collect();
        let number = |name: &str| name[2..].parse::<usize>().unwrap();
        let parts = in_parts(&series, |name| parts[number(name)]);
        let surveys = parts.iter().rev().map(|part| Survey::of(part, &register, terms.as_of, &InTurn));
        let choice = Survey::join(surveys).unwrap().choose();
        let chosen: Vec<Series> = series.iter().filter(|one| choice.windings().contains(one.key.winding.as_str())).cloned().collect();
        let learnt = choice.learn(&chosen, &register, &terms, &InTurn).unwrap();
        let judged = parts.iter().flat_map(|part| assess_part(part, &register, &learnt, &terms, &InTurn, in_full).unwrap());
        prop_assert_eq!(judged.collect::<BTreeMap<_, _>>(), whole);
    }

    /// The order in which series are given changes nothing.
    #[test]
    fn the_order_of_the_series_changes_no_judgement(windings in prop::collection::vec(winding(), 1..16)) {
        let (series, register) = fleet(&windings);
        let judged = |series: &Vec<Series>| -> BTreeMap<_, _> {
            assess_fleet(series, &register, &terms(), &InTurn, in_full).into_iter().collect()
        };
        let backwards: Vec<Series> = series.iter().rev().cloned().collect();
        prop_assert_eq!(judged(&backwards), judged(&series));
    }
}

/// Twelve windings with eight tests each, and what they teach.
fn twelve() -> (Vec<Series>, Register, Learnt) {
    let random = |number: usize| Random {
        tests: 8,
        level: 2.0 + 0.05 * number as f64,
        yearly: -0.1,
        scatter: (0..12).map(|k| 0.04 * ((k * 7 + number * 3) % 5) as f64 - 0.08).collect(),
        celsius: (0..12).map(|k| 15 + ((k * 11 + number * 5) % 25) as u8).collect(),
        group: 0,
        has_phases: number == 3,
        has_cable: number == 4,
        rewound: false,
        copies_last: number == 6,
        tested_later: false,
    };
    let (series, register) = fleet(&(0..12).map(random).collect::<Vec<_>>());
    let survey = Survey::of(&series, &register, day(AS_OF), &InTurn);
    let learnt = survey.choose().learn(&series, &register, &terms(), &InTurn).unwrap();
    (series, register, learnt)
}

#[test]
fn a_part_knows_the_group_and_the_copies_of_the_whole() {
    let (series, register, learnt) = twelve();
    assert_eq!(learnt.groups().collect::<Vec<_>>(), [("pumps", 14)]);
    assert_eq!((learnt.as_of(), learnt.windings()), (day(AS_OF), 12));
    let part: Vec<Series> = series.iter().filter(|one| one.key.winding == "P-06").cloned().collect();
    let judged = assess_part(&part, &register, &learnt, &terms(), &InTurn, |judgement| judgement).unwrap().remove(0);
    assert_eq!(judged.background.priors.learnt_from, 14);
    assert_eq!(
        message(&judged.assessment, Code::CopiedRows),
        "The test of 2026-10-20 has exactly the same readings and temperatures as P-05 on that day, as on 7 earlier days since 2025-01-21: one \
         of the two was probably copied."
    );
}

fn refused(series: &Vec<Series>, register: &Register, learnt: &Learnt, terms: &Terms) -> [String; 2] {
    let refusal = assess_part(series, register, learnt, terms, &InTurn, |_| ()).unwrap_err();
    [refusal.to_string(), refusal.hint().to_owned()]
}

#[test]
fn other_terms_other_tests_and_other_groups_are_refused() {
    let (series, register, learnt) = twelve();
    let anew = "learn from the fleet again, or judge with the same settings";
    let policy = Policy { reference_temp: Temperature::from_celsius(20.0).unwrap(), ..Policy::default() };
    assert_eq!(
        refused(&series, &register, &learnt, &Terms { policy, ..terms() }),
        [
            "temperature.reference_c of the policy was 40 when the priors were learnt and is 20; both must be the same",
            anew
        ]
    );
    assert_eq!(
        refused(&series, &register, &learnt, &Terms { as_of: day("2026-11-26"), ..terms() }),
        ["the as-of date was 2026-11-25 when the fleet was surveyed and is 2026-11-26; both must be the same", anew]
    );
    let confidence = Confidence::from_fraction(0.8).unwrap();
    assert_eq!(
        refused(&series, &register, &learnt, &Terms { confidence, ..terms() }),
        ["the confidence was 0.9 when the priors were learnt and is 0.8; both must be the same", anew]
    );
    let with_register =
        "learn from the fleet again, with the histories and the register that are judged, and judge whole windings";
    let mut shorter = series.clone();
    shorter[0].tests.pop();
    assert_eq!(
        refused(&shorter, &register, &learnt, &terms()),
        ["winding P-00 had 8 tests when the fleet was surveyed and has 7; both must be the same", with_register]
    );
    // One phase of a winding alone.
    let phase: Vec<Series> = series.iter().filter(|one| one.key.winding == "P-03").take(1).cloned().collect();
    assert_eq!(
        refused(&phase, &register, &learnt, &terms()),
        ["winding P-03 had 24 tests when the fleet was surveyed and has 8; both must be the same", with_register]
    );
    let mut foreign = series.clone();
    foreign[0].key.winding = "Q-1".to_owned();
    assert_eq!(
        refused(&foreign, &register, &learnt, &terms()),
        ["winding Q-1 has 8 tests and was not in the fleet that was surveyed", with_register]
    );
    assert_eq!(
        refused(&series, &Register::new(), &learnt, &terms()),
        [
            "winding P-00 belongs to the group construction unknown, voltage unknown; the fleet that was surveyed had no such group",
            with_register
        ]
    );
}

#[test]
fn chosen_windings_must_be_there_and_parts_must_have_whole_windings() {
    let (series, register, _) = twelve();
    let survey = |part: &Vec<Series>| Survey::of(part, &register, day(AS_OF), &InTurn);
    let choice = survey(&series).choose();
    assert_eq!(choice.windings().len(), 12);
    let fewer: Vec<Series> = series[1..].to_vec();
    assert_eq!(
        choice.learn(&fewer, &register, &terms(), &InTurn).unwrap_err().to_string(),
        "winding P-00 had 8 tests when the fleet was surveyed and has 0; both must be the same"
    );
    let later = Terms { as_of: day("2026-11-26"), ..terms() };
    assert!(matches!(choice.learn(&series, &register, &later, &InTurn), Err(NotAsLearnt::OtherDay { .. })));
    // The phases of P-03 in two parts.
    let (one, other) = series.split_at(4);
    assert_eq!(one[3].key.winding, other[0].key.winding);
    let refused = Survey::join([survey(&one.to_vec()), survey(&other.to_vec())]).unwrap_err();
    assert_eq!(
        refused.to_string(),
        "winding P-03 is in two parts of the fleet; the tests of a winding are judged together"
    );
    assert_eq!(refused.hint(), "divide the fleet by the name of the winding, and write each name in one way");
    let rows = survey(&series).series().to_vec();
    assert_eq!(Survey::from_series(rows.clone(), day(AS_OF)), Ok(survey(&series)));
    assert!(matches!(
        Survey::from_series([rows.clone(), rows].concat(), day(AS_OF)),
        Err(NotAsLearnt::InTwoParts { .. })
    ));
    assert_eq!(Survey::join([]).unwrap_err().to_string(), "there is no part of a fleet; at least one is surveyed");
}

/// A cable that was tested alone is judged among cables, and teaches them.
#[test]
fn a_series_teaches_the_group_that_it_is_judged_in() {
    let register = Register::from([("P-1".to_owned(), nameplate())]);
    let cable = Series::collect([test(&[("tested_on", "2026-10-20"), ("scope", "cable"), ("r_60s", "100")])]);
    let survey = Survey::of(&cable, &register, day(AS_OF), &InTurn);
    let judged = assess_fleet(&cable, &register, &terms(), &InTurn, |judgement| judgement.assessment.group);
    assert_eq!(judged, [Some(survey.series()[0].group.clone())]);
    assert_eq!(survey.series()[0].group, "cable, below 1 kV");
}

/// A winding that was not in the fleet: what its group taught makes its answer no milder, and other rules are refused.
#[test]
fn a_newcomer_gets_the_more_urgent_of_two_answers() {
    let (_, _, learnt) = twelve();
    let newcomer = Nameplate { group: Some("pumps".to_owned()), insulation: Insulation::Unknown, ..nameplate() };
    for megohms in [3.0, 8.0, 12.0, 40.0, 400.0] {
        let series = Series::collect(quarterly(&[megohms])).remove(0);
        let (alone, beside) =
            (assess(&series, &newcomer, &terms()), assess_beside(&series, &newcomer, &learnt, &terms()).unwrap());
        assert!(beside.assessment.action <= alone.assessment.action, "{megohms}");
    }
    let series = Series::collect(quarterly(&[40.0])).remove(0);
    let earlier = Terms { as_of: day("2026-11-24"), ..terms() };
    let refused = assess_beside(&series, &newcomer, &learnt, &earlier).unwrap_err();
    assert_eq!(
        refused.to_string(),
        "the priors were learnt as of 2026-11-25 and the reading is of 2026-11-24; priors must not be learnt after it"
    );
    assert_eq!(refused.hint(), "take priors that were learnt up to the day of the reading");
    assert!(assess_beside(&series, &newcomer, &learnt, &Terms { as_of: day("2027-02-01"), ..terms() }).is_ok());
    let policy = Policy { horizon_days: 400, ..Policy::default() };
    assert!(matches!(
        assess_beside(&series, &newcomer, &learnt, &Terms { policy, ..terms() }),
        Err(NotAsLearnt::OtherPolicy { .. })
    ));
}

#[cfg(feature = "serde")]
mod written {
    use super::*;

    fn again(text: &str) -> Result<Learnt, String> {
        serde_json::from_str(text).map_err(|error| error.to_string())
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 12, failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn what_was_learnt_is_read_as_it_was_written(windings in prop::collection::vec(winding(), 1..26)) {
            let (series, register) = fleet(&windings);
            let survey = Survey::of(&series, &register, day(AS_OF), &InTurn);
            let learnt = survey.choose().learn(&series, &register, &terms(), &InTurn).unwrap();
            let text = serde_json::to_string(&learnt).unwrap();
            prop_assert_eq!(again(&text).unwrap(), learnt);
        }
    }

    #[test]
    fn numbers_that_cannot_be_learnt_are_refused() {
        let (_, _, learnt) = twelve();
        let text = serde_json::to_string(&learnt).unwrap();
        assert_eq!(again(&text), Ok(learnt));
        let number = |key: &str| {
            let from = text.find(&format!("\"{key}\":\"")).unwrap() + key.len() + 4;
            (from, from + text[from..].find('"').unwrap())
        };
        for (key, value) in [
            ("scatter", "0"),
            ("scatter", "NaN"),
            ("season_sd", "-0.1"),
            ("law_wrong_weight", "1.5"),
            ("scatter_df", "inf"),
        ] {
            let (from, to) = number(key);
            assert!(again(&format!("{}{value}{}", &text[..from], &text[to..])).is_err(), "{key} {value}");
        }
        assert!(again(&text.replace("\"windings\":{", "\"more\":{},\"windings\":{")).is_err());
    }
}
