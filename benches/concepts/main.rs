//! What each step between a cell and a judgement costs on one core.
//!
//! ```text
//! cargo run --release -p groundwall --example concept-timing
//! ```
//!
//! Median of fifteen rounds, with the least and the greatest; every result is checked.

#![allow(clippy::print_stdout, reason = "the table is what this program is for")]

mod cell;
mod correction;
#[path = "../dice.rs"]
mod dice;
mod ratios;
#[path = "../rounds.rs"]
mod rounds;
mod row;
mod series;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    rounds::head();
    cell::time()?;
    row::time()?;
    correction::time()?;
    ratios::time()?;
    series::time()
}
