//! Microseconds that one series costs, with every answer that an assessment asks of it.
//!
//! ```text
//! cargo run --release -p groundwall --example trend-timing
//! ```
//!
//! Each row: the median of seven rounds over 200 series of that size (fewer where they are long), with the least and the
//! greatest round. What is timed is checked: an answer that is not finite ends the program.

#![allow(clippy::print_stdout, reason = "the table is what this program is for")]

use groundwall::trend::{NoiseWeights, Priors, Reading, Side, Stretch, StretchFit, Summary, solve};
use std::time::Instant;

/// Series of a round, and the most readings that they have together.
const SERIES: usize = 200;
const MOST_READINGS: usize = 200_000;
/// From so many readings on the tests are hourly instead of quarterly.
const HOURLY_FROM: usize = 1000;
const ROUNDS: usize = 7;
const MINIMUM: f64 = 0.7;

/// A series of quarterly or hourly tests; with `bounds` the earlier half is beyond the scale.
fn stretch(n: usize, seed: u64, bounds: bool) -> Result<Stretch, groundwall::trend::StretchError> {
    let mut state = seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1;
    let mut next = || {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state >> 11) as f64 / (1u64 << 53) as f64
    };
    let slope = -0.05 - 0.3 * next();
    let step = if n < HOURLY_FROM { 0.25 } else { 1.0 / 8766.0 };
    let readings = (0..n).map(|k| {
        let t = -step * (n - 1 - k) as f64 - 0.1;
        let noise: f64 = (0..6).map(|_| next() - 0.5).sum::<f64>() * 0.11;
        let above = bounds && k < n / 2;
        Reading {
            years_from_as_of: t,
            log10_mohm: if above { 2.0 } else { 1.6 + slope * t.max(-20.0) + noise },
            side: if above { Side::Above } else { Side::Exact },
            winding_temp_c: Some(18.0 + 25.0 * next()),
            extra_variance: 0.0,
        }
    });
    Stretch::new(readings.collect())
}

/// Everything that an assessment asks.
fn ask(fit: &StretchFit) -> f64 {
    let mut approach = fit.approach(MINIMUM);
    let crossing = approach.crossing(0.9);
    let dates = [crossing.earliest, crossing.median, crossing.latest].into_iter().flatten().sum::<f64>();
    let probabilities = [0.0, 0.25, 1.0, 3.0].map(|x| approach.p_below(x)).iter().sum::<f64>();
    let safe = approach.quantile(0.05).unwrap_or(0.0);
    dates + probabilities + safe + fit.p_falling() + fit.slope(0.9).median + fit.median_level_now()
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
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
            let sum: f64 = fits.iter().map(ask).sum();
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
