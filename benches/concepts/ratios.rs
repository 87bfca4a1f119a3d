//! Polarization index, absorption ratio and the absorption curve of a test.

use std::error::Error;

use groundwall::absorption::{absorption_curve, absorption_ratio, polarization_index};
use groundwall::resistance::{Measured, TimedReading};
use groundwall::units::{Elapsed, Resistance};

use crate::rounds;

/// Tests of one kind and size.
const TESTS: usize = 2_000;
/// Exponent of the absorption that the readings are made with.
const EXPONENT: f64 = 0.8;

/// Tests with three, six and thirteen timed readings, which fall as t^−0.8 beside a leakage.
pub(crate) fn time() -> Result<(), Box<dyn Error>> {
    let thirteen = [15.0, 30.0, 45.0, 60.0, 120.0, 180.0, 240.0, 300.0, 360.0, 420.0, 480.0, 540.0, 600.0];
    let six = [15.0, 30.0, 60.0, 120.0, 300.0, 600.0];
    let three = [30.0, 60.0, 600.0];
    for times in [&three[..], &six, &thirteen] {
        let readings = times.iter().map(|seconds| reading(*seconds)).collect::<Result<Vec<_>, _>>()?;
        let (pi, dar) = (megohms(600.0) / megohms(60.0), megohms(60.0) / megohms(30.0));
        let found = |tests: Vec<Vec<TimedReading>>| {
            let right = |readings: &Vec<TimedReading>| {
                let close = |ratio: Option<f64>, truth: f64| ratio.is_some_and(|r| (r / truth - 1.0).abs() < 1e-9);
                // The law has two unknowns beside the leakage: from four readings on it is found exactly.
                let exponent = absorption_curve(readings).map(|curve| curve.exponent);
                close(polarization_index(readings).map(|r| r.value), pi)
                    && close(absorption_ratio(readings).map(|r| r.value), dar)
                    && exponent.is_some_and(|n| readings.len() < 4 || (n - EXPONENT).abs() < 1e-3)
            };
            tests.iter().filter(|readings| right(readings)).count()
        };
        let size = format!("{} timed readings", times.len());
        rounds::line("ratios and curve", &size, TESTS, || vec![readings.clone(); TESTS], found, &TESTS)?;
    }
    Ok(())
}

/// Resistance after so many seconds: leakage of 1 GΩ beside an absorption that passes as much as 400 MΩ at one minute.
fn megohms(seconds: f64) -> f64 {
    1.0 / (1.0 / 1000.0 + (seconds / 60.0).powf(-EXPONENT) / 400.0)
}

fn reading(seconds: f64) -> Result<TimedReading, groundwall::units::OutOfRange> {
    Ok(TimedReading {
        elapsed: Elapsed::from_seconds(seconds)?,
        value: Measured::Exact(Resistance::from_megohms(megohms(seconds))?),
    })
}
