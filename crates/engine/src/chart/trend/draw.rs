//! Drawing: the page from top to bottom, then the plot from back to front.

use super::super::axes;
use super::super::dated::{Dated, Dates};
use super::super::flags;
use super::super::font::Face;
use super::super::legend::FORECAST_DASH;
use super::super::limit::{self, Forbidden};
use super::super::marks::{self, Emphasis};
use super::super::page::{Drawn, Frame, Pen};
use super::super::readings::Reading;
use super::super::theme;
use super::super::upright::Upright;
use super::layout::{Layout, place};
use super::{LevelAt, TrendPicture, crossing};
use plotters::coord::Shift;
use plotters::drawing::DrawingArea;
use plotters::style::RGBColor;
use plotters_backend::DrawingBackend;

const LABEL: Face = Face::regular(theme::LABEL);

/// Least height of the data, whatever the words around it.
const LEAST_PLOT: f64 = 150.0;

/// Draws the picture over the whole area, whose pixels are eighths of a page unit.
///
/// # Errors
///
/// Whatever the backend reports.
pub fn draw<DB: DrawingBackend>(area: &DrawingArea<DB, Shift>, picture: &TrendPicture) -> Drawn<DB> {
    let pen = Pen::new(area);
    let (left, right) = (theme::MARGIN, pen.page.right - theme::MARGIN);
    let ticks = axes::resistance_ticks(picture.span.0, picture.span.1);
    let gutter = ticks.iter().map(|tick| LABEL.width(&tick.label)).fold(0.0, f64::max) + 14.0;
    let minimum = picture.minimum.as_ref();
    let beside = minimum.map_or(0.0, |minimum| limit::name_width(minimum.name, &minimum.label));
    let (left, right) = (left + gutter, right - (beside + 12.0).max(26.0));
    let dates = Dates { days: picture.days, as_of: picture.as_of, flags: &picture.flags };
    let dated = Dated::place(pen.page, &picture.words, dates, (left, right), LEAST_PLOT);
    dated.draw_words(&pen)?;
    let Dated { timeline, flags, plot, data_top, .. } = dated;
    let layout = Layout { picture, plot, data_top, timeline };

    ground(&pen, &layout, &ticks)?;
    level(&pen, &layout)?;
    flags::draw(&pen, &flags, plot, data_top)?;
    if let Some(minimum) = minimum {
        let y = layout.y(minimum.value);
        limit::draw(&pen, (plot.left, plot.right), y, Forbidden::Below)?;
        limit::name(&pen, (plot.right, y), minimum.name, &minimum.label)?;
    }
    // Nothing lies over the reading that decides.
    let latest: Vec<&Reading> = picture.latest().collect();
    readings(&pen, &layout, &latest)?;
    crossing::draw(&pen, &layout)?;
    for reading in latest {
        let at = place(&layout, reading.day, reading.value);
        marks::draw(&pen, reading.standing, reading.says, at, layout.mark_share())?;
    }
    pen.done()
}

/// The ground of the plot: the time to come, grid, axes.
fn ground<DB: DrawingBackend>(pen: &Pen<'_, DB>, layout: &Layout<'_>, ticks: &[axes::Tick]) -> Drawn<DB> {
    let plot = layout.plot;
    let today = layout.x(layout.picture.as_of).clamp(plot.left, plot.right);
    pen.rect(Frame { left: today, ..plot }, theme::AHEAD)?;
    band(pen, layout, &layout.picture.level, theme::BAND)?;
    band(pen, layout, &layout.picture.forecast, theme::BAND_AHEAD)?;
    let upright = Upright { span: layout.picture.span, top: layout.data_top, bottom: plot.bottom };
    upright.draw(pen, ticks, (plot.left, plot.right))?;
    layout.timeline.draw(pen, plot.bottom)
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

/// The marks of all readings but the latest, those that count on top.
fn readings<DB: DrawingBackend>(pen: &Pen<'_, DB>, layout: &Layout<'_>, latest: &[&Reading]) -> Drawn<DB> {
    let earlier = |reading: &&Reading| !latest.iter().any(|latest| std::ptr::eq(*latest, *reading));
    let counts = |standing: Emphasis| matches!(standing, Emphasis::Counts | Emphasis::Uncorrected);
    let layers: [&dyn Fn(Emphasis) -> bool; 3] =
        [&|s| s == Emphasis::AsRead, &|s| s != Emphasis::AsRead && !counts(s), &counts];
    let share = layout.mark_share();
    for layer in layers {
        for reading in layout.picture.readings.iter().filter(earlier).filter(|reading| layer(reading.standing)) {
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
