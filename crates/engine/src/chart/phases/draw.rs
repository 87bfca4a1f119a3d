//! Drawing: the phases above, their ratio below, on one axis of dates.

use super::super::axes;
use super::super::dated::{Dated, Dates};
use super::super::flags;
use super::super::font::Face;
use super::super::limit::{self, Forbidden};
use super::super::marks::{self, BoundMark, Emphasis};
use super::super::page::{Align, At, Drawn, Frame, Pen};
use super::super::readings::Reading;
use super::super::theme;
use super::super::timeline::Timeline;
use super::super::upright::Upright;
use super::{PhasesPicture, RatioMark};
use groundwall::record::Phase;
use plotters::coord::Shift;
use plotters::drawing::DrawingArea;
use plotters_backend::DrawingBackend;

const LABEL: Face = Face::regular(theme::LABEL);
const SMALL: Face = Face::regular(theme::SMALL);
const LOWEST: Face = Face::strong(theme::SMALL);

/// Share of the height that the phases take.
const UPPER: f64 = 0.6;
/// Between the two panels: room for the words above the lower one.
const BETWEEN: f64 = 40.0;
/// Least height of both panels.
const LEAST_PLOT: f64 = 210.0;
/// Ratios that get a name.
const RATIOS: [f64; 12] = [1.0, 2.0, 1.5, 3.0, 5.0, 10.0, 20.0, 50.0, 100.0, 1000.0, 1e4, 1e6];
/// Least distance between two of them.
const RATIOS_APART: f64 = 20.0;

/// Draws the picture over the whole area.
pub(super) fn draw<DB: DrawingBackend>(area: &DrawingArea<DB, Shift>, picture: &PhasesPicture) -> Drawn<DB> {
    let pen = Pen::new(area);
    let ticks = axes::resistance_ticks(picture.span.0, picture.span.1);
    let gutter = ticks.iter().map(|tick| LABEL.width(&tick.label)).fold(LABEL.width("1000"), f64::max) + 14.0;
    let minimum = picture.minimum.as_ref();
    let beside = minimum
        .map_or(0.0, |minimum| limit::name_width(minimum.name, &minimum.label))
        .max(limit::name_width("limit", &picture.limit_label));
    let (left, right) = (theme::MARGIN + gutter, pen.page.right - theme::MARGIN - beside - 12.0);
    let dates = Dates { days: picture.days, as_of: picture.as_of, flags: &picture.flags };
    let dated = Dated::place(pen.page, &picture.words, dates, (left, right), LEAST_PLOT);
    dated.draw_words(&pen)?;
    let Dated { timeline, flags, plot, data_top, .. } = dated;
    let middle = data_top + (plot.bottom - data_top - BETWEEN) * UPPER;
    let upper = Upright { span: picture.span, top: data_top, bottom: middle };
    let lower = Upright { span: (0.0, picture.farthest), top: middle + BETWEEN, bottom: plot.bottom };

    upper.draw(&pen, &ticks, (left, right))?;
    ratio_axis(&pen, &lower, (left, right))?;
    flags::draw(&pen, &flags, Frame { bottom: middle, ..plot }, data_top)?;
    let second = flags::without_labels(&flags);
    flags::draw(&pen, &second, Frame { top: lower.top, ..plot }, lower.top)?;
    if let Some(minimum) = minimum {
        let y = upper.y(minimum.value);
        limit::draw(&pen, (left, right), y, Forbidden::Below)?;
        limit::name(&pen, (right, y), minimum.name, &minimum.label)?;
    }
    let y = lower.y(picture.limit);
    limit::draw(&pen, (left, right), y, Forbidden::Above)?;
    // A limit of nearly 1 keeps its words clear of the dates.
    limit::name(&pen, (right, y.min(plot.bottom - 14.0)), "limit", &picture.limit_label)?;
    for (phase, readings) in &picture.phases {
        readings_of(&pen, *phase, readings, &timeline, &upper)?;
    }
    ratios(&pen, picture, &timeline, &lower)?;
    timeline.draw(&pen, plot.bottom)?;
    pen.done()
}

/// The words and the grid of the lower panel.
fn ratio_axis<DB: DrawingBackend>(pen: &Pen<'_, DB>, lower: &Upright, (left, right): (f64, f64)) -> Drawn<DB> {
    let words = SMALL.fit("Highest phase over lowest on the same day", right - theme::MARGIN);
    pen.text(&words, (theme::MARGIN, lower.top - 12.0), Align::Left, SMALL, theme::INK)?;
    let mut taken: Vec<f64> = Vec::new();
    for ratio in RATIOS {
        let y = lower.y(ratio.log10());
        if y < lower.top - 0.5 || taken.iter().any(|other| (other - y).abs() < RATIOS_APART) {
            continue;
        }
        taken.push(y);
        pen.path(&[(left - 7.0, y), (right, y)], 1.0, theme::HAIR)?;
        pen.text(&ratio.to_string(), (left - 12.0, y + theme::LABEL * 0.36), Align::Right, LABEL, theme::INK)?;
    }
    pen.path(&[(left, lower.top), (left, lower.bottom)], 1.0, theme::FAINT)
}

/// The readings of a phase, joined where they are exact and of one stretch.
fn readings_of<DB: DrawingBackend>(
    pen: &Pen<'_, DB>,
    phase: Phase,
    readings: &[Reading],
    timeline: &Timeline,
    upright: &Upright,
) -> Drawn<DB> {
    let place = |reading: &Reading| -> At {
        let y = reading.value.map_or(upright.top + marks::ARROW + 4.0, |value| upright.y_inside(value));
        (timeline.x(reading.day), y)
    };
    let before = |reading: &Reading| reading.standing == Emphasis::Before;
    let joins =
        |a: &Reading, b: &Reading| a.says == BoundMark::Exact && b.says == BoundMark::Exact && before(a) == before(b);
    for run in readings.chunk_by(joins) {
        let points: Vec<At> = run.iter().map(place).collect();
        let pale = run.first().is_some_and(before);
        marks::phase_line(pen, phase, &points, pale)?;
    }
    for reading in readings {
        marks::phase(pen, phase, reading.says, place(reading), before(reading))?;
    }
    Ok(())
}

/// The ratios, with the lowest phase's letter where the limit is passed and there is room.
fn ratios<DB: DrawingBackend>(
    pen: &Pen<'_, DB>,
    picture: &PhasesPicture,
    timeline: &Timeline,
    lower: &Upright,
) -> Drawn<DB> {
    let place = |ratio: &RatioMark| -> At { (timeline.x(ratio.day), lower.y_inside(ratio.value)) };
    let joins = |a: &RatioMark, b: &RatioMark| {
        a.says == BoundMark::Exact && b.says == BoundMark::Exact && a.standing == b.standing
    };
    for run in picture.ratios.chunk_by(joins) {
        let points: Vec<At> = run.iter().map(place).collect();
        pen.path(&points, 1.5, theme::FAINT)?;
    }
    let mut free_from = f64::NEG_INFINITY;
    for ratio in &picture.ratios {
        let at = place(ratio);
        marks::draw(pen, ratio.standing, ratio.says, at, 1.0)?;
        let letter = ratio.lowest.to_string();
        let half = LOWEST.width(&letter) / 2.0;
        // Above the mark, and beyond the arrow of a bound.
        let baseline = at.1 - if ratio.says == BoundMark::Exact { 11.0 } else { marks::ARROW + 4.0 };
        let room = at.0 - half > free_from && baseline - theme::SMALL > lower.top - 8.0;
        if ratio.value > picture.limit && room {
            pen.text(&letter, (at.0, baseline), Align::Middle, LOWEST, theme::INK)?;
            free_from = at.0 + half + 4.0;
        }
    }
    Ok(())
}
