//! A register to be filled in: the names of all windings that were tested, and the columns that every judgement asks for.

use super::csv::{kept_whole, reason};
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
    writer.write_record(COLUMNS).map_err(reason)?;
    for winding in ingested.series.windings().collect::<BTreeSet<_>>() {
        let name = kept_whole(winding);
        let mut row = [""; COLUMNS.len()];
        row[0] = &name;
        writer.write_record(row).map_err(reason)?;
    }
    writer.flush()
}
