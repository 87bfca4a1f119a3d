//! Tests of `workbook`.
#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]

use super::*;
use crate::ingest::rows::LONGEST_QUOTED;
use crate::ingest::sheet::Tall;
use crate::ingest::written::iso;

#[test]
fn rows_keep_their_number_and_cells_their_digits() {
    let mut grid = Grid::new("S", false, 1 << 20, Left::of(0));
    let number = |value| written(&Data::Float(value), false);
    for (row, column, text) in
        [(1, 0, "a\n\"b\"".to_owned()), (1, 2, number(412.125)), (4, 1, number(1e-7)), (4, 2, number(0.1 + 0.2))]
    {
        assert_eq!(grid.put(row, column, text), Some(()));
    }
    let (sheet, _) = grid.finish().unwrap();
    let text = String::from_utf8_lossy(&sheet.text).into_owned();
    assert_eq!(text, "\n\"a\n\"\"b\"\"\",,412.125\n\n\n,0.0000001,0.30000000000000004\n");
    let rows: Vec<u64> = (1..=6).map(|line| Tall::row_at(&sheet.tall, line)).collect();
    assert_eq!(rows, [1, 2, 2, 3, 4, 5]);
    assert_eq!(written(&Data::Float(1.125), true), "1,125");
}

#[test]
fn a_row_too_long_for_one_with_line_breaks_is_read_without_them() {
    let mut grid = Grid::new("S", false, 1 << 20, Left::of(1 << 20));
    for (row, text) in [(0, "a\nb".to_owned()), (1, format!("c{}d", "\n".repeat(LONGEST_QUOTED))), (2, "e".to_owned())]
    {
        assert_eq!(grid.put(row, 0, text), Some(()));
    }
    let (sheet, _) = grid.finish().unwrap();
    let text = String::from_utf8_lossy(&sheet.text).into_owned();
    assert_eq!(text, format!("\"a\nb\"\n\"c{}d\"\ne\n", " ".repeat(LONGEST_QUOTED)));
    assert_eq!([3, 4].map(|line| Tall::row_at(&sheet.tall, line)), [2, 3]);
}

#[test]
fn dates_are_written_as_short_as_they_are() {
    for (text, expected) in [
        ("2026-01-05T00:00:00", "2026-01-05"),
        ("2026-01-05T07:30:00", "2026-01-05T07:30"),
        ("2026-01-05T07:30:15.004", "2026-01-05T07:30:15"),
        ("2026-01-05", "2026-01-05"),
    ] {
        assert_eq!(iso(text), expected);
    }
}

#[test]
fn what_is_no_workbook_is_refused_with_a_sentence() {
    let refused = |bytes: &[u8]| {
        read("a.xls", bytes, SheetChoice::default(), false).err().map(|f| f.problems()[0].message.clone())
    };
    assert_eq!(
        refused(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1 and nothing else").as_deref(),
        Some("a.xls: this workbook is damaged or protected by a password")
    );
}

#[test]
fn a_cell_that_its_reader_gives_up_leaves_a_mark_that_no_rule_takes() {
    let mut grid = Grid::new("S", false, 1 << 20, Left::of(0));
    for (row, column, text) in [(0, 0, "winding"), (0, 1, "tested_on"), (0, 2, "r_60s"), (0, 3, "note"), (1, 0, "P-1")]
    {
        assert_eq!(grid.put(row, column, text.to_owned()), Some(()));
    }
    assert_eq!(grid.put(1, 1, "2026-01-05".to_owned()), Some(()));
    assert_eq!(grid.mark_unreadable(Some((1, 1)), (1, 3)), Some(()));
    assert_eq!(grid.put(1, 3, "x".to_owned()), Some(()));
    let text = String::from_utf8_lossy(&grid.finish().unwrap().0.text).into_owned();
    assert_eq!(text, "winding,tested_on,r_60s,note\nP-1,2026-01-05,unreadable\u{7f},x\n");
    assert_eq!(Grid::new("S", false, 1 << 20, Left::of(0)).mark_unreadable(Some((1, 1)), (500, 0)), None);
}

#[test]
fn a_cell_that_no_program_writes_is_refused_as_the_reason() {
    let mut grid = Grid::new("Sheet", false, 64 << 20, Left::of(0));
    assert_eq!(grid.put(0, 0, "x".repeat(LONGEST_CELL)), Some(()));
    assert_eq!((grid.put(0, 1, "x".repeat(LONGEST_CELL + 1)), grid.trouble()), (None, Trouble::LongCell));
    assert_eq!(
        long_cell("a.xlsx").to_string(),
        "a.xlsx: a cell of this workbook holds more than 1 MiB of text\n\
         hint: shorten it, or save the sheet as CSV in UTF-8"
    );
    assert_eq!(
        too_many("a.xlsx", Left::of(2_000_001)).to_string(),
        "a.xlsx: this workbook has more than 250000 rows or 2000001 cells, too many for a file of its size\n\
         hint: delete the rows and cells that repeat around the table, or save the sheet as CSV in UTF-8"
    );
    assert_eq!(
        many_sheets("a.xlsx").to_string(),
        "a.xlsx: this workbook has more than 2000 sheets with cells\n\
         hint: name those that are to be read with --sheet, or save them in several workbooks"
    );
}

#[test]
fn long_texts_that_cost_nothing_in_a_file_are_counted() {
    let mut grid = Grid::new("S", false, 1 << 30, Left::of(2000));
    let put = |grid: &mut Grid, text: &str, rows: std::ops::Range<u32>| {
        rows.map(|row| grid.put(row, 0, text.to_owned())).last()
    };
    assert_eq!(put(&mut grid, &"01/".repeat(333), 0..9000), Some(Some(())), "none of them is long");
    let long = "01/".repeat(200_000);
    assert_eq!(put(&mut grid, &long, 9000..9006), Some(Some(())));
    assert_eq!((grid.put(9007, 0, long), grid.trouble()), (None, Trouble::LongTexts));
    assert_eq!(
        long_texts("a.ods", Left::of(2000)).to_string(),
        "a.ods: the cells of this workbook that have more than 1000 bytes take more than 4 MiB together, too much for a file of its size\n\
         hint: shorten them, or save the sheet as CSV in UTF-8"
    );
}
