//! What a round is made of: one line for each test to be made, and what was used at the tests before.

use super::advice::{Duration, TestVoltage};
use super::expect::{Expectation, StopValue};
use super::likely::LikelyTemperature;
use crate::absorption::{one_minute_resistance, ten_minutes};
use crate::assess::{Action, Minimum, NextTest, SeriesAssessment};
use crate::nameplate::Nameplate;
use crate::record::OtherPhases;
use crate::resistance::Measured;
use crate::series::{Series, SeriesKey};
use crate::units::{Confidence, Resistance, Temperature, Voltage};
use chrono::NaiveDate;
use std::cmp::Ordering;

/// The tests to be made until a day.
#[derive(Clone, Debug, PartialEq)]
pub struct Round {
    /// The day on which it was planned.
    pub as_of: NaiveDate,
    /// The last day for which tests are due in it.
    pub until: NaiveDate,
    /// Reference temperature of the minima.
    pub reference: Temperature,
    /// Confidence of the expected readings.
    pub confidence: Confidence,
    /// The tests, by site and area; in each by the day they are due, the most urgent of a day first.
    pub lines: Vec<Line>,
    /// Series whose next test is due later.
    pub not_due: usize,
}

/// One test to be made.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// What to test.
    pub key: SeriesKey,
    /// What is known of the winding.
    pub nameplate: Nameplate,
    /// The judgement on the series; none for a winding that was never tested.
    pub assessment: Option<SeriesAssessment>,
    /// By when, and why then.
    pub due: NextTest,
    /// Which voltage.
    pub voltage: TestVoltage,
    /// How long.
    pub duration: Duration,
    /// The temperature that the winding will likely have.
    pub likely: LikelyTemperature,
    /// What the tester should show at that temperature.
    pub expected: Expectation,
    /// The reading below which to stop and call, at the likely temperature and at ten kelvins less and more.
    pub stop: [StopValue; 3],
    /// The least acceptable resistance at the reference temperature.
    pub minimum: Minimum,
    /// The temperature law that brings it to other temperatures.
    pub law: String,
    /// The last test made.
    pub last: Option<LastTest>,
    /// The tester last used, as far as it was written down.
    pub instrument: Option<String>,
    /// What to ask at the machine: whole sentences.
    pub questions: Vec<String>,
    /// What to see to before this test beside what holds for every test: whole sentences.
    pub checks: Vec<String>,
}

/// The last test made of a series.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LastTest {
    /// The day.
    pub on: NaiveDate,
    /// One-minute resistance as read.
    pub as_read: Option<Measured>,
    /// Temperature of the winding.
    pub winding_temp: Option<Temperature>,
    /// Voltage applied.
    pub test_volts: Option<Voltage>,
    /// What the phases not under test were connected to.
    pub other_phases: Option<OtherPhases>,
}

impl Line {
    /// What to test, as people name it.
    #[must_use]
    pub fn name(&self) -> String {
        self.key.name()
    }

    /// What was decided about the series; none for a winding that was never tested.
    #[must_use]
    pub fn action(&self) -> Option<Action> {
        self.assessment.as_ref().map(|assessment| assessment.action)
    }

    /// Which of two lines comes first: by site and area, those without one last; then by the day it is due, then by urgency. A
    /// winding that was never tested comes behind those of its day that need something and before those that need nothing.
    #[must_use]
    pub fn order(&self, other: &Self) -> Ordering {
        let place = |line: &Self| {
            let (site, area) = (line.nameplate.site.clone(), line.nameplate.area.clone());
            (site.is_none(), site, area.is_none(), area)
        };
        let rank = |line: &Self| match line.action() {
            Some(Action::Keep | Action::Gather) => 2,
            None => 1,
            Some(_) => 0,
        };
        place(self)
            .cmp(&place(other))
            .then(self.due.by.cmp(&other.due.by))
            .then(rank(self).cmp(&rank(other)))
            .then_with(|| match (&self.assessment, &other.assessment) {
                (Some(one), Some(another)) => {
                    one.urgency().cmp(&another.urgency()).then_with(|| self.key.cmp(&other.key))
                }
                _ => self.key.cmp(&other.key),
            })
    }
}

/// How a series was tested so far.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Habits {
    pub(super) last: Option<LastTest>,
    pub(super) test_volts: Option<Voltage>,
    pub(super) instrument: Option<String>,
    /// Whether a ten-minute reading was ever taken.
    pub(super) ten_minutes: bool,
    full_scale: Option<Resistance>,
}

impl Habits {
    /// What the tests until a day say; each thing from the latest that says it.
    pub(super) fn of(series: &Series, as_of: NaiveDate) -> Self {
        let mut habits = Self::default();
        // Rows without a reading are about work, not a test.
        let made = series.tests.iter().filter(|test| test.tested_on.date <= as_of && !test.readings.is_empty());
        for test in made {
            let as_read = one_minute_resistance(&test.readings);
            habits.last = Some(LastTest {
                on: test.tested_on.date,
                as_read,
                winding_temp: test.winding_temp,
                test_volts: test.test_volts,
                other_phases: test.procedure().other_phases,
            });
            habits.test_volts = test.test_volts.or(habits.test_volts);
            habits.instrument = test.instrument.clone().or(habits.instrument);
            habits.full_scale = test.full_scale.or(habits.full_scale);
            habits.ten_minutes |= test.reading_at(ten_minutes()).is_some();
        }
        habits
    }

    /// Where the scale of the tester ended, by its own word or by a reading that went beyond it.
    pub(super) fn scale_end(&self) -> Option<Resistance> {
        self.full_scale.or(match self.last?.as_read {
            Some(Measured::Above(limit)) => Some(limit),
            _ => None,
        })
    }
}
