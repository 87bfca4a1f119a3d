//! What was tested after the as-of date changes nothing but the count of such tests.

use super::*;
use proptest::prelude::*;

/// One test: days from the as-of date, the winding, the connection, the reading, its temperature if known, whether work came before it.
type Drawn = (i64, bool, usize, f64, Option<i32>, bool);

fn drawn(days: std::ops::Range<i64>) -> impl Strategy<Value = Drawn> {
    let temperature = prop::option::weighted(0.7, 5..70_i32);
    (days, any::<bool>(), 0..4_usize, 0.5..4.0_f64, temperature, prop::bool::weighted(0.05))
}

fn record((days, first, connection, log10_mohm, temperature, work): &Drawn) -> TestRecord {
    let on = day(AS_OF).checked_add_signed(chrono::TimeDelta::days(*days)).unwrap().to_string();
    let (r60, celsius) = (format!("{:.4}", 10f64.powf(*log10_mohm)), temperature.map(|t| t.to_string()));
    test(&[
        ("winding", if *first { "P-1" } else { "P-2" }),
        ("tested_on", &on),
        ("connection", ["all-earth", "U-earth", "V-earth", "W-earth"][*connection]),
        ("r_60s", &r60),
        ("winding_temp_c", celsius.as_deref().unwrap_or("")),
        ("event", if *work { "dried" } else { "" }),
    ])
}

/// The judgements without what is said of later tests.
fn judged(tests: Vec<TestRecord>) -> Vec<SeriesAssessment> {
    let register = Register::from([("P-1".to_owned(), nameplate()), ("P-2".to_owned(), nameplate())]);
    let terms =
        Terms { policy: Policy::default(), as_of: day(AS_OF), confidence: Confidence::from_fraction(0.9).unwrap() };
    assess_fleet(Series::collect(tests), &register, &terms, &InTurn, |judgement| {
        let mut assessment = judgement.assessment;
        assessment.findings.retain(|finding| finding.code != Code::FutureTest);
        assessment
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]
    #[test]
    fn later_tests_change_no_judgement(
        past in prop::collection::vec(drawn(-2500..1), 1..40),
        future in prop::collection::vec(drawn(1..800), 1..20),
    ) {
        let before: Vec<TestRecord> = past.iter().map(record).collect();
        let known: Vec<_> = before.iter().map(|test| (test.winding.clone(), test.connection.to_string())).collect();
        let all: Vec<TestRecord> = before.iter().cloned().chain(future.iter().map(record)).collect();
        let mut found = judged(all);
        // A phase that is tested after the as-of date only is one more series, and no sister of the others yet.
        found.retain(|series| known.contains(&(series.winding.clone(), series.connection.clone())));
        prop_assert_eq!(found, judged(before));
    }
}
