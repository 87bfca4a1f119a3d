//! Text in pieces that begin and end with rows, so that several can be read at once and a file need never be held whole.

use super::delimited::BOM;
use super::rows::{LONGEST_QUOTED, cut, line_ends};
use sha2::{Digest, Sha256};
use std::io::{self, Read};

/// Bytes of a piece. Any size gives the same rows; this one keeps two cores busy and the pages of one piece in reach.
pub const PIECE: usize = 1 << 21;

/// No row of a table has so many bytes.
const LONGEST_ROW: usize = 1 << 26;

/// Opens a text from its start, as often as needed.
pub type OpenText<'r> = Box<dyn Fn() -> io::Result<Box<dyn Read + Send>> + Send + 'r>;

/// A piece of a text.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// Its bytes: whole rows.
    pub text: Vec<u8>,
    /// Line of the text on which it begins, from one.
    pub line: u64,
}

/// The pieces of a text, in order.
pub struct Pieces<R> {
    text: R,
    delimiter: u8,
    size: usize,
    /// Read, but not yet given.
    ahead: Vec<u8>,
    line: u64,
    ended: bool,
    begun: bool,
    digest: Sha256,
}

impl<R: Read> Pieces<R> {
    /// The pieces of a text in UTF-8, of about so many bytes each.
    pub fn new(text: R, delimiter: u8, size: usize) -> Self {
        Self { text, delimiter, size, ahead: Vec::new(), line: 1, ended: false, begun: false, digest: Sha256::new() }
    }

    /// The next piece; none behind the last.
    ///
    /// # Errors
    ///
    /// Whatever reading says.
    pub fn next_piece(&mut self) -> io::Result<Option<Piece>> {
        let mut wanted = self.size.max(1).saturating_add(LONGEST_QUOTED);
        loop {
            while !self.ended && self.ahead.len() < wanted {
                self.read_ahead(wanted)?;
            }
            if !self.begun {
                self.begun = true;
                if self.ahead.starts_with(BOM) {
                    self.ahead.drain(..BOM.len());
                }
            }
            if self.ahead.is_empty() && self.ended {
                return Ok(None);
            }
            if let Some(at) = cut(&self.ahead, self.delimiter, self.size.max(1), self.ended) {
                // The shorter part is the one that is copied.
                let rest = self.ahead.split_off(at);
                let text = std::mem::replace(&mut self.ahead, rest);
                let line = self.line;
                self.line += line_ends(&text);
                return Ok(Some(Piece { text, line }));
            }
            if self.ahead.len() > LONGEST_ROW {
                let message = format!("a row has more than {} MiB, so this is not a table", LONGEST_ROW >> 20);
                return Err(io::Error::new(io::ErrorKind::InvalidData, message));
            }
            wanted = self.ahead.len().saturating_mul(2);
        }
    }

    /// Up to so many pieces.
    ///
    /// # Errors
    ///
    /// Whatever reading says.
    pub fn next_pieces(&mut self, count: usize) -> io::Result<Vec<Piece>> {
        let mut pieces = Vec::with_capacity(count);
        while pieces.len() < count {
            match self.next_piece()? {
                Some(piece) => pieces.push(piece),
                None => break,
            }
        }
        Ok(pieces)
    }

    fn read_ahead(&mut self, wanted: usize) -> io::Result<()> {
        let before = self.ahead.len();
        let missing = wanted - before;
        // Room in one go: a piece that grew by doubling would be copied again and again.
        self.ahead.reserve_exact(missing);
        let missing = u64::try_from(missing).unwrap_or(u64::MAX);
        self.ended = self.text.by_ref().take(missing).read_to_end(&mut self.ahead)? == 0;
        self.digest.update(&self.ahead[before..]);
        Ok(())
    }

    /// SHA-256 of all bytes read, which are all bytes once the last piece was given.
    #[must_use]
    pub fn sha256(&self) -> String {
        crate::digest::hexadecimal(&self.digest.clone().finalize())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::digest::sha256;
    use proptest::prelude::*;

    fn pieces(text: &[u8], size: usize) -> (Vec<Piece>, String) {
        let mut pieces = Pieces::new(text, b',', size);
        let mut all = Vec::new();
        while let Ok(Some(piece)) = pieces.next_piece() {
            all.push(piece);
        }
        (all, pieces.sha256())
    }

    proptest! {
        #[test]
        fn together_they_are_the_text(text in "\u{feff}?([a-c,\\r\\n]|\"|,\"|\",|\\r\\n|Ω){0,200}", size in 0usize..50) {
            let (all, digest) = pieces(text.as_bytes(), size);
            let joined: Vec<u8> = all.iter().flat_map(|piece| piece.text.clone()).collect();
            prop_assert_eq!(&joined, text.trim_start_matches('\u{feff}').as_bytes());
            prop_assert_eq!(digest, sha256(text.as_bytes()));
            let mut line = 1;
            for piece in all {
                prop_assert_eq!(piece.line, line);
                line += line_ends(&piece.text);
            }
        }
    }

    #[test]
    fn a_row_longer_than_a_piece_stays_whole() {
        let long = format!("a,\"{}\nb\"\nc,d\n", "x".repeat(LONGEST_QUOTED - 100));
        let (all, _) = pieces(long.as_bytes(), 10);
        assert_eq!(all.iter().map(|piece| piece.line).collect::<Vec<_>>(), [1, 3]);
        let endless = "x".repeat(3 * LONGEST_QUOTED);
        assert_eq!(pieces(endless.as_bytes(), 10).0.len(), 1);
        let said = Pieces::new(io::repeat(b'x'), b',', 10).next_piece().map_err(|error| error.to_string());
        assert_eq!(said, Err("a row has more than 64 MiB, so this is not a table".to_owned()));
    }
}
