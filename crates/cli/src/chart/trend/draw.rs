//! Drawing: the page from top to bottom, then the plot from back to front.

use super::super::axes;
use super::super::font::Face;
use super::super::legend::{Entry, FORECAST_DASH, Sample, Strip};
use super::super::marks::{self, Standing};
use super::super::page::{Align, At, Frame, Pen};
use super::super::theme;
use super::{LevelAt, TrendPicture, crossing, flags};
use plotters::coord::Shift;
use plotters::drawing::{DrawingArea, DrawingAreaErrorKind};
use plotters::style::RGBColor;
use plotters_backend::DrawingBackend;

type Drawn<DB> = Result<(), DrawingAreaErrorKind<<DB as DrawingBackend>::ErrorType>>;

const TAG: Face = Face::strong(15.5);
const TITLE: Face = Face::strong(theme::TITLE);
const SUBTITLE: Face = Face::regular(theme::SUBTITLE);
const LABEL: Face = Face::regular(theme::LABEL);
const SMALL: Face = Face::regular(theme::SMALL);
const NAME: Face = Face::strong(theme::LABEL);

/// Height of the date labels with their ticks: one row, and two.
const DATES: (f64, f64) = (40.0, 56.0);

/// Least distance between two date labels.
const DATES_APART: f64 = 84.0;

/// Least height of the data, whatever the words around it.
const LEAST_PLOT: f64 = 150.0;

/// Where everything stands.
pub(super) struct Layout<'p> {
    pub(super) picture: &'p TrendPicture,
    /// The plot with its lanes of labels.
    pub(super) plot: Frame,
    /// Height at which the data begins.
    pub(super) data_top: f64,
    flags: Vec<flags::Placed>,
}

impl Layout<'_> {
    pub(super) fn x(&self, day: f64) -> f64 {
        let (first, last) = self.picture.days;
        self.plot.left + (day - first) / (last - first).max(1.0) * self.plot.width()
    }

    pub(super) fn y(&self, value: f64) -> f64 {
        let (low, high) = self.picture.span;
        let share = (value - low) / (high - low).max(1e-9);
        self.plot.bottom - share.clamp(-50.0, 50.0) * (self.plot.bottom - self.data_top)
    }

    /// Size of the marks: those of a long history are smaller, so that they stay apart.
    fn mark_share(&self) -> f64 {
        let apart = self.plot.width() / self.picture.readings.len().max(1) as f64;
        (apart / 5.0).clamp(0.6, 1.0)
    }

    /// The pieces of a line along levels that lie inside the data.
    pub(super) fn along(&self, levels: &[LevelAt], value: fn(&LevelAt) -> f64) -> Vec<Vec<At>> {
        let points: Vec<At> = levels.iter().map(|l| (self.x(l.day), self.y(value(l)))).collect();
        between(&points, self.data_top, self.plot.bottom)
    }

    fn inside(&self, y: f64) -> f64 {
        y.clamp(self.data_top, self.plot.bottom)
    }
}

/// Draws the picture over the whole area, whose pixels are eighths of a page unit.
///
/// # Errors
///
/// Whatever the backend reports.
pub fn draw<DB: DrawingBackend>(area: &DrawingArea<DB, Shift>, picture: &TrendPicture) -> Drawn<DB> {
    let pen = Pen::new(area);
    pen.rect(pen.page, theme::PAPER)?;
    let (left, right) = (theme::MARGIN, pen.page.right - theme::MARGIN);
    let top = head(&pen, picture, left, right)?;

    let ticks = axes::resistance_ticks(picture.span.0, picture.span.1);
    let gutter = ticks.iter().map(|tick| LABEL.width(&tick.label)).fold(0.0, f64::max) + 14.0;
    let minimum = picture.minimum.as_ref();
    let beside = minimum.map_or(0.0, |m| NAME.width(&m.label).max(LABEL.width("minimum")));
    let mut plot =
        Frame { left: left + gutter, top, right: right - (beside + 12.0).max(26.0), bottom: pen.page.bottom };

    let to_x = |day: f64| {
        let (first, last) = picture.days;
        plot.left + (day - first) / (last - first).max(1.0) * plot.width()
    };
    let as_of = format!("as of {}", axes::date(picture.as_of).format("%-d %b %Y"));
    let mut lines = vec![(to_x(picture.as_of), as_of.as_str())];
    // Work was done before the test that names it: its line stands just left of the reading.
    lines.extend(picture.flags.iter().map(|flag| (to_x(flag.day) - marks::RADIUS - 4.0, flag.label.as_str())));
    let flags = flags::place(&lines, plot.left, plot.right);
    let unnamed = flags.iter().filter(|flag| flag.label.is_none()).count();
    let mut entries = picture.legend.clone();
    if unnamed > 0 {
        let noun = if unnamed == 1 { "event" } else { "events" };
        let words = format!("{unnamed} more {noun} without room for a label");
        entries.push(Entry { sample: Sample::None, words });
    }
    let strip = Strip::new(&entries, right - left);
    let dates = axes::date_ticks(picture.days.0, picture.days.1, plot.width(), DATES_APART);
    let below = if dates.iter().any(|tick| !tick.second.is_empty()) { DATES.1 } else { DATES.0 };
    plot.bottom = foot(&pen, picture, &strip, (left, right), top + LEAST_PLOT + below)? - below;
    let lanes = flags::lanes(&flags) as f64;
    let layout = Layout { picture, plot, data_top: plot.top + lanes * flags::LANE + 6.0, flags };

    ground(&pen, &layout, &ticks, &dates)?;
    level(&pen, &layout)?;
    uprights(&pen, &layout)?;
    if let Some(minimum) = minimum {
        limit(&pen, &layout, layout.y(minimum.value), &minimum.label)?;
    }
    readings(&pen, &layout)?;
    crossing::draw(&pen, &layout)?;
    pen.done()
}

/// The words above the plot; gives the height at which the plot may begin.
fn head<DB: DrawingBackend>(
    pen: &Pen<'_, DB>,
    picture: &TrendPicture,
    left: f64,
    right: f64,
) -> Result<f64, DrawingAreaErrorKind<DB::ErrorType>> {
    let top = theme::MARGIN - 6.0;
    let word = picture.action.word().to_uppercase();
    let tag = Frame { left, top, right: left + TAG.width(&word) + 22.0, bottom: top + 27.0 };
    pen.rect(tag, theme::INK)?;
    pen.text(&word, (left + 11.0, top + 19.0), Align::Left, TAG, theme::PAPER)?;
    let start = tag.right + 12.0;
    let heading = SMALL.fit(&picture.heading, right - start);
    pen.text(&heading, (start, top + 19.0), Align::Left, SMALL, theme::SOFT)?;
    let mut baseline = tag.bottom + 4.0;
    for line in TITLE.wrap_even(&picture.title, right - left, 2) {
        baseline += TITLE.line_height();
        pen.text(&line, (left, baseline), Align::Left, TITLE, theme::INK)?;
    }
    baseline += 7.0;
    for line in SUBTITLE.wrap(&picture.subtitle, right - left, 2) {
        baseline += SUBTITLE.line_height();
        pen.text(&line, (left, baseline), Align::Left, SUBTITLE, theme::SOFT)?;
    }
    baseline += 34.0;
    pen.text(&SMALL.fit(&picture.axis, right - left), (left, baseline), Align::Left, SMALL, theme::INK)?;
    Ok(baseline + 12.0)
}

/// Legend and footer, from the lower edge upwards; gives the height at which the legend begins. The footer loses
/// paragraphs before the plot gets too low.
fn foot<DB: DrawingBackend>(
    pen: &Pen<'_, DB>,
    picture: &TrendPicture,
    strip: &Strip,
    (left, right): (f64, f64),
    least_top: f64,
) -> Result<f64, DrawingAreaErrorKind<DB::ErrorType>> {
    let width = right - left;
    let mut paragraphs: Vec<Vec<String>> = picture.footer.iter().map(|text| SMALL.wrap(text, width, 2)).collect();
    let caution = SMALL.wrap(&picture.caution, width, 2);
    let bottom = pen.page.bottom - theme::MARGIN + 8.0;
    let height = |lines: usize| lines as f64 * SMALL.line_height() + strip.height + 24.0;
    while !paragraphs.is_empty() && bottom - height(paragraphs.concat().len() + caution.len()) < least_top {
        paragraphs.pop();
    }
    let mut lines: Vec<(String, RGBColor)> = paragraphs.concat().into_iter().map(|line| (line, theme::SOFT)).collect();
    lines.extend(caution.into_iter().map(|line| (line, theme::INK)));
    let rule = bottom - lines.len() as f64 * SMALL.line_height() - 6.0;
    let legend = rule - 12.0 - strip.height;
    strip.draw(pen, (left, legend))?;
    pen.path(&[(left, rule), (right, rule)], 1.0, theme::FAINT)?;
    let mut baseline = rule + 2.0;
    for (line, color) in lines {
        baseline += SMALL.line_height();
        pen.text(&line, (left, baseline), Align::Left, SMALL, color)?;
    }
    Ok(legend)
}

/// The ground of the plot: the time to come, grid, axes.
fn ground<DB: DrawingBackend>(
    pen: &Pen<'_, DB>,
    layout: &Layout<'_>,
    ticks: &[axes::Tick],
    days: &[axes::Tick],
) -> Drawn<DB> {
    let plot = layout.plot;
    let today = layout.x(layout.picture.as_of).clamp(plot.left, plot.right);
    pen.rect(Frame { left: today, ..plot }, theme::AHEAD)?;
    band(pen, layout, &layout.picture.level, theme::BAND)?;
    band(pen, layout, &layout.picture.forecast, theme::BAND_AHEAD)?;
    for tick in ticks {
        let y = layout.y(tick.at);
        pen.path(&[(plot.left - 7.0, y), (plot.right, y)], 1.0, theme::HAIR)?;
        let at = (plot.left - 12.0, y + theme::LABEL * 0.36);
        pen.text(&tick.label, at, Align::Right, LABEL, theme::INK)?;
    }
    for at in axes::minor_resistances(layout.picture.span.0, layout.picture.span.1) {
        let y = layout.y(at);
        pen.path(&[(plot.left - 4.0, y), (plot.left, y)], 1.0, theme::FAINT)?;
    }
    pen.path(&[(plot.left, layout.data_top), (plot.left, plot.bottom)], 1.0, theme::FAINT)?;
    dates(pen, layout, days)
}

fn dates<DB: DrawingBackend>(pen: &Pen<'_, DB>, layout: &Layout<'_>, ticks: &[axes::Tick]) -> Drawn<DB> {
    let (plot, (first, last)) = (layout.plot, layout.picture.days);
    pen.path(&[(plot.left, plot.bottom), (plot.right, plot.bottom)], 1.6, theme::INK)?;
    for at in axes::minor_dates(first, last, plot.width()) {
        let x = layout.x(at);
        pen.path(&[(x, plot.bottom), (x, plot.bottom + 4.0)], 1.0, theme::FAINT)?;
    }
    for tick in ticks {
        let x = layout.x(tick.at);
        pen.path(&[(x, plot.bottom), (x, plot.bottom + 8.0)], 1.6, theme::INK)?;
        pen.text(&tick.label, (x, plot.bottom + 26.0), Align::Middle, LABEL, theme::INK)?;
        pen.text(&tick.second, (x, plot.bottom + 45.0), Align::Middle, SMALL, theme::SOFT)?;
    }
    Ok(())
}

fn band<DB: DrawingBackend>(pen: &Pen<'_, DB>, layout: &Layout<'_>, levels: &[LevelAt], color: RGBColor) -> Drawn<DB> {
    let upper = levels.iter().map(|l| (layout.x(l.day), layout.inside(layout.y(l.high))));
    let lower = levels.iter().rev().map(|l| (layout.x(l.day), layout.inside(layout.y(l.low))));
    pen.polygon(&upper.chain(lower).collect::<Vec<_>>(), color)
}

/// The level, its edges, and the same for the time to come.
fn level<DB: DrawingBackend>(pen: &Pen<'_, DB>, layout: &Layout<'_>) -> Drawn<DB> {
    for (levels, ahead) in [(&layout.picture.level, false), (&layout.picture.forecast, true)] {
        for edge in [|l: &LevelAt| l.low, |l: &LevelAt| l.high] {
            for piece in layout.along(levels, edge) {
                if ahead {
                    pen.dashed(&piece, &[5.0, 5.0], 1.2, theme::BAND_EDGE)?;
                } else {
                    pen.path(&piece, 1.2, theme::BAND_EDGE)?;
                }
            }
        }
        for piece in layout.along(levels, |l| l.middle) {
            if ahead {
                pen.dashed(&piece, &FORECAST_DASH, 3.2, theme::LEVEL)?;
            } else {
                pen.path(&piece, 3.2, theme::LEVEL)?;
            }
        }
    }
    Ok(())
}

/// The as-of date and the events.
fn uprights<DB: DrawingBackend>(pen: &Pen<'_, DB>, layout: &Layout<'_>) -> Drawn<DB> {
    for (i, flag) in layout.flags.iter().enumerate() {
        let lane_top =
            if flag.label.is_some() { layout.plot.top + flag.lane as f64 * flags::LANE } else { layout.data_top };
        let x = flag.x.clamp(layout.plot.left, layout.plot.right);
        let line = [(x, lane_top + 3.0), (x, layout.plot.bottom)];
        if i == 0 {
            pen.path(&line, 1.8, theme::INK)?;
        } else {
            pen.dashed(&line, &[2.5, 4.5], 1.8, theme::SOFT)?;
        }
        if let Some((label, left)) = &flag.label {
            let at = (*left, lane_top + 16.0);
            pen.text(label, at, Align::Left, flags::FACE, theme::INK)?;
        }
    }
    Ok(())
}

/// The minimum, hatched on the side where a winding must not be.
fn limit<DB: DrawingBackend>(pen: &Pen<'_, DB>, layout: &Layout<'_>, y: f64, label: &str) -> Drawn<DB> {
    let plot = layout.plot;
    let mut x = plot.left + 12.0;
    while x < plot.right {
        pen.path(&[(x, y), (x - 8.0, y + 9.0)], 1.2, theme::LIMIT)?;
        x += 12.0;
    }
    pen.path(&[(plot.left, y), (plot.right, y)], 2.4, theme::LIMIT)?;
    let from = plot.right + 8.0;
    pen.text("minimum", (from, y - 3.0), Align::Left, LABEL, theme::LIMIT)?;
    pen.text(label, (from, y + 17.0), Align::Left, NAME, theme::LIMIT)
}

/// The marks, those that count on top.
fn readings<DB: DrawingBackend>(pen: &Pen<'_, DB>, layout: &Layout<'_>) -> Drawn<DB> {
    let counts = |standing: Standing| matches!(standing, Standing::Counts | Standing::Uncorrected);
    let layers: [&dyn Fn(Standing) -> bool; 3] =
        [&|s| s == Standing::AsRead, &|s| s != Standing::AsRead && !counts(s), &counts];
    let share = layout.mark_share();
    for layer in layers {
        for reading in layout.picture.readings.iter().filter(|reading| layer(reading.standing)) {
            marks::draw(pen, reading.standing, reading.says, place(layout, reading.day, reading.value), share)?;
        }
    }
    if share < 1.0 {
        // So many marks would hide the level.
        for piece in layout.along(&layout.picture.level, |l| l.middle) {
            pen.path(&piece, 6.5, theme::PAPER)?;
            pen.path(&piece, 3.2, theme::LEVEL)?;
        }
    }
    Ok(())
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
