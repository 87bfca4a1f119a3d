//! The plain least-squares line that a spreadsheet would draw: exact readings only, over-range dropped.

use crate::assess::Judgement;
use crate::resistance::Measured;
use crate::stats::interval::Interval;
use crate::stats::least_squares::{self, Intercept};

/// What the line says of one more reading.
pub(super) struct LineForecast {
    pub(super) middle: f64,
    pub(super) interval: Interval,
}

/// The forecast of the line through the stretch's exact readings; none with fewer than three at different times.
pub(super) fn forecast(judgement: &Judgement, years: f64, confidence: f64) -> Option<LineForecast> {
    let (mut times, mut levels) = (Vec::new(), Vec::new());
    for test in judgement.tests.iter().filter(|test| test.left_out.is_none()) {
        if let Some(Measured::Exact(r)) = test.corrected {
            times.push(test.tested_on.years_since(judgement.as_of));
            levels.push(r.log10_megohms());
        }
    }
    let fit = least_squares::fit(&[&times], &levels, None, Intercept::Fitted).ok()?;
    let said = fit.predict(&[years], 1.0, confidence).ok()?;
    Some(LineForecast { middle: said.mean, interval: said.reading_interval })
}
