//! Old binary workbooks are records one behind the other. Their reader lays out the whole grid from the first cell to the
//! last, so two cells in far corners, or a sheet that says it has more rows than it can have, would take all memory: the
//! places are looked at before anybody reads the cells.
//!
//! Layout: [MS-XLS], sections 2.4.28 (BoundSheet8), 2.4.90 (Dimensions) and those of the cells. The walk is that of the
//! reader, so that nothing it comes by is missed.

use super::compound::{number, workbook_stream};
use super::number_formats::{Format, Formatted, PERCENT};
use std::collections::HashMap;

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

const FORMAT: u16 = 0x041E;
const CELL_FORMAT: u16 = 0x00E0;
/// Of the records of cells, those of numbers and of formulas, which have the number of their format behind their place.
const NUMBERS: [u16; 3] = [0x0203, 0x027E, FORMULA];

const STRINGS: u16 = 0x00FC;
const STRING_CELL: u16 = 0x00FD;

/// Cells that a sheet of this kind can have.
const GREATEST_GRID: u64 = 65_536 * 256;
/// The grids of all sheets together are laid out up to this size in any case; larger ones must have a cell in so many of
/// their places.
const SMALL_GRID: u64 = 1_000_000;
const PLACES_A_CELL: u64 = 8;

/// Whether reading a workbook, whose chains of sectors end, would take memory or time out of proportion to what it holds:
/// grids too large, strings that many cells repeat up to more bytes than the limit, or sheets that overlap.
#[must_use]
pub fn ask_too_much(bytes: &[u8], limit: u64) -> bool {
    let Some(stream) = workbook_stream(bytes) else { return false };
    let sheets = Records(&stream)
        .take_while(|(kind, _)| *kind != END)
        .filter(|(kind, _)| *kind == BOUND_SHEET)
        .filter_map(|(_, data)| usize::try_from(number(data, 0)?).ok());
    let strings = strings::lengths(&stream);
    let mut demand = Demand { records: stream.len() / 4, strings: &strings, text: 0, cells: 0, places: 0 };
    let mut sheets = sheets.map(|start| stream.get(start..).unwrap_or_default());
    sheets.any(|sheet| !demand.add(sheet)) || demand.text > limit || demand.is_out_of_proportion()
}

/// Numbers whose format shows a unit after them or names in their place, by the name of the sheet; the workbook does not [ask too much](ask_too_much).
///
/// Layout: [MS-XLS], sections 2.4.126 (Format), 2.4.353 (XF), 2.5.294 (XLUnicodeString).
#[must_use]
pub(super) fn shown_with_units(bytes: &[u8]) -> HashMap<String, Formatted> {
    let mut found = HashMap::new();
    let Some(stream) = workbook_stream(bytes) else { return found };
    let globals = || Records(&stream).take_while(|(kind, _)| *kind != END);
    let percent = PERCENT.into_iter().filter_map(|id| Some((id, Format::of_code("0%")?)));
    let named = globals()
        .filter(|(kind, _)| *kind == FORMAT)
        .filter_map(|(_, data)| Some((half(data, 0)?, Format::of_code(&text(data.get(2..)?, 2)?)?)));
    let codes: HashMap<u16, Format> = percent.chain(named).collect();
    let formats: Vec<Option<Format>> = globals()
        .filter(|(kind, _)| *kind == CELL_FORMAT)
        .map(|(_, data)| half(data, 2).and_then(|code| codes.get(&code).cloned()))
        .collect();
    let shown = |data: &[u8], at: usize| half(data, at).and_then(|format| formats.get(usize::from(format))?.clone());
    for (_, data) in globals().filter(|(kind, _)| *kind == BOUND_SHEET) {
        let start = number(data, 0).and_then(|start| usize::try_from(start).ok());
        let (Some(sheet), Some(name)) =
            (start.and_then(|start| stream.get(start..)), data.get(6..).and_then(|data| text(data, 1)))
        else {
            continue;
        };
        let (mut cells, mut began, mut inside) = (Formatted::new(), false, 0_u32);
        for (kind, data) in Records(sheet) {
            match kind {
                BEGIN if began => inside += 1,
                BEGIN => began = true,
                END if inside == 0 => break,
                END => inside -= 1,
                _ => {}
            }
            let (Some(row), Some(column), 0) = (half(data, 0), half(data, 2), inside) else { continue };
            let mut add = |column: u32, at: usize| {
                cells.extend(shown(data, at).map(|shown| ((u32::from(row), column), shown)));
            };
            match kind {
                // A format and a number of six bytes for each cell, and the last column after them.
                MANY_NUMBERS => {
                    (0..data.len().saturating_sub(6) / 6).for_each(|i| add(u32::from(column) + i as u32, 4 + 6 * i))
                }
                kind if NUMBERS.contains(&kind) => add(u32::from(column), 4),
                _ => {}
            }
        }
        found.insert(name, cells);
    }
    found
}

/// A text behind its length, which has so many bytes, and its flags: one or two bytes a character.
fn text(data: &[u8], width: usize) -> Option<String> {
    let length = if width == 1 { usize::from(*data.first()?) } else { usize::from(half(data, 0)?) };
    let (flags, rest) = (*data.get(width)?, data.get(width + 1..)?);
    Some(if flags & 1 == 0 {
        rest.get(..length)?.iter().map(|byte| char::from(*byte)).collect()
    } else {
        let units = rest.get(..2 * length)?.chunks_exact(2).map(|two| u16::from_le_bytes([two[0], two[1]]));
        char::decode_utf16(units).map(|c| c.unwrap_or(char::REPLACEMENT_CHARACTER)).collect()
    })
}

/// What the sheets of a workbook ask for together.
struct Demand<'a> {
    /// Records that the stream has room for; sheets that lie in one place would have more.
    records: usize,
    /// Lengths of the shared strings.
    strings: &'a [u32],
    /// Bytes of the strings in cells.
    text: u64,
    cells: u64,
    places: u64,
}

impl Demand<'_> {
    /// Adds a sheet; false where it cannot be one.
    fn add(&mut self, stream: &[u8]) -> bool {
        let mut grid = Grid::default();
        let (mut formula, mut began, mut inside) = (None, false, 0_u32);
        for (kind, data) in Records(stream) {
            match self.records.checked_sub(1) {
                Some(left) => self.records = left,
                None => return false,
            }
            // Charts inside a sheet are skipped.
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
                DIMENSIONS if reserves(data) > GREATEST_GRID => return false,
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
                    if kind == STRING_CELL {
                        let string = number(data, 6).and_then(|i| self.strings.get(usize::try_from(i).ok()?));
                        self.text += u64::from(string.copied().unwrap_or(0));
                    }
                }
                _ => {}
            }
        }
        self.cells += grid.cells;
        self.places += grid.places();
        true
    }

    const fn is_out_of_proportion(&self) -> bool {
        self.places > SMALL_GRID && self.places > PLACES_A_CELL.saturating_mul(self.cells)
    }
}

/// Cells that are allocated because a sheet declares them; the reader counts in 32 bits.
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

    fn places(&self) -> u64 {
        let Some([top, bottom, left, right]) = self.corners else { return 0 };
        (u64::from(bottom - top) + 1) * (u64::from(right - left) + 1)
    }
}

/// The table of strings that cells share.
///
/// Layout: [MS-XLS], sections 2.4.265 (SST), 2.5.293 (XLUnicodeRichExtendedString) and 2.4.58 (Continue).
mod strings {
    use super::{CONTINUE, STRINGS, half, number};

    /// Bytes of each string in UTF-8 at most, as far as the table can be read.
    pub(super) fn lengths(stream: &[u8]) -> Vec<u32> {
        let mut cursor = Cursor { segments: segments(stream), at: 8 };
        let mut lengths = Vec::new();
        while let Some(length) = cursor.string() {
            lengths.push(length);
        }
        lengths
    }

    /// The content of the table's record and of those that continue it, the last one first.
    fn segments(stream: &[u8]) -> Vec<&[u8]> {
        let mut segments = Vec::new();
        let mut rest = stream;
        while let (Some(kind), Some(length)) = (half(rest, 0), half(rest, 2)) {
            let end = 4 + usize::from(length);
            match (kind, rest.get(4..end)) {
                (STRINGS, Some(data)) => segments.push(data),
                (CONTINUE, Some(data)) if !segments.is_empty() => segments.push(data),
                (_, None) => break,
                _ if segments.is_empty() => {}
                _ => break,
            }
            rest = &rest[end..];
        }
        segments.reverse();
        segments
    }

    struct Cursor<'a> {
        segments: Vec<&'a [u8]>,
        at: usize,
    }

    impl Cursor<'_> {
        /// Passes one string and gives its length.
        fn string(&mut self) -> Option<u32> {
            while self.at >= self.segments.last()?.len() {
                self.next_segment()?;
            }
            let data = self.segments.last()?.get(self.at..)?;
            let (characters, flags) = (half(data, 0)?, *data.get(2)?);
            let (mut at, mut more) = (3, 0_u64);
            if flags & 8 != 0 {
                more += 4 * u64::from(half(data, at)?);
                at += 2;
            }
            if flags & 4 != 0 {
                more += u64::from(number(data, at)?);
                at += 4;
            }
            self.at += at;
            let (mut left, mut wide) = (usize::from(characters), flags & 1);
            loop {
                let width = 1 + usize::from(wide);
                let here = left.min(self.segments.last()?.len().saturating_sub(self.at) / width);
                self.at += here * width;
                left -= here;
                if left == 0 {
                    break;
                }
                // The characters go on in the next segment, behind flags of their own.
                self.next_segment()?;
                wide = self.segments.last()?.first()? & 1;
                self.at = 1;
            }
            while more > 0 {
                let here = more.min((self.segments.last()?.len().saturating_sub(self.at)) as u64);
                self.at += usize::try_from(here).ok()?;
                more -= here;
                if more > 0 {
                    self.next_segment()?;
                }
            }
            Some(3 * u32::from(characters))
        }

        fn next_segment(&mut self) -> Option<()> {
            self.segments.pop()?;
            self.at = 0;
            self.segments.last().map(|_| ())
        }
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

    /// Whether sheets of these records ask too much, where cells share one string of so many bytes.
    fn ask(sheets: &[Vec<u8>], records: usize, string: u32) -> (bool, u64) {
        let mut demand = Demand { records, strings: &[string], text: 0, cells: 0, places: 0 };
        let refused = sheets.iter().any(|sheet| !demand.add(sheet)) || demand.is_out_of_proportion();
        (refused, demand.text)
    }

    fn asks(records: &[Vec<u8>]) -> bool {
        ask(&[records.concat()], 1000, 0).0
    }

    #[test]
    fn far_corners_and_impossible_sizes_are_found() {
        assert!(!asks(&[cell(0, 0), cell(60_000, 15)]));
        assert!(asks(&[cell(0, 0), cell(65_535, 255)]));
        let far = [cell(0, 0), cell(60_000, 15)].concat();
        assert!(ask(&[far.clone(), far], 1000, 0).0, "all sheets are held together");
        let dense: Vec<Vec<u8>> = (0..900).map(|row| cell(row, 0)).collect();
        assert!(!asks(&dense));
        let size = |first: u32, end: u32| {
            record(DIMENSIONS, &[&first.to_le_bytes()[..], &end.to_le_bytes(), &[0, 0, 9, 0, 0, 0]].concat())
        };
        assert!(!asks(&[size(0, 65_536)]));
        assert!(asks(&[size(0, 0x00ff_ffff)]) && asks(&[size(7, 3)]), "rows before the first wrap around");
        assert!(asks(&vec![cell(0, 0); 1001]), "more records than there is room for");
    }

    #[test]
    fn strings_count_as_often_as_cells_name_them() {
        let string = |row: u16| record(STRING_CELL, &[&row.to_le_bytes()[..], &[0; 8]].concat());
        let sheet: Vec<u8> = (0..500).flat_map(string).collect();
        assert_eq!(ask(&[sheet], 1000, 98_301), (false, 500 * 98_301));
    }

    #[test]
    fn lengths_are_found_across_records_that_continue() {
        let rich = [&[4_u8, 0, 0x0D, 2, 0, 6, 0, 0, 0][..], &b"a\0b\0"[..]].concat();
        let begin = [&[0_u8; 8][..], &[3, 0, 0], b"abc", &rich].concat();
        let rest = [&[0_u8][..], b"cd", &[0; 14], &[1, 0, 1, 7, 7]].concat();
        let stream = [record(BEGIN, &[0; 4]), record(STRINGS, &begin), record(CONTINUE, &rest)].concat();
        assert_eq!(strings::lengths(&stream), [9, 12, 3]);
    }

    #[test]
    fn the_workbooks_of_other_programs_are_let_through() {
        for bytes in [
            &include_bytes!("../../../../tests/cli/data/xlwt.xls")[..],
            include_bytes!("../../../../tests/cli/data/office.xls"),
        ] {
            let stream = workbook_stream(bytes).unwrap_or_default();
            assert!(Records(&stream).filter(|(kind, _)| CELLS.contains(kind)).count() > 10);
            assert!(!ask_too_much(bytes, 1 << 20));
            assert!(strings::lengths(&stream).len() > 3);
        }
    }
}
