//! What is drawn where.

use super::super::recorder::{Kind, record};
use super::super::samples::{NAMES, Sample, mohm, row};
use super::super::{DEFAULT_DPI, Size, render_png, render_svg, theme};
use super::*;
use groundwall::assess::{Action, LeftOut};
use groundwall::resistance::Measured;
use proptest::prelude::*;

const TIMES: [f64; 6] = [15.0, 30.0, 60.0, 120.0, 300.0, 600.0];
const SIZES: [(u32, u32, u32); 5] =
    [(1200, 800, 150), (600, 400, 150), (2400, 1600, 300), (1000, 1400, 150), (3000, 500, 150)];

/// So many tests, each with 1/R = 1/leakage + t^−0.6/level, the level falling from test to test.
fn tests_of(name: &str, count: u32) -> (Sample, Vec<TestRecord>) {
    let mut sample = Sample::new(name, Action::Recheck, "2026-11-25");
    let mut rows = Vec::new();
    for i in 0..count {
        let when = format!("20{:02}-0{}-15", 10 + i % 16, 1 + i / 16);
        let law = |t: f64| 1.0 / (1.0 / 20_000.0 + t.powf(-0.6) / (60.0 - f64::from(i)));
        let timed: Vec<(f64, Measured)> = TIMES.iter().map(|t| (*t, Measured::Exact(mohm(law(*t))))).collect();
        sample = sample.test(&when, timed[2].1, Some(0.5));
        rows.push(row(&when, &timed));
    }
    (sample, rows)
}

/// The timed readings of a test, as `row` takes them.
fn timed(test: &TestRecord) -> Vec<(f64, Measured)> {
    test.readings().iter().map(|reading| (reading.elapsed.as_seconds(), reading.value)).collect()
}

/// The same test with other readings.
fn again(test: &TestRecord, timed: &[(f64, Measured)]) -> TestRecord {
    row(&test.tested_on().to_string(), timed)
}

fn picture((sample, rows): &(Sample, Vec<TestRecord>)) -> AbsorptionPicture {
    AbsorptionPicture::new(&sample.judgement, rows, &sample.context).expect("a ten-minute test")
}

#[test]
fn every_ten_minute_test_is_a_curve_with_its_ratios_and_its_law() {
    let picture = picture(&tests_of("R-1", 3));
    assert_eq!(picture.curves.len(), 3);
    assert!(
        picture.words.title.starts_with("R-1: PI ") && picture.words.title.contains(" and DAR "),
        "{}",
        picture.words.title
    );
    assert!(picture.words.title.ends_with(" in Jan 2010"), "{}", picture.words.title);
    assert!(
        picture
            .words
            .subtitle
            .contains("At the latest test a steady leakage of 20 GΩ (20 GΩ to 20 GΩ) as read holds the rise back."),
        "{}",
        picture.words.subtitle
    );
    for curve in &picture.curves {
        assert_eq!((curve.readings.len(), curve.law.len()), (6, 49));
        // Half of the readings' value: the correction moves readings and law together.
        let (first, last) = (curve.readings[0], curve.readings[5]);
        assert!((curve.law[0].1 - first.value.expect("exact")).abs() < 1e-6);
        assert!((curve.law[48].1 - last.value.expect("exact")).abs() < 1e-6);
    }
    let (record, _) = record(&picture, Size::default(), DEFAULT_DPI);
    for text in ["1 min", "10 min", "PI", "DAR", &picture.curves[2].pi, &picture.curves[2].dar, "15 Jan 2012"] {
        assert!(record.says(text), "{text} is missing");
    }
    let level = (theme::LEVEL.0, theme::LEVEL.1, theme::LEVEL.2);
    let laws = record.shapes.iter().filter(|s| s.kind == Kind::Path && s.points.len() > 20 && s.color == level);
    assert_eq!(laws.count(), 1, "the latest law alone is in the colour of levels");
}

#[test]
fn without_a_ten_minute_test_there_is_no_picture() {
    let (sample, rows) = tests_of("R-1", 2);
    let rows: Vec<TestRecord> = rows.iter().map(|test| again(test, &timed(test)[..5])).collect();
    assert!(AbsorptionPicture::new(&sample.judgement, &rows, &sample.context).is_none());
    let (mut sample, rows) = tests_of("R-1", 2);
    for test in &mut sample.judgement.tests {
        test.left_out = Some(LeftOut::LeadCheckFailed);
    }
    assert!(AbsorptionPicture::new(&sample.judgement, &rows, &sample.context).is_none());
}

#[test]
fn bounds_are_arrows_and_ratios_of_bounds_say_so() {
    let (sample, mut rows) = tests_of("R-1", 2);
    let mut above = timed(&rows[1]);
    above[5].1 = Measured::Above(mohm(2000.0));
    rows[1] = again(&rows[1], &above);
    let picture = picture(&(sample, rows));
    assert!(picture.curves[1].pi.starts_with("> ") && picture.words.title.contains("PI > "), "{}", picture.words.title);
    assert!((picture.curves[1].law[48].0 - 300f64.log10()).abs() < 1e-9, "no law beyond the last exact reading");
    let (record, _) = record(&picture, Size::default(), DEFAULT_DPI);
    let ink = (theme::INK.0, theme::INK.1, theme::INK.2);
    let heads = record.shapes.iter().filter(|s| s.kind == Kind::Polygon && s.color == ink).count();
    assert_eq!(heads, 2, "the reading and the legend");
}

#[test]
fn no_text_meets_another_or_leaves_the_page() {
    for name in NAMES {
        for count in [1, 2, 7, 60] {
            let picture = picture(&tests_of(name, count));
            for (width, height, dpi) in SIZES {
                let (record, page) = record(&picture, Size { width, height }, dpi);
                assert_eq!(record.misplaced(page), None, "{name} {count} {width}×{height}");
                assert!(record.least_text >= 15.4);
            }
        }
    }
}

#[test]
fn the_same_tests_give_the_same_bytes_and_names_stay_text() {
    let once = picture(&tests_of(NAMES[1], 9));
    let png = || render_png(&once, Size::default(), DEFAULT_DPI).expect("a picture");
    let other = picture(&tests_of(NAMES[1], 9));
    let again = std::thread::spawn(move || render_png(&other, Size::default(), DEFAULT_DPI).expect("a picture"));
    assert!(png() == again.join().expect("no panic"));
    let svg = render_svg(&once, Size::default(), DEFAULT_DPI).expect("a picture");
    assert!(svg.contains("&lt;script&gt;") && !svg.contains("<script"));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, ..ProptestConfig::default() })]

    #[test]
    fn no_readings_stop_the_pen_or_make_labels_meet(
        tests in prop::collection::vec((prop::collection::vec((-6.0f64..8.0, 0u8..8), 12), prop::option::of(0.01f64..100.0)), 1..30),
        name in ".{0,60}",
    ) {
        let mut sample = Sample::new(&name, Action::Keep, "2026-11-25");
        let mut rows = Vec::new();
        for (i, (values, kt)) in tests.iter().enumerate() {
            let when = format!("20{:02}-05-05", i % 26);
            let times = [1.0, 15.0, 30.0, 60.0, 120.0, 180.0, 240.0, 300.0, 420.0, 600.0, 900.0, 7200.0];
            let timed: Vec<(f64, Measured)> = times.iter().zip(values).map(|(t, (log10, says))| {
                let r = mohm(10f64.powf(*log10).clamp(1e-6, 1e8));
                (*t, match says {
                    0 => Measured::Above(r),
                    1 => Measured::Below(r),
                    2 => Measured::OffScale,
                    _ => Measured::Exact(r),
                })
            }).collect();
            sample = sample.test(&when, timed[3].1, *kt);
            rows.push(row(&when, &timed));
        }
        let picture = picture(&(sample, rows));
        prop_assert!(picture.span.0 < picture.span.1);
        let small = render_png(&picture, Size { width: 400, height: 300 }, 100);
        prop_assert!(small.is_ok());
        let (record, page) = record(&picture, Size::default(), DEFAULT_DPI);
        prop_assert_eq!(record.misplaced(page), None);
    }
}
