//! What is drawn where.

use super::super::recorder::{Kind, record};
use super::super::samples::{NAMES, Sample, mohm, on};
use super::super::{DEFAULT_DPI, Size, render_png, render_svg, theme};
use super::*;
use groundwall::assess::{Action, LeftOut};
use groundwall::record::Event;
use groundwall::resistance::Measured;
use proptest::prelude::*;

const SIZES: [(u32, u32, u32); 5] =
    [(1200, 800, 150), (600, 400, 150), (2400, 1600, 300), (1000, 1400, 150), (3000, 500, 150)];

fn phase(name: &str, connection: &str, values: &[Measured]) -> Sample {
    let mut sample = Sample::new(name, Action::Shorten, "2026-11-25");
    sample.judgement.assessment.connection = connection.to_owned();
    for (i, value) in values.iter().enumerate() {
        let day = on("2020-01-15") + chrono::Days::new(91 * i as u64);
        sample = sample.test(&day.to_string(), *value, Some(0.8));
    }
    sample
}

fn exact(values: &[f64]) -> Vec<Measured> {
    values.iter().map(|value| Measured::Exact(mohm(*value))).collect()
}

fn picture(samples: &[Sample]) -> Option<PhasesPicture> {
    let judgements: Vec<&Judgement> = samples.iter().map(|sample| &sample.judgement).collect();
    PhasesPicture::new(&judgements, 2.0, &samples[0].context)
}

fn three(name: &str) -> Vec<Sample> {
    vec![
        phase(name, "W-earth", &exact(&[100.0, 80.0, 40.0, 20.0])),
        phase(name, "U-earth", &exact(&[100.0, 100.0, 100.0, 100.0])),
        phase(name, "V-earth", &exact(&[100.0, 90.0, 90.0, 90.0])),
    ]
}

#[test]
fn the_ratio_of_each_day_stands_below_the_phases() {
    let picture = picture(&three("R-2 stator")).expect("three phases");
    assert_eq!(
        picture.words.title,
        "R-2 stator: phase U read 5 times phase W on 14 Oct 2020, above the limit of 2; not compared in the last two years"
    );
    assert_eq!(picture.phases.iter().map(|(phase, _)| phase.to_string()).collect::<String>(), "UVW");
    let ratios: Vec<f64> = picture.ratios.iter().map(|ratio| 10f64.powf(ratio.value)).collect();
    for (found, expected) in ratios.iter().zip([1.0, 1.25, 2.5, 5.0]) {
        assert!((found - expected).abs() < 1e-9, "{ratios:?}");
    }
    let (record, _) = record(&picture, Size::default(), DEFAULT_DPI);
    assert_eq!(record.texts.iter().filter(|(text, _)| text == "W").count(), 2, "the two days above the limit");
    let limit = (theme::LIMIT.0, theme::LIMIT.1, theme::LIMIT.2);
    let lines = record
        .shapes
        .iter()
        .filter(|s| s.kind == Kind::Path && s.color == limit && (s.points[0].0 - s.points[1].0).abs() > 500.0);
    assert_eq!(lines.count(), 2, "the minimum and the limit");
    let at = |text: &str| record.texts.iter().find(|(t, _)| t == text).map(|(_, frame)| frame.top).expect("a text");
    assert!(at("minimum") < at("limit"), "the ratio has the lower panel");
}

/// What stood apart before, however far back, does not fill a headline; what did in the last two years is counted there.
#[test]
fn the_headline_looks_back_two_years() {
    let title = |as_of: &str, values: &[f64]| {
        let mut samples =
            vec![phase("R-2", "W-earth", &exact(values)), phase("R-2", "U-earth", &exact(&vec![100.0; values.len()]))];
        for sample in &mut samples {
            sample.judgement.as_of = on(as_of);
        }
        picture(&samples).expect("two phases").words.title
    };
    // A test every 91 days from 15 January 2020 on; the last of ten is of 13 April 2022.
    let mut values = [100.0, 10.0, 100.0, 100.0, 90.0, 95.0, 80.0, 90.0, 95.0, 97.0];
    assert_eq!(
        title("2022-05-01", &values),
        "R-2: phase U read 1.03 times phase W on 13 Apr 2022, within the limit of 2; at most 1.25 in the last two years"
    );
    values[6] = 40.0;
    assert_eq!(
        title("2022-05-01", &values),
        "R-2: phase U read 1.03 times phase W on 13 Apr 2022, within the limit of 2; above it 1 of 8 times in the last two years"
    );
}

#[test]
fn a_bound_makes_the_ratio_a_bound() {
    let mut samples = three("R-2 stator");
    samples[1] = phase("R-2 stator", "U-earth", &[Measured::Above(mohm(50.0)); 4]);
    let picture = picture(&samples).expect("three phases");
    assert!(picture.ratios.iter().all(|ratio| ratio.says == BoundMark::Above));
    assert_eq!(
        picture.words.title,
        "R-2 stator: phase V read more than 4.5 times phase W on 14 Oct 2020, above the limit of 2; not compared in the last two \
         years"
    );
    samples[0] = phase("R-2 stator", "W-earth", &exact(&[100.0, 100.0, 100.0, 85.0]));
    let picture = self::picture(&samples).expect("three phases");
    assert!(
        picture.words.title.contains("and whether that is within the limit of 2 is unknown; "),
        "{}",
        picture.words.title
    );
}

#[test]
fn one_phase_is_no_picture() {
    let mut samples = three("R-2 stator");
    samples.truncate(1);
    assert!(picture(&samples).is_none());
    samples.push(phase("R-2 stator", "U-V", &exact(&[100.0])));
    assert!(picture(&samples).is_none(), "phase to phase is no phase to earth");
    let mut failed = phase("R-2 stator", "U-earth", &exact(&[100.0]));
    failed.judgement.tests[0].left_out = Some(LeftOut::LeadCheckFailed);
    samples.push(failed);
    assert!(picture(&samples).is_none(), "what was left out is no second phase");
}

#[test]
fn no_text_meets_another_or_leaves_the_page() {
    for name in NAMES {
        let mut samples = three(name);
        for (i, event) in [(1, Event::Dried), (2, Event::Cleaned), (3, Event::Rewound)] {
            samples[0].judgement.tests[i].event = Some(event);
        }
        let picture = picture(&samples).expect("three phases");
        for (width, height, dpi) in SIZES {
            let (record, page) = record(&picture, Size { width, height }, dpi);
            assert_eq!(record.misplaced(page), None, "{name} {width}×{height}");
            assert!(record.least_text >= 15.4);
        }
    }
}

#[test]
fn the_same_tests_give_the_same_bytes_and_names_stay_text() {
    let png = |name: &str| {
        let picture = picture(&three(name)).expect("three phases");
        render_png(&picture, Size::default(), DEFAULT_DPI).expect("a picture")
    };
    let again = std::thread::spawn(move || png(NAMES[1]));
    assert!(png(NAMES[1]) == again.join().expect("no panic"));
    let picture = picture(&three(NAMES[1])).expect("three phases");
    let svg = render_svg(&picture, Size::default(), DEFAULT_DPI).expect("a picture");
    assert!(svg.contains("&lt;script&gt;") && !svg.contains("<script"));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, ..ProptestConfig::default() })]

    #[test]
    fn no_history_stops_the_pen_or_makes_labels_meet(
        values in prop::collection::vec((-6.0f64..8.0, 0u8..8, 0u8..8), 2..90),
        name in ".{0,60}",
        limit in 1.0f64..100.0,
    ) {
        let mut samples = ["U-earth", "V-earth", "W-earth"].map(|connection| phase(&name, connection, &[]));
        for (i, (log10, says, left_out)) in values.iter().enumerate() {
            let r = mohm(10f64.powf(*log10).clamp(1e-6, 1e8));
            let measured = match says {
                0 => Measured::Above(r),
                1 => Measured::Below(r),
                2 => Measured::OffScale,
                _ => Measured::Exact(r),
            };
            let day = on("2020-01-15") + chrono::Days::new(80 * (i as u64 / 3));
            let sample = std::mem::replace(&mut samples[i % 3], phase("", "U-earth", &[]));
            samples[i % 3] = sample.test(&day.to_string(), measured, (*left_out > 0).then_some(0.9)).last(|test| {
                test.left_out = match left_out {
                    1 => Some(LeftOut::BeforeStretch),
                    2 => Some(LeftOut::LeadCheckFailed),
                    _ => None,
                };
                test.event = (*left_out == 3).then_some(Event::Repaired);
            });
        }
        let judgements: Vec<&Judgement> = samples.iter().map(|sample| &sample.judgement).collect();
        if let Some(picture) = PhasesPicture::new(&judgements, limit, &samples[0].context) {
            prop_assert!(picture.ratios.iter().all(|ratio| ratio.value >= 0.0));
            let small = render_png(&picture, Size { width: 400, height: 300 }, 100);
            prop_assert!(small.is_ok());
            let (record, page) = record(&picture, Size::default(), DEFAULT_DPI);
            prop_assert_eq!(record.misplaced(page), None);
        }
    }
}
