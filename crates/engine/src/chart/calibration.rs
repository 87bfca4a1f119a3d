//! how well past forecasts held: found share against claimed share, where readings fell in their forecasts, and the
//! probabilities of reaching the minimum against what came.

use super::Chart;
use super::font::Face;
use super::page::{Align, Drawn, Frame, Pen};
use super::theme;
use crate::legible::clean;
use groundwall::replay::Replay;
use plotters::coord::Shift;
use plotters::drawing::DrawingArea;
use plotters_backend::DrawingBackend;

const TITLE: Face = Face::strong(theme::TITLE);
const SUBTITLE: Face = Face::regular(theme::SUBTITLE);
const HEADING: Face = Face::strong(theme::LABEL);
const SMALL: Face = Face::regular(theme::SMALL);
/// Dashes of the lines of perfect calibration.
const DASHES: [f64; 2] = [7.0, 5.0];
/// Share of a line's height above its baseline.
const BASELINE: f64 = 0.75;
/// From the middle of a line's letters down to its baseline.
const MIDDLE_OF_TEXT: f64 = 5.5;
/// From an axis down to the baseline of its labels.
const BELOW_AXIS: f64 = 22.0;
/// Half width of a whisker's end.
const WHISKER: f64 = 6.0;
/// Width of the numbers beside a panel's upright axis.
const GUTTER: f64 = 58.0;

/// A claimed share with what was found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Claimed, 0 to 1.
    pub claimed: f64,
    /// Found, 0 to 1.
    pub found: f64,
    /// Lower end of what so many cases leave open.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// The picture as plain data.
#[derive(Clone, Debug, PartialEq)]
pub struct CalibrationPicture {
    /// What it says, in words.
    pub title: String,
    /// What was done.
    pub subtitle: String,
    /// Middle intervals of next readings: claimed and found.
    pub intervals: Vec<Point>,
    /// Share of next readings in each tenth of their forecasts.
    pub tenths: Vec<f64>,
    /// Probability of reaching the minimum inside the horizon: mean claimed and came true.
    pub crossings: Vec<Point>,
    /// Small print.
    pub footer: String,
}

impl CalibrationPicture {
    /// The picture of a replay; `sources` are the files it was made from.
    #[must_use]
    pub fn new(replay: &Replay, sources: Vec<String>) -> Self {
        let overall = &replay.overall;
        let inside = &overall.next_readings.inside;
        let percent = |value: f64| format!("{:.0} %", 100.0 * value);
        let title = match inside.value() {
            Some(found) => {
                format!(
                    "{} of the next readings fell inside their {} interval",
                    percent(found),
                    percent(replay.confidence)
                )
            }
            None => "No next reading could be compared".to_owned(),
        };
        let cuts = (replay.cuts.first(), replay.cuts.last());
        let subtitle = match cuts {
            (Some(first), Some(last)) => format!(
                "{} readings, forecast at {} past dates from {first} to {last} with only what was known then.",
                inside.cases,
                replay.cuts.len()
            ),
            _ => "The history is too short to be replayed.".to_owned(),
        };
        let mut intervals: Vec<Point> = overall
            .calibration
            .central()
            .into_iter()
            .filter_map(|(claimed, share)| {
                Some(Point { claimed, found: share.value()?, low: share.low, high: share.high })
            })
            .collect();
        let is_shown = intervals.iter().any(|point| (point.claimed - replay.confidence).abs() < 1e-9);
        if let Some(found) = inside.value().filter(|_| !is_shown) {
            intervals.push(Point { claimed: replay.confidence, found, low: inside.low, high: inside.high });
        }
        let crossings = overall
            .crossings
            .bins
            .iter()
            .filter_map(|bin| {
                let claimed = bin.claimed / bin.reached.cases.max(1) as f64;
                Some(Point { claimed, found: bin.reached.value()?, low: bin.reached.low, high: bin.reached.high })
            })
            .collect();
        Self {
            title,
            subtitle,
            intervals,
            tenths: overall.calibration.tenths().to_vec(),
            crossings,
            footer: clean(&format!(
                "Whiskers: {} confidence interval. Dashed: perfect calibration. Source: {}",
                percent(replay.confidence),
                sources.join(", ")
            )),
        }
    }
}

impl Chart for CalibrationPicture {
    fn draw<DB: DrawingBackend>(&self, area: &DrawingArea<DB, Shift>) -> Drawn<DB> {
        let pen = Pen::new(area);
        pen.rect(pen.page, theme::PAPER)?;
        let (left, right) = (theme::MARGIN, pen.page.right - theme::MARGIN);
        // A text stands on its baseline.
        let mut y = theme::MARGIN + TITLE.line_height() * BASELINE;
        for line in TITLE.wrap_even(&self.title, right - left, 2) {
            pen.text(&line, (left, y), Align::Left, TITLE, theme::INK)?;
            y += TITLE.line_height();
        }
        for line in SUBTITLE.wrap_even(&self.subtitle, right - left, 2) {
            pen.text(&line, (left, y), Align::Left, SUBTITLE, theme::SOFT)?;
            y += SUBTITLE.line_height();
        }
        let foot = SMALL.wrap(&self.footer, right - left, 3);
        let bottom = pen.page.bottom - theme::MARGIN - (foot.len() as f64 - 1.0) * SMALL.line_height();
        for (i, line) in foot.iter().enumerate() {
            pen.text(line, (left, bottom + i as f64 * SMALL.line_height()), Align::Left, SMALL, theme::SOFT)?;
        }
        let gap = 40.0;
        let width = (right - left - 2.0 * gap) / 3.0;
        let panels: [Frame; 3] = std::array::from_fn(|i| {
            let from = left + i as f64 * (width + gap);
            Frame { left: from, top: y + 24.0, right: from + width, bottom: bottom - 40.0 }
        });
        let words = ["Next readings", "Where readings fell", "Reaching the minimum"];
        let below = ["claimed for the interval", "tenth of the forecast", "claimed inside the horizon"];
        for ((panel, heading), axis) in panels.iter().zip(words).zip(below) {
            pen.text(heading, (panel.left, panel.top), Align::Left, HEADING, theme::INK)?;
            let middle = f64::midpoint(panel.left + GUTTER, panel.right);
            pen.text(axis, (middle, panel.bottom), Align::Middle, SMALL, theme::SOFT)?;
        }
        let plots = panels.map(|panel| Frame {
            left: panel.left + GUTTER,
            top: panel.top + 54.0,
            right: panel.right - 8.0,
            bottom: panel.bottom - 54.0,
        });
        shares(&pen, plots[0], &self.intervals, "found")?;
        tenths(&pen, plots[1], &self.tenths)?;
        shares(&pen, plots[2], &self.crossings, "came true")?;
        pen.done()
    }

    fn description(&self) -> String {
        format!("{}. {}", self.title, self.subtitle)
    }
}

/// Ticks at 0, 25, 50, 75 and 100 % along both axes, the diagonal, and the points with their whiskers.
fn shares<DB: DrawingBackend>(pen: &Pen<'_, DB>, plot: Frame, points: &[Point], what: &str) -> Drawn<DB> {
    let x = |share: f64| plot.left + share * plot.width();
    let y = |share: f64| plot.bottom - share * plot.height();
    for quarter in 0..=4 {
        let share = f64::from(quarter) / 4.0;
        pen.path(&[(plot.left, y(share)), (plot.right, y(share))], 1.0, theme::HAIR)?;
        let label = format!("{:.0} %", 100.0 * share);
        let height = y(share) + MIDDLE_OF_TEXT;
        pen.text(&label, (plot.left - 8.0, height), Align::Right, SMALL, theme::INK)?;
        if quarter % 2 == 0 {
            pen.text(&label, (x(share), plot.bottom + BELOW_AXIS), Align::Middle, SMALL, theme::INK)?;
        }
    }
    pen.text(what, (plot.left, plot.top - 18.0), Align::Left, SMALL, theme::SOFT)?;
    pen.path(&[(plot.left, plot.bottom), (plot.right, plot.bottom)], 2.0, theme::INK)?;
    pen.dashed(&[(x(0.0), y(0.0)), (x(1.0), y(1.0))], &DASHES, 1.5, theme::FAINT)?;
    for point in points {
        let at = x(point.claimed);
        pen.path(&[(at, y(point.low)), (at, y(point.high))], 1.5, theme::LEVEL)?;
        for end in [point.low, point.high] {
            pen.path(&[(at - WHISKER, y(end)), (at + WHISKER, y(end))], 1.5, theme::LEVEL)?;
        }
        pen.disc((at, y(point.found)), 6.0, theme::INK)?;
    }
    Ok(())
}

/// A bar for each tenth, against the tenth that each should hold.
fn tenths<DB: DrawingBackend>(pen: &Pen<'_, DB>, plot: Frame, shares: &[f64]) -> Drawn<DB> {
    let even = 1.0 / shares.len().max(1) as f64;
    let most = shares.iter().copied().fold(2.0 * even, f64::max);
    let top = (most * 20.0).ceil() / 20.0;
    let y = |share: f64| plot.bottom - share / top * plot.height();
    let step = if top > 0.3 { 0.1 } else { 0.05 };
    let ticks = (top / step).round() as usize;
    for k in 0..=ticks {
        let share = k as f64 * step;
        pen.path(&[(plot.left, y(share)), (plot.right, y(share))], 1.0, theme::HAIR)?;
        let height = y(share) + MIDDLE_OF_TEXT;
        pen.text(&format!("{:.0} %", 100.0 * share), (plot.left - 8.0, height), Align::Right, SMALL, theme::INK)?;
    }
    let width = plot.width() / shares.len().max(1) as f64;
    for (i, share) in shares.iter().enumerate() {
        let from = plot.left + i as f64 * width;
        let bar = Frame { left: from + 3.0, top: y(*share), right: from + width - 3.0, bottom: plot.bottom };
        pen.rect(bar, theme::BAND)?;
        let edge = [(bar.left, bar.bottom), (bar.left, bar.top), (bar.right, bar.top), (bar.right, bar.bottom)];
        pen.path(&edge, 1.5, theme::LEVEL)?;
    }
    for (label, at, align) in [("lowest", plot.left, Align::Left), ("highest", plot.right, Align::Right)] {
        pen.text(label, (at, plot.bottom + BELOW_AXIS), align, SMALL, theme::INK)?;
    }
    pen.text("share of readings", (plot.left, plot.top - 18.0), Align::Left, SMALL, theme::SOFT)?;
    pen.dashed(&[(plot.left, y(even)), (plot.right, y(even))], &DASHES, 1.5, theme::INK)?;
    pen.path(&[(plot.left, plot.bottom), (plot.right, plot.bottom)], 2.0, theme::INK)
}
