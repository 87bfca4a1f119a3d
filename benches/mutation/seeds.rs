//! What the mutations start from: histories of every dialect that is read.

use super::archive::parts;

/// One seed.
pub(crate) enum Seed {
    /// Text in any encoding.
    Text(Vec<u8>),
    /// Text that is turned into UTF-16 after it was mutated.
    Wide(Vec<u8>),
    /// Text that is packed after it was mutated.
    Packed(Vec<u8>),
    /// A workbook that is mutated as it is.
    Whole(Vec<u8>),
    /// A workbook whose parts are mutated.
    Parts(Vec<(String, Vec<u8>)>),
}

/// Rows of the demo plant taken into a seed.
const DEMO_ROWS: usize = 12;

fn first_lines(text: &str, count: usize) -> Vec<u8> {
    text.split_inclusive('\n').take(count).collect::<String>().into_bytes()
}

/// The lines without quotes: in these a line is a row, and rows can be counted a second time without the reader.
fn without_quotes(text: &[u8]) -> Vec<u8> {
    text.split_inclusive(|byte| *byte == b'\n').filter(|line| !line.contains(&b'"')).flatten().copied().collect()
}

/// The seeds. Texts come several times, because most of what is mutated should be text.
pub(crate) fn seeds() -> Vec<Seed> {
    let demo = include_str!("../../data-demo/history.csv");
    let dirty = include_bytes!("../../data-demo/history-dirty.csv");
    let texts: [&[u8]; 10] = [
        include_bytes!("../../tests/cli/data/comma.csv"),
        include_bytes!("../../tests/cli/data/crlf-bom.csv"),
        include_bytes!("../../tests/cli/data/semicolon.csv"),
        include_bytes!("../../tests/cli/data/tab.tsv"),
        include_bytes!("../../tests/cli/data/timed.csv"),
        include_bytes!("../../tests/cli/data/titled.csv"),
        include_bytes!("../../tests/cli/data/usual-words.csv"),
        include_bytes!("../../tests/cli/data/utf16be.csv"),
        include_bytes!("../../tests/cli/data/utf16le.csv"),
        include_bytes!("../../tests/cli/data/windows-1252.csv"),
    ];
    let sheets: [&[u8]; 33] = [
        include_bytes!("../../tests/cli/data/sheets/dates-across.csv"),
        include_bytes!("../../tests/cli/data/sheets/dates-across-day-first.csv"),
        include_bytes!("../../tests/cli/data/sheets/quarters-across-titled.csv"),
        include_bytes!("../../tests/cli/data/sheets/dates-across-areas.csv"),
        include_bytes!("../../tests/cli/data/sheets/dates-across-quantities.csv"),
        include_bytes!("../../tests/cli/data/sheets/dates-across-two-rows.csv"),
        include_bytes!("../../tests/cli/data/sheets/phases-and-pairs.csv"),
        include_bytes!("../../tests/cli/data/sheets/phases-two-times.csv"),
        include_bytes!("../../tests/cli/data/sheets/before-after-two-rows.csv"),
        include_bytes!("../../tests/cli/data/sheets/points.csv"),
        include_bytes!("../../tests/cli/data/sheets/units-mixed.csv"),
        include_bytes!("../../tests/cli/data/sheets/units-unnamed.csv"),
        include_bytes!("../../tests/cli/data/sheets/units-below.csv"),
        include_bytes!("../../tests/cli/data/sheets/unit-in-title.csv"),
        include_bytes!("../../tests/cli/data/sheets/year-quarter-once.csv"),
        include_bytes!("../../tests/cli/data/sheets/blocks.csv"),
        include_bytes!("../../tests/cli/data/sheets/blocks-side-by-side.csv"),
        include_bytes!("../../tests/cli/data/sheets/machine-and-winding.csv"),
        include_bytes!("../../tests/cli/data/sheets/round-temperature.csv"),
        include_bytes!("../../tests/cli/data/sheets/motor-above.csv"),
        include_bytes!("../../tests/cli/data/sheets/date-above.csv"),
        include_bytes!("../../tests/cli/data/sheets/quarters-down.csv"),
        include_bytes!("../../tests/cli/data/sheets/timed-blocks.csv"),
        include_bytes!("../../tests/cli/data/sheets/thousands.csv"),
        include_bytes!("../../tests/cli/data/sheets/dates-above-phases.csv"),
        include_bytes!("../../tests/cli/data/sheets/phases-above-dates.csv"),
        include_bytes!("../../tests/cli/data/sheets/phases-beside-temperature.csv"),
        include_bytes!("../../tests/cli/data/sheets/last-and-previous.csv"),
        include_bytes!("../../tests/cli/data/sheets/tests-numbered.csv"),
        include_bytes!("../../tests/cli/data/sheets/export-points.csv"),
        include_bytes!("../../tests/cli/data/sheets/windings-beside.csv"),
        include_bytes!("../../tests/cli/data/sheets/tables-beside.csv"),
        include_bytes!("../../tests/cli/data/sheets/tests-grouped.csv"),
    ];
    let mut seeds = Vec::new();
    seeds.extend(sheets.iter().map(|text| Seed::Text(text.to_vec())));
    for _ in 0..3 {
        seeds.extend(texts.iter().map(|text| Seed::Text(text.to_vec())));
        seeds.push(Seed::Text(first_lines(demo, DEMO_ROWS)));
        seeds.push(Seed::Text(dirty.to_vec()));
    }
    for text in [texts[0], texts[2], texts[3], texts[4], dirty, &first_lines(demo, 4 * DEMO_ROWS)] {
        seeds.extend([Seed::Text(without_quotes(text)), Seed::Text(without_quotes(text))]);
    }
    seeds.extend([Seed::Wide(texts[0].to_vec()), Seed::Wide(texts[2].to_vec())]);
    seeds.push(Seed::Packed(texts[0].to_vec()));
    seeds.push(Seed::Packed(texts[2].to_vec()));
    let books: [&[u8]; 11] = [
        include_bytes!("../../tests/cli/data/openpyxl.xlsx"),
        include_bytes!("../../tests/cli/data/office.xlsx"),
        include_bytes!("../../tests/cli/data/odfpy.ods"),
        include_bytes!("../../tests/cli/data/office.ods"),
        include_bytes!("../../tests/cli/data/sheets/sheet-per-motor-titled.xlsx"),
        include_bytes!("../../tests/cli/data/sheets/names-merged.xlsx"),
        include_bytes!("../../tests/cli/data/sheets/motors-grouped.xlsx"),
        include_bytes!("../../tests/cli/data/sheets/phases-two-rows.xlsx"),
        include_bytes!("../../tests/cli/data/sheets/dates-above-phases.xlsx"),
        include_bytes!("../../tests/cli/data/sheets/sheet-per-month.xlsx"),
        include_bytes!("../../tests/cli/data/sheets/sheet-per-round.xlsx"),
    ];
    seeds.extend(books.iter().map(|book| Seed::Parts(parts(book))));
    seeds.push(Seed::Whole(books[0].to_vec()));
    seeds.push(Seed::Whole(include_bytes!("../../tests/cli/data/xlwt.xls").to_vec()));
    seeds.push(Seed::Whole(include_bytes!("../../tests/cli/data/office.xls").to_vec()));
    seeds
}
