//! One winding's history: built from numbers, judged, with the date on which its level reaches the minimum.
//!
//! ```text
//! cargo run --release -p groundwall --example one_winding
//! ```
#![allow(clippy::print_stdout, reason = "an example shows what it finds")]

use groundwall::prelude::*;
use std::error::Error;

/// The invented history: day, one-minute resistance in MΩ, winding temperature in °C. It was cleaned before the first test.
const ROWS: [(&str, f64, f64); 9] = [
    ("2024-10-11", 180.0, 22.0),
    ("2025-01-14", 131.0, 21.0),
    ("2025-04-15", 97.0, 24.0),
    ("2025-07-12", 66.0, 31.0),
    ("2025-10-11", 63.0, 22.0),
    ("2026-01-17", 47.0, 19.0),
    ("2026-04-14", 31.0, 23.0),
    ("2026-07-15", 22.0, 29.0),
    ("2026-10-13", 17.0, 22.0),
];

fn test(row: usize, (day, megohms, celsius): (&str, f64, f64)) -> Result<TestRecord, Box<dyn Error>> {
    let test = TestRecord::builder("A-212", TestedOn::day(day.parse()?))
        .reading(Elapsed::from_seconds(60.0)?, Measured::Exact(Resistance::from_megohms(megohms)?))
        .winding_temp(Temperature::from_celsius(celsius)?)
        .event((row == 0).then_some(Event::Cleaned));
    Ok(test.build()?)
}

fn main() -> Result<(), Box<dyn Error>> {
    let tests = ROWS.into_iter().enumerate().map(|(i, row)| test(i, row)).collect::<Result<Vec<_>, _>>()?;
    let nameplate = Nameplate {
        construction: Some(Construction::RandomWound),
        insulation: Insulation::Thermosetting,
        rated_voltage: Some(Voltage::from_volts(400.0)?),
        ..Nameplate::default()
    };
    let terms =
        Terms { policy: Policy::default(), as_of: "2026-11-25".parse()?, confidence: Confidence::from_fraction(0.9)? };
    let series = Series::collect(tests);
    let judgement = assess(series.first().ok_or("there is no series")?, &nameplate, &terms);

    let assessment = &judgement.assessment;
    println!("{}: {}, {}", assessment.winding, assessment.action, assessment.action.meaning());
    for finding in &assessment.findings {
        println!("  {}: {}", finding.code, finding.message);
    }
    if let Some(level) = judgement.level_at(terms.as_of) {
        println!("  level today {} ({} to {})", level.median, level.low, level.high);
    }
    println!("  next test by {}: {}", assessment.next_test.by, assessment.next_test.why);
    assert_eq!(assessment.action, Action::Plan);
    Ok(())
}
