//! Drawing: both panels on one axis along.

use super::super::axes;
use super::super::flags;
use super::super::font::Face;
use super::super::limit::{self, Forbidden};
use super::super::marks::{self, BoundMark, Emphasis};
use super::super::page::{Align, At, Drawn, Frame, Pen};
use super::super::theme;
use super::super::upright::Upright;
use super::{PanelsPicture, Point};
use plotters::coord::Shift;
use plotters::drawing::DrawingArea;
use plotters_backend::DrawingBackend;

const LABEL: Face = Face::regular(theme::LABEL);
const SMALL: Face = Face::regular(theme::SMALL);

/// Share of the height that the resistance takes.
const UPPER: f64 = 0.6;
/// Between the two panels, with the words of the lower one.
const BETWEEN: f64 = 40.0;
/// Height of the labels along the axis with their ticks.
const ALONG: f64 = 40.0;
/// Least height of both panels.
const LEAST_PLOT: f64 = 210.0;
/// Least distance between two labels along the axis, and between two at the lower panel.
const APART: (f64, f64) = (80.0, 22.0);
/// Most ticks of the lower panel.
const MOST_LOWER: u32 = 12;
/// Least span of the resistance axis, decades.
const LEAST_SPAN: f64 = 0.5;

/// Draws the picture over the whole area.
pub(super) fn draw<DB: DrawingBackend>(area: &DrawingArea<DB, Shift>, picture: &PanelsPicture) -> Drawn<DB> {
    let pen = Pen::new(area);
    let span = resistances(picture);
    let ticks = axes::resistance_ticks(span.0, span.1);
    let low = lower_span(picture);
    // How many ticks the lower panel has is known once the words above have their place.
    let lower_ticks = (1..=MOST_LOWER).flat_map(|most| axes::linear_ticks(low.0, low.1, f64::from(most)));
    let lower_labels = lower_ticks.map(|tick| tick.label);
    let labels = ticks.iter().map(|tick| tick.label.clone()).chain(lower_labels);
    let widest = labels.map(|label| LABEL.width(&label)).fold(LABEL.width("1000"), f64::max);
    // Half of the last label along the axis reaches beyond the plot.
    let beside = picture.minimum.as_ref().map_or(20.0, |m| limit::name_width(m.name, &m.label) + 12.0);
    let (left, right) = (theme::MARGIN + widest + 14.0, pen.page.right - theme::MARGIN - beside);
    let (first, last) = ends(picture.points.iter().map(|point| point.along)).unwrap_or((0.0, 1.0));
    // The first mark stands clear of the axis.
    let start = left + 16.0;
    let x = |along: f64| start + (along - first) / (last - first).max(1e-9) * (right - 16.0 - start);
    let lines: Vec<(f64, &str)> = picture.marks.iter().map(|(along, label)| (x(*along), label.as_str())).collect();
    let named = flags::place(&lines, left, right);
    let placed = picture.words.place(pen.page, LEAST_PLOT + ALONG);
    placed.draw(&pen)?;
    let room = placed.room;
    let plot = Frame { left, right, top: room.top, bottom: room.bottom - ALONG };
    let data_top = plot.top + flags::tiers(&named) as f64 * flags::TIER + 6.0;
    let middle = data_top + (plot.bottom - data_top - BETWEEN) * UPPER;
    let upper = Upright { span, top: data_top, bottom: middle };
    let lower = Upright { span: low, top: middle + BETWEEN, bottom: plot.bottom };
    upper.draw(&pen, &ticks, (left, right))?;
    lower_axis(&pen, picture, &lower, (left, right))?;
    for (i, flag) in named.iter().enumerate() {
        let tier = plot.top + flag.tier as f64 * flags::TIER;
        let top = if flag.label.is_some() { tier } else { data_top };
        pen.dashed(&[(flag.x, top + 3.0), (flag.x, plot.bottom)], &[2.5, 4.5], 1.8, theme::SOFT)?;
        if let Some((label, from)) = &named[i].label {
            pen.text(label, (*from, tier + 16.0), Align::Left, SMALL, theme::INK)?;
        }
    }
    if let Some(minimum) = &picture.minimum {
        let y = upper.y(minimum.value);
        limit::draw(&pen, (left, right), y, Forbidden::Below)?;
        limit::name(&pen, (right, y), minimum.name, &minimum.label)?;
    }
    along(&pen, picture, (first, last), plot, &x)?;
    let at = |point: &Point| -> At {
        (x(point.along), point.resistance.map_or(upper.top + marks::ARROW + 4.0, |value| upper.y_inside(value)))
    };
    let exact: Vec<At> = picture.points.iter().filter(|point| point.says == Some(BoundMark::Exact)).map(at).collect();
    pen.path(&exact, 2.4, theme::LEVEL)?;
    for point in &picture.points {
        if let Some(says) = point.says {
            marks::draw(&pen, Emphasis::Counts, says, at(point), 1.0)?;
        }
    }
    let below = |point: &Point| Some((x(point.along), lower.y_inside(point.lower?)));
    let values: Vec<At> = picture.points.iter().filter_map(below).collect();
    pen.path(&values, 2.0, theme::SOFT)?;
    for at in values {
        pen.disc(at, 4.0, theme::SOFT)?;
    }
    pen.done()
}

/// The words and the grid of the lower panel.
fn lower_axis<DB: DrawingBackend>(
    pen: &Pen<'_, DB>,
    picture: &PanelsPicture,
    lower: &Upright,
    (left, right): (f64, f64),
) -> Drawn<DB> {
    let words = SMALL.fit(&picture.lower, right - theme::MARGIN);
    pen.text(&words, (theme::MARGIN, lower.top - 12.0), Align::Left, SMALL, theme::INK)?;
    let most = ((lower.bottom - lower.top) / APART.1).floor().clamp(1.0, f64::from(MOST_LOWER));
    for tick in axes::linear_ticks(lower.span.0, lower.span.1, most) {
        let y = lower.y(tick.at);
        pen.path(&[(left - 7.0, y), (right, y)], 1.0, theme::HAIR)?;
        pen.text(&tick.label, (left - 12.0, y + theme::LABEL * 0.36), Align::Right, LABEL, theme::INK)?;
    }
    pen.path(&[(left, lower.top), (left, lower.bottom)], 1.0, theme::FAINT)
}

/// The axis of hours or volts.
fn along<DB: DrawingBackend>(
    pen: &Pen<'_, DB>,
    picture: &PanelsPicture,
    (first, last): (f64, f64),
    plot: Frame,
    x: &impl Fn(f64) -> f64,
) -> Drawn<DB> {
    pen.path(&[(plot.left, plot.bottom), (plot.right, plot.bottom)], 1.6, theme::INK)?;
    let most = ((plot.right - plot.left) / APART.0).floor().max(1.0);
    for tick in axes::linear_ticks(first, last, most) {
        let at = x(tick.at);
        pen.path(&[(at, plot.bottom), (at, plot.bottom + 8.0)], 1.6, theme::INK)?;
        let label = format!("{} {}", tick.label, picture.unit);
        pen.text(&label, (at, plot.bottom + 26.0), Align::Middle, LABEL, theme::INK)?;
    }
    Ok(())
}

fn resistances(picture: &PanelsPicture) -> (f64, f64) {
    let values = picture.points.iter().filter_map(|point| point.resistance);
    let values = values.chain(picture.minimum.as_ref().map(|minimum| minimum.value));
    let (low, high) = ends(values).unwrap_or((0.0, 1.0));
    let short = (LEAST_SPAN - (high - low)).max(0.0) / 2.0;
    let pad = 0.1 * (high - low).max(LEAST_SPAN);
    (low - short - pad, high + short + pad)
}

fn lower_span(picture: &PanelsPicture) -> (f64, f64) {
    let (low, high) = ends(picture.points.iter().filter_map(|point| point.lower)).unwrap_or((0.0, 1.0));
    let low = if picture.from_nought { low.min(0.0) } else { low };
    let pad = 0.08 * (high - low).max(1e-6);
    (if picture.from_nought { low } else { low - pad }, high + pad)
}

fn ends(values: impl Iterator<Item = f64>) -> Option<(f64, f64)> {
    values.fold(None, |ends: Option<(f64, f64)>, value| {
        Some(ends.map_or((value, value), |(low, high)| (low.min(value), high.max(value))))
    })
}
