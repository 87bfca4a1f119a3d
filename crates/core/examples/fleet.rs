//! A fleet from memory: six alike fans made from a formula, spread over threads, the most urgent first.
//!
//! ```text
//! cargo run --release -p groundwall --example fleet
//! ```
#![allow(clippy::print_stdout, reason = "an example shows what it finds")]

use chrono::{Days, NaiveDate};
use groundwall::assess::{Action, Register, Spread, Terms, assess_fleet};
use groundwall::nameplate::{Construction, Insulation, Nameplate};
use groundwall::policy::Policy;
use groundwall::record::{Origin, TestRecord, TestedOn};
use groundwall::resistance::Measured;
use groundwall::series::Series;
use groundwall::units::{Confidence, Elapsed, Resistance, Temperature, Voltage};
use std::error::Error;

/// Spreads the work over threads; the results stay in the order of the series.
struct OnThreads;

impl Spread for OnThreads {
    fn map<T: Send, R: Send>(&self, things: Vec<T>, f: impl Fn(T) -> R + Sync + Send) -> Vec<R> {
        let f = &f;
        std::thread::scope(|scope| {
            let running: Vec<_> = things.into_iter().map(|thing| scope.spawn(move || f(thing))).collect();
            let join = |thread: std::thread::ScopedJoinHandle<'_, R>| match thread.join() {
                Ok(result) => result,
                // A winding without a result must not go unnoticed.
                Err(panic) => std::panic::resume_unwind(panic),
            };
            running.into_iter().map(join).collect()
        })
    }
}

/// A test of an invented fan: `loss` decades lost a year from about 300 MΩ, 4 % of scatter to and fro.
fn test(fan: u32, quarter: u32, loss: f64, first: NaiveDate) -> Result<TestRecord, Box<dyn Error>> {
    let years = 0.25 * f64::from(quarter);
    let level = 300.0 + 10.0 * f64::from(fan);
    let to_and_fro = if (quarter + fan).is_multiple_of(2) { 1.04 } else { 0.96 };
    let day = first.checked_add_days(Days::new(u64::from(91 * quarter))).ok_or("beyond the calendar")?;
    let resistance = Resistance::from_megohms(level * 10f64.powf(-loss * years) * to_and_fro)?;
    let test = TestRecord::builder(format!("fan {fan}"), TestedOn::day(day))
        .reading(Elapsed::from_seconds(60.0)?, Measured::Exact(resistance))
        .test_volts(Voltage::from_volts(500.0)?)
        .winding_temp(Temperature::from_celsius(40.0)?)
        .origin(Origin { input: 0, line: u64::from(quarter) + 1 });
    Ok(test.build()?)
}

fn main() -> Result<(), Box<dyn Error>> {
    let first = "2023-01-10".parse()?;
    let mut tests = Vec::new();
    let mut register = Register::new();
    for (fan, loss) in (1..).zip([0.0, 0.01, 0.005, 0.02, 0.3, 0.42]) {
        for quarter in 0..16 {
            tests.push(test(fan, quarter, loss, first)?);
        }
        let nameplate = Nameplate {
            construction: Some(Construction::RandomWound),
            insulation: Insulation::Thermosetting,
            rated_voltage: Some(Voltage::from_volts(400.0)?),
            group: Some("fans".to_owned()),
            ..Nameplate::default()
        };
        register.insert(format!("fan {fan}"), nameplate);
    }
    let terms =
        Terms { policy: Policy::default(), as_of: "2026-11-25".parse()?, confidence: Confidence::from_fraction(0.9)? };
    let mut judged =
        assess_fleet(Series::collect(tests), &register, &terms, &OnThreads, |judgement| judgement.assessment);
    judged.sort_by_key(|assessment| assessment.action);
    for assessment in &judged {
        let crossing = assessment.forecast.reaches_minimum.as_ref();
        let date = crossing.map_or_else(|| "no date".to_owned(), |dates| dates.in_words());
        println!("{:8} {}: reaches its minimum {date}", assessment.action.word(), assessment.winding);
    }
    assert_eq!(judged.len(), 6);
    assert_eq!(judged.iter().filter(|assessment| assessment.action == Action::Keep).count(), 4);
    Ok(())
}
