//! Reads a history with polars and does nothing with it: the time that everything else is measured against.
//!
//! ```text
//! cargo run --release -p groundwall-engine --example polars-read -- fleet.csv
//! ```
//!
//! All columns, the whole file at once, on as many threads as polars takes (`POLARS_MAX_THREADS`). Resistances are read as
//! text, because cells such as `>2000` are not numbers; the other types are polars' own guess.

#![allow(clippy::print_stdout, reason = "the counts are compared with those of the assessment")]

use std::error::Error;
use std::fs::File;
use std::io::{BufRead, BufReader};
use std::path::PathBuf;
use std::sync::Arc;

use polars::prelude::{CsvReadOptions, DataType, Field, Schema, SerReader};

fn main() -> Result<(), Box<dyn Error>> {
    let path: PathBuf = std::env::args_os().nth(1).ok_or("the history is missing: polars-read FILE")?.into();
    let mut header = String::new();
    BufReader::new(File::open(&path)?).read_line(&mut header)?;
    let resistances = header.trim_end().split(',').filter(|name| name.starts_with("r_"));
    let as_text: Schema = resistances.map(|name| Field::new(name.into(), DataType::String)).collect();
    let frame = CsvReadOptions::default()
        .with_has_header(true)
        .with_schema_overwrite(Some(Arc::new(as_text)))
        .try_into_reader_with_file_path(Some(path))?
        .finish()?;
    println!("{{\"rows\": {}, \"columns\": {}}}", frame.height(), frame.width());
    Ok(())
}
