//! Why a workbook is not read.

/// Why a workbook is not read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Trouble {
    /// It is damaged, or protected.
    Damaged,
    /// Its cells take more than they may.
    TooLarge,
    /// One of its cells does.
    LongCell,
    /// Its long texts take more than a file of its size needs.
    LongTexts,
    /// It has more rows or cells than a file of its size needs.
    TooMany,
    /// It has more sheets than people look through.
    ManySheets,
}
