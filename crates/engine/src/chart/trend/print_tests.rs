//! What a grey or a small print must still say: shapes, dashes, contrast, sizes.

use super::super::legend::{self, Entry, FORECAST_DASH, Strip};
use super::super::marks::{self, BoundMark, Emphasis};
use super::super::page::{Drawn, Pen};
use super::super::recorder::{Kind, Record, Shape, record};
use super::super::samples;
use super::super::{DEFAULT_DPI, Size, theme};
use super::*;
use plotters::style::RGBColor;

/// One mark, or one sample of the legend, alone on the page.
enum Alone {
    Mark(Emphasis, BoundMark),
    Sample(legend::Sample),
}

impl Chart for Alone {
    fn draw<DB: DrawingBackend>(&self, area: &DrawingArea<DB, Shift>) -> Drawn<DB> {
        let pen = Pen::new(area);
        match self {
            Self::Mark(standing, says) => marks::draw(&pen, *standing, *says, (100.0, 100.0), 1.0),
            Self::Sample(sample) => {
                let entry = Entry { sample: *sample, words: String::new() };
                Strip::new(&[entry], 900.0).draw(&pen, (100.0, 100.0))
            }
        }
    }

    fn description(&self) -> String {
        String::new()
    }
}

fn drawn(chart: &impl Chart) -> Record {
    record(chart, Size::default(), DEFAULT_DPI).0
}

fn picture(name: &str) -> TrendPicture {
    let sample = samples::all().into_iter().find(|(n, _)| *n == name).map(|(_, sample)| sample);
    sample.expect("a sample of that name").picture()
}

/// What of a shape is left without colour: its kind, corners, width, and whether it is as light as paper.
type Outline = (Kind, Vec<(f64, f64)>, f64, bool);

fn outline(shapes: &[Shape]) -> Vec<Outline> {
    let light = |(r, g, b): (u8, u8, u8)| luminance(&RGBColor(r, g, b)) > 0.8;
    shapes.iter().map(|s| (s.kind, s.points.clone(), s.width, light(s.color))).collect()
}

/// Relative luminance, WCAG 2.1.
fn luminance(color: &RGBColor) -> f64 {
    let part = |c: u8| {
        let c = f64::from(c) / 255.0;
        if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
    };
    0.2126 * part(color.0) + 0.7152 * part(color.1) + 0.0722 * part(color.2)
}

/// Contrast ratio, WCAG 2.1.
fn contrast(one: &RGBColor, other: &RGBColor) -> f64 {
    let (a, b) = (luminance(one), luminance(other));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

fn of(record: &Record, color: RGBColor) -> impl Iterator<Item = &Shape> {
    record.shapes.iter().filter(move |shape| shape.color == (color.0, color.1, color.2))
}

#[test]
fn marks_of_different_meaning_have_different_shapes() {
    use Emphasis::{AsRead, Before, Counts, LeadsNotProved, Outlier, Uncorrected};
    let exact = [Counts, Uncorrected, Outlier, LeadsNotProved, Before, AsRead].map(|s| (s, BoundMark::Exact));
    let bounds = [BoundMark::Above, BoundMark::Below, BoundMark::OffScale]
        .map(|says| [(Counts, says), (Before, says), (Outlier, says)]);
    let kinds: Vec<(Emphasis, BoundMark)> = exact.into_iter().chain(bounds.concat()).collect();
    let outlines: Vec<_> = kinds.iter().map(|(s, says)| outline(&drawn(&Alone::Mark(*s, *says)).shapes)).collect();
    for (i, one) in outlines.iter().enumerate() {
        assert!(!one.is_empty(), "{:?} is drawn", kinds[i]);
        for (j, other) in outlines[..i].iter().enumerate() {
            assert_ne!(one, other, "{:?} looks like {:?} in grey", kinds[i], kinds[j]);
        }
    }
}

#[test]
fn samples_of_the_legend_have_different_shapes() {
    use legend::Sample::{Crossing, Forecast, Later, Level};
    let outlines = [Level, Forecast, Crossing, Later].map(|sample| outline(&drawn(&Alone::Sample(sample)).shapes));
    for (i, one) in outlines.iter().enumerate() {
        assert!(outlines[..i].iter().all(|other| other != one));
    }
}

#[test]
fn bounds_are_arrows_towards_the_truth() {
    for (says, way) in [(BoundMark::Above, -1.0), (BoundMark::OffScale, -1.0), (BoundMark::Below, 1.0)] {
        let record = drawn(&Alone::Mark(Emphasis::Counts, says));
        let head = record.shapes.iter().find(|shape| shape.kind == Kind::Polygon).expect("the head of an arrow");
        let tip = head.points[1].1;
        assert!((tip - 100.0 - way * marks::ARROW).abs() < 0.2, "{says:?}: {head:?}");
        assert!(head.points.iter().all(|p| (p.1 - tip) * way <= 1e-9), "the tip is farthest: {head:?}");
        let bar =
            record.shapes.iter().any(|s| s.kind == Kind::Path && s.points.iter().all(|p| (p.1 - 100.0).abs() < 0.2));
        assert_eq!(bar, says != BoundMark::OffScale, "a bar stands where a limit is known");
    }
    let heads = of(&drawn(&picture("bounds")), theme::INK).filter(|shape| shape.kind == Kind::Polygon).count();
    assert_eq!(heads, 9, "eight readings and the legend");
}

#[test]
fn the_minimum_is_a_hatched_line_with_its_value() {
    for name in ["steady", "falling", "below", "bounds", "one", "empty", "wide"] {
        let record = drawn(&picture(name));
        let line = of(&record, theme::LIMIT)
            .find(|s| s.kind == Kind::Path && s.points.len() == 2 && (s.points[0].1 - s.points[1].1).abs() < 0.01);
        let line = line.unwrap_or_else(|| unreachable!("{name}: no line"));
        assert!(line.points[1].0 - line.points[0].0 > 600.0, "{name}: from edge to edge");
        let (y, right) = (line.points[0].1, line.points[1].0);
        let hatches = of(&record, theme::LIMIT).filter(|s| s.kind == Kind::Path && s.points[1].1 > s.points[0].1 + 5.0);
        assert!(hatches.count() > 40, "{name}: hatched below");
        for text in ["minimum", "5 MΩ"] {
            let beside = |frame: &super::super::page::Frame| frame.left >= right && (frame.top - y).abs() < 30.0;
            assert!(record.texts.iter().any(|(t, frame)| t == text && beside(frame)), "{name}: {text}");
        }
    }
}

#[test]
fn level_forecast_events_and_today_differ_by_their_dashes() {
    let record = drawn(&picture("restart"));
    let lengths = |color: RGBColor, width: f64| -> Vec<f64> {
        let paths = of(&record, color).filter(|s| s.kind == Kind::Path && (s.width - width).abs() < 0.07);
        paths.map(|s| s.points.windows(2).map(|p| (p[1].0 - p[0].0).hypot(p[1].1 - p[0].1)).sum()).collect()
    };
    let level = lengths(theme::LEVEL, 3.2);
    assert_eq!(level.iter().filter(|length| **length > 50.0).count(), 1, "the level is one line");
    let dashes = level.iter().filter(|length| **length <= FORECAST_DASH[0] + 0.5).count();
    assert!(dashes > 8, "the forecast is in dashes: {level:?}");
    assert!(lengths(theme::SOFT, 1.8).iter().all(|length| *length <= 3.0), "events are dotted");
    assert_eq!(lengths(theme::INK, 1.8).iter().filter(|length| **length > 100.0).count(), 1, "today is one line");
}

#[test]
fn colours_keep_their_distance_in_grey() {
    for ground in [theme::PAPER, theme::AHEAD, theme::BAND, theme::BAND_AHEAD] {
        for text in [theme::INK, theme::LIMIT] {
            assert!(contrast(&text, &ground) >= 4.5, "{text:?} on {ground:?}: {}", contrast(&text, &ground));
        }
        assert!(contrast(&theme::LEVEL, &ground) >= 3.0);
    }
    assert!(contrast(&theme::SOFT, &theme::PAPER) >= 4.5);
    assert!(contrast(&theme::FAINT, &theme::PAPER) >= 3.0);
    assert!(contrast(&theme::BAND, &theme::PAPER) >= 1.25 && contrast(&theme::BAND_AHEAD, &theme::AHEAD) >= 1.1);
}

#[test]
fn the_smallest_print_can_be_read_at_half_size() {
    let half = Size { width: 600, height: 400 };
    let scale = super::super::page::Sheet::new(half, DEFAULT_DPI).map(|sheet| sheet.scale * super::super::page::FINE);
    let scale = scale.expect("a size that can be drawn");
    for (name, sample) in samples::all() {
        let (record, _) = record(&sample.picture(), half, DEFAULT_DPI);
        // 15.5 of 150 units an inch are 7.4 points on paper; nine pixels are the least that a screen sets readably.
        assert!(record.least_text >= 15.4, "{name}: {}", record.least_text);
        assert!(record.least_text * scale >= 9.0, "{name}: {} pixels", record.least_text * scale);
    }
}
