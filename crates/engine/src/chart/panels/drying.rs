//! Drying out: resistance and temperature against hours, with the dip, the rise and the flat end.

use super::super::font::Face;
use super::super::legend::{Entry, Sample};
use super::super::marks::{BoundMark, Emphasis};
use super::super::readings::bound_mark;
use super::super::surround::Surround;
use super::super::words::{self, NAME_WIDTH, isolate, tag};
use super::super::{ChartContext, MinimumLine, theme};
use super::{PanelsPicture, Point};
use crate::legible::clean;
use groundwall::assess::{Drying, DryingPoint, Judgement, flat_for};
use groundwall::record::Event;
use groundwall::resistance::Measured;
use groundwall::units::{Temperature, three_digits};

/// The picture of the latest process of drying out of a series; none where there was none.
#[must_use]
pub fn picture(judgement: &Judgement, context: &ChartContext) -> Option<PanelsPicture> {
    let drying = judgement.drying.as_ref()?;
    let rows = judgement.drying_points();
    let read = rows.iter().filter(|row| row.as_read.is_some()).count();
    if read < 2 {
        return None;
    }
    let name = isolate(&Face::strong(theme::TITLE).fit(&clean(&judgement.assessment.name()), NAME_WIDTH));
    let points: Vec<Point> = rows.iter().map(point).collect();
    let mut marks: Vec<(f64, String)> = Vec::new();
    if let Some(dip) = lowest(&rows) {
        marks.push((dip.hours, format!("lowest, after {} h", three_digits(dip.hours))));
    }
    let flat = flat_for(&rows);
    if let (Some(hours), Some(last)) = (flat, rows.iter().rfind(|row| row.as_read.is_some())) {
        marks.push((last.hours - hours, format!("flat for {} h", three_digits(hours))));
    }
    let done = rows.iter().filter(|row| row.event == Some(Event::Dried));
    marks.extend(done.map(|row| (row.hours, "dried".to_owned())));
    let mut legend = vec![
        Entry { sample: Sample::Mark(Emphasis::Counts, BoundMark::Exact), words: "resistance as read".to_owned() },
        Entry { sample: Sample::None, words: "below: temperature of the winding".to_owned() },
    ];
    if points.iter().any(|point| point.says == Some(BoundMark::Below)) {
        legend.push(Entry {
            sample: Sample::Mark(Emphasis::Counts, BoundMark::Below),
            words: "less than this".to_owned(),
        });
    }
    if points.iter().any(|point| point.says == Some(BoundMark::Above)) {
        legend.push(Entry {
            sample: Sample::Mark(Emphasis::Counts, BoundMark::Above),
            words: "more than this".to_owned(),
        });
    }
    let rule = "Readings are as read: while a winding dries, its resistance first falls with the heat and rises as the water leaves. \
                Flat for 12 h at a steady temperature is the sign of the end (common practice); a cold test releases it."
        .to_owned();
    Some(PanelsPicture {
        words: Surround {
            tag: tag(judgement.assessment.action),
            heading: words::heading(&judgement.assessment.name(), judgement, context),
            title: title(&name, drying, &rows, flat),
            subtitle: subtitle(judgement, drying),
            axis: "Insulation resistance after one minute, as read, against hours".to_owned(),
            legend,
            footer: [rule].into_iter().chain(words::sources(context)).collect(),
        },
        points,
        unit: "h",
        lower: "Temperature of the winding, °C".to_owned(),
        from_nought: false,
        marks,
        minimum: MinimumLine::of(&judgement.assessment).map(|minimum| MinimumLine {
            name: if minimum.name == "minimum" { "minimum, cold" } else { minimum.name },
            ..minimum
        }),
    })
}

fn point(row: &DryingPoint) -> Point {
    let (resistance, says) = row.as_read.map_or((None, None), |value| {
        let (resistance, says) = bound_mark(value);
        (resistance, Some(says))
    });
    Point { along: row.hours, resistance, says, lower: row.winding_temp.map(Temperature::as_celsius) }
}

/// The lowest exact reading, where the resistance came back from it.
fn lowest(rows: &[DryingPoint]) -> Option<&DryingPoint> {
    let mohm = |row: &&DryingPoint| match row.as_read {
        Some(Measured::Exact(r)) => Some(r.as_megohms()),
        _ => None,
    };
    let exact = || rows.iter().filter(|row| mohm(row).is_some());
    let low = exact().min_by(|a, b| mohm(a).unwrap_or(f64::MAX).total_cmp(&mohm(b).unwrap_or(f64::MAX)))?;
    let is_inside = exact().next().is_some_and(|first| first.hours < low.hours)
        && exact().next_back().is_some_and(|last| last.hours > low.hours);
    is_inside.then_some(low)
}

fn title(name: &str, drying: &Drying, rows: &[DryingPoint], flat: Option<f64>) -> String {
    let last = rows.iter().rfind(|row| row.as_read.is_some());
    let reads = last.and_then(|row| Some((row.as_read?, row.winding_temp))).map_or_else(String::new, |(value, at)| {
        format!(": {value}{}", at.map_or_else(String::new, |t| format!(" at {t}")))
    });
    let since = drying.since.format("%-d %b %Y");
    match (drying.is_over, flat) {
        (true, _) => format!("{name}: dried out since {since}{reads}"),
        (false, Some(hours)) => {
            format!("{name}: drying since {since}{reads}, flat for {} h", three_digits(hours))
        }
        (false, None) => format!("{name}: drying since {since}{reads}"),
    }
}

fn subtitle(judgement: &Judgement, drying: &Drying) -> String {
    if drying.is_over {
        return "A cold test has passed since, or the winding is another one: the process is over.".to_owned();
    }
    let minimum = judgement.assessment.minimum.as_ref();
    let above =
        minimum.map_or_else(String::new, |minimum| format!(" above the minimum of {}", minimum.value_in_words()));
    format!(
        "A hot reading does not clear it for service: the winding is held until a cold one, at {} or less, is{above}.",
        judgement.reference
    )
}
