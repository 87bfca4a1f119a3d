//! Readings as charts show them: when, what, and how much they count.

use super::axes::day;
use super::marks::{BoundMark, Emphasis};
use chrono::Timelike;
use groundwall::assess::{CorrectedTest, LeftOut};
use groundwall::record::TestedOn;
use groundwall::resistance::Measured;

/// Probability from which a reading is shown as an outlier.
const OUTLIER: f64 = 0.5;

/// One reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// The day.
    pub day: f64,
    /// log10 megohms; none for over-range without a limit, which is drawn at the upper edge.
    pub value: Option<f64>,
    /// What it says about the resistance.
    pub says: BoundMark,
    /// How it counts.
    pub standing: Emphasis,
}

impl Reading {
    /// The one-minute reading of a test at the reference temperature; as read where it could not be corrected. What was read after the
    /// as-of date is not shown: it would move the axes of a picture of that day.
    #[must_use]
    pub fn of(test: &CorrectedTest) -> Option<Self> {
        let shown = test.corrected.or(test.as_read).filter(|_| {
            !matches!(
                test.left_out,
                Some(
                    LeftOut::NoOneMinuteReading
                        | LeftOut::OtherStep
                        | LeftOut::Drying
                        | LeftOut::AfterAsOf
                        | LeftOut::KeptOut(_)
                )
            )
        });
        shown.map(|measured| Self::new(test.tested_on, measured, standing(test)))
    }

    /// The same as read; none where that says no more.
    #[must_use]
    pub fn as_read(test: &CorrectedTest) -> Option<Self> {
        let measured = test.as_read.filter(|measured| matches!(measured, Measured::Exact(_)))?;
        (test.corrected != test.as_read).then(|| Self::new(test.tested_on, measured, Emphasis::AsRead))
    }

    fn new(tested_on: TestedOn, measured: Measured, standing: Emphasis) -> Self {
        let (value, says) = bound_mark(measured);
        let hour = tested_on.time.map_or(0.0, |time| f64::from(time.num_seconds_from_midnight()) / 86_400.0);
        Self { day: day(tested_on.date) + hour, value, says, standing }
    }
}

/// The log10 of the megohms, or of the limit, and what it says about the resistance.
#[must_use]
pub fn bound_mark(measured: Measured) -> (Option<f64>, BoundMark) {
    let says = match measured {
        Measured::Exact(_) => BoundMark::Exact,
        Measured::Above(_) => BoundMark::Above,
        Measured::Below(_) => BoundMark::Below,
        Measured::OffScale => BoundMark::OffScale,
    };
    (measured.resistance().map(|r| r.log10_megohms()), says)
}

fn standing(test: &CorrectedTest) -> Emphasis {
    match test.left_out {
        Some(LeftOut::LeadCheckFailed) => Emphasis::LeadsNotProved,
        Some(LeftOut::BeforeStretch) => Emphasis::Before,
        _ if test.p_outlier > OUTLIER => Emphasis::Outlier,
        _ if test.kt.is_none() => Emphasis::Uncorrected,
        _ => Emphasis::Counts,
    }
}
