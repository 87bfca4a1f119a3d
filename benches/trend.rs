//! Microseconds that one series costs, with every answer that an assessment asks of it.
//!
//! ```text
//! cargo run --release -p groundwall --example trend-timing
//! ```
//!
//! Each row: the median of seven rounds over 200 series of that size (fewer where they are long), with the least and the
//! greatest round. What is timed is checked: an answer that is not finite ends the program.

#![allow(clippy::print_stdout, reason = "the table is what this program is for")]

mod dice;

use dice::Dice;
use groundwall::resistance::Bound;
use groundwall::trend::{NoiseWeights, Priors, Reading, Stretch, StretchFit, Summary, solve};
use groundwall::units::{Confidence, Probability, Resistance, TemperatureDifference, Years};
use std::error::Error;
use std::time::Instant;

/// Series of a round, and the most readings that they have together.
const SERIES: usize = 200;
const MOST_READINGS: usize = 200_000;
/// From so many readings on the tests are hourly instead of quarterly.
const HOURLY_FROM: usize = 1000;
const ROUNDS: usize = 7;
/// log10 MΩ.
const MINIMUM: f64 = 0.7;

/// A series of quarterly or hourly tests; with `bounds` the earlier half is beyond the scale.
fn stretch(n: usize, seed: u64, bounds: bool) -> Result<Stretch, Box<dyn Error>> {
    let mut dice = Dice::new(1, seed);
    let slope = -0.05 - 0.3 * dice.uniform();
    let step = if n < HOURLY_FROM { 0.25 } else { 1.0 / 8766.0 };
    let readings = (0..n).map(|k| {
        let t = -step * (n - 1 - k) as f64 - 0.1;
        let noise = 0.08 * dice.normal();
        let above = bounds && k < n / 2;
        let log10 = if above { 2.0 } else { 1.6 + slope * t.max(-20.0) + noise };
        let bound = if above { Bound::Above } else { Bound::Exact };
        let above_reference = TemperatureDifference::from_kelvins(25.0 * dice.uniform() - 22.0)?;
        let reading = Reading::new(Years::from_years(t)?, bound, Resistance::from_log10_megohms(log10));
        Ok::<_, Box<dyn Error>>(reading.at_temperature(above_reference))
    });
    Ok(Stretch::new(readings.collect::<Result<_, _>>()?)?)
}

/// Everything that an assessment asks.
fn ask(fit: &StretchFit) -> Result<f64, Box<dyn Error>> {
    let mut approach = fit.approach(Resistance::from_log10_megohms(MINIMUM));
    let confidence = Confidence::from_fraction(0.9)?;
    let crossing = approach.crossing(confidence);
    let dates = [crossing.earliest, crossing.median, crossing.latest].into_iter().flatten();
    let mut sum = dates.map(Years::as_years).sum::<f64>();
    for years in [0.0, 0.25, 1.0, 3.0] {
        sum += approach.p_below(Years::from_years(years)?).as_fraction();
    }
    sum += approach.quantile(Probability::from_fraction(0.05)?).map_or(0.0, Years::as_years);
    sum += fit.p_falling().as_fraction() + fit.slope(confidence).median.as_decades_per_year();
    Ok(sum + fit.median_level_now().log10_megohms())
}

fn main() -> Result<(), Box<dyn Error>> {
    println!("| readings | teach the group | solve and average | every answer | all together | least to greatest |");
    println!("| --- | --- | --- | --- | --- | --- |");
    let sizes = [(12, false), (40, false), (40, true), (160, false), (640, false), (10_000, false), (100_000, false)];
    for (n, bounds) in sizes {
        let series = SERIES.min(MOST_READINGS / n);
        let stretches: Vec<Stretch> =
            (0..series as u64).map(|seed| stretch(n, seed + 1, bounds)).collect::<Result<_, _>>()?;
        let (priors, weights) = (Priors::default(), NoiseWeights::default());
        let mut rounds = Vec::new();
        for _ in 0..ROUNDS {
            let start = Instant::now();
            let taught = stretches.iter().filter_map(Summary::of).count();
            let teach = start.elapsed();
            let fits: Vec<StretchFit> = stretches.iter().map(|s| solve(s, &priors).average(&weights)).collect();
            let solved = start.elapsed();
            let sum = fits.iter().map(ask).sum::<Result<f64, _>>()?;
            let asked = start.elapsed();
            if taught == 0 || !sum.is_finite() {
                return Err("an answer is not finite".into());
            }
            let micros = |d: std::time::Duration| d.as_secs_f64() * 1e6 / series as f64;
            rounds.push([micros(asked), micros(teach), micros(solved - teach), micros(asked - solved)]);
        }
        rounds.sort_by(|a, b| a[0].total_cmp(&b[0]));
        let [all, teach, solve, ask] = rounds[ROUNDS / 2];
        let (least, greatest) = (rounds[0][0], rounds[ROUNDS - 1][0]);
        let what = if bounds { ", half of them bounds" } else { "" };
        println!("| {n}{what} | {teach:.1} | {solve:.1} | {ask:.1} | {all:.1} µs | {least:.1} to {greatest:.1} |");
    }
    Ok(())
}
