//! The place of a cell.

/// A cell of a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct CellPlace {
    /// Line of the file, or row of the sheet, from one.
    pub line: u64,
    /// Column, from zero.
    pub column: usize,
}

impl CellPlace {
    /// The cell as spreadsheets name it: `C7`.
    #[must_use]
    pub fn name(self) -> String {
        let (mut letters, mut rest) = (Vec::new(), self.column + 1);
        while rest > 0 {
            letters.push(char::from(b'A' + ((rest - 1) % 26) as u8));
            rest = (rest - 1) / 26;
        }
        let letters: String = letters.into_iter().rev().collect();
        format!("{letters}{}", self.line)
    }
}
