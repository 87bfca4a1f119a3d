//! Tests of `workbook`.

use super::*;

#[test]
fn rows_keep_their_number_and_cells_their_digits() {
    let mut grid = Grid::new("S", false, 1 << 20);
    let number = |value| written(&Data::Float(value), false);
    for (row, column, text) in
        [(1, 0, "a\n\"b\"".to_owned()), (1, 2, number(412.125)), (4, 1, number(1e-7)), (4, 2, number(0.1 + 0.2))]
    {
        assert_eq!(grid.put(row, column, text), Some(()));
    }
    let sheet = grid.finish();
    let text = String::from_utf8_lossy(&sheet.text).into_owned();
    assert_eq!(text, "\n\"a\n\"\"b\"\"\",,412.125\n\n\n,0.0000001,0.30000000000000004\n");
    assert_eq!(sheet.starts, Some(vec![1, 2, 4, 5, 6]));
    assert_eq!(written(&Data::Float(1.125), true), "1,125");
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
    let refused =
        |bytes: &[u8]| read("a.xls", bytes, None, false, &|_| true).err().map(|f| f.problems()[0].message.clone());
    assert_eq!(
        refused(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1 and nothing else").as_deref(),
        Some("a.xls: this workbook is damaged or protected by a password")
    );
}
