//! One simulated winding: its true level, the tests made on it, and what is known at the as-of date.

use std::f64::consts::TAU;

use groundwall::resistance::Bound;
use groundwall::trend::{Reading, Stretch};
use groundwall::units::{Resistance, TemperatureDifference, Years};

use crate::dice::Dice;

/// log10 of the minimum, MΩ: 5 MΩ for every simulated winding; how far above it a winding starts is drawn.
pub(crate) const MINIMUM: f64 = 0.698_970_004;
/// A decline that takes longer than this counts as none, years.
pub(crate) const HORIZON: f64 = 30.0;
/// Steps per year at which the true level is known.
pub(crate) const STEPS: f64 = 52.0;

/// The true level, log10 MΩ at 40 °C and the mean of the year, from time 0 at equal steps.
pub(crate) struct Level(pub(crate) Vec<f64>);

impl Level {
    /// The level as a formula of time in years.
    pub(crate) fn of(years: f64, formula: impl Fn(f64) -> f64) -> Self {
        Self((0..=(years * STEPS) as usize).map(|i| formula(i as f64 / STEPS)).collect())
    }

    pub(crate) fn at(&self, t: f64) -> f64 {
        let place = (t * STEPS).clamp(0.0, (self.0.len() - 1) as f64);
        let i = (place as usize).min(self.0.len().saturating_sub(2));
        self.0[i] + (place - i as f64) * (self.0[i + 1] - self.0[i])
    }

    /// When it first reaches the minimum.
    pub(crate) fn first_passage(&self) -> f64 {
        match self.0.iter().position(|y| *y <= MINIMUM) {
            None => f64::INFINITY,
            Some(0) => 0.0,
            Some(i) => {
                let (a, b) = (self.0[i - 1], self.0[i]);
                ((i - 1) as f64 + (a - MINIMUM) / (a - b)) / STEPS
            }
        }
    }
}

/// How a winding is tested and what disturbs the readings.
pub(crate) struct Testing {
    /// Tests before the as-of date.
    pub(crate) tests: usize,
    /// Years between tests.
    pub(crate) interval: f64,
    /// Standard deviation of ordinary scatter, decades.
    pub(crate) scatter: f64,
    /// Amplitude of the yearly swing, decades.
    pub(crate) season: f64,
    /// What the temperature law gets wrong, decades per 10 °C, and its curvature per (10 °C)².
    pub(crate) law_error: [f64; 2],
    /// Share of outliers.
    pub(crate) outlier_share: f64,
    /// Share of the scatter's variance that lingers, and for how long, years.
    pub(crate) autocorrelated: (f64, f64),
    /// Top of the tester's scale, log10 MΩ corrected.
    pub(crate) top: f64,
    /// Tests are on their day, so that a planted fall lies between the tests it was meant for.
    pub(crate) punctual: bool,
    /// Every reading before the last is beyond the scale.
    pub(crate) only_bounds: bool,
}

impl Testing {
    /// The usual care: quarterly, 4 to 10 years.
    pub(crate) fn usual(dice: &mut Dice) -> Self {
        Self {
            tests: dice.count(14, 36),
            interval: 0.25,
            scatter: dice.log_normal(0.07, 0.35),
            season: dice.between(0.0, 0.15),
            law_error: [0.015 * dice.normal(), 0.0],
            outlier_share: 0.02,
            autocorrelated: (0.0, 1.0),
            top: f64::INFINITY,
            punctual: false,
            only_bounds: false,
        }
    }
}

/// One simulated test.
struct Test {
    /// Years from the start of the life.
    years: f64,
    bound: Bound,
    corrected: Resistance,
    /// Distance of the winding's temperature from the reference temperature, where it was taken.
    above_reference: Option<TemperatureDifference>,
}

impl Test {
    /// The reading as it is known at an as-of date, counted from the start of the life.
    fn known_at(&self, as_of: f64) -> Option<Reading> {
        let reading = Reading::new(Years::from_years(self.years - as_of).ok()?, self.bound, self.corrected);
        Some(self.above_reference.map_or(reading, |above| reading.at_temperature(above)))
    }
}

/// One simulated winding.
pub(crate) struct History {
    /// All tests up to the first after the level reached the minimum; times from the start of the life.
    tests: Vec<Test>,
    /// How many are known at the as-of date.
    known: usize,
    /// As-of date, from the start of the life.
    as_of: f64,
    /// When the level reaches the minimum, from the start of the life.
    crossing: f64,
    pub(crate) planted: bool,
}

impl History {
    /// Tests the level; `None` if the record ends after the minimum was reached.
    pub(crate) fn test(level: &Level, testing: &Testing, dice: &mut Dice) -> Option<Self> {
        let crossing = level.first_passage();
        let phase = dice.between(-0.1, 0.1);
        let warm = dice.between(22.0, 34.0);
        let swing = dice.between(2.0, 8.0);
        let (share, years) = testing.autocorrelated;
        let mut autocorrelated = dice.normal();
        let (mut tests, mut t): (Vec<Test>, f64) = (Vec::new(), 0.0);
        let start = dice.uniform();
        let mut previous = 0.0;
        let mut as_of = f64::INFINITY;
        let end = level.0.len() as f64 / STEPS;
        while t < crossing.min(end) && tests.len() < testing.tests + 400 {
            let keep = (-(t - previous) / years).exp();
            autocorrelated = keep * autocorrelated + (1.0 - keep * keep).sqrt() * dice.normal();
            previous = t;
            let summer = (TAU * (t + start + phase)).sin();
            let temp = warm + swing * summer + 3.0 * dice.normal();
            let warmth = (temp - 40.0) / 10.0;
            let mut y = level.at(t)
                + testing.season * (TAU * (t + start)).cos()
                + testing.law_error[0] * warmth
                + testing.law_error[1] * warmth * warmth
                + testing.scatter * ((1.0 - share).sqrt() * dice.normal() + share.sqrt() * autocorrelated);
            let latest = tests.len() + 1 == testing.tests;
            if dice.chance(testing.outlier_share) && !latest {
                let size = dice.between(0.3, 1.2);
                y += if dice.chance(0.75) { -size } else { size };
            }
            let over = y > testing.top || (testing.only_bounds && !latest);
            let above_reference = TemperatureDifference::from_kelvins(temp - 40.0).ok();
            tests.push(Test {
                years: t,
                bound: if over { Bound::Above } else { Bound::Exact },
                corrected: Resistance::from_log10_megohms(if over { testing.top } else { y }),
                above_reference: if dice.chance(0.05) { None } else { above_reference },
            });
            if tests.len() == testing.tests {
                as_of = t + dice.between(0.01, 0.8) * testing.interval;
            }
            let late = dice.between(-0.15, 0.15);
            t += testing.interval * if testing.punctual { 1.0 } else { 1.0 + late };
            if dice.chance(0.04) && !testing.punctual {
                t += testing.interval;
            }
        }
        let known = testing.tests;
        // Windings that reached the minimum before the as-of date were dealt with.
        (as_of < crossing).then_some(Self { tests, known, as_of, crossing, planted: false })
    }

    /// Years from the as-of date until the level reaches the minimum; infinite if not within 30.
    pub(crate) fn truth(&self) -> f64 {
        let years = self.crossing - self.as_of;
        if years > HORIZON { f64::INFINITY } else { years }
    }

    /// What is known at the as-of date.
    pub(crate) fn stretch(&self) -> Option<Stretch> {
        self.cut(self.known, self.as_of)
    }

    /// What was known just after the last test but one before the level reached the minimum, if the record was as
    /// long as at the as-of date by then.
    pub(crate) fn two_tests_ahead(&self) -> Option<Stretch> {
        let before = self.tests.iter().filter(|test| test.years < self.crossing).count();
        let count = before.checked_sub(1).filter(|c| *c >= self.known && self.truth().is_finite())?;
        self.cut(count, self.tests[count - 1].years + 0.01)
    }

    fn cut(&self, count: usize, as_of: f64) -> Option<Stretch> {
        let known = self.tests.get(..count)?.iter().map(|test| test.known_at(as_of));
        Stretch::new(known.collect::<Option<_>>()?).ok()
    }
}
