//! A register to be filled in: the names of all windings that were tested, and the columns that every judgement asks for.

use crate::ingest::Ingested;
use std::collections::BTreeSet;
use std::io::{self, Write};

const COLUMNS: [&str; 6] = ["winding", "rated_volts", "construction", "insulation", "year_made", "interval_days"];

/// Writes the register.
///
/// # Errors
///
/// Whatever the writer says.
pub fn write(out: &mut dyn Write, ingested: &Ingested) -> io::Result<()> {
    let mut writer = csv::Writer::from_writer(out);
    writer.write_record(COLUMNS)?;
    let mut row = [""; COLUMNS.len()];
    for winding in ingested.series.windings().collect::<BTreeSet<_>>() {
        row[0] = winding;
        writer.write_record(row)?;
    }
    writer.flush()
}
