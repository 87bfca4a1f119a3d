//! Drawing: columns of words on both sides of two panels, and a line for each series.

use super::super::font::Face;
use super::super::legend::{bracket, later};
use super::super::limit::{self, Forbidden};
use super::super::marks::{self, BoundMark, Emphasis};
use super::super::page::{Align, Drawn, Frame, Pen};
use super::super::surround::Placed;
use super::super::theme;
use super::super::timeline::Timeline;
use super::{FleetPicture, Row};
use groundwall::assess::Action;
use plotters::coord::Shift;
use plotters::drawing::DrawingArea;
use plotters_backend::DrawingBackend;

const LABEL: Face = Face::regular(theme::LABEL);
const SMALL: Face = Face::regular(theme::SMALL);
const STRONG: Face = Face::strong(theme::SMALL);

/// Least and greatest height of a line.
pub(super) const PITCH: (f64, f64) = (20.5, 46.0);
/// Height of the names of the columns.
const COLUMNS: f64 = 26.0;
/// Least height of the lines.
const LEAST_PLOT: f64 = 150.0;
/// Gap between two columns.
const GAP: f64 = 14.0;
/// Size of the bracket and of the arrow, against those of the trend chart.
const SMALLER: f64 = 0.62;
/// Length of the arrow towards a later crossing.
const LATER: f64 = 30.0;

/// Where the columns stand.
struct Columns {
    name: (f64, f64),
    latest: f64,
    minimum: f64,
    levels: (f64, f64),
    dates: (f64, f64),
    when: f64,
}

impl Columns {
    fn of(picture: &FleetPicture, room: Frame) -> Self {
        let widest = |text: fn(&Row) -> &str, head: &str, most: f64| {
            let widths = picture.rows.iter().map(|row| STRONG.width(text(row)));
            widths.fold(STRONG.width(head), f64::max).min(most)
        };
        let action = room.left + STRONG.width("shorten") + GAP;
        let name = action + widest(|row| &row.name, "series", room.width() * 0.2) + 2.0;
        let latest = name + GAP + widest(|row| &row.latest, &picture.reference, 150.0);
        let minimum = latest + GAP + widest(|row| &row.minimum, "minimum", 170.0);
        let when = room.right - widest(|row| &row.when, "reaches it", 170.0);
        let (from, to) = (minimum + 1.5 * GAP, when - GAP);
        let middle = from + (to - from) * 0.56;
        Self { name: (action, name), latest, minimum, levels: (from, middle), dates: (middle + 1.5 * GAP, to), when }
    }
}

fn placed(page: Frame, picture: &FleetPicture) -> Placed {
    picture.words.place(page, LEAST_PLOT + COLUMNS + 60.0)
}

fn timeline(picture: &FleetPicture, columns: &Columns) -> Timeline {
    Timeline::narrow(picture.days, columns.dates)
}

/// Most series that a page can name.
pub(super) fn most_named(page: Frame, picture: &FleetPicture) -> usize {
    let room = placed(page, picture).room;
    let below = timeline(picture, &Columns::of(picture, room)).height();
    ((room.height() - COLUMNS - below) / PITCH.0).floor().max(1.0) as usize
}

/// Draws the picture over the whole area.
pub(super) fn draw<DB: DrawingBackend>(area: &DrawingArea<DB, Shift>, picture: &FleetPicture) -> Drawn<DB> {
    let pen = Pen::new(area);
    let placed = placed(pen.page, picture);
    placed.draw(&pen)?;
    let columns = Columns::of(picture, placed.room);
    let timeline = timeline(picture, &columns);
    let plot = Frame { top: placed.room.top + COLUMNS, bottom: placed.room.bottom - timeline.height(), ..placed.room };
    let pitch = (plot.height() / picture.rows.len().max(1) as f64).clamp(PITCH.0, PITCH.1);
    let bottom = plot.top + pitch * picture.rows.len() as f64 + 4.0;
    let plot = Frame { bottom: bottom.min(plot.bottom), ..plot };
    let view = View { picture, columns, timeline, plot };

    ground(&pen, &view)?;
    let mut before = None;
    for (i, row) in picture.rows.iter().enumerate() {
        let y = plot.top + (i as f64 + 0.5) * pitch;
        if before != Some(row.action) && i > 0 {
            let above = y - pitch / 2.0;
            pen.path(&[(plot.left, above), (plot.right, above)], 1.0, theme::FAINT)?;
        }
        line(&pen, &view, row, y, before != Some(row.action))?;
        before = Some(row.action);
    }
    // Only the labels of the axes are there.
    let width = view.columns.levels.0 - plot.left - STRONG.width("0.001 ×");
    for (i, words) in SMALL.wrap(&picture.rest, width, 2).into_iter().enumerate() {
        let baseline = plot.bottom + 17.0 + i as f64 * SMALL.line_height();
        pen.text(&words, (plot.left, baseline), Align::Left, SMALL, theme::INK)?;
    }
    pen.done()
}

/// What the lines are drawn with.
struct View<'p> {
    picture: &'p FleetPicture,
    columns: Columns,
    timeline: Timeline,
    plot: Frame,
}

impl View<'_> {
    /// Where a multiple of the minimum stands, log10.
    fn x(&self, value: f64) -> f64 {
        let ((low, high), (left, right)) = (self.picture.span, self.columns.levels);
        (left + (value - low) / (high - low).max(1e-9) * (right - left)).clamp(left, right)
    }

    /// Where a day stands, held inside the panel.
    fn day(&self, day: f64) -> f64 {
        self.timeline.x(day).clamp(self.columns.dates.0, self.columns.dates.1)
    }
}

/// Names of the columns, grid, limit and axes.
fn ground<DB: DrawingBackend>(pen: &Pen<'_, DB>, view: &View<'_>) -> Drawn<DB> {
    let (columns, plot) = (&view.columns, view.plot);
    let head = plot.top - 9.0;
    for (words, x, align) in [
        ("series", columns.name.0, Align::Left),
        (view.picture.reference.as_str(), columns.latest, Align::Right),
        ("minimum", columns.minimum, Align::Right),
        ("over the minimum", columns.levels.0, Align::Left),
        ("reaches the minimum", columns.dates.0, Align::Left),
    ] {
        pen.text(words, (x, head), align, SMALL, theme::SOFT)?;
    }
    let today = view.day(view.picture.as_of);
    pen.rect(Frame { left: today, right: columns.dates.1, ..plot }, theme::AHEAD)?;
    for x in view.timeline.named() {
        pen.path(&[(x, plot.top), (x, plot.bottom)], 1.0, theme::HAIR)?;
    }
    pen.path(&[(today, plot.top), (today, plot.bottom)], 1.8, theme::INK)?;
    multiples(pen, view)?;
    limit::draw(pen, (plot.top, plot.bottom), view.x(0.0), Forbidden::Left)?;
    view.timeline.draw(pen, plot.bottom)
}

/// The axis of multiples.
fn multiples<DB: DrawingBackend>(pen: &Pen<'_, DB>, view: &View<'_>) -> Drawn<DB> {
    let ((low, high), plot) = (view.picture.span, view.plot);
    let (left, right) = view.columns.levels;
    pen.path(&[(left, plot.bottom), (right, plot.bottom)], 1.6, theme::INK)?;
    let mut free_from = f64::NEG_INFINITY;
    for decade in (low.ceil() as i32)..=(high.floor() as i32) {
        let x = view.x(f64::from(decade));
        pen.path(&[(x, plot.bottom), (x, plot.bottom + 8.0)], 1.6, theme::INK)?;
        if decade != 0 {
            pen.path(&[(x, plot.top), (x, plot.bottom)], 1.0, theme::HAIR)?;
        }
        let label = match decade {
            0 => "1 ×".to_owned(),
            1..=3 => format!("{} ×", 10_i32.pow(decade.unsigned_abs())),
            -2..=-1 => format!("{} ×", 10f64.powi(decade)),
            _ => format!("10^{decade} ×").replace('-', "−"),
        };
        let half = LABEL.width(&label) / 2.0;
        if x - half > free_from && x + half < right + 12.0 {
            let color = if decade == 0 { theme::LIMIT } else { theme::INK };
            pen.text(&label, (x, plot.bottom + 26.0), Align::Middle, LABEL, color)?;
            free_from = x + half + 8.0;
        }
    }
    Ok(())
}

/// One named series.
fn line<DB: DrawingBackend>(pen: &Pen<'_, DB>, view: &View<'_>, row: &Row, y: f64, first: bool) -> Drawn<DB> {
    let columns = &view.columns;
    let baseline = y + theme::SMALL * 0.36;
    let strong = row.action <= Action::Recheck;
    let (face, color) = if strong { (STRONG, theme::INK) } else { (SMALL, theme::INK) };
    if first {
        pen.text(row.action.word(), (view.plot.left, baseline), Align::Left, face, color)?;
    }
    let name = face.fit(&row.name, columns.name.1 - columns.name.0);
    pen.text(&name, (columns.name.0, baseline), Align::Left, face, color)?;
    let latest = SMALL.fit(&row.latest, columns.latest - columns.name.1 - GAP + 1.0);
    pen.text(&latest, (columns.latest, baseline), Align::Right, SMALL, theme::INK)?;
    pen.text(&row.minimum, (columns.minimum, baseline), Align::Right, SMALL, theme::LIMIT)?;
    let when = SMALL.fit(&row.when, view.plot.right - columns.when + 1.0);
    pen.text(&when, (columns.when, baseline), Align::Left, SMALL, theme::INK)?;
    for (left, right) in [columns.levels, columns.dates] {
        pen.path(&[(left, y), (right, y)], 1.0, theme::HAIR)?;
    }
    if let Some([low, middle, high]) = row.level {
        marks::level_of_one(pen, (view.x(low), view.x(high)), view.x(middle), y)?;
    }
    if let Some(reading) = row.reading {
        let x = reading.value.map_or(columns.levels.1 - marks::SIDEWAYS, |value| view.x(value));
        match reading.says {
            BoundMark::Exact if reading.corrected => marks::draw(pen, Emphasis::Counts, BoundMark::Exact, (x, y), 0.9)?,
            BoundMark::Exact => marks::draw(pen, Emphasis::Uncorrected, BoundMark::Exact, (x, y), 0.9)?,
            says => marks::sideways(pen, says, (x.min(columns.levels.1 - marks::SIDEWAYS), y), reading.corrected)?,
        }
    }
    crossing(pen, view, row, y)
}

/// The interval in which the level reaches the minimum.
fn crossing<DB: DrawingBackend>(pen: &Pen<'_, DB>, view: &View<'_>, row: &Row, y: f64) -> Drawn<DB> {
    let Some((earliest, median, latest)) = row.crossing else { return Ok(()) };
    let ((first, last), right) = (view.picture.days, view.columns.dates.1);
    if earliest > last {
        return later(pen, right - LATER, right, y, SMALLER);
    }
    let known = latest.filter(|latest| *latest <= last);
    let ends = (view.day(earliest), known.map_or(right, |latest| view.day(latest)));
    // A bracket whose end lies before the picture begins with an arrow, and is long enough to be seen.
    let ends = (ends.0, ends.1.max(ends.0 + 14.0).min(right));
    let middle = median.filter(|median| (first..=last).contains(median)).map(|median| view.day(median));
    bracket(pen, ends, y, (earliest >= first, known.is_some()), middle, SMALLER)
}
