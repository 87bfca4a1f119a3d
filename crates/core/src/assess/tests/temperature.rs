//! No temperature law explains a fall away. Sources: common practice; the range of laws from memory (`FALLS_PER_10_K`).

use super::*;
use crate::temperature::{FALLS_PER_10_K, TemperatureLaw, UsedLaw};
use crate::units::three_digits;

fn judged(tests: Vec<TestRecord>, nameplate: Nameplate) -> Judgement {
    judge_all(tests, nameplate).remove(0)
}

/// Warm and steady, then colder and lower; the scatter begins elsewhere at every `turn`.
fn collapse(level: f64, warm: usize, turn: usize, cold: &[(f64, f64)]) -> Vec<TestRecord> {
    let kelvins = [0.0, 0.9, -0.7, 0.4, -0.6, 0.8];
    let mut tests: Vec<(f64, f64)> =
        (0..warm).map(|i| (steady(level, 5)[(i + turn) % 5], 38.0 + kelvins[(i + 2 * turn) % 6])).collect();
    tests.extend(cold);
    at_temperatures(&tests)
}

/// In service it was warm and dry; now it stands cold and wet.
#[test]
fn a_winding_that_collapses_in_the_cold_is_planned_before_the_next_start() {
    for (level, warm, cold) in [
        (2500.0, 22, [(700.0, 16.0), (420.0, 12.0)]),
        (2500.0, 10, [(700.0, 16.0), (420.0, 12.0)]),
        (900.0, 16, [(260.0, 21.0), (180.0, 14.0)]),
        (9000.0, 30, [(1500.0, 11.0), (1400.0, 10.0)]),
    ] {
        for turn in 0..6 {
            let result = judged(collapse(level, warm, turn, &cold), form_wound()).assessment;
            assert_eq!(result.action, Action::Plan, "{level} {turn}: {:?}", result.findings);
            assert_eq!(result.next_test.why, "before it is started again, when the cause has been looked for");
            let finding = result.findings.iter().find(|finding| finding.code == Code::FallSinceLast).unwrap();
            let drop = finding.evidence.iter().find_map(|(name, value)| match value {
                Evidence::Number(drop) if *name == "drop_log10" => Some(10f64.powf(drop.abs())),
                _ => None,
            });
            let drop = drop.unwrap();
            assert!(drop > level / cold[0].0, "{drop}: a colder winding reads more");
            let said = |than: &str| {
                format!(
                    "The latest 2 readings are lower by a factor of {} {than}; as they agree, the fall is real; before it is started again, look \
                     for the cause: water, a heater that failed, a leaking cooler, dirt, or the terminal box.",
                    three_digits(drop)
                )
            };
            let how_far = ["beyond", "well beyond", "far beyond"];
            let by_trend = how_far
                .map(|far| said(&format!("than the earlier ones led to expect, {far} the scatter of single tests")));
            let is_said = by_trend.contains(&finding.message) || finding.message == said("than usual before them");
            assert!(is_said, "{level} {warm} {turn}: {}", finding.message);
        }
    }
}

/// The latest, 9 MΩ at 11 °C, is about 6 MΩ at 40 °C, close to the minimum of 5 MΩ.
#[test]
fn a_collapse_in_the_cold_to_the_minimum_is_work_or_worse() {
    for (level, cold) in [
        (300.0, [(20.0, 16.0), (12.0, 12.0), (9.0, 11.0)]),
        (80.0, [(25.0, 20.0), (14.0, 15.0), (9.5, 12.0)]),
        (1200.0, [(15.0, 18.0), (14.0, 14.0), (13.0, 8.0)]),
    ] {
        for turn in 0..6 {
            let result = judged(collapse(level, 20, turn, &cold), nameplate()).assessment;
            assert!(result.action <= Action::Plan, "{level} {turn}: {:?}", result.findings);
            assert!(result.must_not_be_energised(), "{level} {turn}: {:?}", result.findings);
            let level_today = result.trend.unwrap().level_mohm.unwrap();
            assert!(level_today < 20.0, "{level_today} MΩ, which nobody read");
        }
    }
}

#[test]
fn a_winding_that_is_colder_and_reads_less_has_fallen_by_any_law() {
    let of = |warm: &[(f64, f64)], cold: (f64, f64), insulation: Insulation| {
        let tests = [warm, &[cold]].concat();
        judged(at_temperatures(&tests), Nameplate { insulation, year_made: None, ..nameplate() }).assessment
    };
    let said = |latest: &str, factor: &str| {
        format!(
            "The latest reading, {latest} on 2026-10-20, is lower by a factor of {factor} than usual although the winding was colder; colder \
             insulation reads more, so this is a fall by any temperature law: do not start it until the test is repeated."
        )
    };
    let four = [(900.0, 30.0), (920.0, 31.0), (880.0, 29.0), (910.0, 30.0)];
    let six = [(900.0, 30.0), (950.0, 32.0), (870.0, 29.0), (910.0, 31.0), (930.0, 30.0), (890.0, 33.0)];
    let two = [(60.0, 45.0), (63.0, 46.0)];
    let fall = &[Code::FallSinceLast][..];
    let thermosetting = Insulation::Thermosetting;
    all_as_expected(vec![
        (
            "four before",
            of(&four, (400.0, 18.0), thermosetting),
            Action::Recheck,
            fall,
            &said("400 MΩ at 18 °C", "2.26"),
        ),
        ("six before", of(&six, (440.0, 25.0), thermosetting), Action::Recheck, fall, &said("440 MΩ at 25 °C", "2.05")),
        ("two before", of(&two, (30.0, 41.0), thermosetting), Action::Recheck, fall, &said("30 MΩ at 41 °C", "2.05")),
    ]);
    for insulation in [Insulation::Thermoplastic, Insulation::Unknown] {
        let result = of(&six, (410.0, 26.0), insulation);
        assert!(result.action <= Action::Recheck && result.must_not_be_energised(), "{:?}", result.findings);
        assert_eq!(message(&result, Code::FallSinceLast), said("410 MΩ at 26 °C", "2.19"));
    }
    // The test before showed the decline already.
    let declining = [(950.0, 36.0), (990.0, 15.0), (570.0, 36.5), (370.0, 23.5)];
    assert!(!message(&of(&declining, (190.0, 21.0), thermosetting), Code::FallSinceLast).contains("colder insulation"));
    // Colder and higher, less than half lower, or no colder: no such sentence.
    for latest in [(1400.0, 18.0), (480.0, 18.0), (410.0, 27.5)] {
        let result = of(&four, latest, thermosetting);
        assert!(!message(&result, Code::FallSinceLast).contains("colder insulation"), "{latest:?}");
    }
}

/// The limits of the fitted error are taken over the whole range of temperatures, here over the outermost two, decades per 10 K.
const BESIDE: f64 = 1e-3;

/// However the readings lie, what is fitted stays insulation: the resistance falls with temperature, and only so steeply.
#[test]
fn no_fitted_law_leaves_the_range_of_insulation() {
    let between = |low: f64, high: f64| {
        let [low, high] = [low, high].map(|t| Temperature::from_celsius(t).unwrap());
        UsedLaw::from(TemperatureLaw::Thermosetting).fall_per_10_k(low, high).unwrap()
    };
    let (flattest, steepest) = FALLS_PER_10_K;
    for per_10_k in [0.4, 0.2, 0.0, -0.4, -0.7] {
        let tests: Vec<(f64, f64)> = (0..24)
            .map(|i| {
                let celsius = [14.0, 22.0, 34.0, 26.0][i % 4] + 0.3 * (i % 3) as f64;
                (steady(500.0, 5)[i % 5] * 10f64.powf(per_10_k * (celsius - 24.0) / 10.0), celsius)
            })
            .collect();
        let judged = judged(at_temperatures(&tests), form_wound());
        let net = between(14.0, 34.6) - judged.fit.as_ref().unwrap().mean_law_error();
        let is_insulation = (flattest - BESIDE..=steepest + BESIDE).contains(&net);
        assert!(is_insulation || judged.background.law.learnt.is_some(), "{per_10_k}: {net}");
        let learnt = judged.background.law.learnt.map(|_| judged.background.learnt_law.unwrap().halving.as_kelvins());
        let is_insulation = |halving: f64| {
            let fall = 10.0 * std::f64::consts::LOG10_2 / halving;
            (flattest..=steepest).contains(&fall)
        };
        assert!(learnt.is_none_or(is_insulation), "{per_10_k}: halves every {learnt:?} K");
    }
}

/// Twelve readings of one day, hot and cold: a drying out, or a cooling, and no law.
#[test]
fn readings_of_one_day_teach_no_law() {
    let rows = [20, 35, 50, 65, 80, 80, 80, 70, 60, 50, 40, 30];
    let tests = rows.iter().enumerate().map(|(at, celsius)| {
        let r60 = 400.0 * 10f64.powf(-0.25 * (f64::from(*celsius) - 20.0) / 10.0);
        test(&[
            ("tested_on", &format!("2026-10-20 {:02}:00", 6 + at)),
            ("r_60s", &format!("{r60:.3}")),
            ("winding_temp_c", &celsius.to_string()),
        ])
    });
    let judged = judged(tests.collect(), nameplate());
    assert_eq!(judged.background.learnt_law, None);
    assert_eq!(message(&judged.assessment, Code::LawLearnt), "");
}

/// Healthy windings whose true law halves every 12 to 25 K, tested in all seasons: nothing is asked for.
#[test]
fn a_healthy_winding_of_another_law_is_kept() {
    for halving in [12.0, 15.0, 18.0, 25.0] {
        for turn in 0..3 {
            let tests: Vec<(f64, f64)> = (0..20)
                .map(|i| {
                    let celsius = [25.0, 33.0, 25.0, 17.0][i % 4] + [0.0, 1.1, -0.9][(i + turn) % 3];
                    (steady(600.0, 5)[(i + turn) % 5] * 2f64.powf(-(celsius - 40.0) / halving), celsius)
                })
                .collect();
            let result = judged(at_temperatures(&tests), form_wound()).assessment;
            let asked: Vec<_> = result.findings.iter().filter(|finding| finding.asks != Asks::Nothing).collect();
            assert_eq!((result.action, &asked[..]), (Action::Keep, &[][..]), "{halving} {turn}");
        }
    }
}

/// Two laws that lead to two actions: both are in the sentence, and the more urgent one stands.
#[test]
fn laws_that_disagree_are_both_said() {
    let tests = collapse(300.0, 20, 0, &[(20.0, 16.0), (12.0, 12.0), (10.0, 11.0)]);
    let judged = judged(tests, nameplate());
    let [in_use, as_it_stands] = &judged.background.by_law[..] else { unreachable!("{:?}", judged.background.by_law) };
    assert_eq!(judged.assessment.action, Action::Hold);
    assert_eq!((in_use.action, as_it_stands.action), (Action::Plan, Action::Hold));
    assert_eq!(
        message(&judged.assessment, Code::LawsDisagree),
        "The answer depends on the temperature law: plan under the law in use with its fitted error, hold under the law \
         as it stands (thermosetting, two activation branches). The more urgent one is used."
    );
}
