//! Cold collapses: a winding that was warm and dry in service stands cold and wet, and reads less than it did warm.
//!
//! Cold insulation reads more, so whatever temperature law is true, these have fallen. None may be left alone.

use chrono::{Days, NaiveDate};
use groundwall::assess::{Action, InTurn, Register, Terms, assess_fleet};
use groundwall::nameplate::{Construction, Insulation, LimitBasis, Nameplate};
use groundwall::policy::Policy;
use groundwall::record::{TestRecord, TestedOn};
use groundwall::resistance::Measured;
use groundwall::series::Series;
use groundwall::units::{Confidence, Elapsed, Resistance, Temperature, Voltage};

use crate::dice::Dice;
use crate::winding::Failure;

/// One way to collapse: readings in service, and the last ones as read.
pub(crate) struct Collapse {
    pub(crate) name: &'static str,
    insulation: Insulation,
    /// Rated voltage, V, and minimum, MΩ.
    rating: (f64, f64),
    /// Tests in service, days between them, their level in MΩ, temperature in °C and its spread in K.
    tests: u64,
    days: u64,
    level: f64,
    celsius: f64,
    spread: f64,
    /// The last readings: MΩ as read, °C.
    last: &'static [(f64, f64)],
}

use Insulation::{Thermoplastic, Thermosetting, Unknown};

pub(crate) const COLLAPSES: [Collapse; 10] = [
    Collapse {
        name: "far above the minimum, two cold readings",
        insulation: Thermosetting,
        rating: (3300.0, 100.0),
        tests: 22,
        days: 91,
        level: 2500.0,
        celsius: 38.0,
        spread: 0.8,
        last: &[(700.0, 16.0), (420.0, 12.0)],
    },
    Collapse {
        name: "near the minimum, three cold readings",
        insulation: Thermosetting,
        rating: (400.0, 5.0),
        tests: 22,
        days: 91,
        level: 300.0,
        celsius: 38.0,
        spread: 0.8,
        last: &[(20.0, 16.0), (12.0, 12.0), (9.0, 11.0)],
    },
    Collapse {
        name: "one cold reading",
        insulation: Thermosetting,
        rating: (6600.0, 100.0),
        tests: 18,
        days: 91,
        level: 3000.0,
        celsius: 36.0,
        spread: 1.0,
        last: &[(800.0, 12.0)],
    },
    Collapse {
        name: "insulation unknown",
        insulation: Unknown,
        rating: (3300.0, 100.0),
        tests: 16,
        days: 91,
        level: 1500.0,
        celsius: 35.0,
        spread: 1.5,
        last: &[(600.0, 14.0), (450.0, 11.0)],
    },
    Collapse {
        name: "old binder",
        insulation: Thermoplastic,
        rating: (2300.0, 3.3),
        tests: 20,
        days: 91,
        level: 120.0,
        celsius: 42.0,
        spread: 2.0,
        last: &[(60.0, 20.0), (40.0, 15.0)],
    },
    Collapse {
        name: "monthly tests, three cold readings",
        insulation: Thermosetting,
        rating: (6600.0, 100.0),
        tests: 40,
        days: 30,
        level: 5000.0,
        celsius: 45.0,
        spread: 3.0,
        last: &[(1800.0, 20.0), (1300.0, 15.0), (900.0, 9.0)],
    },
    Collapse {
        name: "short record",
        insulation: Thermosetting,
        rating: (3300.0, 100.0),
        tests: 7,
        days: 91,
        level: 2000.0,
        celsius: 37.0,
        spread: 1.0,
        last: &[(600.0, 15.0)],
    },
    Collapse {
        name: "few tests",
        insulation: Thermosetting,
        rating: (3300.0, 100.0),
        tests: 3,
        days: 91,
        level: 2000.0,
        celsius: 37.0,
        spread: 1.0,
        last: &[(450.0, 13.0)],
    },
    Collapse {
        name: "yearly tests",
        insulation: Unknown,
        rating: (400.0, 5.0),
        tests: 9,
        days: 365,
        level: 400.0,
        celsius: 40.0,
        spread: 2.0,
        last: &[(120.0, 18.0), (90.0, 14.0)],
    },
    Collapse {
        name: "seasons warm and cool, then a cold fall",
        insulation: Thermosetting,
        rating: (6600.0, 100.0),
        tests: 24,
        days: 91,
        level: 4000.0,
        celsius: 32.0,
        spread: 5.0,
        last: &[(1100.0, 8.0), (800.0, 6.0)],
    },
];

/// Scatter of the tests in service, decades.
const SCATTER: f64 = 0.05;

/// The action on a collapse, and how far above the minimum its last reading was as read.
pub(crate) fn judge(collapse: &Collapse, seed: u64) -> Result<Action, Failure> {
    let mut dice = Dice::new(seed, 7);
    let as_of = NaiveDate::from_ymd_opt(2026, 11, 1).unwrap_or_default();
    let mut readings: Vec<(f64, f64)> = (0..collapse.tests)
        .map(|_| {
            let celsius = collapse.celsius + collapse.spread * dice.normal();
            // In service the insulation follows a law of 0.08 decades per 10 K, or 0.28 for old binders.
            let fall = if collapse.insulation == Thermoplastic { 0.28 } else { 0.08 };
            let law = -fall * (celsius - collapse.celsius) / 10.0;
            (collapse.level.log10() + law + SCATTER * dice.normal(), celsius)
        })
        .collect();
    readings.extend(collapse.last.iter().map(|(megohms, celsius)| (megohms.log10() + 0.02 * dice.normal(), *celsius)));
    let count = readings.len() as u64;
    let tests = readings.into_iter().zip(0..).map(|((log10, celsius), k)| {
        let on = as_of.checked_sub_days(Days::new(10 + (count - 1 - k) * collapse.days)).unwrap_or(as_of);
        let value = Measured::Exact(Resistance::from_log10_megohms(log10));
        let test = TestRecord::builder("cold", TestedOn::day(on)).reading(Elapsed::from_seconds(60.0)?, value);
        Ok(test.winding_temp(Temperature::from_celsius(celsius)?).build()?)
    });
    let tests = tests.collect::<Result<Vec<_>, Failure>>()?;
    let (volts, minimum) = collapse.rating;
    let nameplate = Nameplate {
        construction: Some(if minimum > 50.0 { Construction::FormWound } else { Construction::RandomWound }),
        insulation: collapse.insulation,
        rated_voltage: Some(Voltage::from_volts(volts)?),
        interval_days: u32::try_from(collapse.days).ok(),
        minimum: Some(Resistance::from_megohms(minimum)?),
        minimum_basis: Some(LimitBasis::Reference),
        ..Nameplate::default()
    };
    let register = Register::from([("cold".to_owned(), nameplate)]);
    let terms = Terms { policy: Policy::default(), as_of, confidence: Confidence::from_fraction(0.9)? };
    let judged =
        assess_fleet(Series::collect(tests), &register, &terms, &InTurn, |judgement| judgement.assessment.action);
    judged.first().copied().ok_or_else(|| "no series was judged".into())
}
