//! One door for histories: files in, tests out, and a ledger in which every row of every file is found again.
//!
//! Accepted, repeated and rejected rows always add up to the rows read, per file. A file that cannot be read as a history
//! at all stops the run; a row that cannot be read never does.

pub mod aliases;
#[cfg(feature = "arrow")]
pub mod arrow;
mod body;
pub mod bound_column;
pub mod cell_place;
pub mod cells;
pub mod columnar;
pub mod columns;
mod comments;
pub mod compound;
pub mod date_forms;
pub mod dates;
mod day_ranges;
pub mod delimited;
pub mod description;
pub mod document;
pub mod encoding;
pub mod exchanged;
pub mod free_form;
pub mod given;
mod header_words;
pub mod ingested;
pub mod joined;
pub(crate) mod kinds;
pub mod layout;
pub mod ledger;
mod likely;
pub mod mapping;
pub mod marks;
mod names;
mod no_tests;
mod number_formats;
mod open_document;
pub mod opening;
pub mod piece;
pub mod piece_rules;
pub mod pieces;
mod places;
mod reading;
mod reading_rules;
pub mod reasons;
pub mod records;
pub mod register;
mod register_columns;
mod register_heading;
pub mod rejections;
mod remarks;
pub mod repeats;
pub mod rewrite;
mod row_fault;
pub mod rows;
mod said_beside;
pub mod said_unit;
pub mod sample;
pub mod sheet;
pub mod sheet_choice;
mod sheet_grid;
pub mod source;
pub mod suggest;
pub mod timed;
mod trouble;
pub mod unit;
pub mod unit_column;
pub mod unpack;
mod verdicts;
pub mod workbook;
mod written;
mod xml_attributes;
mod xml_cells;
mod xml_parts;
pub use ingested::{Ingested, InputLedger};
pub use reading::{Halted, Reading};
pub use reading_rules::ReadingRules;
pub use rejections::{Rejection, Rejections};
pub use row_fault::{RowFault, WHOLE_ROW};

#[cfg(test)]
#[path = "tests.rs"]
mod tests;
