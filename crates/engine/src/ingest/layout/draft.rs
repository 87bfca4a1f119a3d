//! A test of a sheet being put together.

use super::label::Stage;
use super::texts::TextId;
use crate::ingest::cell_place::CellPlace;
use groundwall::record::columns::Column;
use std::borrow::Cow;

/// What tells one test of a sheet from another.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) struct Key {
    pub(super) winding: TextId,
    /// As written, or the day alone where measuring points of a day are one test.
    pub(super) date: TextId,
    pub(super) order: TextId,
    pub(super) connection: TextId,
    pub(super) stage: u8,
}

/// A test being put together.
#[derive(Clone, Debug)]
pub(super) struct Test<'a> {
    pub(super) key: Key,
    /// As written in its first cell.
    pub(super) date: TextId,
    pub(super) stage: Option<Stage>,
    pub(super) cells: Cells<'a>,
    /// Its first cell.
    pub(super) place: CellPlace,
    pub(super) has_reading: bool,
}

/// The cells of a test, a few: found by looking through them.
#[derive(Clone, Debug, Default)]
pub(super) struct Cells<'a>(Vec<(Column, Cow<'a, str>)>);

impl<'a> Cells<'a> {
    /// The columns.
    pub(super) fn columns(&self) -> impl Iterator<Item = Column> {
        self.0.iter().map(|(column, _)| *column)
    }

    pub(super) fn get(&self, column: Column) -> Option<&str> {
        self.0.iter().find(|(own, _)| *own == column).map(|(_, text)| &**text)
    }

    /// Adds a cell of a column that has none yet.
    pub(super) fn add(&mut self, column: Column, text: impl Into<Cow<'a, str>>) {
        // Most tests have one or two cells, and there may be a great many tests.
        self.0.reserve_exact(1);
        self.0.push((column, text.into()));
    }

    /// Puts a cell beside what is there: notes are joined, of two temperatures the lower is taken, which corrects to the lower
    /// resistance.
    pub(super) fn put(&mut self, column: Column, text: &'a str) {
        let Some((_, earlier)) = self.0.iter_mut().find(|(own, _)| *own == column) else {
            return self.add(column, text);
        };
        let number = |text: &str| text.trim().replace(',', ".").parse::<f64>().ok();
        match column {
            Column::Note if earlier != text => *earlier = format!("{earlier}; {text}").into(),
            Column::WindingTemp(_) | Column::AirTemp(_) if number(text) < number(earlier) => *earlier = text.into(),
            _ => {}
        }
    }
}
