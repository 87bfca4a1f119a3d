//! Drawing: older curves first and paler, the latest on top; date and ratios of each beside its end.

use super::super::axes;
use super::super::font::Face;
use super::super::legend::{Entry, JOINED_DASH, Sample};
use super::super::marks::{self, BoundMark, Emphasis};
use super::super::page::{Align, At, Drawn, Frame, Pen};
use super::super::theme;
use super::super::upright::Upright;
use super::super::words;
use super::{AbsorptionPicture, Curve};
use plotters::coord::Shift;
use plotters::drawing::DrawingArea;
use plotters::style::RGBColor;
use plotters_backend::DrawingBackend;

const LABEL: Face = Face::regular(theme::LABEL);
const SMALL: Face = Face::regular(theme::SMALL);
const STRONG: Face = Face::strong(theme::SMALL);

/// Height of the time labels with their ticks.
const TIMES: f64 = 40.0;
/// Least distance between two time labels.
const TIMES_APART: f64 = 62.0;
/// Least height of the data.
const LEAST_PLOT: f64 = 150.0;
/// Distance between two rows of labels.
const ROW: f64 = 20.0;
/// From the curve's end to its label.
const LEADER: f64 = 44.0;
/// Gap between two columns of the labels.
const GAP: f64 = 16.0;

/// Of more curves than this, the older ones are drawn as their laws alone.
const MARKED: usize = 12;

/// Times that get a name, seconds.
const NAMED: [(f64, &str); 14] = [
    (60.0, "1 min"),
    (600.0, "10 min"),
    (30.0, "30 s"),
    (300.0, "5 min"),
    (15.0, "15 s"),
    (120.0, "2 min"),
    (10.0, "10 s"),
    (1200.0, "20 min"),
    (3600.0, "1 h"),
    (5.0, "5 s"),
    (180.0, "3 min"),
    (1800.0, "30 min"),
    (2.0, "2 s"),
    (1.0, "1 s"),
];

/// Draws the picture over the whole area.
pub(super) fn draw<DB: DrawingBackend>(area: &DrawingArea<DB, Shift>, picture: &AbsorptionPicture) -> Drawn<DB> {
    let pen = Pen::new(area);
    let ticks = axes::resistance_ticks(picture.span.0, picture.span.1);
    let gutter = ticks.iter().map(|tick| LABEL.width(&tick.label)).fold(0.0, f64::max) + 14.0;
    let columns = Columns::of(picture);
    let (left, right) = (theme::MARGIN + gutter, pen.page.right - theme::MARGIN - columns.width() - LEADER);
    let placed_with = |more: Option<Entry>| picture.words.with_entries(more).place(pen.page, LEAST_PLOT + TIMES);
    // How many labels there is room for is known once the words have their place; a remark about the others is one of them.
    let mut placed = placed_with(None);
    let rows = |room: &Frame| ((room.bottom - TIMES - room.top - ROW) / ROW).floor().max(1.0) as usize;
    let with_remark = |rows: usize| {
        let words = format!("{} without a label", words::tests(picture.curves.len().saturating_sub(rows)));
        placed_with(Some(Entry { sample: Sample::None, words }))
    };
    if rows(&placed.room) < picture.curves.len() {
        placed = with_remark(rows(&placed.room));
        placed = with_remark(rows(&placed.room));
    }
    placed.draw(&pen)?;
    let room = placed.room;
    let plot = Frame { left, right, top: room.top + ROW, bottom: room.bottom - TIMES };
    let upright = Upright { span: picture.span, top: plot.top + 6.0, bottom: plot.bottom };
    let (first, last) = picture.times;
    // A curve's first mark stands clear of the axis.
    let start = left + 16.0;
    let x = |time: f64| start + (time - first) / (last - first).max(1e-9) * (right - 10.0 - start);
    upright.draw(&pen, &ticks, (left, right))?;
    times(&pen, picture.times, plot, &x)?;
    let place = |time: f64, value: Option<f64>| -> At {
        (x(time), value.map_or(upright.top + marks::ARROW + 4.0, |value| upright.y_inside(value)))
    };
    for (i, curve) in picture.curves.iter().enumerate() {
        let look = Look {
            color: shade(i, picture.curves.len()),
            latest: i + 1 == picture.curves.len(),
            marked: picture.curves.len() <= MARKED,
        };
        line(&pen, curve, look, &place)?;
    }
    labels(&pen, picture, &columns, plot, rows(&room), &place)?;
    pen.done()
}

/// The colour of a curve: paler the older it is, in a few steps.
fn shade(i: usize, count: usize) -> RGBColor {
    if i + 1 == count {
        return theme::LEVEL;
    }
    const STEPS: f64 = 5.0;
    let age = 1.0 - (i + 1) as f64 / count.max(1) as f64;
    let step = (age * STEPS).round() / STEPS;
    let mix = |young: u8, old: u8| (f64::from(young) + (f64::from(old) - f64::from(young)) * step).round() as u8;
    let (young, old) = (theme::SOFT, theme::OLD);
    RGBColor(mix(young.0, old.0), mix(young.1, old.1), mix(young.2, old.2))
}

/// How a curve is drawn.
#[derive(Clone, Copy)]
struct Look {
    color: RGBColor,
    latest: bool,
    /// Whether exact readings of an older curve with a law have their marks.
    marked: bool,
}

/// The law, or the readings joined, and the marks.
fn line<DB: DrawingBackend>(
    pen: &Pen<'_, DB>,
    curve: &Curve,
    Look { color, latest, marked }: Look,
    place: &impl Fn(f64, Option<f64>) -> At,
) -> Drawn<DB> {
    let width = if latest { 3.2 } else { 1.5 };
    if curve.law.is_empty() {
        let exact = curve.readings.iter().filter(|reading| reading.says == BoundMark::Exact);
        let points: Vec<At> = exact.map(|reading| place(reading.time, reading.value)).collect();
        pen.dashed(&points, &JOINED_DASH, width, color)?;
    } else {
        let points: Vec<At> = curve.law.iter().map(|(time, value)| place(*time, Some(*value))).collect();
        pen.path(&points, width, color)?;
    }
    for reading in &curve.readings {
        let at = place(reading.time, reading.value);
        match (latest, reading.says) {
            (true, says) => marks::draw(pen, Emphasis::Counts, says, at, 1.0)?,
            (false, BoundMark::Exact) if marked || curve.law.is_empty() => pen.disc(at, 2.6, color)?,
            (false, BoundMark::Exact) => {}
            (false, says) => marks::draw(pen, Emphasis::Before, says, at, 1.0)?,
        }
    }
    Ok(())
}

/// The axis of elapsed times; one minute and ten minutes, which the index compares, have a line of their own.
fn times<DB: DrawingBackend>(
    pen: &Pen<'_, DB>,
    (first, last): (f64, f64),
    plot: Frame,
    x: &impl Fn(f64) -> f64,
) -> Drawn<DB> {
    pen.path(&[(plot.left, plot.bottom), (plot.right, plot.bottom)], 1.6, theme::INK)?;
    let mut taken: Vec<f64> = Vec::new();
    for (seconds, name) in NAMED {
        let time = f64::log10(seconds);
        let at = x(time);
        let inside = time >= first - 0.02 && time <= last + 0.02;
        if !inside || taken.iter().any(|other| (other - at).abs() < TIMES_APART) {
            continue;
        }
        taken.push(at);
        if name == "1 min" || name == "10 min" {
            pen.path(&[(at, plot.top), (at, plot.bottom)], 1.0, theme::FAINT)?;
        }
        pen.path(&[(at, plot.bottom), (at, plot.bottom + 8.0)], 1.6, theme::INK)?;
        pen.text(name, (at, plot.bottom + 26.0), Align::Middle, LABEL, theme::INK)?;
    }
    for (seconds, _) in NAMED {
        let time = f64::log10(seconds);
        if time >= first && time <= last {
            pen.path(&[(x(time), plot.bottom), (x(time), plot.bottom + 4.0)], 1.0, theme::FAINT)?;
        }
    }
    Ok(())
}

/// Widths of the columns beside the plot.
struct Columns {
    date: f64,
    pi: f64,
    dar: f64,
}

impl Columns {
    fn of(picture: &AbsorptionPicture) -> Self {
        let widest = |head: &str, text: fn(&Curve) -> &str| {
            picture.curves.iter().map(|curve| STRONG.width(text(curve))).fold(STRONG.width(head), f64::max)
        };
        Self {
            date: widest("test", |curve| &curve.date),
            pi: widest("PI", |curve| &curve.pi),
            dar: widest("DAR", |curve| &curve.dar),
        }
    }

    fn width(&self) -> f64 {
        self.date + self.pi + self.dar + 2.0 * GAP
    }
}

/// Date, PI and DAR of each test, the latest on top, with a line to its curve's end.
fn labels<DB: DrawingBackend>(
    pen: &Pen<'_, DB>,
    picture: &AbsorptionPicture,
    columns: &Columns,
    plot: Frame,
    rows: usize,
    place: &impl Fn(f64, Option<f64>) -> At,
) -> Drawn<DB> {
    let from = plot.right + LEADER;
    let ends = [from, from + columns.date + GAP + columns.pi, from + columns.width()];
    for (head, x, align) in
        [("test", ends[0], Align::Left), ("PI", ends[1], Align::Right), ("DAR", ends[2], Align::Right)]
    {
        pen.text(head, (x, plot.top - 6.0), align, SMALL, theme::SOFT)?;
    }
    let labelled = chosen(picture.curves.len(), rows).into_iter();
    let ended = labelled.filter_map(|i| Some((i, picture.curves[i].readings.last()?)));
    for (row, (i, last)) in ended.enumerate() {
        let (end, y) = (place(last.time, last.value), plot.top + (row as f64 + 0.5) * ROW);
        let curve = &picture.curves[i];
        let latest = i + 1 == picture.curves.len();
        let (face, color) = if latest { (STRONG, theme::INK) } else { (SMALL, theme::SOFT) };
        let leader = [(end.0 + 9.0, end.1), (plot.right + 6.0, end.1), (from - 8.0, y), (from - 4.0, y)];
        pen.path(&leader, 1.0, shade(i, picture.curves.len()))?;
        let baseline = y + theme::SMALL * 0.35;
        for (text, x, align) in [
            (&curve.date, ends[0], Align::Left),
            (&curve.pi, ends[1], Align::Right),
            (&curve.dar, ends[2], Align::Right),
        ] {
            pen.text(text, (x, baseline), align, face, color)?;
        }
    }
    Ok(())
}

/// Which of so many curves are labelled, the latest first: all, or the latest, the first and some evenly between them.
fn chosen(count: usize, rows: usize) -> Vec<usize> {
    if count <= rows {
        return (0..count).rev().collect();
    }
    let last = count.saturating_sub(1);
    let steps = rows.saturating_sub(1).max(1);
    let mut chosen: Vec<usize> = (0..rows).map(|step| last - step * last / steps).collect();
    chosen.dedup();
    chosen
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn where_labels_are_few_the_latest_and_the_first_are_among_them() {
        assert_eq!(chosen(3, 10), [2, 1, 0]);
        assert_eq!(chosen(27, 4), [26, 18, 9, 0]);
        assert_eq!(chosen(5, 1), [4]);
    }
}
