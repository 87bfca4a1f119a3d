//! Times a piece of work in rounds and prints one line of a table; a result that is not the expected one ends the program.

use std::error::Error;
use std::fmt::Debug;
use std::hint::black_box;
use std::time::Instant;

/// Counted rounds; one before them is not counted.
const ROUNDS: usize = 15;

/// Prints the head of the table.
pub(crate) fn head() {
    println!("| concept | size | each, median | least to greatest |");
    println!("| --- | --- | --- | --- |");
}

/// Times `work`, which does `number` things a call, on a fresh `input` each round, and prints the line. The input is made
/// and the result dropped outside the time; every round's result must be `expected`.
pub(crate) fn line<I, R: PartialEq + Debug>(
    concept: &str,
    size: &str,
    number: usize,
    input: impl Fn() -> I,
    work: impl Fn(I) -> R,
    expected: &R,
) -> Result<(), Box<dyn Error>> {
    let mut each = Vec::with_capacity(ROUNDS);
    for round in 0..=ROUNDS {
        let given = black_box(input());
        let start = Instant::now();
        let result = black_box(work(given));
        let nanos = start.elapsed().as_secs_f64() * 1e9 / number as f64;
        if result != *expected {
            return Err(format!("{concept}, {size}: the result is {result:?}; it must be {expected:?}").into());
        }
        if round > 0 {
            each.push(nanos);
        }
    }
    each.sort_by(f64::total_cmp);
    let [least, median, greatest] = [0, ROUNDS / 2, ROUNDS - 1].map(|i| in_words(each[i]));
    println!("| {concept} | {size} | {median} | {least} to {greatest} |");
    Ok(())
}

/// Nanoseconds in the unit that people would choose.
fn in_words(nanos: f64) -> String {
    match nanos {
        n if n < 1e3 => format!("{n:.1} ns"),
        n if n < 1e6 => format!("{:.1} µs", n / 1e3),
        n => format!("{:.2} ms", n / 1e6),
    }
}
