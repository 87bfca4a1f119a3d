//! One simulated winding with its nameplate, and the tests that people make on it.

use std::error::Error;
use std::f64::consts::TAU;

use chrono::{Days, NaiveDate};
use groundwall::nameplate::{Construction, Insulation, LimitBasis, Nameplate};
use groundwall::record::{Event, TestRecord, TestedOn};
use groundwall::resistance::Measured;
use groundwall::units::{Elapsed, Resistance, Temperature, Voltage};

use crate::dice::Dice;
use crate::life::{Fate, LIFE_YEARS, Life};

/// Why a plant could not be simulated.
pub(crate) type Failure = Box<dyn Error + Send + Sync>;

/// Days of a year.
pub(crate) const DAYS_PER_YEAR: f64 = 365.25;
/// A decliner gets to its minimum within so many years of the first look.
const LATEST_CROSSING_YEARS: f64 = 8.0;
/// A healthy winding does not within so many.
const HEALTHY_YEARS: f64 = 15.0;
/// Years over which tests are simulated: the longest record and the replay.
const LONGEST_RECORD_YEARS: f64 = 12.0;

/// A tester of the plant: what it reads too high, and where its scale ends, log10 MΩ.
struct Tester {
    name: String,
    bias: f64,
    top: f64,
}

/// What the windings of one plant have in common.
pub(crate) struct Plant {
    testers: Vec<Tester>,
    pub(crate) first_look: NaiveDate,
}

impl Plant {
    pub(crate) fn draw(dice: &mut Dice) -> Self {
        let tops = [3.0, 3.3, 4.0, 5.0];
        let testers = (0..3)
            .map(|k| Tester {
                name: format!("T{k}"),
                bias: dice.between(0.01, 0.06) * dice.normal(),
                top: tops[dice.count(0, 3)],
            })
            .collect();
        Self { testers, first_look: NaiveDate::from_ymd_opt(2026, 1, 15).unwrap_or_default() }
    }
}

/// A test with the day on which it was entered.
pub(crate) struct Entered {
    pub(crate) on: NaiveDate,
    pub(crate) test: TestRecord,
}

/// A simulated winding.
pub(crate) struct Winding {
    pub(crate) fate: Fate,
    pub(crate) nameplate: Nameplate,
    pub(crate) tests: Vec<Entered>,
    life: Life,
    /// log10 of the minimum, MΩ.
    pub(crate) minimum: f64,
    /// First test of the record.
    begins: NaiveDate,
}

impl Winding {
    /// Draws a winding until it fits its fate, and tests it over the record and the replay after it.
    pub(crate) fn draw(name: &str, plant: &Plant, replay_years: f64, dice: &mut Dice) -> Result<Self, Failure> {
        let fate = Fate::draw(dice);
        let high = dice.chance(0.45);
        let megohms = if high { 100.0 } else { 5.0 };
        let minimum = f64::log10(megohms);
        let (record, life) = loop {
            let record = dice.between(2.0, LONGEST_RECORD_YEARS);
            let life = Life::draw(fate, minimum, record, dice);
            let ahead = life.reaches(minimum) - record;
            if if fate.declines() { (0.0..LATEST_CROSSING_YEARS).contains(&ahead) } else { ahead > HEALTHY_YEARS } {
                break (record, life);
            }
        };
        let setting = dice.chance(0.6);
        let known = dice.chance(0.65);
        let intervals = [30, 91, 182, 365, 548];
        let shares = [0.08, 0.55, 0.75, 0.93];
        let drawn = dice.uniform();
        let interval = intervals[shares.iter().filter(|share| drawn > **share).count()];
        let nameplate = Nameplate {
            construction: Some(if high { Construction::FormWound } else { Construction::RandomWound }),
            insulation: match (known, setting) {
                (false, _) => Insulation::Unknown,
                (true, true) => Insulation::Thermosetting,
                (true, false) => Insulation::Thermoplastic,
            },
            rated_voltage: Some(Voltage::from_volts(if high { 6600.0 } else { 400.0 })?),
            year_made: Some(1995),
            interval_days: Some(interval),
            minimum: Some(Resistance::from_megohms(megohms)?),
            minimum_basis: Some(LimitBasis::Reference),
            ..Nameplate::default()
        };
        let back = Days::new((record * DAYS_PER_YEAR) as u64);
        let begins = plant.first_look.checked_sub_days(back).unwrap_or(plant.first_look);
        let mut winding = Self { fate, nameplate, tests: Vec::new(), life, minimum, begins };
        let law = if setting { dice.between(0.05, 0.15) } else { dice.between(0.22, 0.32) };
        let years = record + replay_years;
        winding.tests = winding.test(name, plant, law, f64::from(interval) / DAYS_PER_YEAR, years, dice)?;
        Ok(winding)
    }

    /// Makes the tests; `law` is the true fall of the wall's log10 R per 10 K.
    fn test(
        &self,
        name: &str,
        plant: &Plant,
        law: f64,
        interval: f64,
        years: f64,
        dice: &mut Dice,
    ) -> Result<Vec<Entered>, Failure> {
        let outdoors = dice.chance(0.3);
        let (mean, swing) = if outdoors {
            (dice.between(10.0, 18.0), dice.between(8.0, 12.0))
        } else {
            (dice.between(18.0, 28.0), dice.between(3.0, 7.0))
        };
        let warm = if dice.chance(0.3) { dice.between(8.0, 22.0) } else { 0.0 };
        // A quarter is measured at the frame, which is not the winding.
        let frame = if dice.chance(0.25) { 4.0 * dice.normal() } else { 0.0 };
        let scatter = dice.log_normal(0.055, 0.35);
        let usual = dice.count(0, plant.testers.len() - 1);
        let tells_of_work = dice.chance(0.8);
        let summer = dice.uniform();
        let (mut t, mut tests, mut standing) = (0.0, Vec::new(), 0.0);
        let mut cleaned = self.life.cleaned.iter().copied().peekable();
        while t < years.min(LIFE_YEARS) {
            let season = (TAU * (t + summer)).sin();
            let celsius = mean + swing * season + warm * dice.between(0.6, 1.0) + 2.0 * dice.normal();
            let (share, taken) = self.life.standstill;
            // Standstill lasts for months: what it took up dries out slowly.
            standing = if dice.chance(share) { taken } else { standing * (-interval / 0.3).exp() };
            let tester = if dice.chance(0.8) { usual } else { dice.count(0, plant.testers.len() - 1) };
            let tester = &plant.testers[tester];
            let fall =
                (law * self.life.wall_share(t) + 0.04 * (1.0 - self.life.wall_share(t))) * (celsius - 40.0) / 10.0;
            let mut y = self.life.level(t) - fall - self.life.season * season - standing
                + tester.bias
                + scatter * dice.normal();
            if dice.chance(0.02) {
                y += dice.between(0.3, 1.1) * if dice.chance(0.7) { -1.0 } else { 1.0 };
            }
            let on = self.day(t);
            let value = if y > tester.top {
                Measured::Above(Resistance::from_log10_megohms(tester.top))
            } else {
                Measured::Exact(Resistance::from_log10_megohms(y))
            };
            let mut worked = false;
            while cleaned.next_if(|at| *at <= t).is_some() {
                worked = true;
            }
            let measured = Temperature::from_celsius(celsius + frame + dice.normal()).ok();
            let late = if dice.chance(0.06) { dice.count(20, 150) as u64 } else { 1 };
            tests.push(Entered {
                on: on.checked_add_days(Days::new(late)).unwrap_or(on),
                test: TestRecord::builder(name, TestedOn::day(on))
                    .reading(Elapsed::from_seconds(60.0)?, value)
                    .winding_temp(measured.filter(|_| !dice.chance(0.08)))
                    .instrument(tester.name.clone())
                    .event((worked && tells_of_work).then_some(Event::Cleaned))
                    .build()?,
            });
            t += interval * dice.between(0.8, 1.2) + if dice.chance(0.05) { interval } else { 0.0 };
        }
        Ok(tests)
    }

    fn day(&self, t: f64) -> NaiveDate {
        self.begins.checked_add_days(Days::new((t * DAYS_PER_YEAR) as u64)).unwrap_or(self.begins)
    }

    /// Years from a day to the one on which the level reaches the minimum; negative where it has; infinite if it never does.
    pub(crate) fn reaches_after(&self, day: NaiveDate) -> f64 {
        self.life.reaches(self.minimum) - self.age(day)
    }

    /// Years from the first test to a day.
    pub(crate) fn age(&self, day: NaiveDate) -> f64 {
        day.signed_duration_since(self.begins).num_days() as f64 / DAYS_PER_YEAR
    }

    /// The true level on a day, log10 MΩ at 40 °C.
    pub(crate) fn level(&self, day: NaiveDate) -> f64 {
        self.life.level(self.age(day))
    }
}
