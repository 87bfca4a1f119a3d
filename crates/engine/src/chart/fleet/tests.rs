//! What is drawn where.

use super::super::axes::day;
use super::super::recorder::{Kind, record};
use super::super::samples::{self, NAMES, on};
use super::super::{DEFAULT_DPI, Size, render_png, render_svg, theme};
use super::*;
use proptest::prelude::*;

const SIZES: [(u32, u32, u32); 5] =
    [(1200, 800, 150), (600, 400, 150), (2400, 1600, 300), (1240, 1754, 150), (3000, 500, 150)];

fn terms() -> Terms {
    Terms {
        as_of: on("2026-11-25"),
        confidence: Confidence::from_fraction(0.9).expect("a confidence"),
        reference: Temperature::from_celsius(40.0).expect("a temperature"),
    }
}

fn rows(count: usize) -> Vec<Row> {
    let row = |i: usize| {
        let share = i as f64 / count.max(1) as f64;
        let level = 0.1 + 2.5 * share;
        let earliest = day(on("2027-02-01")) + 4000.0 * share;
        Row {
            action: Action::ALL[(6.0 * share) as usize],
            name: format!("P-{i} stator"),
            latest: "41.1 MΩ".to_owned(),
            minimum: "5 MΩ".to_owned(),
            when: "from Mar 2028".to_owned(),
            reading: Some(Share {
                value: (i % 17 != 5).then_some(level + 0.05),
                says: [BoundMark::Exact, BoundMark::Exact, BoundMark::Above, BoundMark::Below][i % 4],
                corrected: !i.is_multiple_of(5),
            })
            .map(|reading| {
                if reading.value.is_none() { Share { says: BoundMark::OffScale, ..reading } } else { reading }
            }),
            level: (!i.is_multiple_of(3)).then_some([level - 0.1, level, level + 0.2]),
            overdue_days: None,
            crossing: (!i.is_multiple_of(7)).then_some((
                earliest,
                Some(earliest + 300.0),
                i.is_multiple_of(2).then_some(earliest + 900.0),
            )),
        }
    };
    (0..count).map(row).collect()
}

fn pages(rows: &[Row], size: Size) -> Vec<FleetPicture> {
    FleetPicture::pages(rows, &terms(), &ChartContext::default(), size, DEFAULT_DPI).expect("a size that can be drawn")
}

#[test]
fn a_works_that_fits_is_one_page_with_every_name() {
    let rows = rows(14);
    let pages = pages(&rows, Size::default());
    assert_eq!(pages.len(), 1);
    assert_eq!(pages[0].words.title, "3 hold, 2 plan, 2 recheck, 3 shorten of 14 series");
    let (record, _) = record(&pages[0], Size::default(), DEFAULT_DPI);
    let top = |name: &str| record.texts.iter().find(|(text, _)| text == name).map(|(_, frame)| frame.top);
    let tops: Vec<f64> = rows.iter().map(|row| top(&row.name).expect("every series is named")).collect();
    assert!(tops.windows(2).all(|pair| pair[0] < pair[1]), "most urgent on top");
}

#[test]
fn every_series_is_named_once_over_all_pages() {
    for (count, size) in [(50, Size::default()), (500, Size::default()), (500, Size { width: 1240, height: 1754 })] {
        let rows = rows(count);
        let pages = pages(&rows, size);
        assert!(pages.len() > 1);
        let mut named = vec![0; count];
        for picture in &pages {
            let (record, page) = record(picture, size, DEFAULT_DPI);
            assert_eq!(record.misplaced(page), None, "{}", picture.words.heading);
            for (i, row) in rows.iter().enumerate() {
                named[i] += record.texts.iter().filter(|(text, _)| *text == row.name).count();
            }
        }
        assert!(named.iter().all(|times| *times == 1), "{count}: {named:?}");
    }
}

#[test]
fn a_page_names_the_most_urgent_and_counts_those_that_follow() {
    let rows = rows(120);
    let pages = pages(&rows, Size::default());
    let first = &pages[0];
    assert_eq!(first.words.title, "20 hold, 20 plan, 20 recheck, 20 shorten of 120 series");
    let last = pages.len();
    assert_eq!(first.rows.len(), 22);
    assert_eq!(
        first.rest,
        format!("98 more on pages 2 to {last}: 18 plan, 20 recheck, 20 shorten, 20 keep, 20 gather")
    );
    let heading = &pages[last - 1].words.heading;
    assert!(heading.ends_with("to 120 of 120, most urgent first · as of 25 Nov 2026"), "{heading}");
    assert_eq!(pages[last - 1].rest, "");
    let (record, _) = record(first, Size::default(), DEFAULT_DPI);
    assert!(record.texts.iter().any(|(text, _)| text.contains("more on pages 2 to")), "{:?}", record.texts);
}

#[test]
fn a_series_stands_at_its_multiple_and_a_bound_points_the_way() {
    let mut some = rows(3);
    some[0].reading = Some(Share { value: Some(0.0), says: BoundMark::Exact, corrected: true });
    some[1].reading = Some(Share { value: Some(1.0), says: BoundMark::Above, corrected: true });
    let page = pages(&some, Size::default()).remove(0);
    let (record, _) = record(&page, Size::default(), DEFAULT_DPI);
    let middle = |text: &str| {
        let frame = record.texts.iter().find(|(found, _)| found == text).map(|(_, frame)| *frame).expect("a tick");
        f64::midpoint(frame.left, frame.right)
    };
    let ink = (theme::INK.0, theme::INK.1, theme::INK.2);
    let marks = || record.shapes.iter().filter(|shape| shape.color == ink);
    let near = |a: f64, b: f64| (a - b).abs() < 1.0;
    assert!(marks().any(|s| s.kind == Kind::Disc && near(s.points[0].0, middle("1 ×"))), "at the minimum");
    let head = marks().filter(|s| s.kind == Kind::Polygon).find(|s| s.points[0].0 > middle("10 ×"));
    let head = head.expect("the head of an arrow to the right of ten times");
    assert!(head.points[1].0 > head.points[0].0, "it points to more");
    let limit = (theme::LIMIT.0, theme::LIMIT.1, theme::LIMIT.2);
    let upright = record
        .shapes
        .iter()
        .find(|s| s.kind == Kind::Path && s.color == limit && (s.points[0].1 - s.points[1].1).abs() > 50.0);
    assert!(upright.is_some_and(|line| near(line.points[0].0, middle("1 ×"))), "the limit is at one");
}

#[test]
fn judgements_of_every_kind_become_lines() {
    let rows: Vec<Row> = samples::all().iter().map(|(_, sample)| Row::of(&sample.judgement)).collect();
    for (width, height, dpi) in SIZES {
        let size = Size { width, height };
        for picture in FleetPicture::pages(&rows, &terms(), &ChartContext::default(), size, dpi).expect("pages") {
            let (record, page) = record(&picture, size, dpi);
            assert_eq!(record.misplaced(page), None, "{width}×{height}");
            assert!(record.least_text >= 15.4);
        }
    }
    let below = rows.iter().find(|row| row.name == "M-7").expect("a line");
    assert_eq!((below.latest.as_str(), below.minimum.as_str(), below.when.as_str()), ("1.4 MΩ", "5 MΩ", "reached"));
}

#[test]
fn names_stay_text_and_bytes_stay_the_same() {
    let mut some = rows(NAMES.len());
    for (row, name) in some.iter_mut().zip(NAMES) {
        row.name = name.to_owned();
    }
    let page = || pages(&some, Size::default()).remove(0);
    let (record, area) = record(&page(), Size::default(), DEFAULT_DPI);
    assert_eq!(record.misplaced(area), None);
    let svg = render_svg(&page(), Size::default(), DEFAULT_DPI).expect("a picture");
    assert!(svg.contains("&lt;script&gt;") && !svg.contains("<script"));
    let png = |picture: &FleetPicture| render_png(picture, Size::default(), DEFAULT_DPI).expect("a picture");
    let other = page();
    let again = std::thread::spawn(move || png(&other));
    assert!(png(&page()) == again.join().expect("no panic"));
}

#[test]
fn a_works_without_series_is_a_page() {
    let pages = pages(&[], Size::default());
    assert_eq!((pages.len(), pages[0].words.subtitle.as_str()), (1, "No test could be read, so nothing is judged."));
    assert!(render_png(&pages[0], Size::default(), DEFAULT_DPI).is_ok());
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, ..ProptestConfig::default() })]

    #[test]
    fn no_works_stops_the_pen_or_makes_labels_meet(
        values in prop::collection::vec((".{0,40}", prop::option::of(-14.0f64..14.0), 0u8..4, prop::option::of(-90_000.0f64..900_000.0)), 0..60),
        width in 700u32..2500,
        height in 500u32..2500,
    ) {
        let mut some = rows(values.len());
        for (row, (name, value, says, crossing)) in some.iter_mut().zip(values) {
            row.name = name;
            row.reading = Some(Share {
                value,
                says: [BoundMark::Exact, BoundMark::Above, BoundMark::Below, BoundMark::Exact][usize::from(says)],
                corrected: says < 3,
            });
            row.reading = row.reading.filter(|reading| reading.value.is_some());
            row.crossing = crossing.map(|after| (day(on("2026-11-25")) + after, None, None));
        }
        let size = Size { width, height };
        for picture in pages(&some, size) {
            let (record, page) = record(&picture, size, DEFAULT_DPI);
            prop_assert_eq!(record.misplaced(page), None);
            prop_assert!(picture.span.0 < picture.span.1);
        }
    }
}
