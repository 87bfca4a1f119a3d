//! How messages call a sheet.

use crate::ingest::document::Document;

/// What a sheet is called, and whether its workbook has others.
#[derive(Clone, Copy, Debug)]
pub struct SheetName<'a> {
    /// The name in messages.
    pub place: &'a str,
    /// The name of the sheet.
    pub sheet: Option<&'a str>,
    /// Whether there are other sheets.
    pub several: bool,
}

impl<'a> SheetName<'a> {
    /// The name of a sheet alone.
    #[must_use]
    pub fn of(document: &'a Document, place: &'a str) -> Self {
        Self { place, sheet: document.sheet.as_deref(), several: false }
    }
}
