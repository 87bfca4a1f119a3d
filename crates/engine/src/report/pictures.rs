//! The charts of one series: first the one that shows what decided.

use crate::chart::absorption::AbsorptionPicture;
use crate::chart::page::Drawn;
use crate::chart::panels::{PanelsPicture, drying, steps};
use crate::chart::phases::PhasesPicture;
use crate::chart::trend::TrendPicture;
use crate::chart::{Chart, ChartContext};
use groundwall::assess::{Code, Judgement};
use groundwall::record::{Connection, TestRecord};
use plotters::coord::Shift;
use plotters::drawing::DrawingArea;
use plotters_backend::DrawingBackend;

/// Page units across a chart of the width of a printed page: the smallest words are then of 6.7 points.
pub const PRINTED_UNITS: f64 = 1180.0;

/// A chart of one series.
#[derive(Debug)]
pub enum Picture {
    /// The readings over the years.
    Trend(TrendPicture),
    /// The rise within each ten-minute test.
    Absorption(AbsorptionPicture),
    /// The phases side by side.
    Phases(PhasesPicture),
    /// A drying-out, or one test at several voltages; with what its file is called after the series' own name.
    Panels(&'static str, PanelsPicture),
}

impl Picture {
    /// What its file is called after the series' own name.
    #[must_use]
    pub const fn suffix(&self) -> &'static str {
        match self {
            Self::Trend(_) => "",
            Self::Absorption(_) => "-absorption",
            Self::Phases(_) => "-phases",
            Self::Panels(suffix, _) => suffix,
        }
    }

    /// The same without what a page says around it.
    #[must_use]
    pub fn bare(mut self) -> Self {
        let words = match &mut self {
            Self::Trend(picture) => &mut picture.words,
            Self::Absorption(picture) => &mut picture.words,
            Self::Phases(picture) => &mut picture.words,
            Self::Panels(_, picture) => &mut picture.words,
        };
        *words = words.bare();
        self
    }
}

impl Chart for Picture {
    fn draw<DB: DrawingBackend>(&self, area: &DrawingArea<DB, Shift>) -> Drawn<DB> {
        match self {
            Self::Trend(picture) => picture.draw(area),
            Self::Absorption(picture) => picture.draw(area),
            Self::Phases(picture) => picture.draw(area),
            Self::Panels(_, picture) => picture.draw(area),
        }
    }

    fn description(&self) -> String {
        match self {
            Self::Trend(picture) => picture.description(),
            Self::Absorption(picture) => picture.description(),
            Self::Phases(picture) => picture.description(),
            Self::Panels(_, picture) => picture.description(),
        }
    }
}

/// The charts that a judged series, made from these rows, has: the readings over the years, the ten-minute tests where there are
/// some, the phases where it is one of them. The one about the finding that caused the action comes first.
#[must_use]
pub fn of(
    judgement: &Judgement,
    rows: &[TestRecord],
    phases: Option<&PhasesPicture>,
    context: &ChartContext,
) -> Vec<Picture> {
    let is_phase = Connection::read(&judgement.assessment.connection).phase_to_earth().is_some();
    let absorption = AbsorptionPicture::new(judgement, rows, context).map(Picture::Absorption);
    let phases = phases.filter(|_| is_phase).cloned().map(Picture::Phases);
    let mut pictures: Vec<Picture> = [Picture::Trend(TrendPicture::new(judgement, context))].into();
    let drying = drying::picture(judgement, context).map(|picture| Picture::Panels("-drying", picture));
    let steps = steps::picture(judgement, context).map(|picture| Picture::Panels("-steps", picture));
    pictures.extend(absorption.into_iter().chain(phases).chain(drying).chain(steps));
    let cause = judgement.assessment.noticed().next().map(|finding| finding.code);
    pictures.sort_by_key(|picture| match (picture, cause) {
        (
            Picture::Absorption(_),
            Some(Code::LowAbsorption | Code::IndexBelowOne | Code::RatioFallen | Code::TimedReadingsFall),
        )
        | (Picture::Phases(_), Some(Code::PhaseSpread))
        | (Picture::Panels("-drying", _), Some(Code::Drying))
        | (Picture::Panels("-steps", _), Some(Code::FallsWithVoltage)) => 0,
        _ => 1,
    });
    pictures
}
