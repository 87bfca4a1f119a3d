//! What comes out: one assessment per series, with the words and keys that every output uses.
//!
//! The serialised form of [`SeriesAssessment`] is the `series` element of the result file, key for key. Unknown is null;
//! every key is always there; no number is ever NaN or infinite.

use super::finding::{Code, Finding};
use crate::absorption::Ratio;
use crate::minimum::Minimum;
use crate::record::{Event, KeptOut, Procedure, TestedOn};
use crate::resistance::{Bound, Measured};
use crate::series::display_name;
use crate::trend::Band;
use crate::units::{Resistance, Temperature, Voltage};
use chrono::NaiveDate;
use std::fmt;

pub use super::action_kind::Action;

/// The latest test that counts.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Latest {
    /// Day of the test.
    pub tested_on: NaiveDate,
    /// One-minute resistance as read, or its limit, MΩ; none where over-range has no known limit.
    pub r60_mohm: Option<f64>,
    /// Whether that is exact or a bound; a bound too where the corrected value lies beyond what a resistance can be.
    pub bound: Bound,
    /// Temperature of the winding, °C.
    pub winding_temp_c: Option<Temperature>,
    /// Factor that corrects to the reference temperature; none without a temperature, and none for a hot reading while drying out.
    pub kt: Option<f64>,
    /// One-minute resistance at the reference temperature, MΩ.
    pub r60_ref_mohm: Option<f64>,
    /// Polarization index R600/R60, where both were read.
    pub pi: Option<f64>,
    /// Dielectric absorption ratio R60/R30, where both were read.
    pub dar: Option<f64>,
    /// How it was made.
    #[cfg_attr(feature = "serde", serde(flatten))]
    pub procedure: Procedure,
}

/// The ratios of timed readings of one test; a ratio of bounds is not a number.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct TestRatios {
    /// Day of the test.
    pub tested_on: NaiveDate,
    /// Polarization index R600/R60.
    pub pi: Option<f64>,
    /// Dielectric absorption ratio R60/R30.
    pub dar: Option<f64>,
}

impl TestRatios {
    /// Those of the tests that have one and count, or counted before the stretch.
    pub(super) fn of(tests: &[CorrectedTest]) -> Vec<Self> {
        let counts = |test: &&CorrectedTest| matches!(test.left_out, None | Some(LeftOut::BeforeStretch));
        tests.iter().filter(counts).filter_map(Self::of_one).collect()
    }

    fn of_one(test: &CorrectedTest) -> Option<Self> {
        let (pi, dar) = (test.pi.and_then(Ratio::exact), test.dar.and_then(Ratio::exact));
        (pi.is_some() || dar.is_some()).then_some(Self { tested_on: test.tested_on.date, pi, dar })
    }
}

/// Why the stretch begins where it does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize), serde(rename_all = "kebab-case"))]
pub enum SinceReason {
    /// Nothing came before.
    FirstTest,
    /// Work was done on the winding.
    Event,
    /// The level jumped and no reason was recorded.
    LevelShift,
}

impl SinceReason {
    /// The reason as written in results.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::FirstTest => "first-test",
            Self::Event => "event",
            Self::LevelShift => "level-shift",
        }
    }
}

/// The trend of the stretch.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct TrendSummary {
    /// How it was fitted.
    pub method: String,
    /// First day of the stretch.
    pub since: NaiveDate,
    /// Why the stretch begins there.
    pub since_reason: SinceReason,
    /// Tests in the stretch that count.
    pub tests: usize,
    /// Of these, exact readings.
    pub exact: usize,
    /// Of these, bounds above.
    pub above: usize,
    /// Of these, bounds below.
    pub below: usize,
    /// Underlying level at the as-of date and reference temperature, MΩ: the mean over a year, without season and scatter, so it may
    /// lie beside the latest reading.
    pub level_mohm: Option<f64>,
    /// Slope of log10 resistance, decades per year.
    pub slope_log10_per_year: Option<f64>,
    /// Lower end of the slope's interval.
    pub slope_low: Option<f64>,
    /// Upper end of the slope's interval.
    pub slope_high: Option<f64>,
    /// Years in which the level halves; none when it does not fall.
    pub halving_years: Option<f64>,
    /// Scatter of single readings about the level, decades.
    pub scatter_log10: Option<f64>,
    /// Probability that the level falls.
    pub p_falling: Option<f64>,
}

/// Interval of the date on which the underlying level reaches the minimum.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct CrossingDates {
    /// Earlier end of the interval.
    pub earliest: NaiveDate,
    /// As likely before as after; none where not reaching it at all is likelier.
    pub median: Option<NaiveDate>,
    /// Later end; none where never reaching it is inside the interval.
    pub latest: Option<NaiveDate>,
}

impl CrossingDates {
    /// The interval in words: "between 2027-03-01 and 2029-01-10, most likely about 2027-09-14"; "may be reached from
    /// 2027-03-01 on, perhaps never" where it has no later end; "by 2026-11-25" where it has shrunk to one day, as it does where
    /// the level is there already. An earlier end alone is never said as if the winding were safe until then.
    ///
    /// # Examples
    ///
    /// ```
    /// use groundwall::assess::CrossingDates;
    /// let dates = CrossingDates { earliest: "2027-03-01".parse()?, median: None, latest: None };
    /// assert_eq!(dates.in_words(), "may be reached from 2027-03-01 on, perhaps never");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn in_words(&self) -> String {
        let middle = self.median.map_or_else(String::new, |median| format!(", most likely about {median}"));
        match self.latest {
            Some(latest) if latest == self.earliest => format!("by {latest}"),
            Some(latest) => format!("between {} and {latest}{middle}", self.earliest),
            None => format!("may be reached from {} on{middle}, perhaps never", self.earliest),
        }
    }
}

/// What the trend says about the minimum.
#[derive(Clone, Debug, PartialEq, Default)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Forecast {
    /// When the level reaches the minimum; none with a sentence in `cannot_say`.
    pub reaches_minimum: Option<CrossingDates>,
    /// Probability that the level is below the minimum at the next usual test.
    pub p_below_at_next_test: Option<f64>,
    /// Probability that the level gets below the minimum inside the planning horizon.
    pub p_below_in_horizon: Option<f64>,
    /// Why no date is given.
    pub cannot_say: Option<String>,
    /// Whether no date is given because the level does not get down to the minimum as far as can be seen.
    #[cfg_attr(feature = "serde", serde(skip))]
    pub out_of_sight: bool,
    /// The first of the latest tests that are all at or below the minimum: by then it was reached. None where the latest test is not.
    #[cfg_attr(feature = "serde", serde(skip))]
    pub below_since: Option<NaiveDate>,
}

impl Forecast {
    /// No forecast, because no reading of the series counts.
    pub(super) fn without_reading() -> Self {
        Self {
            cannot_say: Some("no reading counts, so nothing can be said about the minimum".to_owned()),
            ..Self::default()
        }
    }

    /// Whether the latest test is at or below the minimum, or the whole interval of the date has passed. A forecast knows no day
    /// before the one it is made on: when the minimum was reached, the readings tell.
    #[must_use]
    pub fn is_reached(&self, as_of: NaiveDate) -> bool {
        let has_passed = self.reaches_minimum.and_then(|dates| dates.latest).is_some_and(|latest| latest <= as_of);
        has_passed || (self.reaches_minimum.is_some() && self.below_since.is_some())
    }

    /// When the level reaches the minimum, in words: the interval, when it was reached, or why that cannot be said.
    #[must_use]
    pub fn in_words(&self, as_of: NaiveDate) -> String {
        match (&self.reaches_minimum, self.below_since) {
            (Some(_), Some(since)) if self.is_reached(as_of) => {
                format!("reached by {since}: since then no reading has been above it")
            }
            (Some(_), None) if self.is_reached(as_of) => {
                "reached, by the trend, though the latest reading is above it".to_owned()
            }
            (Some(dates), _) => dates.in_words(),
            (None, _) => self.cannot_say.clone().unwrap_or_else(|| "cannot be said".to_owned()),
        }
    }
}

/// When to test again.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct NextTest {
    /// The latest day.
    pub by: NaiveDate,
    /// Why that day.
    pub why: String,
}

/// By when work is to be done, the strictest first.
///
/// The result file has `before-use`, `now`, a day or `next-outage`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum WorkBy {
    /// Before the winding is energised again.
    BeforeUse,
    /// At once: the level may have reached the minimum already.
    Now,
    /// This is the last day: the one before the level may first reach the minimum.
    Day(NaiveDate),
    /// At the next outage.
    NextOutage,
}

impl WorkBy {
    /// The same in two or three plain words, for a list.
    #[must_use]
    pub fn in_short(self) -> String {
        match self {
            Self::BeforeUse => "work before use".to_owned(),
            Self::Now => "work now".to_owned(),
            Self::Day(day) => format!("work by {day}"),
            Self::NextOutage => "work next outage".to_owned(),
        }
    }
}

impl fmt::Display for WorkBy {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::BeforeUse => f.write_str("before-use"),
            Self::Now => f.write_str("now"),
            Self::Day(day) => day.fmt(f),
            Self::NextOutage => f.write_str("next-outage"),
        }
    }
}

#[cfg(feature = "serde")]
impl serde::Serialize for WorkBy {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

/// The judgement on one series.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct SeriesAssessment {
    /// The winding.
    pub winding: String,
    /// What the voltage was applied between.
    pub connection: String,
    /// What was in the circuit.
    pub scope: String,
    /// Site of the register.
    pub site: Option<String>,
    /// Part of the site, from the register.
    pub area: Option<String>,
    /// What the machine is or drives, from the register.
    pub description: Option<String>,
    /// How much hangs on the machine, from the register.
    pub criticality: Option<String>,
    /// Its place among the site's words for that, the most critical first.
    #[cfg_attr(feature = "serde", serde(skip))]
    pub criticality_rank: usize,
    /// The work order that is open for the machine, from the register.
    pub work_order: Option<String>,
    /// Who made the machine, from the register.
    pub maker: Option<String>,
    /// Group of similar windings.
    pub group: Option<String>,
    /// What to do.
    pub action: Action,
    /// What was noticed, weightiest first.
    pub findings: Vec<Finding>,
    /// The latest test that counts.
    pub latest: Option<Latest>,
    /// The day of a later test that is void; none where the latest test counts.
    pub void_tested_on: Option<NaiveDate>,
    /// The ratios of every test that has one and counts, in time order.
    pub ratios: Vec<TestRatios>,
    /// The least acceptable resistance.
    pub minimum: Option<Minimum>,
    /// The trend of the stretch.
    pub trend: Option<TrendSummary>,
    /// What the trend says about the minimum.
    pub forecast: Forecast,
    /// By when the work is to be done; none where none is asked for.
    pub work_by: Option<WorkBy>,
    /// When to test again.
    pub next_test: NextTest,
    /// For how many days the next usual test is overdue; none while it is not.
    pub overdue_days: Option<u32>,
}

impl SeriesAssessment {
    /// The series' name for people: the winding, with connection and scope where they are not the usual ones.
    #[must_use]
    pub fn name(&self) -> String {
        display_name(&self.winding, &self.connection, &self.scope)
    }

    /// The findings for a list or a page, the one that caused the action first. What changes nothing here, such as a decline that
    /// leads nowhere, is left to the step-by-step account.
    pub fn noticed(&self) -> impl Iterator<Item = &Finding> {
        let leads_somewhere = matches!(self.action, Action::Hold | Action::Plan | Action::Shorten);
        self.findings.iter().filter(move |finding| match finding.code {
            Code::Falling => leads_somewhere,
            Code::LawLearnt | Code::RatioNotMeaningful => false,
            _ => true,
        })
    }

    /// Whether the winding is not to be energised before what the findings ask for is done.
    #[must_use]
    pub fn must_not_be_energised(&self) -> bool {
        self.findings.iter().any(|finding| finding.before_use)
    }

    /// Whether the findings suggest water on the winding: then it is first tested at 500 V or less. Common practice.
    #[must_use]
    pub fn may_be_wet(&self) -> bool {
        self.findings.iter().any(|finding| {
            matches!(
                finding.code,
                Code::BelowMinimum
                    | Code::FallSinceLast
                    | Code::DampTest
                    | Code::FrozenWinding
                    | Code::RecoveredWithoutWork
                    | Code::FallsWithVoltage
                    | Code::LowAbsorption
            )
        })
    }

    /// The latest one-minute resistance at the reference temperature as a measured value; none where there is none.
    #[must_use]
    pub fn latest_at_reference(&self) -> Option<Measured> {
        let latest = self.latest.as_ref()?;
        let value = latest.r60_ref_mohm.and_then(|mohm| Resistance::from_megohms(mohm).ok());
        match (latest.bound, value) {
            (Bound::Exact, Some(r)) => Some(Measured::Exact(r)),
            (Bound::Above, Some(r)) => Some(Measured::Above(r)),
            (Bound::Below, Some(r)) => Some(Measured::Below(r)),
            (Bound::Above, None) => Some(Measured::OffScale),
            _ => None,
        }
    }
}

/// Why a test takes no part in the trend.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LeftOut {
    /// The leads were not proved before it.
    LeadCheckFailed,
    /// It has no one-minute resistance, and none can be interpolated.
    NoOneMinuteReading,
    /// It lies after the as-of date.
    AfterAsOf,
    /// It lies before the stretch: work was done, or the level shifted, since.
    BeforeStretch,
    /// It is a step at another voltage than the usual one, of a test at rising voltages.
    OtherStep,
    /// One row of a process of drying out.
    Drying,
    /// Its row is contradicted by another, or was rejected.
    KeptOut(KeptOut),
}

/// One test as the trend sees it: what charts and step-by-step accounts are made from.
#[derive(Clone, Debug, PartialEq)]
pub struct CorrectedTest {
    /// When the test was made.
    pub tested_on: TestedOn,
    /// One-minute resistance as read.
    pub as_read: Option<Measured>,
    /// The same at the reference temperature: corrected by its own temperature, or by the usual or likely one where that is
    /// not known.
    pub corrected: Option<Measured>,
    /// Factor between the two; none where the temperature is assumed.
    pub kt: Option<f64>,
    /// Temperature of the winding.
    pub winding_temp: Option<Temperature>,
    /// Voltage applied.
    pub test_volts: Option<Voltage>,
    /// Polarization index R600/R60, where both were read.
    pub pi: Option<Ratio>,
    /// Dielectric absorption ratio R60/R30, where both were read.
    pub dar: Option<Ratio>,
    /// Work done before this test.
    pub event: Option<Event>,
    /// Why the test takes no part in the trend, if so.
    pub left_out: Option<LeftOut>,
    /// How little the trend trusts the reading: probability that it is an outlier, 0 to 1.
    pub p_outlier: f64,
}

/// The underlying level at one day, with its interval.
pub type Level = Band<Resistance>;
