//! Tests of `rows`.

use super::*;
use proptest::prelude::*;

fn rows(text: &str, delimiter: u8) -> Vec<(u64, String, Option<usize>)> {
    let mut rows = Rows::new(text.as_bytes(), delimiter, 1);
    let mut seen = Vec::new();
    while let Some(row) = rows.next_row() {
        let raw = String::from_utf8_lossy(row.raw).into_owned();
        seen.push((row.line, raw, row.cells.ok().map(Cells::len)));
    }
    seen
}

#[test]
fn lines_are_counted_as_an_editor_does() {
    for end in ["\n", "\r\n", "\r"] {
        let text = ["", "h,i", "", "a,\"b", "c\"", ",", "  ", "d,e", ""].join(end);
        let expected =
            [(2, "h,i".to_owned(), Some(2)), (4, format!("a,\"b{end}c\""), Some(2)), (8, "d,e".to_owned(), Some(2))];
        assert_eq!(rows(&text, b','), expected, "{end:?}");
    }
}

#[test]
fn an_open_quote_costs_one_line_only() {
    let seen = rows("h,i\na,\"b\nc,d\n\ne,5\" pipe\n", b',');
    let expected = [
        (1, "h,i".to_owned(), Some(2)),
        (2, "a,\"b".to_owned(), None),
        (3, "c,d".to_owned(), Some(2)),
        (5, "e,5\" pipe".to_owned(), Some(2)),
    ];
    assert_eq!(seen, expected);
}

#[test]
fn closed_quotes_are_closed() {
    for (raw, open) in [
        ("\"a\"\"b\"", false),
        ("a\"b", false),
        ("\"\"", false),
        ("\"", true),
        ("\"\"\"", true),
        ("a,\"", true),
        ("a\",\"\"\",", true),
        ("\"a\"x\",b", false),
        ("\"a\nb\",c", false),
        ("\"a\nb,5\" pipe", true),
    ] {
        assert_eq!(end_of_quoted(raw.as_bytes(), b',').is_none(), open, "{raw}");
    }
}

#[test]
fn quotes_that_never_close_do_not_cost_the_square_of_the_file() {
    let text = "a\",\"\"\",\n".repeat(20_000);
    let seen = rows(&text, b',');
    assert_eq!(seen.len(), 20_000);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, ..ProptestConfig::default() })]

    #[test]
    fn wherever_text_is_cut_the_rows_are_the_same(
        text in "([a-c\\r\\n;]|\"|\"\"|;\"|\";|\\r\\n){0,60}",
        least in prop::collection::vec(0usize..20, 1..20),
    ) {
        let whole = rows(&text, b';');
        let (mut pieces, mut rest, mut line) = (Vec::new(), text.as_bytes(), 1);
        for least in least.into_iter().cycle().take(100) {
            let at = cut(rest, b';', least.max(1), true).expect("the end is known");
            let mut part = Rows::new(&rest[..at], b';', line);
            while let Some(row) = part.next_row() {
                let raw = String::from_utf8_lossy(row.raw).into_owned();
                pieces.push((row.line, raw, row.cells.ok().map(Cells::len)));
            }
            line += line_ends(&rest[..at]);
            rest = &rest[at..];
        }
        prop_assert!(rest.is_empty());
        prop_assert_eq!(pieces, whole);
    }

    #[test]
    fn where_it_is_certain_before_the_end_more_text_changes_nothing(
        text in "([a-c\\r\\n;]|\"|;\"|\";|\\r\\n){0,60}",
        more in "([a-c\\r\\n;]|\"|;\"|\";|\\r\\n){0,60}",
        least in 1usize..40,
    ) {
        if let Some(at) = cut(text.as_bytes(), b';', least, false) {
            prop_assert_eq!(cut(format!("{text}{more}").as_bytes(), b';', least, true), Some(at));
        }
    }

    #[test]
    fn cells_are_those_of_the_csv_library(text in "([a-c;]|\"|\"\"|;\"|\";){1,30}") {
        let mut rows = Rows::new(text.as_bytes(), b';', 1);
        if let Some(Row { cells: Ok(cells), .. }) = rows.next_row() {
            let mut reader = csv::ReaderBuilder::new()
                .has_headers(false)
                .delimiter(b';')
                .from_reader(text.as_bytes());
            let record = reader.byte_records().next().expect("a record").expect("a record");
            prop_assert_eq!(cells.iter().collect::<Vec<_>>(), record.iter().collect::<Vec<_>>());
        }
    }

    #[test]
    fn cells_of_a_text_are_those_of_its_bytes(text in "([a-cΩ;]|\u{feff}|\n|\r\n|\"|\"\"|;\"|\";){0,60}") {
        let (mut bytes, mut texts) = (Rows::new(text.as_bytes(), b';', 1), Rows::of_text(&text, b';', 1));
        while let Some(row) = bytes.next_row() {
            let same = texts.next_row().expect("a row");
            prop_assert_eq!((row.line, row.raw), (same.line, same.raw));
            let (Ok(cells), Ok(same)) = (row.cells, same.cells) else {
                prop_assert!(row.cells.is_err() && same.cells.is_err());
                continue;
            };
            prop_assert_eq!(cells.len(), same.len());
            for place in 0..=cells.len() {
                prop_assert_eq!(cells.get(place), same.get(place));
                let bytes = cells.get(place).unwrap_or_default();
                prop_assert_eq!(same.text(place), std::str::from_utf8(bytes).map_err(|_| bytes));
            }
        }
        prop_assert!(texts.next_row().is_none());
    }

    #[test]
    fn quoted_cells_found_in_their_row_are_those_of_the_csv_library(text in "([a-c;]|\"[a-c;]{0,3}\"|;|\u{feff}){1,12}") {
        let mut rows = Rows::new(text.as_bytes(), b';', 1);
        if rows.split_quoted(text.as_bytes()) {
            prop_assert_eq!(end_of_quoted(text.as_bytes(), b';'), Some(text.len()));
            let in_place = Cells { bytes: text.as_bytes(), text: None, spans: &rows.spans.clone() };
            rows.unquote(text.as_bytes());
            let by_library = Cells { bytes: &rows.unquoted, text: None, spans: &rows.spans };
            prop_assert_eq!(in_place.iter().collect::<Vec<_>>(), by_library.iter().collect::<Vec<_>>());
        }
    }

    #[test]
    fn line_ends_are_counted_however_long_the_text(text in "(a{0,9}|\r\n|\n|\r){0,300}") {
        let bytes = text.as_bytes();
        let ends = (0..bytes.len()).filter(|at| {
            bytes[*at] == b'\n' || (bytes[*at] == b'\r' && bytes.get(at + 1) != Some(&b'\n'))
        });
        prop_assert_eq!(line_ends(bytes), ends.count() as u64);
    }
}
