//! One row of a history, validated.

use std::error::Error;

use groundwall::record::Origin;
use groundwall::record::columns::Column;
use groundwall::record::validate::TestRules;

use crate::rounds;

const HEADERS: [&str; 10] = [
    "winding",
    "tested_on",
    "connection",
    "test_volts",
    "r_30s",
    "r_60s",
    "winding_temp_c",
    "air_temp_c",
    "rh_percent",
    "instrument",
];

/// Rows as a history has them, every hundredth with a negative resistance.
pub(crate) fn time() -> Result<(), Box<dyn Error>> {
    let columns = HEADERS
        .iter()
        .map(|header| Column::read(header).ok_or(format!("{header} is no column")))
        .collect::<Result<Vec<_>, _>>()?;
    let rules = TestRules::default();
    for number in [1_000, 10_000, 100_000] {
        let rows: Vec<[String; 10]> = (0..number).map(row).collect();
        let validate = |()| {
            let (mut tests, mut faults) = (0, 0);
            for cells in &rows {
                let cells = columns.iter().copied().zip(cells.iter().map(String::as_str));
                match rules.validate(cells, Origin::default()) {
                    Ok(test) => tests += test.readings().len(),
                    Err(found) => faults += found.len(),
                }
            }
            (tests, faults)
        };
        let wrong = number / 100;
        rounds::line("row", &format!("{number} rows"), number, || (), validate, &(2 * (number - wrong), wrong))?;
    }
    Ok(())
}

fn row(i: usize) -> [String; 10] {
    let sign = if i % 100 == 99 { "-" } else { "" };
    [
        format!("M-{:06}", i / 40),
        format!("{}-{:02}-{:02}", 2017 + i % 10, 1 + i % 12, 1 + i % 28),
        "all-earth".to_owned(),
        "500".to_owned(),
        format!("{}", 200 + i % 150),
        format!("{sign}{}", 300 + i % 150),
        format!("{}.{}", 10 + i % 25, i % 10),
        format!("{}", 5 + i % 20),
        format!("{}", 40 + i % 40),
        format!("tester {}", i % 24),
    ]
}
