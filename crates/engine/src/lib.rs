//! The engine of groundwall: bytes in, bytes out.
//!
//! [`ingest`] turns the bytes of histories and registers into tests, and accounts for every row; [`fleet`] judges them by
//! [`groundwall`]; [`output`], [`chart`], [`report`] and [`page`] write results, [`compare`] compares two of them, [`master`] adds tests to a history.
//! There is no file, no clock and no terminal in here, and no C, so the command line, a page in a browser and other programs
//! all call the same code. What stops a run is an [`error::Failure`].
//!
//! # Features
//!
//! `frames` (off by default, because polars takes most of a build): the module `frames` takes histories as polars frames and
//! gives results as frames, for notebooks and pipelines.
//!
//! `arrow` (off by default): histories and registers from Arrow tables in memory, results as Arrow tables.
//!
//! `parquet` (off by default; includes `arrow`): Parquet and Arrow files are read, and results are written as such.

pub mod calculators;
pub mod cautions;
pub mod chart;
pub mod compare;
pub mod digest;
pub mod error;
pub mod file_name;
pub mod fleet;
#[cfg(feature = "frames")]
pub mod frames;
pub mod ingest;
pub mod legible;
pub mod master;
pub mod output;
pub mod page;
pub mod pdf;
pub mod policy_file;
pub mod priors;
pub mod program;
pub mod report;
pub mod similar;
pub mod site;
pub mod spread;
pub mod summary;
pub mod values;
