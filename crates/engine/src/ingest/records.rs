//! Old binary workbooks are records one behind the other. Their reader lays out the whole grid from the first cell to the
//! last, so two cells in far corners, or a sheet that says it has more rows than it can have, would take all memory: the
//! places are looked at before anybody reads the cells.
//!
//! Layout: [MS-XLS], sections 2.4.28 (BoundSheet8), 2.4.90 (Dimensions) and those of the cells. The walk is that of the
//! reader, so that nothing it comes by is missed.

use super::compound::{number, workbook_stream};

const CONTINUE: u16 = 0x003C;
const BOUND_SHEET: u16 = 0x0085;
const DIMENSIONS: u16 = 0x0200;
const BEGIN: u16 = 0x0809;
const END: u16 = 0x000A;
const FORMULA: u16 = 0x0006;
const FORMULA_TEXT: u16 = 0x0207;
const MANY_NUMBERS: u16 = 0x00BD;
/// Records that begin with the row and the column of one cell.
const CELLS: [u16; 7] = [0x0203, 0x0204, 0x00D6, 0x0205, 0x027E, 0x00FD, FORMULA];

/// Cells that a sheet of this kind can have.
const GREATEST_GRID: u64 = 65_536 * 256;
/// A grid up to this size is laid out in any case; a larger one must have a cell in so many of its places.
const SMALL_GRID: u64 = 2_000_000;
const PLACES_A_CELL: u64 = 32;
/// Records looked at before the workbook is given up: sheets may all lie in one place.
const MOST_RECORDS: usize = 40_000_000;

/// Whether reading a workbook, whose chains of sectors end, would take memory out of proportion to what it holds.
#[must_use]
pub fn ask_too_much(bytes: &[u8]) -> bool {
    let Some(stream) = workbook_stream(bytes) else { return false };
    let mut patience = MOST_RECORDS;
    let sheets: Vec<usize> = Records(&stream)
        .take_while(|(kind, _)| *kind != END)
        .filter(|(kind, _)| *kind == BOUND_SHEET)
        .filter_map(|(_, data)| usize::try_from(number(data, 0)?).ok())
        .collect();
    sheets.into_iter().any(|start| sheet_asks_too_much(stream.get(start..).unwrap_or_default(), &mut patience))
}

fn sheet_asks_too_much(stream: &[u8], patience: &mut usize) -> bool {
    let mut grid = Grid::default();
    let (mut formula, mut began, mut inside) = (None, false, 0_u32);
    for (kind, data) in Records(stream) {
        match patience.checked_sub(1) {
            Some(left) => *patience = left,
            None => return true,
        }
        // Charts inside a sheet are passed over.
        match kind {
            BEGIN if began => inside += 1,
            BEGIN => began = true,
            END if inside == 0 => break,
            END => inside -= 1,
            _ => {}
        }
        if inside > 0 {
            continue;
        }
        match kind {
            DIMENSIONS if reserves(data) > GREATEST_GRID => return true,
            MANY_NUMBERS => {
                let last = data.len().checked_sub(2).and_then(|at| half(data, at));
                for column in [half(data, 2), last].into_iter().flatten() {
                    grid.add(half(data, 0), Some(column));
                }
            }
            FORMULA_TEXT => grid.add_place(formula),
            kind if CELLS.contains(&kind) => {
                grid.add(half(data, 0), half(data, 2));
                if kind == FORMULA {
                    formula = half(data, 0).zip(half(data, 2));
                }
            }
            _ => {}
        }
    }
    grid.is_out_of_proportion()
}

/// Cells for which room is set aside by what a sheet says of itself; the reader counts in 32 bits.
fn reserves(data: &[u8]) -> u64 {
    let (first_row, end_row, first, end) = match data.len() {
        10 => {
            let at = |place| half(data, place).map(u32::from);
            (at(0), at(2), at(4), at(6))
        }
        14 | 16 => (number(data, 0), number(data, 4), half(data, 8).map(u32::from), half(data, 10).map(u32::from)),
        _ => return 0,
    };
    let (Some(first_row), Some(end_row), Some(first), Some(end)) = (first_row, end_row, first, end) else { return 0 };
    if end_row == 0 || end == 0 {
        return 1;
    }
    let first = if first > 0xFF || end < first { 0 } else { first };
    u64::from(end_row.wrapping_sub(first_row)).saturating_mul(end.wrapping_sub(first).into())
}

fn half(data: &[u8], at: usize) -> Option<u16> {
    let digits = data.get(at..at.checked_add(2)?)?;
    Some(u16::from_le_bytes([digits[0], digits[1]]))
}

/// The corners of the cells seen.
#[derive(Default)]
struct Grid {
    cells: u64,
    corners: Option<[u16; 4]>,
}

impl Grid {
    fn add(&mut self, row: Option<u16>, column: Option<u16>) {
        self.add_place(row.zip(column));
    }

    fn add_place(&mut self, place: Option<(u16, u16)>) {
        let Some((row, column)) = place else { return };
        self.cells += 1;
        let [top, bottom, left, right] = self.corners.unwrap_or([row, row, column, column]);
        self.corners = Some([top.min(row), bottom.max(row), left.min(column), right.max(column)]);
    }

    fn is_out_of_proportion(&self) -> bool {
        let Some([top, bottom, left, right]) = self.corners else { return false };
        let places = (u64::from(bottom - top) + 1) * (u64::from(right - left) + 1);
        places > SMALL_GRID && places > PLACES_A_CELL.saturating_mul(self.cells)
    }
}

/// Kind and content of the records of a stream; those that only continue another are left out.
struct Records<'a>(&'a [u8]);

impl<'a> Iterator for Records<'a> {
    type Item = (u16, &'a [u8]);

    fn next(&mut self) -> Option<Self::Item> {
        loop {
            let (kind, length) = (half(self.0, 0)?, usize::from(half(self.0, 2)?));
            let data = self.0.get(4..4 + length)?;
            self.0 = self.0.get(4 + length..).unwrap_or_default();
            if kind != CONTINUE {
                return Some((kind, data));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn record(kind: u16, data: &[u8]) -> Vec<u8> {
        [&kind.to_le_bytes()[..], &(data.len() as u16).to_le_bytes(), data].concat()
    }

    fn cell(row: u16, column: u16) -> Vec<u8> {
        record(0x0203, &[&row.to_le_bytes()[..], &column.to_le_bytes(), &[0; 10]].concat())
    }

    fn asks(records: &[Vec<u8>]) -> bool {
        sheet_asks_too_much(&records.concat(), &mut 1000)
    }

    #[test]
    fn far_corners_and_impossible_sizes_are_found() {
        assert!(!asks(&[cell(0, 0), cell(60_000, 30)]));
        assert!(asks(&[cell(0, 0), cell(65_535, 255)]));
        let dense: Vec<Vec<u8>> = (0..900).map(|row| cell(row, 0)).collect();
        assert!(!asks(&dense));
        let size = |first: u32, end: u32| {
            record(DIMENSIONS, &[&first.to_le_bytes()[..], &end.to_le_bytes(), &[0, 0, 9, 0, 0, 0]].concat())
        };
        assert!(!asks(&[size(0, 65_536)]));
        assert!(asks(&[size(0, 0x00ff_ffff)]) && asks(&[size(7, 3)]), "rows before the first wrap around");
        assert!(asks(&vec![cell(0, 0); 1001]), "no patience left");
    }

    #[test]
    fn the_workbooks_of_other_programs_are_let_through() {
        for bytes in [
            &include_bytes!("../../../../tests/cli/data/xlwt.xls")[..],
            include_bytes!("../../../../tests/cli/data/office.xls"),
        ] {
            let stream = workbook_stream(bytes).unwrap_or_default();
            assert!(Records(&stream).filter(|(kind, _)| CELLS.contains(kind)).count() > 10);
            assert!(!ask_too_much(bytes));
        }
    }
}
