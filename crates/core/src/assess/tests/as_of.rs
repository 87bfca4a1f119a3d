//! What was tested after the as-of date changes nothing but the count of such tests.

use super::*;
use proptest::prelude::*;

/// One test: days from the as-of date, the winding, the connection, the reading, its temperature if known, what came before it.
type Drawn = (i64, bool, usize, f64, Option<i32>, &'static str);

const EVENTS: [&str; 8] = ["rewound", "replaced", "commissioned", "cleaned", "dried", "repaired", "flooded", "drying"];

fn drawn(days: std::ops::Range<i64>) -> impl Strategy<Value = Drawn> {
    let temperature = prop::option::weighted(0.7, 5..70_i32);
    let event = prop_oneof![9 => Just(""), 2 => prop::sample::select(EVENTS.to_vec())];
    (days, any::<bool>(), 0..4_usize, 0.5..4.0_f64, temperature, event)
}

fn record((days, first, connection, log10_mohm, temperature, event): &Drawn) -> TestRecord {
    let on = day(AS_OF).checked_add_signed(chrono::TimeDelta::days(*days)).unwrap().to_string();
    let (r60, celsius) = (format!("{:.4}", 10f64.powf(*log10_mohm)), temperature.map(|t| t.to_string()));
    test(&[
        ("winding", if *first { "P-1" } else { "P-2" }),
        ("tested_on", &on),
        ("connection", ["all-earth", "U-earth", "V-earth", "W-earth"][*connection]),
        ("r_60s", &r60),
        ("winding_temp_c", celsius.as_deref().unwrap_or("")),
        ("event", event),
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
    #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]
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

/// A phase reads far less than all phases did: nothing that is done to the winding later explains that.
#[test]
fn work_after_the_as_of_date_takes_nothing_back() {
    let on = |day: &str, connection: &str, r60: &str, event: &str| {
        let cells = [("winding", "P-1"), ("tested_on", day), ("connection", connection), ("r_60s", r60)];
        test(&[&cells[..], &[("winding_temp_c", "40"), ("event", event)]].concat())
    };
    let before = vec![
        on("2025-11-05", "U-earth", "210", ""),
        on("2026-02-05", "U-earth", "205", ""),
        on("2026-05-05", "U-earth", "207", ""),
        on("2026-08-05", "U-earth", "204", ""),
        on("2026-10-05", "all-earth", "900", ""),
        on("2026-11-05", "U-earth", "206", ""),
    ];
    let phase = |tests: Vec<TestRecord>| judged(tests).into_iter().find(|one| one.connection == "U-earth").unwrap();
    let known = phase(before.clone());
    assert_eq!(known.action, Action::Recheck, "{:?}", known.findings);
    for event in EVENTS {
        let later = [before.clone(), vec![on("2027-07-01", "U-earth", "300", event)]].concat();
        assert_eq!(phase(later), known, "{event}");
    }
}
