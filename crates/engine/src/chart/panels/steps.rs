//! One test at rising voltages: resistance and current against voltage.

use super::super::font::Face;
use super::super::legend::{Entry, Sample};
use super::super::marks::{BoundMark, Emphasis};
use super::super::readings::bound_mark;
use super::super::surround::Surround;
use super::super::words::{self, NAME_WIDTH, isolate, tag};
use super::super::{ChartContext, theme};
use super::{PanelsPicture, Point};
use crate::legible::clean;
use groundwall::assess::{Code, Judgement};
use groundwall::steps::Step;
use groundwall::units::three_digits;

/// The picture of the latest test at several voltages of a series; none where there was none.
#[must_use]
pub fn picture(judgement: &Judgement, context: &ChartContext) -> Option<PanelsPicture> {
    let (on, steps) = judgement.latest_steps()?;
    let name = isolate(&Face::strong(theme::TITLE).fit(&clean(&judgement.assessment.name()), NAME_WIDTH));
    let fall = groundwall::steps::fall(&steps);
    let (first, last) = (steps.first()?, steps.last()?);
    let title = match fall {
        Some(fall) => format!(
            "{name}: {} % of the resistance left from {} to {}",
            three_digits((100.0 * fall.overall).round()),
            first.volts,
            last.volts
        ),
        None => format!("{name}: what is left from {} to {} is unknown", first.volts, last.volts),
    };
    let finding = judgement.assessment.findings.iter().find(|finding| finding.code == Code::FallsWithVoltage);
    let subtitle = match (finding, fall) {
        (Some(finding), _) => clean(&finding.message),
        (None, Some(_)) => {
            "Sound insulation reads nearly the same at every step; cracked or dirty insulation less and less."
                .to_owned()
        }
        (None, None) => "A bound cannot show a drop.".to_owned(),
    };
    let points: Vec<Point> = steps.iter().map(point).collect();
    let mut legend = vec![Entry {
        sample: Sample::Mark(Emphasis::Counts, BoundMark::Exact),
        words: "resistance as read".to_owned(),
    }];
    if points.iter().any(|point| point.says == Some(BoundMark::Above)) {
        legend.push(Entry {
            sample: Sample::Mark(Emphasis::Counts, BoundMark::Above),
            words: "more than this".to_owned(),
        });
    }
    if points.iter().any(|point| point.says == Some(BoundMark::Below)) {
        legend.push(Entry {
            sample: Sample::Mark(Emphasis::Counts, BoundMark::Below),
            words: "less than this".to_owned(),
        });
    }
    let rule = format!(
        "Steps of {}: {} from one to the next and {} from first to last are kept by sound insulation (common practice: step-voltage \
         test). Current is voltage over resistance.",
        on.format("%-d %b %Y"),
        "three quarters",
        "half"
    );
    Some(PanelsPicture {
        words: Surround {
            tag: tag(judgement.assessment.action),
            heading: words::heading(&judgement.assessment.name(), judgement, context),
            title,
            subtitle,
            axis: "Insulation resistance after one minute, as read, against the test voltage".to_owned(),
            legend,
            footer: [rule].into_iter().chain(words::sources(context)).collect(),
        },
        points,
        unit: "V",
        lower: "Current, µA".to_owned(),
        from_nought: true,
        marks: Vec::new(),
        minimum: None,
    })
}

fn point(step: &Step) -> Point {
    let (resistance, says) = bound_mark(step.read);
    Point { along: step.volts.as_volts(), resistance, says: Some(says), lower: step.microamperes() }
}
