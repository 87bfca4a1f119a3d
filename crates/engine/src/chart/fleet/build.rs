//! From judgements to the lines of the list, and from those to pages.

use super::super::axes::day;
use super::super::legend::{Entry, Sample};
use super::super::marks::{BoundMark, Emphasis};
use super::super::page::{FINE, Frame, Sheet};
use super::super::readings::bound_mark;
use super::super::surround::Surround;
use super::super::words::{self, isolate};
use super::super::{ChartContext, ChartError, Size};
use super::{FleetPicture, Row, Share, Terms, counts, draw};
use crate::legible::clean;
use crate::summary::overdue_in_words;
use crate::summary::{hot_while_drying, is_out_of_sight, latest_in_words};
use chrono::NaiveDate;
use groundwall::assess::{Action, Judgement, SeriesAssessment};
use groundwall::resistance::{Bound, Measured};
use groundwall::units::Resistance;

const YEAR: f64 = 365.25;
/// The dates go on for at least and at most so long, days.
const AHEAD: (f64, f64) = (3.0 * YEAR, 10.0 * YEAR);
/// Levels over minimum that are always in sight, log10.
const IN_SIGHT: (f64, f64) = (-0.3, 1.3);
/// Series counted one by one in the words below the title.
const NAMED_IN_WORDS: usize = 3;

pub(super) fn row(judgement: &Judgement) -> Row {
    let assessment = &judgement.assessment;
    let minimum = assessment.minimum.as_ref().map(|minimum| minimum.resistance);
    let over = |value: f64| minimum.map(|minimum| value - minimum.log10_megohms());
    // A hot reading while drying out, and a level that hangs on it, would look like a pass.
    let is_hot = hot_while_drying(assessment).is_some();
    let reading = assessment.latest.as_ref().filter(|_| !is_hot).and_then(|latest| {
        let as_read = latest.r60_mohm.and_then(|mohm| Resistance::from_megohms(mohm).ok());
        let as_read = as_read.map(|r| match latest.bound {
            Bound::Exact => Measured::Exact(r),
            Bound::Above => Measured::Above(r),
            Bound::Below => Measured::Below(r),
        });
        let corrected = assessment.latest_at_reference().filter(|_| latest.kt.is_some() || as_read.is_none());
        let (value, says) = bound_mark(corrected.or(as_read)?);
        Some(Share { value: value.and_then(over), says, corrected: latest.kt.is_some() })
    });
    let level = judgement.level_at(judgement.as_of).filter(|_| !is_hot).and_then(|level| {
        let over = |resistance: Resistance| over(resistance.log10_megohms());
        Some([over(level.low)?, over(level.median)?, over(level.high)?])
    });
    let forecast = &assessment.forecast;
    let reached = forecast.below_since.filter(|_| forecast.is_reached(judgement.as_of)).map(day);
    let dates =
        forecast.reaches_minimum.map(|dates| (day(dates.earliest), dates.median.map(day), dates.latest.map(day)));
    Row {
        action: assessment.action,
        name: isolate(&clean(&assessment.name())),
        latest: latest_in_words(assessment),
        minimum: assessment.minimum.as_ref().map_or_else(|| "–".to_owned(), ToString::to_string),
        when: when(assessment, judgement.as_of),
        reading: reading
            .filter(|reading| minimum.is_some() && (reading.value.is_some() || reading.says == BoundMark::OffScale)),
        level,
        overdue_days: assessment.overdue_days,
        crossing: reached.map(|by| (by, Some(by), Some(by))).or(dates),
    }
}

/// Months are enough for a list.
fn when(assessment: &SeriesAssessment, as_of: NaiveDate) -> String {
    let month = |date: NaiveDate| date.format("%b %Y").to_string();
    match assessment.forecast.reaches_minimum {
        None if is_out_of_sight(assessment) => "not in 30 years".to_owned(),
        None => "cannot say".to_owned(),
        Some(_) if assessment.forecast.is_reached(as_of) => {
            let since = assessment.forecast.below_since;
            since.map_or_else(|| "reached".to_owned(), |since| format!("reached by {}", month(since)))
        }
        Some(dates) => match dates.latest {
            Some(latest) if month(latest) == month(dates.earliest) => month(latest),
            Some(latest) => format!("{} – {}", month(dates.earliest), month(latest)),
            None => format!("from {}", month(dates.earliest)),
        },
    }
}

pub(super) fn pages(
    rows: &[Row],
    terms: &Terms,
    context: &ChartContext,
    size: Size,
    dpi: u32,
) -> Result<Vec<FleetPicture>, ChartError> {
    let sheet = Sheet::new(size, dpi)?;
    let page =
        Frame { left: 0.0, top: 0.0, right: f64::from(sheet.fine.0) / FINE, bottom: f64::from(sheet.fine.1) / FINE };
    let title = title(rows);
    let whole = |part: &[Row]| picture(part, title.clone(), terms, context);
    // No page has more lines than fit without a word around them.
    let most = (page.height() / draw::PITCH.0).ceil() as usize;
    let (mut parts, mut left) = (Vec::new(), rows);
    loop {
        let named = draw::most_named(page, &whole(&left[..left.len().min(most)])).min(left.len());
        let (part, after) = left.split_at(named);
        parts.push(part);
        if after.is_empty() {
            break;
        }
        left = after;
    }
    let (count, mut named) = (parts.len(), 0);
    let mut pages = Vec::with_capacity(count);
    for (number, part) in (1..).zip(parts) {
        let mut picture = whole(part);
        let first = named + 1;
        named += part.len();
        let heading = if count == 1 {
            "every series once, most urgent on top".to_owned()
        } else {
            format!("page {number} of {count} · series {first} to {named} of {}, most urgent first", rows.len())
        };
        picture.words.heading = format!("{heading} · as of {}", terms.as_of.format("%-d %b %Y"));
        picture.rest = rest(&rows[named..], number, count);
        pages.push(picture);
    }
    Ok(pages)
}

/// How many series follow a page, by action.
fn rest(rows: &[Row], page: usize, pages: usize) -> String {
    let where_named = match pages - page {
        0 => return String::new(),
        1 => format!("on page {pages}"),
        _ => format!("on pages {} to {pages}", page + 1),
    };
    format!("{} more {where_named}: {}", rows.len(), counts(rows, &Action::ALL))
}

fn picture(rows: &[Row], title: String, terms: &Terms, context: &ChartContext) -> FleetPicture {
    let as_of = day(terms.as_of);
    let mut picture = FleetPicture {
        words: Surround {
            tag: "FLEET".to_owned(),
            heading: String::new(),
            title,
            subtitle: subtitle(rows),
            axis: String::new(),
            legend: Vec::new(),
            footer: footer(terms, context),
        },
        rows: rows.to_vec(),
        rest: String::new(),
        reference: format!("at {}", terms.reference),
        as_of,
        days: days(rows, as_of),
        span: span(rows),
    };
    picture.words.legend = legend(&picture);
    picture
}

/// What needs somebody.
fn title(all: &[Row]) -> String {
    let urgent = counts(all, &[Action::Hold, Action::Plan, Action::Recheck, Action::Shorten]);
    let needed = match (urgent.is_empty(), all.len()) {
        (false, count) => format!("{urgent} of {count} series"),
        (true, 1) => "1 series, and it needs no action".to_owned(),
        (true, count) => format!("{count} series, and none needs action"),
    };
    let days: Vec<u32> = all.iter().filter_map(|row| row.overdue_days).collect();
    overdue_in_words(&days, all.len()).map_or(needed.clone(), |overdue| format!("{needed}; {overdue}"))
}

/// The first series of a page, in words.
fn subtitle(rows: &[Row]) -> String {
    let one = |row: &Row| format!("{} ({} of {})", row.name, row.latest, row.minimum);
    let named: Vec<String> = rows.iter().take(NAMED_IN_WORDS).map(one).collect();
    match rows.first() {
        None => "No test could be read, so nothing is judged.".to_owned(),
        Some(first) => format!("On top, {}: {}.", first.action.word(), named.join(", then ")),
    }
}

/// First and last day of the date axis.
fn days(rows: &[Row], as_of: f64) -> (f64, f64) {
    let ends = rows.iter().filter_map(|row| row.crossing).map(|(earliest, _, latest)| {
        let last = latest.unwrap_or(earliest + YEAR) - as_of;
        // Later ones are told by an arrow.
        if earliest - as_of < 0.8 * AHEAD.1 { last } else { 0.0 }
    });
    let ahead = ends.fold(0.0, f64::max).clamp(AHEAD.0, AHEAD.1);
    (as_of - 0.06 * ahead, as_of + ahead)
}

/// Ends of the axis of levels.
fn span(rows: &[Row]) -> (f64, f64) {
    let values = rows.iter().flat_map(|row| {
        let reading = row.reading.and_then(|reading| reading.value);
        reading.into_iter().chain(row.level.map(|level| level[1]))
    });
    let (low, high) = values.fold(IN_SIGHT, |(low, high), value| (low.min(value), high.max(value)));
    let pad = 0.05 * (high - low);
    (low - pad, high + pad)
}

fn footer(terms: &Terms, context: &ChartContext) -> Vec<String> {
    let method = format!(
        "Levels over the minimum of each series, both at {}; ranges hold the truth {} times. Order: action, criticality, then \
         the chance of reaching it.",
        terms.reference,
        terms.confidence.in_words()
    );
    [method].into_iter().chain(words::sources(context)).collect()
}

/// The legend: only what is in the picture.
fn legend(picture: &FleetPicture) -> Vec<Entry> {
    let mut entries = Vec::new();
    let mut add = |sample: Sample, words: String| entries.push(Entry { sample, words });
    let readings = || picture.rows.iter().filter_map(|row| row.reading);
    if readings().any(|reading| reading.says == BoundMark::Exact && reading.corrected) {
        add(Sample::Mark(Emphasis::Counts, BoundMark::Exact), "latest reading".to_owned());
    }
    if readings().any(|reading| !reading.corrected) {
        add(Sample::Mark(Emphasis::Uncorrected, BoundMark::Exact), "as read, no temperature".to_owned());
    }
    if readings().any(|reading| matches!(reading.says, BoundMark::Above | BoundMark::OffScale)) {
        add(Sample::Sideways, "more than this".to_owned());
    }
    if picture.rows.iter().any(|row| row.level.is_some()) {
        add(Sample::LevelOfOne, "level and its band".to_owned());
    }
    let last = picture.days.1;
    if picture.rows.iter().any(|row| row.crossing.is_some_and(|(earliest, ..)| earliest <= last)) {
        add(Sample::Crossing, "reaches the minimum".to_owned());
    }
    if picture.rows.iter().any(|row| row.crossing.is_some_and(|(earliest, ..)| earliest > last)) {
        add(Sample::Later, "later than drawn".to_owned());
    }
    entries
}
