//! A judged series.

use super::drying::{self, Drying, DryingPoint};
use super::result::{Action, CorrectedTest, Level, SeriesAssessment};
use super::stepped;
use crate::nameplate::Nameplate;
use crate::record::TestedOn;
use crate::resistance::Measured;
use crate::steps::Step;
use crate::temperature::learnt::LearntLaw;
use crate::temperature::{TemperatureLaw, UsedLaw};
use crate::trend::{NoiseWeights, Priors, Stretch, StretchFit, solve};
use crate::units::{Confidence, Resistance, Temperature, Years};
use chrono::NaiveDate;

/// What a series is by one of the laws that may hold.
#[derive(Clone, Debug, PartialEq)]
pub struct LawAnswer {
    /// The law in words.
    pub law: String,
    /// The latest reading at the reference temperature by that law.
    pub latest: Option<Measured>,
    /// The level today; none without an exact reading.
    pub level: Option<Resistance>,
    /// The action.
    pub action: Action,
}

/// A judged series with all that pictures and step-by-step accounts need.
#[derive(Clone, Debug)]
pub struct Judgement {
    /// The judgement itself.
    pub assessment: SeriesAssessment,
    /// Every test of the series, in time order, as the trend sees it.
    pub tests: Vec<CorrectedTest>,
    /// Name and source of the temperature law used.
    pub law: String,
    /// Temperature to which the tests were corrected.
    pub reference: Temperature,
    /// Confidence of the intervals.
    pub confidence: Confidence,
    /// The as-of date.
    pub as_of: NaiveDate,
    /// The fitted stretch; none without a reading that counts.
    pub fit: Option<StretchFit>,
    /// The stretch without its latest test, where that is doubtful and to be repeated.
    pub doubted: Option<Stretch>,
    /// The latest process of drying out.
    pub drying: Option<Drying>,
    /// What the judgement rests on beside the readings.
    pub background: Background,
}

/// What a judgement rests on beside the readings: for step-by-step accounts.
#[derive(Clone, Debug)]
pub struct Background {
    /// The nameplate as known.
    pub nameplate: Nameplate,
    /// Whether the register has the winding.
    pub registered: bool,
    /// The law that corrected the tests.
    pub law: UsedLaw,
    /// The law that the policy and the nameplate name.
    pub assumed_law: TemperatureLaw,
    /// What the readings themselves say of the law, whether used or not.
    pub learnt_law: Option<LearntLaw>,
    /// What the series is by each temperature law that it was judged by, the one in use first.
    pub by_law: Vec<LawAnswer>,
    /// Group prior.
    pub priors: Priors,
    /// How similar windings weigh the kinds of noise.
    pub noise_weights: NoiseWeights,
    /// Probability that the level is below the minimum today; none without a reading that counts.
    pub p_below_today: Option<f64>,
    /// Probability that it gets there inside the horizons looked ahead for `shorten`.
    pub p_below_in_shorten: Option<f64>,
}

impl Judgement {
    /// The temperature law that corrected the tests.
    #[must_use]
    pub fn law_used(&self) -> UsedLaw {
        self.background.law
    }

    /// The rows of the latest process of drying out against hours; empty where there was none.
    #[must_use]
    pub fn drying_points(&self) -> Vec<DryingPoint> {
        let rows = self.drying.as_ref().map(|drying| drying.rows.clone());
        rows.map_or_else(Vec::new, |rows| drying::drying_points(&self.tests, rows))
    }

    /// The latest test at several voltages, with its day; none where there was none.
    #[must_use]
    pub fn latest_steps(&self) -> Option<(NaiveDate, Vec<Step>)> {
        stepped::latest_steps(&self.tests)
    }

    /// The underlying level at a day of the stretch or up to [`HORIZON_YEARS`](crate::trend::HORIZON_YEARS) after the as-of date: the mean over a year at the
    /// reference temperature, so the season and the chance of single tests are not in it. None without an exact reading in
    /// the stretch.
    #[must_use]
    pub fn level_at(&self, day: NaiveDate) -> Option<Level> {
        self.level_of(self.fit.as_ref()?, day)
    }

    /// The fit without the latest test, where that is doubtful and to be repeated: for a picture that does not let one
    /// doubtful reading bend its line. Dates and probabilities are those of the whole stretch.
    #[must_use]
    pub fn fit_before_doubtful(&self) -> Option<StretchFit> {
        let solved = solve(self.doubted.as_ref()?, &self.background.priors);
        Some(solved.average(&self.background.noise_weights))
    }

    /// As [`level_at`](Self::level_at), by another fit of the same stretch.
    #[must_use]
    pub fn level_of(&self, fit: &StretchFit, day: NaiveDate) -> Option<Level> {
        let trend = self.assessment.trend.as_ref()?;
        trend.level_mohm?;
        if day < trend.since {
            return None;
        }
        let when = Years::from_years(TestedOn::day(day).years_since(self.as_of)).ok()?;
        Some(fit.level_band(when, self.confidence))
    }
}
