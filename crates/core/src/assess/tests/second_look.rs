//! What neither a lower reading nor a rejected row makes milder. Source: the principle itself, on numbers of our own.

use super::*;
use crate::record::KeptOut;

/// Tests at 30 °C and 1000 V up to 15 July 2026, each with a reading after one minute and one three times as high after ten; then a row.
fn with_row(before: &[&str], row: &[(&str, &str)], kept_out: Option<KeptOut>) -> Vec<TestRecord> {
    let days = quarterly(&vec![1.0; before.len() + 1]);
    let at_1000 = [("winding_temp_c", "30"), ("test_volts", "1000")];
    let earlier = days.iter().zip(before).map(|(day, r60)| {
        let on = day.tested_on.date.to_string();
        let after_ten = (3.0 * r60.parse::<f64>().unwrap()).to_string();
        test(&[&[("tested_on", &on[..]), ("r_60s", *r60), ("r_600s", &after_ten)][..], &at_1000].concat())
    });
    let mut latest = test(row);
    latest.kept_out = kept_out;
    earlier.chain([latest]).collect()
}

fn judged(tests: Vec<TestRecord>, nameplate: Nameplate) -> SeriesAssessment {
    judge_all(tests, nameplate).remove(0).assessment
}

const STEADY: [&str; 4] = ["900", "930", "880", "910"];

/// The row was rejected for its temperature, which is blank here; what else it says counts against the winding.
#[test]
fn what_a_rejected_row_says_counts_as_if_its_faulty_cell_were_blank() {
    let index_below_one = [("tested_on", "2026-10-20"), ("r_60s", "850"), ("r_600s", "700"), ("test_volts", "1000")];
    let rejected = judged(with_row(&STEADY, &index_below_one, Some(KeptOut::Rejected)), form_wound());
    assert_eq!(
        (rejected.action, message(&rejected, Code::RowKeptOut)),
        (
            Action::Hold,
            "A row of 2026-10-20 was rejected; with what can be read of it the answer is hold. On 2026-10-20 the resistance fell while the \
             voltage was on, from 850 MΩ after one minute to 700 MΩ after ten (polarization index 0.824): the leakage grows under voltage, \
             as in wet or tracking insulation. Do not energise it; clean and dry it, then test again. Correct what was rejected from the \
             test sheet, or repeat the test before the winding is energised."
        )
    );
    assert_eq!(rejected.next_test.why, "before the winding is energised: a row that was kept out speaks against it");

    let low = |on, r60| [("tested_on", on), ("r_60s", r60), ("winding_temp_c", "30"), ("test_volts", "1000")];
    let fell = |first: Option<KeptOut>, second| {
        let mut tests = with_row(&STEADY, &low("2026-10-20", "290"), first);
        let mut latest = test(&low("2026-11-10", "280"));
        latest.kept_out = second;
        tests.push(latest);
        judged(tests, form_wound())
    };
    let believed = fell(None, None);
    for (first, second) in [(None, Some(KeptOut::Rejected)), (Some(KeptOut::Rejected), Some(KeptOut::Rejected))] {
        let kept_out = fell(first, second);
        assert_eq!(
            (kept_out.action, kept_out.must_not_be_energised()),
            (Action::Plan, true),
            "{:?}",
            kept_out.findings
        );
        assert!(kept_out.action <= believed.action);
    }
    assert_eq!(
        message(&fell(Some(KeptOut::Rejected), Some(KeptOut::Rejected)), Code::RowKeptOut),
        "Rows of 2026-10-20 and 2026-11-10 were rejected; with what can be read of them the answer is plan. The latest 2 readings are lower by \
         a factor of 3.18 than usual before them; as they agree, the fall is real; before it is started again, look for the cause: water, a \
         heater that failed, a leaking cooler, dirt, or the terminal box. Correct what was rejected from the test sheet, or repeat the test \
         before the winding is energised."
    );
}

/// A very low reading may be taken for an outlier, and the trend then leads nowhere; a less low one leads to the minimum.
#[test]
fn a_lower_latest_reading_never_has_a_milder_answer() {
    let histories: [(&[&str], Nameplate); 5] = [
        (&STEADY, nameplate()),
        (&["1340", "1200", "1330", "1240", "1080", "1190"], form_wound()),
        (&["60", "55", "63", "57", "52", "49", "58", "51"], nameplate()),
        (&["260", "240", "300", "250", "240", "210", "190", "270", "250", "320"], nameplate()),
        (&["40", "38", "41"], nameplate()),
    ];
    let factors: Vec<f64> = (0..80).map(|step| 10f64.powf(-0.05 * f64::from(step))).collect();
    for (before, nameplate) in &histories {
        let usual: f64 = before.last().unwrap().parse().unwrap();
        let answers = factors.iter().map(|factor| {
            let latest = format!("{:.3}", usual * factor);
            let row = [("tested_on", "2026-10-20"), ("r_60s", &latest[..]), ("winding_temp_c", "30")];
            let result = judged(with_row(before, &row, None), nameplate.clone());
            (result.action, !result.must_not_be_energised(), latest)
        });
        let answers: Vec<(Action, bool, String)> = answers.collect();
        for pair in answers.windows(2) {
            assert!((pair[1].0, pair[1].1) <= (pair[0].0, pair[0].1), "{before:?}: {pair:?}");
        }
    }
}

#[test]
fn the_higher_reading_that_would_be_answered_more_urgently_is_named() {
    let row = [("tested_on", "2026-10-20"), ("r_60s", "120"), ("winding_temp_c", "30"), ("test_volts", "1000")];
    let result = judged(with_row(&STEADY, &row, None), nameplate());
    assert_eq!(
        (result.action, result.must_not_be_energised(), message(&result, Code::FallSinceLast)),
        (
            Action::Plan,
            true,
            "The latest reading is lower by a factor of 6.9 than the earlier ones led to expect; chance does that rarely, less than once in \
             100 tests; do not start it until the test is repeated. Had it been 228 MΩ, the answer would be plan (reaches-minimum); a lower \
             reading makes no answer milder, so that stands."
        )
    );
}
