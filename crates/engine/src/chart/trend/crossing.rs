//! Where the level meets the minimum: the interval, and its dates where they cover least.

use super::super::axes::date;
use super::super::font::Face;
use super::super::legend::{bracket, later};
use super::super::marks::{self, BoundMark};
use super::super::page::{Align, At, Drawn, Frame, Pen};
use super::super::theme;
use super::layout::{Layout, place};
use super::{Crossing, LevelAt};
use plotters::style::RGBColor;
use plotters_backend::DrawingBackend;

/// Face of the dates.
const FACE: Face = Face::strong(theme::SMALL);

const ROW: f64 = 20.0;

/// Distance of the words from the minimum line, clear of its hatching and of the bracket's stops.
const CLEAR: f64 = 15.0;

/// Length of the arrow towards a crossing later than the picture.
const LATER: f64 = 46.0;

/// Draws the interval of the crossing with its dates.
///
/// # Errors
///
/// Whatever the backend reports.
pub(super) fn draw<DB: DrawingBackend>(pen: &Pen<'_, DB>, layout: &Layout<'_>) -> Drawn<DB> {
    let picture = layout.picture;
    let (Some(crossing), Some(minimum)) = (&picture.crossing, &picture.minimum) else { return Ok(()) };
    let (plot, y) = (layout.plot, layout.y(minimum.value));
    let x_of = |day: f64| layout.x(day);
    if crossing.earliest > picture.days.1 {
        later(pen, plot.right - LATER, plot.right, y, 1.0)?;
    } else {
        let known = crossing.latest.map(x_of).filter(|x| *x <= plot.right);
        let ends = (x_of(crossing.earliest).max(plot.left), known.unwrap_or(plot.right));
        let middle = crossing.median.map(x_of).filter(|x| *x <= plot.right);
        bracket(pen, ends, y, (true, known.is_some()), middle, 1.0)?;
    }
    let marks = picture.readings.iter().map(|r| marks::extent(r.says, place(layout, r.day, r.value)));
    let levels = picture.level.iter().chain(&picture.forecast);
    let middles = levels.map(|level| marks::extent(BoundMark::Exact, (layout.x(level.day), layout.y(level.middle))));
    let obstacles = Obstacles {
        latest: picture.latest().map(|r| marks::extent(r.says, place(layout, r.day, r.value))).collect(),
        others: marks.chain(middles).collect(),
    };
    let (data, today) = (Frame { top: layout.data_top, ..plot }, layout.x(picture.as_of));
    for words in words(crossing, &x_of, y, data, today, &obstacles) {
        let frame = words.frame();
        if frame.left < today && today < frame.right {
            // Today's line is interrupted behind words; the ground differs on its sides.
            for side in [Frame { right: today, ..frame }, Frame { left: today, ..frame }] {
                pen.rect(side, ground(layout, &side))?;
            }
        } else if crosses_a_line(layout, &frame) {
            pen.rect(frame, ground(layout, &frame))?;
        }
        pen.text(&words.text, words.at, Align::Left, FACE, theme::LIMIT)?;
    }
    Ok(())
}

/// Whether the level or an edge of its band runs through a frame.
fn crosses_a_line(layout: &Layout<'_>, frame: &Frame) -> bool {
    let values: [fn(&LevelAt) -> f64; 3] = [|l| l.low, |l| l.middle, |l| l.high];
    let levels = [&layout.picture.level, &layout.picture.forecast];
    let mut lines = levels.iter().flat_map(|levels| values.iter().flat_map(|value| layout.along(levels, *value)));
    lines.any(|line| line.windows(2).any(|pair| meets(pair[0], pair[1], frame)))
}

/// Whether a straight line runs through a frame.
fn meets(a: At, b: At, frame: &Frame) -> bool {
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    for (start, end, low, high) in [(a.0, b.0, frame.left, frame.right), (a.1, b.1, frame.top, frame.bottom)] {
        let length = end - start;
        if length.abs() < 1e-9 {
            if start <= low || start >= high {
                return false;
            }
        } else {
            let (one, other) = ((low - start) / length, (high - start) / length);
            (from, to) = (from.max(one.min(other)), to.min(one.max(other)));
        }
    }
    from < to
}

/// The colour of the ground in the middle of a frame.
fn ground(layout: &Layout<'_>, frame: &Frame) -> RGBColor {
    let picture = layout.picture;
    let (x, y) = (f64::midpoint(frame.left, frame.right), f64::midpoint(frame.top, frame.bottom));
    let ahead = x > layout.x(picture.as_of);
    let (levels, band) = if ahead { (&picture.forecast, theme::BAND_AHEAD) } else { (&picture.level, theme::BAND) };
    let nearest = levels.iter().min_by(|a, b| (layout.x(a.day) - x).abs().total_cmp(&(layout.x(b.day) - x).abs()));
    let inside = nearest.is_some_and(|level| {
        (layout.x(level.day) - x).abs() < 30.0 && layout.y(level.high) < y && y < layout.y(level.low)
    });
    match (inside, ahead) {
        (true, _) => band,
        (false, true) => theme::AHEAD,
        (false, false) => theme::PAPER,
    }
}

/// A piece of text, by its left end and baseline.
#[derive(Clone, Debug, PartialEq)]
struct Words {
    /// The text.
    text: String,
    /// Left end of the baseline.
    at: At,
}

impl Words {
    /// What the text covers.
    fn frame(&self) -> Frame {
        let (x, y) = self.at;
        let (up, down) = (theme::SMALL * 0.82, theme::SMALL * 0.26);
        Frame { left: x - 4.0, top: y - up, right: x + FACE.width(&self.text) + 4.0, bottom: y + down }
    }
}

/// Places the dates beside the minimum line at height `y` where they cover least, and never over the latest reading or that line;
/// on one side of today's line where they fit there. Where they fit nowhere they are left to the title and the legend.
fn words(
    crossing: &Crossing,
    x_of: &dyn Fn(f64) -> f64,
    y: f64,
    plot: Frame,
    today: f64,
    obstacles: &Obstacles,
) -> Vec<Words> {
    let (from, to) = (x_of(crossing.earliest), crossing.latest.map_or(plot.right, x_of).min(plot.right));
    let side = if f64::midpoint(from, to) >= today {
        Frame { left: today + 2.0, ..plot }
    } else {
        Frame { right: today - 2.0, ..plot }
    };
    let reached = crossing.latest.filter(|latest| x_of(*latest) <= today + 0.5);
    let rows = |crossing: &Crossing, x_of: &dyn Fn(f64) -> f64, plot: Frame| match reached {
        _ if from > plot.right => {
            let text = format!("from {} or later", date(crossing.earliest).format("%b %Y"));
            let x = centred(&text, plot.right, plot);
            vec![vec![(text, x)]]
        }
        Some(latest) => {
            let text = format!("reached by {}", date(latest).format("%b %Y"));
            // Behind the day, where a falling level leaves room above the line.
            let x = centred(&text, x_of(latest) + FACE.width(&text) / 2.0 + 8.0, plot);
            vec![vec![(text, x)]]
        }
        None => rows(crossing, x_of, plot),
    };
    let beside = rows(crossing, x_of, side);
    let fits = beside.iter().flatten().all(|(text, x)| *x >= side.left && x + FACE.width(text) <= side.right);
    let rows = if fits { beside } else { rows(crossing, x_of, plot) };
    let height = (rows.len().max(1) - 1) as f64 * ROW;
    let (below, above) = (y + CLEAR + theme::SMALL * 0.82, y - CLEAR - height - theme::SMALL * 0.26);
    let heights = [below, above, below + ROW, above - ROW, below + 2.0 * ROW, above - 2.0 * ROW];
    let placed = heights.into_iter().flat_map(|first| SHIFTS.map(|shift| shifted(&rows, first, shift, plot)));
    placed
        .filter(|words| words.iter().all(|words| obstacles.allow(&words.frame(), plot, y)))
        .enumerate()
        .min_by_key(|(order, words)| (words.iter().map(|words| obstacles.met(&words.frame())).sum::<usize>(), *order))
        .map_or_else(Vec::new, |(_, words)| words)
}

/// How far words may be moved sideways, the least first.
const SHIFTS: [f64; 7] = [0.0, -70.0, 70.0, -150.0, 150.0, -260.0, 260.0];

/// What words beside the minimum line must not cover, and what they had better not cover.
struct Obstacles {
    latest: Vec<Frame>,
    others: Vec<Frame>,
}

impl Obstacles {
    /// Whether text may be put there: inside the plot, clear of the latest reading and of the minimum line at height `y`.
    fn allow(&self, frame: &Frame, plot: Frame, y: f64) -> bool {
        let inside = frame.top >= plot.top
            && frame.bottom <= plot.bottom
            && frame.left >= plot.left - 4.0
            && frame.right <= plot.right + 4.0;
        inside && (frame.bottom < y || frame.top > y) && !self.latest.iter().any(|latest| latest.overlaps(frame))
    }

    /// How many marks and points of the level words there would cover.
    fn met(&self, frame: &Frame) -> usize {
        self.others.iter().filter(|other| other.overlaps(frame)).count()
    }
}

/// Rows of words from some baseline on, moved sideways as far as the plot allows.
fn shifted(rows: &[Vec<(String, f64)>], first: f64, shift: f64, plot: Frame) -> Vec<Words> {
    let texts = rows.iter().flatten();
    let left = texts.clone().map(|(_, x)| *x).fold(f64::INFINITY, f64::min);
    let right = texts.map(|(text, x)| x + FACE.width(text)).fold(f64::NEG_INFINITY, f64::max);
    let shift = shift.min(plot.right - 4.0 - right).max(plot.left + 4.0 - left);
    let row = |(row, words): (usize, &Vec<(String, f64)>)| -> Vec<Words> {
        let at = |x: f64| (x + shift, first + row as f64 * ROW);
        words.iter().map(|(text, x)| Words { text: text.clone(), at: at(*x) }).collect()
    };
    rows.iter().enumerate().flat_map(row).collect()
}

/// The rows of words with the left end of each: three dates in one row where they have room, else a sentence in two.
fn rows(crossing: &Crossing, x_of: &dyn Fn(f64) -> f64, plot: Frame) -> Vec<Vec<(String, f64)>> {
    let name = |day: f64| date(day).format("%b %Y").to_string();
    let mut three = vec![(format!("earliest {}", name(crossing.earliest)), x_of(crossing.earliest))];
    if let Some(median) = crossing.median.filter(|day| x_of(*day) <= plot.right) {
        three.push((format!("likely {}", name(median)), x_of(median)));
    }
    let last = match crossing.latest {
        Some(latest) if x_of(latest) > plot.right => (format!("latest {} →", name(latest)), plot.right),
        Some(latest) => (format!("latest {}", name(latest)), x_of(latest)),
        None => ("no latest date →".to_owned(), plot.right),
    };
    three.push(last);
    let placed: Vec<(String, f64)> = three.iter().map(|(text, x)| (text.clone(), centred(text, *x, plot))).collect();
    let clear = placed.windows(2).all(|pair| pair[0].1 + FACE.width(&pair[0].0) + 14.0 <= pair[1].1);
    if clear {
        return vec![placed];
    }
    let range = match crossing.latest {
        Some(latest) if name(latest) == name(crossing.earliest) => name(latest),
        Some(latest) => format!("{} to {}", name(crossing.earliest), name(latest)),
        None => format!("{} or later, no latest date", name(crossing.earliest)),
    };
    let right = crossing.latest.map_or(plot.right, x_of).min(plot.right);
    let middle = f64::midpoint(x_of(crossing.earliest), right);
    let mut rows = vec![vec![(range.clone(), centred(&range, middle, plot))]];
    if let Some(median) = crossing.median.filter(|median| name(*median) != range) {
        let likely = format!("likely {}", name(median));
        let x = centred(&likely, middle, plot);
        rows.push(vec![(likely, x)]);
    }
    rows
}

/// Left end of a text centred at x and kept inside the plot.
fn centred(text: &str, x: f64, plot: Frame) -> f64 {
    let width = FACE.width(text);
    (x - width / 2.0).min(plot.right - width - 4.0).max(plot.left + 4.0)
}
