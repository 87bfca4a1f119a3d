//! One winding's history: read from cells, judged, with the date on which its level reaches the minimum.
//!
//! ```text
//! cargo run --release -p groundwall --example one_winding
//! ```
#![allow(clippy::print_stdout, reason = "an example shows what it finds")]

use groundwall::assess::{Action, InTurn, Register, Terms, assess_fleet};
use groundwall::nameplate::{Construction, Insulation, Nameplate};
use groundwall::policy::Policy;
use groundwall::record::{
    Origin, TestRecord,
    columns::Column,
    validate::{Faults, TestRules},
};
use groundwall::series::Series;
use groundwall::units::{Confidence, Voltage};
use std::error::Error;

/// The invented history: day, one-minute resistance, winding temperature in °C, event.
const ROWS: [[&str; 4]; 9] = [
    ["2024-10-11", "180", "22", "cleaned"],
    ["2025-01-14", "131", "21", ""],
    ["2025-04-15", "97", "24", ""],
    ["2025-07-12", "66", "31", ""],
    ["2025-10-11", "63", "22", ""],
    ["2026-01-17", "47", "19", ""],
    ["2026-04-14", "31", "23", ""],
    ["2026-07-15", "22", "29", ""],
    ["2026-10-13", "17", "22", ""],
];

fn test(line: u64, row: [&str; 4]) -> Result<TestRecord, Faults> {
    let headers = ["tested_on", "r_60s", "winding_temp_c", "event"].into_iter().zip(row).chain([("winding", "A-212")]);
    let cells = headers.filter_map(|(header, text)| Some((Column::read(header)?, text)));
    TestRules::default().validate(cells, Origin { input: 0, line })
}

fn main() -> Result<(), Box<dyn Error>> {
    let tests = (1..).zip(ROWS).map(|(line, row)| test(line, row)).collect::<Result<Vec<_>, _>>()?;
    let plate = Nameplate {
        construction: Some(Construction::RandomWound),
        insulation: Insulation::Thermosetting,
        rated_voltage: Some(Voltage::from_volts(400.0)?),
        ..Nameplate::default()
    };
    let terms =
        Terms { policy: Policy::default(), as_of: "2026-11-25".parse()?, confidence: Confidence::from_fraction(0.9)? };
    let register = Register::from([("A-212".to_owned(), plate)]);
    let judged = assess_fleet(Series::collect(tests), &register, &terms, &InTurn, |judgement| judgement);
    let judgement = judged.first().ok_or("there is no series")?;

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
