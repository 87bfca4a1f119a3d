//! Histories as they are given: bytes, files that are read whole or in chunks, tables of cells.

use super::cells::CellTable;
use super::pieces::OpenText;
use super::{Halted, Ingested, Reading, ReadingRules};
use crate::error::Failure;
use std::sync::Arc;

/// One history, with the name that messages give it.
pub struct Given<'g> {
    /// Its name.
    pub name: String,
    /// What is read.
    pub content: Content<'g>,
}

/// What is read of a history.
pub enum Content<'g> {
    /// Bytes that can be had once, or why they could not.
    Bytes(Result<Vec<u8>, Failure>),
    /// Bytes that can be had again.
    Whole(Box<dyn Fn() -> Result<Vec<u8>, Failure> + 'g>),
    /// Plain text that is to be read in chunks, and the same bytes whole if its encoding or its layout can be told only from all
    /// of it.
    Chunks(Box<dyn Fn() -> OpenText<'g> + 'g>, Box<dyn Fn() -> Result<Vec<u8>, Failure> + 'g>),
    /// A table of cells.
    Cells(Arc<dyn CellTable>),
}

/// Reads all histories.
///
/// # Errors
///
/// A [`Failure`] with the problems of every one that cannot be read as a history.
pub fn ingest<'g>(given: &[Given<'g>], rules: &'g ReadingRules) -> Result<Ingested, Failure> {
    let mut whole = vec![false; given.len()];
    'again: loop {
        let mut reading = Reading::new(rules);
        let mut failure: Option<Failure> = None;
        for (i, Given { name, content }) in given.iter().enumerate() {
            let outcome = match content {
                Content::Bytes(bytes) => bytes.clone().and_then(|bytes| reading.add(name, bytes)),
                Content::Chunks(open, _) if !whole[i] => match reading.add_large(name, open()) {
                    Err(Halted::NotPlain) => {
                        whole[i] = true;
                        continue 'again;
                    }
                    Err(Halted::Failed(failure)) => Err(failure),
                    Ok(()) => Ok(()),
                },
                Content::Chunks(_, read) | Content::Whole(read) => read().and_then(|bytes| reading.add(name, bytes)),
                Content::Cells(table) => reading.add_cells(name, table),
            };
            if let Err(new) = outcome {
                failure = Some(match failure {
                    Some(earlier) => earlier.and(new),
                    None => new,
                });
            }
        }
        return failure.map_or_else(|| Ok(reading.finish()), Err);
    }
}
