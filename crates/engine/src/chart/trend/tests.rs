//! What is drawn where, for every sample.

use super::super::marks::{BoundMark, Emphasis};
use super::super::page::{Frame, Sheet};
use super::super::recorder::{Kind, record, record_on};
use super::super::samples::{self, Sample, mohm, on};
use super::super::{Chart, DEFAULT_DPI, Size, axes, render_png, render_svg, theme};
use super::*;
use groundwall::assess::{Action, Asks, Code, CrossingDates, Finding, LeftOut, SeriesAssessment, WorkBy};
use groundwall::resistance::{Bound, Measured};
use groundwall::units::Years;
use proptest::prelude::*;

const SIZES: [(u32, u32, u32); 5] =
    [(1200, 800, 150), (600, 400, 150), (2400, 1600, 300), (1000, 1400, 150), (3000, 500, 150)];

/// The sheet for a telephone, and the one for a printed page, on which pictures are bare, as a report has them.
fn sheets() -> (Sheet, Sheet) {
    let sheet = |width, height, units| Sheet::across(Size { width, height }, units).expect("a size that can be drawn");
    (sheet(780, 1320, 560.0), sheet(1770, 720, 1180.0))
}

fn case(name: &str) -> Sample {
    samples::all().into_iter().find(|(n, _)| *n == name).map(|(_, sample)| sample).expect("a sample of that name")
}

#[test]
fn no_text_meets_another_or_leaves_the_page() {
    for (name, sample) in samples::all() {
        for (width, height, dpi) in SIZES {
            let (record, page) = record(&sample.picture(), Size { width, height }, dpi);
            for (i, (text, here)) in record.texts.iter().enumerate() {
                let inside = here.left >= page.left && here.right <= page.right && here.bottom <= page.bottom;
                assert!(inside, "{name} {width}×{height}: {text:?} leaves the page: {here:?}");
                let tight = Frame { top: here.top + 2.0, ..*here };
                for (other, there) in &record.texts[..i] {
                    assert!(!tight.overlaps(there), "{name} {width}×{height}: {text:?} covers {other:?}");
                }
            }
        }
    }
}

/// The first text that covers the latest reading or the line of the minimum, if there is one. The latest reading is drawn last, so
/// that no box lies over it either.
fn covering(picture: &TrendPicture, sheet: &Sheet) -> Option<String> {
    let (record, _) = record_on(picture, sheet);
    let bounds = |points: &[(f64, f64)], reach: f64| Frame {
        left: points.iter().map(|p| p.0).fold(f64::INFINITY, f64::min) - reach,
        top: points.iter().map(|p| p.1).fold(f64::INFINITY, f64::min) - reach,
        right: points.iter().map(|p| p.0).fold(f64::NEG_INFINITY, f64::max) + reach,
        bottom: points.iter().map(|p| p.1).fold(f64::NEG_INFINITY, f64::max) + reach,
    };
    let last = record.shapes.last().filter(|_| picture.latest().next().is_some());
    let latest = last.map(|shape| bounds(&shape.points, if shape.kind == Kind::Disc { shape.width } else { 0.0 }));
    let limit = (theme::LIMIT.0, theme::LIMIT.1, theme::LIMIT.2);
    let line = record.shapes.iter().find(|shape| {
        let across = shape.points.len() == 2 && (shape.points[1].0 - shape.points[0].0) > 100.0;
        across && shape.color == limit && (shape.points[0].1 - shape.points[1].1).abs() < 0.01
    });
    let line = line.map(|shape| bounds(&shape.points, 1.0)).filter(|_| picture.minimum.is_some());
    let covered = |here: &Frame| [latest, line].into_iter().flatten().any(|there| here.overlaps(&there));
    record.texts.iter().find(|(_, here)| covered(&Frame { top: here.top + 2.0, ..*here })).map(|(text, _)| text.clone())
}

#[test]
fn no_label_covers_the_latest_reading_or_the_minimum() {
    for (name, sample) in samples::all() {
        for (width, height, dpi) in SIZES {
            let sheet = Sheet::new(Size { width, height }, dpi).expect("a size that can be drawn");
            assert_eq!(covering(&sample.picture(), &sheet), None, "{name} {width}×{height}");
        }
        let (narrow, printed) = sheets();
        assert_eq!(covering(&sample.picture(), &narrow), None, "{name} on a telephone");
        let mut bare = sample.picture();
        bare.words = bare.words.bare();
        assert_eq!(covering(&bare, &printed), None, "{name} printed");
    }
}

/// The line of a doubtful test is that of the readings before it: here the reading lies two decades below.
#[test]
fn a_doubtful_reading_is_marked_and_makes_no_date() {
    let mut sample = Sample::new("P-9", Action::Recheck, "2026-11-25").falling("2021-01-10", 91, 2.9, -0.01, 0.05);
    sample = sample.test("2026-11-20", Measured::Exact(mohm(8.0)), Some(1.0)).crosses("2027-01-01", None, None);
    assert!(sample.picture().crossing.is_some());
    let before = Years::from_years(-1.0).expect("a time");
    let reading = groundwall::trend::Reading::new(before, Bound::Exact, mohm(800.0));
    sample.judgement.doubted = groundwall::trend::Stretch::new(vec![reading]).ok();
    let picture = sample.picture();
    assert_eq!(picture.crossing, None);
    assert_eq!(picture.latest().map(|reading| reading.standing).collect::<Vec<_>>(), [Emphasis::Doubtful]);
    let said = "doubtful, to be repeated; the line is that of the readings before";
    assert!(picture.words.legend.iter().any(|entry| entry.words == said), "{:?}", picture.words.legend);
}

/// A headline names only figures that were read, and where the last test is void it says so and when the figure was read.
#[test]
fn the_headline_is_about_the_latest_test_or_says_why_not() {
    let mut sample = Sample::new("K-4", Action::Recheck, "2026-11-25").falling("2022-01-10", 91, 2.2, -0.01, 0.02);
    sample = sample.test("2026-07-20", Measured::Exact(mohm(152.0)), Some(1.0));
    sample = sample.test("2026-10-27", Measured::Exact(mohm(1.0)), Some(1.0));
    sample.judgement.tests.last_mut().expect("a test").left_out = Some(groundwall::assess::LeftOut::LeadCheckFailed);
    sample.judgement.assessment.latest.as_mut().expect("a test").tested_on = on("2026-07-20");
    sample.judgement.assessment.latest.as_mut().expect("a test").r60_ref_mohm = Some(152.0);
    assert_eq!(
        sample.picture().words.title,
        "Repeat the test of K-4 before deciding anything else: leads not proved on 27 Oct 2026, 152 MΩ on 20 Jul 2026, minimum 5 MΩ"
    );
    // The void test is the one that is ringed, not the good one before it.
    sample.judgement.assessment.void_tested_on = Some(on("2026-10-27"));
    let picture = sample.picture();
    assert_eq!(picture.latest().map(|reading| reading.standing).collect::<Vec<_>>(), [Emphasis::Void]);
    assert!(!picture.readings.iter().any(|reading| reading.standing == Emphasis::Doubtful));
    let said = "void, leads not proved: to be repeated";
    assert!(picture.words.legend.iter().any(|entry| entry.words == said), "{:?}", picture.words.legend);
}

/// The headline tells what caused the action, not what the trend happens to do.
#[test]
fn the_headline_tells_the_cause_and_whether_the_test_is_overdue() {
    let title = |action, change: &dyn Fn(&mut SeriesAssessment)| {
        let mut sample = Sample::new("P-9", action, "2026-11-25").falling("2021-01-10", 91, 2.9, -0.01, 0.0);
        change(&mut sample.judgement.assessment);
        sample.picture().words.title
    };
    let asks = |code, asks| Finding::new(code, "A sentence.", "").asking(asks);
    assert_eq!(
        title(Action::Shorten, &|series| series.findings.push(asks(Code::LevelShift, Asks::SoonerTest))),
        "Test P-9 sooner, unexplained jump: 696 MΩ at the latest test, minimum 5 MΩ"
    );
    // A level that takes 30 years to halve falls, and no more is said.
    assert_eq!(
        title(Action::Shorten, &|series| series.findings.push(asks(Code::Falling, Asks::SoonerTest))),
        "Test P-9 sooner: 696 MΩ at the latest test and falling, minimum 5 MΩ"
    );
    assert_eq!(
        title(Action::Plan, &|series| {
            series.findings.push(asks(Code::PhaseSpread, Asks::Work));
            series.work_by = Some(WorkBy::BeforeUse);
            series.forecast.reaches_minimum =
                Some(CrossingDates { earliest: on("2027-08-20"), median: None, latest: None });
        }),
        "Plan work on P-9 before use, phases differ: 696 MΩ at the latest test, minimum 5 MΩ"
    );
    assert_eq!(
        title(Action::Keep, &|series| series.overdue_days = Some(377)),
        "Test P-9 now, overdue by 12 months: 696 MΩ at the latest test, minimum 5 MΩ"
    );
}

#[test]
fn the_title_says_what_to_do_with_the_figures() {
    for (name, title) in [
        (
            "falling",
            "Plan work on P-104: 56.2 MΩ at the latest test, may reach its 5 MΩ minimum between Mar 2029 and Jan 2035",
        ),
        ("below", "Hold M-7: 1.4 MΩ at the latest test against a minimum of 5 MΩ"),
        ("steady", "Keep P-101 on its usual interval: 626 MΩ at the latest test, minimum 5 MΩ"),
        ("one", "Gather more readings of N-1: 420 MΩ at the latest test, minimum 5 MΩ"),
        ("empty", "Gather more readings of X, minimum 5 MΩ"),
    ] {
        assert_eq!(case(name).picture().words.title, title);
    }
}

#[test]
fn bounds_stand_at_their_limit_and_point_to_the_truth() {
    let picture = case("bounds").picture();
    assert_eq!(picture.readings.len(), 8);
    assert!(picture.readings.iter().all(|r| r.says == BoundMark::Above && r.standing == Emphasis::Counts));
    assert!(picture.level.is_empty() && picture.forecast.is_empty() && picture.crossing.is_none());
    assert!(picture.words.subtitle.contains("no level can be given"));
}

#[test]
fn what_was_left_out_is_told_apart() {
    let picture = case("mixed").picture();
    for standing in [Emphasis::LeadsNotProved, Emphasis::Outlier, Emphasis::Uncorrected] {
        assert_eq!(picture.readings.iter().filter(|r| r.standing == standing).count(), 1, "{standing:?}");
    }
    assert!(picture.readings.iter().any(|r| r.value.is_none() && r.says == BoundMark::OffScale));
    let uncounted = "1 over range, not counted: end of scale not known";
    assert!(picture.words.legend.iter().any(|entry| entry.words == uncounted));
    // A reading without a temperature is drawn at an assumed one, with its value as read beside it.
    let assumed =
        picture.readings.iter().find(|r| r.standing == Emphasis::Uncorrected).expect("one has no temperature");
    let as_read =
        picture.readings.iter().find(|r| r.standing == Emphasis::AsRead && (r.day - assumed.day).abs() < 1e-9);
    assert!(as_read.is_some_and(|r| r.value != assumed.value));
    assert!(picture.words.legend.iter().any(|e| e.words == "no temperature: an assumed one"));
    assert_eq!(picture.words.legend.iter().filter(|e| e.words.contains("left out")).count(), 1);
}

/// A test after the as-of date moves no axis and is on no picture of that day.
#[test]
fn what_came_later_is_not_drawn() {
    let falling = || Sample::new("P-1", Action::Keep, "2026-11-25").falling("2019-05-02", 91, 2.9, -0.01, 0.08);
    let later = falling().test("2027-02-01", Measured::Exact(mohm(0.001)), Some(0.9));
    let mut later = later.last(|test| test.left_out = Some(LeftOut::AfterAsOf));
    let left_out =
        Finding::new(Code::FutureTest, "1 test is dated after 2026-11-25 and was left out.", "no test counts ahead");
    later.judgement.assessment.findings.push(left_out);
    let (here, there) = (later.picture(), falling().picture());
    assert_eq!(here.words.subtitle, there.words.subtitle, "it takes the place of no other sentence");
    assert!(here.readings == there.readings && here.days == there.days && here.span == there.span);
}

#[test]
fn work_and_shifts_have_their_upright() {
    let restart = case("restart").picture();
    let labels: Vec<&str> = restart.flags.iter().map(|flag| flag.label.as_str()).collect();
    assert_eq!(labels.len(), 5);
    assert!(labels[3].starts_with("rewound before") && labels[0].starts_with("commissioned"));
    let began = axes::day(on("2023-05-05"));
    assert!(restart.level.iter().all(|level| level.day >= began), "the level begins after the rewind");
    assert!(restart.readings.iter().any(|r| r.standing == Emphasis::Before && r.day < began));
    let shifted = case("shifted").picture();
    assert_eq!(shifted.flags.len(), 1);
    assert_eq!(shifted.flags[0].label, "level shifted before 14 Aug 2023");
    assert!((shifted.flags[0].day - axes::day(on("2023-08-14"))).abs() < 0.5);
}

#[test]
fn pictures_hold_what_was_judged_and_no_more() {
    let steady = case("steady").picture();
    assert!(steady.crossing.is_none() && !steady.level.is_empty() && !steady.forecast.is_empty());
    assert!(steady.readings.iter().all(|r| r.day <= steady.as_of && steady.span.0 < r.value.unwrap_or(0.0)));
    let minimum = steady.minimum.as_ref().expect("a minimum");
    assert!((minimum.value - 5f64.log10()).abs() < 1e-12 && minimum.label == "5 MΩ" && minimum.value > steady.span.0);
    let falling = case("falling").picture();
    assert!(falling.level.windows(2).all(|pair| pair[1].middle < pair[0].middle));
    assert!(falling.forecast[0].day >= falling.level[falling.level.len() - 1].day - 0.5, "the forecast goes on");
    assert_eq!(falling.crossing.and_then(|c| c.latest), Some(axes::day(on("2035-01-20"))));
    let below = case("below").picture();
    let last = below.readings.iter().rev().find(|r| r.standing == Emphasis::Counts).expect("a reading");
    assert!(last.value < below.minimum.as_ref().map(|minimum| minimum.value));
    let one = case("one").picture();
    assert_eq!(one.readings.iter().filter(|r| r.standing == Emphasis::Counts).count(), 1);
    assert!(one.level.is_empty() && one.forecast.is_empty());
    assert!(case("empty").picture().readings.is_empty());
}

#[test]
fn readings_are_drawn_at_their_place() {
    let picture = case("one").picture();
    let (record, _) = record(&picture, Size::default(), DEFAULT_DPI);
    let centre = record.discs.get(3).copied().expect("the sample in the legend, then the reading, each with its rim");
    let label = |text: &str| record.texts.iter().find(|(t, _)| t == text).map(|(_, f)| *f).expect("a tick");
    let (ten, hundred) = (label("10 MΩ"), label("100 MΩ"));
    assert!(ten.top > hundred.top && hundred.top > centre.1, "420 MΩ stand above 100 MΩ");
}

#[test]
fn the_future_is_drawn_to_the_crossing_but_not_for_ever() {
    let ahead = |sample: &Sample| (sample.picture().days.1 - axes::day(sample.judgement.as_of)) / 365.25;
    assert!((8.0..9.5).contains(&ahead(&case("falling"))));
    assert!((1.0..2.0).contains(&ahead(&case("soon"))));
    let far = case("falling").crosses("2060-01-01", Some("2080-01-01"), None);
    let past = on("2026-11-25").signed_duration_since(on("2020-03-14")).num_days() as f64 / 365.25;
    assert!((ahead(&far) - past / 2.0).abs() < 0.01, "half the past");
    let young = case("foreign").crosses("2060-01-01", None, None);
    assert!((ahead(&young) - 1.5).abs() < 0.01, "at least a year and a half");
    let long = case("monthly").crosses("2060-01-01", None, None);
    assert!((ahead(&long) - 6.0).abs() < 0.01, "at most six years");
    let endless = case("falling").crosses("2029-03-01", Some("2045-01-01"), None);
    assert!(ahead(&endless) <= past + 0.01, "no more than the past for an end that may never come");
    assert!(far.picture().words.legend.iter().any(|e| e.words.contains("later than drawn")));
    let (record, _) = record(&far.picture(), Size::default(), DEFAULT_DPI);
    assert!(record.texts.iter().any(|(text, _)| text == "from Jan 2060 or later"));
    assert!(ahead(&case("empty")) < 0.2, "nothing to foresee");
}

#[test]
fn the_crossing_is_named_with_its_dates() {
    let (record, _) = record(&case("falling").picture(), Size::default(), DEFAULT_DPI);
    for text in ["earliest Mar 2029", "likely Feb 2032", "latest Jan 2035", "as of 25 Nov 2026", "minimum", "5 MΩ"] {
        assert!(record.texts.iter().any(|(t, _)| t == text), "{text} is missing");
    }
}

#[test]
fn a_crossing_in_the_past_is_said_to_be_past() {
    let (forecast, _) = record(&case("below").picture(), Size::default(), DEFAULT_DPI);
    assert!(forecast.texts.iter().any(|(text, _)| text == "reached by Nov 2026"));
    // Where readings tell by when, theirs is the day that is marked.
    let mut told = case("below");
    told.judgement.assessment.forecast.below_since = Some(on("2026-06-14"));
    let picture = told.picture();
    assert!(
        picture.words.legend.iter().any(|entry| entry.words == "from this test on no reading is above the minimum")
    );
    let (told, _) = record(&picture, Size::default(), DEFAULT_DPI);
    assert!(told.texts.iter().any(|(text, _)| text == "reached by Jun 2026"));
}

#[test]
fn the_same_judgement_gives_the_same_bytes() {
    let once = render_png(&case("restart").picture(), Size::default(), 150).expect("a picture");
    let again = std::thread::spawn(|| render_png(&case("restart").picture(), Size::default(), 150).expect("a picture"));
    assert!(once == again.join().expect("no panic"));
    let svg = || render_svg(&case("restart").picture(), Size::default(), 150).expect("a picture");
    assert!(svg() == svg());
}

#[test]
fn names_reach_an_svg_unharmed() {
    let svg = render_svg(&case("foreign").picture(), Size::default(), 150).expect("a picture");
    assert!(svg.contains("&lt;b&gt;") && !svg.contains("<b>"));
    assert!(!svg.contains('\u{202e}') && !svg.contains('\u{7}'));
    assert!(svg.trim_end().ends_with("</svg>"));
}

#[test]
fn the_edges_of_the_calendar_and_of_the_scale_are_drawn() {
    let ends = [chrono::NaiveDate::MIN, chrono::NaiveDate::MAX, on("0001-01-01"), on("9999-12-31"), on("1526-01-01")];
    for first in ends {
        let mut sample = case("falling").test("2026-01-01", Measured::Exact(mohm(1e8)), Some(1.0));
        sample = sample.test("2026-02-01", Measured::Below(mohm(1e-6)), None);
        sample.judgement.tests[0].tested_on.date = first;
        for as_of in ends {
            sample.judgement.as_of = as_of;
            assert!(render_png(&sample.picture(), Size { width: 300, height: 200 }, 72).is_ok());
        }
    }
}

/// Writes every sample as PNG and SVG into the folder that `GROUNDWALL_CHARTS` names, and says how long a PNG took.
#[test]
fn gallery() {
    let Some(folder) = std::env::var_os("GROUNDWALL_CHARTS").map(std::path::PathBuf::from) else { return };
    std::fs::create_dir_all(&folder).expect("a folder");
    for (name, sample) in samples::all() {
        let png = render_png(&sample.picture(), Size::default(), DEFAULT_DPI).expect("a picture");
        std::fs::write(folder.join(format!("{name}.png")), png).expect("a file");
        let svg = render_svg(&sample.picture(), Size::default(), DEFAULT_DPI).expect("a picture");
        std::fs::write(folder.join(format!("{name}.svg")), svg).expect("a file");
        let small = render_png(&sample.picture(), Size { width: 600, height: 400 }, DEFAULT_DPI).expect("a picture");
        std::fs::write(folder.join(format!("{name}-half.png")), small).expect("a file");
        let start = std::time::Instant::now();
        let bytes: usize = (0..20)
            .map(|_| render_png(&sample.picture(), Size::default(), DEFAULT_DPI).map_or(0, |file| file.len()))
            .sum();
        let took = start.elapsed().as_secs_f64() * 50.0;
        std::fs::write(folder.join(format!("{name}.txt")), format!("{name} {took:.2} ms, {} bytes\n", bytes / 20))
            .expect("a file");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, ..ProptestConfig::default() })]

    #[test]
    fn no_history_stops_the_pen_or_makes_labels_meet(
        values in prop::collection::vec((0u32..180_000, -6.0f64..8.0, 0u8..4, prop::option::of(0.01f64..100.0), 0u8..7), 0..40),
        name in ".{0,60}",
        slope in -3.0f64..1.0,
        minimum in prop::option::of(-6.0f64..8.0),
        ahead in 0u64..200_000,
    ) {
        let values_len = u32::try_from(values.len()).unwrap_or(0);
        let mut sample = Sample::new(&name, Action::ALL[values.len() % 6], "2026-11-25");
        for (days, log10, says, kt, left_out) in values {
            let r = mohm(10f64.powf(log10).clamp(1e-6, 1e8));
            let measured =
                [Measured::Exact(r), Measured::Above(r), Measured::Below(r), Measured::OffScale][usize::from(says)];
            let day = on("2027-06-01") - chrono::Days::new(u64::from(days));
            use groundwall::assess::LeftOut;
            use groundwall::record::Event;
            sample = sample.test(&day.to_string(), measured, kt).last(|test| match left_out {
                0 => test.left_out = Some(LeftOut::LeadCheckFailed),
                1 => test.left_out = Some(LeftOut::BeforeStretch),
                2 => test.left_out = Some(LeftOut::NoOneMinuteReading),
                3 => test.p_outlier = 0.9,
                4 => test.event = Some(Event::Dried),
                _ => {}
            });
        }
        let picture = |sample: &mut Sample| -> TrendPicture {
            if let (Some(m), Some(value)) = (sample.judgement.assessment.minimum.as_mut(), minimum) {
                m.resistance = mohm(10f64.powf(value).clamp(1e-6, 1e8));
            } else {
                sample.judgement.assessment.minimum = None;
            }
            sample.picture()
        };
        let date = on("2026-11-25") + chrono::Days::new(ahead);
        let mut sample = sample.trend("2024-01-01", 2.0, slope, 0.1).crosses(&date.to_string(), None, None);
        let picture = picture(&mut sample);
        prop_assert!(picture.span.1 - picture.span.0 >= 0.8 && picture.days.1 > picture.days.0);
        let small = render_png(&picture, Size { width: 400, height: 300 }, 100);
        prop_assert!(small.is_ok());
        let size = Size { width: 500 + values_len * 60, height: 420 + values_len * 20 };
        let (narrow, printed) = sheets();
        for sheet in [narrow, Sheet::new(size, 150).expect("a size that can be drawn")] {
            prop_assert_eq!(covering(&picture, &sheet), None);
        }
        let mut bare = picture.clone();
        bare.words = bare.words.bare();
        prop_assert_eq!(covering(&bare, &printed), None);
        let (record, page) = record(&picture, Size::default(), DEFAULT_DPI);
        for (i, (text, here)) in record.texts.iter().enumerate() {
            let inside = here.left >= 0.0 && here.right <= page.right && here.top >= 0.0 && here.bottom <= page.bottom;
            prop_assert!(inside, "{} leaves the page: {:?}", text, here);
            let tight = Frame { top: here.top + 2.0, ..*here };
            let covered = record.texts[..i].iter().find(|(_, there)| tight.overlaps(there));
            prop_assert!(covered.is_none(), "{} covers {:?}", text, covered);
        }
        prop_assert!(!picture.description().is_empty());
    }
}
