//! From the judgements of the phases to the picture.

use super::super::axes::day;
use super::super::flags::{self, Flag};
use super::super::font::Face;
use super::super::legend::{Entry, Sample};
use super::super::marks::{BoundMark, Emphasis};
use super::super::readings::Reading;
use super::super::surround::Surround;
use super::super::words::{self, NAME_WIDTH, isolate, sentence, tag, tests};
use super::super::{ChartContext, MinimumLine, theme};
use super::{PhasesPicture, RatioMark};
use crate::legible::clean;
use chrono::{Months, NaiveDate};
use groundwall::assess::{Code, CorrectedTest, Judgement, PhaseRatio, SeriesAssessment, phase_ratios};
use groundwall::record::{Connection, OtherPhases, Phase};
use groundwall::resistance::Bound;
use groundwall::series::display_name;
use groundwall::units::three_digits;

/// Least span of the resistance axis, decades.
const LEAST_SPAN: f64 = 0.8;

/// Readings drawn with the shape of their phase.
pub(super) const fn is_drawn(standing: Emphasis) -> bool {
    !matches!(standing, Emphasis::LeadsNotProved | Emphasis::AsRead)
}

pub(super) fn picture(judgements: &[&Judgement], limit: f64, context: &ChartContext) -> Option<PhasesPicture> {
    let phase_of = |judgement: &Judgement| Connection::read(&judgement.assessment.connection).phase_to_earth();
    // Leads that were joined are one winding read several times: no phases to compare.
    let is_joined = |judgement: &&Judgement| {
        let SeriesAssessment { findings, latest, .. } = &judgement.assessment;
        let said = latest.as_ref().and_then(|latest| latest.procedure.other_phases) == Some(OtherPhases::Joined);
        said || findings.iter().any(|finding| finding.code == Code::PhasesJoined)
    };
    let mut of: Vec<(Phase, &Judgement)> = judgements
        .iter()
        .copied()
        .filter(|judgement| !is_joined(judgement))
        .filter_map(|judgement| Some((phase_of(judgement)?, judgement)))
        .collect();
    of.sort_by_key(|(phase, _)| *phase);
    let all = |judgement: &Judgement| judgement.tests.iter().filter_map(Reading::of).collect::<Vec<Reading>>();
    let mut phases: Vec<(Phase, Vec<Reading>)> = of.iter().map(|(phase, judgement)| (*phase, all(judgement))).collect();
    let before = phases.iter().map(|(_, readings)| readings.len()).sum::<usize>();
    for (_, readings) in &mut phases {
        readings.retain(|reading| is_drawn(reading.standing));
    }
    let left_out = before - phases.iter().map(|(_, readings)| readings.len()).sum::<usize>();
    phases.retain(|(_, readings)| !readings.is_empty());
    if phases.len() < 2 {
        return None;
    }
    let (_, urgent) = *of.iter().min_by_key(|(_, judgement)| judgement.assessment.action)?;
    let tests: Vec<(Phase, &[CorrectedTest])> =
        of.iter().map(|(phase, judgement)| (*phase, judgement.tests.as_slice())).collect();
    let found = phase_ratios(&tests);
    let ratios: Vec<RatioMark> = found.iter().map(mark).collect();
    let as_of = day(urgent.as_of);
    let mut flags: Vec<Flag> = of.iter().flat_map(|(_, judgement)| flags::of(judgement)).collect();
    flags.sort_by(|a, b| a.day.total_cmp(&b.day).then_with(|| a.label.cmp(&b.label)));
    flags.dedup();
    let minimum = MinimumLine::of(&urgent.assessment);
    let farthest = ratios.iter().map(|ratio| ratio.value).fold(limit.log10(), f64::max);
    let mut picture = PhasesPicture {
        words: Surround {
            tag: tag(urgent.assessment.action),
            heading: words::heading(&winding(urgent), urgent, context),
            title: title(urgent, &found, limit),
            subtitle: subtitle(&of, found.last()),
            axis: format!("One-minute insulation resistance of each phase to earth, corrected to {}", urgent.reference),
            legend: Vec::new(),
            footer: footer(urgent, limit, context),
        },
        days: days(&phases, &flags, as_of),
        span: span(&phases, minimum.as_ref()),
        phases,
        ratios,
        limit: limit.log10(),
        limit_label: three_digits(limit),
        minimum,
        flags,
        as_of,
        farthest: (farthest * 1.3).max(limit.log10() + 0.1),
    };
    picture.words.legend = legend(&picture, left_out);
    Some(picture)
}

/// The winding's name, with its cable where that was in the circuit.
fn winding(judgement: &Judgement) -> String {
    display_name(&judgement.assessment.winding, "all-earth", &judgement.assessment.scope)
}

fn mark(found: &PhaseRatio) -> RatioMark {
    RatioMark {
        day: day(found.on),
        value: found.ratio.log10(),
        says: if found.bound == Bound::Exact { BoundMark::Exact } else { BoundMark::Above },
        standing: if found.before_stretch { Emphasis::Before } else { Emphasis::Counts },
        lowest: found.lowest,
    }
}

/// How far back a headline looks, in words and in months.
const RECENT: (&str, u32) = ("two years", 24);

/// The latest ratio against the limit, and those of the last two years.
fn title(judgement: &Judgement, ratios: &[PhaseRatio], limit: f64) -> String {
    let name = isolate(&Face::strong(theme::TITLE).fit(&clean(&winding(judgement)), NAME_WIDTH));
    let limit_in_words = three_digits(limit);
    let Some(latest) = ratios.last() else {
        return format!("{name}: no ratio of its phases could be computed on any day; the limit is {limit_in_words}");
    };
    let (over, on) = (if latest.bound == Bound::Exact { "" } else { "more than " }, latest.on.format("%-d %b %Y"));
    let against = match (latest.ratio > limit, latest.bound) {
        (true, _) => format!("above the limit of {limit_in_words}"),
        (false, Bound::Exact) => format!("within the limit of {limit_in_words}"),
        (false, _) => format!("and whether that is within the limit of {limit_in_words} is unknown"),
    };
    let which = if latest.highest == latest.lowest {
        "its highest phase".to_owned()
    } else {
        format!("phase {}", latest.highest)
    };
    format!(
        "{name}: {which} read {over}{} times phase {} on {on}, {against}{}",
        three_digits(latest.ratio),
        latest.lowest,
        lately(ratios, judgement.as_of, limit)
    )
}

/// What the ratios of the last two years add to the latest one, as the end of a sentence.
fn lately(ratios: &[PhaseRatio], as_of: NaiveDate, limit: f64) -> String {
    let from = as_of.checked_sub_months(Months::new(RECENT.1)).unwrap_or(NaiveDate::MIN);
    let recent: Vec<&PhaseRatio> = ratios.iter().filter(|ratio| ratio.on > from && !ratio.before_stretch).collect();
    let above = recent.iter().filter(|ratio| ratio.ratio > limit).count();
    let greatest = recent.iter().map(|ratio| ratio.ratio).fold(1.0, f64::max);
    match (recent.len(), above) {
        (0, _) => format!("; not compared in the last {}", RECENT.0),
        (1, _) => String::new(),
        (_, 0) => format!("; at most {} in the last {}", three_digits(greatest), RECENT.0),
        (count, above) => format!("; above it {above} of {count} times in the last {}", RECENT.0),
    }
}

/// What was found about the phases; else what their ratio is good for.
fn subtitle(of: &[(Phase, &Judgement)], latest: Option<&PhaseRatio>) -> String {
    let spread = of.iter().find_map(|(phase, judgement)| {
        let finding = judgement.assessment.findings.iter().find(|finding| finding.code == Code::PhaseSpread)?;
        Some(clean(&finding.message).replace("This phase", &format!("Phase {phase}")))
    });
    spread.unwrap_or_else(|| match latest {
        Some(_) => "No phase is above the limit or falls away from the others; temperature and damp cancel in the \
                    ratio."
            .to_owned(),
        None => "A ratio needs two phases tested on one day, at least one of them read exactly.".to_owned(),
    })
}

fn days(phases: &[(Phase, Vec<Reading>)], flags: &[Flag], as_of: f64) -> (f64, f64) {
    let readings = phases.iter().flat_map(|(_, readings)| readings.iter().map(|reading| reading.day));
    let first = readings.chain(flags.iter().map(|flag| flag.day)).fold(as_of, f64::min);
    let margin = (0.025 * (as_of - first)).max(10.0);
    (first - margin, as_of + margin)
}

/// Ends of the resistance axis: all readings, and the minimum with room below it for its hatching.
fn span(phases: &[(Phase, Vec<Reading>)], minimum: Option<&MinimumLine>) -> (f64, f64) {
    let values = phases.iter().flat_map(|(_, readings)| readings.iter().filter_map(|reading| reading.value));
    let values = values.chain(minimum.map(|minimum| minimum.value));
    let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
    let (low, high) = if low.is_finite() { (low, high) } else { (0.0, 3.0) };
    let short = (LEAST_SPAN - (high - low)).max(0.0) / 2.0;
    let pad = 0.1 * (high - low).max(LEAST_SPAN);
    (low - short - pad, high + short + pad)
}

fn footer(judgement: &Judgement, limit: f64, context: &ChartContext) -> Vec<String> {
    let mut correction = words::correction(judgement);
    if let Some(minimum) = &judgement.assessment.minimum {
        correction.push_str(&format!(" Minimum of a phase {}: {}.", minimum.resistance, sentence(&minimum.rule)));
    }
    let ratio = format!(
        "Ratio: highest phase over lowest on the same day, limit {} (GB 50150-2006 cl. 3.0.2; policy phases.ratio_limit). \
         As of {}.",
        three_digits(limit),
        judgement.as_of.format("%-d %b %Y")
    );
    [clean(&correction), ratio].into_iter().chain(words::sources(context)).collect()
}

/// The legend: only what is in the picture.
fn legend(picture: &PhasesPicture, left_out: usize) -> Vec<Entry> {
    let mut entries: Vec<Entry> = picture
        .phases
        .iter()
        .map(|(phase, _)| Entry { sample: Sample::Phase(*phase), words: format!("phase {phase}") })
        .collect();
    let mut add = |sample: Sample, words: String| entries.push(Entry { sample, words });
    let readings = || picture.phases.iter().flat_map(|(_, readings)| readings);
    let says = |says: BoundMark| readings().any(|reading| reading.says == says);
    add(
        Sample::Mark(Emphasis::Counts, BoundMark::Exact),
        "ratio, with the lowest phase where above the limit".to_owned(),
    );
    if says(BoundMark::Above) || picture.ratios.iter().any(|ratio| ratio.says == BoundMark::Above) {
        add(Sample::Mark(Emphasis::Counts, BoundMark::Above), "more than this".to_owned());
    }
    if says(BoundMark::Below) {
        add(Sample::Mark(Emphasis::Counts, BoundMark::Below), "less than this".to_owned());
    }
    if says(BoundMark::OffScale) {
        add(Sample::Mark(Emphasis::Counts, BoundMark::OffScale), "over range, end of scale not known".to_owned());
    }
    if readings().any(|reading| reading.standing == Emphasis::Before) {
        add(Sample::None, "pale: before the stretch".to_owned());
    }
    let uncorrected = readings().filter(|reading| reading.standing == Emphasis::Uncorrected).count();
    if uncorrected > 0 {
        add(Sample::None, format!("{} without a temperature, at the usual one", tests(uncorrected)));
    }
    if left_out > 0 {
        add(Sample::None, format!("{} not drawn: lead check failed, or after the as-of date", tests(left_out)));
    }
    entries
}
