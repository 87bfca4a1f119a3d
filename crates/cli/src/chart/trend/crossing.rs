//! The words at the interval of the crossing: its dates, where they cover least.

use super::super::axes::date;
use super::super::font::Face;
use super::super::page::{At, Frame};
use super::super::theme;
use super::Crossing;

/// Face of the dates.
pub(super) const FACE: Face = Face::strong(theme::SMALL);

const ROW: f64 = 20.0;

/// Distance of the words from the minimum line, clear of its hatching and of the bracket's stops.
const CLEAR: f64 = 15.0;

/// A piece of text, by its left end and baseline.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Words {
    /// The text.
    pub(super) text: String,
    /// Left end of the baseline.
    pub(super) at: At,
}

impl Words {
    /// What the text covers.
    pub(super) fn frame(&self) -> Frame {
        let (x, y) = self.at;
        let (up, down) = (theme::SMALL * 0.82, theme::SMALL * 0.26);
        Frame { left: x - 4.0, top: y - up, right: x + FACE.width(&self.text) + 4.0, bottom: y + down }
    }
}

/// Places the dates beside the minimum line at height `y`, below it or, where that covers less, above; on one side of
/// today's line where they have room there.
pub(super) fn words(
    crossing: &Crossing,
    x_of: &dyn Fn(f64) -> f64,
    y: f64,
    plot: Frame,
    today: f64,
    obstacles: &[Frame],
) -> Vec<Words> {
    let (from, to) = (x_of(crossing.earliest), crossing.latest.map_or(plot.right, x_of).min(plot.right));
    let side = if f64::midpoint(from, to) >= today {
        Frame { left: today + 2.0, ..plot }
    } else {
        Frame { right: today - 2.0, ..plot }
    };
    let reached = crossing.latest.filter(|latest| x_of(*latest) <= today + 0.5);
    let rows = |crossing: &Crossing, x_of: &dyn Fn(f64) -> f64, plot: Frame| match reached {
        Some(latest) => {
            let text = format!("reached by {}", date(latest).format("%b %Y"));
            let x = centred(&text, x_of(latest), plot);
            vec![vec![(text, x)]]
        }
        None => rows(crossing, x_of, plot),
    };
    let beside = rows(crossing, x_of, side);
    let fits = beside.iter().flatten().all(|(text, x)| *x >= side.left && x + FACE.width(text) <= side.right);
    let rows = if fits { beside } else { rows(crossing, x_of, plot) };
    let at_height = |first: f64| -> Vec<Words> {
        let placed = rows.iter().enumerate().flat_map(|(row, words)| {
            words.iter().map(move |(text, x)| Words { text: text.clone(), at: (*x, first + row as f64 * ROW) })
        });
        placed.collect()
    };
    let below = at_height(y + CLEAR + theme::SMALL * 0.82);
    let above = at_height(y - CLEAR - (rows.len().max(1) - 1) as f64 * ROW - theme::SMALL * 0.26);
    let cost = |words: &[Words]| {
        let frames = words.iter().map(Words::frame);
        let outside = frames.clone().filter(|f| f.top < plot.top || f.bottom > plot.bottom).count() * 100;
        outside + frames.map(|f| obstacles.iter().filter(|o| o.overlaps(&f)).count()).sum::<usize>()
    };
    if cost(&above) < cost(&below) { above } else { below }
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
