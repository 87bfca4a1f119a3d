//! Inputs as they can be read once more, when the rows that contradict each other are looked up.

use super::delimited::Layout;
use super::document::Document;
use super::pieces::OpenText;
use super::pieces::{PIECE, Pieces};
use super::rows::Rows;
use groundwall::record::Origin;
use std::collections::BTreeSet;
use std::io::Read;

/// An input as it can be read once more, when contradicting rows are looked up.
pub(super) enum Body<'r> {
    Held(Document),
    Large(OpenText<'r>, Layout),
}

/// Visits all rows of these inputs once more, in order. An input that can no longer be read has none.
pub(super) fn for_each_row(bodies: &[Body<'_>], inputs: &BTreeSet<u32>, visit: &mut dyn FnMut(Origin, &[u8])) {
    for (input, body) in (0..).zip(bodies).filter(|(input, _)| inputs.contains(input)) {
        match body {
            Body::Held(document) => {
                let pieces = Pieces::new(document.bare(), document.layout.delimiter, PIECE);
                visit_rows(pieces, document.layout.delimiter, &mut |line, raw| {
                    visit(Origin { input, line: document.line(line) }, raw);
                });
            }
            Body::Large(open, layout) => {
                if let Ok(text) = open() {
                    let pieces = Pieces::new(text, layout.delimiter, PIECE);
                    visit_rows(pieces, layout.delimiter, &mut |line, raw| visit(Origin { input, line }, raw));
                }
            }
        }
    }
}

fn visit_rows<R: Read>(mut pieces: Pieces<R>, delimiter: u8, visit: &mut dyn FnMut(u64, &[u8])) {
    while let Ok(Some(piece)) = pieces.next_piece() {
        let mut rows = Rows::new(&piece.text, delimiter, piece.line);
        while let Some(row) = rows.next_row() {
            visit(row.line, row.raw);
        }
    }
}
