//! Invents a fleet of any size: a history, and its register.
//!
//! ```text
//! cargo run --release -p groundwall --example make-fleet -- --windings 250000 --tests 40 --out fleet.csv --register register.csv
//! cargo run --release -p groundwall --example make-fleet -- --windings 10 --tests 100000 --every hour --out long.csv
//! ```
//!
//! Every winding is invented: most are steady, some decline, a few fail; some are cleaned, some read over the end of the
//! tester's scale. A row depends on the seed, the winding and the test alone, so that the order of the rows changes nothing
//! else. The same options give the same bytes on the same system. Nothing here uses the library: what is generated must
//! not depend on what judges it.

#![allow(clippy::print_stderr, reason = "how large the files became is said beside them")]

#[path = "../dice.rs"]
mod dice;
mod groups;
mod life;
mod options;
mod row;
mod winding;

use std::error::Error;
use std::fs::File;
use std::io::{BufWriter, Write};
use std::time::Instant;

use dice::Dice;
use options::{Options, Order};
use winding::Winding;

/// Bytes gathered before the file is written to.
const BUFFER: usize = 1 << 20;

fn main() -> Result<(), Box<dyn Error>> {
    let options = Options::read(std::env::args().skip(1))?;
    let start = Instant::now();
    let mut dice = Dice::new(options.seed, 0);
    let fleet: Vec<Winding> = (0..options.windings).map(|number| Winding::new(number, &options, &mut dice)).collect();
    if let Some(path) = &options.register {
        let mut out = BufWriter::with_capacity(BUFFER, File::create(path)?);
        out.write_all(winding::REGISTER_HEADER)?;
        for winding in &fleet {
            winding.write_nameplate(&mut out)?;
        }
        out.flush()?;
    }
    let mut out = BufWriter::with_capacity(BUFFER, File::create(&options.out)?);
    out.write_all(row::HEADER)?;
    match options.order {
        Order::Winding => {
            for winding in &fleet {
                for test in 0..options.tests {
                    row::write(&mut out, winding, test, &options, &mut dice)?;
                }
            }
        }
        Order::Round => {
            for test in 0..options.tests {
                for winding in &fleet {
                    row::write(&mut out, winding, test, &options, &mut dice)?;
                }
            }
        }
    }
    out.flush()?;
    let (rows, bytes) = (options.windings * options.tests, out.get_ref().metadata()?.len());
    eprintln!(
        "{rows} rows of {} windings, {bytes} bytes, {:.1} a row, in {:.1} s",
        options.windings,
        bytes as f64 / rows as f64,
        start.elapsed().as_secs_f64()
    );
    Ok(())
}
