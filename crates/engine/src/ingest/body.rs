//! Inputs as they can be read once more, when the rows that contradict each other are looked up.

use super::delimited::Layout;
use super::document::Document;
use super::pieces::{PIECE, Pieces};
use super::rows::Rows;
use super::source::OpenText;
use groundwall::record::Origin;
use std::collections::{BTreeMap, BTreeSet};
use std::io::Read;

/// An input as it can be read once more, when contradicting rows are looked up.
pub(super) enum Body<'r> {
    Held(Document),
    Large(OpenText<'r>, Layout),
}

/// Rows as they stand in their files, looked up again.
pub(super) fn raw_rows(bodies: &[Body<'_>], wanted: &BTreeSet<Origin>) -> BTreeMap<Origin, Box<[u8]>> {
    let mut found = BTreeMap::new();
    for (input, body) in (0..).zip(bodies) {
        if !wanted.iter().any(|origin| origin.input == input) {
            continue;
        }
        match body {
            Body::Held(document) => {
                let pieces = Pieces::new(document.bare(), document.layout.delimiter, PIECE);
                look_up(pieces, document.layout.delimiter, input, &|line| document.line(line), wanted, &mut found);
            }
            Body::Large(open, layout) => {
                if let Ok(text) = open() {
                    let pieces = Pieces::new(text, layout.delimiter, PIECE);
                    look_up(pieces, layout.delimiter, input, &|line| line, wanted, &mut found);
                }
            }
        }
    }
    found
}

fn look_up<R: Read>(
    mut pieces: Pieces<R>,
    delimiter: u8,
    input: u32,
    place: &dyn Fn(u64) -> u64,
    wanted: &BTreeSet<Origin>,
    found: &mut BTreeMap<Origin, Box<[u8]>>,
) {
    while let Ok(Some(piece)) = pieces.next_piece() {
        let mut rows = Rows::new(&piece.text, delimiter, piece.line);
        while let Some(row) = rows.next_row() {
            let origin = Origin { input, line: place(row.line) };
            if wanted.contains(&origin) {
                found.insert(origin, row.raw.into());
            }
        }
    }
}
