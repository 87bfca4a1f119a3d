//! Labels of upright lines, in tiers above the data, so that no label meets another label or another line.

use super::axes::{date, day};
use super::font::Face;
use super::legend::{Entry, Sample};
use super::marks;
use super::page::{Align, Drawn, Frame, Pen};
use super::theme;
use super::timeline::Timeline;
use crate::legible::clean;
use groundwall::assess::{Judgement, SinceReason};
use groundwall::record::Event;
use plotters_backend::DrawingBackend;

/// Face of the labels.
pub const FACE: Face = Face::regular(theme::SMALL);

/// Height of a tier.
pub const TIER: f64 = 22.0;

/// Most tiers; what finds no place in them keeps its line and loses its label.
const MOST_TIERS: usize = 4;

/// What stands between a label's words and its date.
pub const DATE_FOLLOWS: &str = " before ";

/// Free space between a line and a label.
const GAP: f64 = 6.0;

/// A day that has a name.
#[derive(Clone, Debug, PartialEq)]
pub struct Flag {
    /// The day.
    pub day: f64,
    /// What happened.
    pub label: String,
}

/// Work that was written down, and the shift that was not, in time order.
#[must_use]
pub fn of(judgement: &Judgement) -> Vec<Flag> {
    let mut flags: Vec<Flag> = judgement
        .tests
        .iter()
        .filter(|test| test.tested_on.date <= judgement.as_of)
        .filter(|test| test.event != Some(Event::Drying))
        .filter_map(|test| {
            let label = format!("{}{DATE_FOLLOWS}{}", test.event?.word(), test.tested_on.date.format("%-d %b %Y"));
            Some(Flag { day: day(test.tested_on.date), label })
        })
        .collect();
    if let Some(trend) = judgement.assessment.trend.as_ref().filter(|t| t.since_reason == SinceReason::LevelShift) {
        let label = format!("level shifted{DATE_FOLLOWS}{}", trend.since.format("%-d %b %Y"));
        flags.push(Flag { day: day(trend.since), label });
    }
    flags.sort_by(|a, b| a.day.total_cmp(&b.day));
    for flag in &mut flags {
        flag.label = clean(&flag.label);
    }
    flags
}

/// Places the line of the as-of date, which comes first, and those of the flags.
#[must_use]
pub fn place_named(flags: &[Flag], as_of: f64, timeline: &Timeline, (left, right): (f64, f64)) -> Vec<Placed> {
    let today = format!("as of {}", date(as_of).format("%-d %b %Y"));
    let mut lines = vec![(timeline.x(as_of), today.as_str())];
    // Work was done before the test that names it: its line stands just left of the reading.
    lines.extend(flags.iter().map(|flag| (timeline.x(flag.day) - marks::RADIUS - 4.0, flag.label.as_str())));
    place(&lines, left, right)
}

/// The same lines without their labels, for a second panel.
#[must_use]
pub fn without_labels(placed: &[Placed]) -> Vec<Placed> {
    placed.iter().map(|flag| Placed { label: None, ..flag.clone() }).collect()
}

/// A remark for the legend about lines without a label, if there are any.
#[must_use]
pub fn unnamed(placed: &[Placed]) -> Option<Entry> {
    let unnamed = placed.iter().filter(|flag| flag.label.is_none()).count();
    let noun = if unnamed == 1 { "event" } else { "events" };
    let words = format!("{unnamed} more {noun} without room for a label");
    (unnamed > 0).then_some(Entry { sample: Sample::None, words })
}

/// Draws the lines with their labels: the first as today's, the others as events.
///
/// # Errors
///
/// Whatever the backend reports.
pub fn draw<DB: DrawingBackend>(pen: &Pen<'_, DB>, placed: &[Placed], plot: Frame, data_top: f64) -> Drawn<DB> {
    for (i, flag) in placed.iter().enumerate() {
        let tier_top = if flag.label.is_some() { plot.top + flag.tier as f64 * TIER } else { data_top };
        let x = flag.x.clamp(plot.left, plot.right);
        let line = [(x, tier_top + 3.0), (x, plot.bottom)];
        if i == 0 {
            pen.path(&line, 1.8, theme::INK)?;
        } else {
            pen.dashed(&line, &[2.5, 4.5], 1.8, theme::SOFT)?;
        }
        if let Some((label, left)) = &flag.label {
            pen.text(label, (*left, tier_top + 16.0), Align::Left, FACE, theme::INK)?;
        }
    }
    Ok(())
}

/// A line and, where it found a place, its label.
#[derive(Clone, Debug, PartialEq)]
pub struct Placed {
    /// Where the line stands.
    pub x: f64,
    /// The tier at whose top the line begins.
    pub tier: usize,
    /// The label and its left end.
    pub label: Option<(String, f64)>,
}

/// Places labels for lines at some x, between the left and the right end: the first ones first, or the last ones first
/// where that leaves fewer without a place. A label without a place is tried again without its date.
#[must_use]
pub fn place(lines: &[(f64, &str)], left: f64, right: f64) -> Vec<Placed> {
    let unnamed = |placed: &[Placed]| placed.iter().filter(|p| p.label.is_none()).count();
    let forth = place_in_order(lines.iter(), left, right);
    if unnamed(&forth) == 0 {
        return forth;
    }
    let mut back = place_in_order(lines.iter().rev(), left, right);
    back.reverse();
    if unnamed(&back) < unnamed(&forth) { back } else { forth }
}

fn place_in_order<'l>(lines: impl Iterator<Item = &'l (f64, &'l str)>, left: f64, right: f64) -> Vec<Placed> {
    let mut placed: Vec<Placed> = Vec::new();
    for (x, label) in lines {
        let short = label.split(DATE_FOLLOWS).next().unwrap_or(label);
        let found = [*label, short].into_iter().find_map(|text| {
            let text = FACE.fit(text, (right - left) * 0.45);
            let (tier, from) = free_place(&text, *x, left, right, &placed)?;
            Some(Placed { x: *x, tier, label: Some((text, from)) })
        });
        placed.push(found.unwrap_or(Placed { x: *x, tier: MOST_TIERS, label: None }));
    }
    placed
}

/// The first tier and side in which a label meets nothing.
fn free_place(label: &str, x: f64, left: f64, right: f64, placed: &[Placed]) -> Option<(usize, f64)> {
    let width = FACE.width(label);
    let sides = [x + GAP, x - GAP - width];
    let inside = |from: f64| from >= left && from + width <= right;
    let candidates = (0..MOST_TIERS).flat_map(|tier| sides.map(|from| (tier, from)));
    candidates.into_iter().find(|(tier, from)| {
        let here = frame(*tier, *from, width);
        inside(*from) && placed.iter().all(|other| apart(&here, x, *tier, other))
    })
}

/// How many tiers are in use.
#[must_use]
pub fn tiers(placed: &[Placed]) -> usize {
    placed.iter().filter(|p| p.label.is_some()).map(|p| p.tier + 1).max().unwrap_or(0)
}

fn frame(tier: usize, from: f64, width: f64) -> Frame {
    let top = tier as f64 * TIER;
    Frame { left: from - 3.0, top, right: from + width + 3.0, bottom: top + TIER }
}

/// Whether a label and its line stay clear of another label and its line.
fn apart(here: &Frame, x: f64, tier: usize, other: &Placed) -> bool {
    let crosses = |line_x: f64, from_tier: usize, label: &Frame| {
        line_x > label.left && line_x < label.right && from_tier as f64 * TIER <= label.top + 0.5
    };
    let Some((text, from)) = &other.label else { return true };
    let there = frame(other.tier, *from, FACE.width(text));
    !here.overlaps(&there) && !crosses(x, tier, &there) && !crosses(other.x, other.tier, here)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_meet_neither_labels_nor_lines() {
        let names =
            ["as of 25 Nov 2026", "rewound before 3 Feb 2020", "dried before 9 Feb 2020", "cleaned before 1 Jan 2026"];
        for spread in [0.0, 1.0, 7.0, 40.0, 130.0, 240.0] {
            let lines: Vec<(f64, &str)> =
                names.iter().enumerate().map(|(i, name)| (900.0 - i as f64 * spread, *name)).collect();
            let placed = place(&lines, 100.0, 1000.0);
            for (i, one) in placed.iter().enumerate() {
                let (text, from) = one.label.as_ref().expect("four labels find a place");
                let here = frame(one.tier, *from, FACE.width(text));
                assert!(here.left >= 90.0 && here.right <= 1010.0);
                assert!(placed[..i].iter().all(|other| apart(&here, one.x, one.tier, other)), "{spread}: {placed:?}");
            }
        }
    }

    #[test]
    fn an_event_just_before_today_at_the_left_edge_keeps_its_label() {
        let placed = place(&[(175.0, "as of 25 Nov 2026"), (110.0, "commissioned before 26 Oct 2026")], 100.0, 1000.0);
        assert!(placed.iter().all(|p| p.label.is_some()), "{placed:?}");
        assert!(placed[0].tier > placed[1].tier && placed[0].x > placed[1].x);
    }

    #[test]
    fn a_label_without_a_place_is_dropped_and_its_line_kept() {
        let lines: Vec<(f64, &str)> =
            (0..60).map(|i| (100.0 + f64::from(i) * 10.0, "cleaned before 1 Jan 2026")).collect();
        let placed = place(&lines, 90.0, 710.0);
        assert_eq!(placed.len(), 60);
        assert!(placed.iter().any(|p| p.label.is_none()));
        assert!(tiers(&placed) <= MOST_TIERS);
    }
}
