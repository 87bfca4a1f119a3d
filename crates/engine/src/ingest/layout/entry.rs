//! A cell with something measured.

use super::label::Stage;
use super::texts::TextId;
use crate::ingest::cell_place::CellPlace;
use groundwall::record::columns::Column;

/// A cell with something measured, and what is known of it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Entry<'a> {
    pub(super) winding: TextId,
    pub(super) date: TextId,
    pub(super) order: TextId,
    pub(super) connection: TextId,
    pub(super) stage: Option<Stage>,
    pub(super) column: Column,
    pub(super) text: &'a str,
    pub(super) place: CellPlace,
    /// The tests it applies to.
    pub(super) of: Of,
}

/// Of which tests a cell is said that is no reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Of {
    /// Of its own test.
    Test,
    /// Of all tests of its row.
    Row,
    /// Of all windings tested on its date, as the air temperature of a round is.
    Round,
}
