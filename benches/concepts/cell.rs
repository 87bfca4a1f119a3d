//! The grammar of a resistance cell.

use std::error::Error;

use groundwall::resistance::{Bound, CellRules};

use crate::rounds;

/// What was read: cells that are exact, cells that are bounds, the sum of their kilohms.
#[derive(Debug, PartialEq)]
struct Read {
    exact: usize,
    bounds: usize,
    kilohms: u64,
}

/// Bare numbers, numbers with units, and bounds, in three lengths of a column.
pub(crate) fn time() -> Result<(), Box<dyn Error>> {
    // Four cells of each kind and what they come to, kΩ.
    let kinds: [(&str, [&str; 4], usize, u64); 3] = [
        ("bare", ["412", "38.5", "1250", "0.87"], 4, 1_701_370),
        ("with a unit", ["412 MΩ", "1.25 GΩ", "850k", "2.5M"], 4, 1_665_350),
        ("bounds", [">2000", "> 2 GΩ", "<0.1", ">5000"], 0, 9_000_100),
    ];
    for (kind, cells, exact, kilohms) in kinds {
        for number in [1_000, 10_000, 100_000] {
            let column: Vec<String> = cells.iter().cycle().take(number).map(|cell| (*cell).to_owned()).collect();
            let fours = number / cells.len();
            let expected =
                Read { exact: exact * fours, bounds: number - exact * fours, kilohms: kilohms * fours as u64 };
            rounds::line("cell", &format!("{number} cells, {kind}"), number, || (), |()| read(&column), &expected)?;
        }
    }
    Ok(())
}

fn read(column: &[String]) -> Read {
    let rules = CellRules::default();
    let mut read = Read { exact: 0, bounds: 0, kilohms: 0 };
    for value in column.iter().filter_map(|cell| rules.read(cell).ok().flatten()) {
        match value.bound() {
            Bound::Exact => read.exact += 1,
            Bound::Above | Bound::Below => read.bounds += 1,
        }
        read.kilohms += value.resistance().map_or(0, |r| (r.as_megohms() * 1e3).round() as u64);
    }
    read
}
