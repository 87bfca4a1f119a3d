//! Where the days and values of a trend chart lie on the page.

use super::super::marks;
use super::super::page::{At, Frame};
use super::super::timeline::Timeline;
use super::super::upright::Upright;
use super::{LevelAt, TrendPicture};

/// Where everything stands.
pub(super) struct Layout<'p> {
    pub(super) picture: &'p TrendPicture,
    /// The plot with its tiers of labels.
    pub(super) plot: Frame,
    /// Height at which the data begins.
    pub(super) data_top: f64,
    pub(super) timeline: Timeline,
}

impl Layout<'_> {
    pub(super) fn x(&self, day: f64) -> f64 {
        self.timeline.x(day)
    }

    pub(super) fn y(&self, value: f64) -> f64 {
        Upright { span: self.picture.span, top: self.data_top, bottom: self.plot.bottom }.y(value)
    }

    /// Size of the marks: those of a long history are smaller, so that they stay apart.
    pub(super) fn mark_share(&self) -> f64 {
        let apart = self.plot.width() / self.picture.readings.len().max(1) as f64;
        (apart / 5.0).clamp(0.6, 1.0)
    }

    /// The pieces of a line along levels that lie inside the data.
    pub(super) fn along(&self, levels: &[LevelAt], value: fn(&LevelAt) -> f64) -> Vec<Vec<At>> {
        let points: Vec<At> = levels.iter().map(|l| (self.x(l.day), self.y(value(l)))).collect();
        between(&points, self.data_top, self.plot.bottom)
    }

    pub(super) fn inside(&self, y: f64) -> f64 {
        y.max(self.data_top).min(self.plot.bottom)
    }
}

pub(super) fn place(layout: &Layout<'_>, day: f64, value: Option<f64>) -> At {
    let y = value.map_or(layout.data_top + marks::ARROW + 4.0, |value| layout.inside(layout.y(value)));
    (layout.x(day), y)
}

/// The pieces of a line that lie between two heights.
fn between(points: &[At], top: f64, bottom: f64) -> Vec<Vec<At>> {
    let mut pieces: Vec<Vec<At>> = Vec::new();
    let mut current: Vec<At> = Vec::new();
    for pair in points.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let share = |y: f64| if (b.1 - a.1).abs() < 1e-9 { 0.0 } else { ((y - a.1) / (b.1 - a.1)).clamp(0.0, 1.0) };
        let cut = |y: f64| (a.0 + (b.0 - a.0) * share(y), y);
        if a.1.max(b.1) < top || a.1.min(b.1) > bottom {
            continue;
        }
        let hold = |p: At| {
            if p.1 < top {
                cut(top)
            } else if p.1 > bottom {
                cut(bottom)
            } else {
                p
            }
        };
        let (from, to) = (hold(a), hold(b));
        let joins = current.last().is_some_and(|last| (last.0 - from.0).abs() + (last.1 - from.1).abs() < 1e-6);
        if !joins && !current.is_empty() {
            pieces.push(std::mem::take(&mut current));
        }
        if current.is_empty() {
            current.push(from);
        }
        current.push(to);
    }
    pieces.push(current);
    pieces.retain(|piece| piece.len() > 1);
    pieces
}

#[cfg(test)]
mod tests {
    use super::between;

    #[test]
    fn lines_are_cut_at_the_edges_of_the_data() {
        let pieces = between(&[(0.0, -10.0), (10.0, 10.0), (20.0, 30.0), (30.0, 10.0)], 0.0, 20.0);
        assert_eq!(pieces, [vec![(5.0, 0.0), (10.0, 10.0), (15.0, 20.0)], vec![(25.0, 20.0), (30.0, 10.0)]]);
    }
}
