//! What a sheet becomes: a plain table, and the cells that belong to no test.

use crate::ingest::cell_place::CellPlace;
use groundwall::record::columns::Column;
use groundwall::record::validate::Fault;

/// A sheet as a plain table.
#[derive(Clone, Debug, PartialEq)]
pub struct Arranged {
    /// The plain table with its header.
    pub text: Vec<u8>,
    /// The cell that each row of the plain table comes from: that of its first reading.
    pub places: Vec<CellPlace>,
    /// Cells with a measurement that belongs to no test.
    pub unplaced: Vec<Unplaced>,
    /// Headers of columns that were not read.
    pub ignored: Vec<String>,
    /// Those of them that the site does not leave out.
    pub not_understood: Vec<String>,
    /// How many rows hold no test by what they say of themselves.
    pub not_done: u64,
    /// What its title may call the motor, where nothing says that it does.
    pub title_name: Option<String>,
    /// Sentences about how it was read.
    pub remarks: Vec<String>,
}

/// A cell with a measurement that is rejected.
#[derive(Clone, Debug, PartialEq)]
pub struct Unplaced {
    /// The cell.
    pub place: CellPlace,
    /// What it holds.
    pub text: String,
    /// Why it is rejected.
    pub fault: Fault,
    /// What is known of its test, where it may be a resistance.
    pub test: Option<KnownTest>,
}

/// What is known of the test that a rejected cell belongs to.
#[derive(Clone, Debug, PartialEq)]
pub struct KnownTest {
    /// The winding.
    pub winding: String,
    /// The date, in the plain form where it can be read.
    pub date: String,
    /// What the voltage was applied between, as written.
    pub connection: String,
    /// The column that the cell would stand in; none where its unit is not known.
    pub column: Option<Column>,
}
